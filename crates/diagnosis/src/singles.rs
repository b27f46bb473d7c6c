//! Single faults: those that predict the same are grouped, and every group that could matter is fitted.

use crate::evidence::{Evidence, Outlook};
use crate::fit::Fit;
use crate::hidden::Hidden;
use crate::log_weights::LogSum;
use crate::reading_model::Datum;
use crate::screen::{Reach, Sway, best_over, linear_evidence, linear_log_evidence};
use crate::suspects::Work;
use crate::wrong_readings::summed;
use bench::FaultSet;
use bench::wiring::{severity_unknown, unknown_count};
use nalgebra::DVector;
use rayon::prelude::*;

/// Predictions closer than this share of a reading's standard deviation are the same: evidence moves by less than a
/// tenth of a nat even where a reading is three deviations off.
const SAME_SHARE: f64 = 0.02;
/// Resistances closer than this share of themselves differ by rounding alone.
const ROUNDING: f64 = 1e-9;
/// Singles whose estimated weight is this far, in nats, below the best are not fitted.
const SINGLE_FIT_DEPTH: f64 = 20.0;
/// Fitted singles within this many nats of the best have their wrong readings summed over.
const SUMMED_DEPTH: f64 = 9.0;

/// Singles that predict the same for every reading.
pub(crate) struct Group {
    pub(crate) faults: Vec<usize>,
    pub(crate) reach: Reach,
    pub(crate) odds: f64,
    /// Estimated log evidence; replaced by the fitted one where a fit was made.
    pub(crate) log_evidence: f64,
    pub(crate) fit: Option<Fit>,
    /// Per fault, further ones that were seen to change nothing beside it, with their odds.
    pub(crate) hidden: Vec<Hidden>,
    /// Whether those among them that change nothing alone were looked at beside this one.
    pub(crate) silent_seen: bool,
    /// Covariance of predictions with this fault in; that of the sound unit where it was not worth computing.
    pub(crate) sway: Option<Sway>,
}

/// All single faults: groups that some reading could tell from the sound unit, fitted if they matter, and those that none
/// could.
pub(crate) fn weigh_singles(
    evidence: &Evidence<'_>,
    sound: &Outlook,
    sound_sway: &Sway,
    sound_fit: &Fit,
    work: &mut Work,
) -> (Vec<Group>, Vec<Group>) {
    let groups = group_singles(evidence, sound_sway, sound_fit, work);
    let is_silent = |group: &Group| group.reach.looks().all(|look| same_looks(&evidence.data, look, sound));
    let (mut quiet, mut groups): (Vec<Group>, Vec<Group>) = groups.into_iter().partition(is_silent);
    fit_singles(evidence, &mut groups, sound_sway, work);
    for group in &mut quiet {
        // What shows in no reading explains them as well as a sound unit does.
        group.log_evidence = sound_fit.log_evidence;
        group.fit = Some(sound_fit.with_silent(evidence, group.faults[0]));
    }
    (groups, quiet)
}

/// Groups all singles and estimates each group, from the medians and from the values that suit a sound unit best: where
/// readings have moved those far, lines from the medians end beside everything.
fn group_singles(evidence: &Evidence<'_>, sound_sway: &Sway, sound_fit: &Fit, work: &mut Work) -> Vec<Group> {
    let unit = &evidence.job.unit;
    let reaches: Vec<Option<Reach>> =
        (0..unit.faults().len()).into_par_iter().map(|fault| Reach::new(evidence, &FaultSet(vec![fault]))).collect();
    let mut groups: Vec<Group> = Vec::new();
    for (fault, reach) in reaches.into_iter().enumerate() {
        let Some(reach) = reach else {
            work.unsolved += 1;
            continue;
        };
        let mode = &unit.faults()[fault].mode;
        let alike = groups.iter_mut().find(|group| {
            unit.faults()[group.faults[0]].mode.severity == mode.severity
                && same_reach(&evidence.data, &group.reach, &reach)
        });
        match alike {
            Some(group) => {
                group.faults.push(fault);
                group.hidden.push(Hidden::default());
                group.odds += mode.odds;
            }
            None => {
                let unmoved = vec![0.0; evidence.data.len()];
                let log_evidence = estimate_sized(evidence, &sized_looks(&reach), sound_sway, &unmoved);
                groups.push(Group {
                    faults: vec![fault],
                    reach,
                    odds: mode.odds,
                    log_evidence,
                    fit: None,
                    hidden: vec![Hidden::default()],
                    silent_seen: false,
                    sway: None,
                });
            }
        }
    }
    let fitted_sway = Sway::new(&evidence.prior, &sound_fit.outlook);
    let moved = sound_fit.moved(&evidence.prior);
    groups.par_iter_mut().for_each(|group| {
        let looks = looks_at(evidence, group.faults[0], &sound_fit.deviations, &[-2.0, -1.0, 0.0, 1.0, 2.0]);
        let looks: Vec<(f64, &Outlook)> = looks.iter().map(|(size, look)| (*size, look)).collect();
        if !looks.is_empty() {
            group.log_evidence = group.log_evidence.max(estimate_sized(evidence, &looks, &fitted_sway, &moved));
        }
    });
    groups
}

