//! What a universal motor's plate says, and what to say of one that no motor can have.

use super::{PlateClass, insulation_class};
use crate::job::Positive;
use machine::commutator_plate::{CommutatorPlate, CommutatorPlateError};
use serde::Deserialize;

/// What can be read on the plate or is published.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UniversalPlate {
    /// Rated volts.
    pub volts: Positive,
    /// Rated hertz, if just one.
    pub hertz: Option<Positive>,
    /// Full-load amps on the fastest tap.
    pub amps: Option<Positive>,
    /// Input watts on the fastest tap.
    pub watts: Option<Positive>,
    /// Full-load speed of the shaft on the fastest tap, revolutions per minute.
    pub rpm: Option<Positive>,
    /// Ohms of the field up to the fastest tap (both coils together), cold, where published.
    pub field_ohms: Option<Positive>,
    /// Ohms between the brushes, cold, where published.
    pub armature_ohms: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    pub insulation_class: Option<PlateClass>,
}

impl UniversalPlate {
    pub(super) fn figures(&self) -> CommutatorPlate {
        let value = |entry: Option<Positive>| entry.map(|number| number.0);
        CommutatorPlate {
            volts: self.volts.0,
            amps: value(self.amps),
            watts: value(self.watts),
            rpm: value(self.rpm),
            field_ohms: value(self.field_ohms),
            armature_ohms: value(self.armature_ohms),
        }
    }

    pub(super) fn describe(&self) -> String {
        let mut text = format!("{} V", self.volts.0);
        for (value, unit) in [(self.hertz, "Hz"), (self.amps, "A"), (self.rpm, "rpm"), (self.watts, "W")] {
            if let Some(value) = value {
                text += &format!(", {} {unit}", value.0);
            }
        }
        text + &insulation_class::words(self.insulation_class)
    }
}

/// What to say of a plate that no universal motor can have.
pub(super) fn plate_words(error: &CommutatorPlateError) -> String {
    let (expected, mend) = match error {
        CommutatorPlateError::MoreWattsThanVoltAmperes { .. } => {
            ("input watts of at most volts times amps", "leave watts out if the plate means shaft power")
        }
        CommutatorPlateError::PowerFactor { .. } => (
            "input watts of at least 40 % of volts times amps",
            "leave watts out if the plate means shaft power, or amps if it means starting amps",
        ),
        CommutatorPlateError::Speed { .. } => ("at most 100000 rpm", "correct rpm, or leave it out"),
        CommutatorPlateError::SlowSpeed { .. } => {
            ("at least 1000 rpm, at the motor's own shaft", "leave rpm out if it is that of a spindle behind gears")
        }
        CommutatorPlateError::Ohms { .. } => {
            ("ohms that leave most of the volts to turn with", "check the ohms and amps, or leave the ohms out")
        }
    };
    format!("{error}, expected {expected}; {mend}")
}
