//! What protects a supply and opens at once: the breaker, and the earth-leakage trip.
//!
//! # Assumes
//! Both act on the state that the unit has settled in. Slower trips of a breaker are in `heat/`; whatever direct current
//! and waveform do to an earth-leakage trip is left out.

use crate::fault::Place;
use crate::unit::Unit;
use crate::wiring::{Conditions, Element, Wired};
use machine::Steady;

/// A multiple of its rating at which a breaker opens at once (magnetic trip of IEC 60898 type C: 5 to 10 times).
const INSTANT_TRIP: f64 = 5.0;

/// Share of its rating at which an earth-leakage trip opens: IEC 61008 (from memory) has it stay closed at half and open
/// at all of it; three quarters stands for what lies between.
const RESIDUAL_TRIP: f64 = 0.75;

/// Opens what opens: a dead breakdown to an earthed frame opens both.
pub(crate) fn trips(unit: &Unit, wired: &Wired, steady: &Steady<'_>, conditions: &mut Conditions) -> bool {
    conditions.breaker_open = trips_breaker(unit, wired, steady);
    conditions.residual_trip_open = trips_residual(unit, wired, steady);
    conditions.is_cut_off()
}

fn trips_residual(unit: &Unit, wired: &Wired, steady: &Steady<'_>) -> bool {
    let rated = unit.parts()[unit.supply()].kind.supply().and_then(|supply| supply.residual_trip_amps);
    rated.is_some_and(|rated| {
        wired.residual_current(unit, unit.supply()).value(steady.solution()).norm() > RESIDUAL_TRIP * rated
    })
}

fn trips_breaker(unit: &Unit, wired: &Wired, steady: &Steady<'_>) -> bool {
    let limit = unit.parts()[unit.supply()].kind.supply().map_or(f64::INFINITY, |supply| supply.breaker_amps);
    feed_amps(unit, wired, steady) > INSTANT_TRIP * limit
}

/// Current in the live conductor of the supply that carries most, amperes.
pub(crate) fn feed_amps(unit: &Unit, wired: &Wired, steady: &Steady<'_>) -> f64 {
    let is_live = |element: &&Element| wired.assembly.network.branches()[element.branch.0].source.value() != 0.0;
    wired
        .elements_of(Place::Part(unit.supply()))
        .filter(is_live)
        .map(|element| steady.solution().current(element.branch).norm())
        .fold(0.0, f64::max)
}
