//! Mixtures of normal distributions, as what is known about the final temperature.

use statrs::function::erf::erfc;

/// Deviations that differ by less than this (natural logarithm) are of one width.
const WIDTH_STEP: f64 = 0.2;
/// Means that differ by less than this share of the deviation are near.
const NEAR: f64 = 0.125;

/// One normal distribution of a mixture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    /// Its weight; those of a mixture add up to one.
    pub weight: f64,
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation, above zero.
    pub deviation: f64,
}

/// Normal distributions whose weights add up to one.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture(Vec<Normal>);

impl Mixture {
    /// Normals of about one width whose means are closer together than an eighth of it are made one.
    pub fn new(mut parts: Vec<Normal>) -> Self {
        let width = |normal: &Normal| (normal.deviation.ln() / WIDTH_STEP).floor();
        parts.sort_by(|a, b| width(a).total_cmp(&width(b)).then(a.mean.total_cmp(&b.mean)));
        let mut merged: Vec<Normal> = Vec::new();
        // Where the normals that the last one is made of begin, so that a chain of near ones does not become one.
        let mut begin = f64::NAN;
        for part in parts {
            match merged.last_mut() {
                Some(last) if part.mean - begin < NEAR * part.deviation && width(last) == width(&part) => {
                    let weight = last.weight + part.weight;
                    let share = part.weight / weight;
                    let variance = (1.0 - share) * last.deviation.powi(2)
                        + share * part.deviation.powi(2)
                        + share * (1.0 - share) * (part.mean - last.mean).powi(2);
                    *last = Normal {
                        weight,
                        mean: last.mean + share * (part.mean - last.mean),
                        deviation: variance.sqrt(),
                    };
                }
                _ => {
                    begin = part.mean;
                    merged.push(part);
                }
            }
        }
        Mixture(merged)
    }

    /// Probability of less than `value`.
    pub fn below(&self, value: f64) -> f64 {
        let part = |normal: &Normal| {
            normal.weight * 0.5 * erfc((normal.mean - value) / (normal.deviation * std::f64::consts::SQRT_2))
        };
        self.0.iter().map(part).sum()
    }

    /// The value with a given probability (between 0 and 1) of less.
    pub fn quantile(&self, probability: f64) -> f64 {
        let edge = |sign: f64| self.0.iter().map(move |normal| normal.mean + sign * 9.0 * normal.deviation);
        let (mut low, mut high) = (edge(-1.0).fold(f64::MAX, f64::min), edge(1.0).fold(f64::MIN, f64::max));
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.below(middle) < probability {
                low = middle
            } else {
                high = middle
            }
            if high - low < 1e-4 {
                break;
            }
        }
        0.5 * (low + high)
    }

    /// Mean of all.
    pub fn mean(&self) -> f64 {
        self.0.iter().map(|normal| normal.weight * normal.mean).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Standard normal table: 0.975 at 1.959964.
    #[test]
    fn one_normal() {
        let mixture = Mixture::new(vec![Normal { weight: 1.0, mean: 80.0, deviation: 2.0 }]);
        assert!((mixture.quantile(0.975) - (80.0 + 2.0 * 1.959_964)).abs() < 1e-3);
        assert!((mixture.below(80.0) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn merging_keeps_mean_and_quantiles() {
        let many: Vec<Normal> =
            (0..1000).map(|i| Normal { weight: 1e-3, mean: 60.0 + 0.01 * f64::from(i), deviation: 1.0 }).collect();
        let plain = Mixture(many.clone());
        let merged = Mixture::new(many);
        assert!(merged.0.len() < 100);
        assert!((plain.mean() - merged.mean()).abs() < 1e-9);
        assert!((plain.quantile(0.999) - merged.quantile(0.999)).abs() < 2e-3);
    }
}
