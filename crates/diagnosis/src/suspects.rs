//! All suspects, ranked.
//!
//! Candidates: nothing wrong, every single fault, every pair of faults, and none of the known faults. Singles that
//! predict the same for every reading share one fit. A pair is solved setup by setup until a bound says that it cannot
//! matter; one that can is estimated, and fitted if its share is not small. What is left out is added up and reported.
//! A fault that changes no reading by itself is taken to change none beside another; three and more faults at once are
//! not looked at.

use crate::DiagnosisError;
use crate::fit::{Evidence, Fit, Outlook};
use crate::log_weights::LogSum;
use crate::reading_model::Datum;
use crate::screen::{Reach, Sway, best_over, linear_log_evidence};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job, Place};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Odds of a fault that is not in any list, against none (engineering judgement).
const UNKNOWN_ODDS: f64 = 0.02;
/// Predictions closer than this share of a reading's standard deviation are the same: evidence moves by less than a
/// tenth of a nat even where a reading is three deviations off.
const SAME_SHARE: f64 = 0.02;
/// Singles whose estimated weight is this far, in nats, below the best are not fitted: a share below 1e-6.
const SINGLE_FIT_DEPTH: f64 = 14.0;
/// Pairs whose bound is this far, in nats, below the sum of all singles are ruled out: a share below 1e-7.
const BOUND_DEPTH: f64 = 16.0;
/// Pairs whose estimate is this far below are left out, and counted with [`ESTIMATE_DOUBT`].
const ESTIMATE_DEPTH: f64 = 10.0;
/// By how much, in nats, an estimate that led to leaving a pair out may be too low.
const ESTIMATE_DOUBT: f64 = 2.0;
/// Pairs with an estimated share above this are fitted.
const PAIR_FIT_SHARE: f64 = 3e-3;

/// A hypothesis with its probability.
#[derive(Debug, Clone)]
pub struct Suspect {
    /// What is wrong; `None` is 'none of the known faults'.
    pub faults: Option<FaultSet>,
    /// Probability, with what it may hide beside it.
    pub probability: f64,
    /// Share of `probability` in which there is a further fault that no reading taken could show.
    pub hidden_share: f64,
    /// What to do about it.
    pub repair: String,
    /// Most probable values; `None` for 'none of the known faults'.
    pub fit: Option<Fit>,
    /// Log evidence, nats.
    pub log_evidence: f64,
}

/// Repairs with the probability that each is what is needed.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairShare {
    /// What to do.
    pub repair: String,
    /// Probability that this is what is needed.
    pub probability: f64,
}

/// How much work a diagnosis was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Single faults considered.
    pub singles: usize,
    /// Fits made for them.
    pub single_fits: usize,
    /// Pairs considered.
    pub pairs: usize,
    /// Pairs solved in every setup; the others were ruled out before.
    pub pairs_solved: usize,
    /// Pairs fitted.
    pub pair_fits: usize,
    /// Suspects that could not be solved and were left out.
    pub unsolved: usize,
}

/// The ranking.
pub struct Diagnosis<'j> {
    /// The prepared job.
    pub evidence: Evidence<'j>,
    /// Suspects, most probable first.
    pub suspects: Vec<Suspect>,
    /// Repairs, most probable first.
    pub repairs: Vec<RepairShare>,
    /// Bound on the share of probability in pairs that were not fitted.
    pub mass_not_enumerated: f64,
    /// Per reading, the probability that it is grossly wrong.
    pub reading_doubt: Vec<f64>,
    /// Work done.
    pub work: Work,
}

/// Singles that predict the same for every reading.
struct Group {
    faults: Vec<usize>,
    reach: Reach,
    odds: f64,
    /// Estimated log evidence; replaced by the fitted one where a fit was made.
    log_evidence: f64,
    fit: Option<Fit>,
    /// Odds of further faults that change nothing beside this one, although they would alone.
    hidden_odds: f64,
    /// Covariance of predictions with this fault in; that of the sound unit where it was not worth computing.
    sway: Option<Sway>,
}

/// Words for a suspect without faults.
pub const NO_REPAIR: &str = "nothing to repair: look at how the unit is used and supplied";
/// Words for a suspect outside all lists.
pub const UNKNOWN_REPAIR: &str = "look again: no known fault explains the readings";

