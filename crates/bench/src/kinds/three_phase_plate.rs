//! The plate of a three-phase motor, and how its phases are joined.

use super::{Doubt, PlateClass, insulation_class};
use crate::job::Positive;
use machine::nameplate::NameplateError;
use machine::three_phase::{ThreePhaseError, ThreePhaseMedians, ThreePhasePlate};
use serde::Deserialize;

/// Efficiency below which a plate is doubted (engineering judgement: the smallest make about a half).
const POOR_EFFICIENCY: f64 = 0.3;

/// How the phases of a three-phase motor are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Connection {
    /// Star inside, three leads.
    Star,
    /// Delta inside, three leads.
    Delta,
    /// Both ends of each phase brought out.
    SixLead,
    /// Two halves of each phase, for two voltages; star inside for one half.
    NineLead,
}

impl Connection {
    pub(super) fn words(self) -> &'static str {
        match self {
            Connection::Star => "star",
            Connection::Delta => "delta",
            Connection::SixLead => "six leads",
            Connection::NineLead => "nine leads",
        }
    }
}

/// What can be read on the plate of a three-phase motor.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePhaseMotorPlate {
    /// Rated volts between lines: of six leads the lower (delta), of nine leads the higher (in series).
    pub volts: Positive,
    /// Rated hertz.
    pub hertz: Positive,
    /// Full-load amps in each line, at these volts.
    pub amps: Option<Positive>,
    /// Full-load speed, revolutions per minute.
    pub rpm: Option<Positive>,
    /// Number of poles.
    pub poles: Option<u32>,
    /// Input watts.
    pub watts: Option<Positive>,
    /// Watts at the shaft, as most plates give them: 0.37 kW is 370.
    pub shaft_watts: Option<Positive>,
    /// Full-load power factor.
    pub power_factor: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    pub insulation_class: Option<PlateClass>,
}

impl ThreePhaseMotorPlate {
    /// # Errors
    /// What is wrong with the plate, what was expected, and a mend, as messages of values are written.
    pub(super) fn medians(&self) -> Result<ThreePhaseMedians, String> {
        let value = |entry: Option<Positive>| entry.map(|number| number.0);
        let plate = ThreePhasePlate {
            volts: self.volts.0,
            hertz: self.hertz.0,
            amps: value(self.amps),
            rpm: value(self.rpm),
            poles: self.poles,
            watts: value(self.watts),
            shaft_watts: value(self.shaft_watts),
            power_factor: value(self.power_factor),
        };
        plate.medians().map_err(|error| words(&error))
    }

    /// What looks wrong about the plate.
    pub(super) fn doubts(&self, medians: &ThreePhaseMedians) -> Vec<Doubt> {
        let efficiency = self.shaft_watts.map(|shaft| shaft.0 / (shaft.0 + medians.rated_loss_watts));
        let poor = efficiency.filter(|efficiency| *efficiency < POOR_EFFICIENCY);
        let doubt = |efficiency: f64| Doubt {
            message: format!("its plate makes an efficiency of {:.0} %", 100.0 * efficiency),
            expected: format!("more than {:.0} %", 100.0 * POOR_EFFICIENCY),
            mend: "check watts, shaft_watts and amps, and the points in them",
        };
        poor.map(doubt).into_iter().collect()
    }

    /// Spread of the impedance scale: small when the plate gives the amps, wide when it tells no size at all
    /// (engineering judgement).
    pub(super) fn scale_spread(&self) -> f64 {
        match (self.amps, self.watts.or(self.shaft_watts)) {
            (Some(_), _) => 0.12,
            (None, Some(_)) => 0.25,
            (None, None) => 0.6,
        }
    }

    pub(super) fn describe(&self) -> String {
        let mut text = format!("{} V, {} Hz", self.volts.0, self.hertz.0);
        let values = [
            (self.amps, "A"),
            (self.rpm, "rpm"),
            (self.watts, "W in"),
            (self.shaft_watts, "W at the shaft"),
            (self.power_factor, "power factor"),
        ];
        for (value, unit) in values {
            if let Some(value) = value {
                text += &format!(", {} {unit}", value.0);
            }
        }
        if let Some(poles) = self.poles {
            text += &format!(", {poles} poles");
        }
        text + &insulation_class::words(self.insulation_class)
    }
}

fn words(error: &ThreePhaseError) -> String {
    let (expected, mend) = match error {
        ThreePhaseError::Speed(NameplateError::Poles { .. }) => {
            ("an even number of poles", "correct poles, or leave it out")
        }
        ThreePhaseError::Speed(_) => (
            "a full-load speed below synchronous speed",
            "correct rpm, poles or hertz, or leave out what cannot be read",
        ),
        ThreePhaseError::FarBelowSynchronous { .. } => {
            ("a full-load speed a few per cent below synchronous speed", "correct rpm or hertz, or leave poles out")
        }
        ThreePhaseError::PowerFactor { .. } => ("a power factor of at most 1", "write 0.8 for 80 per cent"),
        ThreePhaseError::MoreWattsThanVoltAmperes { .. } => {
            ("input watts below volts times amps times 1.73", "check that volts and amps belong to one connection")
        }
        ThreePhaseError::WattsAgainstPowerFactor { .. } => {
            ("figures that agree", "put watts at the shaft into shaft_watts, or leave out what cannot be read")
        }
        ThreePhaseError::NoLosses { .. } => {
            ("an efficiency that the slip allows", "check watts, shaft_watts, amps and rpm against the plate")
        }
        ThreePhaseError::NoFit => {
            ("a plate that such a motor can have", "check each figure, or leave out what cannot be read")
        }
    };
    format!("{error}, expected {expected}; {mend}")
}
