//! Thermal classes of insulation (IEC 60085).

use crate::names::{mend, short};
use crate::source::Source;
use std::fmt;

/// A thermal class: the temperature, degrees Celsius, that its insulation bears for its usual life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct ThermalClass(u16);

/// Letters and temperatures. N and R are from memory; a UL table has S for 240, which IEC 60085 does not.
const CLASSES: [(&str, u16); 9] =
    [("Y", 90), ("A", 105), ("E", 120), ("B", 130), ("F", 155), ("H", 180), ("N", 200), ("R", 220), ("250", 250)];
/// Above 250 in steps of this many degrees.
const STEP_ABOVE: u16 = 25;
/// No motor has insulation beyond this (engineering judgement).
const HIGHEST: u16 = 500;

impl ThermalClass {
    /// Class B, 130 degrees Celsius.
    pub const B: ThermalClass = ThermalClass(130);

    /// Where the classes come from.
    pub const SOURCE: Source = Source::verified(
        "IEC 60085 / GB/T 11021",
        "edition not named; letters N and R from memory (2007)",
        "a page on insulation classes (ybx8.cn)",
    );

    /// Finds a class by its letter or its temperature: `F`, `155`, `class F`.
    ///
    /// # Errors
    /// [`ClassError`] with the nearest names.
    pub fn named(typed: &str) -> Result<Self, ClassError> {
        let plain = typed.trim().to_uppercase();
        let plain = plain.strip_prefix("CLASS").unwrap_or(&plain).trim().to_owned();
        let by_letter = CLASSES.iter().find(|(letter, celsius)| plain == *letter || plain == celsius.to_string());
        let above = plain
            .parse()
            .ok()
            .filter(|&celsius: &u16| celsius > 250 && celsius <= HIGHEST && (celsius - 250).is_multiple_of(STEP_ABOVE));
        match (by_letter, above) {
            (Some(&(_, celsius)), _) => Ok(ThermalClass(celsius)),
            (None, Some(celsius)) => Ok(ThermalClass(celsius)),
            (None, None) => {
                // The nearest temperature of a number, else the letters.
                let number: Option<f64> = plain.parse().ok().filter(|number: &f64| number.is_finite());
                let nearest = |number: f64| {
                    let distance = |celsius: u16| (f64::from(celsius) - number).abs();
                    CLASSES.iter().min_by(|a, b| distance(a.1).total_cmp(&distance(b.1)))
                };
                let mend = match number.and_then(nearest) {
                    Some((letter, celsius)) => format!("the nearest is {letter} ({celsius} degrees Celsius)"),
                    None => mend(&plain, CLASSES.iter().map(|(letter, _)| *letter)),
                };
                Err(ClassError { typed: short(typed), mend })
            }
        }
    }

    /// All classes up to 250.
    pub fn all() -> impl Iterator<Item = ThermalClass> {
        CLASSES.iter().map(|&(_, celsius)| ThermalClass(celsius))
    }

    /// The temperature of the class, degrees Celsius.
    pub fn celsius(self) -> f64 {
        f64::from(self.0)
    }
}

impl fmt::Display for ThermalClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match CLASSES.iter().find(|(letter, celsius)| *celsius == self.0 && *letter != "250") {
            Some((letter, _)) => f.write_str(letter),
            None => write!(f, "{}", self.0),
        }
    }
}

/// No thermal class of this name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no thermal class '{typed}'; {mend}")]
pub struct ClassError {
    /// As typed.
    pub typed: String,
    /// The nearest names, or all.
    pub mend: String,
}

/// By how much the hottest spot of a winding may be above its mean by resistance, kelvins: 5, 5, 10, 10, 15 for A, E, B, F, H.
///
/// Source: IEC 60034-1 / NEMA, read in a glossary of insulation classes (reded.cz).
pub fn hot_spot_allowance_kelvins(class: ThermalClass) -> Option<f64> {
    let allowance = [(105, 5.0), (120, 5.0), (130, 10.0), (155, 10.0), (180, 15.0)];
    allowance.iter().find(|(celsius, _)| *celsius == class.0).map(|(_, kelvins)| *kelvins)
}
