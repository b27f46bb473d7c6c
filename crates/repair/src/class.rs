//! The insulation class of a winding: its own where its plate says it, else the one noted for the job.

use bench::{Job, Unit};
use proof::insulation::ThermalClass;

/// Class that is taken where nothing says one (engineering judgement).
const TAKEN: ThermalClass = ThermalClass::B;

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

/// What a job notes for the windings whose plates say no class.
#[derive(Debug, Clone, Copy)]
pub struct JobClass(Option<ThermalClass>);

impl JobClass {
    /// As noted under what was done.
    pub fn of(job: &Job) -> Self {
        JobClass(job.repaired.as_ref().and_then(|repaired| repaired.insulation_class))
    }

    /// The class of a part's winding; `unit` may be the job's with another part in it.
    pub fn at(self, unit: &Unit, part: usize) -> InsulationClass {
        match (unit.parts()[part].kind.insulation_class(), self.0) {
            (Some(class), _) => InsulationClass { class, said_by: SaidBy::Plate },
            (None, Some(class)) => InsulationClass { class, said_by: SaidBy::Job },
            (None, None) => InsulationClass { class: TAKEN, said_by: SaidBy::Nothing },
        }
    }
}

impl InsulationClass {
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
pub fn classes_words(class: JobClass, unit: &Unit) -> String {
    let mut said: Vec<(String, Vec<&str>)> = Vec::new();
    for (index, part) in unit.parts().iter().enumerate() {
        if unit.heat_of(index).bodies.iter().any(|body| body.is_winding()) {
            let words = class.at(unit, index).words();
            match said.iter_mut().find(|(known, _)| *known == words) {
                Some((_, parts)) => parts.push(&part.name),
                None => said.push((words, vec![&part.name])),
            }
        }
    }
    let all: Vec<String> = said.iter().map(|(words, parts)| format!("{} {words}", parts.join(", "))).collect();
    all.join("; ")
}
