//! Evidence by importance sampling, with its error.
//!
//! Laplace's approximation takes a suspect's posterior for normal curves about its tops. Where it is skewed, or cut off
//! where a motor stalls, that is wrong by an amount that nothing in it tells. Here values are drawn from heavier curves
//! about the same tops and weighed by the posterior itself: the mean weight is the evidence, and the scatter of the
//! weights its error.
//!
//! Values with which the sound unit would never have worked weigh nothing, those with which it would have been slow less.
//!
//! What the readings do not move keeps its prior, so the heavier curves (Student's t) are needed only in the directions in
//! which the posterior is narrower than the prior; there are no more of them than readings and sizes of faults.
//!
//! Suspects that differ by one fault are told apart by the difference of their evidences. The same draw of each takes the
//! same random numbers for the unit's own values, so that what is by chance mostly drops out of it.
//!
//! The normal curves themselves, which Laplace's approximation takes for the posterior, have a known integral, and so have the
//! curves drawn from. What chance has done to these is taken off (`controlled_mean.rs`): where the posterior is all but
//! normal, one round of draws has it to a hundredth of a nat.
//!
//! Source: Owen, Monte Carlo theory, methods and examples (2013), ch. 9; mixtures of proposals 9.11; common random numbers
//! 8.6. The seed is fixed: the same job gives the same figures.

use crate::controlled_mean;
use crate::evidence::Evidence;
use crate::fit::Fit;
use crate::log_weights::LogSum;
use crate::prior::Prior;
use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand::rngs::StdRng;
use rand_distr::{ChiSquared, Distribution, StandardNormal};
use rayon::prelude::*;
use statrs::function::gamma::ln_gamma;
use std::f64::consts::PI;

/// Degrees of freedom of the heavier curves.
const FREEDOM: f64 = 8.0;
/// A direction in which the posterior's variance is below this share of the prior's is one that readings move.
const MOVED: f64 = 0.98;
/// Variances of the heavier curves over those of Laplace's.
const WIDENED: f64 = 1.15;
/// The same of a curve about the first top, in no direction wider than the prior, for a posterior that reaches farther than
/// its top tells, and how many draws of a round are made from it.
const FAR: f64 = 9.0;
const FAR_DRAWS: usize = 16;
/// Draws in a round; at most this many rounds, and so many more while the error is above [`LARGE_ERROR`], nats: a few draws
/// then carry most of the weight, and their mean is rather too low than too high.
const DRAWS: usize = 64;
const ROUNDS: usize = 8;
const MORE_ROUNDS: usize = 8;
const LARGE_ERROR: f64 = 0.15;
/// Draws of all rounds.
pub(crate) const MOST_DRAWS: usize = DRAWS * (ROUNDS + MORE_ROUNDS);
/// Every top gets at least this many draws of a round.
const LEAST_DRAWS: usize = 6;
/// A draw that weighs this much less than the fit's evidence, nats, weighs nothing.
const LIGHT: f64 = 16.0;
const SEED: u64 = 0x5eed;
/// Between the seeds of two draws, so that those of two neighbouring seeds have none in common.
const SEEDS_APART: u64 = 0x9e37_79b9_7f4a_7c15;

/// An evidence with its standard error.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// Log evidence, nats.
    pub log_evidence: f64,
    /// Its standard error, nats.
    pub error: f64,
    /// Draws made.
    pub draws: usize,
    /// Per reading, the probability that it is grossly wrong.
    pub doubt: Vec<f64>,
    /// The most probable of all draws, and its log posterior up to the prior's constant.
    pub best: (DVector<f64>, f64),
}

/// A curve to draw from, about a top.
struct Proposal {
    centre: DVector<f64>,
    /// Directions that readings move, one a column.
    directions: DMatrix<f64>,
    /// Standard deviations along them, of the heavier curve and of Laplace's.
    spreads: DVector<f64>,
    own_spreads: DVector<f64>,
    draws: usize,
    log_share: f64,
}

