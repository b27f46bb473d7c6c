//! What the readings taken cannot see.
//!
//! A fault with a size is seen once it moves the readings by more than meters, tolerances and temperature move them
//! anyway. With `d` the change that it makes and `C` the covariance of everything else, a sound unit and a faulty one are
//! told apart with 95 % certainty on both sides where `d^T C^-1 d` reaches `(2 * 1.645)^2`.
//!
//! Source: detection of a known signal in normal noise, e.g. Kay, Fundamentals of Statistical Signal Processing II (1998),
//! 4.3; 1.645 is the 95 % point of the normal distribution.

use crate::checks::forecast::INSULATION;
use crate::evidence::Evidence;
use crate::prior::Prior;
use crate::reading_model::{Datum, sigma};
use crate::suspects::Diagnosis;
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Measure, Prediction, Severity};
use nalgebra::{Cholesky, DMatrix, DVector};
use rayon::prelude::*;

/// Signal to noise at which a fault is told from none, 95 % certain both ways.
pub(crate) const SEEN: f64 = 4.0 * 1.645 * 1.645;
/// Sizes are tried from this many standard deviations of the prior below its median to as many above.
const REACH: f64 = 3.5;
/// Halvings by which the smallest size is found.
const HALVINGS: usize = 9;

/// How small a fault the readings can see.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// From this size on.
    From(f64),
    /// At any size that occurs.
    Always,
    /// At none.
    Never,
}

/// A fault with a size, and how small the readings taken can see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlindSpot {
    /// The fault, by index in the unit.
    pub fault: usize,
    /// From which size on it would have shown.
    pub seen: Seen,
}

/// For every fault that has a size: from which size on the readings taken would show it in an otherwise sound unit.
///
/// Faults of wires are left out: a bad joint of a wire is seen like one of the part's own terminal.
pub fn blind_spots(found: &Diagnosis<'_>) -> Vec<BlindSpot> {
    let evidence = &found.evidence;
    let unit = &evidence.job.unit;
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(unit, &none)];
    let Ok(sound) = evidence.outlook(&none, &medians) else { return Vec::new() };
    let Some(noise) = Noise::new(evidence, &sound.predictions) else { return Vec::new() };
    let sized: Vec<usize> = (0..unit.faults().len())
        .filter(|&fault| unit.faults()[fault].mode.severity.is_some())
        .filter(|&fault| matches!(unit.faults()[fault].place, bench::Place::Part(_)))
        .collect();
    sized.into_par_iter().filter_map(|fault| Some(BlindSpot { fault, seen: seen(evidence, &noise, fault)? })).collect()
}

/// Whether a reading is through insulation: its ohms are told apart by factors, for that is how they spread.
fn is_by_factors(measure: Measure, sound: f64) -> bool {
    matches!(measure, Measure::Ohms(..)) && sound > INSULATION
}

/// What spreads of a finite reading are divided by: those by factors by its value in the sound unit.
pub(crate) fn scale(measure: Measure, sound: f64) -> f64 {
    if is_by_factors(measure, sound) { sound } else { 1.0 }
}

/// How a reading differs from that of a sound unit: by factors beyond megohms, of what the meter shows up to its limit.
pub(crate) fn difference(measure: Measure, limit: f64, sound: f64, faulty: f64) -> f64 {
    match is_by_factors(measure, sound) {
        true => (faulty.min(limit) / sound.min(limit)).ln(),
        // Beyond its limit the meter shows the same whatever is there.
        false if sound.min(faulty) > limit => 0.0,
        false => faulty - sound,
    }
}

/// Everything that moves the readings of a sound unit.
pub(crate) struct Noise<'p> {
    sound: &'p [Prediction],
    /// What the unknown values do to each reading, in their standard deviations.
    pub(crate) rows: Vec<DVector<f64>>,
    pub(crate) factor: Cholesky<f64, nalgebra::Dyn>,
}

