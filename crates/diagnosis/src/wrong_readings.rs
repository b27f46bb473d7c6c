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
//! What a neighbour of a reading in `S` shows is known in the same way: with covariance `c` between its line and those of the
//! readings, its mean and variance by all readings are moved by those of `S` as they are taken out. So a figure that was taken
//! at a neighbour is told from one that could be anything (`neighbours.rs`).
//!
//! Source: conditional normal distributions, e.g. Bishop, Pattern Recognition and Machine Learning (2006), 2.3.1.

use crate::bends::gained_by_bends;
use crate::evidence::Evidence;
use crate::fit::{Fit, Judged, OtherTop};
use crate::log_weights::LogSum;
use crate::neighbours;
use crate::prior::Prior;
use crate::reading_model::{Datum, Gross};
use nalgebra::{Cholesky, Const, DMatrix, DVector, SMatrix, SVector};
use std::f64::consts::PI;
use std::sync::Arc;

/// Readings that may be wrong together. Of 12 readings four are wrong less often than once in 2,000 jobs.
const MOST_WRONG: usize = 3;
/// Readings that may be wrong; of more the most doubtful.
const MOST_DOUBTED: usize = 24;
/// Further tops that are climbed.
const MORE_TOPS: usize = 3;
/// A set with this share of a suspect's evidence that no top stands for is worth a climb.
const WORTH_A_CLIMB: f64 = 0.03;
/// Neighbours of a reading are asked for if sets with it could come to this share of a suspect's evidence by them.
const WORTH_ASKING: f64 = 0.01;

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
        let mut lines = Lines::about(evidence, &prior, &fit)?;
        let mut table = lines.table()?;
        let is_wrong = |reading: &usize| {
            let predicted = fit.outlook.predictions[*reading].value;
            predicted.is_finite() && evidence.data[*reading].log_likelihood(predicted, 0.0).sound < 0.5
        };
        let numbers = 0..evidence.data.len();
        let wrong = numbers.filter(|reading| matches!(evidence.data[*reading], Datum::Shown { .. })).filter(is_wrong);
        let wrong: WrongSet = wrong.collect();
        let asked = lines.worth_asking(&table, &wrong);
        let mut neighbours = Vec::new();
        if !asked.is_empty() {
            neighbours = lines.ask_neighbours(evidence, &prior, &fit, &asked);
            table = lines.table()?;
        }
        let gained = gained_by_bends(evidence, &prior, &fit, &wrong);
        table.iter_mut().for_each(|(_, weight)| *weight += gained);
        Some(Top { wrong, table, fit: Fit { gained_by_bends: gained, neighbours: neighbours.into(), ..fit } })
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
    let mut order: Vec<usize> = (0..tops.len()).collect();
    order.sort_by(|&a, &b| shares[b].total_cmp(&shares[a]));
    let place = *order.first()?;
    // What neighbours of a reading show is known best where it is wrong.
    let neighbours = |reading: usize| {
        let is_wrong = |top: &&usize| tops[**top].wrong.contains(&reading);
        let by_rank = order.iter().filter(is_wrong).chain(&order);
        by_rank.filter_map(|&top| *tops[top].fit.neighbours.get(reading)?).next()
    };
    let neighbours: Arc<[Option<f64>]> = (0..doubt.len()).map(neighbours).collect();
    let fit = tops.swap_remove(place).fit;
    shares.swap_remove(place);
    let other_tops = tops.into_iter().zip(shares).map(|(top, share)| OtherTop { fit: top.fit, share }).collect();
    total.is_finite().then_some(Fit { log_evidence: total, doubt, other_tops, neighbours, ..fit })
}

/// Readings as straight lines in the unknown values about a fit.
struct Lines {
    lines: Vec<Line>,
    /// Inverse of the covariance of what the lines are to show, and what it makes of the residuals.
    precision: DMatrix<f64>,
    pull: DVector<f64>,
    /// Logarithm of the weight of all readings if none is wrong.
    base: f64,
}

impl Lines {
    fn about(evidence: &Evidence<'_>, prior: &Prior, fit: &Fit) -> Option<Lines> {
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
        Some(Lines { lines, precision, pull, base })
    }

