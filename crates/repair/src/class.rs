//! The insulation class of a unit's windings.

use crate::RepairError;
use bench::Job;
use proof::insulation::ThermalClass;

/// Class that is taken where no plate names one (engineering judgement).
const TAKEN: &str = "B";

/// A class, and whether it was only taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InsulationClass {
    /// The class.
    pub class: ThermalClass,
    /// True if no plate names one.
    pub is_taken: bool,
}

/// The class that the job notes under what was done, or the one taken.
///
/// # Errors
/// [`RepairError::Class`] if there is none of that name.
pub fn insulation_class(job: &Job) -> Result<InsulationClass, RepairError> {
    let noted = job.repaired.as_ref().and_then(|repaired| repaired.insulation_class.as_deref());
    Ok(InsulationClass { class: ThermalClass::named(noted.unwrap_or(TAKEN))?, is_taken: noted.is_none() })
}

impl InsulationClass {
    /// In words.
    pub fn words(self) -> String {
        let taken = if self.is_taken { ", taken since no plate names one: engineering judgement" } else { "" };
        format!("class {} ({} °C{taken})", self.class, self.class.celsius())
    }
}
