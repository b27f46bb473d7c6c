//! Evidence with the gross-error mixture summed over which readings are wrong.
//!
//! Every reading is right or grossly wrong, so a suspect's evidence is a sum over sets of wrong readings. A single fit
//! stands at one top of it and takes the others for part of the same hill. Here the sum is made set by set, up to
//! `MOST_WRONG` at once: with predictions as straight lines about a top, the readings that are right follow one normal
//! distribution, and a set is taken out of it in closed form.
//!
//! With residuals `r` at the medians of the straight lines, covariance `C = D + J J^T`, `P = C^-1` and `q = P r`,
//!
//! ```text
//! ln N(r without S) = ln N(r) + 1/2 q_S^T P_SS^-1 q_S - 1/2 ln det P_SS + |S|/2 ln 2 pi
//! ```
//!
//! Source: conditional normal distributions, e.g. Bishop, Pattern Recognition and Machine Learning (2006), 2.3.1.

use crate::bends::gained_by_bends;
use crate::evidence::Evidence;
use crate::fit::{Fit, Judged, OtherTop};
use crate::log_weights::LogSum;
use crate::prior::Prior;
use crate::reading_model::{Datum, Gross};
use nalgebra::{Cholesky, Const, DMatrix, DVector, SMatrix, SVector};
use std::f64::consts::PI;

/// Readings that may be wrong together. Of 12 readings four are wrong less often than once in 2,000 jobs.
const MOST_WRONG: usize = 3;
/// Readings that may be wrong; of more the most doubtful.
const MOST_DOUBTED: usize = 24;
/// Further tops that are climbed.
const MORE_TOPS: usize = 3;
/// A set with this share of a suspect's evidence that no top stands for is worth a climb.
const WORTH_A_CLIMB: f64 = 0.03;

/// Readings that are wrong together, in order.
type WrongSet = Vec<usize>;

/// A fit and the sets of wrong readings it was made with and without.
struct Top {
    fit: Fit,
    /// Readings that are wrong at this top.
    wrong: WrongSet,
    /// Weight of every set by straight lines about this top, and what its own set gains by curves.
    table: Vec<(WrongSet, f64)>,
}

impl Top {
    fn new(evidence: &Evidence<'_>, fit: Fit) -> Option<Top> {
        let prior = evidence.prior.with_severities(&evidence.job.unit, &fit.faults);
        let mut table = table(evidence, &prior, &fit)?;
        let is_wrong = |reading: &usize| {
            let predicted = fit.outlook.predictions[*reading].value;
            predicted.is_finite() && evidence.data[*reading].log_likelihood(predicted, 0.0).sound < 0.5
        };
        let numbers = 0..evidence.data.len();
        let wrong = numbers.filter(|reading| matches!(evidence.data[*reading], Datum::Shown { .. })).filter(is_wrong);
        let wrong: WrongSet = wrong.collect();
        let gained = gained_by_bends(evidence, &prior, &fit, &wrong);
        table.iter_mut().for_each(|(_, weight)| *weight += gained);
        Some(Top { wrong, table, fit: Fit { gained_by_bends: gained, ..fit } })
    }

    fn distance(&self, set: &WrongSet) -> usize {
        let apart = |from: &WrongSet, to: &WrongSet| from.iter().filter(|reading| !to.contains(reading)).count();
        apart(&self.wrong, set) + apart(set, &self.wrong)
    }
}

