//! A motor with unmarked leads, and what a meter showed between them.

use crate::known::Known;
use bench::meter::Accuracy;
use bench::{Meter, Value};

/// Everything that is known before the inference.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What stands on the bench.
    pub name: String,
    /// Remarks.
    pub note: Option<String>,
    /// Names of the leads: colours, or tags tied to them.
    pub leads: Vec<String>,
    /// What is known of the motor.
    pub known: Known,
    /// Temperature of the windings to which ohms are stated, degrees Celsius.
    pub winding_celsius: f64,
    /// Ohms between leads.
    pub readings: Vec<LeadReading>,
}

/// Ohms between two leads.
#[derive(Debug, Clone, PartialEq)]
pub struct LeadReading {
    /// The two leads, by index.
    pub between: (usize, usize),
    /// What the meter showed.
    pub value: Value,
    /// With what.
    pub meter: OhmMeter,
    /// Temperature of the windings, degrees Celsius.
    pub winding_celsius: f64,
    /// Line in the file, counted from 1; 0 if it did not come from a file.
    pub line: usize,
}

/// A meter on ohms, with its test leads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OhmMeter {
    /// Accuracy.
    pub accuracy: Accuracy,
    /// Above this it shows 'open', ohms.
    pub limit: f64,
    /// Resistance of its test leads that it shows with everything else, ohms; 0 if they are nulled.
    pub test_leads_ohms: f64,
}

impl OhmMeter {
    /// The ohms function of a meter, test leads nulled.
    pub fn of(meter: &Meter) -> Self {
        OhmMeter { accuracy: meter.ohms, limit: meter.ohms_limit, test_leads_ohms: 0.0 }
    }
}

impl Default for OhmMeter {
    fn default() -> Self {
        OhmMeter::of(&Meter::handheld())
    }
}

impl Case {
    /// All pairs of leads.
    pub fn pairs(&self) -> Vec<(usize, usize)> {
        let count = self.leads.len();
        (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b))).collect()
    }
}
