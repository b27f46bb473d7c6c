//! From the logs after a repair to verdicts.

use crate::by_ohms::{self, WindingByOhms};
use crate::expected::expected;
use crate::logged_run::{live_setup, live_stretch, logged};
use bench::heat::{Log, Logged, Run};
use bench::winding_class::InsulationClass;
use bench::{Job, Unit};
use draw::Drawing;
use draw::chart::{self, Series, time_log};
use proof::heat_run::cycling::Cycling;
use proof::heat_run::finding::{Asked, ChannelFinding, find};
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::{Verdict, Withheld};

/// A forecast is drawn until so near its end, kelvins, and over so many minutes at least and at most.
const DRAWN_WITHIN_KELVIN: f64 = 1.0;
const DRAWN_LEAST: f64 = 15.0;
const DRAWN_MOST: f64 = 600.0;
/// Points of a drawn forecast.
const POINTS: u32 = 40;
const CELSIUS: &str = "°C";

/// A judged heat run.
#[derive(Debug, Clone)]
pub struct HeatRun {
    /// Name of the run.
    pub name: String,
    /// The setup that it is judged in; nothing if the supply is never on in it.
    pub setup: Option<usize>,
    /// Per temperature.
    pub channels: Vec<HeatChannel>,
    /// Of all that have a limit together.
    pub verdict: Verdict,
    /// When the unit stopped, if it did.
    pub cycling: Option<Cycling>,
    /// Row at which the current stops for good, counted from 1.
    pub ends_at: Option<u64>,
    /// Windings by their ohms after it.
    pub by_ohms: Vec<WindingByOhms>,
}

/// A judged temperature.
#[derive(Debug, Clone)]
pub struct HeatChannel {
    /// Minutes and degrees Celsius as logged.
    pub points: Vec<(f64, f64)>,
    /// What is found of it; its limit holds in the room of the run.
    pub finding: ChannelFinding,
    /// The class that its limit is of.
    pub class: Option<InsulationClass>,
    /// Its part and body; `None` for the air of a stream.
    pub place: Option<(usize, usize)>,
    /// Minutes of the log at which its judged stretch begins.
    begins_at: f64,
}

/// Every log after the repair, judged, in the order of the job; ohms with the last log of their run. After these, runs of which
/// there are ohms only.
pub fn heat_runs(job: &Job) -> Vec<HeatRun> {
    let Some(repaired) = &job.repaired else { return Vec::new() };
    let mut runs: Vec<HeatRun> = repaired.logs.iter().map(|log| judged(job, log)).collect();
    for hot in &repaired.hot_ohms {
        let run = &job.runs[hot.run];
        let log = repaired.logs.iter().rposition(|log| log.run == hot.run);
        let place = log.or_else(|| runs.iter().position(|known| known.name == run.name));
        let place = place.unwrap_or_else(|| {
            runs.push(empty(job, run));
            runs.len() - 1
        });
        let room_celsius = log.map_or(run.room_celsius, |log| room_at_end(&repaired.logs[log], run));
        let found = by_ohms::judged(job, hot, &runs[place].channels, room_celsius);
        runs[place].by_ohms.push(found);
    }
    runs
}

/// A run without a temperature to judge.
fn empty(job: &Job, run: &Run) -> HeatRun {
    HeatRun {
        name: run.name.clone(),
        setup: live_setup(job, run),
        channels: Vec::new(),
        verdict: Verdict::NotYet,
        cycling: None,
        ends_at: None,
        by_ohms: Vec::new(),
    }
}

fn room_at_end(log: &Log, run: &Run) -> f64 {
    log.room.iter().flatten().rev().find_map(|value| *value).unwrap_or(run.room_celsius)
}

fn judged(job: &Job, log: &Log) -> HeatRun {
    let run = &job.runs[log.run];
    let room_celsius = room_at_end(log, run);
    let setup = live_setup(job, run);
    let mut asked = Asked {
        room_celsius: Some(room_celsius),
        was_never_on: setup.is_none(),
        // Who read ohms after it has switched it off.
        was_switched_off: job.repaired.iter().flat_map(|repaired| &repaired.hot_ohms).any(|hot| hot.run == log.run),
        ..Asked::default()
    };
    let (mut points, mut classes) = (Vec::new(), Vec::new());
    for channel in &log.channels {
        let Some(name) = channel.logged.celsius_place(&job.unit) else { continue };
        let (place, limit) = match channel.logged {
            Logged::Celsius(part, body) => {
                (Some((part, body)), limit_of(&job.unit, part, body, job.unit.winding_class(part), room_celsius))
            }
            Logged::Air(_) | Logged::Electric(_) => (None, None),
        };
        classes.push((place, limit.as_ref().map(|(_, class)| *class)));
        asked.named_limits.extend(limit.map(|(limit, _)| (name, limit)));
        let values = log.seconds.iter().zip(&channel.values);
        points.push(values.filter_map(|(&seconds, value)| value.map(|value| (seconds / 60.0, value))).collect());
    }
    let temperatures: Vec<Logged> = log.channels.iter().map(|channel| channel.logged).collect();
    // A unit that cannot be solved is told of elsewhere; its temperatures are then expected to do what is usual.
    asked.priors = expected(job, run, &temperatures).unwrap_or_default();
    let known = logged(job, log.run, [log]);
    // Without any temperature there is nothing to judge.
    let Ok(found) = find(&known, &asked) else { return empty(job, run) };
    let judged = known.channels.iter().filter(|channel| !channel.is_room);
    let ends: Vec<Option<f64>> = judged.map(|channel| channel.bins.means().last().map(|(end, _)| end)).collect();
    let live = live_stretch(job, run).start;
    let channels = found.channels.into_iter().zip(points).zip(classes).zip(ends);
    let channels = channels.map(|(((finding, points), (place, class)), end)| {
        let last = finding.series.minutes.last().copied().unwrap_or_default();
        let begins_at = end.map_or(0.0, |end| (live + end) / 60.0 - last);
        HeatChannel { points, finding, class, place, begins_at }
    });
    HeatRun {
        channels: channels.collect(),
        verdict: found.verdict,
        cycling: found.cycling,
        ends_at: found.ends_at,
        ..empty(job, run)
    }
}