impl<'p> Noise<'p> {
    pub(crate) fn new(evidence: &Evidence<'_>, sound: &'p [Prediction]) -> Option<Self> {
        let (job, taken) = (evidence.job, &evidence.taken);
        let meter = |reading: usize| &job.meters[taken[reading].meter];
        let sigmas: Vec<f64> = (0..sound.len())
            .map(|reading| {
                let value = sound[reading].value;
                let measure = taken[reading].measure;
                if value.is_finite() { sigma(measure, meter(reading), value) / scale(measure, value) } else { 1.0 }
            })
            .collect();
        let white = |prior: &Prior, reading: usize| match sound[reading].value.is_finite() {
            true => prior.whiten(&sound[reading].gradient) / scale(taken[reading].measure, sound[reading].value),
            false => DVector::zeros(prior.count()),
        };
        let rows: Vec<DVector<f64>> = (0..sound.len()).map(|reading| white(&evidence.prior, reading)).collect();
        let covariance = DMatrix::from_fn(rows.len(), rows.len(), |row, column| {
            rows[row].dot(&rows[column]) + if row == column { sigmas[row].powi(2) } else { 0.0 }
        });
        Some(Noise { sound, rows, factor: Cholesky::new(covariance)? })
    }

    /// Whether predictions differ from the sound unit's so much that it shows.
    fn shows(&self, evidence: &Evidence<'_>, faulty: &[Prediction]) -> bool {
        self.change(evidence, faulty).is_none_or(|change| change.dot(&self.factor.solve(&change)) >= SEEN)
    }

    /// How predictions differ from the sound unit's; `None` if one shows a path where there is none, or none where there is
    /// one.
    pub(crate) fn change(&self, evidence: &Evidence<'_>, faulty: &[Prediction]) -> Option<DVector<f64>> {
        let mut change = DVector::zeros(faulty.len());
        for (reading, (sound, faulty)) in self.sound.iter().zip(faulty).enumerate() {
            match (sound.value.is_finite(), faulty.value.is_finite()) {
                (true, true) => {
                    let limit = match &evidence.data[reading] {
                        Datum::Open { limit, .. } => *limit,
                        Datum::Shown { .. } => f64::INFINITY,
                    };
                    change[reading] = difference(evidence.taken[reading].measure, limit, sound.value, faulty.value);
                }
                (false, false) => {}
                // A path where there is none, or none where there is one; up to what the meter can tell apart.
                _ => {
                    let shown = if sound.value.is_finite() { sound.value } else { faulty.value };
                    let taken = &evidence.taken[reading];
                    if shown < evidence.job.meters[taken.meter].limit(taken.measure) {
                        return None;
                    }
                }
            }
        }
        Some(change)
    }
}

/// From which size on a fault shows; `None` if the unit cannot be solved with it.
fn seen(evidence: &Evidence<'_>, noise: &Noise<'_>, fault: usize) -> Option<Seen> {
    let unit = &evidence.job.unit;
    let faults = FaultSet(vec![fault]);
    let severity = unit.faults()[fault].mode.severity.as_ref()?;
    let unknown = severity_unknown(unit, &faults, 0)?;
    let mut deviations = vec![0.0; unknown_count(unit, &faults)];
    let shows = |at: f64| {
        deviations[unknown] = at * severity.log_spread;
        let outlook = evidence.outlook_values(&faults, &deviations).ok()?;
        Some(noise.shows(evidence, &outlook.predictions))
    };
    Some(edge(severity, shows)?.0)
}

/// From which size on a fault shows, and how far that reaches, in standard deviations of its size.
pub(crate) fn edge(severity: &Severity, mut shows: impl FnMut(f64) -> Option<bool>) -> Option<(Seen, f64)> {
    let (mut low, mut high) = (-REACH, REACH);
    // Some faults are worse the smaller their figure is: a path to frame of few ohms.
    let (at_low, at_high) = (shows(low)?, shows(high)?);
    match (at_low, at_high) {
        (true, true) => return Some((Seen::Always, 2.0 * REACH)),
        (false, false) => return Some((Seen::Never, 0.0)),
        _ => {}
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if shows(middle)? == at_low { low = middle } else { high = middle }
    }
    let edge = if at_low { low } else { high };
    let reach = if at_low { edge + REACH } else { REACH - edge };
    Some((Seen::From(severity.value(edge * severity.log_spread)), reach))
}
