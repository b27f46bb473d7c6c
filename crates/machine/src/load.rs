//! What a rotor drives.

use circuit::Quantity;

/// Share of its torque at full speed that a compressor asks for at rest, its pressures level; the rest builds up with
/// the speed (engineering judgement).
pub(crate) const LEVEL_PRESSURE_SHARE: f64 = 0.08;

/// How a load's torque goes with speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadLaw {
    /// With the square of the speed: a fan.
    Square,
    /// With the speed: between a rotary pump's square law and a piston pump's constant torque.
    Linear,
    /// The same at every speed, and to be overcome at rest: a drum, a hoist, a piston against pressure.
    Constant,
    /// Little at rest, the rest in proportion to the speed: a compressor that starts with its pressures level.
    LevelPressure,
}

/// Mechanical load of a rotor: something driven, on a bearing.
#[derive(Debug, Clone)]
pub struct Load {
    /// Torque of what is driven at the reference speed, newton metres.
    pub torque: Quantity,
    /// How it goes with speed.
    pub law: LoadLaw,
    /// Reference speed as a share of synchronous speed.
    pub reference_ratio: f64,
    /// Friction that does not depend on speed, newton metres.
    pub friction_torque: Quantity,
}

impl LoadLaw {
    /// Torque over the torque at the reference speed, signed with the speed, and its derivative by the relative speed.
    fn shape(self, relative: f64) -> (f64, f64) {
        match self {
            LoadLaw::Square => (relative * relative.abs(), 2.0 * relative.abs()),
            LoadLaw::Linear => (relative, 1.0),
            LoadLaw::Constant => (relative.signum(), 0.0),
            LoadLaw::LevelPressure => {
                let rising = 1.0 - LEVEL_PRESSURE_SHARE;
                (LEVEL_PRESSURE_SHARE * relative.signum() + rising * relative, rising)
            }
        }
    }

    fn share_at_rest(self) -> f64 {
        match self {
            LoadLaw::Square | LoadLaw::Linear => 0.0,
            LoadLaw::Constant => 1.0,
            LoadLaw::LevelPressure => LEVEL_PRESSURE_SHARE,
        }
    }
}

impl Load {
    /// Torque that opposes motion at a speed ratio, signed with the speed, and its derivative by the ratio.
    pub(crate) fn torque_at(&self, ratio: f64) -> (f64, f64) {
        let (share, slope) = self.law.shape(ratio / self.reference_ratio);
        let torque = self.torque.value();
        (torque * share + self.friction_torque.value() * ratio.signum(), torque * slope / self.reference_ratio)
    }

    /// What must be overcome to start, newton metres.
    pub(crate) fn torque_at_rest(&self) -> f64 {
        self.law.share_at_rest() * self.torque.value() + self.friction_torque.value()
    }

    /// Derivatives of the torque at a speed ratio by the driven torque and by the friction.
    pub(crate) fn slopes_at(&self, ratio: f64) -> (f64, f64) {
        (self.law.shape(ratio / self.reference_ratio).0, ratio.signum())
    }
}
