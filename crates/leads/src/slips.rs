//! How a reading that is probably wrong may have come about, by the answer that leads.
//!
//! Slips have shapes: a decimal place, one of the two leads noted as another, two figures in each other's line, probes
//! without contact. Each shape has a share of all slips before the figure is seen; what the figure says is how well the
//! shape makes it out of what should have been shown.

use crate::case::LeadReading;
use crate::fit::sigma;
use crate::inference::{Finding, LeadsError};
use crate::outlook::outlook;
use bench::Value;
use diagnosis::reading_model::{GROSS_OPEN_SHARE, gross_ohms_density, normal_density};

/// A slip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Slip {
    /// Shown is this many times what it should be.
    Decimal(f64),
    /// The meter was between these leads instead.
    OtherPair((usize, usize)),
    /// This figure and that of another reading, by index, stand in each other's line.
    Exchanged(usize),
    /// Open where there is a path.
    NoContact,
    /// Anything else.
    Other,
}

/// A reading that may be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Index of the reading.
    pub reading: usize,
    /// Probability that it is wrong.
    pub probability: f64,
    /// What it should show by the leading answer, ohms; infinite for open.
    pub expected: f64,
    /// Slips with the probability of each, given that the reading is wrong; the most probable first.
    pub slips: Vec<(Slip, f64)>,
}

/// Readings are doubtful from this probability on.
const DOUBTFUL: f64 = 0.05;
/// Shares of slips before the figure is seen (engineering judgement).
const DECIMAL_SHARE: f64 = 0.3;
const OTHER_PAIR_SHARE: f64 = 0.2;
const EXCHANGED_SHARE: f64 = 0.1;
/// Factors by which a figure slips.
const FACTORS: [f64; 6] = [10.0, 0.1, 100.0, 0.01, 1000.0, 0.001];
/// Slips below this are not listed.
const LISTED: f64 = 0.05;

/// The doubtful readings that the leading answer would have otherwise, the most doubtful first.
///
/// # Errors
/// [`LeadsError`] if the leading network cannot be solved.
pub fn doubts(finding: &Finding) -> Result<Vec<Doubt>, LeadsError> {
    let case = &finding.case;
    let pairs = case.pairs();
    let expected = expected(finding, &pairs)?;
    let at = |pair: (usize, usize)| {
        let ordered = (pair.0.min(pair.1), pair.0.max(pair.1));
        pairs.iter().position(|&other| other == ordered).map_or(f64::INFINITY, |index| expected[index])
    };
    let mut list: Vec<Doubt> = finding
        .wrong
        .iter()
        .enumerate()
        .filter(|&(_, &probability)| probability >= DOUBTFUL)
        .map(|(reading, &probability)| {
            let taken = &case.readings[reading];
            (taken, at(taken.between), reading, probability)
        })
        // What shows open and should is no slip by the leading answer.
        .filter(|(taken, should, ..)| taken.value != Value::Open || should.is_finite())
        .map(|(_, should, reading, probability)| Doubt {
            reading,
            probability,
            expected: should,
            slips: slips(finding, reading, should, &at),
        })
        .collect();
    list.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.reading.cmp(&b.reading)));
    Ok(list)
}

/// Ohms of all pairs by the leading hypothesis.
fn expected(finding: &Finding, pairs: &[(usize, usize)]) -> Result<Vec<f64>, LeadsError> {
    let Some(leader) = finding.hypotheses.first() else { return Ok(vec![f64::INFINITY; pairs.len()]) };
    Ok(outlook(finding, leader, pairs)?.into_iter().map(|shown| shown.ohms).collect())
}

fn slips(finding: &Finding, reading: usize, should: f64, at: &dyn Fn((usize, usize)) -> f64) -> Vec<(Slip, f64)> {
    let case = &finding.case;
    let taken = &case.readings[reading];
    let (a, b) = taken.between;
    let mut weights: Vec<(Slip, f64)> = Vec::new();
    // Pairs that share one lead with the one noted.
    let others: Vec<(usize, usize)> = case
        .pairs()
        .into_iter()
        .filter(|&(p, q)| [p, q].iter().filter(|&&lead| lead == a || lead == b).count() == 1)
        .collect();
    let share_of_pair = OTHER_PAIR_SHARE / others.len().max(1) as f64;
    weights.extend(others.into_iter().map(|pair| (Slip::OtherPair(pair), share_of_pair * density(taken, at(pair)))));
    if let Value::Number(_) = taken.value {
        let of_factor = DECIMAL_SHARE / FACTORS.len() as f64;
        weights
            .extend(FACTORS.iter().map(|&factor| (Slip::Decimal(factor), of_factor * density(taken, should * factor))));
    }
    let exchangeable = |other: &usize| *other != reading && finding.wrong[*other] >= DOUBTFUL;
    let partners: Vec<usize> = (0..case.readings.len()).filter(exchangeable).collect();
    for &other in &partners {
        let share = EXCHANGED_SHARE / partners.len() as f64;
        weights.push((Slip::Exchanged(other), share * density(taken, at(case.readings[other].between))));
    }
    let rest = 1.0 - OTHER_PAIR_SHARE - DECIMAL_SHARE - if partners.is_empty() { 0.0 } else { EXCHANGED_SHARE };
    weights.push(match taken.value {
        Value::Open if should.is_finite() => (Slip::NoContact, rest * GROSS_OPEN_SHARE),
        Value::Open => (Slip::Other, rest * GROSS_OPEN_SHARE),
        Value::Number(value) => (Slip::Other, rest * gross_ohms_density(value)),
    });
    let total: f64 = weights.iter().map(|&(_, weight)| weight).sum();
    let mut list: Vec<(Slip, f64)> = weights.into_iter().map(|(slip, weight)| (slip, weight / total)).collect();
    list.retain(|&(_, share)| share >= LISTED);
    list.sort_by(|x, y| y.1.total_cmp(&x.1));
    list
}

/// Density of what was shown if it should have been `should`; probability of open.
fn density(taken: &LeadReading, should: f64) -> f64 {
    match taken.value {
        Value::Open => f64::from(u8::from(!should.is_finite())),
        Value::Number(_) if !should.is_finite() => 0.0,
        // The fit knows ohms to about what one reading knows them.
        Value::Number(value) => normal_density(value - should, std::f64::consts::SQRT_2 * sigma(taken, should)),
    }
}
