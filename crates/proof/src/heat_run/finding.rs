//! A whole log judged: which stretch of it counts, each temperature by itself, and what is said of all together.

use super::equilibrium::{RULES, Rule, first_satisfied, satisfied_at_end};
use super::forecast::Series;
use super::forecast::prior::ThermalPrior;
use super::import::header::Quantity;
use super::import::{Channel, Log};
use super::limit::Limit;
use super::quick::{Quick, quick};
use super::verdict::{Judgement, Verdict, Withheld, judge, minutes_to_verdict};

/// What a log is held to.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The limit of all temperatures but the room's.
    pub limit: Option<Limit>,
    /// Limits of some, by name of the column.
    pub named_limits: Vec<(String, Limit)>,
    /// Temperature of the room, if it is not in the log.
    pub room_celsius: Option<f64>,
    /// What is expected of each temperature by name; of others the usual.
    pub priors: Vec<(String, ThermalPrior)>,
    /// Whether somebody switched the unit off where the current stops for good.
    pub was_switched_off: bool,
    /// Whether the unit is known never to have been on.
    pub was_never_on: bool,
}

/// What cannot be asked of a log.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AskedError {
    /// A limit for a column that there is not.
    #[error("a limit for '{name}', but the temperatures are {known}")]
    UnknownChannel {
        /// The name that was given.
        name: String,
        /// The names there are.
        known: String,
    },
    /// There is no temperature.
    #[error("no temperatures in the log")]
    NoTemperature,
}

/// A cutout at work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycling {
    /// How often the current stopped.
    pub stops: u64,
    /// Mean of the hottest temperature where it stops and, if it does, where it comes back, degrees Celsius.
    pub opens_celsius: Option<f64>,
    /// As above.
    pub closes_celsius: Option<f64>,
    /// Minutes from one stop to the next, median.
    pub period_minutes: Option<f64>,
}

/// Where a run was interrupted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interrupted {
    /// Minute of the judged stretch at which a temperature fell, or of the log at which the current stopped.
    pub minute: f64,
    /// Row at which the current stopped; nothing if only a temperature shows it.
    pub row: Option<u64>,
}

/// One temperature judged.
#[derive(Debug, Clone)]
pub struct ChannelFinding {
    /// Name of the column.
    pub name: String,
    /// What was judged: minutes from switching on, or from where its sensor was put on.
    pub series: Series,
    /// What is said of it.
    pub judgement: Judgement,
    /// What it was held to.
    pub limit: Option<Limit>,
    /// Each rule of rest: whether it is met at the end, and since when.
    pub rules: Vec<(Rule, bool, Option<f64>)>,
    /// Minutes more until there is a verdict, if there is none yet and one is in sight.
    pub minutes_to_verdict: Option<f64>,
    /// Row at which its sensor fell off or its readings stop, within the stretch that is judged.
    pub lost_at: Option<u64>,
    /// Where it was interrupted, as far as that keeps it from a verdict.
    pub interrupted: Option<Interrupted>,
    /// What quick rules say of it.
    pub quick: Option<Quick>,
}

/// A log judged.
#[derive(Debug, Clone)]
pub struct Finding {
    /// Of each temperature but the room's.
    pub channels: Vec<ChannelFinding>,
    /// Of all that have a limit together: a fail of one is a fail, a pass needs all.
    pub verdict: Verdict,
    /// What the current did, if it stopped.
    pub cycling: Option<Cycling>,
    /// Row at which the current stops for good.
    pub ends_at: Option<u64>,
    /// The room at the end, if it is known.
    pub room_celsius: Option<f64>,
    /// Whether that was logged, and not only said.
    pub is_room_logged: bool,
}

/// A fall of more kelvins, or of a larger share of the rise, is none of noise or of a drifting room.
const FALL_KELVIN: f64 = 3.0;
const FALL_SHARE: f64 = 0.08;

