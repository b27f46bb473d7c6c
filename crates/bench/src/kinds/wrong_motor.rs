//! A motor that was just put in and does not belong there: wound for other volts, or with another number of poles, whatever
//! the power on its plate.
//!
//! # Assumes
//! Wound for other volts, all its ohms, reactances included, are one multiple of those that belong there, as the same motor
//! has them with more or fewer turns of thinner or thicker wire. With other poles and the same power at the same volts its
//! ohms are those that belong there, its field turns at another speed, and its torque per watt is another by as much; that
//! motors with more poles take a little more magnetising current is left out. What it drives stays what it was.

use crate::fault::{FaultMode, Severity};
use crate::newly_fitted::{WRONG_POLES, WRONG_WINDING};
use crate::wiring::PartWiring;
use circuit::Quantity;

/// Numbers of poles that small induction motors are made with (common practice, no source).
const MADE_WITH: [u32; 6] = [2, 4, 6, 8, 12, 16];

/// Odds of each sort of wrong motor, as those of other wrong parts (engineering judgement).
const ODDS: f64 = 0.004;

/// A motor wound for other volts.
pub(super) fn wrong_winding() -> FaultMode {
    let words = "a motor wound for other volts is fitted";
    let repair = "replace the motor {} with one that is wound for the volts of the unit";
    // Ohms go with the square of the volts: 230 V against 120 V is 3.7 times, or 0.27 times.
    let times = Severity::factor("times the ohms that belong there", 1.0, 1.2);
    FaultMode::new(WRONG_WINDING, words, ODDS, repair).sized(times)
}

/// Motors with another number of poles than belongs there, all of them together with the odds of one wrong motor.
pub(super) fn wrong_poles(poles: u32) -> Vec<FaultMode> {
    let others: Vec<u32> = taken_for(poles).collect();
    let mode = |&other: &u32| {
        let words = format!("a motor with {other} poles is fitted where one with {poles} belongs");
        let repair = "replace the motor {} with one that has the speed on the plate";
        FaultMode::new(name(other), words, ODDS / others.len() as f64, repair)
    };
    others.iter().map(mode).collect()
}

/// Of the motor that is there.
pub(super) fn poles(part: &PartWiring<'_, '_>, belonging: u32) -> u32 {
    let fitted = if part.has_any() { taken_for(belonging).find(|&other| part.has(name(other))) } else { None };
    fitted.unwrap_or(belonging)
}

fn name(poles: u32) -> String {
    format!("{WRONG_POLES}{poles}")
}

/// Other numbers of poles with which a motor may be taken for the right one: up to twice or half the speed.
fn taken_for(poles: u32) -> impl Iterator<Item = u32> {
    MADE_WITH.into_iter().filter(move |&other| other != poles && other <= 2 * poles && 2 * other >= poles)
}

/// An ohm value of the windings, of the motor that is there.
pub(super) fn wound(part: &PartWiring<'_, '_>, unknown: usize) -> Quantity {
    let ohms = part.unknown(unknown);
    match part.severity(WRONG_WINDING) {
        Some(times) => &ohms * &times,
        None => ohms,
    }
}
