//! The shaft of a motor: what its bearings and what it drives ask for, and what goes wrong with them.

use crate::fault::{FaultMode, Severity};
use crate::wiring::PartWiring;
use circuit::Quantity;
use machine::Load;

/// Torque of a seized shaft over rated torque: more than any motor can make.
const SEIZED: f64 = 1e3;
/// Torque that is left when a fan, pump or belt has come loose (engineering judgement).
pub(super) const LOST_LOAD_SHARE: f64 = 0.05;

/// Faults of every shaft, and the one by which it loses its load, if it can; `seized` says in words that it is stuck.
pub(super) fn faults(seized: &str, loss: Option<FaultMode>) -> Vec<FaultMode> {
    let bearings = "free, clean and oil the bearings of {}, or replace it";
    let drag = Severity::factor("times rated torque", 0.3, 0.8);
    let mut list = vec![
        FaultMode::new("bearing-drag", "the bearings drag", 0.03, bearings).sized(drag),
        FaultMode::new("seized", seized, 0.02, bearings),
    ];
    list.extend(loss);
    list
}

/// A sound load with the faults of its shaft put in; `loss` is the fault that takes the load off, and what it leaves.
pub(super) fn load(part: &PartWiring<'_, '_>, sound: Load, rated_torque: f64, loss: Option<(&str, f64)>) -> Load {
    if !part.has_any() {
        return sound;
    }
    let Load { mut torque, mut friction_torque, law, reference_ratio } = sound;
    if let Some(drag) = part.severity("bearing-drag") {
        friction_torque = &friction_torque + &(&drag * rated_torque);
    }
    if part.has("seized") {
        friction_torque = Quantity::constant(SEIZED * rated_torque);
    }
    if let Some((_, left)) = loss.filter(|(fault, _)| part.has(fault)) {
        torque = &torque * left;
    }
    Load { torque, law, reference_ratio, friction_torque }
}
