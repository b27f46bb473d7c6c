//! Runs: setups one after another, with the unit warming from one to the next; and what was logged in them.

use crate::reading::Measure;
use crate::unit::Unit;

/// From a moment on, a setup.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunStep {
    /// When it begins, seconds from the start of the run.
    pub seconds: f64,
    /// Index of the setup.
    pub setup: usize,
}

/// A run from cold.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Its name.
    pub name: String,
    /// Its setups in order of time; the first begins at zero.
    pub steps: Vec<RunStep>,
    /// When it ends, seconds.
    pub end_seconds: f64,
    /// Temperature of the room, degrees Celsius.
    pub room_celsius: f64,
    /// Line in the job file, counted from 1.
    pub line: usize,
}

impl Run {
    /// The setup that holds at a moment.
    pub fn setup_at(&self, seconds: f64) -> usize {
        let begun = self.steps.iter().rev().find(|step| step.seconds <= seconds);
        begun.or(self.steps.first()).map_or(0, |step| step.setup)
    }
}

/// What a channel of a log holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Logged {
    /// Amps, watts, volts or speed.
    Electric(Measure),
    /// Temperature of a body of a part, by part and body, degrees Celsius.
    Celsius(usize, usize),
    /// Temperature of the air of a stream behind a part that it passes, by part, degrees Celsius.
    Air(usize),
}

impl Logged {
    /// Whether it is a temperature.
    pub fn is_celsius(self) -> bool {
        !matches!(self, Logged::Electric(_))
    }

    /// The part whose temperature, or that of the air behind it, it is.
    pub fn warm_part(self) -> Option<usize> {
        match self {
            Logged::Celsius(part, _) | Logged::Air(part) => Some(part),
            Logged::Electric(_) => None,
        }
    }

    /// Where a temperature is, as typed: `M1.winding`, `H1.air`; nothing for others.
    pub fn celsius_place(self, unit: &Unit) -> Option<String> {
        match self {
            Logged::Celsius(part, body) => Some(unit.body_name(part, body)),
            Logged::Air(part) => Some(format!("{}.{AIR}", unit.parts()[part].name)),
            Logged::Electric(_) => None,
        }
    }
}

/// What the air behind a part is called in a log.
pub const AIR: &str = "air";

/// One quantity over the times of a log.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// What and where.
    pub logged: Logged,
    /// A value for each time; `None` where there is none.
    pub values: Vec<Option<f64>>,
    /// Line in the job file, counted from 1.
    pub line: usize,
}

/// What was written down during a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Index of the run.
    pub run: usize,
    /// Times in order, seconds from the start of the run.
    pub seconds: Vec<f64>,
    /// The quantities.
    pub channels: Vec<Channel>,
    /// Air of the room at each time, degrees Celsius, if it was logged.
    pub room: Option<Vec<Option<f64>>>,
    /// Index of the meter.
    pub meter: usize,
    /// Line in the job file, counted from 1.
    pub line: usize,
}
