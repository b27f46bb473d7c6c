//! Why the first check is the first, as people say it.

use super::{CheckPlan, Lead};
use crate::Diagnosis;
use crate::checks::Check;
use crate::words::action_words;
use bench::words::number;

/// Why the first check is not the one that tells most a minute; nothing if it is.
pub fn why_first(found: &Diagnosis<'_>, plan: &CheckPlan) -> Option<String> {
    let named = |check: &Check| {
        let (words, setup) = (action_words(found, check), &check.setup.name);
        format!("{words}, setup {setup} ({} bits in {} minutes)", number(check.bits), number(check.minutes))
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
                number(expected.weighted),
                number(with_other.weighted)
            ))
        }
    }
}
