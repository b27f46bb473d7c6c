//! Which check goes first, by the whole way that it opens.

use super::worlds::Worlds;
use crate::checks::Check;
use crate::checks::survey::Survey;
use crate::sequencing::{AFFORDABLE_STATES, Price, Solver};
use crate::suspects::Diagnosis;

/// The check to do first, and what the whole way is expected to cost.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct First {
    pub(crate) check: Check,
    /// With it first, and with the usual one first.
    pub(crate) expected: Price,
    pub(crate) with_usual: Price,
    /// Whether every order was weighed.
    pub(crate) is_exact: bool,
}

/// The check to do first where the whole way can be looked at; `usual` is the one that would be without.
///
/// `None` where the search is over, where the usual check cannot be planned (an exchange of parts, or one whose outcomes
/// overlap) and so nothing can be compared with it, and past the limit of work.
pub(crate) fn first(diagnosis: &Diagnosis<'_>, survey: &Survey<'_>, usual: &Check) -> Option<First> {
    let worlds = Worlds::new(diagnosis, survey)?;
    let is_usual = |check: &Check| check.action == usual.action && check.setup == usual.setup;
    let usual = worlds.checks.iter().position(is_usual)?;
    let start = worlds.start();
    let mut solver = Solver::new(&worlds.problem, AFFORDABLE_STATES, diagnosis.evidence.watch.clone());
    let advice = solver.advice(start, usual)?;
    let check = worlds.checks[advice.test].clone();
    Some(First { check, expected: advice.expected, with_usual: advice.with_usual, is_exact: advice.is_exact })
}
