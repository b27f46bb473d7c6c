//! What every leading suspect says a check would show.

use super::apart::Apart;
use super::candidates::{CandidateSetup, places};
use super::survey::{Candidate, Stand, Told};
use super::{Action, Hazard, shown};
use crate::fit::Fit;
use crate::information::{Forecast, expected_gain};
use crate::prior::Prior;
use crate::reading_model::GROSS_SHARE;
use crate::repairs::repair_of;
use crate::suspects::Diagnosis;
use bench::wiring::severity_unknown;
use bench::{FaultSet, Job, Measure, Place, Prediction, Reach, Reading, Setup, Unit, observe, observe_values};
use std::borrow::Cow;

/// Suspects considered, with and without a fault that may hide behind them: the most probable ones, up to this many.
const SUSPECT_LIMIT: usize = 32;
/// Suspects below this probability are not considered.
const SUSPECT_FLOOR: f64 = 1e-4;
/// Candidates of each setup that are worked out in full after a first sifting.
const FINALISTS: usize = 24;
/// The same of those that the technician refuses, to say what that costs.
const REFUSED_FINALISTS: usize = 6;
/// Ohms from which on a path is one through insulation, and the spread of its logarithm (as `bench` has them).
pub(crate) const INSULATION: f64 = 1e6;
const INSULATION_SPREAD: f64 = 1.2;
/// A reading doubted more than this is worth taking again.
const DOUBTED: f64 = 0.2;
/// Spread assumed for every prediction in the first sifting, as a share of the value.
const ROUGH_SPREAD: f64 = 0.05;

/// A suspect in play: its place in the ranking, weight, class and fit.
pub(crate) struct Player<'d> {
    pub(crate) index: usize,
    pub(crate) weight: f64,
    pub(crate) class: usize,
    /// Whether this is the suspect with a further fault that may hide behind it.
    pub(crate) with_further: bool,
    fit: Cow<'d, Fit>,
    prior: Prior,
}

/// The leading suspects that have a fit; classes are repairs.
pub(crate) struct Players<'d> {
    pub(crate) all: Vec<Player<'d>>,
    pub(crate) classes: Vec<String>,
    /// Probability that they hold together.
    pub(crate) total: f64,
    /// By reading of the job, the probability that it is grossly wrong.
    doubts: Vec<f64>,
}

impl<'d> Players<'d> {
    pub(super) fn new(diagnosis: &'d Diagnosis<'_>) -> Self {
        let mut classes: Vec<String> = Vec::new();
        let evidence = &diagnosis.evidence;
        let unit = &evidence.job.unit;
        let mut cases: Vec<(usize, Option<usize>, f64)> = Vec::new();
        for (index, suspect) in diagnosis.suspects.iter().enumerate().filter(|(_, suspect)| suspect.fit.is_some()) {
            let alone = (index, None, suspect.probability * (1.0 - suspect.hidden_share));
            let hidden = suspect.hidden.iter().map(|(fault, share)| (index, Some(fault), suspect.probability * share));
            cases.extend(std::iter::once(alone).chain(hidden).filter(|(.., weight)| *weight >= SUSPECT_FLOOR));
        }
        cases.sort_by(|a, b| b.2.total_cmp(&a.2));
        cases.truncate(SUSPECT_LIMIT);
        let mut all = Vec::new();
        for (index, further, weight) in cases {
            let Some(fit) = &diagnosis.suspects[index].fit else { continue };
            let fit = match further {
                Some(fault) => Cow::Owned(fit.with_silent(evidence, fault)),
                None => Cow::Borrowed(fit),
            };
            let repair = repair_of(unit, &fit.faults);
            let class = classes.iter().position(|known| *known == repair).unwrap_or_else(|| {
                classes.push(repair);
                classes.len() - 1
            });
            let prior = evidence.prior.with_severities(unit, &fit.faults);
            all.push(Player { index, weight, class, with_further: further.is_some(), fit, prior });
        }
        let total = all.iter().map(|player| player.weight).sum();
        let mut doubts = vec![0.0; diagnosis.evidence.job.readings.len()];
        for (&source, &doubt) in diagnosis.evidence.sources.iter().zip(&diagnosis.reading_doubt) {
            doubts[source] = doubt.max(doubts[source]);
        }
        Players { all, classes, total, doubts }
    }

