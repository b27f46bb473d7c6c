//! Runs a unit from cold: electrics that settle at once, bodies that warm, contacts that heat moves.
//!
//! # Assumes
//! Speeds and currents follow temperatures at once, and a rotor that can go on turning does. Only windings change their
//! ohms with heat. What fans take does not change with the air's warmth. A breaker that has opened stays open. A winding
//! burns out at one temperature, and the run ends there: what a burnt winding does next (it shorts, opens, smokes) is not
//! followed.

use super::layout::{HeatLayout, HeatScales};
use super::plant::Simulation;
use super::run::Run;
use super::timeline::Timeline;
use crate::fault::FaultSet;
use crate::observe::{Observed, PredictError};
use crate::setup::Setup;
use crate::unit::Unit;
use machine::heat::RunError;

/// How far a temperature may be off within a step, kelvins.
const TOLERANCE_KELVIN: f64 = 0.05;

/// What is simulated.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// The unit.
    pub unit: &'a Unit,
    /// The setups of its job.
    pub setups: &'a [Setup],
    /// The run.
    pub run: &'a Run,
    /// Faults put in.
    pub faults: &'a FaultSet,
    /// Deviations of the unit's values.
    pub deviations: &'a [f64],
    /// Deviations of what is not known of its heat.
    pub scales: &'a HeatScales,
}

/// Takes a unit through a run, and looks at it with `look` at `times`: seconds, in order.
///
/// At the moment at which a setup begins, that setup is looked at.
///
/// # Errors
/// [`PredictError`] if a setup cannot be solved, or if the unit's heat cannot be followed.
pub fn simulate<T>(
    case: Case<'_>,
    times: &[f64],
    look: impl FnMut(&mut Observed<'_>) -> T,
) -> Result<Timeline<T>, PredictError> {
    let layout = HeatLayout::new(case.unit, case.unit.air(), case.scales);
    let mut simulation = Simulation::new(case, &layout, times, look);
    let start = layout.cold(case.unit, simulation.room_celsius());
    let end = case.run.end_seconds;
    match machine::heat::run(&layout.network, &start, end, end, TOLERANCE_KELVIN, &mut simulation) {
        Ok(outcome) => Ok(simulation.finish(&outcome)),
        Err(RunError::Plant { cause, .. }) => Err(cause),
        Err(RunError::Runaway { seconds, node, celsius }) => Ok(simulation.run_away(seconds, node, celsius)),
        Err(other) => Err(PredictError::Heat { run: case.run.name.clone(), reason: other.to_string() }),
    }
}
