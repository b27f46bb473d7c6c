//! Screening: what a suspect could weigh at most, and about what it does weigh, from one look at its medians.
//!
//! Two tools, cheapest first:
//! - a bound: every reading at its best over the box of predictions that the suspect allows ([`Reach`]);
//! - an estimate: the evidence of the model linearised at the medians, correlations between readings included
//!   ([`linear_log_evidence`]). It is what Laplace's approximation gives when predictions are straight lines.

use crate::evidence::{Evidence, Outlook};
use crate::prior::Prior;
use crate::reading_model::{Datum, normal_tail};
use bench::FaultSet;
use bench::wiring::{severity_unknown, unknown_count};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Half width, in standard deviations, of the box of values that a bound considers.
const BOX_HALF_WIDTH: f64 = 2.5;

/// Covariance that unknown values give the predictions, from derivatives at the medians.
#[derive(Debug, Clone)]
pub struct Sway {
    /// Readings by readings.
    covariance: DMatrix<f64>,
}

impl Sway {
    /// From an outlook with derivatives at the medians.
    pub fn new(prior: &Prior, outlook: &Outlook) -> Self {
        let white: Vec<DVector<f64>> = outlook
            .predictions
            .iter()
            .map(|prediction| match prediction.gradient.is_empty() || !prediction.value.is_finite() {
                true => DVector::zeros(prior.count()),
                false => prior.whiten(&prediction.gradient),
            })
            .collect();
        Sway { covariance: DMatrix::from_fn(white.len(), white.len(), |row, column| white[row].dot(&white[column])) }
    }

    fn slack(&self, reading: usize) -> f64 {
        BOX_HALF_WIDTH * self.covariance[(reading, reading)].max(0.0).sqrt()
    }
}

/// Predictions of a suspect at its medians and at the ends of its severities.
#[derive(Debug, Clone)]
pub struct Reach {
    /// At the medians.
    pub median: Outlook,
    /// With severities two standard deviations down and up; empty without severities.
    pub ends: Vec<Outlook>,
}

impl Reach {
    /// Looks at a suspect; `None` if it cannot be solved.
    pub fn new(evidence: &Evidence<'_>, faults: &FaultSet) -> Option<Self> {
        let unit = &evidence.job.unit;
        let mut deviations = vec![0.0; unknown_count(unit, faults)];
        let median = evidence.outlook_values(faults, &deviations).ok()?;
        let mut ends = Vec::new();
        let sized: Vec<(usize, f64)> = (0..faults.0.len())
            .filter_map(|position| {
                let unknown = severity_unknown(unit, faults, position)?;
                Some((unknown, unit.faults()[faults.0[position]].mode.severity.as_ref()?.log_spread))
            })
            .collect();
        if !sized.is_empty() {
            for side in [-2.0, 2.0] {
                sized.iter().for_each(|&(unknown, spread)| deviations[unknown] = side * spread);
                ends.push(evidence.outlook_values(faults, &deviations).ok()?);
            }
        }
        Some(Reach { median, ends })
    }

    /// All looks.
    pub fn looks(&self) -> impl Iterator<Item = &Outlook> {
        std::iter::once(&self.median).chain(&self.ends)
    }

    /// Change of each prediction per standard deviation of severity, as one direction; `None` without severities.
    pub fn severity_direction(&self) -> Option<DVector<f64>> {
        let [low, high] = &self.ends[..] else { return None };
        let slope = |reading: usize| {
            let change = high.predictions[reading].value - low.predictions[reading].value;
            if change.is_finite() { change / 4.0 } else { 0.0 }
        };
        Some(DVector::from_fn(low.predictions.len(), |reading, _| slope(reading)))
    }
}

/// Highest log-likelihood of a reading when its prediction may lie anywhere the looks span, and a box around them.
pub fn best_over<'o>(datum: &Datum, reading: usize, looks: impl Iterator<Item = &'o Outlook>, sway: &Sway) -> f64 {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for look in looks {
        low = low.min(look.predictions[reading].value);
        high = high.max(look.predictions[reading].value);
    }
    let slack = sway.slack(reading);
    datum.best_within((low - slack).max(0.0), high + slack)
}

/// Evidence, in nats, of predictions that are straight lines in the unknown values.
///
/// With residuals `r`, reading variances `D` and prediction covariance `K` (severity directions added), the fitted
/// residuals are `D (D + K)^-1 r`; each reading's `D` is divided by the probability that it is right, three times over,
/// as in the full fit. `moved` is how far each prediction of the look is from what the straight lines say at the medians.
pub fn linear_log_evidence(
    data: &[Datum],
    look: &Outlook,
    moved: &[f64],
    sway: &Sway,
    directions: &[&DVector<f64>],
) -> f64 {
    linear_evidence(data, look, moved, sway, directions).log_evidence
}