    /// Whether a reading was taken in the same arrangement and need not be taken again: it is hardly doubted, or was
    /// taken again already.
    fn is_known(&self, job: &Job, setup: &Setup, measure: Measure) -> bool {
        let arrangement = |entry: &Reading| Setup { name: setup.name.clone(), ..job.setups[entry.setup].clone() };
        let same = |entry: &Reading| entry.measure.is_of_one_place(measure) && arrangement(entry) == *setup;
        let taken: Vec<f64> =
            job.readings.iter().zip(&self.doubts).filter(|(entry, _)| same(entry)).map(|(_, &doubt)| doubt).collect();
        taken.len() > 1 || taken.iter().any(|&doubt| doubt < DOUBTED)
    }

    /// What every suspect says of each of several readings in a setup, spreads included; `swapped` parts are exchanged
    /// first.
    pub(super) fn forecasts(
        &self,
        job: &Job,
        setup: &Setup,
        measures: &[Measure],
        swapped: Option<(usize, usize)>,
    ) -> Vec<Vec<(usize, Forecast)>> {
        let mut told = vec![Vec::new(); measures.len()];
        for (number, player) in self.all.iter().enumerate() {
            let (faults, deviations) = player.world(&job.unit, swapped);
            let ask = |observed: &mut bench::Observed<'_>| -> Vec<Option<Prediction>> {
                measures.iter().map(|&measure| observed.measure(measure, job.meter_for(measure)).ok()).collect()
            };
            let Ok(predictions) = observe(&job.unit, setup, &faults, &deviations, ask) else { continue };
            for ((told, &measure), prediction) in told.iter_mut().zip(measures).zip(predictions) {
                let Some(Prediction { value, gradient }) = prediction else { continue };
                // After a swap the derivatives belong to exchanged unknowns; the rough spread stands in for them.
                let unknown = match (value.is_finite(), swapped) {
                    (false, _) => 0.0,
                    (true, Some(_)) => rough_spread(measure, value),
                    (true, None) => player.fit.spread(&player.prior, &gradient),
                };
                told.extend(shown::forecasts(number, player, (measure, job.meter_for(measure)), value, unknown));
            }
        }
        told
    }
}

impl Player<'_> {
    /// Faults and values of this suspect, two sister parts exchanged if asked for.
    pub(super) fn world(&self, unit: &Unit, swapped: Option<(usize, usize)>) -> (Cow<'_, FaultSet>, Cow<'_, [f64]>) {
        let fit = &self.fit;
        let exchanged = swapped.and_then(|(a, b)| exchange(unit, &fit.faults, &fit.deviations, a, b));
        match exchanged {
            Some((faults, deviations)) => (Cow::Owned(faults), Cow::Owned(deviations)),
            None => (Cow::Borrowed(&fit.faults), Cow::Borrowed(&fit.deviations[..])),
        }
    }
}

/// The same faults and values with two parts of one kind in each other's place.
fn exchange(unit: &Unit, faults: &FaultSet, deviations: &[f64], a: usize, b: usize) -> Option<(FaultSet, Vec<f64>)> {
    let moved = |place: Place| match place {
        Place::Part(part) if part == a => Place::Part(b),
        Place::Part(part) if part == b => Place::Part(a),
        other => other,
    };
    let mut pairs: Vec<(usize, Option<f64>)> = Vec::new();
    for (position, &fault) in faults.0.iter().enumerate() {
        let old = &unit.faults()[fault];
        let place = moved(old.place);
        let new = unit.faults().iter().position(|other| other.place == place && other.mode.name == old.mode.name)?;
        let size = severity_unknown(unit, faults, position).map(|unknown| deviations[unknown]);
        pairs.push((new, size));
    }
    let mut values = deviations[..=unit.unknowns().len()].to_vec();
    let of = |part: usize| (0..unit.unknowns().len()).filter(move |&index| unit.unknowns()[index].part == part);
    for (x, y) in of(a).zip(of(b)) {
        values.swap(x, y);
    }
    values.extend(pairs.iter().filter_map(|(_, size)| *size));
    Some((FaultSet(pairs.into_iter().map(|(fault, _)| fault).collect()), values))
}

