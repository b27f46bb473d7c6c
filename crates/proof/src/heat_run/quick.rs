//! What quick rules say of where a temperature is going, beside the forecast: one exponential, from three readings or from all.
//!
//! Both leave out what warms slowly and mostly say too little; they are shown so that whoever reckons by them sees by how much.

use super::forecast::Series;
use super::least_squares::{Form, fit_anywhere, three_readings};

/// Shortest run of which they are told, minutes.
const SHORTEST_MINUTES: f64 = 15.0;
/// A reading is the mean over so many minutes on either side.
const WINDOW_MINUTES: f64 = 1.0;
/// Ends beyond this are none, kelvins above the last reading.
const MOST_KELVIN: f64 = 300.0;

/// What they say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quick {
    /// End by three readings, at a third, at two thirds and at the end of the run, degrees Celsius.
    pub three_readings: Option<f64>,
    /// How far these readings are apart, minutes.
    pub spacing_minutes: f64,
    /// End of one exponential fitted to all readings, degrees Celsius.
    pub one_exponential: Option<f64>,
}

/// What quick rules say; nothing of a short run.
pub fn quick(series: &Series) -> Option<Quick> {
    let (&first, &last) = (series.minutes.first()?, series.minutes.last()?);
    if last - first < SHORTEST_MINUTES {
        return None;
    }
    let start = series.celsius[0];
    let now = *series.celsius.last()?;
    let is_end = |celsius: &f64| celsius.is_finite() && (celsius - now).abs() < MOST_KELVIN;
    let spacing = (last - first) / 3.0;
    let readings = [1.0, 2.0, 3.0].map(|third| mean_at(series, first + third * spacing));
    let three = match readings {
        [Some(a), Some(b), Some(c)] => three_readings([a, b, c].map(|celsius| celsius - start), spacing),
        _ => None,
    };
    let minutes: Vec<f64> = series.minutes.iter().map(|minute| minute - first).collect();
    let fitted = fit_anywhere(Form::DecayToConstant, &minutes, &series.celsius, 1).ok();
    Some(Quick {
        three_readings: three.map(|(rise, _)| start + rise).filter(is_end),
        spacing_minutes: spacing,
        one_exponential: fitted.and_then(|fit| fit.amplitudes.first().copied()).filter(is_end),
    })
}

/// Mean about a time; nothing where nothing was read then.
fn mean_at(series: &Series, at: f64) -> Option<f64> {
    let near = series.minutes.iter().zip(&series.celsius).filter(|(minute, _)| (*minute - at).abs() <= WINDOW_MINUTES);
    let (count, sum) = near.fold((0, 0.0), |(count, sum), (_, celsius)| (count + 1, sum + celsius));
    (count > 0).then(|| sum / f64::from(count))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(of: impl Fn(f64) -> f64) -> Series {
        let minutes: Vec<f64> = (0..=90).map(f64::from).collect();
        Series { celsius: minutes.iter().map(|&minute| of(minute)).collect(), minutes, ..Series::default() }
    }

    /// Of one exponential both are right (closed form); of two they say too little (check values 9: 75 K, a third of it fast,
    /// with a slow body of its own here).
    #[test]
    fn they_are_right_of_one_exponential_and_low_of_more() {
        let one = quick(&series(|minute| 20.0 + 60.0 * (1.0 - (-minute / 30.0).exp()))).unwrap();
        // The last reading is a mean over half a window, and so half a minute early.
        assert!((one.three_readings.unwrap() - 80.0).abs() < 0.15, "{one:?}");
        assert!((one.one_exponential.unwrap() - 80.0).abs() < 1e-6, "{one:?}");
        let slow = |minute: f64| {
            95.0 - 24.4 * (-minute / 2.4).exp() - 35.0 * (-minute / 44.0).exp() - 15.6 * (-minute / 240.0).exp()
        };
        let two = quick(&series(slow)).unwrap();
        assert!(two.three_readings.unwrap() < 94.0 && two.one_exponential.unwrap() < 94.0, "{two:?}");
        assert_eq!(quick(&Series::default()), None);
        let straight = quick(&series(|minute| 20.0 + minute)).unwrap();
        assert_eq!(straight.three_readings, None, "a straight line has no end in sight");
    }
}