/// Judges a log.
///
/// # Errors
/// [`AskedError`] if it cannot be held to what is asked.
pub fn find(log: &Log, asked: &Asked) -> Result<Finding, AskedError> {
    let is_judged = |channel: &&Channel| channel.quantity == Quantity::Temperature && !channel.is_room;
    let judged: Vec<&Channel> = log.channels.iter().filter(is_judged).collect();
    if judged.is_empty() {
        return Err(AskedError::NoTemperature);
    }
    for (name, _) in &asked.named_limits {
        if !judged.iter().any(|channel| channel.name.eq_ignore_ascii_case(name)) {
            let known: Vec<String> = judged.iter().map(|channel| format!("'{}'", channel.name)).collect();
            return Err(AskedError::UnknownChannel { name: name.clone(), known: known.join(", ") });
        }
    }
    let stretch = Stretch::of(log);
    let room = log.channels.iter().find(|channel| channel.is_room && channel.bins.readings > 0);
    let room: Option<Vec<(f64, f64)>> = room.map(|room| room.bins.means().collect());
    let stopped = stretch.stopped.filter(|_| stretch.returns > 0 || !asked.was_switched_off);
    let channels: Vec<ChannelFinding> =
        judged.iter().map(|channel| channel_finding(channel, &stretch, room.as_deref(), stopped, asked)).collect();
    let limited: Vec<Verdict> =
        channels.iter().filter(|channel| channel.limit.is_some()).map(|channel| channel.judgement.verdict).collect();
    let verdict = if limited.contains(&Verdict::Fail) {
        Verdict::Fail
    } else if !limited.is_empty() && limited.iter().all(|&verdict| verdict == Verdict::Pass) {
        Verdict::Pass
    } else {
        Verdict::NotYet
    };
    let logged = room.as_ref().and_then(|room| room.last()).map(|&(_, value)| value);
    Ok(Finding {
        channels,
        verdict,
        cycling: cycling(log, &judged),
        ends_at: stretch.ends_at,
        room_celsius: logged.or(asked.room_celsius),
        is_room_logged: logged.is_some(),
    })
}

/// The stretch of a log that is judged: from the last time the current came on to where it stops for good.
struct Stretch {
    from: f64,
    to: f64,
    ends_at: Option<u64>,
    /// How often the current stopped and came back.
    returns: usize,
    /// Where it stopped first.
    stopped: Option<Interrupted>,
}

impl Stretch {
    fn of(log: &Log) -> Self {
        let mut stretch = Stretch { from: 0.0, to: f64::INFINITY, ends_at: None, returns: 0, stopped: None };
        let Some(watch) = &log.current else { return stretch };
        stretch.from = watch.first_on.unwrap_or_default();
        stretch.stopped = watch.interruptions.first().map(|interruption| Interrupted {
            minute: interruption.off_seconds / 60.0,
            row: Some(interruption.off_row),
        });
        for interruption in &watch.interruptions {
            match interruption.on {
                Some((_, seconds)) => {
                    stretch.from = seconds;
                    stretch.returns += 1;
                }
                None => {
                    stretch.to = interruption.off_seconds;
                    stretch.ends_at = Some(interruption.off_row);
                }
            }
        }
        stretch
    }
}

