//! How readings stray from a curve: each by itself, and all together for a while.

use nalgebra::{Matrix2, Vector2};

/// Readings stray by white noise and by a smooth disturbance: mains, draughts and what a shape leaves out reach a
/// temperature through heat capacities, so it does not jump. A Matern process of order 3/2 (Rasmussen and Williams,
/// Gaussian Processes for Machine Learning, 4.2.1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of the disturbance, kelvins.
    pub wander_kelvin: f64,
    /// Its length scale, minutes.
    pub wander_minutes: f64,
}

/// Turns a column of values at the times of the readings into one whose noise is independent and of unit variance.
///
/// The innovations of a Kalman filter (Kalman, Journal of Basic Engineering 82, 1960) whose two states are the
/// disturbance and its slope; linear in the column, so that data and basis functions are all treated alike.
pub struct Whitener {
    steps: Vec<Step>,
    /// Natural logarithm of the determinant of the covariance of the readings.
    pub log_determinant: f64,
}

struct Step {
    transition: Matrix2<f64>,
    gain: Vector2<f64>,
    scale: f64,
}

impl Whitener {
    /// `minutes` in order; `variances` of the white noise, square kelvins, one per reading.
    pub fn new(noise: Noise, minutes: &[f64], variances: &[f64]) -> Self {
        let rate = 3_f64.sqrt() / noise.wander_minutes;
        let power = noise.wander_kelvin * noise.wander_kelvin;
        let stationary = Matrix2::new(power, 0.0, 0.0, rate * rate * power);
        let mut covariance = stationary;
        let mut log_determinant = 0.0;
        let mut last: Option<f64> = None;
        let steps = minutes.iter().zip(variances).map(|(&now, &white)| {
            let apart = last.map_or(f64::INFINITY, |last| now - last);
            last = Some(now);
            let transition = match apart.is_finite() {
                true => {
                    let passed = rate * apart;
                    Matrix2::new(1.0 + passed, apart, -rate * passed, 1.0 - passed) * (-passed).exp()
                }
                false => Matrix2::zeros(),
            };
            covariance = stationary + transition * (covariance - stationary) * transition.transpose();
            let spread = covariance[(0, 0)] + white;
            let gain = covariance.column(0) / spread;
            covariance -= gain * gain.transpose() * spread;
            log_determinant += spread.ln();
            Step { transition, gain, scale: spread.sqrt().recip() }
        });
        let steps = steps.collect();
        Whitener { steps, log_determinant }
    }

    /// The column, whitened.
    pub fn apply(&self, column: &[f64]) -> Vec<f64> {
        let mut state = Vector2::zeros();
        let each = |(step, value): (&Step, &f64)| {
            state = step.transition * state;
            let surprise = value - state[0];
            state += step.gain * surprise;
            surprise * step.scale
        };
        self.steps.iter().zip(column).map(each).collect()
    }
}

/// Standard deviation of white noise from how far each reading lies from the line between its neighbours, by the median
/// (0.6745 of a standard deviation), so that neither bends nor jumps count for much. `None` below five readings.
pub fn white_kelvin(minutes: &[f64], celsius: &[f64]) -> Option<f64> {
    if minutes.len() < 5 {
        return None;
    }
    let mut off: Vec<f64> = minutes
        .windows(3)
        .zip(celsius.windows(3))
        .map(|(t, y)| {
            let share = (t[1] - t[0]) / (t[2] - t[0]).max(f64::MIN_POSITIVE);
            let factor = 1.0 + share * share + (1.0 - share) * (1.0 - share);
            (y[1] - (1.0 - share) * y[0] - share * y[2]).abs() / factor.sqrt()
        })
        .collect();
    off.sort_by(f64::total_cmp);
    Some(off[off.len() / 2] / 0.6745)
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    #[test]
    fn whitening_gives_the_determinant_and_the_quadratic_form_of_the_dense_covariance() {
        let minutes = [0.0, 1.0, 2.5, 2.6, 7.0, 20.0];
        let white = [0.1, 0.2, 0.1, 0.05, 0.3, 0.1];
        let noise = Noise { wander_kelvin: 0.7, wander_minutes: 5.0 };
        let dense = DMatrix::from_fn(6, 6, |i, j| {
            let far: f64 = minutes[i] - minutes[j];
            let passed = 3_f64.sqrt() * far.abs() / 5.0;
            0.49 * (1.0 + passed) * (-passed).exp() + if i == j { white[i] } else { 0.0 }
        });
        let (first, second) = ([0.3, -0.1, 0.8, 0.2, -0.5, 1.0], [1.0, 1.0, 2.0, 0.0, -1.0, 3.0]);
        let whitener = Whitener::new(noise, &minutes, &white);
        let ours: f64 = whitener.apply(&first).iter().zip(whitener.apply(&second)).map(|(a, b)| a * b).sum();
        let inverse = dense.clone().try_inverse().unwrap();
        let theirs = (DVector::from_row_slice(&first).transpose() * inverse * DVector::from_row_slice(&second))[(0, 0)];
        assert!((ours - theirs).abs() < 1e-10, "{ours} {theirs}");
        assert!((whitener.log_determinant - dense.determinant().ln()).abs() < 1e-10);
    }

    #[test]
    fn a_straight_line_has_no_noise() {
        let minutes: Vec<f64> = (0..20).map(f64::from).collect();
        let celsius: Vec<f64> = minutes.iter().map(|t| 20.0 + 2.0 * t).collect();
        assert!(white_kelvin(&minutes, &celsius).unwrap() < 1e-12);
        assert_eq!(white_kelvin(&minutes[..4], &celsius[..4]), None);
    }
}
