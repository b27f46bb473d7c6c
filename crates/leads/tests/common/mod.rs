//! Cases for tests.
#![allow(dead_code)]

use bench::Value;
use leads::answer::Assignment;
use leads::{Case, Finding, Known, LeadReading, OhmMeter};

pub const OPEN: f64 = f64::INFINITY;

/// A case of leads 0, 1, 2 and so on; infinite ohms are open.
pub fn case(leads: usize, known: Known, readings: &[(usize, usize, f64)]) -> Case {
    Case {
        name: "test".into(),
        note: None,
        leads: (0..leads).map(|lead| format!("lead {lead}")).collect(),
        known,
        winding_celsius: 20.0,
        readings: readings
            .iter()
            .map(|&(a, b, ohms)| LeadReading {
                between: (a, b),
                value: if ohms.is_finite() { Value::Number(ohms) } else { Value::Open },
                meter: OhmMeter::default(),
                winding_celsius: 20.0,
                line: 0,
            })
            .collect(),
    }
}

/// Places of an answer with their leads, sorted.
pub fn stations(finding: &Finding, answer: usize) -> Vec<(String, Vec<usize>)> {
    places(&finding.answers[answer].assignment)
}

/// Places of an assignment with their leads, sorted.
pub fn places(assignment: &Assignment) -> Vec<(String, Vec<usize>)> {
    let mut list: Vec<(String, Vec<usize>)> = assignment
        .0
        .iter()
        .map(|station| {
            let mut leads: Vec<usize> = station.leads.iter().map(|&(_, lead)| lead).collect();
            leads.sort_unstable();
            (station.role.to_owned(), leads)
        })
        .collect();
    list.sort();
    list
}

/// Whether one place of an answer has this role and these leads.
pub fn has(finding: &Finding, answer: usize, role: &str, leads: &[usize]) -> bool {
    stations(finding, answer).iter().any(|(name, at)| name == role && at == leads)
}