/// Ranks everything that could be wrong with the unit of a job.
///
/// # Errors
/// [`DiagnosisError`] if the sound unit cannot be solved.
pub fn diagnose(job: &Job) -> Result<Diagnosis<'_>, DiagnosisError> {
    let evidence = Evidence::new(job)?;
    let mut work = Work { singles: job.unit.faults().len(), ..Work::default() };
    let none = FaultSet::none();
    let medians = vec![0.0; evidence.prior.count()];
    let sound = evidence.outlook(&none, &medians)?;
    let sound_sway = Sway::new(&evidence.prior, &sound);

    let mut groups = group_singles(&evidence, &sound_sway, &mut work);
    fit_singles(&evidence, &mut groups, &mut work);
    let is_silent = |group: &Group| group.reach.looks().all(|look| same_looks(&evidence.data, look, &sound));
    let (quiet, mut groups): (Vec<Group>, Vec<Group>) = groups.into_iter().partition(is_silent);
    let silent: Vec<usize> = quiet.iter().flat_map(|group| group.faults.iter().copied()).collect();

    let sound_fit = evidence.fit(&none, None)?;
    let mut total = LogSum::default();
    total.add(sound_fit.log_evidence);
    groups.iter().chain(&quiet).for_each(|group| total.add(group.odds.ln() + group.log_evidence));
    let pairs = weigh_pairs(&evidence, &mut groups, &sound_sway, total.log(), &mut work);

    let mut weighed = vec![Weighed::fitted(none, 0.0, sound_fit)];
    for group in groups.iter().chain(&quiet) {
        for &fault in &group.faults {
            let faults = FaultSet(vec![fault]);
            let log_odds = job.unit.faults()[fault].mode.odds.ln();
            let single = Weighed::new(faults, log_odds, group.log_evidence, group.fit.clone());
            weighed.push(Weighed { hidden_odds: group.hidden_odds, ..single });
        }
    }
    weighed.extend(pairs.weighed);
    for entry in weighed.iter_mut().filter(|entry| !entry.faults.0.is_empty()) {
        entry.hidden_odds += hidden_beside(&evidence, &entry.faults, &silent);
    }
    Ok(rank(evidence, weighed, pairs.left_out, work))
}

/// Odds of a further fault, at another place, that changes no reading by itself.
fn hidden_beside(evidence: &Evidence<'_>, faults: &FaultSet, silent: &[usize]) -> f64 {
    silent
        .iter()
        .filter(|&&extra| faults.0.iter().all(|&fault| fault != extra && compatible(evidence, fault, extra)))
        .map(|&extra| evidence.job.unit.faults()[extra].mode.odds)
        .sum()
}

/// A hypothesis on its way to a probability.
struct Weighed {
    faults: FaultSet,
    log_odds: f64,
    log_evidence: f64,
    fit: Option<Fit>,
    /// Odds of a further fault that no reading could show beside these.
    hidden_odds: f64,
}

impl Weighed {
    /// `fit` may be that of another member of the same group: only the names differ.
    fn new(faults: FaultSet, log_odds: f64, log_evidence: f64, fit: Option<Fit>) -> Self {
        let fit = fit.map(|fit| Fit { faults: faults.clone(), ..fit });
        Weighed { faults, log_odds, log_evidence, fit, hidden_odds: 0.0 }
    }

    fn fitted(faults: FaultSet, log_odds: f64, fit: Fit) -> Self {
        Weighed { faults, log_odds, log_evidence: fit.log_evidence, fit: Some(fit), hidden_odds: 0.0 }
    }

    fn log_weight(&self) -> f64 {
        self.log_odds + self.log_evidence
    }
}

fn group_singles(evidence: &Evidence<'_>, sound_sway: &Sway, work: &mut Work) -> Vec<Group> {
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
                group.odds += mode.odds;
            }
            None => {
                let log_evidence = estimate(evidence, &reach, sound_sway, &[&reach]);
                groups.push(Group {
                    faults: vec![fault],
                    reach,
                    odds: mode.odds,
                    log_evidence,
                    fit: None,
                    hidden_odds: 0.0,
                    sway: None,
                });
            }
        }
    }
    groups
}

