//! Stops that a temperature shows by itself: it falls as something does that is off, and rises again.

use super::cooling::{is_at_once, room_or_usual};
use super::forecast::Series;
use super::forecast::noise::white_kelvin;

/// A fall of more kelvins, or of a larger share of the rise, is none of a drifting room.
const FALL_KELVIN: f64 = 3.0;
const FALL_SHARE: f64 = 0.08;
/// Nor, above so many standard deviations of the readings, of noise. Engineering judgement, checked on simulated noise.
const NOISE_DEVIATIONS: f64 = 5.0;
/// It lasts for so many rows, and minutes: what is shorter is a tap on the sensor. Cutouts stay open for longer. Engineering judgement.
const ROWS: usize = 3;
const LEAST_MINUTES: f64 = 0.5;
/// Two rows so many minutes apart are no tap.
const APART_MINUTES: f64 = 5.0;
/// Half-way through its time something that cools has done this share of its fall; what lags behind its heat, less than half. Engineering
/// judgement.
const HALF_WAY: f64 = 0.35;

/// A temperature fell as none does while a unit runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fall {
    /// The last minute at which it had not fallen, and degrees Celsius then.
    pub from: (f64, f64),
    /// The last minute at which it had not risen again, and degrees Celsius then; nothing if it did not.
    pub until: Option<(f64, f64)>,
    /// Whether it fell by and by, as something does that cools.
    pub cools: bool,
}

impl Fall {
    /// Whether that was a stop: it cooled, and warmed again.
    pub fn is_stop(&self) -> bool {
        self.cools && self.until.is_some()
    }
}

/// Every fall of a series, in order.
pub fn falls(series: &Series) -> Vec<Fall> {
    let (minutes, celsius) = (&series.minutes, &series.celsius);
    let Some(&first) = celsius.first() else { return Vec::new() };
    let noise = white_kelvin(minutes, celsius).unwrap_or_default();
    let least = |high: f64| FALL_KELVIN.max(FALL_SHARE * (high - first)).max(NOISE_DEVIATIONS * noise);
    let mut found = Vec::new();
    // Where it last rose from, the highest that lasted since; while it falls also the row from which, and the lowest that lasted.
    let (mut since, mut high) = (0, f64::MIN);
    let mut falling: Option<(usize, f64)> = None;
    for start in 0..minutes.len() {
        let Some(end) = lasting(minutes, start) else { break };
        let rows = celsius[start..=end].iter().copied();
        let (lowest, highest) = (rows.clone().fold(f64::MAX, f64::min), rows.fold(f64::MIN, f64::max));
        let near = (2.0 * noise).max(0.1 * least(high.max(first)));
        match &mut falling {
            None => {
                high = high.max(lowest);
                if high - highest > least(high) {
                    let from = last(since..=start, |row| celsius[row] >= high - near);
                    falling = Some((from, highest));
                }
            }
            Some((from, low)) => {
                *low = low.min(highest);
                if lowest - *low > least(high) {
                    let until = last(*from..=start, |row| celsius[row] <= *low + near);
                    found.push(fall(series, *from, until, true));
                    (since, high, falling) = (until, lowest, None);
                }
            }
        }
    }
    found.extend(falling.map(|(from, _)| fall(series, from, minutes.len() - 1, false)));
    found
}

/// The row up to which something must last that begins at a row; nothing if the series ends before.
fn lasting(minutes: &[f64], start: usize) -> Option<usize> {
    (start + 1..minutes.len()).find(|&end| {
        let (rows, span) = (end - start + 1, minutes[end] - minutes[start]);
        span >= APART_MINUTES || (rows >= ROWS && span >= LEAST_MINUTES - 1e-9)
    })
}

fn last(rows: std::ops::RangeInclusive<usize>, is_it: impl Fn(usize) -> bool) -> usize {
    let first = *rows.start();
    rows.rev().find(|&row| is_it(row)).unwrap_or(first)
}

fn fall(series: &Series, from: usize, until: usize, rises: bool) -> Fall {
    let at = |row: usize| (series.minutes[row], series.celsius[row]);
    let seconds = |row: usize| (60.0 * series.minutes[row], series.celsius[row]);
    let lowest = series.celsius[from..=until].iter().copied().fold(f64::MAX, f64::min);
    let room = series.room.as_ref().map(|room| room[from]);
    let room = room_or_usual(room, series.celsius[0]).min(lowest);
    let half = 0.5 * (series.minutes[from] + series.minutes[until]);
    let middle = series.minutes.partition_point(|&minute| minute < half).min(until);
    let done = series.celsius[from] - series.celsius[middle];
    let cools = from < until
        && !is_at_once(seconds(from), seconds(from + 1), lowest, room)
        && done >= HALF_WAY * (series.celsius[from] - series.celsius[until]);
    Fall { from: at(from), until: rises.then(|| at(until)), cools }
}
