//! The plate of a single-phase induction motor, and what to say of one that no motor can have.

use super::{Doubt, PlateClass, Rating, insulation_class};
use crate::job::Positive;
use crate::words::number;
use machine::nameplate::{Medians, Nameplate, NameplateError, Scheme};
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

/// Share of the plate's watts by which they may be missed in silence: plates are rounded (engineering judgement).
const WATTS_TOLERANCE: f64 = 0.03;
/// Times usual winding ohms, or their share, beyond which a published figure is doubted (engineering judgement).
const ODD_OHMS: f64 = 5.0;

/// Whether the model's watts are not those of the plate.
pub(super) fn misses_watts(plate: &Nameplate, model_watts: f64) -> bool {
    plate.watts.is_some_and(|watts| (model_watts / watts - 1.0).abs() > WATTS_TOLERANCE)
}

/// What looks wrong about a plate that was met with `medians`, and so with `model_watts`.
pub(super) fn plate_doubts(scheme: Scheme, plate: &Nameplate, medians: &Medians, model_watts: f64) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if let Some(watts) = plate.watts.filter(|_| misses_watts(plate, model_watts)) {
        doubts.push(Doubt {
            message: format!("plate watts of {watts} W cannot be met: the model takes {} W", number(model_watts)),
            expected: "watts that a motor of such amps and speed takes in".into(),
            mend: "leave watts out if the plate means shaft power, else check watts, amps and rpm",
        });
    }
    let usual = Nameplate { main_ohms: None, ..*plate }.medians(scheme).ok().map(|medians| medians.main_ohms);
    if let (Some(ohms), Some(_), Some(usual)) = (plate.main_ohms, plate.amps, usual)
        && (medians.main_ohms / usual).ln().abs() > ODD_OHMS.ln()
    {
        doubts.push(Doubt {
            message: format!("main_ohms of {ohms} ohm are hardly those of such a motor"),
            expected: format!("about {} ohm", number(usual)),
            mend: "check the ohms, and the point in amps",
        });
    }
    doubts
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
        NameplateError::LessWattsThanCopperLoss { .. } => (
            "input watts of which something is left to turn with",
            "leave watts out if the plate means shaft power, else check watts, amps and ohms",
        ),
        NameplateError::FarBelowSynchronous { .. } => (
            "a full-load speed nearer to synchronous speed",
            "wrong poles for the speed? correct poles, rpm or hertz, and give the speed on the fastest tap",
        ),
        NameplateError::Poles { .. } => ("an even number of poles", "correct poles, or leave it out"),
        NameplateError::NoFit => {
            ("a plate that a small motor can have", "check each figure, or leave out what cannot be read")
        }
    };
    format!("{error}, expected {expected}; {mend}")
}
