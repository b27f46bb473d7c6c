//! How long a motor turns on once its setup is switched off.

use super::Prediction;
use crate::wiring::Wired;
use circuit::SolveError;
use machine::{Machine, Steady};

/// Speed for which its load is rated, radians per second.
fn rated_speed(machine: &Machine) -> f64 {
    machine.reference_speed * machine.load.reference_ratio
}

/// From its speed to standstill, seconds.
pub(super) fn seconds(wired: &Wired, steady: &Steady<'_>, machine: usize) -> f64 {
    let entry = &wired.assembly.machines[machine];
    let run_down = entry.load.run_down(steady.speed_ratio(machine));
    wired.inertia(machine).value() * rated_speed(entry) * run_down.value
}

/// The same with derivatives.
///
/// # Errors
/// As [`Steady::speed_gradient`].
pub(super) fn prediction(wired: &Wired, steady: &mut Steady<'_>, machine: usize) -> Result<Prediction, SolveError> {
    let entry = &wired.assembly.machines[machine];
    let (ratio, inertia) = (steady.speed_ratio(machine), wired.inertia(machine));
    let run_down = entry.load.run_down(ratio);
    let momentum = inertia.value() * rated_speed(entry);
    let by_ratio = momentum * run_down.by_ratio * ratio.signum();
    let mut gradient: Vec<f64> = steady.speed_gradient(machine)?.iter().map(|slope| by_ratio * slope).collect();
    for (quantity, slope) in [
        (inertia, rated_speed(entry) * run_down.value),
        (&entry.load.torque, momentum * run_down.by_torque),
        (&entry.load.friction_torque, momentum * run_down.by_friction),
    ] {
        quantity.slopes().iter().for_each(|&(unknown, by)| gradient[unknown.0] += slope * by);
    }
    Ok(Prediction { value: momentum * run_down.value, gradient })
}
