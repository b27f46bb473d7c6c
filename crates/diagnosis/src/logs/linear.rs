//! A log against a forecast that follows what is free in straight lines.

use super::forecast::Forecast;
use super::record::{LogRecord, Point};
use nalgebra::{Cholesky, DMatrix, DVector};
use std::f64::consts::PI;

/// What a log says at a place of what is free.
pub(crate) struct Judged {
    /// Evidence with all that is free integrated out, nats.
    pub(crate) log_evidence: f64,
    /// Log-probability of the log and of the place itself, nats: what is highest at the best place.
    pub(crate) height: f64,
    /// Step to where the straight lines put the best place.
    pub(crate) step: Option<DVector<f64>>,
}

/// Evidence of a log linearised about a place.
///
/// With values `y = f + J (x - at) + noise` and `x` standard normal, `y` has mean `f - J at` and covariance
/// `noise + J J^T`.
pub(crate) fn judge(
    record: &LogRecord,
    room_celsius: f64,
    at: &DVector<f64>,
    forecast: &Forecast,
    slopes: &DMatrix<f64>,
    levels: &[f64],
) -> Judged {
    let stop = forecast.trip.seconds;
    let is_useless = |point: &Point| stop.is_some_and(|stop| record.seconds[point.time] >= stop);
    let noise = record.covariance(room_celsius, &forecast.values, levels, is_useless);
    let mut slopes = slopes.clone();
    for (row, point) in record.points.iter().enumerate() {
        if is_useless(point) {
            slopes.row_mut(row).fill(0.0);
        }
    }
    let off = record.values() - &forecast.values + &slopes * at;
    let trip = forecast.trip.log_probability(record.stopped);
    let height = log_normal(&(record.values() - &forecast.values), noise.clone()) - 0.5 * at.norm_squared() + trip;
    let total = noise + &slopes * slopes.transpose();
    let step = Cholesky::new(total.clone()).map(|factor| slopes.transpose() * factor.solve(&off) - at);
    Judged { log_evidence: log_normal(&off, total) + trip, height, step }
}

/// Logarithm of the density of a normal vector; minus infinity if it has none.
pub(crate) fn log_normal(off: &DVector<f64>, covariance: DMatrix<f64>) -> f64 {
    if off.is_empty() {
        return 0.0;
    }
    let Some(factor) = Cholesky::new(covariance) else { return f64::NEG_INFINITY };
    let log_determinant: f64 = 2.0 * factor.l_dirty().diagonal().iter().map(|entry| entry.ln()).sum::<f64>();
    let square = off.dot(&factor.solve(off));
    -0.5 * (square + log_determinant + off.len() as f64 * (2.0 * PI).ln())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bivariate normal density in closed form: determinant 1.75 and square (1 - 2 + 8) / 1.75 = 4, by hand.
    #[test]
    fn two_correlated_values_have_the_textbook_density() {
        let off = DVector::from_vec(vec![1.0, 2.0]);
        let found = log_normal(&off, DMatrix::from_row_slice(2, 2, &[2.0, 0.5, 0.5, 1.0]));
        let expected = -0.5 * (4.0 + 1.75f64.ln() + 2.0 * (2.0 * PI).ln());
        assert!((found - expected).abs() < 1e-12, "{found}, expected {expected}");
        assert_eq!(log_normal(&off, DMatrix::from_row_slice(2, 2, &[1.0, 2.0, 2.0, 1.0])), f64::NEG_INFINITY);
    }
}
