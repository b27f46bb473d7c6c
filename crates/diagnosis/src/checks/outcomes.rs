//! What a check may show, and which suspects each outcome would leave.

use super::forecast::Players;
use super::{Outcome, Shown};
use crate::information::{Forecast, density};
use std::collections::BTreeMap;

/// Standard deviations over the value from which on a value reaches by factors, up to where it may as well be nothing.
const WIDE: f64 = 0.3;
const WIDEST: f64 = 3.0;

/// Bundles suspects that say about the same into outcomes.
pub(super) fn of_reading(told: &[(usize, Forecast)], players: &Players<'_>) -> Vec<Outcome> {
    let forecasts: Vec<Forecast> = told.iter().map(|&(_, forecast)| forecast).collect();
    let mut order: Vec<usize> = (0..forecasts.len()).collect();
    order.sort_by(|&a, &b| forecasts[a].mean.total_cmp(&forecasts[b].mean));
    let mut bundles: Vec<Vec<usize>> = Vec::new();
    for index in order {
        let joins = bundles.last().and_then(|bundle| bundle.last()).is_some_and(|&last| {
            let (a, b) = (&forecasts[last], &forecasts[index]);
            a.mean == b.mean || (b.mean - a.mean) < 2.0 * a.sigma.min(b.sigma).max(0.25 * a.sigma.max(b.sigma))
        });
        match bundles.last_mut() {
            Some(bundle) if joins => bundle.push(index),
            _ => bundles.push(vec![index]),
        }
    }
    let total: f64 = forecasts.iter().map(|forecast| forecast.weight).sum();
    bundles
        .into_iter()
        .map(|bundle| {
            let leader = bundle
                .iter()
                .copied()
                .max_by(|&a, &b| forecasts[a].weight.total_cmp(&forecasts[b].weight))
                .unwrap_or(0);
            let middle = forecasts[leader].mean;
            let probability = bundle.iter().map(|&index| forecasts[index].weight).sum::<f64>() / total;
            let ends: Vec<(f64, f64)> = bundle.iter().map(|&index| within(&forecasts[index])).collect();
            let low = ends.iter().map(|end| end.0).fold(f64::INFINITY, f64::min);
            let high = ends.iter().map(|end| end.1).fold(0.0, f64::max);
            let mut weights = vec![0.0; players.all.len()];
            for (player, forecast) in told {
                weights[*player] += forecast.weight * density(forecast, middle);
            }
            let shown =
                if middle.is_finite() { Shown::Number { middle, low: low.max(0.0), high } } else { Shown::Open };
            outcome(shown, probability, &weights, players)
        })
        .collect()
}

/// Where two standard deviations reach; by factors where they are large beside the value.
pub(crate) fn within(forecast: &Forecast) -> (f64, f64) {
    let Forecast { mean, sigma, .. } = *forecast;
    match sigma / mean {
        share if mean > 0.0 && (WIDE..WIDEST).contains(&share) => {
            (mean / (2.0 * share).exp(), mean * (2.0 * share).exp())
        }
        _ => (mean - 2.0 * sigma, mean + 2.0 * sigma),
    }
}

/// The two answers to a question, given each suspect's probability of yes.
pub(super) fn of_question(chances: &[f64], players: &Players<'_>) -> Vec<Outcome> {
    [true, false]
        .map(|answer| {
            let weights: Vec<f64> = players
                .all
                .iter()
                .zip(chances)
                .map(|(player, chance)| player.weight * if answer { *chance } else { 1.0 - chance })
                .collect();
            let probability = weights.iter().sum::<f64>() / players.total;
            outcome(Shown::Answer(answer), probability, &weights, players)
        })
        .into()
}

fn outcome(shown: Shown, probability: f64, weights: &[f64], players: &Players<'_>) -> Outcome {
    let sum: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    // A suspect stands there with and without what hides behind it.
    let mut by_suspect: BTreeMap<usize, f64> = BTreeMap::new();
    for (player, weight) in players.all.iter().zip(weights) {
        *by_suspect.entry(player.index).or_default() += weight / sum;
    }
    let mut leaves: Vec<(usize, f64)> = by_suspect.into_iter().filter(|&(_, p)| p >= 0.01).collect();
    leaves.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut repairs = vec![0.0; players.classes.len()];
    for (player, weight) in players.all.iter().zip(weights) {
        repairs[player.class] += weight / sum;
    }
    let best = (0..repairs.len()).max_by(|&a, &b| repairs[a].total_cmp(&repairs[b])).unwrap_or(0);
    let repair = (players.classes.get(best).cloned().unwrap_or_default(), repairs.get(best).copied().unwrap_or(0.0));
    Outcome { shown, probability, leaves, repair }
}