fn channel_finding(
    channel: &Channel,
    stretch: &Stretch,
    room: Option<&[(f64, f64)]>,
    stopped: Option<Interrupted>,
    asked: &Asked,
) -> ChannelFinding {
    let from = stretch.from.max(channel.put_on_seconds.unwrap_or_default());
    let mut series = Series { resolution_kelvin: channel.bins.resolution(), ..Series::default() };
    for (seconds, value) in channel.bins.means().filter(|&(seconds, _)| seconds >= from && seconds < stretch.to) {
        series.minutes.push((seconds - from) / 60.0);
        series.celsius.push(value);
    }
    series.room =
        room.map(|room| series.minutes.iter().map(|minutes| interpolated(room, from + 60.0 * minutes)).collect());
    let named = asked.named_limits.iter().find(|(name, _)| channel.name.eq_ignore_ascii_case(name));
    let limit = named.map(|(_, limit)| limit).or(asked.limit.as_ref());
    let prior =
        asked.priors.iter().find(|(name, _)| *name == channel.name).map(|&(_, prior)| prior).unwrap_or_default();
    let mut judgement = judge(&series, limit, asked.room_celsius, &prior);
    let interrupted = stopped.or_else(|| falls(&series).map(|minute| Interrupted { minute, row: None }));
    // What happens to a sensor after the judged stretch does not matter.
    let lost_at = channel.lost_at.filter(|&row| stretch.ends_at.is_none_or(|end| row < end));
    let held_back = if asked.was_never_on {
        Some(Withheld::Off)
    } else if lost_at.is_some() {
        Some(Withheld::SensorLost)
    } else if interrupted.is_some() {
        Some(Withheld::Interrupted)
    } else {
        None
    };
    if let Some(reason) = held_back.filter(|_| judgement.verdict != Verdict::Fail) {
        judgement.verdict = Verdict::NotYet;
        judgement.withheld = Some(reason);
    }
    let waits = matches!(judgement.withheld, Some(Withheld::Uncertain | Withheld::TooEarly));
    let minutes_to_verdict = match (&judgement.forecast, limit) {
        (Some(known), Some(limit)) if waits => minutes_to_verdict(&series, limit, asked.room_celsius, &prior, known),
        _ => None,
    };
    let rules = RULES.map(|rule| (rule, satisfied_at_end(rule, &series), first_satisfied(rule, &series)));
    let quick = quick(&series);
    ChannelFinding {
        name: channel.name.clone(),
        series,
        judgement,
        limit: limit.cloned(),
        rules: rules.to_vec(),
        minutes_to_verdict,
        lost_at,
        interrupted,
        quick,
    }
}

/// Minute from which a temperature falls as none does while a unit runs: without a logged current the only sign of a cutout.
fn falls(series: &Series) -> Option<f64> {
    let first = series.celsius.first().copied().unwrap_or_default();
    let mut highest = (0.0, f64::MIN);
    // Two readings in a row, so that one that is off is none.
    series.celsius.windows(2).zip(&series.minutes).find_map(|(pair, &minute)| {
        if pair[0].min(pair[1]) > highest.1 {
            highest = (minute, pair[0].min(pair[1]));
        }
        let fall = highest.1 - pair[0].max(pair[1]);
        (fall > FALL_KELVIN.max(FALL_SHARE * (highest.1 - first))).then_some(highest.0)
    })
}

/// Value at a time by the straight line between its neighbours; beyond the ends the end.
fn interpolated(points: &[(f64, f64)], at: f64) -> f64 {
    let next = points.partition_point(|&(time, _)| time < at);
    match (next.checked_sub(1).and_then(|last| points.get(last)), points.get(next)) {
        (Some(&(t0, y0)), Some(&(t1, y1))) => y0 + (y1 - y0) * (at - t0) / (t1 - t0),
        (Some(&(_, y)), None) | (None, Some(&(_, y))) => y,
        (None, None) => f64::NAN,
    }
}

fn cycling(log: &Log, judged: &[&Channel]) -> Option<Cycling> {
    let watch = log.current.as_ref().filter(|watch| watch.count > 0)?;
    let peak = |channel: &Channel| channel.bins.means().map(|(_, value)| value).fold(f64::MIN, f64::max);
    let hottest = judged.iter().max_by(|a, b| peak(a).total_cmp(&peak(b)))?;
    let means: Vec<(f64, f64)> = hottest.bins.means().collect();
    let mean = |times: Vec<f64>| {
        let sum: f64 = times.iter().map(|&time| interpolated(&means, time)).sum();
        (!times.is_empty() && !means.is_empty()).then(|| sum / times.len() as f64)
    };
    let offs: Vec<f64> = watch.interruptions.iter().map(|stop| stop.off_seconds).collect();
    let mut periods: Vec<f64> = offs.windows(2).map(|pair| (pair[1] - pair[0]) / 60.0).collect();
    periods.sort_by(f64::total_cmp);
    let ons = watch.interruptions.iter().filter_map(|stop| stop.on).map(|(_, seconds)| seconds).collect();
    Some(Cycling {
        stops: watch.count,
        opens_celsius: mean(offs),
        closes_celsius: mean(ons),
        period_minutes: periods.get(periods.len() / 2).copied(),
    })
}
