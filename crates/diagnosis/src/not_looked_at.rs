//! How much of the probability may lie with faults that were not looked at.
//!
//! Two answers. The estimate adds up what screening left out, rather too high than too low; it says nothing of what was
//! never screened. The bound holds for every set of faults of whatever number, since none can do better than to predict
//! every reading exactly as shown:
//!
//! ```text
//! mass <= W B / (W B + Z),   W = prod (1 + o_f) - 1 - sum of odds looked at,   B = prod of best likelihoods
//! ```
//!
//! with `o_f` the odds of single faults and `Z` the weight of all that was looked at, as well as that is known. It needs no
//! look at what it bounds, and is wide: many exact readings could in principle be explained away by several faults together.

use crate::evidence::Evidence;
use crate::log_weights::LogSum;
use crate::reading_model::Datum;
use crate::suspects::Weighed;

/// Shares of all probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotLookedAt {
    /// Estimated for what was screened and left out, meant to be on the high side.
    pub estimate: f64,
    /// Bound for all that has no evidence of its own; `None` where logs were weighed, whose best value is not known.
    pub at_most: Option<f64>,
}

impl NotLookedAt {
    /// From all that was weighed, the weight of what was left out and that of what was weighed, as logarithms.
    pub(crate) fn new(evidence: &Evidence<'_>, weighed: &[Weighed], left_out: f64, total: f64) -> Self {
        let share_of = |weight: f64| {
            let mut everything = LogSum::default();
            everything.add(total);
            everything.add(weight);
            (weight - everything.log()).exp()
        };
        let faults = evidence.job.unit.faults();
        let all: f64 = faults.iter().map(|fault| fault.mode.odds.ln_1p()).sum();
        let looked_at = |entry: &Weighed| entry.log_odds.exp() * (1.0 + entry.hidden_odds());
        let looked_at: f64 = weighed.iter().filter(|entry| !entry.faults.0.is_empty()).map(looked_at).sum();
        // Rounding may carry the difference of two nearly equal sums below zero.
        let odds = (all.exp_m1() - looked_at).max(0.0);
        // No word about the unit is more than certain.
        let best: f64 = evidence.data.iter().map(Datum::best).sum();
        let at_most = evidence.job.logs.is_empty().then(|| share_of(odds.ln() + best));
        NotLookedAt { estimate: share_of(left_out), at_most }
    }
}
