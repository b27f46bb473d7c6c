//! Wrong job files: each gets its problems with place, message, expectation and mend; none panics or loops.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod access;
mod connections;
mod files;
mod hot_ohms;
mod names;
mod places;
mod plates;
mod readings;
mod safety;
mod starting_motors;
mod twice;
mod values;

use bench::job::{LARGEST_FILE_BYTES, Severity, read, read_bytes};
use bench::{Job, Problem, Problems};
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// A job without any problem, for the cases to spoil.
const SOUND: &str = r#"[unit]
name = "Fan over a door"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"

[parts.S]
kind = "switch"
positions.off = []
positions.on = [["line", "run"]]

[parts.M1]
kind = "capacitor-run-motor"
plate = { volts = 230, hertz = 50, amps = 0.6, rpm = 1310 }

[parts.C1]
kind = "run-capacitor"
microfarads = 3

[parts.J]
kind = "splice"
legs = ["a", "b"]

[meters.clamp]
amps_floor = 0.05

[setups.live]
supply = "on"
positions = { S = "on" }

[setups.bare]
supply = "off"

[[wires]]
from = "cord.hot"
to = "S.line"
label = "brown lead"

[[wires]]
from = "S.run"
to = "M1.run"

[[wires]]
from = "M1.run"
to = "C1.a"

[[wires]]
from = "C1.b"
to = "M1.start"

[[wires]]
from = "M1.common"
to = "J.a"

[[wires]]
from = "J.b"
to = "cord.neutral"

[[wires]]
from = "cord.earth"
to = "frame"

[[readings]]
setup = "live"
amps = 0.61
through = "brown lead"
meter = "clamp"

[[readings]]
setup = "live"
volts = 229
between = ["M1.run", "M1.common"]

[[readings]]
setup = "bare"
ohms = 27.1
between = ["M1.common", "M1.run"]

[[symptoms]]
setup = "live"
part = "M1"
word = "slow"
"#;

/// Stands where a problem is expected; taken out before the text is read.
const MARK: char = '^';

/// Takes the mark out of a text; returns line and column of where it stood.
fn marked(text: &str) -> (String, usize, usize) {
    let at = text.find(MARK).expect("a mark in the text");
    let before = &text[..at];
    let line = before.split('\n').count();
    let column = before.split('\n').next_back().unwrap().chars().count() + 1;
    (text.replacen(MARK, "", 1), line, column)
}

/// The sound job with one passage replaced.
fn spoilt(passage: &str, by: &str) -> String {
    assert_eq!(SOUND.matches(passage).count(), 1, "'{passage}' is to be found once");
    SOUND.replacen(passage, by, 1)
}

fn problems(text: &str) -> Vec<Problem> {
    read("job.toml", text).expect_err("this job is to be refused").0
}

/// The only error in a text.
fn only_error(text: &str) -> Problem {
    let problems = problems(text);
    let mut errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let error = errors.next().expect("an error").clone();
    assert!(errors.next().is_none(), "more than one error:\n{}", Problems(problems));
    error
}

/// Checks that a marked text has one error, at the mark; an empty expectation or mend stands for none.
#[track_caller]
fn check_text(text: &str, message: &str, expected: &str, mend: &str) {
    let (text, line, column) = marked(text);
    let error = only_error(&text);
    let words = |words: Option<String>| words.unwrap_or_default();
    let found = (error.message, words(error.expected), words(error.mend));
    assert_eq!(found, (message.to_owned(), expected.to_owned(), mend.to_owned()));
    assert_eq!((error.line, error.column), (line, column), "line and column of '{message}'");
    assert_eq!(error.file, "job.toml");
}

/// As [`check_text`], for the sound job with one passage replaced.
#[track_caller]
fn check(passage: &str, by: &str, message: &str, expected: &str, mend: &str) {
    check_text(&spoilt(passage, by), message, expected, mend);
}

const A_NUMBER: &str = "a number above zero, such as 27.1 or \"4.7k\"";
const A_SHOWN: &str = "what the meter showed: a number such as 27.1 or \"4.7k\", or \"open\" or \"dead\"";
const ALL_KINDS: &str = "one of supply, two-leg-supply, three-phase-supply, cord, switch, capacitor-run-motor, shaded-pole-motor, \
     universal-motor, timer-motor, split-phase-motor, reversible-motor, compressor, three-phase-motor, run-capacitor, start-capacitor, \
     potential-relay, current-relay, ptc-starter, inrush-limiter, relay, sequencer, transformer, solenoid-valve, heater, half-wave-diode, thermal-cutout, \
     thermal-fuse, manual-reset-cutout, overload-relay, fuse, thermostat, indicator-lamp, interference-filter, varistor, splice";

#[test]
fn the_sound_job_has_no_problem_and_no_warning() {
    let job = read("job.toml", SOUND).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(job.warnings, Problems::default());
    assert_eq!((job.readings.len(), job.symptoms.len(), job.unit.wires().len()), (3, 1, 7));
    assert_eq!(SOUND.lines().nth(job.readings[2].line - 1), Some("[[readings]]"));
}
