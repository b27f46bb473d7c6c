//! A motor that was just put in and is wound for other volts, whatever the power on its plate.
//!
//! # Assumes
//! All its ohms, reactances included, are one multiple of those that belong there, as the same motor has them with more or
//! fewer turns of thinner or thicker wire; its load stays what it was.

use crate::fault::{FaultMode, Severity};
use crate::newly_fitted::WRONG_WINDING;
use crate::wiring::PartWiring;
use circuit::Quantity;

/// The fault, with odds as those of other wrong parts (engineering judgement).
pub(super) fn faults() -> Vec<FaultMode> {
    let words = "a motor wound for other volts is fitted";
    let repair = "replace the motor {} with one that is wound for the volts of the unit";
    // Ohms go with the square of the volts: 230 V against 120 V is 3.7 times, or 0.27 times.
    let times = Severity::factor("times the ohms that belong there", 1.0, 1.2);
    vec![FaultMode::new(WRONG_WINDING, words, 0.004, repair).sized(times)]
}

/// An ohm value of the windings, of the motor that is there.
pub(super) fn wound(part: &PartWiring<'_, '_>, unknown: usize) -> Quantity {
    let ohms = part.unknown(unknown);
    match part.severity(WRONG_WINDING) {
        Some(times) => &ohms * &times,
        None => ohms,
    }
}