/// Looks at a single fault with all other values as given, at sizes in standard deviations of its own; one without a size
/// is looked at once. Those that cannot be solved are missing.
fn looks_at(evidence: &Evidence<'_>, fault: usize, deviations: &[f64], sizes: &[f64]) -> Vec<(f64, Outlook)> {
    let unit = &evidence.job.unit;
    let faults = FaultSet(vec![fault]);
    let mut deviations = deviations.to_vec();
    deviations.resize(unknown_count(unit, &faults), 0.0);
    let size = severity_unknown(unit, &faults, 0).zip(unit.faults()[fault].mode.severity.as_ref());
    let sizes = if size.is_some() { sizes } else { &[0.0] };
    let look = |&at: &f64| {
        if let Some((unknown, severity)) = size {
            deviations[unknown] = at * severity.log_spread;
        }
        Some((at, evidence.outlook_values(&faults, &deviations).ok()?))
    };
    sizes.iter().filter_map(look).collect()
}

/// Best linear estimate over the looks of a suspect; `sized` are the reaches whose severities may move.
pub(crate) fn estimate(evidence: &Evidence<'_>, reach: &Reach, sway: &Sway, sized: &[&Reach]) -> f64 {
    let directions: Vec<_> = sized.iter().filter_map(|reach| reach.severity_direction()).collect();
    let directions: Vec<_> = directions.iter().collect();
    let unmoved = vec![0.0; evidence.data.len()];
    reach
        .looks()
        .map(|look| linear_log_evidence(&evidence.data, look, &unmoved, sway, &directions))
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Estimated log evidence from looks at several sizes of a fault, from the smallest up; `moved` is how far all other
/// values have moved their predictions from the medians.
///
/// A size is anything but straight: straight lines go from each look to the next, and each look answers for the sizes that
/// are nearest to it.
pub(crate) fn estimate_sized(evidence: &Evidence<'_>, looks: &[(f64, &Outlook)], sway: &Sway, moved: &[f64]) -> f64 {
    let data = &evidence.data;
    if let [(_, only)] = looks {
        return linear_log_evidence(data, only, moved, sway, &[]);
    }
    let mut sum = LogSum::default();
    for (place, ends) in looks.windows(2).enumerate() {
        let (from, to) = (ends[0], ends[1]);
        let direction = DVector::from_fn(data.len(), |reading, _| {
            let change = to.1.predictions[reading].value - from.1.predictions[reading].value;
            if change.is_finite() { change / (to.0 - from.0) } else { 0.0 }
        });
        let middle = 0.5 * (from.0 + to.0);
        let lowest = if place == 0 { f64::NEG_INFINITY } else { from.0 };
        let highest = if place + 2 == looks.len() { f64::INFINITY } else { to.0 };
        for ((size, look), low, high) in [(from, lowest, middle), (to, middle, highest)] {
            let moved: Vec<f64> = direction.iter().zip(moved).map(|(slope, moved)| size * slope + moved).collect();
            let line = linear_evidence(data, look, &moved, sway, &[&direction]);
            sum.add(line.log_evidence + line.first_within(low, high).ln());
        }
    }
    sum.log()
}

/// The looks of a reach, with their sizes.
fn sized_looks(reach: &Reach) -> Vec<(f64, &Outlook)> {
    match &reach.ends[..] {
        [low, high] => vec![(-2.0, low), (0.0, &reach.median), (2.0, high)],
        _ => vec![(0.0, &reach.median)],
    }
}

/// Looks closer at a group that three looks say is out of the question although readings at their best would allow it.
///
/// Between two looks a motor may stall, or a current fall by decades.
fn look_closer(evidence: &Evidence<'_>, group: &mut Group, sway: &Sway, needed: f64) {
    let log_odds = group.odds.ln();
    if group.reach.ends.is_empty() || log_odds + group.log_evidence > needed {
        return;
    }
    let best = |(reading, datum)| best_over(datum, reading, group.reach.looks(), sway);
    if log_odds + evidence.data.iter().enumerate().map(best).sum::<f64>() < needed {
        return;
    }
    let medians = vec![0.0; evidence.prior.count()];
    let between = looks_at(evidence, group.faults[0], &medians, &[-1.5, -1.0, -0.5, 0.5, 1.0, 1.5]);
    let mut looks = sized_looks(&group.reach);
    looks.extend(between.iter().map(|(size, look)| (*size, look)));
    looks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let unmoved = vec![0.0; evidence.data.len()];
    group.log_evidence = group.log_evidence.max(estimate_sized(evidence, &looks, sway, &unmoved));
}

/// Fits every group that could matter.
fn fit_singles(evidence: &Evidence<'_>, groups: &mut [Group], sound_sway: &Sway, work: &mut Work) {
    let best_of = |groups: &[Group]| {
        groups.iter().map(|group| group.odds.ln() + group.log_evidence).fold(f64::NEG_INFINITY, f64::max)
    };
    let needed = best_of(groups) - SINGLE_FIT_DEPTH;
    groups.par_iter_mut().for_each(|group| look_closer(evidence, group, sound_sway, needed));
    let best = best_of(groups);
    evidence
        .watch
        .plan(groups.iter().filter(|group| group.odds.ln() + group.log_evidence > best - SINGLE_FIT_DEPTH).count());
    work.single_fits = groups
        .par_iter_mut()
        .filter(|group| group.odds.ln() + group.log_evidence > best - SINGLE_FIT_DEPTH && evidence.watch.step())
        .map(|group| {
            let faults = FaultSet(vec![group.faults[0]]);
            if let Ok(fit) = evidence.fit(&faults, None) {
                group.log_evidence = fit.log_evidence;
                let prior = evidence.prior.with_severities(&evidence.job.unit, &faults);
                let medians = vec![0.0; prior.count()];
                group.sway = evidence.outlook(&faults, &medians).ok().map(|outlook| Sway::new(&prior, &outlook));
                group.fit = Some(fit);
            }
        })
        .count();
    let best = best_of(groups);
    // A fit that doubts a reading may stand beside a top, higher by ten nats, that does not.
    let is_worth_it = |group: &Group, fit: &Fit| {
        let doubts_one = fit.doubt.iter().any(|doubt| *doubt > 0.5);
        group.odds.ln() + group.log_evidence > best - if doubts_one { SINGLE_FIT_DEPTH } else { SUMMED_DEPTH }
    };
    groups.par_iter_mut().for_each(|group| {
        if let Some(fit) = group.fit.take() {
            let fit = if is_worth_it(group, &fit) { summed(evidence, fit) } else { fit };
            group.log_evidence = fit.log_evidence;
            group.fit = Some(fit);
        }
    });
}

impl Group {
    /// Its faults, each a group of its own.
    pub(crate) fn apart<'g>(&'g self, evidence: &'g Evidence<'_>) -> impl Iterator<Item = Group> + 'g {
        self.faults.iter().map(|&fault| Group {
            faults: vec![fault],
            reach: self.reach.clone(),
            odds: evidence.job.unit.faults()[fault].mode.odds,
            log_evidence: self.log_evidence,
            fit: None,
            hidden: vec![Hidden::default()],
            silent_seen: false,
            sway: None,
        })
    }
}