/// Evidence of predictions that are straight lines, and where it puts the first direction's size.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LinearEvidence {
    /// Nats.
    pub(crate) log_evidence: f64,
    /// Mean and variance of the first direction's size, in its prior standard deviations; without directions the prior's.
    first: (f64, f64),
}

/// Variance of a size, over that of its prior, below which readings have settled it.
const SETTLED_VARIANCE: f64 = 0.2;

impl LinearEvidence {
    /// Probability that the first direction's size lies between two ends; one if the line settles it, for then the
    /// line and not the ends is what is a little off.
    pub(crate) fn first_within(&self, low: f64, high: f64) -> f64 {
        let (mean, variance) = self.first;
        if variance < SETTLED_VARIANCE {
            return 1.0;
        }
        let beyond = |end: f64| normal_tail((end - mean) / variance.max(1e-12).sqrt());
        (beyond(low) - beyond(high)).max(0.0)
    }
}

/// As [`linear_log_evidence`], with where it puts the first direction's size.
pub(crate) fn linear_evidence(
    data: &[Datum],
    look: &Outlook,
    moved: &[f64],
    sway: &Sway,
    directions: &[&DVector<f64>],
) -> LinearEvidence {
    let count = data.len();
    let mut covariance = sway.covariance.clone();
    for direction in directions {
        covariance.ger(1.0, direction, direction, 1.0);
    }
    // Readings without a number on both sides take no part in the straight lines.
    let usable: Vec<Option<(f64, f64)>> = data
        .iter()
        .zip(&look.predictions)
        .map(|(datum, prediction)| match *datum {
            Datum::Shown { value, sigma, .. } if prediction.value.is_finite() => {
                Some((value - prediction.value, sigma))
            }
            _ => None,
        })
        .collect();
    let mut fitted = DVector::from_fn(count, |i, _| usable[i].map_or(0.0, |(residual, _)| residual));
    let residual = DVector::from_fn(count, |i, _| usable[i].map_or(0.0, |(residual, _)| residual + moved[i]));
    let mut prior_part = 0.0;
    let mut log_determinant = 0.0;
    let mut first = (0.0, 1.0);
    for _ in 0..3 {
        let mut matrix = covariance.clone();
        let mut scale = 0.0;
        let mut variances = vec![1.0; count];
        for i in 0..count {
            let weight = match usable[i] {
                Some((_, sigma)) => {
                    let shown = look.predictions[i].value - moved[i] + residual[i] - fitted[i];
                    let weight = data[i].log_likelihood(shown, 0.0).sound.max(1e-9);
                    variances[i] = sigma * sigma / weight;
                    weight
                }
                None => 0.0,
            };
            if weight == 0.0 {
                matrix.row_mut(i).fill(0.0);
                matrix.column_mut(i).fill(0.0);
                matrix[(i, i)] = 1.0;
            } else {
                matrix[(i, i)] += variances[i];
                scale += variances[i].ln();
            }
        }
        let Some(factor) = Cholesky::new(matrix) else {
            return LinearEvidence { log_evidence: f64::NEG_INFINITY, first };
        };
        let solved = factor.solve(&residual);
        if let Some(direction) = directions.first() {
            // Readings that take no part have no say on the size.
            let taking_part = |i: usize| if usable[i].is_some() { direction[i] } else { 0.0 };
            let direction = DVector::from_fn(count, |i, _| taking_part(i));
            first = (direction.dot(&solved), 1.0 - direction.dot(&factor.solve(&direction)));
        }
        log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>() - scale;
        fitted = DVector::from_fn(count, |i, _| if usable[i].is_some() { variances[i] * solved[i] } else { 0.0 });
        prior_part =
            (residual.dot(&solved) - (0..count).map(|i| fitted[i] * fitted[i] / variances[i]).sum::<f64>()).max(0.0);
    }
    let likelihood: f64 = (0..count)
        .map(|i| {
            let predicted = match usable[i] {
                Some(_) => look.predictions[i].value - moved[i] + residual[i] - fitted[i],
                None => look.predictions[i].value,
            };
            // What was not looked at yet may be met as well as can be.
            if predicted.is_nan() { data[i].best() } else { data[i].log_likelihood(predicted, 0.0).value }
        })
        .sum();
    let log_evidence = likelihood + look.symptoms - 0.5 * prior_part - 0.5 * log_determinant;
    LinearEvidence { log_evidence, first }
}
