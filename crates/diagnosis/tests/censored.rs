//! Checks the likelihood of values known only to exceed a limit on the insulation life of 40 motorettes, 23 of them still
//! sound when the test ended (Nelson and Hahn, Technometrics 14, 1972), and against `reference/inference.py`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{list, number, reference};
use diagnosis::reading_model::{Datum, GROSS_SHARE, Gross, normal_density, normal_tail};
use nalgebra::{Matrix3, Vector3};
use serde_json::Value;

struct Motorette {
    /// 1000 over the absolute temperature, per kelvin.
    inverse_temperature: f64,
    /// Decimal logarithm of the hours to failure, or to the end of the test.
    log_hours: f64,
    failed: bool,
}

fn motorettes(reference: &Value) -> Vec<Motorette> {
    let rows = list(&reference["life_of_insulation"], "rows");
    rows.iter()
        .map(|row| Motorette {
            inverse_temperature: 1000.0 / (row[0].as_f64().unwrap() + 273.2),
            log_hours: row[1].as_f64().unwrap().log10(),
            failed: row[2].as_bool().unwrap(),
        })
        .collect()
}

/// Life as a straight line in the inverse temperature, normal about it.
#[derive(Debug, Clone, Copy)]
struct Line {
    intercept: f64,
    slope: f64,
    sigma: f64,
}

impl Line {
    fn log_hours(self, motorette: &Motorette) -> f64 {
        self.intercept + self.slope * motorette.inverse_temperature
    }

    fn median_hours(self, celsius: f64) -> f64 {
        10f64.powf(self.intercept + self.slope * 1000.0 / (celsius + 273.2))
    }
}

/// Log-likelihood, its gradient by intercept, slope and log sigma, and the Gauss-Newton matrix.
///
/// By its deviation `z` a failure has the log-density `-z^2 / 2` and a survivor the log-probability of exceeding `z`, whose
/// slope is minus the hazard. Every parameter moves `z` against its direction.
fn likelihood(line: Line, rows: &[Motorette]) -> (f64, Vector3<f64>, Matrix3<f64>) {
    let (mut value, mut gradient, mut matrix) = (0.0, Vector3::zeros(), Matrix3::zeros());
    for row in rows {
        let distance = row.log_hours - line.log_hours(row);
        let z = distance / line.sigma;
        let direction = Vector3::new(1.0 / line.sigma, row.inverse_temperature / line.sigma, z);
        if row.failed {
            value += normal_density(distance, line.sigma).ln();
            gradient += direction * z - Vector3::z();
            matrix += direction * direction.transpose();
        } else {
            let hazard = normal_density(z, 1.0) / normal_tail(z);
            value += normal_tail(z).ln();
            gradient += direction * hazard;
            matrix += direction * direction.transpose() * (hazard * (hazard - z));
        }
    }
    (value, gradient, matrix)
}

/// Gauss-Newton steps from a level line, each shortened until it climbs.
fn most_likely(rows: &[Motorette]) -> (Line, f64) {
    let mean = rows.iter().map(|row| row.log_hours).sum::<f64>() / rows.len() as f64;
    let mut line = Line { intercept: mean, slope: 0.0, sigma: 1.0 };
    for _ in 0..300 {
        let (now, gradient, matrix) = likelihood(line, rows);
        if gradient.norm() < 1e-8 {
            return (line, now);
        }
        let step = matrix.cholesky().unwrap().solve(&gradient);
        let moved = |length: f64| Line {
            intercept: line.intercept + length * step.x,
            slope: line.slope + length * step.y,
            sigma: line.sigma * (length * step.z).exp(),
        };
        // Near the top the likelihood is flat to rounding, and a whole step is taken as it is.
        let climbs =
            (0..30).map(|halvings| 0.5f64.powi(halvings)).find(|&length| likelihood(moved(length), rows).0 > now);
        line = moved(climbs.unwrap_or(1.0));
    }
    panic!("no top found, last {line:?}");
}

#[test]
fn insulation_life_is_that_of_nelson_and_hahn() {
    let rows = motorettes(&reference());
    assert_eq!((rows.len(), rows.iter().filter(|row| row.failed).count()), (40, 17));
    let (line, log_likelihood) = most_likely(&rows);
    assert!((line.intercept - -6.01925).abs() < 5e-6, "{line:?}");
    assert!((line.slope - 4.31125).abs() < 5e-6, "{line:?}");
    assert!((line.sigma - 0.259183).abs() < 5e-7, "{line:?}");
    assert!((log_likelihood - -12.965455).abs() < 5e-7, "{log_likelihood}");
    assert!((line.median_hours(130.0) - 47_133.0).abs() < 0.5, "{}", line.median_hours(130.0));
}

#[test]
fn all_three_fits_agree_with_scipy() {
    let reference = reference();
    let all = motorettes(&reference);
    let failures: Vec<Motorette> = motorettes(&reference).into_iter().filter(|row| row.failed).collect();
    let read_as_failures: Vec<Motorette> =
        motorettes(&reference).into_iter().map(|row| Motorette { failed: true, ..row }).collect();
    for (rows, key) in
        [(all, "censored"), (failures, "censored_left_out"), (read_as_failures, "censored_read_as_failures")]
    {
        let stored = &reference["life_of_insulation"][key];
        let (line, log_likelihood) = most_likely(&rows);
        for (found, name) in [
            (line.intercept, "intercept"),
            (line.slope, "slope"),
            (line.sigma, "sigma"),
            (log_likelihood, "log_likelihood"),
            (line.median_hours(130.0), "median_hours_at_130_celsius"),
        ] {
            let exact = number(stored, name);
            assert!((found - exact).abs() < 1e-9 * exact.abs(), "{key}, {name}: {found}, SciPy {exact}");
        }
    }
}

