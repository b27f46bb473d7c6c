//! Readings and symptoms.

use crate::bars::BarPair;
use crate::unit::TerminalId;

/// What is measured, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    /// Resistance between two terminals, unit unplugged.
    Ohms(TerminalId, TerminalId),
    /// Capacitance, microfarads, between the terminals of a capacitor that is off its wires, unit unplugged.
    Microfarads(TerminalId, TerminalId),
    /// Voltage between two terminals.
    Volts(TerminalId, TerminalId),
    /// Current in the lead at a terminal.
    AmpsAtTerminal(TerminalId),
    /// Current in a wire, by its index.
    AmpsInWire(usize),
    /// Real power taken by a part, or by the whole unit if the part is the supply or a cord.
    Watts(usize),
    /// Speed of a motor.
    Rpm(usize),
    /// Current, milliamperes, that a person would carry from a terminal to earth, by the network that stands for one.
    TouchMilliamps(TerminalId),
    /// Current, milliamperes, that does not come back: the sum of all conductors of a cord or supply but earth.
    LeakageMilliamps(usize),
    /// Time from switching the setup off to the motor's standstill.
    RunDown(usize),
    /// A figure of a round from bar to bar of a commutator, unit unplugged and brushes lifted.
    Bars(usize, BarPair),
}

impl Measure {
    /// Whether another measure is of the same place, whichever way round the leads are.
    pub fn is_of_one_place(self, other: Measure) -> bool {
        let turned = match self {
            Measure::Ohms(a, b) => Measure::Ohms(b, a),
            Measure::Volts(a, b) => Measure::Volts(b, a),
            Measure::Microfarads(a, b) => Measure::Microfarads(b, a),
            _ => self,
        };
        self == other || turned == other
    }

    /// Unit symbol for people.
    pub fn unit(self) -> &'static str {
        match self {
            Measure::Ohms(..) | Measure::Bars(_, BarPair::Typical) => "ohm",
            Measure::Bars(..) => "times",
            Measure::Microfarads(..) => "uF",
            Measure::Volts(..) => "V",
            Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => "A",
            Measure::Watts(_) => "W",
            Measure::Rpm(_) => "rpm",
            Measure::TouchMilliamps(_) => "mA touch",
            Measure::LeakageMilliamps(_) => "mA leakage",
            Measure::RunDown(_) => "s",
        }
    }
}

/// A measured value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value {
    /// A number in the measure's unit.
    Number(f64),
    /// Over range, 'OL': of ohms open, of a capacitance shorted.
    Open,
}

/// One reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Index of its setup.
    pub setup: usize,
    /// What was measured.
    pub measure: Measure,
    /// What the meter showed.
    pub value: Value,
    /// Index of the meter.
    pub meter: usize,
    /// Line in the job file, counted from 1; 0 if it did not come from a file.
    pub line: usize,
    /// What every pair of neighbouring bars showed, in order, if it is a round from bar to bar; `value` is its middle.
    pub round: Vec<Value>,
}

/// What can be said of a part without a meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    /// Does nothing at all.
    Dead,
    /// Works as it should.
    Normal,
    /// Turns, but slower than it should.
    Slow,
    /// Energised and humming, but not turning.
    Hums,
    /// Does not start by itself but runs when given a push.
    RunsWhenPushed,
    /// Its protector opens, or the breaker or the earth-leakage trip does.
    Trips,
    /// Runs hotter than it should.
    RunsHot,
    /// Smells of hot insulation.
    SmellsHot,
    /// Touching the metal gives a shock.
    Shocks,
    /// Turns the wrong way round.
    RunsBackwards,
    /// Shakes as it runs.
    Vibrates,
    /// Turned by hand, unplugged, its shaft goes as freely as that of such a motor does.
    TurnsFreely,
    /// Turned by hand, its shaft goes, but hard.
    Stiff,
    /// Its shaft cannot be turned by hand.
    DoesNotTurn,
    /// Its shaft can be moved sideways.
    Wobbles,
}

impl Word {
    /// All words, for help texts.
    pub const ALL: [Word; 15] = [
        Word::Dead,
        Word::Normal,
        Word::Slow,
        Word::Hums,
        Word::RunsWhenPushed,
        Word::Trips,
        Word::RunsHot,
        Word::SmellsHot,
        Word::Shocks,
        Word::RunsBackwards,
        Word::Vibrates,
        Word::TurnsFreely,
        Word::Stiff,
        Word::DoesNotTurn,
        Word::Wobbles,
    ];

    /// Whether it is felt with a hand on the shaft of an unplugged motor.
    pub fn is_felt_by_hand(self) -> bool {
        matches!(self, Word::TurnsFreely | Word::Stiff | Word::DoesNotTurn | Word::Wobbles)
    }

    /// As typed in a job file.
    pub fn as_str(self) -> &'static str {
        match self {
            Word::Dead => "dead",
            Word::Normal => "normal",
            Word::Slow => "slow",
            Word::Hums => "hums",
            Word::RunsWhenPushed => "runs-when-pushed",
            Word::Trips => "trips",
            Word::RunsHot => "runs-hot",
            Word::SmellsHot => "smells-hot",
            Word::Shocks => "shocks",
            Word::RunsBackwards => "runs-backwards",
            Word::Vibrates => "vibrates",
            Word::TurnsFreely => "turns-freely",
            Word::Stiff => "stiff",
            Word::DoesNotTurn => "does-not-turn",
            Word::Wobbles => "wobbles",
        }
    }
}

/// A reading in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Symptom {
    /// Index of its setup.
    pub setup: usize,
    /// The part it was noticed at.
    pub part: usize,
    /// What was noticed.
    pub word: Word,
    /// Line in the job file, counted from 1.
    pub line: usize,
}
