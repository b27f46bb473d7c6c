//! Pairs of faults: ruled out by a bound, found to hide, estimated, or fitted.

use crate::beside::{Beside, Host};
use crate::evidence::Evidence;
use crate::hidden::Alike;
use crate::log_weights::LogSum;
use crate::reading_model::Datum;
use crate::screen::{Reach, Sway, best_over};
use crate::singles::{Group, estimate};
use crate::suspects::{Weighed, Work};
use crate::wrong_readings::summed;
use bench::FaultSet;
use bench::exclusion::exclude_each_other;
use bench::wiring::unknown_count;
use rayon::prelude::*;
use std::sync::Arc;

/// Pairs whose bound is this far, in nats, below the sum of all singles are ruled out: a share below 1e-7.
const BOUND_DEPTH: f64 = 16.0;
/// Pairs whose estimate is this far below are left out, and counted with [`ESTIMATE_DOUBT`].
const ESTIMATE_DEPTH: f64 = 10.0;
/// By how much, in nats, an estimate that led to leaving a pair out may be too low.
const ESTIMATE_DOUBT: f64 = 2.0;
/// Pairs with an estimated share above this are fitted.
const PAIR_FIT_SHARE: f64 = 3e-3;
/// The same where logs are yet to be weighed: a pair that they raise tenfold must not be known by an estimate alone.
const PAIR_FIT_SHARE_BEFORE_LOGS: f64 = 1e-3;

/// What screening made of a pair of groups.
enum Screened {
    /// Its bound is below what could matter.
    Ruled { log_bound: f64 },
    /// Its estimated weight.
    Estimated { first: usize, second: usize, log_weight: f64 },
    /// It predicts what `host` predicts alone: the faults of the other group hide behind it.
    Hidden { host: usize, other: usize },
}

/// All pairs, weighed.
pub(crate) struct Pairs {
    /// By pair of groups.
    pub(crate) weighed: Vec<Vec<Weighed>>,
    /// Summed weight, as a logarithm, of the pairs left out.
    pub(crate) left_out: f64,
}

/// Weighs all pairs of groups; what hides behind a single is noted there. `log_total` is the weight of all singles.
///
/// Groups from `silent_from` on change no reading by themselves. Beside a fault that was fitted they may: a heater's
/// contact that is welded shows only where the heater is open. Beside the others they are taken to hide.
pub(crate) fn weigh_pairs(
    evidence: &Evidence<'_>,
    groups: &mut [Group],
    silent_from: usize,
    sound_sway: &Sway,
    log_total: f64,
    work: &mut Work,
) -> Pairs {
    let mut pairs: Vec<(usize, usize)> =
        (0..silent_from).flat_map(|first| (first..silent_from).map(move |second| (first, second))).collect();
    let count = groups.len();
    for (host, group) in groups[..silent_from].iter_mut().enumerate().filter(|(_, group)| group.fit.is_some()) {
        group.silent_seen = true;
        pairs.extend((silent_from..count).map(|silent| (host, silent)));
    }
    work.pairs = pairs.len();
    evidence.watch.plan(pairs.len());
    let seen = &*groups;
    let hosts: Vec<Option<Host<'_, '_>>> =
        seen.par_iter().map(|group| group.fit.as_ref().map(|fit| Host::new(evidence, fit))).collect();
    let screened: Vec<Screened> = pairs
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .filter_map(|pair| screen(evidence, seen, &hosts, pair, sound_sway, log_total))
        .collect();
    drop(hosts);

    let alike: Vec<Arc<Alike>> = groups.iter().map(|group| Alike::new(&evidence.job.unit, &group.faults)).collect();
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
            Screened::Hidden { host, other } => {
                work.pairs_solved += 1;
                // Of two alike each may be the one that hides: the pair counts once.
                let share = if host == other { 0.5 } else { 1.0 };
                hide(evidence, &mut groups[host], &alike[other], share);
            }
        }
    }
    let fit_share = if evidence.job.logs.is_empty() { PAIR_FIT_SHARE } else { PAIR_FIT_SHARE_BEFORE_LOGS };
    let fit_above = log_total + fit_share.ln();
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
    hosts: &[Option<Host<'_, '_>>],
    (first, second): (usize, usize),
    sound_sway: &Sway,
    log_total: f64,
) -> Option<Screened> {
    let (a, b) = (&groups[first], &groups[second]);
    let members = compatible_pair(evidence, a, b)?;
    let (host, leader) = if a.log_evidence >= b.log_evidence { (first, a) } else { (second, b) };
    let log_odds = pair_odds(groups, first, second).ln();
    if let Some(fitted) = &hosts[host] {
        let (own, other) = if host == first { members } else { (members.1, members.0) };
        let needed = log_total - ESTIMATE_DEPTH - log_odds;
        return fitted.beside(&FaultSet(vec![own]), other, needed).map(|beside| match beside {
            Beside::Hides => Screened::Hidden { host, other: if host == first { second } else { first } },
            Beside::Weighs(log_evidence) => Screened::Estimated { first, second, log_weight: log_odds + log_evidence },
        });
    }
    let sway = leader.sway.as_ref().unwrap_or(sound_sway);
    let faults = FaultSet(vec![members.0.min(members.1), members.0.max(members.1)]);
    let medians = vec![0.0; unknown_count(&evidence.job.unit, &faults)];
    let mut look = evidence.nothing_yet();
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
    let reach = Reach { median: look, ends: Vec::new() };
    let log_evidence = estimate(evidence, &reach, sway, &[&a.reach, &b.reach]);
    Some(Screened::Estimated { first, second, log_weight: log_odds + log_evidence })
}

/// Notes at every fault of a group those of a list that hide behind it, each with a share of its odds.
fn hide(evidence: &Evidence<'_>, host: &mut Group, alike: &Arc<Alike>, share: f64) {
    for (&own, hidden) in host.faults.iter().zip(&mut host.hidden) {
        hidden.add(alike, |extra| extra != own && compatible(evidence, own, extra), share);
    }
}

/// Odds of all pairs of two groups together; within one group every pair counts once.
fn pair_odds(groups: &[Group], first: usize, second: usize) -> f64 {
    let share = if first == second { 0.5 } else { 1.0 };
    share * groups[first].odds * groups[second].odds
}

/// Compatible members of two groups, or of one group among themselves: in one place there are no two that exclude each other.
fn compatible_pairs<'g>(
    evidence: &'g Evidence<'_>,
    a: &'g Group,
    b: &'g Group,
) -> impl Iterator<Item = (usize, usize)> + 'g {
    let same = std::ptr::eq(a, b);
    let pairs = a.faults.iter().flat_map(|&x| b.faults.iter().map(move |&y| (x, y)));
    pairs.filter(move |&(x, y)| (!same || x < y) && compatible(evidence, x, y))
}

/// The first of them, in the order of the groups.
fn compatible_pair(evidence: &Evidence<'_>, a: &Group, b: &Group) -> Option<(usize, usize)> {
    compatible_pairs(evidence, a, b).next()
}

pub(crate) fn compatible(evidence: &Evidence<'_>, x: usize, y: usize) -> bool {
    let unit = &evidence.job.unit;
    let (a, b) = (&unit.faults()[x], &unit.faults()[y]);
    a.place != b.place || !exclude_each_other(&a.mode, &b.mode)
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
    let start = leader.fit.as_ref();
    let fitted = match compatible_pair(evidence, a, b) {
        Some((x, y)) if fit => {
            let faults = FaultSet(vec![x.min(y), x.max(y)]);
            evidence.fit(&faults, start).ok().map(|fit| summed(evidence, fit))
        }
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
