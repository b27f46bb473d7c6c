//! What was entered for a test, and what it proves.

use super::limits::Bound;

/// What a test measures, in SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Ohms.
    Ohms,
    /// Amperes.
    Amperes,
}

impl Quantity {
    /// The unit as it is written: `ohm`, `A`.
    pub fn unit(self) -> &'static str {
        match self {
            Quantity::Ohms => "ohm",
            Quantity::Amperes => "A",
        }
    }

    /// A value as a technician reads it: `0.12 ohm`, `200 Mohm`, `0.3 mA`.
    pub fn words(self, si: f64) -> String {
        let (scaled, prefix) = match (self, si.abs()) {
            (Quantity::Ohms, size) if size >= 0.995e6 => (si / 1e6, "M"),
            (Quantity::Ohms, size) if size >= 0.995e3 => (si / 1e3, "k"),
            (Quantity::Amperes, size) if size < 0.9995 => (si * 1e3, "m"),
            _ => (si, ""),
        };
        // Three decimals are finer than any limit, and hide what rounding left.
        let text = format!("{scaled:.3}");
        format!("{} {prefix}{}", text.trim_end_matches('0').trim_end_matches('.'), self.unit())
    }
}

/// Whether the instrument showed a number, or that the value is beyond one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comparison {
    /// The number.
    Equal,
    /// More than the number: `>200 Mohm`.
    Above,
    /// Less than the number: `<0.01 ohm`.
    Below,
}

/// Accuracy of an instrument: percent of the reading, and an absolute part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Percent of the reading.
    pub percent: f64,
    /// All counts together, in the SI unit of the reading.
    pub absolute: f64,
}

impl Accuracy {
    /// What is taken of an instrument that is not described: 5 % and two digits of the last place shown (engineering judgement,
    /// what handheld appliance testers promise; IEC 61557 lets them be off by up to 30 %, from memory).
    pub fn usual(last_digit: f64) -> Self {
        Accuracy { percent: 5.0, absolute: 2.0 * last_digit }
    }

    /// Half width of what the true value may be off by.
    pub fn half_width(self, reading: f64) -> f64 {
        self.percent / 100.0 * reading.abs() + self.absolute
    }
}

/// What an instrument showed, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// What it is.
    pub quantity: Quantity,
    /// Whether it is the number or beyond it.
    pub comparison: Comparison,
    /// The number.
    pub si: f64,
    /// How far off the instrument may be.
    pub accuracy: Accuracy,
}

/// What was entered.
#[derive(Debug, Clone, PartialEq)]
pub enum Entered {
    /// A value.
    Value(Value),
    /// Seen to be in order.
    Passed,
    /// Seen not to be.
    Failed,
    /// Not done, and why.
    NotDone(String),
}

/// An entry of the sheet. Of several for one test the last counts, for each place.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The test.
    pub test: super::Test,
    /// What was entered.
    pub entered: Entered,
    /// The same as it was typed.
    pub typed: String,
    /// Where, if there are several places.
    pub at: Option<String>,
    /// When.
    pub date: Option<String>,
    /// With which instrument.
    pub instrument: Option<String>,
}

/// What a test or a sheet came to, worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// Within its limit by more than the instrument's error.
    Pass,
    /// Neither.
    NotProven,
    /// Outside its limit by more than the instrument's error.
    Fail,
}

impl Outcome {
    /// `pass`, `not proven`, `fail`.
    pub fn words(self) -> &'static str {
        match self {
            Outcome::Pass => "pass",
            Outcome::NotProven => "not proven",
            Outcome::Fail => "fail",
        }
    }
}

/// Judges a value against its limit: within the error of the instrument nothing is proven, either way. Says why.
///
/// A value that is only known to be above or below a number passes or fails if all values there do.
pub fn judge(value: Value, bound: Bound) -> (Outcome, String) {
    let half_width = value.accuracy.half_width(value.si);
    let (low, high) = match value.comparison {
        Comparison::Equal => (value.si - half_width, value.si + half_width),
        Comparison::Above => (value.si, f64::INFINITY),
        Comparison::Below => (f64::NEG_INFINITY, value.si),
    };
    let (is_within, is_outside) = match bound {
        Bound::AtMost(limit) => (high <= limit, low > limit),
        Bound::AtLeast(limit) => (low >= limit, high < limit),
    };
    let limit = bound.words(value.quantity);
    match (is_within, is_outside, value.comparison) {
        (true, ..) => (Outcome::Pass, limit),
        (_, true, _) => (Outcome::Fail, format!("outside {limit}")),
        (_, _, Comparison::Equal) => {
            let error = value.quantity.words(half_width);
            (
                Outcome::NotProven,
                format!("within the instrument's error of {error} of the limit, {limit}: use a better one"),
            )
        }
        _ => (Outcome::NotProven, format!("the range of the instrument ends before the limit, {limit}")),
    }
}
