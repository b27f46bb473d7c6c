//! A unit that stops and goes on: a cutout at work, or somebody at the switch. The current shows it, or else a temperature.

use super::finding::interpolated;
use super::import::current::Watch;
use super::import::{Channel, Log};
use super::stops::Fall;

/// Stops that are listed; more are counted.
const LISTED: usize = 50;

/// A cutout at work.
#[derive(Debug, Clone, PartialEq)]
pub struct Cycling {
    /// How often the unit stopped.
    pub stops: u64,
    /// When it stopped and, if it did, went on, minutes of the log; the first of them if they are many.
    pub when: Vec<(f64, Option<f64>)>,
    /// The temperature that shows it; nothing if that is the current.
    pub shown_by: Option<String>,
    /// Mean of the hottest temperature, or of that which shows it, where it stops and, if it does, where it goes on, degrees Celsius.
    pub opens_celsius: Option<f64>,
    /// As above.
    pub closes_celsius: Option<f64>,
    /// Minutes from one stop to the next, median.
    pub period_minutes: Option<f64>,
}

/// What the current did; nothing if it was not logged or did not stop.
pub fn by_current(log: &Log, judged: &[&Channel]) -> Option<Cycling> {
    let watch: &Watch = log.current.as_ref().filter(|watch| watch.count > 0)?;
    let peak = |channel: &Channel| channel.bins.means().map(|(_, value)| value).fold(f64::MIN, f64::max);
    let hottest = judged.iter().max_by(|a, b| peak(a).total_cmp(&peak(b)))?;
    let means: Vec<(f64, f64)> = hottest.bins.means().collect();
    let at = |seconds: &f64| (!means.is_empty()).then(|| interpolated(&means, *seconds));
    let offs: Vec<f64> = watch.interruptions.iter().map(|stop| stop.off_seconds).collect();
    let ons: Vec<f64> = watch.interruptions.iter().filter_map(|stop| stop.on).map(|(_, seconds)| seconds).collect();
    let minute = |seconds: f64| seconds / 60.0;
    let when = watch.interruptions.iter().map(|stop| (minute(stop.off_seconds), stop.on.map(|(_, on)| minute(on))));
    Some(Cycling {
        stops: watch.count,
        when: when.take(LISTED).collect(),
        shown_by: None,
        opens_celsius: mean(offs.iter().filter_map(at)),
        closes_celsius: mean(ons.iter().filter_map(at)),
        period_minutes: period(&offs).map(minute),
    })
}

/// What a temperature shows, that falls at these minutes of the log; nothing if none of it was a stop.
pub fn by_temperature(name: &str, stops: &[Fall]) -> Option<Cycling> {
    let minutes: Vec<f64> = stops.iter().map(|stop| stop.from.0).collect();
    (!stops.is_empty()).then(|| Cycling {
        stops: stops.len() as u64,
        when: stops.iter().map(|stop| (stop.from.0, stop.until.map(|until| until.0))).take(LISTED).collect(),
        shown_by: Some(name.to_owned()),
        opens_celsius: mean(stops.iter().map(|stop| stop.from.1)),
        closes_celsius: mean(stops.iter().filter_map(|stop| stop.until).map(|until| until.1)),
        period_minutes: period(&minutes),
    })
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = values.fold((0, 0.0), |(count, sum), value| (count + 1, sum + value));
    (count > 0).then(|| sum / f64::from(count))
}

/// Median time from one to the next.
fn period(times: &[f64]) -> Option<f64> {
    let mut periods: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
    periods.sort_by(f64::total_cmp);
    periods.get(periods.len() / 2).copied()
}
