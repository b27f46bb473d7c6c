//! The leading suspects, weighed by draws where Laplace's approximation cannot vouch for itself.
//!
//! What draws take off the leaders (words in place of readings make every posterior a little skewed) is taken off the
//! others too, on average, so that nobody gains from not having been looked at.

use crate::evidence::Evidence;
use crate::fit::{Fit, OtherTop};
use crate::log_weights::LogSum;
use crate::sampling::{MOST_DRAWS, Sampled, sample};
use crate::suspects::Weighed;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Hypotheses with this share of all weight are drawn.
const DRAWN_SHARE: f64 = 2e-3;
/// At most this many are.
const MOST_DRAWN: usize = 16;
/// Times that those are looked for which have come to the front.
const ROUNDS: usize = 3;
/// Standard error aimed at, nats, for a hypothesis with a share above [`LARGE_SHARE`], and for the others.
const FINE_ERROR: f64 = 0.05;
const COARSE_ERROR: f64 = 0.25;
const LARGE_SHARE: f64 = 0.05;
/// A draw that is this much higher than the top of a fit, nats, shows that the fit stands at the wrong place.
const HIGHER: f64 = 1.0;

/// Draws the leaders; answers with what was taken off those not drawn, nats.
pub(crate) fn draw_leaders(evidence: &Evidence<'_>, weighed: &mut [Weighed]) -> f64 {
    if evidence.job.readings.is_empty() && evidence.job.symptoms.is_empty() {
        return 0.0;
    }
    let mut drawn: BTreeSet<usize> = BTreeSet::new();
    let mut shift = 0.0;
    for _ in 0..ROUNDS {
        let leaders = leaders(weighed, &drawn);
        if leaders.is_empty() {
            break;
        }
        evidence.watch.plan(leaders.len());
        for (kin, share) in leaders {
            if !evidence.watch.step() {
                return shift;
            }
            drawn.insert(kin);
            let Some(fit) = weighed.iter().find(|entry| entry.kin == kin).and_then(|entry| entry.fit.clone()) else {
                continue;
            };
            let small_error = if share > LARGE_SHARE { FINE_ERROR } else { COARSE_ERROR };
            let mut sampled = sample(evidence, &fit, small_error);
            if let Some(higher) = sampled.as_ref().and_then(|sampled| higher(evidence, &fit, sampled)) {
                sampled = sample(evidence, &higher, small_error).or(sampled);
                for entry in weighed.iter_mut().filter(|entry| entry.kin == kin) {
                    entry.fit = Some(higher.renamed(evidence, &entry.faults));
                }
            }
            for entry in weighed.iter_mut().filter(|entry| entry.kin == kin) {
                match &sampled {
                    Some(sampled) => entry.take(sampled),
                    // No draw explains anything: it weighs less than one in all of them.
                    None => entry.log_evidence -= (MOST_DRAWS as f64).ln(),
                }
            }
        }
        let now = average_shift(weighed);
        for entry in weighed.iter_mut().filter(|entry| entry.sampled.is_none()) {
            entry.log_evidence += now - shift;
        }
        shift = now;
    }
    shift
}

/// The fit at a top that draws have found to be higher than the one they were made about, if there is one.
fn higher(evidence: &Evidence<'_>, fit: &Fit, sampled: &Sampled) -> Option<Fit> {
    let (best, height) = &sampled.best;
    let own = fit.knowing_neighbours(evidence).log_posterior(&fit.outlook, &fit.z);
    if *height < own + HIGHER {
        return None;
    }
    let found = evidence.fit_from(&fit.faults, best.clone()).ok()?;
    let old = OtherTop { fit: Fit { other_tops: Arc::default(), ..fit.clone() }, share: 0.0 };
    let other_tops = fit.other_tops.iter().cloned().chain([old]).collect();
    evidence.worked_with(&found.deviations).then(|| Fit { other_tops, neighbours: fit.neighbours.clone(), ..found })
}

/// Hypotheses of one kin that hold a share together and were not drawn, with the share, largest first.
fn leaders(weighed: &[Weighed], drawn: &BTreeSet<usize>) -> Vec<(usize, f64)> {
    let mut total = LogSum::default();
    let mut sums: BTreeMap<usize, LogSum> = BTreeMap::new();
    for entry in weighed {
        let weight = entry.log_weight_with_hidden();
        total.add(weight);
        if entry.fit.is_some() && !drawn.contains(&entry.kin) {
            sums.entry(entry.kin).or_default().add(weight);
        }
    }
    let share = |(kin, sum): (usize, LogSum)| (kin, (sum.log() - total.log()).exp());
    let mut shares: Vec<(usize, f64)> = sums.into_iter().map(share).filter(|&(_, share)| share > DRAWN_SHARE).collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    shares.truncate(MOST_DRAWN.saturating_sub(drawn.len()));
    shares
}

/// Mean of what draws moved the drawn, by their weights.
fn average_shift(weighed: &[Weighed]) -> f64 {
    let (mut weight, mut moved) = (0.0, 0.0);
    let top = weighed.iter().map(Weighed::log_weight).fold(f64::NEG_INFINITY, f64::max);
    for entry in weighed {
        if let Some((sampled, before)) = &entry.sampled {
            let share = (entry.log_weight() - top).exp();
            weight += share;
            moved += share * (sampled.log_evidence - before);
        }
    }
    if weight > 0.0 { moved / weight } else { 0.0 }
}

impl Weighed {
    fn take(&mut self, sampled: &Sampled) {
        let before = self.log_evidence;
        self.log_evidence = sampled.log_evidence;
        if let Some(fit) = &mut self.fit {
            fit.doubt.clone_from(&sampled.doubt);
        }
        self.sampled = Some((sampled.clone(), before));
    }
}
