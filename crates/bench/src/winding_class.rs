//! The insulation class that a winding is held to: its own where its plate says it, else the one noted for the job; the
//! temperature that goes with it, and the one at which it burns.

use crate::unit::Unit;
use proof::heat_run::limit::Limit;
use proof::insulation::{Method, ThermalClass};

/// Class that is taken where nothing says one (engineering judgement).
const TAKEN: ThermalClass = ThermalClass::B;

/// Standard whose limits hold for windings in normal running: that for household and similar appliances.
const STANDARD: &str = "IEC 60335-1";

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

/// What a winding may come to in normal running.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindingLimit {
    /// The temperature, degrees Celsius.
    pub celsius: f64,
    /// Whose it is.
    pub class: InsulationClass,
}

impl WindingLimit {
    /// In a few words.
    pub fn words(self) -> String {
        format!("{} °C ({})", self.celsius.round(), self.class.short_words())
    }
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

    /// The limit of normal running by the standard in a room, as a thermocouple shows it; by resistance, which is the higher,
    /// where the class has no figure for thermocouples. `None` for a class that the standard has no limit for.
    pub fn standard_limit(self, room_celsius: f64) -> Option<Limit> {
        self.limit_by(Method::Thermocouple, room_celsius)
    }

    /// The same for the mean temperature that its ohms tell.
    pub fn standard_limit_by_resistance(self, room_celsius: f64) -> Option<Limit> {
        self.limit_by(Method::Resistance, room_celsius)
    }

    fn limit_by(self, method: Method, room_celsius: f64) -> Option<Limit> {
        Limit::of_class(&self.class.to_string(), STANDARD, method, Some(room_celsius)).ok()
    }

    /// What its winding may come to in a room, degrees Celsius: the standard's limit, or the temperature of the class where
    /// there is none.
    pub fn limit(self, room_celsius: f64) -> WindingLimit {
        let celsius = self.standard_limit(room_celsius).map_or(self.class.celsius(), |limit| limit.celsius);
        WindingLimit { celsius, class: self }
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
