//! The shaft of a motor: what its bearings and what it drives ask for, how long it turns on, and what goes wrong.
//!
//! # Assumes
//! Worn bearings drag as dry ones do and let the shaft move sideways besides; what is out of balance costs a little torque
//! in bearings and mountings, and shakes. The swings of current with every turn are left out: no meter follows them.

use super::UnknownSpec;
use crate::fault::{FaultMode, Severity};
use crate::heat::AIR_BLOCKED;
use crate::wiring::PartWiring;
use circuit::Quantity;
use machine::Load;

/// Torque of a seized shaft over rated torque: more than any motor can make.
const SEIZED: f64 = 1e3;
/// Torque that is left when a fan, pump or belt has come loose (engineering judgement).
pub(super) const LOST_LOAD_SHARE: f64 = 0.05;

/// The fault that lets the shaft move sideways.
pub const BEARING_WORN: &str = "bearing-worn";
/// The fault that shakes what it drives.
pub const OUT_OF_BALANCE: &str = "out-of-balance";

/// What can go wrong with a shaft, beside what its motor does.
pub(super) struct ShaftFaults {
    /// That it is stuck, in words.
    pub(super) seized: &'static str,
    /// The fault by which it loses its load, if it can.
    pub(super) loss: Option<FaultMode>,
    /// What it drives and can be out of balance: "the fan".
    pub(super) turns: Option<&'static str>,
}

impl ShaftFaults {
    pub(super) fn list(self) -> Vec<FaultMode> {
        let bearings = "free, clean and oil the bearings of {}, or replace it";
        let drag = Severity::factor("times rated torque", 0.3, 0.8);
        let mut list = vec![
            FaultMode::new("bearing-drag", "the bearings drag", 0.03, bearings).sized(drag.clone()),
            FaultMode::new(BEARING_WORN, "the bearings are worn: the shaft has play", 0.01, bearings).sized(drag),
            FaultMode::new("seized", self.seized, 0.02, bearings),
        ];
        list.extend(self.loss);
        if let Some(turns) = self.turns {
            let words = format!("{turns} is out of balance: broken, clogged or loaded on one side");
            let extra = Severity::factor("times rated torque", 0.05, 0.8);
            let repair = "balance what {} drives: clean it, replace what is broken, spread its load";
            list.push(FaultMode::new(OUT_OF_BALANCE, words, 0.008, repair).sized(extra));
        }
        list
    }
}

/// Inertia of a motor and what it drives, kilogram metres squared, from the seconds in which rated torque would bring them
/// to a speed, radians per second (engineering judgement, hence the spread).
pub(super) fn inertia(seconds: f64, rated_torque: f64, speed: f64) -> UnknownSpec {
    UnknownSpec::new("inertia", seconds * rated_torque / speed, 0.6).between_sisters(0.05)
}

/// A sound load, or the one kept for the motor, with the faults of its shaft put in; `loss` is the fault that takes the
/// load off, and what it leaves; `blocked_change` what holding up all of its air does to its torque, as
/// [`super::DrivenLoad`] says.
pub(super) fn load(
    part: &PartWiring<'_, '_>,
    sound: Load,
    rated_torque: f64,
    loss: Option<(&str, f64)>,
    blocked_change: Option<f64>,
) -> Load {
    let sound = match part.kept_load() {
        Some(kept) if part.meets_pressure() => Load { law: sound.law, ..kept.instead_of(sound) },
        Some(kept) => kept.instead_of(sound),
        None => sound,
    };
    if !part.has_any() {
        return sound;
    }
    let Load { mut torque, mut friction_torque, law, reference_ratio } = sound;
    for drag in ["bearing-drag", BEARING_WORN, OUT_OF_BALANCE].iter().filter_map(|fault| part.severity(fault)) {
        friction_torque = &friction_torque + &(&drag * rated_torque);
    }
    if part.has("seized") {
        friction_torque = Quantity::constant(SEIZED * rated_torque);
    }
    if let Some((share, change)) = part.severity(AIR_BLOCKED).zip(blocked_change) {
        torque = &torque * &(&(&share * change) + 1.0);
    }
    if let Some((_, left)) = loss.filter(|(fault, _)| part.has(fault)) {
        torque = &torque * left;
    }
    Load { torque, law, reference_ratio, friction_torque }
}