/// Best linear estimate over the looks of a suspect; `sized` are the reaches whose severities may move.
fn estimate(evidence: &Evidence<'_>, reach: &Reach, sway: &Sway, sized: &[&Reach]) -> f64 {
    let directions: Vec<_> = sized.iter().filter_map(|reach| reach.severity_direction()).collect();
    let directions: Vec<_> = directions.iter().collect();
    reach
        .looks()
        .map(|look| linear_log_evidence(&evidence.data, look, sway, &directions))
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Fits every group that could matter.
fn fit_singles(evidence: &Evidence<'_>, groups: &mut [Group], work: &mut Work) {
    let best = groups.iter().map(|group| group.odds.ln() + group.log_evidence).fold(f64::NEG_INFINITY, f64::max);
    work.single_fits = groups
        .par_iter_mut()
        .filter(|group| group.odds.ln() + group.log_evidence > best - SINGLE_FIT_DEPTH)
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
}

fn same_reach(data: &[Datum], a: &Reach, b: &Reach) -> bool {
    a.ends.len() == b.ends.len() && a.looks().zip(b.looks()).all(|(x, y)| same_looks(data, x, y))
}

/// Whether no reading could tell two outlooks apart: all predictions within [`SAME_SHARE`] of a reading's spread.
fn same_looks(data: &[Datum], a: &Outlook, b: &Outlook) -> bool {
    (a.symptoms - b.symptoms).abs() < SAME_SHARE
        && data.iter().zip(a.predictions.iter().zip(&b.predictions)).all(|(datum, (x, y))| match *datum {
            Datum::Shown { sigma, .. } => x.value == y.value || (x.value - y.value).abs() <= SAME_SHARE * sigma,
            Datum::Open { limit } => x.value == y.value || x.value.min(y.value) > 2.0 * limit,
        })
}

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
struct Pairs {
    weighed: Vec<Weighed>,
    /// Summed weight, as a logarithm, of the pairs left out.
    left_out: f64,
}

/// Weighs all pairs of groups; what hides behind a single is noted there. `log_total` is the weight of all singles.
fn weigh_pairs(
    evidence: &Evidence<'_>,
    groups: &mut [Group],
    sound_sway: &Sway,
    log_total: f64,
    work: &mut Work,
) -> Pairs {
    let pairs: Vec<(usize, usize)> =
        (0..groups.len()).flat_map(|first| (first + 1..groups.len()).map(move |second| (first, second))).collect();
    work.pairs = pairs.len();
    let screened: Vec<Screened> = pairs
        .into_par_iter()
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
    let weighed: Vec<Vec<Weighed>> = kept
        .into_par_iter()
        .map(|(first, second, log_weight)| {
            let odds = (groups[first].odds * groups[second].odds).ln();
            weigh_members(evidence, groups, first, second, log_weight - odds, log_weight > fit_above)
        })
        .collect();
    work.pair_fits = weighed.iter().filter(|members| members.iter().any(|member| member.fit.is_some())).count();
    Pairs { weighed: weighed.into_iter().flatten().collect(), left_out: left_out.log() }
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
    let log_odds = (a.odds * b.odds).ln();
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
        return Some(Screened::Hidden { host: first, odds: b.odds });
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

/// First compatible members of two groups: a part other than a motor has one fault at a time.
fn compatible_pair(evidence: &Evidence<'_>, a: &Group, b: &Group) -> Option<FaultSet> {
    let pairs = a.faults.iter().flat_map(|&x| b.faults.iter().map(move |&y| (x, y)));
    pairs.into_iter().find(|&(x, y)| compatible(evidence, x, y)).map(|(x, y)| FaultSet(vec![x.min(y), x.max(y)]))
}

fn compatible(evidence: &Evidence<'_>, x: usize, y: usize) -> bool {
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
        Some(faults) if fit => evidence.fit(&faults, start).ok(),
        _ => None,
    };
    let log_evidence = fitted.as_ref().map_or(estimated, |fit| fit.log_evidence);
    let odds = |fault: usize| evidence.job.unit.faults()[fault].mode.odds;
    let members = a.faults.iter().flat_map(|&x| b.faults.iter().map(move |&y| (x, y)));
    members
        .filter(|&(x, y)| compatible(evidence, x, y))
        .map(|(x, y)| {
            let faults = FaultSet(vec![x.min(y), x.max(y)]);
            Weighed::new(faults, (odds(x) * odds(y)).ln(), log_evidence, fitted.clone())
        })
        .collect()
}

/// Turns weights into probabilities.
fn rank<'j>(evidence: Evidence<'j>, weighed: Vec<Weighed>, left_out: f64, work: Work) -> Diagnosis<'j> {
    let symptom_chance = 0.5f64.ln() * evidence.job.symptoms.len() as f64;
    let unexplained: f64 = evidence.data.iter().map(|datum| datum.log_unexplained()).sum::<f64>() + symptom_chance;
    let unknown_weight = UNKNOWN_ODDS.ln() + unexplained;
    let mut total = LogSum::default();
    for entry in &weighed {
        total.add(entry.log_weight() + entry.hidden_odds.ln_1p());
    }
    total.add(unknown_weight);
    let mut everything = total;
    everything.add(left_out);
    let mut suspects: Vec<Suspect> = weighed
        .into_iter()
        .map(|entry| Suspect {
            probability: (entry.log_weight() + entry.hidden_odds.ln_1p() - total.log()).exp(),
            hidden_share: entry.hidden_odds / (1.0 + entry.hidden_odds),
            repair: repair_of(&evidence, &entry.faults),
            log_evidence: entry.log_evidence,
            faults: Some(entry.faults),
            fit: entry.fit,
        })
        .collect();
    suspects.push(Suspect {
        faults: None,
        probability: (unknown_weight - total.log()).exp(),
        hidden_share: 0.0,
        repair: UNKNOWN_REPAIR.into(),
        fit: None,
        log_evidence: unexplained,
    });
    suspects.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let repairs = repair_shares(&suspects);
    let reading_doubt = reading_doubt(&evidence, &suspects);
    let mass_not_enumerated = (left_out - everything.log()).exp();
    Diagnosis { evidence, suspects, repairs, mass_not_enumerated, reading_doubt, work }
}

