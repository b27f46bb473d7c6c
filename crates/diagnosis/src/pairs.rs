//! Pairs of faults: ruled out by a bound, found to hide, estimated, or fitted.

use crate::fit::Evidence;
use crate::log_weights::LogSum;
use crate::reading_model::Datum;
use crate::screen::{Reach, Sway, best_over};
use crate::singles::{Group, estimate, same_looks};
use crate::suspects::{Weighed, Work};
use crate::wrong_readings::summed;
use bench::wiring::unknown_count;
use bench::{FaultSet, Place};
use rayon::prelude::*;

/// Pairs whose bound is this far, in nats, below the sum of all singles are ruled out: a share below 1e-7.
const BOUND_DEPTH: f64 = 16.0;
/// Pairs whose estimate is this far below are left out, and counted with [`ESTIMATE_DOUBT`].
const ESTIMATE_DEPTH: f64 = 10.0;
/// By how much, in nats, an estimate that led to leaving a pair out may be too low.
const ESTIMATE_DOUBT: f64 = 2.0;
/// Pairs with an estimated share above this are fitted.
const PAIR_FIT_SHARE: f64 = 3e-3;

/// What screening made of a pair of groups.
enum Screened {
    /// Its bound is below what could matter.
    Ruled { log_bound: f64 },
    /// Its estimated weight.
    Estimated { first: usize, second: usize, log_weight: f64 },
    /// It predicts what `host` predicts alone: the other fault, of these odds, hides behind it.
    Hidden { host: usize, odds: f64 },
}

/// All pairs, weighed.
pub(crate) struct Pairs {
    /// By pair of groups.
    pub(crate) weighed: Vec<Vec<Weighed>>,
    /// Summed weight, as a logarithm, of the pairs left out.
    pub(crate) left_out: f64,
}

/// Weighs all pairs of groups; what hides behind a single is noted there. `log_total` is the weight of all singles.
pub(crate) fn weigh_pairs(
    evidence: &Evidence<'_>,
    groups: &mut [Group],
    sound_sway: &Sway,
    log_total: f64,
    work: &mut Work,
) -> Pairs {
    let pairs: Vec<(usize, usize)> =
        (0..groups.len()).flat_map(|first| (first..groups.len()).map(move |second| (first, second))).collect();
    work.pairs = pairs.len();
    evidence.watch.plan(pairs.len());
    let screened: Vec<Screened> = pairs
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .filter_map(|(first, second)| screen(evidence, groups, first, second, sound_sway, log_total))
        .collect();

    let mut left_out = LogSum::default();
    let mut kept = Vec::new();
    for pair in screened {
        match pair {
            Screened::Ruled { log_bound } => left_out.add(log_bound),
            Screened::Estimated { first, second, log_weight } => {
                work.pairs_solved += 1;
                if log_weight > log_total - ESTIMATE_DEPTH {
                    kept.push((first, second, log_weight));
                } else {
                    left_out.add(log_weight + ESTIMATE_DOUBT);
                }
            }
            Screened::Hidden { host, odds } => {
                work.pairs_solved += 1;
                groups[host].hidden_odds += odds;
            }
        }
    }
    let fit_above = log_total + PAIR_FIT_SHARE.ln();
    let groups = &*groups;
    evidence.watch.plan(kept.len());
    let weighed: Vec<Vec<Weighed>> = kept
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .map(|(first, second, log_weight)| {
            let odds = pair_odds(groups, first, second).ln();
            weigh_members(evidence, groups, first, second, log_weight - odds, log_weight > fit_above)
        })
        .collect();
    work.pair_fits = weighed.iter().filter(|members| members.iter().any(|member| member.fit.is_some())).count();
    Pairs { weighed, left_out: left_out.log() }
}

