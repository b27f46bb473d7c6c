//! Which pair of leads to measure next: the one from which the entropy over answers is expected to drop most.

use crate::inference::{Finding, LeadsError};
use crate::outlook::outlook;
use diagnosis::information::{Forecast, expected_gain};
use diagnosis::reading_model::GROSS_SHARE;
use std::collections::HashMap;

/// Hypotheses that forecast a reading; where more have weight, these stand for all, evenly spread over their weight.
const FORECASTERS: usize = 160;
/// Probability in hypotheses that need not forecast.
const TAIL: f64 = 1e-4;

/// Fewer ohms than this are none.
const LEAST_OHMS: f64 = 1e-3;

/// A pair of leads and what reading it would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct NextPair {
    /// The leads.
    pub between: (usize, usize),
    /// Expected drop of the entropy over answers, bits.
    pub bits: f64,
    /// Whether it has been read already.
    pub again: bool,
    /// What is expected, the most probable first: ohms from and to (95 %), or open; and how likely.
    pub outcomes: Vec<Outcome>,
}

/// What a meter may show.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Ohms, from and to; nothing for open.
    pub ohms: Option<(f64, f64)>,
    /// Its probability.
    pub probability: f64,
    /// The answer that then leads, and its probability.
    pub leader: (usize, f64),
}

/// One hypothesis's forecast of one pair.
#[derive(Debug, Clone, Copy)]
struct Foreseen {
    forecast: Forecast,
    answer: usize,
}

/// Pairs by what they tell, the best first.
///
/// # Errors
/// [`LeadsError`] if a network cannot be solved.
pub fn next_pairs(finding: &Finding) -> Result<Vec<NextPair>, LeadsError> {
    let case = &finding.case;
    let pairs = case.pairs();
    let chosen = forecasters(finding);
    let mut table: Vec<Vec<Foreseen>> = vec![Vec::new(); pairs.len()];
    let mut classes: HashMap<usize, usize> = HashMap::new();
    for (index, weight) in chosen {
        let hypothesis = &finding.hypotheses[index];
        let count = classes.len();
        let class = *classes.entry(hypothesis.answer).or_insert(count);
        for (column, shown) in outlook(finding, hypothesis, &pairs)?.into_iter().enumerate() {
            let ohms = shown.ohms.max(LEAST_OHMS);
            // Ohms range over decades, so forecasts are normal in their logarithm.
            let (mean, sigma) = if ohms.is_finite() { (ohms.ln(), shown.spread / ohms) } else { (ohms, 0.0) };
            let forecast = Forecast { weight, class, mean, sigma };
            table[column].push(Foreseen { forecast, answer: hypothesis.answer });
        }
    }
    let mut list: Vec<NextPair> = pairs
        .iter()
        .zip(&table)
        .map(|(&between, expected)| {
            let forecasts: Vec<Forecast> = expected.iter().map(|one| one.forecast).collect();
            NextPair {
                between,
                bits: expected_gain(&forecasts, GROSS_SHARE) / std::f64::consts::LN_2,
                again: case.readings.iter().any(|reading| is_pair(reading.between, between)),
                outcomes: outcomes(expected),
            }
        })
        .collect();
    list.sort_by(|a, b| b.bits.total_cmp(&a.bits).then(a.between.cmp(&b.between)));
    Ok(list)
}

fn is_pair(one: (usize, usize), other: (usize, usize)) -> bool {
    one == other || (one.1, one.0) == other
}

/// Hypotheses that forecast, with their weights.
fn forecasters(finding: &Finding) -> Vec<(usize, f64)> {
    let total: f64 = finding.hypotheses.iter().map(|hypothesis| hypothesis.probability).sum();
    let mut sum = 0.0;
    let needed = finding
        .hypotheses
        .iter()
        .position(|hypothesis| {
            sum += hypothesis.probability;
            sum >= total * (1.0 - TAIL)
        })
        .map_or(finding.hypotheses.len(), |last| last + 1);
    if needed <= FORECASTERS {
        return finding.hypotheses[..needed].iter().map(|hypothesis| hypothesis.probability).enumerate().collect();
    }
    // One in every equal step of the weight.
    let step = total / FORECASTERS as f64;
    let (mut chosen, mut sum, mut mark) = (Vec::new(), 0.0, 0.5 * step);
    for (index, hypothesis) in finding.hypotheses.iter().enumerate() {
        sum += hypothesis.probability;
        let mut weight = 0.0;
        while mark < sum && mark < total {
            weight += step;
            mark += step;
        }
        if weight > 0.0 {
            chosen.push((index, weight));
        }
    }
    chosen
}

/// Forecasts that a meter would hardly tell apart, put together.
fn outcomes(expected: &[Foreseen]) -> Vec<Outcome> {
    let total: f64 = expected.iter().map(|one| one.forecast.weight).sum();
    let mut sorted: Vec<&Foreseen> = expected.iter().collect();
    sorted.sort_by(|a, b| a.forecast.mean.total_cmp(&b.forecast.mean));
    let mut groups: Vec<(f64, Vec<&Foreseen>)> = Vec::new();
    for one in sorted {
        let low = one.forecast.mean - 1.96 * one.forecast.sigma;
        let high = one.forecast.mean + 1.96 * one.forecast.sigma;
        match groups.last_mut() {
            Some((end, group)) if low <= *end || (!end.is_finite() && !high.is_finite()) => {
                *end = end.max(high);
                group.push(one);
            }
            _ => groups.push((high, vec![one])),
        }
    }
    let mut list: Vec<Outcome> = groups
        .into_iter()
        .map(|(high, group)| {
            let weight: f64 = group.iter().map(|one| one.forecast.weight).sum();
            let low =
                group.iter().map(|one| one.forecast.mean - 1.96 * one.forecast.sigma).fold(f64::INFINITY, f64::min);
            let mut by_answer: HashMap<usize, f64> = HashMap::new();
            group.iter().for_each(|one| *by_answer.entry(one.answer).or_default() += one.forecast.weight);
            let leader =
                by_answer.into_iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0))).unwrap_or((0, 0.0));
            Outcome {
                ohms: high.is_finite().then(|| (low.exp(), high.exp())),
                probability: weight / total,
                leader: (leader.0, leader.1 / weight),
            }
        })
        .collect();
    list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    list
}
