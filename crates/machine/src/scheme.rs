//! How a motor gets its starting torque, and the proportions that motors of each make have.

use std::f64::consts::{FRAC_PI_2, PI};

/// How the motor gets its starting torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheme {
    /// Auxiliary winding at 90 electrical degrees in series with a run capacitor.
    CapacitorRun,
    /// As [`Scheme::CapacitorRun`], built to start against a load: compressors, pumps, motors with two capacitors.
    HeavyCapacitorRun,
    /// Two equal windings at 90 electrical degrees that share a capacitor; which one is fed directly decides the
    /// direction.
    Reversible,
    /// Short-circuited shading coil beside the main winding.
    ShadedPole,
    /// Start winding at 90 electrical degrees of thinner wire, in circuit until the motor is up to speed.
    SplitPhase,
    /// Start winding at 90 electrical degrees behind a capacitor, in circuit until the motor is up to speed.
    CapacitorStart,
}

/// Proportions of small motors in per unit of rated volts over main-winding amps. Engineering judgement, apart from
/// what names a source.
pub(crate) struct Proportions {
    pub(crate) main_ohms: f64,
    pub(crate) leakage: f64,
    pub(crate) magnetising: f64,
    /// Rotor resistance over slip at rated speed.
    pub(crate) rotor_over_slip: f64,
    /// Core loss as a share of rated volt-amperes.
    pub(crate) core_loss: f64,
    /// Second winding turns over main turns, where the capacitor does not fix them.
    pub(crate) second_turns: f64,
    /// Auxiliary ohms over main ohms: 1.2 to 2 in published capacitor-run motors, 3 to 5 where it only starts.
    pub(crate) second_ohms: f64,
    /// Leakage of the second winding over main leakage times the square of its turns.
    pub(crate) second_leakage: f64,
    pub(crate) slip: f64,
    /// Slip above which a plate's speed belongs to a motor of more poles; on slower taps a fan motor may slip further.
    pub(crate) largest_slip: f64,
    /// Power factor, for a plate that gives watts but not amps.
    pub(crate) power_factor: f64,
}

const CAPACITOR_RUN: Proportions = Proportions {
    main_ohms: 0.13,
    leakage: 0.12,
    magnetising: 1.6,
    rotor_over_slip: 1.0,
    core_loss: 0.06,
    second_turns: 1.0,
    second_ohms: 1.6,
    second_leakage: 1.0,
    slip: 0.08,
    largest_slip: 0.35,
    power_factor: 0.95,
};

/// Locked-rotor current about five times the plate's, so that with a start capacitor twice rated torque is reached.
const HEAVY_CAPACITOR_RUN: Proportions = Proportions {
    main_ohms: 0.075,
    leakage: 0.075,
    magnetising: 1.8,
    slip: 0.045,
    largest_slip: 0.25,
    ..CAPACITOR_RUN
};

const REVERSIBLE: Proportions = Proportions { second_ohms: 1.0, ..CAPACITOR_RUN };

/// Chosen so that such a motor starts at about half its rated torque and turns about a fifth of its watts into motion.
const SHADED_POLE: Proportions = Proportions {
    main_ohms: 0.2,
    leakage: 0.15,
    magnetising: 1.3,
    rotor_over_slip: 2.0,
    core_loss: 0.05,
    second_turns: 0.3,
    second_ohms: 0.08,
    second_leakage: 0.33,
    slip: 0.17,
    largest_slip: 0.35,
    power_factor: 0.75,
};

/// Middle of five published motors run on their main winding alone, in per unit of volts over amps: main ohms 0.064 to
/// 0.096, leakages 0.065 to 0.12, magnetising 2.2 to 5.5, rotor over slip 1.8 to 2.7, core loss 0.06 to 0.08, power
/// factor 0.62 to 0.88 (Fitzgerald, Kingsley and Umans, example 9.2 and a 500 W problem; Sarma, p. 578; Chapman, problems
/// 9-1 and 9-5). Turns of the start winding: engineering judgement after the reactances of Kosow's example 10-1.
const SPLIT_PHASE: Proportions = Proportions {
    main_ohms: 0.075,
    leakage: 0.095,
    magnetising: 2.6,
    rotor_over_slip: 2.6,
    core_loss: 0.065,
    second_turns: 0.8,
    second_ohms: 4.0,
    second_leakage: 1.0,
    slip: 0.045,
    largest_slip: 0.25,
    power_factor: 0.65,
};

/// A capacitor takes more turns than thin wire alone does (engineering judgement).
const CAPACITOR_START: Proportions = Proportions { second_turns: 1.2, ..SPLIT_PHASE };

/// Electrical angle of a shading coil's axis, radians (40 degrees; engineering judgement). Its field lags, so the rotor
/// turns toward the shaded part of the pole, which is forward here.
pub const SHADING_ANGLE: f64 = 40.0 * PI / 180.0;

/// Electrical angle of an auxiliary or start winding, whose current leads; negative, so that the rotor turns forward.
pub const AUXILIARY_ANGLE: f64 = -FRAC_PI_2;

impl Scheme {
    pub(crate) fn proportions(self) -> &'static Proportions {
        match self {
            Scheme::CapacitorRun => &CAPACITOR_RUN,
            Scheme::HeavyCapacitorRun => &HEAVY_CAPACITOR_RUN,
            Scheme::Reversible => &REVERSIBLE,
            Scheme::ShadedPole => &SHADED_POLE,
            Scheme::SplitPhase => &SPLIT_PHASE,
            Scheme::CapacitorStart => &CAPACITOR_START,
        }
    }

    /// Axis of the second winding.
    pub fn second_angle(self) -> f64 {
        match self {
            Scheme::ShadedPole => SHADING_ANGLE,
            _ => AUXILIARY_ANGLE,
        }
    }

    /// Whether the second winding still acts at rated speed.
    pub fn runs_on_second(self) -> bool {
        !matches!(self, Scheme::SplitPhase | Scheme::CapacitorStart)
    }

    /// Whether the second winding is fed through a capacitor at rated speed.
    pub fn has_run_capacitor(self) -> bool {
        matches!(self, Scheme::CapacitorRun | Scheme::HeavyCapacitorRun | Scheme::Reversible)
    }

    /// Whether a plate that fits no motor of the usual turns may be met with fewer.
    pub(crate) fn is_free_to_choose_turns(self) -> bool {
        !matches!(self, Scheme::Reversible)
    }
}