pub(crate) fn same_reach(data: &[Datum], a: &Reach, b: &Reach) -> bool {
    a.ends.len() == b.ends.len() && a.looks().zip(b.looks()).all(|(x, y)| same_looks(data, x, y))
}

/// Whether no reading could tell two outlooks apart: all predictions within [`SAME_SHARE`] of a reading's spread.
pub(crate) fn same_looks(data: &[Datum], a: &Outlook, b: &Outlook) -> bool {
    (a.symptoms - b.symptoms).abs() < SAME_SHARE
        && data.iter().zip(a.predictions.iter().zip(&b.predictions)).all(|(datum, (x, y))| match *datum {
            Datum::Shown { sigma, .. } => x.value == y.value || (x.value - y.value).abs() <= SAME_SHARE * sigma,
            Datum::Open { limit, .. } => {
                let is_same = x.value == y.value || (x.value - y.value).abs() <= ROUNDING * x.value.min(y.value);
                is_same || x.value.min(y.value) > 2.0 * limit
            }
        })
}

#[cfg(test)]
mod tests {
    use super::same_looks;
    use crate::evidence::Outlook;
    use crate::reading_model::Datum;
    use bench::Prediction;

    fn look(ohms: f64) -> Outlook {
        Outlook { predictions: vec![Prediction { value: ohms, gradient: Vec::new() }], symptoms: 0.0 }
    }

    #[test]
    fn what_an_open_reading_cannot_tell_apart() {
        let data = [Datum::Open { limit: 4e7, gross_share: 0.05 }];
        for (a, b, is_same, why) in [
            (5e6, 5e6 * (1.0 + 1e-13), true, "rounding"),
            (5e6, 5.1e6, false, "two resistances that the meter would show"),
            (f64::INFINITY, 5e6, false, "no path at all, and one that the meter would show"),
            (f64::INFINITY, f64::INFINITY, true, "no path in either"),
            (f64::INFINITY, 9e7, true, "both beyond the range"),
        ] {
            assert_eq!(same_looks(&data, &look(a), &look(b)), is_same, "{why}");
            assert_eq!(same_looks(&data, &look(b), &look(a)), is_same, "{why}");
        }
    }
}
