//! What a run came to.

use crate::unit::Unit;
use machine::heat::Trend;

/// What happened at a moment of a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// A setup began, by its index in the job.
    Setup(usize),
    /// Heat opened the contact of a part.
    Opened(usize),
    /// The contact of a part closed again.
    Closed(usize),
    /// The breaker ahead of the unit opened at once.
    BreakerOpened,
    /// The earth-leakage trip ahead of the unit opened.
    ResidualTripOpened,
    /// The breaker ahead of the unit opened, warmed by too much current.
    BreakerTripped,
    /// A winding became hotter than its class allows: part and body.
    PassesClass(usize, usize),
    /// A winding burnt out, or another body became hotter than anything holds; the run ends here. Part and body.
    BurntOut(usize, usize),
}

/// Something that happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// Seconds from the start of the run.
    pub seconds: f64,
    /// What.
    pub what: What,
}

/// A moment that was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample<T> {
    /// Seconds from the start of the run.
    pub seconds: f64,
    /// Temperatures of all nodes of the layout, degrees Celsius.
    pub celsius: Vec<f64>,
    /// What was looked at.
    pub look: T,
}

/// Behaviour at the end of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// All temperatures stand.
    Settled,
    /// A contact of a part opens and closes.
    Cycling {
        /// The part.
        part: usize,
        /// Time from one opening to the next, seconds: the last whole cycle.
        period_seconds: f64,
        /// That of the cycle before, if there was one.
        previous_seconds: Option<f64>,
        /// Share of the last cycle in which the contact is closed.
        closed_share: f64,
    },
    /// Some body still moves, kelvins per hour; positive if it warms.
    Moving {
        /// Its part; `None` for air.
        part: Option<usize>,
        /// How fast.
        kelvin_per_hour: f64,
    },
    /// A body, by part and place in it, burnt out, and the run ended there; `None` for what is no part.
    BurntOut(Option<(usize, usize)>),
}

/// A run from cold to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline<T> {
    /// The moments that were asked for, in order; fewer if the unit burnt out before.
    pub samples: Vec<Sample<T>>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// How it ended.
    pub end: End,
    /// Temperatures of all nodes where it ended, degrees Celsius; where something got hotter without end, those of the last
    /// sample, and that of what did.
    pub end_celsius: Vec<f64>,
    /// Part and body of each node; air has none.
    pub nodes: Vec<Option<(usize, usize)>>,
    /// Node of the air behind each part, if a stream passes it.
    pub air: Vec<Option<usize>>,
    /// Temperature of the air about the unit, degrees Celsius.
    pub room_celsius: f64,
}

impl<T> Timeline<T> {
    /// How hot it is about a part that hardly warms by itself, degrees Celsius: what it sits on, the air of a stream that
    /// passes it, or the room.
    pub fn celsius_about(&self, unit: &Unit, part: usize, sample: &Sample<T>) -> f64 {
        let seat = unit.air().capacitors.iter().find(|touch| touch.part == part);
        let seat = seat.and_then(|touch| self.node(touch.on, touch.body));
        seat.or(self.air[part]).map_or(self.room_celsius, |node| sample.celsius[node])
    }

    /// The node of a body.
    pub fn node(&self, part: usize, body: usize) -> Option<usize> {
        self.nodes.iter().position(|&node| node == Some((part, body)))
    }
}

/// Slower than this is standing: 1 K in half an hour (IEC 60034-1, thermal equilibrium, from memory).
const STANDING_KELVIN_PER_SECOND: f64 = 1.0 / 1800.0;

/// The end that an outcome of the heat network amounts to; `parts` are those of its thresholds.
pub(super) fn end_of(outcome: &machine::heat::RunOutcome, parts: &[usize], nodes: &[Option<(usize, usize)>]) -> End {
    match outcome.trend(STANDING_KELVIN_PER_SECOND) {
        Trend::Settled => End::Settled,
        Trend::Cycling(cycle) => End::Cycling {
            part: parts[cycle.index],
            period_seconds: cycle.period_seconds,
            previous_seconds: cycle.previous_seconds,
            closed_share: cycle.duty,
        },
        Trend::Moving { node, kelvin_per_second } => {
            End::Moving { part: nodes[node].map(|(part, _)| part), kelvin_per_hour: 3600.0 * kelvin_per_second }
        }
    }
}
