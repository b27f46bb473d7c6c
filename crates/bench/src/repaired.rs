//! What was done to the unit, and what it showed afterwards.

use crate::fault::FaultSet;
use crate::heat::Log;
use crate::reading::Reading;
use proof::insulation::ThermalClass;

/// A repair that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Repaired {
    /// The cause as it was found.
    pub faults: FaultSet,
    /// What was done, in words.
    pub work: String,
    /// The day, as `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Who did it.
    pub by: Option<String>,
    /// Whose the unit is.
    pub customer: Option<String>,
    /// Minutes for which the unit was run with the fault, as far as is known.
    pub minutes_with_fault: Option<f64>,
    /// Insulation class of windings whose own plates do not say it.
    pub insulation_class: Option<ThermalClass>,
    /// What may have stood behind the failure and was looked at and found well, by label ([`crate::recurrence`]).
    pub looked_at: Vec<String>,
    /// Readings taken after the repair; they say nothing of the fault.
    pub readings: Vec<Reading>,
    /// Logs taken after the repair.
    pub logs: Vec<Log>,
    /// Ohms of windings after a heat run.
    pub hot_ohms: Vec<HotOhms>,
}

/// Ohms of a winding, cold and after a heat run: they tell its mean temperature at switching off.
#[derive(Debug, Clone, PartialEq)]
pub struct HotOhms {
    /// Index of the run; switching off was at the end of its log.
    pub run: usize,
    /// Its part and body.
    pub winding: (usize, usize),
    /// Ohms and degrees Celsius when cold.
    pub cold: (f64, f64),
    /// The room at the end of the run, degrees Celsius, if it was noted here.
    pub room_celsius: Option<f64>,
    /// Seconds after switching off, in order, and ohms.
    pub readings: Vec<(f64, f64)>,
    /// What the winding is made of.
    pub metal: Metal,
    /// Line in the job file, counted from 1.
    pub line: usize,
}

/// What a winding is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Metal {
    /// Copper.
    #[default]
    Copper,
    /// Aluminium.
    Aluminium,
}