/// Screens a pair of groups, setup by setup, stopping as soon as it cannot matter; `None` if no members fit together.
fn screen(
    evidence: &Evidence<'_>,
    groups: &[Group],
    first: usize,
    second: usize,
    sound_sway: &Sway,
    log_total: f64,
) -> Option<Screened> {
    let (a, b) = (&groups[first], &groups[second]);
    let faults = compatible_pair(evidence, a, b)?;
    let leader = if a.log_evidence > b.log_evidence { a } else { b };
    let sway = leader.sway.as_ref().unwrap_or(sound_sway);
    let medians = vec![0.0; unknown_count(&evidence.job.unit, &faults)];
    let mut look = evidence.nothing_yet();
    let log_odds = pair_odds(groups, first, second).ln();
    let mut log_bound = log_odds + evidence.data.iter().map(Datum::best).sum::<f64>();
    for asked in evidence.asked() {
        if evidence.look_at_values(asked, &faults, &medians, &mut look).is_err() {
            return None;
        }
        for &reading in &asked.readings {
            let datum = &evidence.data[reading];
            // A fault with a size may be so small that the other acts alone.
            let beside_b = a.reach.looks().filter(|_| !b.reach.ends.is_empty());
            let beside_a = b.reach.looks().filter(|_| !a.reach.ends.is_empty());
            let looks = std::iter::once(&look).chain(beside_b).chain(beside_a);
            log_bound += best_over(datum, reading, looks, sway) - datum.best();
        }
        if log_bound < log_total - BOUND_DEPTH {
            return Some(Screened::Ruled { log_bound });
        }
    }
    let hides = |host: &Group, other: &Group| {
        same_looks(&evidence.data, &look, &host.reach.median)
            && (other.reach.ends.is_empty() || hides_at_any_size(evidence, &faults, host))
    };
    if hides(a, b) {
        // Of two alike each may be the one that hides: the pair counts once.
        let odds = if first == second { 0.5 * b.odds } else { b.odds };
        return Some(Screened::Hidden { host: first, odds });
    }
    if hides(b, a) {
        return Some(Screened::Hidden { host: second, odds: a.odds });
    }
    let reach = Reach { median: look, ends: Vec::new() };
    let log_evidence = estimate(evidence, &reach, sway, &[&a.reach, &b.reach]);
    Some(Screened::Estimated { first, second, log_weight: log_odds + log_evidence })
}

/// Whether a pair predicts what its host predicts alone, at both ends of the other fault's size.
///
/// A host with a size of its own moves with it; then nothing is taken to hide.
fn hides_at_any_size(evidence: &Evidence<'_>, faults: &FaultSet, host: &Group) -> bool {
    host.reach.ends.is_empty()
        && Reach::new(evidence, faults)
            .is_some_and(|reach| reach.ends.iter().all(|end| same_looks(&evidence.data, end, &host.reach.median)))
}

/// Odds of all pairs of two groups together; within one group every pair counts once.
fn pair_odds(groups: &[Group], first: usize, second: usize) -> f64 {
    let share = if first == second { 0.5 } else { 1.0 };
    share * groups[first].odds * groups[second].odds
}

/// Compatible members of two groups, or of one group among themselves: a part other than a motor has one fault at a
/// time.
fn compatible_pairs<'g>(
    evidence: &'g Evidence<'_>,
    a: &'g Group,
    b: &'g Group,
) -> impl Iterator<Item = (usize, usize)> + 'g {
    let same = std::ptr::eq(a, b);
    let pairs = a.faults.iter().flat_map(|&x| b.faults.iter().map(move |&y| (x, y)));
    pairs.filter(move |&(x, y)| (!same || x < y) && compatible(evidence, x, y))
}

/// The first of them.
fn compatible_pair(evidence: &Evidence<'_>, a: &Group, b: &Group) -> Option<FaultSet> {
    compatible_pairs(evidence, a, b).next().map(|(x, y)| FaultSet(vec![x.min(y), x.max(y)]))
}

pub(crate) fn compatible(evidence: &Evidence<'_>, x: usize, y: usize) -> bool {
    let unit = &evidence.job.unit;
    let (a, b) = (&unit.faults()[x], &unit.faults()[y]);
    if a.place != b.place {
        return true;
    }
    match a.place {
        Place::Part(part) => unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_some(),
        Place::Wire(_) => false,
    }
}

/// All compatible member pairs of two groups, fitted once if `fit` says so.
fn weigh_members(
    evidence: &Evidence<'_>,
    groups: &[Group],
    first: usize,
    second: usize,
    estimated: f64,
    fit: bool,
) -> Vec<Weighed> {
    let (a, b) = (&groups[first], &groups[second]);
    let leader = if a.log_evidence > b.log_evidence { a } else { b };
    let start = leader.fit.as_ref().map(|fit| &fit.z);
    let fitted = match compatible_pair(evidence, a, b) {
        Some(faults) if fit => evidence.fit(&faults, start).ok().map(|fit| summed(evidence, fit)),
        _ => None,
    };
    let log_evidence = fitted.as_ref().map_or(estimated, |fit| fit.log_evidence);
    let odds = |fault: usize| evidence.job.unit.faults()[fault].mode.odds;
    compatible_pairs(evidence, a, b)
        .map(|(x, y)| {
            let faults = FaultSet(vec![x.min(y), x.max(y)]);
            Weighed::new(faults, (odds(x) * odds(y)).ln(), log_evidence, fitted.clone())
        })
        .collect()
}
