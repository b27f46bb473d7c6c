//! Spreads of the unknown values, sisters tied together.
//!
//! Deviations (natural log) are written as `L z` with independent standard normal `z`, so that the fit sees unit
//! spreads. Sisters with total spread `s` and spread `t` between them have covariance `s^2 - t^2` with each other.

use bench::wiring::STRAY_LOG_SPREAD;
use bench::{FaultSet, Unit};
use nalgebra::{Cholesky, DMatrix, DVector};

/// Spread from which on an unknown value may be anywhere within a decade.
const WIDE: f64 = 1.0;

/// Prior of all deviations of a unit, severities of faults excepted.
#[derive(Debug, Clone)]
pub struct Prior {
    /// Lower-triangular factor of the covariance, row by row: the columns that are not zero.
    rows: Vec<Vec<(usize, f64)>>,
}

impl Prior {
    /// The prior of a unit's own unknowns and its stray capacitance.
    pub fn new(unit: &Unit) -> Self {
        let unknowns = unit.unknowns();
        let mut rows: Vec<Vec<(usize, f64)>> = vec![Vec::new(); unknowns.len() + 1];
        let mut done = vec![false; unknowns.len()];
        for first in 0..unknowns.len() {
            if done[first] {
                continue;
            }
            let group: Vec<usize> = match unknowns[first].sisters {
                None => vec![first],
                Some(sisters) => (first..unknowns.len()).filter(|&k| unknowns[k].sisters == Some(sisters)).collect(),
            };
            let covariance = DMatrix::from_fn(group.len(), group.len(), |row, column| {
                let total = unknowns[group[row]].log_spread.powi(2);
                let between = unknowns[group[row]].sister_spread.min(unknowns[group[row]].log_spread).powi(2);
                if row == column { total } else { total - between }
            });
            for &member in &group {
                done[member] = true;
            }
            match Cholesky::new(covariance) {
                Some(factor) => {
                    let lower = factor.l();
                    for (row, &member) in group.iter().enumerate() {
                        rows[member] = (0..=row).map(|column| (group[column], lower[(row, column)])).collect();
                    }
                }
                // Sisters without any spread between them: the elder's unknown serves both.
                None => {
                    for &member in &group {
                        rows[member] = vec![(first, unknowns[first].log_spread)];
                    }
                }
            }
        }
        rows[unknowns.len()] = vec![(unknowns.len(), STRAY_LOG_SPREAD)];
        Prior { rows }
    }

    /// This prior with the severities of `faults` added at the end.
    pub fn with_severities(&self, unit: &Unit, faults: &FaultSet) -> Self {
        let mut rows = self.rows.clone();
        for &fault in &faults.0 {
            if let Some(severity) = &unit.faults()[fault].mode.severity {
                rows.push(vec![(rows.len(), severity.log_spread)]);
            }
        }
        Prior { rows }
    }

    /// Unknowns that may be off by more than a factor of e: the insulation of sound parts.
    pub(crate) fn wide(&self) -> impl Iterator<Item = usize> + '_ {
        let is_wide = |(unknown, row): (usize, &Vec<(usize, f64)>)| {
            row.iter().any(|&(column, factor)| column == unknown && factor >= WIDE).then_some(unknown)
        };
        self.rows.iter().enumerate().filter_map(is_wide)
    }

    /// Every standard-normal value with the spread of the logarithm that it moves first of all.
    pub(crate) fn own_spreads(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        let own = |(unknown, row): (usize, &Vec<(usize, f64)>)| {
            row.iter().find(|&&(column, _)| column == unknown).map(|&(_, factor)| (unknown, factor))
        };
        self.rows.iter().enumerate().filter_map(own)
    }

    /// Number of unknowns.
    pub fn count(&self) -> usize {
        self.rows.len()
    }

    /// Deviations for standard-normal values.
    pub fn deviations(&self, z: &DVector<f64>) -> Vec<f64> {
        self.rows.iter().map(|row| row.iter().map(|&(column, factor)| factor * z[column]).sum()).collect()
    }

    /// Derivatives by the standard-normal values, from derivatives by the deviations.
    pub fn whiten(&self, gradient: &[f64]) -> DVector<f64> {
        let mut white = DVector::zeros(self.rows.len());
        for (row, &slope) in self.rows.iter().zip(gradient) {
            if slope != 0.0 {
                for &(column, factor) in row {
                    white[column] += factor * slope;
                }
            }
        }
        white
    }
}
