//! Machines drawn first, plates made of what they do.
//!
//! A type is drawn by design rules of its own (per-unit values; engineering judgement unless a source is named), its
//! performance at rated volts is computed, and rounded figures go on the plate, as a maker does. The specimen on the bench
//! then differs from its type by a few per cent everywhere.

mod commutator;
mod induction;
mod others;

pub use commutator::polisher;
pub use induction::{Drive, Plate, Wish, specimen, type_of};
pub use others::{capacitor, contact_ohms, heater, lamp, relay, supply, transformer, two_leg_supply};

use crate::random::Random;

/// Capacitances that are made, microfarads (the E6 and E12 steps that run capacitors come in).
const RUN_MICROFARADS: [f64; 22] = [
    1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0, 30.0, 35.0,
    40.0,
];
/// Start capacitors that are made, microfarads, lower figures of their ranges.
const START_MICROFARADS: [f64; 16] =
    [16.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 72.0, 88.0, 108.0, 130.0, 145.0, 161.0, 189.0, 216.0, 270.0];

/// The nearest of a list on a log scale.
fn nearest(list: &[f64], value: f64) -> f64 {
    let off = |entry: &f64| (entry / value).ln().abs();
    list.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(value)
}

/// A figure as plates show it: two digits, three if it begins with a 1.
pub fn rounded(value: f64) -> f64 {
    let digits = value.abs().log10().floor();
    let leading = value / 10f64.powf(digits);
    let step = 10f64.powf(digits - if leading < 2.0 { 2.0 } else { 1.0 });
    let shown = (value / step).round() * step;
    // Takes the tail of binary fractions away.
    format!("{shown:.4}").parse().unwrap_or(shown)
}

/// A value of a specimen: its type's, a few per cent off.
fn near(random: &mut Random, value: f64, spread: f64) -> f64 {
    random.about(value, spread)
}
