//! Where none of the known faults explains the readings: what to take again before anything else.
//!
//! That no known fault explains them is no finding. Some of them are wrong, or the fault is on no list; the first is quickly
//! looked at, so that comes first.

use crate::repairs::UNKNOWN_REPAIR;
use crate::suspects::Diagnosis;
use bench::words;

/// Readings named for taking again, at most.
const NAMED: usize = 3;

/// That none of the known faults is the most probable.
#[derive(Debug, Clone, PartialEq)]
pub struct Unexplained {
    /// Probability that it is none of them.
    pub probability: f64,
    /// Readings to take again, by index, the first first: those that the known faults doubt more than not, or else the one
    /// that they doubt most; with the supply off before those with it on. Empty if nothing was read.
    pub again: Vec<usize>,
}

/// What there is to take again; `None` while something known leads.
pub fn unexplained(found: &Diagnosis<'_>) -> Option<Unexplained> {
    let leads = found.repairs.first().filter(|share| share.repair == UNKNOWN_REPAIR)?;
    let mut again: Vec<usize> = found.questionable_readings().into_iter().map(|(reading, _)| reading).collect();
    if again.is_empty() {
        let doubts = found.reading_doubt.iter().copied().enumerate();
        again.extend(doubts.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(reading, _)| reading));
    }
    // Those of one kind stay in the order of their doubt.
    again.sort_by_key(|&reading| found.evidence.job.setups[found.evidence.taken[reading].setup].energised);
    Some(Unexplained { probability: leads.probability, again })
}

/// What it says of the finding, a line each.
pub(crate) fn unexplained_lines(found: &Diagnosis<'_>, unexplained: &Unexplained) -> Vec<String> {
    let share = words::percent(unexplained.probability);
    let mut lines = vec![match unexplained.again.len() {
        0 => format!("Not decided: none of the known faults explains what was seen ({share})."),
        1 => format!(
            "Not decided: none of the known faults explains the readings ({share}). One of them is wrong, or the fault is on \
             no list."
        ),
        _ => format!(
            "Not decided: none of the known faults explains the readings ({share}). They cannot all be right, or the fault is \
             on no list."
        ),
    }];
    lines.extend(take_again_line(found, unexplained));
    lines
}

/// What to take again, and how; nothing if nothing was read.
fn take_again_line(found: &Diagnosis<'_>, unexplained: &Unexplained) -> Option<String> {
    let job = found.evidence.job;
    let named = |&reading: &usize| {
        let taken = &found.evidence.taken[reading];
        format!(
            "line {} ({} {} in setup {})",
            taken.line,
            words::shown(taken.measure, taken.value),
            words::place(&job.unit, taken.measure),
            job.setups[taken.setup].name
        )
    };
    let list: Vec<String> = unexplained.again.iter().take(NAMED).map(named).collect();
    if list.is_empty() {
        return None;
    }
    let more = match unexplained.again.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Some(format!(
        "Take again first: {}{more}. Look at what the leads touch, the range and the setup, and try the meter on something \
         known.",
        list.join(", ")
    ))
}
