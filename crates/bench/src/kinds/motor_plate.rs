//! The plate of a single-phase induction motor, and what to say of one that no motor can have.

use super::{PlateClass, Rating, insulation_class};
use crate::job::Positive;
use machine::nameplate::{Nameplate, NameplateError};
use serde::Deserialize;

/// What can be read on a motor's plate or is published for it.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MotorPlate {
    /// Rated volts.
    pub volts: Positive,
    /// Rated hertz.
    pub hertz: Positive,
    /// Full-load amps on the fastest tap.
    pub amps: Option<Positive>,
    /// Full-load speed on the fastest tap, revolutions per minute.
    pub rpm: Option<Positive>,
    /// Number of poles.
    pub poles: Option<u32>,
    /// Run capacitor, microfarads.
    pub microfarads: Option<Positive>,
    /// Input watts on the fastest tap.
    pub watts: Option<Positive>,
    /// Ohms from common to the fastest tap, cold, where published.
    pub main_ohms: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    pub insulation_class: Option<PlateClass>,
}

impl MotorPlate {
    /// The plate as the machine model takes it.
    pub fn figures(&self) -> Nameplate {
        let value = |entry: Option<Positive>| entry.map(|number| number.0);
        Nameplate {
            volts: self.volts.0,
            hertz: self.hertz.0,
            amps: value(self.amps),
            rpm: value(self.rpm),
            poles: self.poles,
            microfarads: value(self.microfarads),
            watts: value(self.watts),
            main_ohms: value(self.main_ohms),
            second_ohms: None,
        }
    }

    /// Plate amps, met in the common lead, through which the current of all windings returns.
    pub fn rating(&self) -> Option<Rating> {
        self.amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 })
    }

    /// The plate in one line.
    pub fn describe(&self) -> String {
        let mut text = format!("{} V, {} Hz", self.volts.0, self.hertz.0);
        for (value, unit) in [(self.amps, "A"), (self.rpm, "rpm"), (self.watts, "W"), (self.microfarads, "uF")] {
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

/// What to say of a plate that no motor can have.
pub(super) fn plate_words(error: &NameplateError) -> String {
    let (expected, mend) = match error {
        NameplateError::AboveSynchronous { .. } => (
            "a full-load speed below synchronous speed",
            "correct rpm, poles or hertz, or leave out what cannot be read",
        ),
        NameplateError::MoreWattsThanVoltAmperes { .. } => {
            ("input watts of at most volts times amps", "leave watts out if the plate means shaft power")
        }
        NameplateError::Poles { .. } => ("an even number of poles", "correct poles, or leave it out"),
        NameplateError::NoFit => {
            ("a plate that a small motor can have", "check each figure, or leave out what cannot be read")
        }
    };
    format!("{error}, expected {expected}; {mend}")
}
