//! Pass, fail, or not yet: what may be said of a run, and what keeps it from being said.

use super::forecast::prior::ThermalPrior;
use super::forecast::{Forecast, Series, TooShort, forecast};
use super::limit::Limit;

/// What is to be done with a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It stays below the limit; it is safe to stop.
    Pass,
    /// It goes above the limit; stop it.
    Fail,
    /// Not known yet.
    NotYet,
}

/// Why a run whose figures look well is no pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Withheld {
    /// Too few readings, or over too short a time.
    TooShort,
    /// The main time constant has not been seen, or less than half of the rise.
    TooEarly,
    /// The probability is not high enough for either.
    Uncertain,
    /// There is no limit to hold it to.
    NoLimit,
    /// The current was interrupted: a cutout, or somebody switched it off.
    Interrupted,
    /// The sensor fell off, or its readings stop.
    SensorLost,
    /// It is, or ends, below the room: not a temperature of this unit, or the wrong column.
    BelowRoom,
    /// The limit is meant for a certain room, and nobody said how warm this one is.
    RoomUnknown,
    /// The unit was not on in this run.
    Off,
    /// It has hardly warmed, and is about as warm as the room: the unit is off, or the sensor is not on it.
    HardlyWarmed,
}

/// A verdict is given at this probability; with a look every few minutes fewer than one in 200 passes may be false, which
/// trials hold it to (`docs/heat-run-trials.md`).
pub const SURE: f64 = 0.999;
/// What the temperature must stay below the limit by to pass, kelvins: a sensor is not truer than that (thermocouples of class 1
/// by IEC 60584-1: 1.5 K up to 375 degrees Celsius, from memory).
pub const SENSOR_KELVIN: f64 = 1.5;
/// No run passes before this many minutes. Engineering judgement.
pub const LEAST_MINUTES: f64 = 20.0;
/// So many readings in a row above the limit are a fail without any forecast.
const OVER_LIMIT_READINGS: usize = 3;
/// So many readings in a row below the room by so much are none of a unit that runs in it, kelvins. Engineering judgement.
const BELOW_ROOM_READINGS: usize = 3;
const BELOW_ROOM_KELVIN: f64 = 5.0;
/// An end so far below the room is none, kelvins. Engineering judgement.
const ENDS_BELOW_ROOM_KELVIN: f64 = 2.0;
/// A temperature that has moved by less and is no further above the room has hardly warmed, kelvins; no room is warmer than so many
/// degrees Celsius where nobody says. Engineering judgement.
const HARDLY_WARMED_KELVIN: f64 = 3.0;
const WARMEST_ROOM_CELSIUS: f64 = 40.0;
/// Longest time that is looked ahead for a verdict, minutes.
const LOOKED_AHEAD: f64 = 600.0;

/// What is said of one temperature.
#[derive(Debug, Clone)]
pub struct Judgement {
    /// What is to be done.
    pub verdict: Verdict,
    /// Why it is no verdict yet.
    pub withheld: Option<Withheld>,
    /// Where it is going, if enough was logged.
    pub forecast: Option<Forecast>,
    /// Probability that it ends below the limit, if there is one.
    pub probability_below: Option<f64>,
    /// What is added to the temperature before it is held to the limit: the room the limit is meant for less the room.
    pub correction_kelvin: f64,
    /// Minutes of readings.
    pub minutes: f64,
}

/// Judges one temperature from what was logged so far.
///
/// A pass needs all of: a probability of [`SURE`] that the final temperature is below the limit, by as much as a sensor may be off;
/// [`LEAST_MINUTES`]; the main time constant (its median) gone by; half of the rise seen, even if the upper end of the 95 %
/// interval is true. A fail needs the same of the other side, without what the sensor may be off, or three readings above the limit. A limit that is meant for a certain room gives no
/// pass where nobody knows the room.
pub fn judge(series: &Series, limit: Option<&Limit>, room_celsius: Option<f64>, prior: &ThermalPrior) -> Judgement {
    let minutes = match (series.minutes.first(), series.minutes.last()) {
        (Some(first), Some(last)) => last - first,
        _ => 0.0,
    };
    let room = series.room.as_ref().and_then(|room| room.last().copied()).or(room_celsius);
    let correction_kelvin = match (limit.and_then(|limit| limit.room_celsius), room) {
        (Some(meant), Some(is)) => meant - is,
        _ => 0.0,
    };
    let mut judgement = Judgement {
        verdict: Verdict::NotYet,
        withheld: None,
        forecast: None,
        probability_below: None,
        correction_kelvin,
        minutes,
    };
    let held_to = limit.map(|limit| limit.celsius - correction_kelvin);
    let is_over = |limit: f64| {
        series.celsius.len() >= OVER_LIMIT_READINGS
            && series.celsius.windows(OVER_LIMIT_READINGS).any(|window| window.iter().all(|&value| value > limit))
    };
    let over = held_to.is_some_and(is_over);
    if over {
        judgement.verdict = Verdict::Fail;
    }
    let known = match forecast(series, prior) {
        Ok(known) => known,
        Err(TooShort { .. }) => {
            judgement.withheld = (!over).then_some(Withheld::TooShort);
            return judgement;
        }
    };
    judgement.probability_below = held_to.map(|limit| known.probability_below(limit));
    if !over {
        (judgement.verdict, judgement.withheld) = match held_to {
            None => (Verdict::NotYet, Some(Withheld::NoLimit)),
            Some(_) if is_below_room(series, room_celsius) => (Verdict::NotYet, Some(Withheld::BelowRoom)),
            Some(limit) => decide(series, &known, limit, room),
        };
    }
    let needs_room = limit.is_some_and(|limit| limit.room_celsius.is_some());
    if judgement.verdict == Verdict::Pass && needs_room && room.is_none() {
        (judgement.verdict, judgement.withheld) = (Verdict::NotYet, Some(Withheld::RoomUnknown));
    }
    judgement.forecast = Some(known);
    judgement
}

