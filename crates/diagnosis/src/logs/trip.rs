//! When a protector first opened, against when it should have.

use crate::reading_model::normal_tail;

/// Spread of the natural logarithm of the time to a trip: that of the heat that the unit stores and sheds (from the
/// spreads of capacities and conductances; engineering judgement).
const LOG_TIME_SPREAD: f64 = 0.35;
/// Share of the margin between a protector's hottest and its opening temperature that is known (engineering judgement:
/// the rise over the room to a quarter, the protector itself to a few kelvins).
const RISE_SPREAD: f64 = 0.25;
const PROTECTOR_KELVIN: f64 = 4.0;
/// Probability of anything at all.
const SLIP: f64 = 1e-3;

/// What a suspect predicts of the first trip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trip {
    /// When a protector first stops the unit, seconds; `None` if none does.
    pub seconds: Option<f64>,
    /// How far the protector that comes nearest stays below its temperature, kelvins; negative if it opens.
    pub margin_kelvin: f64,
    /// Rise over the room of that protector at its hottest, kelvins.
    pub rise_kelvin: f64,
    /// Length of the log, seconds.
    pub end_seconds: f64,
}

impl Trip {
    /// Log-probability that the unit stops within `stopped`, or not at all.
    pub fn log_probability(&self, stopped: Option<(f64, f64)>) -> f64 {
        let spread = (RISE_SPREAD * self.rise_kelvin).hypot(PROTECTOR_KELVIN);
        // Whether it opens at all; one that does by a hair may as well not.
        let opens = match self.seconds {
            Some(_) => normal_tail(-(self.margin_kelvin.min(0.0).abs() + 0.5 * spread) / spread),
            None if self.margin_kelvin.is_finite() => normal_tail(self.margin_kelvin / spread),
            None => 0.0,
        };
        let typical = self.seconds.unwrap_or(self.end_seconds);
        let below = |seconds: f64| 1.0 - normal_tail((seconds.max(1.0) / typical.max(1.0)).ln() / LOG_TIME_SPREAD);
        let probability = match stopped {
            Some((before, after)) => opens * (below(after) - below(before)),
            None => 1.0 - opens * below(self.end_seconds),
        };
        (SLIP + (1.0 - 2.0 * SLIP) * probability.clamp(0.0, 1.0)).ln()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trip(seconds: Option<f64>, margin_kelvin: f64) -> Trip {
        Trip { seconds, margin_kelvin, rise_kelvin: 60.0, end_seconds: 3600.0 }
    }

    #[test]
    fn a_trip_at_its_time_speaks_for_it() {
        let on_time = trip(Some(1800.0), -20.0).log_probability(Some((1700.0, 1900.0)));
        let late = trip(Some(600.0), -20.0).log_probability(Some((1700.0, 1900.0)));
        let never = trip(None, 40.0).log_probability(Some((1700.0, 1900.0)));
        assert!(on_time > late + 2.0 && on_time > never + 2.0, "{on_time} {late} {never}");
    }

    #[test]
    fn no_trip_speaks_for_a_wide_margin() {
        let (wide, close) = (trip(None, 60.0).log_probability(None), trip(None, 2.0).log_probability(None));
        let should = trip(Some(600.0), -40.0).log_probability(None);
        assert!(wide > close && close > should && wide > -0.01, "{wide} {close} {should}");
    }

    #[test]
    fn all_outcomes_together_are_one() {
        for trip in [trip(Some(900.0), -10.0), trip(None, 10.0), trip(None, f64::INFINITY)] {
            let edges: Vec<f64> = (0..=36).map(|step| f64::from(step) * 100.0).collect();
            let parts: Vec<f64> =
                edges.windows(2).map(|pair| trip.log_probability(Some((pair[0], pair[1]))).exp()).collect();
            let total = parts.iter().sum::<f64>() + trip.log_probability(None).exp();
            // Every outcome keeps a thousandth; 37 of them.
            assert!((total - 1.0).abs() < 0.05, "{total}");
        }
    }
}