/// The best checks of one setup, without outcomes, and which suspects any of all its places would tell apart.
pub(super) fn setup_checks(
    stand: &Stand<'_>,
    candidate: &CandidateSetup,
    players: &Players<'_>,
) -> (Vec<Candidate>, Apart) {
    let job = stand.job;
    let unit = &job.unit;
    let places: Vec<(Measure, f64)> = places(unit, candidate)
        .into_iter()
        .filter(|&(measure, _)| candidate.swapped.is_some() || !players.is_known(job, &candidate.setup, measure))
        .collect();
    let values: Vec<Option<Vec<f64>>> = players
        .all
        .iter()
        .map(|player| {
            let (faults, deviations) = player.world(unit, candidate.swapped);
            observe_values(unit, &candidate.setup, &faults, &deviations, |observed| {
                observed.expect_many();
                let shown = |&(measure, _): &(Measure, f64)| observed.value(measure, job.meter_for(measure)).ok();
                places.iter().map(shown).collect::<Option<Vec<f64>>>()
            })
            .ok()?
        })
        .collect();
    let reaches: Vec<Reach> = places.iter().map(|&(measure, _)| reach(stand, candidate, measure)).collect();
    let measures: Vec<Measure> = places.iter().map(|&(measure, _)| measure).collect();
    let waits = stand.warmth.waits(job, &candidate.setup, &measures);
    let refused: Vec<bool> = reaches.iter().map(|reach| stand.access(&candidate.setup, reach).1).collect();
    let mut apart = Apart::default();
    let mut rough = |place: usize| -> f64 {
        let measure = places[place].0;
        let meter = job.meter_for(measure);
        let forecasts: Vec<(usize, Forecast)> = players
            .all
            .iter()
            .zip(&values)
            .enumerate()
            .filter_map(|(number, (player, values))| {
                let value = values.as_ref()?[place];
                Some(shown::forecasts(number, player, (measure, meter), value, rough_spread(measure, value)))
            })
            .flatten()
            .collect();
        let first = forecasts.first().map_or(0.0, |(_, forecast)| forecast.mean);
        if forecasts.iter().all(|(_, f)| f.mean == first || (f.mean - first).abs() < 0.02 * first.abs()) {
            return 0.0;
        }
        apart.see(&forecasts, refused[place]);
        gain(&forecasts)
    };
    let hazard = if candidate.setup.energised { Hazard::Energised } else { Hazard::Isolated };
    let mut ranked: Vec<(usize, f64)> = (0..places.len())
        .map(|place| {
            let cost = stand.cost(&candidate.setup, &reaches[place], (places[place].1, waits[place]));
            (place, rough(place) / cost.weighted(hazard))
        })
        .filter(|&(_, gain)| gain > 0.0)
        .collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    let open = ranked.iter().filter(|&&(place, _)| !refused[place]).take(FINALISTS);
    let foregone = ranked.iter().filter(|&&(place, _)| refused[place]).take(REFUSED_FINALISTS);
    let finalists: Vec<usize> = open.chain(foregone).map(|&(place, _)| place).collect();
    let asked: Vec<Measure> = finalists.iter().map(|&place| places[place].0).collect();
    let forecasts = players.forecasts(job, &candidate.setup, &asked, candidate.swapped);
    let checks = finalists
        .into_iter()
        .zip(forecasts)
        .map(|(place, forecasts)| {
            let (measure, own) = places[place];
            let setup = candidate.setup.clone();
            let bits = players.total * gain(&forecasts) / std::f64::consts::LN_2;
            let action = match candidate.swapped {
                Some((a, b)) => Action::Swap(a, b, measure),
                None => Action::Read(measure),
            };
            stand.candidate(
                (setup, &reaches[place], (own, waits[place])),
                (action, hazard),
                (Told::Values(forecasts), bits),
            )
        })
        .collect();
    (checks, apart)
}

/// What a reading in a setup touches, parts exchanged before it included.
fn reach(stand: &Stand<'_>, candidate: &CandidateSetup, measure: Measure) -> Reach {
    let mut reach = stand.reach(&candidate.setup, measure);
    if let Some((a, b)) = candidate.swapped {
        reach.parts.extend([a, b]);
        reach.manners.push(bench::Manner::Swap);
    }
    reach
}

fn gain(forecasts: &[(usize, Forecast)]) -> f64 {
    let forecasts: Vec<Forecast> = forecasts.iter().map(|&(_, forecast)| forecast).collect();
    expected_gain(&forecasts, GROSS_SHARE)
}

/// Spread assumed for a prediction in the first sifting: ohms of megohms and more are those of insulation.
fn rough_spread(measure: Measure, value: f64) -> f64 {
    let share =
        if matches!(measure, Measure::Ohms(..)) && value > INSULATION { INSULATION_SPREAD } else { ROUGH_SPREAD };
    if value.is_finite() { share * value } else { 0.0 }
}
