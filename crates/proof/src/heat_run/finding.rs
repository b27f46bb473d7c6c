//! A whole log judged: which stretch of it counts, each temperature by itself, and what is said of all together.

use super::cycling::{Cycling, by_current, by_temperature};
use super::equilibrium::{RULES, Rule, first_satisfied, satisfied_at_end};
use super::forecast::Series;
use super::forecast::prior::ThermalPrior;
use super::import::header::Quantity;
use super::import::{Channel, Log};
use super::limit::Limit;
use super::quick::{Quick, quick};
use super::stops::{self, Fall};
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

/// Where a run was interrupted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interrupted {
    /// Minute of the log at which a temperature fell, or the current stopped.
    pub minute: f64,
    /// Minute at which it rose again, or the current came back; nothing if it did not.
    pub until_minute: Option<f64>,
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
    /// When the unit stopped, if it did, by the current or else by a temperature.
    pub cycling: Option<Cycling>,
    /// Row at which the current stops for good.
    pub ends_at: Option<u64>,
    /// The room at the end, if it is known.
    pub room_celsius: Option<f64>,
    /// Whether that was logged, and not only said.
    pub is_room_logged: bool,
}

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
    let room = log.channels.iter().find(|channel| channel.is_room && channel.bins.readings > 0);
    let room: Option<Vec<(f64, f64)>> = room.map(|room| room.bins.means().collect());
    let mut stretch = Stretch::of(log);
    let mut cycling = by_current(log, &judged);
    if cycling.is_none() {
        cycling = stretch.narrowed(&judged, room.as_deref(), asked);
    }
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
        cycling,
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
            until_minute: interruption.on.map(|(_, seconds)| seconds / 60.0),
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

    /// Where the current tells of no stop, what the temperatures tell: those with a limit, of which the one that shows most
    /// stops is believed. Others may be cooled by a door that is opened.
    fn narrowed(&mut self, judged: &[&Channel], room: Option<&[(f64, f64)]>, asked: &Asked) -> Option<Cycling> {
        let fallen = judged.iter().filter(|channel| limit_of(channel, asked).is_some()).map(|channel| {
            let (series, from) = series(channel, self, room);
            (channel, self::falls(&series, from))
        });
        let fallen: Vec<_> = fallen.collect();
        let count = |falls: &[Fall]| falls.iter().filter(|fall| fall.is_stop()).count();
        // Of several that show as many, the one that fell first is nearest to the heat.
        let (channel, falls) = fallen.iter().max_by(|(_, a), (_, b)| {
            let first = |falls: &[Fall]| falls.first().map_or(f64::MAX, |fall| fall.from.0);
            count(a).cmp(&count(b)).then(first(b).total_cmp(&first(a)))
        })?;
        let stops: Vec<Fall> = falls.iter().copied().filter(Fall::is_stop).collect();
        if let Some(&first) = stops.first() {
            self.stopped = Some(interrupted(first));
            self.returns = stops.len();
        }
        if let Some((until, _)) = stops.last().and_then(|stop| stop.until) {
            self.from = 60.0 * until;
        }
        // Somebody who says so has switched off where it falls to the end.
        if let Some(last) = falls.last().filter(|fall| asked.was_switched_off && fall.until.is_none() && fall.cools) {
            self.to = 60.0 * last.from.0 + 1e-3;
        }
        by_temperature(&channel.name, &stops)
    }
}

fn interrupted(fall: Fall) -> Interrupted {
    Interrupted { minute: fall.from.0, until_minute: fall.until.map(|until| until.0), row: None }
}

/// Falls of a series that begins at so many seconds of the log, by minutes of the log.
fn falls(series: &Series, from: f64) -> Vec<Fall> {
    let shifted = |(minute, celsius): (f64, f64)| (from / 60.0 + minute, celsius);
    let each = stops::falls(series).into_iter();
    each.map(|fall| Fall { from: shifted(fall.from), until: fall.until.map(shifted), ..fall }).collect()
}

fn limit_of<'a>(channel: &Channel, asked: &'a Asked) -> Option<&'a Limit> {
    let named = asked.named_limits.iter().find(|(name, _)| channel.name.eq_ignore_ascii_case(name));
    named.map(|(_, limit)| limit).or(asked.limit.as_ref())
}

/// What is judged of a temperature, and from how many seconds of the log on.
fn series(channel: &Channel, stretch: &Stretch, room: Option<&[(f64, f64)]>) -> (Series, f64) {
    let from = stretch.from.max(channel.put_on_seconds.unwrap_or_default());
    let mut series = Series { resolution_kelvin: channel.bins.resolution(), ..Series::default() };
    for (seconds, value) in channel.bins.means().filter(|&(seconds, _)| seconds >= from && seconds < stretch.to) {
        series.minutes.push((seconds - from) / 60.0);
        series.celsius.push(value);
    }
    series.room =
        room.map(|room| series.minutes.iter().map(|minutes| interpolated(room, from + 60.0 * minutes)).collect());
    (series, from)
}

fn channel_finding(
    channel: &Channel,
    stretch: &Stretch,
    room: Option<&[(f64, f64)]>,
    stopped: Option<Interrupted>,
    asked: &Asked,
) -> ChannelFinding {
    let (series, from) = series(channel, stretch, room);
    let limit = limit_of(channel, asked);
    let prior =
        asked.priors.iter().find(|(name, _)| *name == channel.name).map(|&(_, prior)| prior).unwrap_or_default();
    let mut judgement = judge(&series, limit, asked.room_celsius, &prior);
    let interrupted = stopped.or_else(|| falls(&series, from).first().copied().map(interrupted));
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

/// Value at a time by the straight line between its neighbours; beyond the ends the end.
pub(super) fn interpolated(points: &[(f64, f64)], at: f64) -> f64 {
    let next = points.partition_point(|&(time, _)| time < at);
    match (next.checked_sub(1).and_then(|last| points.get(last)), points.get(next)) {
        (Some(&(t0, y0)), Some(&(t1, y1))) => y0 + (y1 - y0) * (at - t0) / (t1 - t0),
        (Some(&(_, y)), None) | (None, Some(&(_, y))) => y,
        (None, None) => f64::NAN,
    }
}
