//! What a meter will show of a value that is not known exactly: a number, 'open', or perhaps either.

use super::forecast::Player;
use crate::information::Forecast;
use crate::reading_model::{normal_tail, sigma};
use bench::{Measure, Meter};

/// Chances of 'open' below this, or of a number, are not worth a forecast of their own.
const REMOTE: f64 = 0.02;

/// Forecasts of a player, by its number: one, or two where the value may be beyond the meter's range or not.
///
/// `unknown` is the standard deviation that unknown values give the value. Ohms are log-normal where it is large, as those of
/// insulation are.
pub(super) fn forecasts(
    number: usize,
    player: &Player<'_>,
    (measure, meter): (Measure, &Meter),
    value: f64,
    unknown: f64,
) -> Vec<(usize, Forecast)> {
    let spread = if value.is_finite() { sigma(measure, meter, value).hypot(unknown) } else { 0.0 };
    let forecast = |(share, mean, sigma): (f64, f64, f64)| {
        (number, Forecast { weight: share * player.weight, class: player.class, mean, sigma })
    };
    either(value, spread, meter.limit(measure)).into_iter().map(forecast).collect()
}

/// Shares, values and standard deviations of what is shown of a value by a meter with a range up to `limit`.
fn either(value: f64, spread: f64, limit: f64) -> Vec<(f64, f64, f64)> {
    let open = |share: f64| (share, f64::INFINITY, 0.0);
    let over = match value.is_finite() {
        false => 1.0,
        true if value > 0.0 && spread > 0.0 => normal_tail((limit / value).ln() * value / spread),
        true => 0.0,
    };
    match over {
        _ if over < REMOTE => vec![(1.0, value, spread)],
        _ if over > 1.0 - REMOTE => vec![open(1.0)],
        _ => {
            // What is left of the log-normal within the range, so that two deviations of it end about there.
            let within = value.min(0.4 * limit);
            vec![(1.0 - over, within, spread.min(0.45 * within)), open(over)]
        }
    }
}

#[cfg(test)]
#[allow(clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn insulation_near_the_end_of_a_range_may_show_open() {
        // Log-normal about 33 Mohm with a spread of 1.2, range 40 Mohm: Q(ln(40/33)/1.2) = Q(0.160) = 0.436 (normal tables).
        let [(number, ..), (open, shown, _)] = either(33e6, 1.2 * 33e6, 40e6)[..] else { panic!("two expected") };
        assert!((open - 0.436).abs() < 1e-3 && (number + open - 1.0).abs() < 1e-12 && shown.is_infinite());
        // At the very end it is an even chance.
        assert!((either(40e6, 40e6, 40e6)[1].0 - 0.5).abs() < 1e-12);
    }

    #[test]
    fn an_ordinary_value_is_a_number_and_no_path_is_open() {
        assert_eq!(either(27.1, 0.5, 40e6), [(1.0, 27.1, 0.5)]);
        assert_eq!(either(0.0, 0.2, 40e6), [(1.0, 0.0, 0.2)]);
        assert_eq!(either(229.0, 2.0, f64::INFINITY), [(1.0, 229.0, 2.0)]);
        assert_eq!(either(f64::INFINITY, 0.0, 40e6), [(1.0, f64::INFINITY, 0.0)]);
        assert_eq!(either(1e12, 1e10, 40e6), [(1.0, f64::INFINITY, 0.0)]);
    }
}
