//! The evidence of a hypothesis, summed over which readings are wrong.
//!
//! Every set of wrong readings is a term of its own. The sets are looked at in the order of what they promise, each by a
//! fit; from a fit follows for every further reading by how much the term would change if that one were wrong too (exact
//! for linear models: what the others say of it). Sets that promise too little are added as estimated.

use crate::case::Case;
use crate::fit::{Fit, Layout, fit};
use circuit::SolveError;
use diagnosis::log_weights::LogSum;
use diagnosis::reading_model::Datum;
use std::collections::BTreeSet;

/// Sets that promise less than this against the best one, as a logarithm, are not fitted.
const WORTH_A_FIT: f64 = -7.0;
/// Sets that promise less than this against the best one are left out.
const WORTH_A_TERM: f64 = -16.0;
/// Sets fitted for one hypothesis at most; a sound one needs one to five.
const MOST_FITS: usize = 40;

/// What the readings say of one hypothesis.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Natural logarithm of the evidence.
    pub log: f64,
    /// For each reading, the probability that it is wrong under this hypothesis.
    pub wrong: Vec<f64>,
    /// Fits with their shares of the evidence, the largest first.
    pub fits: Vec<(f64, Fit)>,
}

/// A bound from one fit may be off by this much at the next (engineering judgement).
const SLACK: f64 = 2.0;

/// What taking a reading out promises may fall short by this factor, far from a good fit (engineering judgement).
const HOPE: f64 = 2.0;

struct Term {
    wrong: Vec<bool>,
    log: f64,
    fit: Option<Fit>,
}

/// Sums over sets of wrong readings, from the fit in which none is. Sets that cannot bring the evidence above `cutoff` are not looked at.
///
/// # Errors
/// [`SolveError`] if a fit runs out of all bounds.
pub fn evidence(
    layout: &Layout<'_>,
    case: &Case,
    data: &[Datum],
    pairs: &[(usize, usize)],
    cutoff: f64,
    nothing_wrong: Fit,
) -> Result<Evidence, SolveError> {
    let none = vec![false; data.len()];
    let mut waiting = vec![Term { wrong: none, log: f64::INFINITY, fit: Some(nothing_wrong) }];
    let mut seen: BTreeSet<Vec<bool>> = BTreeSet::new();
    let mut done: Vec<Term> = Vec::new();
    let mut best = f64::NEG_INFINITY;
    while let Some(index) = (0..waiting.len()).max_by(|&a, &b| waiting[a].log.total_cmp(&waiting[b].log)) {
        if waiting[index].log < best + WORTH_A_FIT || done.len() >= MOST_FITS {
            break;
        }
        let term = waiting.swap_remove(index);
        let found = match term.fit {
            Some(found) => found,
            None => fit(layout, case, data, pairs, &term.wrong)?,
        };
        best = best.max(found.log_evidence);
        let bounds_without = found.log_bound_without.iter().zip(&found.log_odds_wrong);
        // What one more wrong reading costs at least.
        let cheapest = bounds_without
            .filter(|(_, odds)| odds.is_some())
            .map(|(bound, _)| bound - found.log_bound)
            .fold(f64::NEG_INFINITY, f64::max);
        for (reading, odds) in found.log_odds_wrong.iter().enumerate() {
            let Some(odds) = *odds else { continue };
            let log = found.log_evidence + odds;
            let bound = found.log_bound_without[reading] + SLACK;
            let is_last = bound + cheapest < cutoff;
            let hope = found.log_evidence + if is_last { HOPE * odds } else { f64::INFINITY };
            if log < best + WORTH_A_TERM || bound < cutoff || hope < cutoff {
                continue;
            }
            let mut wrong = term.wrong.clone();
            wrong[reading] = true;
            if seen.insert(wrong.clone()) {
                waiting.push(Term { wrong, log, fit: None });
            }
        }
        done.push(Term { log: found.log_evidence, wrong: term.wrong, fit: Some(found) });
    }
    // What still waits counts as promised, but never for more than the best that was fitted: far from a good fit the
    // promise means little.
    let promised = waiting.into_iter().filter(|term| term.log > best + WORTH_A_TERM && term.log <= best);
    done.extend(promised);
    Ok(summed(done, data.len()))
}

fn summed(mut terms: Vec<Term>, readings: usize) -> Evidence {
    let mut total = LogSum::default();
    terms.iter().for_each(|term| total.add(term.log));
    let log = total.log();
    let mut wrong = vec![0.0; readings];
    terms.sort_by(|a, b| b.log.total_cmp(&a.log));
    let parent_sound = terms.iter().find_map(|term| term.fit.as_ref().map(|fit| fit.sound.clone()));
    let mut fits = Vec::new();
    for term in terms {
        let share = (term.log - log).exp();
        let sound = term.fit.as_ref().map(|fit| &fit.sound).or(parent_sound.as_ref());
        for reading in 0..readings {
            let doubt = if term.wrong[reading] { 1.0 } else { 1.0 - sound.map_or(1.0, |sound| sound[reading]) };
            wrong[reading] += share * doubt;
        }
        if let Some(fit) = term.fit {
            fits.push((share, fit));
        }
    }
    Evidence { log, wrong, fits }
}
