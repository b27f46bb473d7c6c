//! The ohms of the sections under one hypothesis: where readings and priors agree best, and the evidence there (Laplace).

use crate::arrangement::{Arrangement, Break};
use crate::case::{Case, LeadReading};
use circuit::{Branch, DirectNetwork, NetId, Network, PairResistance, Quantity, SolveError, UnknownId};
use diagnosis::reading_model::{Datum, GROSS_SHARE, Gross, LogLikelihood, gross_ohms_density};
use machine::copper::resistance_ratio;
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// Temperature at which medians hold, degrees Celsius.
pub(crate) const REFERENCE_CELSIUS: f64 = 20.0;
/// Contact of probes and clips, ohms, one standard deviation (engineering judgement).
const CONTACT_OHMS: f64 = 0.05;
/// A winding that warms or cools by a kelvin or two between readings, as a share (0.4 % a kelvin; engineering judgement).
const DRIFT_SHARE: f64 = 0.005;
/// Steps after which the search for the best agreement is given up.
const MOST_STEPS: usize = 60;
/// A step shorter than this, in prior standard deviations, is the last; steps halve at least twice over near the end.
const LAST_STEP: f64 = 1e-4;
/// No step is longer, in prior standard deviations, so that a wild start does not overshoot.
const LONGEST_STEP: f64 = 1.5;

/// Standard deviation of a right reading that shows `value`.
pub fn sigma(reading: &LeadReading, value: f64) -> f64 {
    let meter = reading.meter.accuracy.standard_uncertainty(value);
    [meter, CONTACT_OHMS, DRIFT_SHARE * value].iter().map(|part| part * part).sum::<f64>().sqrt()
}

/// A reading as the inference sees it.
pub fn datum(reading: &LeadReading) -> Datum {
    match reading.value {
        bench::Value::Open => Datum::Open { limit: reading.meter.limit, gross_share: GROSS_SHARE },
        bench::Value::Number(value) => Datum::Shown {
            value,
            sigma: sigma(reading, value),
            gross: Gross::anything(gross_ohms_density(value)),
            gross_share: GROSS_SHARE,
        },
    }
}

/// An arrangement with something open, as a meter meets it.
#[derive(Debug, Clone)]
pub struct Layout<'a> {
    /// The arrangement.
    pub arrangement: &'a Arrangement,
    /// What is open.
    pub open: Break,
}

impl Layout<'_> {
    /// The net on which the lead of a terminal lies.
    fn net(&self, terminal: usize) -> NetId {
        // A lead that has come off lies on a net of its own.
        let loose = self.open == Break::Lead(terminal);
        NetId(if loose { self.arrangement.node_count() } else { terminal })
    }

    /// Ohms of a section at 20 degrees Celsius, with its slopes.
    pub fn section(&self, section: usize, latents: &[f64]) -> Quantity {
        let section = &self.arrangement.sections[section];
        let deviation: f64 = section.weights.iter().map(|&(latent, weight)| weight * latents[latent]).sum();
        let ohms = section.median_ohms * deviation.exp();
        Quantity::with_slopes(ohms, section.weights.iter().map(|&(latent, weight)| (UnknownId(latent), ohms * weight)))
    }

    fn network(&self, latents: &[f64]) -> Network {
        let mut network = Network::new(0.0, self.arrangement.node_count() + 1);
        for (index, section) in self.arrangement.sections.iter().enumerate() {
            if self.open == Break::Section(index) {
                continue;
            }
            network.add_branch(Branch {
                from: NetId(section.from),
                to: NetId(section.to),
                resistance: self.section(index, latents),
                reactance: Quantity::constant(0.0),
                source: Quantity::constant(0.0),
                source_angle: 0.0,
                passes_direct_current: true,
            });
        }
        network
    }

    /// Ohms between pairs of terminals at 20 degrees Celsius, with their derivatives.
    pub fn between(&self, latents: &[f64], pairs: &[(usize, usize)]) -> Result<Vec<PairResistance>, SolveError> {
        let network = self.network(latents);
        let direct = DirectNetwork::new(&network)?;
        let unknowns = self.arrangement.latents;
        Ok(pairs.iter().map(|&(a, b)| direct.resistance(self.net(a), self.net(b), unknowns)).collect())
    }
}