    /// Weight of every set of at most [`MOST_WRONG`] wrong readings.
    fn table(&self) -> Option<Vec<(WrongSet, f64)>> {
        let Lines { lines, precision, pull, base } = self;
        let taken_out = |set: &[usize]| -> Option<f64> {
            let without = match *set {
                [] => 0.0,
                [a] => gained::<1>([a], lines, precision, pull)?,
                [a, b] => gained::<2>([a, b], lines, precision, pull)?,
                [a, b, c] => gained::<3>([a, b, c], lines, precision, pull)?,
                _ => return None,
            };
            Some(base + without)
        };
        let count = lines.len();
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

    /// Lines of which neighbours could make a difference, each with the readings that are wrong where they make the most: it
    /// beside those that are wrong at the top, or it alone.
    fn worth_asking(&self, table: &[(WrongSet, f64)], wrong: &WrongSet) -> Vec<(usize, WrongSet)> {
        let mut total = LogSum::default();
        table.iter().for_each(|(_, weight)| total.add(*weight));
        let asked = |place: usize| {
            let line = &self.lines[place];
            let may_gain = line.gross.may_gain(line.sigma);
            let weight = |set: &WrongSet| table.iter().find(|(other, _)| other == set).map(|(_, weight)| *weight);
            let sets = [with(wrong, line.reading), vec![line.reading]].into_iter();
            let weighed = sets.filter_map(|set| weight(&set).map(|weight| (set, weight)));
            let (set, weight) = weighed.max_by(|a, b| a.1.total_cmp(&b.1))?;
            let is_worth_it = may_gain > 0.0 && weight + may_gain > total.log() + WORTH_ASKING.ln();
            is_worth_it.then_some((place, set))
        };
        (0..self.lines.len()).filter_map(asked).collect()
    }

    /// Takes in what neighbours of some lines show; answers with its density per reading, where there is one.
    fn ask_neighbours(
        &mut self,
        evidence: &Evidence<'_>,
        prior: &Prior,
        fit: &Fit,
        asked: &[(usize, WrongSet)],
    ) -> Vec<Option<f64>> {
        let readings: Vec<usize> = asked.iter().map(|&(line, _)| self.lines[line].reading).collect();
        let predicted = neighbours::predicted(evidence, fit, &readings);
        let mut densities = vec![None; evidence.data.len()];
        for (&(line, ref wrong), predicted) in asked.iter().zip(&predicted) {
            let (reading, value, sigma) = (self.lines[line].reading, self.lines[line].value, self.lines[line].sigma);
            let known = predicted.iter().filter_map(|prediction| {
                let white = prior.whiten(&prediction.gradient);
                self.known_without(wrong, prediction.value - white.dot(&fit.z), &white)
            });
            if let Some(density) = neighbours::density(value, sigma, &known.collect::<Vec<_>>()) {
                densities[reading] = Some(density);
                self.lines[line].gross = self.lines[line].gross.with_neighbours(density);
            }
        }
        densities
    }

    /// Mean and variance that all readings but a few leave of something that is a straight line in the unknown values too, by
    /// what it is at the medians and its slopes.
    fn known_without(&self, left_out: &WrongSet, at_medians: f64, white: &DVector<f64>) -> Option<(f64, f64)> {
        let shared = DVector::from_iterator(self.lines.len(), self.lines.iter().map(|line| line.white.dot(white)));
        let by_shared = &self.precision * &shared;
        let out: Vec<usize> =
            (0..self.lines.len()).filter(|&line| left_out.contains(&self.lines[line].reading)).collect();
        let block = DMatrix::from_fn(out.len(), out.len(), |row, column| self.precision[(out[row], out[column])]);
        let (pull, own) = (self.pull.select_rows(&out), by_shared.select_rows(&out));
        let taken_out = Cholesky::new(block)?.solve(&own);
        let mean = at_medians + shared.dot(&self.pull) - taken_out.dot(&pull);
        let variance = white.norm_squared() - shared.dot(&by_shared) + taken_out.dot(&own);
        Some((mean, variance.max(0.0)))
    }
}

/// A set with one reading more.
fn with(set: &WrongSet, reading: usize) -> WrongSet {
    let mut more: WrongSet = set.iter().copied().filter(|&other| other != reading).chain([reading]).collect();
    more.sort_unstable();
    more
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

    #[test]
    fn what_is_known_without_some_readings_is_the_normal_distribution_that_the_others_leave() {
        // Four readings and a fifth value on lines through three unknowns; Bishop (2006), 2.3.1, by the joint covariance.
        let slopes = [[1.0, 0.2, 0.0], [0.5, -0.7, 0.3], [0.0, 0.4, 1.1], [0.9, 0.1, -0.6]];
        let (residuals, sigma) = ([0.3, -1.2, 2.0, 0.4], 0.5);
        let white = |slopes: [f64; 3]| DVector::from_row_slice(&slopes);
        let line = |(reading, (slopes, residual)): (usize, ([f64; 3], f64))| {
            let (gross, white) = (Gross::anything(1e-3), white(slopes));
            Line { reading, value: 0.0, residual, sigma, gross, gross_share: 0.03, log_right: 0.97f64.ln(), white }
        };
        let lines: Vec<Line> = slopes.into_iter().zip(residuals).enumerate().map(line).collect();
        let covariance = |rows: &[usize]| {
            DMatrix::from_fn(rows.len(), rows.len(), |i, j| {
                let own = if i == j { sigma * sigma } else { 0.0 };
                own + lines[rows[i]].white.dot(&lines[rows[j]].white)
            })
        };
        let (further, at_medians) = (white([0.2, 1.3, -0.4]), 7.0);
        let expected = |kept: &[usize]| {
            let inverse = covariance(kept).try_inverse().unwrap_or_else(|| DMatrix::identity(kept.len(), kept.len()));
            let shared = DVector::from_fn(kept.len(), |i, _| lines[kept[i]].white.dot(&further));
            let residual = DVector::from_fn(kept.len(), |i, _| residuals[kept[i]]);
            let mean = at_medians + shared.dot(&(&inverse * residual));
            (mean, further.norm_squared() - shared.dot(&(&inverse * &shared)))
        };
        let precision = covariance(&[0, 1, 2, 3]).try_inverse().unwrap_or_else(|| DMatrix::identity(4, 4));
        let pull = &precision * DVector::from_row_slice(&residuals);
        let all = [expected(&[0, 1, 2, 3]), expected(&[0, 1, 3]), expected(&[1, 3])];
        let about = Lines { lines, precision, pull, base: 0.0 };
        for (left_out, (mean, variance)) in [vec![], vec![2], vec![0, 2]].into_iter().zip(all) {
            let found = about.known_without(&left_out, at_medians, &further).unwrap_or((f64::NAN, f64::NAN));
            assert!((found.0 - mean).abs() < 1e-12 && (found.1 - variance).abs() < 1e-12, "{left_out:?}: {found:?}");
        }
    }
}
