//! Three faults at once, where two already hold a share of their own.
//!
//! Every fitted pair that matters is looked at with each further fault beside it, at the values of its own fit: what
//! changes no reading hides behind the pair, what could matter is fitted. Three faults of which no two matter are not
//! looked at.

use crate::beside::{Beside, Host};
use crate::evidence::Evidence;
use crate::hidden::Alike;
use crate::log_weights::LogSum;
use crate::pairs::compatible;
use crate::singles::Group;
use crate::suspects::{Weighed, Work};
use crate::wrong_readings::summed;
use bench::FaultSet;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Pairs with this share of all weight are looked at with a third fault.
const HOST_SHARE: f64 = 1e-2;
/// At most so many of them.
const MOST_HOSTS: usize = 8;
/// Threes whose estimate is this far, in nats, below the sum of everything are left out.
const ESTIMATE_DEPTH: f64 = 8.0;
/// By how much, in nats, an estimate that led to leaving one out may be too low.
const ESTIMATE_DOUBT: f64 = 2.0;
/// Threes with an estimated share above this are fitted.
const FIT_SHARE: f64 = 1e-2;

/// Threes, weighed.
pub(crate) struct Triples {
    /// By host and further group.
    pub(crate) weighed: Vec<Vec<Weighed>>,
    /// Summed weight, as a logarithm, of those looked at and left out.
    pub(crate) left_out: f64,
}

/// What one look at a host with a further group came to.
enum Looked {
    Hidden { host: usize, group: usize },
    Estimated { host: usize, group: usize, log_evidence: f64 },
}

/// Three faults with what one look says of them.
#[derive(Clone, Copy)]
struct Estimated {
    log_odds: f64,
    host: usize,
    group: usize,
    log_evidence: f64,
}

/// Threes that one look was for, with the odds of each.
struct Kept {
    log_evidence: f64,
    members: Vec<(FaultSet, f64)>,
}

/// Threes of one look from which on, if none of them can matter, they are added up without being told apart: of parts side
/// by side there are millions. Those that are reached from two pairs are then counted twice.
const MANY: usize = 256;
/// Estimates that differ by less, in nats, are the same but for rounding.
const ALIKE: f64 = 1e-6;

/// Weighs threes; what hides behind a pair is noted there. `log_total` is the weight of all singles.
pub(crate) fn weigh_triples(
    evidence: &Evidence<'_>,
    groups: &[Group],
    pairs: &mut [Vec<Weighed>],
    log_total: f64,
    work: &mut Work,
) -> Triples {
    let weight = |members: &Vec<Weighed>| {
        let mut sum = LogSum::default();
        members.iter().for_each(|member| sum.add(member.log_weight()));
        sum.log()
    };
    let mut everything = LogSum::default();
    everything.add(log_total);
    pairs.iter().for_each(|members| everything.add(weight(members)));
    let everything = everything.log();
    let mut hosts: Vec<(usize, f64)> = pairs.iter().map(weight).enumerate().collect();
    hosts.retain(|&(host, weight)| {
        weight > everything + HOST_SHARE.ln() && pairs[host].first().is_some_and(|pair| pair.fit.is_some())
    });
    hosts.sort_by(|a, b| b.1.total_cmp(&a.1));
    hosts.truncate(MOST_HOSTS);
    let asked: Vec<(usize, usize)> =
        hosts.iter().flat_map(|&(host, _)| (0..groups.len()).map(move |group| (host, group))).collect();
    work.triples = asked.len();
    evidence.watch.plan(asked.len());
    let hosting = &*pairs;
    let odds = |fault: &usize| evidence.job.unit.faults()[*fault].mode.odds.ln();
    let likeliest = |odds: &mut dyn Iterator<Item = f64>| odds.fold(f64::NEG_INFINITY, f64::max);
    let prepared: BTreeMap<usize, (Host<'_, '_>, f64)> = hosts
        .iter()
        .filter_map(|&(host, _)| {
            let fit = hosting[host].first()?.fit.as_ref()?;
            let log_odds = likeliest(&mut hosting[host].iter().map(|pair| pair.log_odds));
            Some((host, (Host::new(evidence, fit), log_odds)))
        })
        .collect();
    let looked: Vec<Looked> = asked
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .filter_map(|(host, group)| {
            let (fitted, log_odds) = prepared.get(&host)?;
            let pair = hosting[host].first()?;
            let other = *groups[group].faults.iter().find(|&&other| fits_beside(evidence, &pair.faults, other))?;
            let others = likeliest(&mut groups[group].faults.iter().map(odds));
            let needed = everything - ESTIMATE_DEPTH - log_odds - others;
            Some(match fitted.beside(&pair.faults, other, needed)? {
                Beside::Hides => Looked::Hidden { host, group },
                Beside::Weighs(log_evidence) => Looked::Estimated { host, group, log_evidence },
            })
        })
        .collect();
    drop(prepared);
    let mut left_out = LogSum::default();
    // The same three may be reached from more than one pair: the likelier estimate counts.
    let mut reached: Vec<([usize; 3], Estimated)> = Vec::new();
    for look in looked {
        match look {
            Looked::Hidden { host, group } => hide(evidence, &mut pairs[host], &groups[group]),
            Looked::Estimated { host, group, log_evidence } => {
                if pairs[host].len() * groups[group].faults.len() > MANY {
                    let odds = |&fault: &usize| evidence.job.unit.faults()[fault].mode.odds.ln();
                    let pair_odds = pairs[host].iter().map(|pair| pair.log_odds);
                    let (likeliest, all) = together(pair_odds, groups[group].faults.iter().map(odds));
                    if likeliest + log_evidence < everything - ESTIMATE_DEPTH {
                        left_out.add(all + log_evidence + ESTIMATE_DOUBT);
                        continue;
                    }
                }
                for pair in &pairs[host] {
                    let beside = |other: &&usize| fits_beside(evidence, &pair.faults, **other);
                    for &other in groups[group].faults.iter().filter(beside) {
                        let Some(three) = with(&pair.faults, other) else { continue };
                        let log_odds = pair.log_odds + evidence.job.unit.faults()[other].mode.odds.ln();
                        reached.push((three, Estimated { log_odds, host, group, log_evidence }));
                    }
                }
            }
        }
    }
    reached.par_sort_by_key(|(three, _)| *three);
    let estimated = reached.chunk_by(|a, b| a.0 == b.0).filter_map(|same| {
        same.iter().copied().reduce(
            |known, new| {
                if new.1.log_evidence > known.1.log_evidence + ALIKE { new } else { known }
            },
        )
    });
    // What was looked at together predicts the same.
    let mut kept: BTreeMap<(usize, usize), Kept> = BTreeMap::new();
    for (faults, Estimated { log_odds, host, group, log_evidence }) in estimated {
        if log_odds + log_evidence > everything - ESTIMATE_DEPTH {
            let kept = kept.entry((host, group)).or_insert(Kept { log_evidence, members: Vec::new() });
            kept.members.push((FaultSet(faults.to_vec()), log_odds));
        } else {
            left_out.add(log_odds + log_evidence + ESTIMATE_DOUBT);
        }
    }
    let pairs = &*pairs;
    evidence.watch.plan(kept.len());
    let weighed: Vec<Vec<Weighed>> = kept
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .map(|((host, _), Kept { log_evidence: estimate, members })| {
            let mut sum = LogSum::default();
            members.iter().for_each(|(_, log_odds)| sum.add(log_odds + estimate));
            let start = pairs[host].first().and_then(|pair| pair.fit.as_ref());
            let fitted = (sum.log() > everything + FIT_SHARE.ln())
                .then(|| evidence.fit(&members[0].0, start).ok().map(|fit| summed(evidence, fit)))
                .flatten();
            let log_evidence = fitted.as_ref().map_or(estimate, |fit| fit.log_evidence);
            members
                .into_iter()
                .map(|(faults, log_odds)| Weighed::new(faults, log_odds, log_evidence, fitted.clone()))
                .collect()
        })
        .collect();
    work.triple_fits = weighed.iter().filter(|members| members.iter().any(|member| member.fit.is_some())).count();
    Triples { weighed, left_out: left_out.log() }
}

