//! Safety tests after a repair, as a job holds them: what was entered, and what the unit itself tells about itself.
//!
//! What a value is held to, and what it proves, is for others to say; the names here are those of the job file.

use crate::job::Job;
use crate::kinds::Rating;

/// Regions with their editions.
pub const REGIONS: [&str; 8] = [
    "europe",
    "united-kingdom",
    "united-states",
    "australia-new-zealand",
    "germany-2008",
    "united-kingdom-4th-edition",
    "product",
    "product-2010",
];
/// Protection classes.
pub const CLASSES: [&str; 3] = ["I", "II", "III"];
/// Ways of use.
pub const USES: [&str; 3] = ["hand-held", "portable", "stationary"];
/// Tests, each with what it measures, if it measures anything, and an entry as it may look.
pub const TESTS: [(&str, Option<SafetyQuantity>, &str); 8] = [
    ("visual", None, "ok"),
    ("earth-continuity", Some(SafetyQuantity::Ohms), "0.12 ohm"),
    ("insulation-resistance", Some(SafetyQuantity::Ohms), ">200 Mohm"),
    ("electric-strength", None, "ok"),
    ("polarity", None, "ok"),
    ("protective-conductor-current", Some(SafetyQuantity::Amperes), "0.3 mA"),
    ("touch-current", Some(SafetyQuantity::Amperes), "0.1 mA"),
    ("functional", None, "ok"),
];

/// Up to these volts a unit is taken to be fed with safety extra-low voltage (IEC 61140, alternating, from memory).
const EXTRA_LOW_VOLTS: f64 = 50.0;

/// What a safety test measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SafetyQuantity {
    /// Ohms.
    Ohms,
    /// Amperes.
    Amperes,
}

/// Whether the instrument showed a number, or that the value is beyond one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beyond {
    /// The number.
    Neither,
    /// More: `>200 Mohm`.
    Above,
    /// Less: `<0.01 ohm`.
    Below,
}

/// What was entered for a test.
#[derive(Debug, Clone, PartialEq)]
pub enum SafetyValue {
    /// A value of the test's quantity, in SI.
    Number {
        /// Whether it is the number or beyond it.
        beyond: Beyond,
        /// The number, ohms or amperes.
        si: f64,
        /// What one count of the last digit typed stands for, ohms or amperes.
        last_digit_si: f64,
    },
    /// In order.
    Ok,
    /// Not in order.
    Failed,
    /// Not done, and why.
    NotDone(String),
}

/// An entry for a test.
#[derive(Debug, Clone, PartialEq)]
pub struct SafetyTest {
    /// One of [`TESTS`].
    pub test: &'static str,
    /// What was entered.
    pub value: SafetyValue,
    /// The same as it was typed.
    pub typed: String,
    /// Where, if it was done in several places.
    pub at: Option<String>,
    /// When.
    pub date: Option<String>,
    /// With what; a meter of the job by its name, or any text.
    pub instrument: Option<String>,
    /// Remarks.
    pub note: Option<String>,
    /// Line of the job file.
    pub line: usize,
}

/// What a job says about safety after the repair; what is `None` follows from the unit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Safety {
    /// One of [`REGIONS`].
    pub region: Option<&'static str>,
    /// One of [`CLASSES`].
    pub class: Option<&'static str>,
    /// One of [`USES`].
    pub handling: Option<&'static str>,
    /// Watts of all heating elements.
    pub heating_watts: Option<f64>,
    /// Length of the cord.
    pub cord_metres: Option<f64>,
    /// Section of its conductors.
    pub cord_square_millimetres: Option<f64>,
    /// Whether metal that is not joined to earth can be touched.
    pub has_unearthed_metal: bool,
    /// Entries in the order of the file.
    pub tests: Vec<SafetyTest>,
}

/// A cord's conductors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CordSize {
    /// Length, if given.
    pub metres: Option<f64>,
    /// Section, if given.
    pub square_millimetres: Option<f64>,
}

/// What limits of safety hang on: as the job says it, else as the unit shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SafetyFacts {
    /// One of [`CLASSES`].
    pub class: &'static str,
    /// Why, if the job does not say it.
    pub class_because: Option<&'static str>,
    /// One of [`USES`], if the job says it.
    pub handling: Option<&'static str>,
    /// Watts of all heating elements.
    pub heating_watts: f64,
    /// The cord; none if the unit is wired in.
    pub cord: Option<CordSize>,
    /// Whether metal that is not joined to earth can be touched.
    pub has_unearthed_metal: bool,
}

impl Job {
    /// What limits of safety hang on: as the job says it, else as its unit shows it. An earth conductor makes class I, a cord
    /// without one class II, a supply of extra-low volts class III; heating is the sum of the heaters, those
    /// behind a transformer too.
    pub fn safety_facts(&self) -> SafetyFacts {
        let (said, unit) = (&self.safety, &self.unit);
        let supply = &unit.parts()[unit.supply()];
        let is_extra_low = supply.kind.supply().is_some_and(|figures| figures.volts <= EXTRA_LOW_VOLTS);
        let cord = unit.parts().iter().position(|part| part.kind.cord_size().is_some());
        let has_earth = match cord {
            Some(cord) => {
                unit.terminals_of(cord).any(|at| unit.terminal_name(crate::TerminalId(at)).ends_with(".earth"))
            }
            None => unit
                .find_terminal(&format!("{}.earth", supply.name))
                .is_some_and(|earth| unit.wires().iter().any(|wire| wire.from == earth || wire.to == earth)),
        };
        let (class, because) = match (is_extra_low, cord.is_some(), has_earth) {
            (true, ..) => ("III", "the supply has extra-low volts"),
            (false, true, true) => ("I", "the cord has an earth conductor"),
            (false, false, true) => ("I", "it is wired to earth"),
            (false, true, false) => ("II", "the cord has no earth conductor"),
            (false, false, false) => ("II", "it is not wired to earth"),
        };
        let heaters = unit.parts().iter().filter(|part| part.kind.name() == "heater");
        let watts = heaters.map(|part| match part.kind.rating() {
            Some(Rating::Watts(watts)) => watts,
            _ => 0.0,
        });
        let size = cord.and_then(|cord| unit.parts()[cord].kind.cord_size());
        let is_said = said.cord_metres.is_some() || said.cord_square_millimetres.is_some();
        let none = CordSize { metres: None, square_millimetres: None };
        let cord = size.or(is_said.then_some(none)).map(|size| CordSize {
            metres: said.cord_metres.or(size.metres),
            square_millimetres: said.cord_square_millimetres.or(size.square_millimetres),
        });
        SafetyFacts {
            class: said.class.unwrap_or(class),
            class_because: said.class.is_none().then_some(because),
            handling: said.handling,
            heating_watts: said.heating_watts.unwrap_or_else(|| watts.sum()),
            cord,
            has_unearthed_metal: said.has_unearthed_metal,
        }
    }
}