fn repair_of(evidence: &Evidence<'_>, faults: &FaultSet) -> String {
    if faults.0.is_empty() {
        return NO_REPAIR.into();
    }
    let mut repairs: Vec<String> = faults.0.iter().map(|&fault| evidence.job.unit.faults()[fault].repair()).collect();
    repairs.sort();
    repairs.dedup();
    repairs.join("; ")
}

fn repair_shares(suspects: &[Suspect]) -> Vec<RepairShare> {
    let mut sums: BTreeMap<&str, f64> = BTreeMap::new();
    for suspect in suspects {
        *sums.entry(&suspect.repair).or_default() += suspect.probability;
    }
    let mut shares: Vec<RepairShare> =
        sums.into_iter().map(|(repair, probability)| RepairShare { repair: repair.into(), probability }).collect();
    shares.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    shares
}

fn reading_doubt(evidence: &Evidence<'_>, suspects: &[Suspect]) -> Vec<f64> {
    let mut doubt = vec![0.0; evidence.data.len()];
    let mut mass = 0.0;
    for suspect in suspects {
        let Some(fit) = &suspect.fit else { continue };
        mass += suspect.probability;
        for ((sum, datum), prediction) in doubt.iter_mut().zip(&evidence.data).zip(&fit.outlook.predictions) {
            *sum += suspect.probability * (1.0 - datum.log_likelihood(prediction.value, 0.0).sound);
        }
    }
    doubt.iter_mut().for_each(|sum| *sum /= mass.max(f64::MIN_POSITIVE));
    doubt
}

impl Diagnosis<'_> {
    /// Readings more likely wrong than right, most doubtful first.
    pub fn questionable_readings(&self) -> Vec<(usize, f64)> {
        let mut doubtful: Vec<(usize, f64)> =
            self.reading_doubt.iter().copied().enumerate().filter(|(_, doubt)| *doubt > 0.5).collect();
        doubtful.sort_by(|a, b| b.1.total_cmp(&a.1));
        doubtful
    }

    /// Severity of each fault of a suspect at its most probable value.
    pub fn severities(&self, suspect: &Suspect) -> Vec<Option<f64>> {
        let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Vec::new() };
        let unit = &self.evidence.job.unit;
        (0..faults.0.len())
            .map(|position| {
                let unknown = severity_unknown(unit, faults, position)?;
                let severity = unit.faults()[faults.0[position]].mode.severity.as_ref()?;
                Some(severity.value(*fit.deviations.get(unknown)?))
            })
            .collect()
    }
}
