//! A channel of a log beside what a suspect predicts for it.

use super::forecast::Forecast;
use super::record::LogRecord;
use nalgebra::DMatrix;

/// How a channel agrees with a suspect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChannelFinding {
    /// Root mean square of logged less predicted, in the channel's unit.
    pub root_mean_square: f64,
    /// Where they are farthest apart; `None` if one of them has stopped the unit before the first value.
    pub farthest: Option<Farthest>,
}

/// A value of a channel beside its prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Farthest {
    /// Seconds from the start of the run.
    pub seconds: f64,
    /// What the suspect predicts, with what is not known of the unit's heat at its most probable.
    pub predicted: f64,
    /// What was logged.
    pub logged: f64,
    /// Standard deviation of the one about the other: instrument, model, and what readings leave open of its level.
    pub sigma: f64,
}

impl Farthest {
    /// Logged less predicted, in standard deviations.
    pub fn deviation(&self) -> f64 {
        (self.logged - self.predicted) / self.sigma
    }
}

/// Every channel of a log; `None` for those without a value. `noise` is the covariance of values about the forecast.
pub(super) fn channel_findings(
    record: &LogRecord,
    forecast: &Forecast,
    noise: &DMatrix<f64>,
) -> Vec<Option<ChannelFinding>> {
    (0..record.quantities.len()).map(|channel| finding(record, forecast, noise, channel)).collect()
}

fn finding(record: &LogRecord, forecast: &Forecast, noise: &DMatrix<f64>, channel: usize) -> Option<ChannelFinding> {
    let (mut squares, mut count) = (0.0, 0);
    let mut farthest: Option<Farthest> = None;
    for (place, point) in record.points.iter().enumerate().filter(|(_, point)| point.channel == channel) {
        let (seconds, predicted, logged) = (record.seconds[point.time], forecast.values[place], point.value);
        squares += (logged - predicted).powi(2);
        count += 1;
        // From its predicted stop on, what the suspect predicts is of no use.
        if forecast.trip.seconds.is_none_or(|stop| seconds < stop) {
            let here = Farthest { seconds, predicted, logged, sigma: noise[(place, place)].sqrt() };
            if farthest.is_none_or(|known| here.deviation().abs() > known.deviation().abs()) {
                farthest = Some(here);
            }
        }
    }
    let root_mean_square = (squares / f64::from(count)).sqrt();
    (count > 0).then_some(ChannelFinding { root_mean_square, farthest })
}