/// Logarithms of the odds of the likeliest of one list with one of another, and of all of them with all.
fn together(one: impl Iterator<Item = f64>, other: impl Iterator<Item = f64>) -> (f64, f64) {
    let largest_and_sum = |log_odds: &mut dyn Iterator<Item = f64>| {
        let mut sum = LogSum::default();
        let largest = log_odds.inspect(|log_odds| sum.add(*log_odds)).fold(f64::NEG_INFINITY, f64::max);
        (largest, sum.log())
    };
    let (mut one, mut other) = (one, other);
    let (one, other) = (largest_and_sum(&mut one), largest_and_sum(&mut other));
    (one.0 + other.0, one.1 + other.1)
}

/// A pair with a third fault, in order; thousands are looked at, so they stay off the heap.
fn with(pair: &FaultSet, other: usize) -> Option<[usize; 3]> {
    let &[first, second] = &pair.0[..] else { return None };
    let mut all = [first, second, other];
    all.sort_unstable();
    Some(all)
}

fn fits_beside(evidence: &Evidence<'_>, faults: &FaultSet, other: usize) -> bool {
    faults.0.iter().all(|&own| own != other && compatible(evidence, own, other))
}

/// Notes at every pair of a host the faults of a group that hide behind it.
fn hide(evidence: &Evidence<'_>, host: &mut [Weighed], group: &Group) {
    let alike = Alike::new(&evidence.job.unit, &group.faults);
    for pair in host {
        // Of two of a group either may be the one that hides: the three count once.
        let share = if pair.faults.0.iter().any(|own| group.faults.contains(own)) { 0.5 } else { 1.0 };
        pair.hidden.add(&alike, |extra| fits_beside(evidence, &pair.faults, extra), share);
    }
}

#[cfg(test)]
mod tests {
    use super::{together, with};
    use bench::FaultSet;

    #[test]
    fn odds_of_threes_that_are_not_told_apart() {
        // Pairs of 0.02 and 0.01, third faults of 0.3, 0.1 and 0.1: 0.03 * 0.5 of all, 0.02 * 0.3 of the likeliest.
        let logs = |odds: &'static [f64]| odds.iter().map(|odds| odds.ln());
        let (likeliest, all) = together(logs(&[0.02, 0.01]), logs(&[0.1, 0.3, 0.1]));
        assert!((likeliest.exp() - 0.006).abs() < 1e-15 && (all.exp() - 0.015).abs() < 1e-15, "{likeliest}, {all}");
    }

    #[test]
    fn three_are_the_same_by_whichever_pair_they_are_reached() {
        let three = |pair: [usize; 2], other| with(&FaultSet(pair.to_vec()), other);
        assert_eq!(three([2, 7], 5), Some([2, 5, 7]));
        assert_eq!(three([5, 7], 2), three([2, 5], 7));
        assert_eq!(with(&FaultSet(vec![4]), 2), None);
    }
}
