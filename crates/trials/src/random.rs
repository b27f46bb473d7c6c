//! Seeded random numbers: the same seed, the same trials.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::f64::consts::PI;

/// A stream of random numbers.
pub struct Random(StdRng);

impl Random {
    /// The stream of a seed; `number` tells the streams of one seed apart.
    pub fn new(seed: u64, number: u64) -> Self {
        // Odd multipliers keep neighbouring seeds and numbers apart; the generator hashes what it is seeded with.
        let mixed = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ number.wrapping_mul(0xd6e8_feb8_6659_fd93);
        Random(StdRng::seed_from_u64(mixed))
    }

    /// Between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        self.0.random()
    }

    /// Between two bounds.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Standard normal (Box and Muller, Annals of Mathematical Statistics 29, 1958).
    pub fn normal(&mut self) -> f64 {
        let (radius, turn) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * radius.ln()).sqrt() * (2.0 * PI * turn).cos()
    }

    /// Log-normal about a median; `spread` is the standard deviation of the natural logarithm.
    pub fn about(&mut self, median: f64, spread: f64) -> f64 {
        median * (spread * self.normal()).exp()
    }

    /// True with a probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// One of `count`.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// One of a list of figures.
    pub fn pick(&mut self, list: &[f64]) -> f64 {
        list.get(self.below(list.len())).copied().unwrap_or_default()
    }

    /// An index, in proportion to its weight.
    pub fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.uniform() * weights.iter().sum::<f64>();
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left < 0.0 {
                return index;
            }
        }
        weights.len().saturating_sub(1)
    }
}
