//! Entropy, and the entropy that an outcome is expected to leave.

use crate::reading_model::normal_density;
use std::collections::BTreeMap;

/// Entropy of a discrete distribution in nats; the shares need not add up to one exactly.
pub fn entropy(shares: impl IntoIterator<Item = f64>) -> f64 {
    let shares: Vec<f64> = shares.into_iter().filter(|&share| share > 0.0).collect();
    let total: f64 = shares.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    shares.iter().map(|share| share / total).map(|p| -p * p.ln()).sum()
}

/// What one suspect says of a check: its weight, its class (a repair), and the value to be shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Probability of the suspect.
    pub weight: f64,
    /// Which class it belongs to; the entropy is over classes.
    pub class: usize,
    /// Mean of the shown value; infinite for 'open'.
    pub mean: f64,
    /// Standard deviation of the shown value.
    pub sigma: f64,
}

/// Nodes and weights of five-point Gauss-Hermite quadrature for a standard normal variable.
///
/// Source: Abramowitz and Stegun, table 25.10, scaled by the square roots of 2 and pi.
const HERMITE: [(f64, f64); 5] = [
    (-2.856_970_013_872_805_6, 0.011_257_411_327_720_69),
    (-1.355_626_179_974_265_8, 0.222_075_922_005_612_66),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_265_8, 0.222_075_922_005_612_66),
    (2.856_970_013_872_805_6, 0.011_257_411_327_720_69),
];

/// Expected drop of the entropy over classes, in nats, from learning the shown value.
///
/// The shown value is a mixture of normal distributions and of 'open'; the expectation runs over the mixture by
/// quadrature. `gross` is the share of readings that tell nothing.
pub fn expected_gain(forecasts: &[Forecast], gross: f64) -> f64 {
    let class_count = forecasts.iter().map(|forecast| forecast.class + 1).max().unwrap_or(0);
    let mut before = vec![0.0; class_count];
    for forecast in forecasts {
        before[forecast.class] += forecast.weight;
    }
    let total: f64 = before.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    let prior_entropy = entropy(before.iter().copied());
    let mut after = 0.0;
    let mut shares = vec![0.0; class_count];
    for forecast in forecasts.iter().filter(|forecast| forecast.weight > 0.0) {
        if forecast.mean.is_finite() {
            for (node, weight) in HERMITE {
                let value = forecast.mean + node * forecast.sigma;
                after += forecast.weight / total * weight * entropy_given(forecasts, value, &mut shares);
            }
        } else {
            after += forecast.weight / total * entropy_given(forecasts, f64::INFINITY, &mut shares);
        }
    }
    ((prior_entropy - after) * (1.0 - gross)).max(0.0)
}

fn entropy_given(forecasts: &[Forecast], value: f64, shares: &mut [f64]) -> f64 {
    shares.fill(0.0);
    for forecast in forecasts {
        shares[forecast.class] += forecast.weight * density(forecast, value);
    }
    entropy(shares.iter().copied())
}

/// Density of a shown value under a forecast; probability if the value is 'open'.
pub fn density(forecast: &Forecast, value: f64) -> f64 {
    match (forecast.mean.is_finite(), value.is_finite()) {
        (true, true) => normal_density(value - forecast.mean, forecast.sigma),
        (false, false) => 1.0,
        _ => 0.0,
    }
}

/// Expected gain, in nats, of a question with few answers: `answers[suspect]` maps an answer to its probability.
pub fn expected_gain_of_answers(weights: &[(f64, usize)], answers: &[BTreeMap<usize, f64>]) -> f64 {
    let class_count = weights.iter().map(|&(_, class)| class + 1).max().unwrap_or(0);
    let total: f64 = weights.iter().map(|&(weight, _)| weight).sum();
    let shares_of = |chance: &dyn Fn(usize) -> f64| {
        let mut shares = vec![0.0; class_count];
        for (suspect, &(weight, class)) in weights.iter().enumerate() {
            shares[class] += weight * chance(suspect);
        }
        shares
    };
    let before = entropy(shares_of(&|_| 1.0));
    let mut all: Vec<usize> = answers.iter().flat_map(|map| map.keys().copied()).collect();
    all.sort_unstable();
    all.dedup();
    let after: f64 = all
        .iter()
        .map(|answer| {
            let shares = shares_of(&|suspect| answers[suspect].get(answer).copied().unwrap_or(0.0));
            shares.iter().sum::<f64>() / total * entropy(shares)
        })
        .sum();
    (before - after).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_two_coin_anchor() {
        // Prior 0.4, chances 0.25 and 0.75: H(0.45) - H(0.25) = 0.125804 nats (used by seven estimators in the test
        // suite of a public probabilistic-programming library; recomputed by hand).
        let weights = [(0.6, 0), (0.4, 1)];
        let answers = [BTreeMap::from([(0, 0.75), (1, 0.25)]), BTreeMap::from([(0, 0.25), (1, 0.75)])];
        assert!((expected_gain_of_answers(&weights, &answers) - 0.125_804).abs() < 1e-6);
    }

    #[test]
    fn a_value_that_separates_all_gives_the_whole_entropy() {
        let at = |weight, class, mean| Forecast { weight, class, mean, sigma: 0.1 };
        let apart = [at(0.5, 0, 10.0), at(0.3, 1, 20.0), at(0.2, 2, f64::INFINITY)];
        let all = entropy([0.5, 0.3, 0.2]);
        assert!((expected_gain(&apart, 0.0) - all).abs() < 1e-9);
        let alike = [at(0.5, 0, 10.0), at(0.5, 1, 10.0)];
        assert!(expected_gain(&alike, 0.0).abs() < 1e-12);
    }
}
