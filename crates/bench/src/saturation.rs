//! Iron that saturates: a motor's magnetising reactance falls as the volts of its air gap rise.
//!
//! ```text
//! Xm = Xm_rated (1 + a) / (1 + a m^n),      m = (|E_f| + |E_b|) / (the same at the plate)
//! ```
//!
//! so that of the magnetising current at plate volts the share `a / (1 + a)` goes into the iron and grows with the power
//! `n + 1` of the volts, and a plate comes out as it does without saturation. With the values here a tenth more volts take
//! 27 % more magnetising current; 20 to 30 % are usual of small motors (common practice, no source). The curve is a power
//! law as those in use for transformer cores; its values are engineering judgement.
//!
//! The solution is linear for given reactances, so these are found together with it. What a reactance comes to depends on
//! all unknowns, itself included, and by the implicit function theorem so do its derivatives.
//!
//! # Assumes
//! Leakage paths do not saturate; the wave stays a sine, so that r.m.s. amps with the third harmonic in them read somewhat
//! more. Both fields saturate alike. Left out in a unit with a half-wave diode.

use crate::search::Search;
use crate::settle::Layout;
use crate::wiring::{Conditions, Wired};
use circuit::{Quantity, SolveError, UnknownId};
use machine::Steady;
use nalgebra::DMatrix;
use std::collections::BTreeMap;

/// `a`: ampere-turns of the iron over those of the air gap at plate volts.
pub(crate) const IRON_SHARE: f64 = 0.25;
/// Spread of its natural logarithm: makers differ in how hard they drive their iron.
pub(crate) const IRON_SHARE_SPREAD: f64 = 0.5;
/// `n`.
const EXPONENT: i32 = 6;

/// Iron of a motor that saturates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Saturation {
    /// Which of the part's unknowns is `a`.
    pub share_unknown: usize,
    /// `|E_f| + |E_b|` at the plate, volts.
    pub rated_gap_volts: f64,
}

/// Factors on magnetising reactances, by part.
pub type Factors = BTreeMap<usize, Quantity>;

/// A factor with its derivatives by `a` and by `m`.
struct Factor {
    value: f64,
    by_share: f64,
    by_volts: f64,
}

fn factor(share: f64, m: f64) -> Factor {
    let power = m.powi(EXPONENT);
    let below = 1.0 + share * power;
    Factor {
        value: (1.0 + share) / below,
        by_share: (1.0 - power) / (below * below),
        by_volts: -(1.0 + share) * share * f64::from(EXPONENT) * m.powi(EXPONENT - 1) / (below * below),
    }
}

impl Layout<'_> {
    fn share(&self, part: usize, saturation: &Saturation) -> Quantity {
        let id = self.unit.parts()[part].first_unknown + saturation.share_unknown;
        Quantity::log_unknown(self.unit.unknowns()[id].median, UnknownId(id), self.deviations[id])
    }

    /// Factors that belong to a solution.
    pub(crate) fn factors_of(&self, wired: &Wired, steady: &Steady<'_>) -> BTreeMap<usize, f64> {
        let found = |&(part, saturation): &(usize, Saturation)| {
            let m = steady.gap_volts(wired.machine_of(part)?) / saturation.rated_gap_volts;
            Some((part, factor(self.share(part, &saturation).value(), m).value))
        };
        self.unit.solution_dependent().saturating().iter().filter_map(found).collect()
    }

    /// Factors that have been found, with their derivatives by all unknowns, speeds following.
    ///
    /// With `f = g(a, E(u, f))`: `(I - g_E E_f) df/du = g_a da/du + g_E E_u`.
    pub(crate) fn factors_with_slopes(&self, conditions: &Conditions, speeds: &[f64]) -> Result<Factors, SolveError> {
        let mut factors = conditions.saturation.clone();
        let parts: Vec<(usize, Saturation)> = self
            .unit
            .solution_dependent()
            .saturating()
            .iter()
            .copied()
            .filter(|(part, _)| factors.contains_key(part))
            .collect();
        if parts.is_empty() {
            return Ok(factors);
        }
        let unknowns = crate::wiring::unknown_count(self.unit, self.faults);
        // Each factor as an unknown of its own tells how volts follow it.
        for (index, (part, _)) in parts.iter().enumerate() {
            let value = factors[part].value();
            factors.insert(*part, Quantity::with_slopes(value, [(UnknownId(unknowns + index), 1.0)]));
        }
        let mut wired = self.wire_up(&Conditions { saturation: factors.clone(), ..conditions.clone() });
        wired.assembly.unknown_count += parts.len();
        let factored = wired.assembly.factor()?;
        let mut steady = wired.assembly.settle_from(&factored, wired.assembly.ratios_after(speeds), |_| Ok(false))?;
        let mut rows = Vec::new();
        for (part, saturation) in &parts {
            let Some(machine) = wired.machine_of(*part) else { continue };
            let share = self.share(*part, saturation);
            let found = factor(share.value(), steady.gap_volts(machine) / saturation.rated_gap_volts);
            let mut row = steady.gap_volts_gradient(machine)?;
            row.iter_mut().for_each(|slope| *slope *= found.by_volts / saturation.rated_gap_volts);
            for &(unknown, slope) in share.slopes() {
                row[unknown.0] += found.by_share * slope;
            }
            rows.push((*part, row));
        }
        let count = rows.len();
        let matrix = DMatrix::from_fn(count, count, |row, column| {
            f64::from(u8::from(row == column)) - rows[row].1[unknowns + column]
        });
        let right = DMatrix::from_fn(count, unknowns, |row, unknown| rows[row].1[unknown]);
        let slopes = matrix.lu().solve(&right).unwrap_or(right);
        for (row, (part, _)) in rows.iter().enumerate() {
            let slopes = (0..unknowns).map(|unknown| (UnknownId(unknown), slopes[(row, unknown)]));
            let value = factors[part].value();
            factors.insert(*part, Quantity::with_slopes(value, slopes));
        }
        Ok(factors)
    }
}

/// What to try next, as [`Search::next`].
pub(crate) fn next(search: &mut Search, tried: &Factors, found: &BTreeMap<usize, f64>) -> Option<Factors> {
    let tried = tried.iter().map(|(&part, factor)| (part, factor.value())).collect();
    let next = search.next(&tried, found)?;
    Some(next.into_iter().map(|(part, value)| (part, Quantity::constant(value))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plate_comes_out_and_a_tenth_more_volts_take_a_quarter_more_current() {
        assert_eq!(factor(IRON_SHARE, 1.0).value, 1.0);
        // By hand: 1.1^6 = 1.7716; 1.1 * (1 + 0.25 * 1.7716) / 1.25 = 1.2697.
        assert!((1.1 / factor(IRON_SHARE, 1.1).value - 1.2697).abs() < 1e-4);
    }

    #[test]
    fn its_derivatives_are_those_of_differences() {
        let (share, m, step) = (0.3, 1.15, 1e-6);
        let found = factor(share, m);
        let by_share = (factor(share + step, m).value - factor(share - step, m).value) / (2.0 * step);
        let by_volts = (factor(share, m + step).value - factor(share, m - step).value) / (2.0 * step);
        assert!((found.by_share - by_share).abs() < 1e-8 && (found.by_volts - by_volts).abs() < 1e-8);
    }
}
