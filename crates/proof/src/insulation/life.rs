//! The life that heat costs insulation: a factor of two for every ten kelvins, with its doubt.
//!
//! # Assumes
//! Ageing by heat alone, no vibration, damp or switching surges; the same law at all temperatures. Neither is quite true: the
//! line through the 40 motorettes of Nelson and Hahn (1972, tested at 150 to 220 degrees Celsius) halves the life in 11.4 K at
//! 130 and in 15.0 K at 190 degrees Celsius; from 190 down to 130 the rule of ten kelvins promises 2.6 times what it gains.

use super::class::ThermalClass;
use crate::source::Source;

/// Kelvins that halve the life, by the usual rule (Montsinger).
pub const HALVING_KELVINS: f64 = 10.0;
/// The range that is usually quoted, kelvins.
pub const HALVING_RANGE_KELVINS: [f64; 2] = [8.0, 10.0];
/// Where the rule comes from.
pub const HALVING_SOURCE: Source = Source::verified(
    "Kosow, Electric Machinery and Transformers",
    "Ex. 13-1; the range of 8 to 10 K from a commentary on GB/T standards",
    "companion programs of the book (FOSSEE)",
);
/// Higher than any insulation, and far below what would overflow.
const HIGHEST_CELSIUS: f64 = 1000.0;

/// Life halves with every so many kelvins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalvingRule {
    kelvins: f64,
}

impl HalvingRule {
    /// A rule.
    ///
    /// # Errors
    /// [`LifeError::Halving`] unless it is a number from 1 to 100 kelvins.
    pub fn new(kelvins: f64) -> Result<Self, LifeError> {
        if (1.0..=100.0).contains(&kelvins) { Ok(HalvingRule { kelvins }) } else { Err(LifeError::Halving(kelvins)) }
    }

    /// How many times as fast insulation ages as at the temperature of its class: 4 for class A at 125 degrees Celsius by the
    /// rule of ten kelvins.
    pub fn ageing_factor(self, class: ThermalClass, celsius: f64) -> f64 {
        2f64.powf((celsius.clamp(-273.15, HIGHEST_CELSIUS) - class.celsius()) / self.kelvins)
    }

    /// Hours at the temperature of the class that a stretch is worth in which the temperature goes straight from one to the
    /// other: the integral of the factor, in closed form.
    fn hours(self, class: ThermalClass, from: LogPoint, to: LogPoint) -> f64 {
        let (first, last) = (self.ageing_factor(class, from.celsius), self.ageing_factor(class, to.celsius));
        let hours = to.hours - from.hours;
        // The mean of an exponential is the logarithmic mean of its ends.
        let logarithm = (last / first).ln();
        if logarithm.abs() < 1e-9 { hours * 0.5 * (first + last) } else { hours * (last - first) / logarithm }
    }
}

/// A temperature at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogPoint {
    /// From the start, hours.
    pub hours: f64,
    /// Of the hottest insulation, degrees Celsius.
    pub celsius: f64,
}

/// What a course of temperatures cost, in hours at the temperature of the class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LifeSpent {
    /// How long it lasted, hours.
    pub lasted_hours: f64,
    /// By the rule of ten kelvins.
    pub hours: f64,
    /// The least and the most by rules of 8 and of 10 kelvins.
    pub range_hours: [f64; 2],
}

impl LifeSpent {
    /// The share of a life of so many hours at the temperature of the class.
    pub fn share_of(&self, life_hours: f64) -> f64 {
        self.hours / life_hours
    }
}

/// What a course of temperatures cost, straight from each point of the log to the next.
///
/// # Errors
/// [`LifeError`]: fewer than two points, times that do not go forward, temperatures that are no numbers or impossible.
pub fn life_spent(class: ThermalClass, log: &[LogPoint]) -> Result<LifeSpent, LifeError> {
    let (Some(first), Some(last)) = (log.first(), log.get(1..).and_then(<[LogPoint]>::last)) else {
        return Err(LifeError::TooShort(log.len()));
    };
    if let Some((index, point)) =
        log.iter().enumerate().find(|(_, point)| !(-273.15..=HIGHEST_CELSIUS).contains(&point.celsius))
    {
        return Err(LifeError::Temperature { number: index + 1, celsius: point.celsius });
    }
    let goes_forward = |pair: &[LogPoint]| pair[1].hours > pair[0].hours && (pair[1].hours - pair[0].hours).is_finite();
    if let Some(index) = log.windows(2).position(|pair| !goes_forward(pair)) {
        return Err(LifeError::Time { number: index + 2 });
    }
    let by = |kelvins: f64| -> f64 {
        let rule = HalvingRule { kelvins };
        log.windows(2).map(|pair| rule.hours(class, pair[0], pair[1])).sum()
    };
    let ends = HALVING_RANGE_KELVINS.map(by);
    Ok(LifeSpent {
        lasted_hours: last.hours - first.hours,
        hours: by(HALVING_KELVINS),
        range_hours: [ends[0].min(ends[1]), ends[0].max(ends[1])],
    })
}

/// Why a life cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LifeError {
    /// A log needs a beginning and an end.
    #[error("a log of {0} temperatures; two are needed, at the start and at the end")]
    TooShort(usize),
    /// Times do not go forward.
    #[error("time {number} of the log is not after the one before it; write them in order")]
    Time {
        /// Counted from 1.
        number: usize,
    },
    /// A temperature that cannot be.
    #[error("{celsius} degrees Celsius at point {number} of the log cannot be; write the temperature of the winding")]
    Temperature {
        /// Counted from 1.
        number: usize,
        /// As given.
        celsius: f64,
    },
    /// A rule that cannot be.
    #[error("life cannot halve every {0} kelvins; write 10, or from 8 to 15")]
    Halving(f64),
}
