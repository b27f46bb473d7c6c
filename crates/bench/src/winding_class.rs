//! The insulation class that a winding is held to: its own where its plate says it, else the one noted for the job; and
//! the temperature at which it burns.

use crate::unit::Unit;
use proof::insulation::ThermalClass;

/// Class that is taken where nothing says one (engineering judgement).
const TAKEN: ThermalClass = ThermalClass::B;

/// Kelvins over the temperature of its class at which a winding is taken to burn out: enamel softens, varnish chars, and
/// turns short within minutes.
///
/// Engineering judgement: for class B 250 degrees Celsius, which is 25 K above what IEC 60335-1 allows such a winding in
/// the first hour of a stall (its table of windings in abnormal operation, from memory: class A 200, E 215, B 225, F 240, H
/// 260 degrees). Real windings do not all fail at one temperature, nor at once.
pub const BURNS_OVER_CLASS_KELVIN: f64 = 120.0;

/// What says a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SaidBy {
    /// The plate of the part.
    Plate,
    /// The job, for all windings whose plates do not.
    Job,
    /// Nothing.
    Nothing,
}

/// A class, and what says it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsulationClass {
    /// The class.
    pub class: ThermalClass,
    /// What says it.
    pub said_by: SaidBy,
}

impl InsulationClass {
    /// From what a plate says and what is noted for the job.
    pub(crate) fn of(plate: Option<ThermalClass>, job: Option<ThermalClass>) -> Self {
        match (plate, job) {
            (Some(class), _) => InsulationClass { class, said_by: SaidBy::Plate },
            (None, Some(class)) => InsulationClass { class, said_by: SaidBy::Job },
            (None, None) => InsulationClass { class: TAKEN, said_by: SaidBy::Nothing },
        }
    }

    /// Temperature at which such a winding is taken to burn out, degrees Celsius.
    pub fn burns_celsius(self) -> f64 {
        self.class.celsius() + BURNS_OVER_CLASS_KELVIN
    }

    /// In words.
    pub fn words(self) -> String {
        let by = match self.said_by {
            SaidBy::Plate => "on its plate",
            SaidBy::Job => "noted for the job",
            SaidBy::Nothing => "taken since no plate names one: engineering judgement",
        };
        format!("class {} ({} °C, {by})", self.class, self.class.celsius())
    }

    /// In a few words.
    pub fn short_words(self) -> String {
        let by = match self.said_by {
            SaidBy::Plate => " of its plate",
            SaidBy::Job => " of the job",
            SaidBy::Nothing => ", taken",
        };
        format!("class {}{by}", self.class)
    }
}

/// The classes of all windings of a unit, those that several parts share once.
pub fn classes_words(unit: &Unit) -> String {
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for (index, part) in unit.parts().iter().enumerate() {
        if unit.winding_of(index).is_some() {
            let words = unit.winding_class(index).words();
            match said.iter_mut().find(|(known, _)| *known == words) {
                Some((_, parts)) => parts.push(&part.name),
                None => said.push((words, vec![&part.name])),
            }
        }
    }
    let all: Vec<String> = said.iter().map(|(words, parts)| format!("{} {words}", parts.join(", "))).collect();
    all.join("; ")
}
