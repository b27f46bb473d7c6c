//! All hypotheses for a case: an arrangement, what is open in it, and which lead is at which terminal.
//!
//! Hypotheses that put every reading between the same two terminals differ only in leads that no reading touches; they
//! are weighed once.

use crate::arrangement::{Arrangement, Break, SECTION_OPEN};
use crate::case::Case;
use crate::symmetry::{distinct_assignments, distinct_breaks, symmetries};
use std::collections::BTreeMap;

/// Hypotheses that meet all readings alike.
#[derive(Debug, Clone)]
pub struct Group {
    /// Index of the arrangement.
    pub arrangement: usize,
    /// What is open.
    pub open: Break,
    /// For each reading, its two terminals.
    pub pairs: Vec<(usize, usize)>,
    /// Leads at the terminals, one list for each hypothesis: `assignments[h][terminal]` is a lead.
    pub assignments: Vec<Vec<usize>>,
    /// Natural logarithm of the probability of each of them before any reading.
    pub log_prior: f64,
}

/// All of them.
pub fn hypotheses(case: &Case, arrangements: &[Arrangement]) -> Vec<Group> {
    let mut groups = Vec::new();
    for (index, arrangement) in arrangements.iter().enumerate() {
        let breaks = distinct_breaks(arrangement);
        let odds_of = |open: Break| match open {
            Break::None => 1.0,
            Break::Section(_) => SECTION_OPEN,
            Break::Lead(terminal) => arrangement.terminals[terminal].open.value(),
        };
        let total: f64 = breaks.iter().map(|&(open, count)| count as f64 * odds_of(open)).sum();
        for (open, count) in breaks {
            let assignments = distinct_assignments(&symmetries(arrangement, open), arrangement.lead_count());
            let share = arrangement.odds * count as f64 * odds_of(open) / total;
            let log_prior = (share / assignments.len() as f64).ln();
            let mut alike: BTreeMap<Vec<(usize, usize)>, Vec<Vec<usize>>> = BTreeMap::new();
            for assignment in assignments {
                alike.entry(terminals_of_readings(case, &assignment)).or_default().push(assignment);
            }
            groups.extend(alike.into_iter().map(|(pairs, assignments)| Group {
                arrangement: index,
                open,
                pairs,
                assignments,
                log_prior,
            }));
        }
    }
    groups
}

fn terminals_of_readings(case: &Case, assignment: &[usize]) -> Vec<(usize, usize)> {
    let mut terminal_of = vec![0; assignment.len()];
    assignment.iter().enumerate().for_each(|(terminal, &lead)| terminal_of[lead] = terminal);
    let ordered = |a: usize, b: usize| (a.min(b), a.max(b));
    case.readings
        .iter()
        .map(|reading| ordered(terminal_of[reading.between.0], terminal_of[reading.between.1]))
        .collect()
}