#[test]
fn survivors_left_out_or_read_as_failures_halve_the_life() {
    // Why 'open' must count as exceeding the limit, never as nothing and never as the limit itself.
    let life = |keep: fn(&Motorette) -> bool, read_as_failure: bool| {
        let rows = motorettes(&reference()).into_iter().filter(keep);
        let rows: Vec<Motorette> = rows.map(|row| Motorette { failed: row.failed || read_as_failure, ..row }).collect();
        most_likely(&rows).0.median_hours(130.0)
    };
    let whole = life(|_| true, false);
    assert!(life(|row| row.failed, false) < 0.5 * whole);
    assert!(life(|_| true, true) < 0.5 * whole);
}

#[test]
fn tails_keep_their_digits_far_out() {
    for pair in list(&reference(), "normal_tails") {
        let (z, exact) = (pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap());
        let found = normal_tail(z).ln();
        assert!((found - exact).abs() < 1e-10 * exact.abs().max(1.0), "beyond {z}: {found}, SciPy {exact}");
    }
}

/// An ohmmeter's 'open' is a survivor: with the limit at ten, its flicker of a tenth is one standard deviation.
const OPEN: Datum = Datum::Open { limit: 10.0, gross_share: GROSS_SHARE };

#[test]
fn an_open_reading_counts_as_a_survivor() {
    for row in motorettes(&reference()).iter().filter(|row| !row.failed) {
        let line = Line { intercept: -6.0, slope: 4.3, sigma: 0.26 };
        let beyond = (line.log_hours(row) - row.log_hours) / line.sigma;
        let found = OPEN.log_likelihood(10.0 + beyond, 0.0);
        let survives = normal_tail(-beyond);
        // All but the gross share of it: three in a hundred are wrong, of which three in ten show 'open' anyway.
        let exact = ((1.0 - GROSS_SHARE) * survives + 0.009).ln();
        assert!((found.value - exact).abs() < 1e-12, "{} instead of {exact}", found.value);
        assert!((found.sound - (1.0 - GROSS_SHARE) * survives / exact.exp()).abs() < 1e-12);
        // The slope of a survivor is the hazard, weighed by the probability that the reading is right.
        let hazard = normal_density(beyond, 1.0) / survives;
        assert!((found.slope - found.sound * hazard).abs() < 1e-12, "{} instead of {hazard}", found.slope);
    }
}

#[test]
fn a_number_without_gross_errors_counts_as_a_failure() {
    let datum = Datum::Shown { value: 3.2, sigma: 0.26, gross: Gross::anything(0.0), gross_share: GROSS_SHARE };
    let found = datum.log_likelihood(3.5, 0.0);
    assert!((found.value - ((1.0 - GROSS_SHARE) * normal_density(-0.3, 0.26)).ln()).abs() < 1e-12);
    assert!((found.slope - -0.3 / 0.26f64.powi(2)).abs() < 1e-12);
    assert!((found.curvature - 0.26f64.powi(-2)).abs() < 1e-12);
    assert_eq!(found.sound, 1.0);
}

#[test]
fn slopes_of_both_kinds_are_those_of_their_values() {
    let shown = Datum::Shown { value: 34.0, sigma: 0.9, gross: Gross::anything(6e-4), gross_share: GROSS_SHARE };
    let h = 1e-5;
    for datum in [shown, OPEN] {
        for step in 0..120 {
            let predicted = 0.5 * f64::from(step);
            let value = |at: f64| datum.log_likelihood(at, 0.0).value;
            let numeric = (value(predicted + h) - value(predicted - h)) / (2.0 * h);
            let exact = datum.log_likelihood(predicted, 0.0).slope;
            assert!(
                (numeric - exact).abs() < 1e-5 * (1.0 + exact.abs()),
                "{datum:?} at {predicted}: {exact}, {numeric}"
            );
        }
    }
}

#[test]
fn no_prediction_makes_a_likelihood_that_is_no_number() {
    for datum in [
        OPEN,
        Datum::Open { limit: 40e6, gross_share: GROSS_SHARE },
        Datum::Shown { value: 0.0, sigma: 0.2, gross: Gross::anything(1e-3), gross_share: GROSS_SHARE },
    ] {
        for predicted in [0.0, 1e-9, 1.0, 1e6, 1e12, 1e300, f64::INFINITY] {
            for widened in [0.0, 1.0, 1e9] {
                let found = datum.log_likelihood(predicted, widened);
                assert!(found.value.is_finite() && found.slope.is_finite(), "{datum:?} at {predicted}: {found:?}");
                assert!(
                    found.curvature >= 0.0 && (0.0..=1.0).contains(&found.sound),
                    "{datum:?} at {predicted}: {found:?}"
                );
                assert!(found.value <= datum.best() + 1e-12, "{datum:?} at {predicted}: {found:?}");
            }
        }
    }
}