/// The fit at its highest top, its evidence and the doubt in every reading by the sum over sets of wrong readings.
///
/// A fit whose readings cannot be taken for straight lines, and one in which more readings are wrong than are summed
/// over, is handed back as it is.
pub fn summed(evidence: &Evidence<'_>, fit: Fit) -> Fit {
    let Some(first) = Top::new(evidence, fit.clone()) else { return fit };
    if first.wrong.len() > MOST_WRONG {
        return fit;
    }
    let mut tops = vec![first];
    let mut ruled_out: Vec<WrongSet> = Vec::new();
    let mut asked_for = not_seen(evidence, &tops[0]);
    for _ in 0..MORE_TOPS + asked_for.len().saturating_sub(1) {
        let weights = weights(&tops, &ruled_out);
        let total = log_sum(&weights);
        let stands_for = |set: &WrongSet| tops.iter().any(|top| top.wrong == *set);
        let tallest = weights
            .iter()
            .filter(|(set, weight)| weight - total > WORTH_A_CLIMB.ln() && !stands_for(set))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let tallest = tallest.map(|(set, _)| WrongSet::clone(set));
        let Some(set) = asked_for.pop().or(tallest) else { break };
        let judged = |reading: usize| if set.contains(&reading) { Judged::Wrong } else { Judged::Right };
        let judged: Vec<Judged> = (0..evidence.data.len()).map(judged).collect();
        let other = evidence.fit_judging(&fit.faults, Some(&tops[0].fit), &judged).ok();
        let other = other.filter(|other| evidence.worked_with(&other.deviations));
        let Some(mut top) = other.and_then(|other| Top::new(evidence, other)) else {
            // Nothing stands where straight lines pointed to.
            ruled_out.push(set);
            continue;
        };
        // The set asked for is what this top stands for, also where straight lines doubt another reading.
        top.wrong = set;
        tops.push(top);
    }
    gather(evidence, tops, &ruled_out).unwrap_or(fit)
}

/// Sets for which no straight lines about a top that doubts readings speak: where all of them fit, last; all but one of those
/// that it doubts; and the same set, where a slip of the decimal point holds the top: what is wrong may be so in another way.
fn not_seen(evidence: &Evidence<'_>, top: &Top) -> Vec<WrongSet> {
    let wrong = &top.wrong;
    let is_slip = |&reading: &usize| evidence.data[reading].is_slip(top.fit.outlook.predictions[reading].value);
    let the_same = wrong.iter().any(is_slip).then(|| wrong.clone());
    let without = |one: &usize| wrong.iter().copied().filter(|reading| reading != one).collect();
    let all_but_one = wrong.iter().filter(|_| wrong.len() > 1).map(without);
    let none = (!wrong.is_empty()).then(WrongSet::new);
    the_same.into_iter().chain(all_but_one).chain(none).collect()
}

/// The top nearest to a set.
fn nearest<'t>(tops: &'t [Top], set: &WrongSet) -> Option<(usize, &'t Top)> {
    tops.iter().enumerate().min_by_key(|(_, top)| top.distance(set))
}

/// Weight of every set that is not ruled out, by the top that is nearest to it.
fn weights<'t>(tops: &'t [Top], ruled_out: &[WrongSet]) -> Vec<(&'t WrongSet, f64)> {
    let Some(first) = tops.first() else { return Vec::new() };
    let by_nearest = |(place, (set, weight)): (usize, &'_ (WrongSet, f64))| {
        let table = nearest(tops, set).map(|(_, top)| &top.table);
        // All tables list the same sets in the same order, unless a top has lost a reading's straight line.
        let own = table.and_then(|table| table.get(place)).filter(|(other, _)| other == set);
        own.map_or(*weight, |(_, weight)| *weight)
    };
    let is_open = |entry: &(usize, &(WrongSet, f64))| !ruled_out.contains(&entry.1.0);
    first.table.iter().enumerate().filter(is_open).map(|entry| (&entry.1.0, by_nearest(entry))).collect()
}

fn log_sum(weights: &[(&WrongSet, f64)]) -> f64 {
    let mut sum = LogSum::default();
    weights.iter().for_each(|(_, weight)| sum.add(*weight));
    sum.log()
}