impl Proposal {
    fn new(fit: &Fit, widened: f64, draws: usize, log_share: f64) -> Self {
        let (variances, directions) = (fit.narrowing.variances(), fit.narrowing.directions());
        let moved: Vec<usize> = (0..variances.len()).filter(|&place| variances[place] < MOVED).collect();
        let directions = directions.select_columns(&moved);
        let spread = |place: usize| (widened * variances[place].max(1e-12)).min(WIDENED).sqrt();
        let spreads = DVector::from_iterator(moved.len(), moved.iter().map(|&place| spread(place)));
        let own_spreads = moved.iter().map(|&place| variances[place].max(1e-12).sqrt());
        let own_spreads = DVector::from_iterator(moved.len(), own_spreads);
        Proposal { centre: DVector::clone(&fit.z), directions, spreads, own_spreads, draws, log_share }
    }

    fn draw(&self, mut random: StdRng, heavy: &ChiSquared<f64>) -> DVector<f64> {
        let scale = (FREEDOM / heavy.sample(&mut random)).sqrt();
        // Sizes of faults come last.
        let free = DVector::from_fn(self.centre.len(), |_, _| StandardNormal.sample(&mut random));
        let within = self.directions.tr_mul(&free);
        let stretched = DVector::from_fn(within.len(), |place, _| (scale * self.spreads[place] - 1.0) * within[place]);
        // Elsewhere the prior holds, whose mean is zero: of the centre only what readings moved counts.
        let centre = &self.directions * self.directions.tr_mul(&self.centre);
        centre + &free + &self.directions * stretched
    }

    /// Logarithms of the densities of the heavier curve and of Laplace's.
    fn log_densities(&self, z: &DVector<f64>) -> (f64, f64) {
        let within = self.directions.tr_mul(z);
        let off = &within - self.directions.tr_mul(&self.centre);
        let beyond = (z.norm_squared() - within.norm_squared()).max(0.0);
        let moved = within.len() as f64;
        let distance = |spreads: &DVector<f64>| off.component_div(spreads).norm_squared();
        let width = |spreads: &DVector<f64>| spreads.iter().map(|spread| spread.ln()).sum::<f64>();
        let student = ln_gamma(0.5 * (FREEDOM + moved))
            - ln_gamma(0.5 * FREEDOM)
            - 0.5 * moved * (FREEDOM * PI).ln()
            - 0.5 * (FREEDOM + moved) * (distance(&self.spreads) / FREEDOM).ln_1p()
            - width(&self.spreads);
        let normal = -0.5 * moved * (2.0 * PI).ln() - 0.5 * distance(&self.own_spreads) - width(&self.own_spreads);
        let rest = -0.5 * beyond - 0.5 * (z.len() as f64 - moved) * (2.0 * PI).ln();
        (student + rest, normal + rest)
    }
}

/// Evidence of a suspect by draws about the tops of its fit, until its error is below `small_error`, nats, or patience
/// ends; `None` if no draw could be solved.
pub fn sample(evidence: &Evidence<'_>, fit: &Fit, small_error: f64) -> Option<Sampled> {
    sample_from(SEED, evidence, fit, small_error)
}

/// As [`sample`], with draws of their own for each seed.
pub fn sample_from(seed: u64, evidence: &Evidence<'_>, fit: &Fit, small_error: f64) -> Option<Sampled> {
    let evidence = &*fit.knowing_neighbours(evidence);
    let prior = evidence.prior.with_severities(&evidence.job.unit, &fit.faults);
    let proposals = proposals(fit);
    let heavy = ChiSquared::new(FREEDOM).ok()?;
    let mut weighed = Vec::with_capacity(MOST_DRAWS);
    for round in 1..=ROUNDS + MORE_ROUNDS {
        // Every curve gets its share of the draws.
        let of_round = proposals.iter().flat_map(|proposal| std::iter::repeat_n(proposal, proposal.draws));
        let draws: Vec<(usize, &Proposal)> = (weighed.len()..).zip(of_round).collect();
        let own_seed = |number: usize| seed.wrapping_add((number as u64).wrapping_mul(SEEDS_APART));
        weighed.par_extend(draws.into_par_iter().map(|(number, proposal)| {
            let z = proposal.draw(StdRng::seed_from_u64(own_seed(number)), &heavy);
            weigh(evidence, fit, &prior, &proposals, z)
        }));
        let sampled = mean(&weighed, evidence.data.len());
        let aim = if round < ROUNDS { small_error } else { small_error.max(LARGE_ERROR) };
        let enough = sampled.as_ref().is_some_and(|sampled| sampled.error < aim);
        if enough || round == ROUNDS + MORE_ROUNDS || evidence.watch.is_cancelled() {
            return sampled;
        }
    }
    None
}

