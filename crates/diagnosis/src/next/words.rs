//! Why the first check is the first, as people say it.

use super::{CheckPlan, Lead};
use crate::Diagnosis;
use crate::checks::Check;
use crate::words::action_words;
use bench::words::{number, whole_minutes};

/// How far finding is, ahead of the list of checks; nothing where the list speaks for itself.
pub fn standing_words(plan: &CheckPlan) -> Option<&'static str> {
    match (&plan.settled, plan.unexplained, plan.checks.is_empty()) {
        (Some(_), _, false) => Some("Finding is done. What follows would only confirm it."),
        (Some(_), _, true) => Some("Finding is done. No further check would tell more; prove the repair."),
        (None, true, false) => {
            Some("First take the doubtful readings again. What follows tells the known faults apart, if it is one.")
        }
        (None, true, true) => Some("Take the doubtful readings again; no check on this list would help before that."),
        (None, false, true) => Some("No check on this list would tell the remaining suspects apart."),
        (None, false, false) => None,
    }
}

/// Why the first check is not the one that tells most a minute; nothing if it is.
pub fn why_first(found: &Diagnosis<'_>, plan: &CheckPlan) -> Option<String> {
    let named = |check: &Check| {
        let (words, setup) = (action_words(found, check), &check.setup.name);
        format!("{words}, setup {setup} ({} bits in {} minutes)", number(check.bits), whole_minutes(check.minutes))
    };
    match &plan.lead {
        Lead::MostAMinute => None,
        Lead::Isolated { other } => Some(format!(
            "The first is not the one that tells most a minute: that is to {}. This one tells nearly as much with the \
             supply off.",
            named(other)
        )),
        Lead::ShorterWay { other, expected, with_other, is_exact } => {
            let how = if *is_exact { "every order weighed" } else { "looking one check ahead" };
            Some(format!(
                "The first is not the one that tells most a minute: that is to {}. But with this one first the whole way \
                 to a settled repair is expected to take {} minutes with danger counted, and {} with that one first ({how}).",
                named(other),
                whole_minutes(expected.weighted),
                whole_minutes(with_other.weighted)
            ))
        }
    }
}