/// The highest of the tops with the sum's evidence and doubts.
fn gather(evidence: &Evidence<'_>, mut tops: Vec<Top>, ruled_out: &[WrongSet]) -> Option<Fit> {
    let weights = weights(&tops, ruled_out);
    let total = log_sum(&weights);
    let mut doubt: Vec<f64> = tops[0].fit.doubt.clone();
    let numbers = |reading: &usize| matches!(evidence.data[*reading], Datum::Shown { .. });
    for reading in (0..doubt.len()).filter(numbers) {
        if tops[0].fit.outlook.predictions[reading].value.is_finite() {
            doubt[reading] = 0.0;
        }
    }
    for (set, weight) in &weights {
        set.iter().for_each(|&reading| doubt[reading] += (weight - total).exp());
    }
    // Rounding may carry a certainty over one.
    doubt.iter_mut().for_each(|doubt| *doubt = doubt.min(1.0));
    let mut shares = vec![0.0; tops.len()];
    for (set, weight) in &weights {
        let (place, _) = nearest(&tops, set)?;
        shares[place] += (weight - total).exp();
    }
    let place = (0..tops.len()).max_by(|&a, &b| shares[a].total_cmp(&shares[b]))?;
    let fit = tops.swap_remove(place).fit;
    shares.swap_remove(place);
    let other_tops = tops.into_iter().zip(shares).map(|(top, share)| OtherTop { fit: top.fit, share }).collect();
    total.is_finite().then_some(Fit { log_evidence: total, doubt, other_tops, ..fit })
}

/// Weight of every set of at most [`MOST_WRONG`] wrong readings, predictions as straight lines about a fit.
fn table(evidence: &Evidence<'_>, prior: &Prior, fit: &Fit) -> Option<Vec<(WrongSet, f64)>> {
    let mut lines: Vec<Line> = Vec::new();
    let mut beside = fit.outlook.symptoms;
    for (reading, (datum, prediction)) in evidence.data.iter().zip(&fit.outlook.predictions).enumerate() {
        match *datum {
            Datum::Shown { value, sigma, gross, gross_share } if prediction.value.is_finite() => {
                let white = prior.whiten(&prediction.gradient);
                let residual = value - prediction.value + white.dot(&fit.z);
                let log_right = (1.0 - gross_share).ln();
                lines.push(Line { reading, value, residual, sigma, gross, gross_share, log_right, white });
            }
            _ => beside += datum.log_likelihood(prediction.value, 0.0).value,
        }
    }
    let count = lines.len();
    let covariance = DMatrix::from_fn(count, count, |row, column| {
        let own = if row == column { lines[row].sigma.powi(2) } else { 0.0 };
        own + lines[row].white.dot(&lines[column].white)
    });
    let factor = Cholesky::new(covariance)?;
    let residual = DVector::from_fn(count, |row, _| lines[row].residual);
    let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
    let precision = factor.inverse();
    let pull = &precision * &residual;
    let base = beside + lines.iter().map(|line| line.log_right).sum::<f64>()
        - 0.5 * (residual.dot(&pull) + log_determinant + count as f64 * (2.0 * PI).ln());
    let taken_out = |set: &[usize]| -> Option<f64> {
        let without = match *set {
            [] => 0.0,
            [a] => gained::<1>([a], &lines, &precision, &pull)?,
            [a, b] => gained::<2>([a, b], &lines, &precision, &pull)?,
            [a, b, c] => gained::<3>([a, b, c], &lines, &precision, &pull)?,
            _ => return None,
        };
        Some(base + without)
    };
    let mut doubtful: Vec<usize> = (0..count).collect();
    if count > MOST_DOUBTED {
        let distance = |line: usize| pull[line].powi(2) / precision[(line, line)];
        doubtful.sort_by(|&a, &b| distance(b).total_cmp(&distance(a)));
        doubtful.truncate(MOST_DOUBTED);
        doubtful.sort_unstable();
    }
    let mut weights = Vec::new();
    for set in sets(&doubtful) {
        let weight = taken_out(&set)?;
        weights.push((set.iter().map(|&line| lines[line].reading).collect(), weight));
    }
    Some(weights)
}

/// A reading as a straight line in the unknown values.
struct Line {
    reading: usize,
    /// What was shown.
    value: f64,
    /// What was shown less what the line says at the medians.
    residual: f64,
    sigma: f64,
    /// How wrong readings are spread, and the share of them.
    gross: Gross,
    gross_share: f64,
    /// Logarithm of the share of right readings.
    log_right: f64,
    white: DVector<f64>,
}

impl Line {
    /// Logarithm of the weight of a wrong reading over that of a right one, by how far it is from what the right ones make of
    /// it and the variance of that distance.
    fn log_odds_wrong(&self, distance: f64, variance: f64) -> f64 {
        let known = (variance - self.sigma.powi(2)).max(0.0).sqrt();
        let density = self.gross.density(self.value, self.sigma, self.value - distance, known);
        (self.gross_share * density).ln() - self.log_right
    }
}