/// The limit of a winding in a room, and of the core about it, which is cooler, with its class; nothing for a class that the
/// standard has no limit for.
pub fn limit_of(
    unit: &Unit,
    part: usize,
    body: usize,
    class: InsulationClass,
    room_celsius: f64,
) -> Option<(Limit, InsulationClass)> {
    let body = &unit.heat_of(part).bodies[body];
    if !(body.is_winding() || body.name == "core") {
        return None;
    }
    let limit = class.standard_limit(room_celsius)?;
    let source = format!("{}, {}", class.words(), limit.source);
    Some((Limit { words: body.name.replace('-', " "), source, ..limit }, class))
}

impl HeatChannel {
    /// What it is.
    pub fn name(&self) -> &str {
        &self.finding.name
    }

    /// Where it is going, degrees Celsius, with the ends of the 95 % interval; nothing if too little was logged.
    pub fn going_to(&self) -> Option<(f64, [f64; 2])> {
        self.finding.judgement.forecast.as_ref().map(|forecast| {
            let (low, high) = forecast.interval(0.95);
            (forecast.final_celsius(), [low, high])
        })
    }

    /// Whether it passes; `None` as long as that is open.
    pub fn passes(&self) -> Option<bool> {
        match self.finding.judgement.verdict {
            Verdict::Pass => Some(true),
            Verdict::Fail => Some(false),
            Verdict::NotYet => None,
        }
    }

    /// The verdict in words.
    pub fn words(&self) -> &'static str {
        match (self.finding.judgement.verdict, self.finding.judgement.withheld) {
            (Verdict::Pass, _) => "stays below its limit",
            (Verdict::Fail, _) => "goes above its limit",
            (_, Some(Withheld::NoLimit)) => "no limit is known for it",
            (_, Some(Withheld::TooShort | Withheld::TooEarly)) => "the run is too short to know",
            (_, Some(Withheld::Interrupted)) => "the run was interrupted: a cutout, or somebody switched it off",
            (_, Some(Withheld::SensorLost)) => "the sensor fell off, or its readings stop",
            (_, Some(Withheld::BelowRoom)) => "is or ends below the room: not a temperature of this unit",
            (_, Some(Withheld::RoomUnknown)) => "the room's temperature is not known, and its limit is meant for one",
            (_, Some(Withheld::HardlyWarmed)) => "has hardly warmed: was the unit on, and the sensor on it?",
            (_, Some(Withheld::Off)) => "the supply was off in this run: it proves nothing",
            _ => "not certain yet: go on logging",
        }
    }

    /// Where it is expected to go from its last reading on, minutes of the log and degrees Celsius.
    fn expected(&self) -> Option<Vec<(f64, f64)>> {
        let forecast = self.finding.judgement.forecast.as_ref()?;
        let now = *self.finding.series.minutes.last()?;
        let ahead = forecast.minutes_until_within(DRAWN_WITHIN_KELVIN, 0.5).clamp(DRAWN_LEAST, DRAWN_MOST);
        let minute = |point: u32| now + ahead * f64::from(point) / f64::from(POINTS);
        let at = |minute: f64| (self.begins_at + minute, forecast.expected_celsius(minute));
        Some((0..=POINTS).map(minute).map(at).collect())
    }
}

impl HeatRun {
    /// The readings over time with where they are going and their limits; no forecast of a run that has ended.
    pub fn chart(&self, width: f64) -> Drawing {
        let mut series = Vec::new();
        let mut held_to: Vec<chart::Limit> = Vec::new();
        for channel in &self.channels {
            let line = |label: String, points| Series { label, unit: CELSIUS.into(), points };
            series.push(line(channel.name().to_owned(), channel.points.clone()));
            let expected = channel.expected().filter(|_| self.ends_at.is_none());
            series.extend(expected.map(|points| line(format!("{}, expected", channel.name()), points)));
            let Some(limit) = &channel.finding.limit else { continue };
            match held_to.iter_mut().find(|known| known.value == limit.celsius) {
                None => held_to.push(chart::Limit {
                    words: limit.words.clone(),
                    unit: CELSIUS.into(),
                    value: limit.celsius,
                }),
                Some(known) if !known.words.contains(&limit.words) => known.words += &format!(", {}", limit.words),
                Some(_) => {}
            }
        }
        time_log(&format!("Run: {}", self.name), &series, &held_to, width)
    }
}