/// Curves about all tops of a fit, with the draws that each gets in a round.
fn proposals(fit: &Fit) -> Vec<Proposal> {
    let others = fit.other_tops.iter().map(|top| ((top.share * DRAWS as f64).ceil() as usize).max(LEAST_DRAWS));
    let others: Vec<usize> = others.collect();
    let first = DRAWS.saturating_sub(FAR_DRAWS + others.iter().sum::<usize>()).max(LEAST_DRAWS);
    let total = (first + FAR_DRAWS + others.iter().sum::<usize>()) as f64;
    let log_share = |draws: usize| (draws as f64 / total).ln();
    let tops = std::iter::once((fit, first)).chain(fit.other_tops.iter().map(|top| &top.fit).zip(others));
    let near = tops.map(|(fit, draws)| Proposal::new(fit, WIDENED, draws, log_share(draws)));
    near.chain([Proposal::new(fit, FAR, FAR_DRAWS, log_share(FAR_DRAWS))]).collect()
}

/// A draw with the logarithm of its weight, its log posterior and the doubt in every reading there.
struct Drawn {
    z: DVector<f64>,
    log_weight: f64,
    /// Densities over that of all curves together, less their mean, which is one.
    controls: Vec<f64>,
    height: f64,
    doubt: Vec<f64>,
}

fn weigh(evidence: &Evidence<'_>, fit: &Fit, prior: &Prior, proposals: &[Proposal], z: DVector<f64>) -> Drawn {
    let densities: Vec<(f64, f64)> = proposals.iter().map(|proposal| proposal.log_densities(&z)).collect();
    let mut sum = LogSum::default();
    proposals.iter().zip(&densities).for_each(|(proposal, (density, _))| sum.add(proposal.log_share + density));
    let density = sum.log();
    // The last curve is about the first top once more, and what it was drawn from is what the others leave.
    let controls = densities[..densities.len() - 1].iter();
    let controls =
        controls.flat_map(|(drawn, normal)| [drawn, normal]).map(|own| (own - density).exp() - 1.0).collect();
    let deviations = prior.deviations(&z);
    let outlook = evidence.outlook_values(&fit.faults, &deviations).ok();
    let log_prior_and_density = -0.5 * z.len() as f64 * (2.0 * PI).ln() - density;
    let height = outlook.as_ref().map_or(f64::NEG_INFINITY, |outlook| evidence.log_posterior(outlook, &z));
    // What weighs nothing anyway need not have worked.
    let is_light = height + log_prior_and_density < fit.log_evidence - LIGHT;
    let log_worked = if is_light { f64::NEG_INFINITY } else { evidence.log_worked(&deviations) };
    let Some(outlook) = outlook.filter(|_| log_worked > f64::NEG_INFINITY) else {
        let (log_weight, height) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        return Drawn { z, log_weight, controls, height, doubt: vec![0.0; evidence.data.len()] };
    };
    let height = height + log_worked;
    Drawn { log_weight: height + log_prior_and_density, controls, height, doubt: evidence.doubts(&outlook), z }
}

fn mean(drawn: &[Drawn], readings: usize) -> Option<Sampled> {
    let mut sum = LogSum::default();
    drawn.iter().for_each(|draw| sum.add(draw.log_weight));
    let draws = drawn.len();
    let average = sum.log() - (draws as f64).ln();
    if !average.is_finite() {
        return None;
    }
    let weights: Vec<f64> = drawn.iter().map(|draw| (draw.log_weight - average).exp()).collect();
    let controls: Vec<Vec<f64>> = drawn.iter().map(|draw| draw.controls.clone()).collect();
    let mean = controlled_mean::mean(&weights, &controls);
    let mut doubt = vec![0.0; readings];
    for draw in drawn {
        let share = (draw.log_weight - sum.log()).exp();
        doubt.iter_mut().zip(&draw.doubt).for_each(|(doubt, own)| *doubt += share * own);
    }
    let best = drawn.iter().max_by(|a, b| a.height.total_cmp(&b.height))?;
    Some(Sampled {
        log_evidence: average + mean.value.ln(),
        error: mean.error / mean.value,
        draws,
        doubt,
        best: (best.z.clone(), best.height),
    })
}
