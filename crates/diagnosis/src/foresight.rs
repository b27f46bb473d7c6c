//! How small a fault the best check still available would see, beside the readings taken.
//!
//! As [`crate::blind_spots`], with one reading more: of all that are not refused and not yet taken, in an otherwise sound
//! unit, the one that sees the fault at the smallest size. With `w = C^-1 d` of the readings taken and `k` the covariance of
//! the new one with them, what it adds to the signal is `(d' - k^T w)^2 / (v' - k^T C^-1 k)` (the Schur complement of the
//! covariance with it).
//!
//! Every place is tried at two sizes, and only the few that tell most there are followed to the smallest size: so another
//! place may see a little more.

use crate::Diagnosis;
use crate::blind_spots::{BlindSpot, Noise, SEEN, Seen, blind_spots, difference, edge, scale};
use crate::checks::candidates::{candidate_setups, places};
use crate::checks::survey::Stand;
use crate::evidence::Evidence;
use crate::reading_model::sigma;
use crate::words::reading_words;
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Measure, Setup, observe, observe_values};
use nalgebra::DVector;
use rayon::prelude::*;

/// Places followed to the smallest size, for each of the two sizes.
const FOLLOWED: usize = 2;
/// Sizes at which all places are tried, in standard deviations of the prior.
const TRIED: [f64; 2] = [-1.5, 1.5];
/// A check has to see a fault that is smaller by this much of a standard deviation of its size to be worth a word.
const WORTH_TELLING: f64 = 0.25;

/// A fault with a size, how small the readings taken see it, and how small with the best check available.
#[derive(Debug, Clone, PartialEq)]
pub struct Foresight {
    /// By the readings taken.
    pub taken: BlindSpot,
    /// With one reading more; `None` if no check sees smaller ones.
    pub available: Option<Available>,
}

/// The best check available for seeing a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Available {
    /// From which size on the fault would show.
    pub seen: Seen,
    /// Where to measure.
    pub setup: Setup,
    /// What to measure.
    pub measure: Measure,
}

/// A setup with the places to measure at in it.
struct Bench {
    setup: Setup,
    places: Vec<Place>,
}

/// A place, and what moves the reading there in a sound unit.
struct Place {
    measure: Measure,
    sound: f64,
    /// Beyond this the meter shows the same whatever is there.
    limit: f64,
    /// Covariance with the readings taken, solved for by theirs; and the variance that they leave.
    with_taken: DVector<f64>,
    variance: f64,
}

/// What the readings taken say of a fault of some size: the signal, and by how much each changes.
struct Taken {
    signal: f64,
    change: DVector<f64>,
}

/// For every fault that has a size: from which size on the readings taken see it, and the best available check.
pub fn foresights(found: &Diagnosis<'_>) -> Vec<Foresight> {
    let evidence = &found.evidence;
    let unit = &evidence.job.unit;
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(unit, &none)];
    let Ok(sound) = evidence.outlook(&none, &medians) else { return Vec::new() };
    let Some(noise) = Noise::new(evidence, &sound.predictions) else { return Vec::new() };
    let benches = benches(evidence, &noise);
    let watch = &evidence.watch;
    let spots = blind_spots(found);
    watch.plan(spots.len());
    let spots = spots.into_par_iter().filter(|_| watch.step());
    spots
        .map(|taken| Foresight { taken, available: available(evidence, &noise, &benches, taken).unwrap_or_default() })
        .collect()
}

/// All places that are not refused, with what a sound unit shows there.
fn benches(evidence: &Evidence<'_>, noise: &Noise<'_>) -> Vec<Bench> {
    let job = evidence.job;
    let stand = Stand::of(job);
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(&job.unit, &none)];
    let is_taken = |setup: &Setup, measure: Measure| {
        let here = |index: usize| Setup { name: setup.name.clone(), ..job.setups[index].clone() } == *setup;
        evidence.taken.iter().any(|entry| entry.measure.is_of_one_place(measure) && here(entry.setup))
    };
    let candidates = candidate_setups(job, false).into_par_iter().filter(|candidate| candidate.swapped.is_none());
    let bench = |candidate: crate::checks::candidates::CandidateSetup| {
        let setup = &candidate.setup;
        let open = places(&job.unit, &candidate).into_iter().map(|(measure, _)| measure);
        let open: Vec<Measure> = open
            .filter(|&measure| !is_taken(setup, measure) && !stand.access(setup, &stand.reach(setup, measure)).1)
            .collect();
        let look = |observed: &mut bench::Observed<'_>| {
            let place = |&measure: &Measure| {
                let meter = job.meter_for(measure);
                let prediction = observed.measure(measure, meter).ok()?;
                let (row, own) = match prediction.value.is_finite() {
                    true => {
                        let scale = scale(measure, prediction.value);
                        let spread = sigma(measure, meter, prediction.value);
                        (evidence.prior.whiten(&prediction.gradient) / scale, spread / scale)
                    }
                    false => (DVector::zeros(evidence.prior.count()), 1.0),
                };
                let with = DVector::from_iterator(noise.rows.len(), noise.rows.iter().map(|taken| taken.dot(&row)));
                let with_taken = noise.factor.solve(&with);
                let variance = (row.norm_squared() + own * own - with.dot(&with_taken)).max(own * own);
                Some(Place { measure, sound: prediction.value, limit: meter.limit(measure), with_taken, variance })
            };
            open.iter().filter_map(place).collect::<Vec<Place>>()
        };
        let places = observe(&job.unit, setup, &none, &medians, look).ok()?;
        Some(Bench { setup: candidate.setup, places })
    };
    candidates.filter_map(bench).collect()
}