/// What the weight of all readings gains when those of a set are wrong.
fn gained<const N: usize>(
    set: [usize; N],
    lines: &[Line],
    precision: &DMatrix<f64>,
    pull: &DVector<f64>,
) -> Option<f64> {
    let block = SMatrix::<f64, N, N>::from_fn(|row, column| precision[(set[row], set[column])]);
    let own = SVector::<f64, N>::from_fn(|row, _| pull[set[row]]);
    let factor = block.cholesky()?;
    let (distance, covariance) = (factor.solve(&own), factor.inverse());
    let wrong = (0..N).map(|row| lines[set[row]].log_odds_wrong(distance[row], covariance[(row, row)]));
    Some(log_density_gained(&factor, &own) + wrong.sum::<f64>())
}

/// What the density of all readings gains when those of a set are taken out, by their own block of the precision.
fn log_density_gained<const N: usize>(factor: &Cholesky<f64, Const<N>>, own: &SVector<f64, N>) -> f64 {
    let log_determinant = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
    0.5 * (own.dot(&factor.solve(own)) - log_determinant + N as f64 * (2.0 * PI).ln())
}

/// All sets of at most [`MOST_WRONG`] members.
fn sets(members: &[usize]) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    let mut begin = 0;
    for _ in 0..MOST_WRONG.min(members.len()) {
        let end = all.len();
        for place in begin..end {
            let after = all[place].last().copied();
            for &member in members.iter().filter(|&&member| after.is_none_or(|after| member > after)) {
                let mut longer = all[place].clone();
                longer.push(member);
                all.push(longer);
            }
        }
        begin = end;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_are_counted_by_binomial_coefficients() {
        // 1 + 12 + 66 + 220.
        assert_eq!(sets(&(0..12).collect::<Vec<_>>()).len(), 299);
        assert_eq!(sets(&[4]).len(), 2);
        assert_eq!(sets(&[]).len(), 1);
    }

    fn gain<const N: usize>(set: [usize; N], precision: &DMatrix<f64>, pull: &DVector<f64>) -> f64 {
        let block = SMatrix::<f64, N, N>::from_fn(|row, column| precision[(set[row], set[column])]);
        let own = SVector::<f64, N>::from_fn(|row, _| pull[set[row]]);
        block.cholesky().map_or(f64::NAN, |factor| log_density_gained(&factor, &own))
    }

    #[test]
    fn what_is_taken_out_is_what_the_rest_has_without_it() {
        // Three readings with a common unknown: densities of one and of two by hand.
        let covariance = DMatrix::from_row_slice(3, 3, &[1.5, 0.5, 0.5, 0.5, 1.5, 0.5, 0.5, 0.5, 1.5]);
        let residual = DVector::from_vec(vec![0.3, -1.2, 2.0]);
        let density = |keep: &[usize]| {
            let block = DMatrix::from_fn(keep.len(), keep.len(), |i, j| covariance[(keep[i], keep[j])]);
            let own = DVector::from_fn(keep.len(), |i, _| residual[keep[i]]);
            let determinant: f64 = block.determinant();
            let inverse = block.try_inverse().unwrap_or_else(|| DMatrix::identity(keep.len(), keep.len()));
            -0.5 * (own.dot(&(inverse * &own)) + determinant.ln() + keep.len() as f64 * (2.0 * PI).ln())
        };
        let precision = covariance.clone().try_inverse().unwrap_or_else(|| DMatrix::identity(3, 3));
        let pull = &precision * &residual;
        let all = density(&[0, 1, 2]);
        for (set, rest) in [(vec![1], vec![0, 2]), (vec![0], vec![1, 2])] {
            let gain = gain::<1>([set[0]], &precision, &pull);
            assert!((all + gain - density(&rest)).abs() < 1e-12);
        }
        let gain = gain::<2>([0, 2], &precision, &pull);
        assert!((all + gain - density(&[1])).abs() < 1e-12);
    }
}
