//! What would tell two answers apart: a pair of leads, or nothing that an ohmmeter shows.

use crate::inference::{Finding, LeadsError};
use crate::outlook::outlook;

/// Ohms of one pair under two answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// The leads.
    pub between: (usize, usize),
    /// Ohms under the first answer; infinite for open.
    pub first: f64,
    /// Ohms under the second.
    pub second: f64,
}

/// Differences below this many standard deviations do not tell apart.
const PLAIN: f64 = 3.0;

/// The pair whose reading would differ most between two answers, each by its most probable hypothesis; nothing if none
/// would differ plainly.
///
/// # Errors
/// [`LeadsError`] if a network cannot be solved.
pub fn apart(finding: &Finding, first: usize, second: usize) -> Result<Option<Apart>, LeadsError> {
    let pairs = finding.case.pairs();
    let of = |answer: usize| finding.hypotheses.iter().find(|hypothesis| hypothesis.answer == answer);
    let (Some(one), Some(other)) = (of(first), of(second)) else { return Ok(None) };
    let (one, other) = (outlook(finding, one, &pairs)?, outlook(finding, other, &pairs)?);
    let distance = |index: usize| {
        let (a, b) = (one[index], other[index]);
        match (a.ohms.is_finite(), b.ohms.is_finite()) {
            (true, true) => (a.ohms - b.ohms).abs() / a.spread.hypot(b.spread),
            (false, false) => 0.0,
            _ => f64::INFINITY,
        }
    };
    let best = (0..pairs.len()).max_by(|&a, &b| distance(a).total_cmp(&distance(b)).then(b.cmp(&a)));
    Ok(best.filter(|&index| distance(index) >= PLAIN).map(|index| Apart {
        between: pairs[index],
        first: one[index].ohms,
        second: other[index].ohms,
    }))
}
