//! Mean of draws, less what chance has done to others whose mean is known.
//!
//! Drawn beside the values of which the mean is wanted are controls, whose mean is zero. In straight lines about the controls the
//! values scatter less than by themselves, and where controls happen to lie above zero on average the values lie too high by
//! as much. With values `y`, controls `x` and the slopes `b` of least squares
//!
//! ```text
//! mean = average(y) - b . average(x)
//! ```
//!
//! The scatter left is that of each value about the lines through all others, so that a single draw far out cannot hide
//! itself by bending them.
//!
//! Source: Owen, Monte Carlo theory, methods and examples (2013), 8.9; Owen and Zhou, Journal of the American Statistical
//! Association 95 (2000), for controls beside a mixture of proposals; values left out one by one: Belsley, Kuh and Welsch,
//! Regression Diagnostics (1980), 2.1.

use nalgebra::{Cholesky, DMatrix, DVector};

/// What is added to the diagonal of the controls' correlations, so that controls which tell the same can be told apart.
const RIDGE: f64 = 1e-9;
/// Where one draw has more than this share of its own place on the lines, the others say nothing of it.
const MOST_LEVERAGE: f64 = 0.999;

/// A mean with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mean {
    pub(crate) value: f64,
    pub(crate) error: f64,
}

/// The mean of values, a row of controls for each; as an average where controls make nothing better.
pub(crate) fn mean(values: &[f64], controls: &[Vec<f64>]) -> Mean {
    let plain = average(values);
    match controlled(values, controls) {
        Some(better) if better.value > 0.0 && better.error < plain.error => better,
        _ => plain,
    }
}

fn average(values: &[f64]) -> Mean {
    let count = values.len() as f64;
    let value = values.iter().sum::<f64>() / count;
    let scatter: f64 = values.iter().map(|own| (own - value).powi(2)).sum();
    Mean { value, error: (scatter / (count * (count - 1.0))).sqrt() }
}

fn controlled(values: &[f64], controls: &[Vec<f64>]) -> Option<Mean> {
    let (rows, columns) = (values.len(), controls.first()?.len());
    if columns == 0 || rows < 4 * columns {
        return None;
    }
    let averages =
        DVector::from_fn(columns, |column, _| controls.iter().map(|row| row[column]).sum::<f64>()) / rows as f64;
    let centred = DMatrix::from_fn(rows, columns, |row, column| controls[row][column] - averages[column]);
    let scales = DVector::from_fn(columns, |column, _| centred.column(column).norm().max(f64::MIN_POSITIVE));
    let centred = DMatrix::from_fn(rows, columns, |row, column| centred[(row, column)] / scales[column]);
    let average = values.iter().sum::<f64>() / rows as f64;
    let residual = DVector::from_fn(rows, |row, _| values[row] - average);
    let correlations = centred.tr_mul(&centred) + DMatrix::identity(columns, columns) * RIDGE;
    let factor = Cholesky::new(correlations)?;
    let slopes = factor.solve(&centred.tr_mul(&residual));
    let left = residual - &centred * &slopes;
    let solved = factor.solve(&centred.transpose());
    let mut scatter = 0.0;
    for row in 0..rows {
        let leverage = 1.0 / rows as f64 + centred.row(row).transpose().dot(&solved.column(row));
        if leverage > MOST_LEVERAGE {
            return None;
        }
        scatter += (left[row] / (1.0 - leverage)).powi(2);
    }
    let bias: f64 = (0..columns).map(|column| slopes[column] * averages[column] / scales[column]).sum();
    Some(Mean { value: average - bias, error: scatter.sqrt() / rows as f64 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values in straight lines about their controls: the mean is exact, however the controls fell.
    #[test]
    fn straight_lines_leave_no_error() {
        let controls: Vec<Vec<f64>> = (0..40).map(|i| vec![f64::from(i % 7) - 2.5, f64::from(i % 3)]).collect();
        let values: Vec<f64> = controls.iter().map(|x| 5.0 + 2.0 * x[0] - 0.5 * x[1]).collect();
        let found = mean(&values, &controls);
        assert!((found.value - 5.0).abs() < 1e-6 && found.error < 1e-6, "{found:?}");
    }

    /// A control that tells nothing leaves the average and its error, worked by hand: 1 and 3 by turns.
    #[test]
    fn a_control_that_tells_nothing_changes_nothing() {
        let values: Vec<f64> = (0..40).map(|i| f64::from(1 + 2 * (i % 2))).collect();
        let controls: Vec<Vec<f64>> = (0..40).map(|i| vec![f64::from(i / 2 % 2) - 0.5]).collect();
        let found = mean(&values, &controls);
        assert!((found.value - 2.0).abs() < 1e-12, "{found:?}");
        assert!((found.error - (1.0f64 / 39.0).sqrt()).abs() < 1e-12, "{found:?}");
    }

    /// One value and its control far out together: the lines go through them, but the error is not hidden.
    #[test]
    fn a_single_draw_far_out_does_not_hide_itself() {
        let mut values: Vec<f64> = (0..64).map(|i| 1.0 + 0.1 * f64::from(i % 2)).collect();
        let mut controls: Vec<Vec<f64>> = (0..64).map(|i| vec![f64::from(i % 5) / 10.0 - 0.2]).collect();
        (values[10], controls[10][0]) = (40.0, 5.0);
        assert!(mean(&values, &controls).error > 0.5);
    }
}