/// Values under a hypothesis with some readings taken to be wrong.
#[derive(Debug, Clone)]
pub struct Fit {
    /// Most probable unknown values, in prior standard deviations.
    pub latents: Vec<f64>,
    /// Their covariance.
    pub covariance: DMatrix<f64>,
    /// Natural logarithm of the evidence, and of the readings being right or wrong as taken.
    pub log_evidence: f64,
    /// For each reading, the logarithm of the odds that it is wrong, judged by all the others; nothing for those already
    /// taken to be wrong.
    pub log_odds_wrong: Vec<Option<f64>>,
    /// Logarithm of what the evidence would be at most: all readings exactly as predicted.
    pub log_bound: f64,
    /// For each reading, the same if it were wrong too.
    pub log_bound_without: Vec<f64>,
    /// For each reading, the probability that it is right in this fit.
    pub sound: Vec<f64>,
}

/// Fits one hypothesis: the readings between terminals `pairs`, of which those in `wrong` are taken to be wrong.
///
/// # Errors
/// [`SolveError`] if the ohms of a section have run out of all bounds.
pub fn fit(
    layout: &Layout<'_>,
    case: &Case,
    data: &[Datum],
    pairs: &[(usize, usize)],
    wrong: &[bool],
) -> Result<Fit, SolveError> {
    let search = Search { layout, case, data, pairs, wrong };
    let mut latents = search.start()?;
    let mut here = search.look(&latents)?;
    let mut damping = 0.0;
    for _ in 0..MOST_STEPS {
        let matrix = &here.curvature + DMatrix::identity(latents.len(), latents.len()) * damping;
        let Some(factors) = matrix.cholesky() else { break };
        let mut step = factors.solve(&here.slope);
        let length = step.amax();
        if length > LONGEST_STEP {
            step *= LONGEST_STEP / length;
        }
        let tried: Vec<f64> = latents.iter().zip(step.iter()).map(|(at, by)| at + by).collect();
        let there = search.look(&tried)?;
        if there.log_density >= here.log_density - 1e-12 {
            (latents, here) = (tried, there);
            damping *= 0.2;
            if length < LAST_STEP {
                break;
            }
        } else if length < LAST_STEP {
            break;
        } else {
            damping = (damping * 5.0).max(1.0);
        }
    }
    Ok(search.finish(latents, here))
}

struct Search<'s> {
    layout: &'s Layout<'s>,
    case: &'s Case,
    data: &'s [Datum],
    pairs: &'s [(usize, usize)],
    wrong: &'s [bool],
}

/// Everything at one point.
struct Look {
    log_density: f64,
    slope: DVector<f64>,
    curvature: DMatrix<f64>,
    gradients: Vec<Vec<f64>>,
    predicted: Vec<f64>,
    likelihoods: Vec<LogLikelihood>,
}

