//! What a motor drives, as named in a job file.
//!
//! # Assumes
//! At its plate the motor drives its full load; one that runs free carries a tenth of that in windage and bearings.

use super::UnknownSpec;
use crate::fault::FaultMode;
use machine::{Load, LoadLaw};
use serde::Deserialize;

/// What a motor drives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DrivenLoad {
    /// Torque goes with the square of the speed: a centrifugal fan, a blower wheel.
    Fan,
    /// The same of a propeller, which its air unloads and not its lack.
    Propeller,
    /// Torque goes with the speed.
    Pump,
    /// The same torque at every speed, to be overcome at rest: a drum, a hoist, a grinding wheel at work.
    Constant,
    /// A compressor that starts with its pressures level: little at rest, all of it at speed.
    Compressor,
    /// Nothing but its own bearings and windage: a grinder that runs free.
    None,
}

/// The load on a motor's shaft as its plate makes it. It belongs to the machine: another motor in its place drives it on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driven {
    /// How its torque goes with speed.
    pub law: LoadLaw,
    /// Speed at which it asks for its torque, revolutions per minute.
    pub rpm: f64,
    /// Place of that torque among the values of the motor that are not known exactly.
    pub torque: usize,
    /// Place there of the inertia of all that turns, most of which is what is driven.
    pub inertia: usize,
}

/// What is to be driven instead of the load that a motor's own plate makes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct KeptLoad {
    /// How its torque goes with speed.
    pub(crate) law: LoadLaw,
    /// Its torque over the one by the plate.
    pub(crate) torque_times: f64,
    /// The speed at which it asks for that over the speed of the plate.
    pub(crate) speed_times: f64,
}

impl KeptLoad {
    /// The kept load where a motor would have its own.
    pub(crate) fn instead_of(self, own: Load) -> Load {
        Load {
            torque: &own.torque * self.torque_times,
            law: self.law,
            reference_ratio: own.reference_ratio * self.speed_times,
            ..own
        }
    }
}

/// Torque of a motor that runs free over its rated torque (engineering judgement).
const FREE_SHARE: f64 = 0.1;

impl DrivenLoad {
    pub(super) fn law(self) -> LoadLaw {
        match self {
            DrivenLoad::Fan | DrivenLoad::Propeller | DrivenLoad::None => LoadLaw::Square,
            DrivenLoad::Pump => LoadLaw::Linear,
            DrivenLoad::Constant => LoadLaw::Constant,
            DrivenLoad::Compressor => LoadLaw::LevelPressure,
        }
    }

    /// The unknown torque at plate speed, given what the plate amounts to.
    pub(super) fn unknown(self, rated_torque: f64) -> UnknownSpec {
        let (words, share, spread, sister_spread) = match self {
            DrivenLoad::Fan | DrivenLoad::Propeller => ("fan torque", 1.0, 0.15, 0.06),
            DrivenLoad::Pump => ("pump torque", 1.0, 0.2, 0.1),
            DrivenLoad::Constant => ("load torque", 1.0, 0.25, 0.15),
            DrivenLoad::Compressor => ("compressor torque", 1.0, 0.25, 0.15),
            DrivenLoad::None => ("windage", FREE_SHARE, 0.5, 0.2),
        };
        UnknownSpec::new(words, share * rated_torque, spread).between_sisters(sister_spread)
    }

    /// The fault by which the motor loses its load, if it has one that can be lost.
    pub(super) fn loss(self) -> Option<FaultMode> {
        let (words, odds, repair) = match self {
            DrivenLoad::Fan | DrivenLoad::Propeller => {
                ("the fan slips on the shaft", 0.008, "fix the fan of {} on its shaft")
            }
            DrivenLoad::Pump => ("the pump wheel slips on the shaft", 0.006, "fix the pump wheel of {} on its shaft"),
            DrivenLoad::Constant => (
                "the belt or coupling has come off, the motor turns alone",
                0.008,
                "put the belt or coupling of {} in order",
            ),
            DrivenLoad::Compressor | DrivenLoad::None => return None,
        };
        Some(FaultMode::new(self.loss_name()?, words, odds, repair))
    }

    /// Name of that fault.
    pub(super) fn loss_name(self) -> Option<&'static str> {
        match self {
            DrivenLoad::Fan | DrivenLoad::Propeller => Some("fan-loose"),
            DrivenLoad::Pump => Some("pump-loose"),
            DrivenLoad::Constant => Some("load-off"),
            DrivenLoad::Compressor | DrivenLoad::None => None,
        }
    }

    /// What of it can be out of balance.
    pub(super) fn turns(self) -> Option<&'static str> {
        match self {
            DrivenLoad::Fan | DrivenLoad::Propeller => Some("the fan"),
            DrivenLoad::Constant => Some("what it drives"),
            DrivenLoad::None => Some("the wheel"),
            DrivenLoad::Pump | DrivenLoad::Compressor => None,
        }
    }

    /// Change of its torque at a speed when its air is wholly held up, over the torque with free air; none of what moves no
    /// air.
    ///
    /// A blower wheel has less air to throw, so its motor speeds up and takes fewer amps; a propeller stalls and takes more
    /// (hvacrfundamentals.blogspot.com, "Understanding centrifugal fan motor performance"; hvacrschool.com, "Blowers, props
    /// and how they behave"). How much is engineering judgement; between free and blocked it goes in proportion.
    pub(super) fn blocked_change(self) -> Option<f64> {
        match self {
            DrivenLoad::Fan => Some(-0.5),
            DrivenLoad::Propeller => Some(0.4),
            DrivenLoad::Pump | DrivenLoad::Constant | DrivenLoad::Compressor | DrivenLoad::None => None,
        }
    }

    /// Seconds in which rated torque would bring it, and a small motor, to plate speed (engineering judgement).
    pub(super) fn run_up_seconds(self) -> f64 {
        match self {
            DrivenLoad::Fan | DrivenLoad::Propeller => 2.0,
            DrivenLoad::Pump | DrivenLoad::Compressor => 0.5,
            DrivenLoad::Constant => 1.0,
            DrivenLoad::None => 3.0,
        }
    }
}