/// The check that sees a fault at the smallest size; `Some(None)` if none sees smaller ones than the readings taken do.
fn available(
    evidence: &Evidence<'_>,
    noise: &Noise<'_>,
    benches: &[Bench],
    spot: BlindSpot,
) -> Option<Option<Available>> {
    let unit = &evidence.job.unit;
    let faults = FaultSet(vec![spot.fault]);
    let severity = unit.faults()[spot.fault].mode.severity.as_ref()?;
    let unknown = severity_unknown(unit, &faults, 0)?;
    let deviations = |at: f64| {
        let mut deviations = vec![0.0; unknown_count(unit, &faults)];
        deviations[unknown] = at * severity.log_spread;
        deviations
    };
    let taken = |at: f64| -> Option<Taken> {
        let outlook = evidence.outlook_values(&faults, &deviations(at)).ok()?;
        let Some(change) = noise.change(evidence, &outlook.predictions) else {
            return Some(Taken { signal: f64::INFINITY, change: DVector::zeros(noise.rows.len()) });
        };
        Some(Taken { signal: change.dot(&noise.factor.solve(&change)), change })
    };
    let values = |bench: &Bench, which: &[usize], at: f64| -> Option<Vec<Option<f64>>> {
        let look = |observed: &mut bench::Observed<'_>| {
            let value = |&place: &usize| {
                let measure = bench.places[place].measure;
                observed.value(measure, evidence.job.meter_for(measure)).ok()
            };
            which.iter().map(value).collect()
        };
        observe_values(unit, &bench.setup, &faults, &deviations(at), look).ok()
    };
    let mut followed: Vec<(usize, usize)> = Vec::new();
    for at in TRIED {
        let taken = taken(at)?;
        let mut adding: Vec<(f64, usize, usize)> = Vec::new();
        for (number, bench) in benches.iter().enumerate() {
            let all: Vec<usize> = (0..bench.places.len()).collect();
            let Some(shown) = values(bench, &all, at) else { continue };
            let adds = |(place, shown): (usize, Option<f64>)| Some((adds(&bench.places[place], shown?, &taken), place));
            let best = shown.into_iter().enumerate().filter_map(adds).max_by(|a, b| a.0.total_cmp(&b.0));
            adding.extend(best.filter(|best| best.0 > 0.0).map(|(signal, place)| (signal, number, place)));
        }
        adding.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (_, number, place) in adding.into_iter().take(FOLLOWED) {
            if !followed.contains(&(number, place)) {
                followed.push((number, place));
            }
        }
    }
    let (_, seen_by_taken) = edge(severity, |at| Some(taken(at)?.signal >= SEEN))?;
    let mut best: Option<(f64, Available)> = None;
    for (number, place) in followed {
        let bench = &benches[number];
        let shows = |at: f64| {
            let taken = taken(at)?;
            let shown = values(bench, &[place], at)?.first().copied().flatten()?;
            Some(taken.signal + adds(&bench.places[place], shown, &taken) >= SEEN)
        };
        let Some((seen, reach)) = edge(severity, shows) else { continue };
        if best.as_ref().is_none_or(|(other, _)| reach > *other) {
            let (setup, measure) = (bench.setup.clone(), bench.places[place].measure);
            best = Some((reach, Available { seen, setup, measure }));
        }
    }
    Some(best.filter(|(reach, _)| *reach > seen_by_taken + WORTH_TELLING).map(|(_, available)| available))
}

/// What a reading adds to the signal of those taken.
fn adds(place: &Place, shown: f64, taken: &Taken) -> f64 {
    let change = match (place.sound.is_finite(), shown.is_finite()) {
        (true, true) => difference(place.measure, place.limit, place.sound, shown),
        (false, false) => 0.0,
        // A path where there is none, or none where there is one; up to what the meter can tell apart.
        (is_path, _) => {
            let path = if is_path { place.sound } else { shown };
            return if path < place.limit { f64::INFINITY } else { 0.0 };
        }
    };
    (change - place.with_taken.dot(&taken.change)).powi(2) / place.variance
}

/// What the readings taken and the best check available would show, a line for each fault.
pub fn foresight_lines(found: &Diagnosis<'_>, list: &[Foresight]) -> Vec<String> {
    let job = found.evidence.job;
    let (mut lines, mut blind) = (Vec::new(), Vec::new());
    for Foresight { taken, available } in list {
        let fault = &job.unit.faults()[taken.fault];
        let words = fault.mode.severity.as_ref().map_or("", |severity| severity.words);
        let from = |size: f64| match words {
            "ohms" => format!("from about {}", bench::words::ohms(size)),
            _ => format!("from about {} {words}", bench::words::number(size)),
        };
        let now = match taken.seen {
            Seen::Always => continue,
            Seen::Never if available.is_none() => {
                blind.push(fault.label());
                continue;
            }
            Seen::Never => "not at any size".to_owned(),
            Seen::From(size) => from(size),
        };
        let then = match available {
            None => "no available check sees smaller ones".to_owned(),
            Some(Available { seen, setup, measure }) => {
                let size = match *seen {
                    Seen::From(size) => from(size),
                    _ => "at any size".into(),
                };
                format!("{size} with the best check: {}, setup {}", reading_words(job, *measure), setup.name)
            }
        };
        lines.push(format!("{}: {now}; {then}", fault.label()));
    }
    if !blind.is_empty() {
        lines.push(format!("no available check sees these at any size: {}", blind.join(", ")));
    }
    lines
}