impl Search<'_> {
    /// Medians, all larger or smaller by one factor so that they are about what was read.
    fn start(&self) -> Result<Vec<f64>, SolveError> {
        let mut latents = vec![0.0; self.layout.arrangement.latents];
        let between = self.layout.between(&latents, self.pairs)?;
        let mut factors: Vec<f64> = (0..self.data.len())
            .filter(|&reading| !self.wrong[reading] && between[reading].ohms.is_finite())
            .filter_map(|reading| match self.data[reading] {
                Datum::Shown { value, .. } if value > 0.0 => Some((value / between[reading].ohms).ln()),
                _ => None,
            })
            .collect();
        factors.sort_by(f64::total_cmp);
        let size = self.layout.arrangement.sections.first().and_then(|section| section.weights.first());
        if let (Some(&middle), Some(&(latent, weight))) = (factors.get(factors.len() / 2), size) {
            latents[latent] = (middle / weight).clamp(-5.0, 5.0);
        }
        Ok(latents)
    }

    fn look(&self, latents: &[f64]) -> Result<Look, SolveError> {
        let count = latents.len();
        let between = self.layout.between(latents, self.pairs)?;
        let mut slope = DVector::from_iterator(count, latents.iter().map(|value| -value));
        let mut curvature = DMatrix::identity(count, count);
        let mut log_density = -0.5 * latents.iter().map(|value| value * value).sum::<f64>();
        let (mut gradients, mut predicted, mut likelihoods) = (Vec::new(), Vec::new(), Vec::new());
        for (reading, mut resistance) in between.into_iter().enumerate() {
            let taken = &self.case.readings[reading];
            let ratio = resistance_ratio(taken.winding_celsius, REFERENCE_CELSIUS);
            let value = resistance.ohms * ratio + taken.meter.test_leads_ohms;
            resistance.gradient.iter_mut().for_each(|part| *part *= ratio);
            let likelihood = if self.wrong[reading] {
                self.data[reading].log_likelihood_wrong()
            } else {
                self.data[reading].log_likelihood_right(value)
            };
            log_density += likelihood.value;
            for (row, &by_row) in resistance.gradient.iter().enumerate() {
                slope[row] += likelihood.slope * by_row;
                for (column, &by_column) in resistance.gradient.iter().enumerate() {
                    curvature[(row, column)] += likelihood.curvature * by_row * by_column;
                }
            }
            gradients.push(resistance.gradient);
            predicted.push(value);
            likelihoods.push(likelihood);
        }
        Ok(Look { log_density, slope, curvature, gradients, predicted, likelihoods })
    }

    /// The most that a reading can say for this fit.
    fn log_peak(&self, reading: usize, here: &Look) -> f64 {
        let is_right = !self.wrong[reading] && here.predicted[reading].is_finite();
        match self.data[reading] {
            Datum::Shown { value, .. } if is_right => self.data[reading].log_likelihood_right(value).value,
            _ => here.likelihoods[reading].value,
        }
    }

    fn finish(&self, latents: Vec<f64>, here: Look) -> Fit {
        let count = latents.len();
        // The curvature has one on its diagonal and more, so it has factors.
        let (covariance, log_determinant) = match here.curvature.clone().cholesky() {
            Some(factors) => (factors.inverse(), 2.0 * factors.l_dirty().diagonal().map(f64::ln).sum()),
            None => (DMatrix::identity(count, count), 0.0),
        };
        let log_peaks: f64 = (0..self.data.len()).map(|reading| self.log_peak(reading, &here)).sum();
        let log_bound = log_peaks - 0.5 * log_determinant;
        let mut log_odds_wrong = vec![None; self.data.len()];
        let mut log_bound_without = vec![log_bound; self.data.len()];
        for reading in 0..self.data.len() {
            let Datum::Shown { value, sigma, .. } = self.data[reading] else { continue };
            if self.wrong[reading] || !here.predicted[reading].is_finite() {
                continue;
            }
            // What the other readings say of this one: a normal distribution, by taking this one out again.
            let gradient = DVector::from_column_slice(&here.gradients[reading]);
            let leverage = (gradient.dot(&(&covariance * &gradient)) / (sigma * sigma)).min(1.0 - 1e-9);
            let distance = (value - here.predicted[reading]) / (1.0 - leverage);
            let variance = sigma * sigma / (1.0 - leverage);
            let log_right = -0.5 * (distance * distance / variance + (2.0 * PI * variance).ln());
            let log_wrong = self.data[reading].log_likelihood_wrong().value;
            log_odds_wrong[reading] = Some(log_wrong - (1.0 - GROSS_SHARE).ln() - log_right);
            log_bound_without[reading] =
                log_bound + log_wrong - self.log_peak(reading, &here) - 0.5 * (1.0 - leverage).ln();
        }
        Fit {
            latents,
            covariance,
            log_evidence: here.log_density - 0.5 * log_determinant,
            log_odds_wrong,
            log_bound,
            log_bound_without,
            sound: here.likelihoods.iter().map(|likelihood| likelihood.sound).collect(),
        }
    }
}
