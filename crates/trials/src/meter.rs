//! The technician's meter, and the technician's mistakes.

use crate::random::Random;
use crate::truth::{Shown, State};
use bench::{Measure, Meter, TerminalId, Unit, Value};

/// Share of readings that are grossly wrong.
const GROSS_SHARE: f64 = 0.05;
/// Share of gross ohm readings that show over range: a probe that makes no contact.
const NO_CONTACT_SHARE: f64 = 0.1;

/// How a reading came to be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mistake {
    /// A probe that made no contact: over range.
    NoContact,
    /// The decimal point.
    Decimal,
    /// A probe on a neighbouring terminal.
    Place,
    /// A figure read 20 to 50 % too low or 20 to 100 % too high.
    Figure,
}

impl Mistake {
    /// All.
    pub const ALL: [Mistake; 4] = [Mistake::NoContact, Mistake::Decimal, Mistake::Place, Mistake::Figure];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Mistake::NoContact => "no contact: over range",
            Mistake::Decimal => "decimal point",
            Mistake::Place => "probe on a neighbouring terminal",
            Mistake::Figure => "figure misread",
        }
    }
}

/// What was written down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noted {
    /// The value.
    pub value: Value,
    /// Whether it is far from what a careful reading would have shown.
    pub is_gross: bool,
}

/// Takes a reading with meter errors and, now and then, a mistake; `None` if there is nothing to be read.
pub fn read(random: &mut Random, unit: &Unit, state: &State<'_>, measure: Measure, meter: &Meter) -> Option<Noted> {
    let careful = careful(random, state, measure, meter)?;
    if !random.chance(GROSS_SHARE) {
        return Some(Noted { value: careful, is_gross: false });
    }
    let (value, _) = mistaken(random, unit, state, measure, meter, careful);
    Some(Noted { value, is_gross: is_gross(meter, measure, careful, value) })
}

/// Takes a reading with meter errors and without a mistake; `None` if there is nothing to be read.
pub fn careful(random: &mut Random, state: &State<'_>, measure: Measure, meter: &Meter) -> Option<Value> {
    Some(shown(random, state.measure(measure)?, measure, meter))
}

/// What a mistake makes of a careful reading; now and then much the same.
pub fn mistaken(
    random: &mut Random,
    unit: &Unit,
    state: &State<'_>,
    measure: Measure,
    meter: &Meter,
    careful: Value,
) -> (Value, Mistake) {
    match random.below(3) {
        _ if matches!(measure, Measure::Ohms(..)) && random.chance(NO_CONTACT_SHARE) => {
            (Value::Open, Mistake::NoContact)
        }
        0 => (scaled(careful, if random.chance(0.5) { 10.0 } else { 0.1 }), Mistake::Decimal),
        1 => match state.measure(wrong_place(random, unit, measure)) {
            Some(other) => (shown(random, other, measure, meter), Mistake::Place),
            None => (careful, Mistake::Place),
        },
        _ => {
            let factor = if random.chance(0.5) { random.between(1.2, 2.0) } else { random.between(0.5, 0.8) };
            (scaled(careful, factor), Mistake::Figure)
        }
    }
}

/// Whether what was written down is far from what a careful reading shows.
pub fn is_gross(meter: &Meter, measure: Measure, careful: Value, value: Value) -> bool {
    match (careful, value) {
        (Value::Number(careful), Value::Number(value)) => {
            (careful - value).abs() > 3.0 * meter.accuracy(measure).half_width(careful).max(0.05 * careful)
        }
        (careful, value) => careful != value,
    }
}

fn scaled(value: Value, factor: f64) -> Value {
    match value {
        Value::Number(number) => Value::Number(digits(number * factor)),
        Value::Open => Value::Open,
    }
}

/// A neighbouring place: the next terminal of the unit for one of the probes.
fn wrong_place(random: &mut Random, unit: &Unit, measure: Measure) -> Measure {
    let next = |terminal: TerminalId, step: usize| TerminalId((terminal.0 + step) % unit.terminal_count());
    let step = 1 + random.below(2);
    match measure {
        Measure::Ohms(a, b) => Measure::Ohms(next(a, step), b),
        Measure::Volts(a, b) => Measure::Volts(next(a, step), b),
        Measure::AmpsAtTerminal(a) => Measure::AmpsAtTerminal(next(a, step)),
        other => other,
    }
}

/// What the meter shows: the maker's promise as a rectangular distribution, four digits.
fn shown(random: &mut Random, truth: Shown, measure: Measure, meter: &Meter) -> Value {
    let Shown::Number(truth) = truth else { return Value::Open };
    if truth > meter.limit(measure) {
        return Value::Open;
    }
    let is_amps = matches!(measure, Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_));
    if is_amps && truth < meter.amps_floor && random.chance(0.5) {
        return Value::Number(0.0);
    }
    let half = meter.accuracy(measure).half_width(truth);
    let count = meter.accuracy(measure).count;
    let value = (truth + random.between(-half, half)).max(0.0);
    Value::Number(digits((value / count).round() * count))
}

/// Four digits, as a meter of 6000 counts shows them.
fn digits(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    format!("{value:.3e}").parse().unwrap_or(value)
}
