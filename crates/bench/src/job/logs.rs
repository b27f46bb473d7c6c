//! Reads logs taken in runs.

use super::file::{ChannelEntry, LogEntry, LoggedValue};
use super::load::{Job, Reader};
use super::names;
use super::readings::Points;
use crate::heat::{AIR, Channel, Log, Logged};
use std::ops::Range;
use toml::Spanned;

/// Most times in one log; a longer one says no more.
const MOST_TIMES: usize = 5000;
/// Most channels in one log.
const MOST_CHANNELS: usize = 50;

/// Temperatures that a probe may show, degrees Celsius: from absolute zero to more than any heating element (engineering
/// judgement).
const CELSIUS: std::ops::RangeInclusive<f64> = -273.15..=2000.0;

/// Where a channel is that logs the air of the room.
pub(super) const ROOM: &str = "room";

/// What a channel turns out to be.
enum Read {
    /// Something of the unit.
    Unit(Channel),
    /// The air of the room.
    Room(Vec<Option<f64>>),
}

impl Reader<'_, '_> {
    pub(super) fn log(&mut self, job: &Job, entry: &LogEntry, span: Range<usize>) -> Option<Log> {
        let (run, meter) = (self.run_named(job, &entry.run), self.meter_named(job, entry.meter.as_ref()));
        let end = run.map_or(f64::INFINITY, |run| job.runs[run].end_seconds);
        if entry.minutes.is_empty() || entry.minutes.len() > MOST_TIMES {
            let problem = self.problems.error(span, format!("a log of {} times", entry.minutes.len()));
            problem.expected(format!("1 to {MOST_TIMES}")).mend("keep every tenth, or one a minute");
            return None;
        }
        let mut seconds: Vec<f64> = Vec::new();
        for time in &entry.minutes {
            let minute = *time.get_ref();
            let expected = if !minute.is_finite() || minute < 0.0 || minute * 60.0 > end {
                "a time within the run"
            } else if seconds.last().is_some_and(|&last| minute * 60.0 <= last) {
                "times in order, each once"
            } else {
                seconds.push(minute * 60.0);
                continue;
            };
            let problem = self.problems.error(time.span(), format!("a log at minute {minute}"));
            problem.expected(expected).mend("minutes from the start of the run; correct it or the run");
            return None;
        }
        if entry.channels.is_empty() || entry.channels.len() > MOST_CHANNELS {
            let problem = self.problems.error(span, format!("a log of {} channels", entry.channels.len()));
            problem.expected(format!("1 to {MOST_CHANNELS}")).mend("say what was logged, and where");
            return None;
        }
        let (mut channels, mut room) = (Vec::new(), None);
        let mut is_whole = true;
        for channel in &entry.channels {
            match self.channel(job, channel, seconds.len(), &span) {
                Some(Read::Unit(channel)) => channels.push(channel),
                Some(Read::Room(values)) if room.is_none() => room = Some(values),
                Some(Read::Room(_)) => {
                    let problem = self.problems.error(span.clone(), "two channels of the room");
                    problem.expected("one channel at = \"room\"").mend("remove one of them");
                    is_whole = false;
                }
                None => is_whole = false,
            }
        }
        let line = self.problems.line(span.start);
        is_whole.then_some(())?;
        Some(Log { run: run?, seconds, channels, room, meter: meter?, line })
    }

    fn channel(&mut self, job: &Job, entry: &ChannelEntry, times: usize, span: &Range<usize>) -> Option<Read> {
        let quantities = [
            ("amps", &entry.amps),
            ("watts", &entry.watts),
            ("volts", &entry.volts),
            ("rpm", &entry.rpm),
            ("celsius", &entry.celsius),
        ];
        let given: Vec<_> =
            quantities.into_iter().filter_map(|(name, values)| values.as_ref().map(|values| (name, values))).collect();
        let [(quantity, values)] = given[..] else {
            let message = if given.is_empty() { "a channel without values" } else { "a channel with two quantities" };
            let problem = self.problems.error(span.clone(), message);
            problem.expected("exactly one of amps, watts, volts, rpm, celsius").mend("write one channel for each");
            return None;
        };
        let count = values.get_ref().len();
        if count != times {
            let problem = self.problems.error(values.span(), format!("{count} values for {times} times"));
            problem.expected("a value for each time").mend("write \"none\" where there is no value");
            return None;
        }
        let numbers: Vec<Option<f64>> = values.get_ref().iter().map(|LoggedValue(value)| *value).collect();
        if quantity != "celsius" && numbers.iter().flatten().any(|&value| value < 0.0) {
            let problem = self.problems.error(values.span(), format!("negative {quantity}"));
            problem.expected("zero or above").mend("meters for alternating current show no sign");
            return None;
        }
        let strange = |value: &Option<f64>| value.is_some_and(|value| !CELSIUS.contains(&value));
        if let (true, Some(row)) = (quantity == "celsius", numbers.iter().position(strange)) {
            let value = numbers[row].unwrap_or_default();
            let problem = self.problems.error(values.span(), format!("{value} degrees Celsius in row {}", row + 1));
            problem
                .expected(format!("between absolute zero, {}, and {}", CELSIUS.start(), CELSIUS.end()))
                .mend("an open probe mostly shows such a value: write \"none\" where there is none");
            return None;
        }
        let logged = if quantity == "celsius" {
            let Some(at) = &entry.at else {
                let problem = self.problems.error(values.span(), "temperatures without a place");
                problem.expected("at = \"PART.BODY\"").mend("say where the probe was, such as M1.winding");
                return None;
            };
            if at.get_ref() == ROOM {
                return Some(Read::Room(numbers));
            }
            let behind = at.get_ref().split_once('.').filter(|(_, place)| *place == AIR);
            match behind.and_then(|(part, _)| job.unit.find_part(part)) {
                Some(part) if job.unit.air().has_stream_at(part) => Logged::Air(part),
                _ => {
                    let (part, body) = self.body_named(&job.unit, at)?;
                    Logged::Celsius(part, body)
                }
            }
        } else {
            let points = Points {
                between: entry.between.as_ref(),
                through: entry.through.as_ref(),
                of: entry.of.as_ref(),
                at: None,
            };
            Logged::Electric(self.measure(&job.unit, quantity, points, values.span())?)
        };
        Some(Read::Unit(Channel { logged, values: numbers, line: self.problems.line(values.span().start) }))
    }

    pub(super) fn run_named(&mut self, job: &Job, name: &Spanned<String>) -> Option<usize> {
        let found = job.find_run(name.get_ref());
        if found.is_none() && !self.unread.runs.contains(name.get_ref()) {
            let known: Vec<String> = job.runs.iter().map(|run| run.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown run '{}'", name.get_ref()));
            problem.expected("the name of a run").mend = names::mend(name.get_ref(), &known);
        }
        found
    }
}