fn decide(series: &Series, known: &Forecast, limit: f64, room: Option<f64>) -> (Verdict, Option<Withheld>) {
    let passes = known.probability_below(limit - SENSOR_KELVIN) >= SURE;
    let fails = known.probability_below(limit) <= 1.0 - SURE;
    if room.is_some_and(|room| known.interval(0.95).1 < room - ENDS_BELOW_ROOM_KELVIN) {
        return (Verdict::NotYet, Some(Withheld::BelowRoom));
    }
    if has_hardly_warmed(series, room) {
        return (Verdict::NotYet, Some(Withheld::HardlyWarmed));
    }
    if !(passes || fails) {
        return (Verdict::NotYet, Some(Withheld::Uncertain));
    }
    if !is_long_enough(series, known) {
        return (Verdict::NotYet, Some(Withheld::TooEarly));
    }
    (if passes { Verdict::Pass } else { Verdict::Fail }, None)
}

/// Whether readings in a row lie below the room, logged or said.
fn is_below_room(series: &Series, room_celsius: Option<f64>) -> bool {
    let room = |place: usize| series.room.as_ref().and_then(|room| room.get(place).copied()).or(room_celsius);
    let is_below = |(place, &value): (usize, &f64)| room(place).is_some_and(|room| value < room - BELOW_ROOM_KELVIN);
    let below: Vec<bool> = series.celsius.iter().enumerate().map(is_below).collect();
    below.windows(BELOW_ROOM_READINGS).any(|window| window.iter().all(|&below| below))
}

/// Whether what was logged might as well be the room, over long enough a time to tell.
fn has_hardly_warmed(series: &Series, room: Option<f64>) -> bool {
    let (Some(&first), Some(&last)) = (series.minutes.first(), series.minutes.last()) else { return false };
    let highest = series.celsius.iter().copied().fold(f64::MIN, f64::max);
    let lowest = series.celsius.iter().copied().fold(f64::MAX, f64::min);
    let like_room = highest < room.map_or(WARMEST_ROOM_CELSIUS, |room| room + HARDLY_WARMED_KELVIN);
    last - first >= LEAST_MINUTES && highest - lowest < HARDLY_WARMED_KELVIN && like_room
}

/// The rule of [`judge`] that no probability overrides.
fn is_long_enough(series: &Series, known: &Forecast) -> bool {
    let (Some(&first), Some(&now)) = (series.minutes.first(), series.minutes.last()) else { return false };
    let latest = series.celsius[series.celsius.len().saturating_sub(3)..].iter();
    let latest = latest.clone().sum::<f64>() / latest.len() as f64;
    let (seen, still) = ((latest - known.start_celsius()).abs(), known.interval(0.95).1 - latest);
    now - first >= LEAST_MINUTES && now - first >= known.main_minutes(0.5) && still <= seen.max(1.0)
}

/// Minutes more until there is a verdict, if the temperature goes on as expected: the log is continued by the expected
/// curve and judged again. `None` if none is in sight within ten hours.
pub fn minutes_to_verdict(
    series: &Series,
    limit: &Limit,
    room_celsius: Option<f64>,
    prior: &ThermalPrior,
    known: &Forecast,
) -> Option<f64> {
    let now = *series.minutes.last()?;
    let usual = ((now - series.minutes[0]) / series.minutes.len() as f64).max(0.25);
    let is_settled = |more: f64| {
        let mut longer = series.clone();
        let steps = (more / usual).ceil().clamp(1.0, 400.0);
        for step in 1..=steps as u32 {
            let minutes = now + more * f64::from(step) / steps;
            longer.minutes.push(minutes);
            longer.celsius.push(known.expected_celsius(minutes));
            if let Some(room) = &mut longer.room {
                room.push(*room.last().unwrap_or(&0.0));
            }
        }
        judge(&longer, Some(limit), room_celsius, prior).verdict != Verdict::NotYet
    };
    let (mut low, mut high) = (0.0, 2.5);
    while !is_settled(high) {
        (low, high) = (high, 2.0 * high);
        if high > LOOKED_AHEAD {
            return None;
        }
    }
    while high - low > (0.15 * high).max(1.0) {
        let middle = 0.5 * (low + high);
        if is_settled(middle) { high = middle } else { low = middle }
    }
    Some(high)
}
