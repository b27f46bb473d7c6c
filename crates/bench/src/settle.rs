//! From a layout to a settled unit: contacts that move, lamps that are not lit, diodes, what protects the supply.

use crate::fault::FaultSet;
use crate::glow;
use crate::half_wave::{self, BetweenHalves, DiodeState};
use crate::observe::{Observed, PredictError, State};
use crate::protection::trips;
use crate::saturation;
use crate::search::Search;
use crate::setup::Setup;
use crate::switching::{ContactId, Switching};
use crate::unit::Unit;
use crate::wiring::{Conditions, Wired, wire_up};
use circuit::{DirectNetwork, SolveError};

/// What is to be laid out again and again.
#[derive(Clone, Copy)]
pub(crate) struct Layout<'m> {
    pub(crate) unit: &'m Unit,
    pub(crate) setup: &'m Setup,
    pub(crate) faults: &'m FaultSet,
    pub(crate) deviations: &'m [f64],
    pub(crate) derivatives: bool,
}

impl Layout<'_> {
    pub(crate) fn wire_up(&self, conditions: &Conditions) -> Wired {
        wire_up(self.unit, self.setup, self.faults, self.deviations, conditions, self.derivatives)
    }
}

/// Solves a moment in which `conditions` hold, from the speeds of a moment before if there are any.
pub(crate) fn solve<R>(
    moment: Layout<'_>,
    mut conditions: Conditions,
    speeds: &mut Vec<f64>,
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, PredictError> {
    let Layout { unit, setup, .. } = moment;
    let network_error = |source| PredictError::Network { setup: setup.name.clone(), source };
    conditions.diodes.clear();
    conditions.saturation.clear();
    conditions.dim_lamps.clear();
    if !setup.energised {
        speeds.iter_mut().for_each(|speed| *speed = 0.0);
        Switching::new(unit).begin_again(&mut conditions);
        let wired = moment.wire_up(&conditions);
        let direct = DirectNetwork::new(&wired.assembly.network).map_err(network_error)?;
        let state = State::Isolated(direct);
        let (halves, chattering, is_found) = (None, None, true);
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering, is_found, halves }));
    }
    let mut switching = Switching::new(unit);
    let has_diodes = !unit.solution_dependent().diodes.is_empty();
    let saturates = !unit.solution_dependent().saturating().is_empty();
    let mut search = Search::default();
    loop {
        if has_diodes && conditions.diodes.is_empty() {
            conditions.diodes = moment.states_at(&conditions, speeds).map_err(network_error)?;
        }
        let wired = moment.wire_up(&conditions);
        let factored = wired.assembly.factor().map_err(network_error)?;
        let ratios = wired.assembly.ratios_after(speeds);
        let (steady, wants) = switching.run_up(&wired, &factored, ratios, &conditions).map_err(network_error)?;
        let going_dim = glow::going_dim(unit, &wired, &steady, &conditions.dim_lamps);
        if wants.is_none() && !going_dim.is_empty() {
            *speeds = steady.speed_ratios().to_vec();
            conditions.dim_lamps.extend(going_dim);
            continue;
        }
        if has_diodes && wants.is_none() && !wired.assembly.machines.is_empty() && !search.is_lost() {
            let found = moment.states_at(&conditions, steady.speed_ratios()).map_err(network_error)?;
            if let Some(next) = half_wave::next(&mut search, &conditions.diodes, &found) {
                *speeds = steady.speed_ratios().to_vec();
                conditions.diodes = next;
                continue;
            }
        }
        if saturates && wants.is_none() && !search.is_lost() {
            let found = moment.factors_of(&wired, &steady);
            if let Some(next) = saturation::next(&mut search, &conditions.saturation, &found) {
                *speeds = steady.speed_ratios().to_vec();
                conditions.saturation = next;
                continue;
            }
        }
        if wants.is_none() && !conditions.is_cut_off() && trips(unit, &wired, &steady, &mut conditions) {
            switching.begin_again(&mut conditions);
            search = forget(&mut conditions);
            speeds.clear();
            continue;
        }
        *speeds = steady.speed_ratios().to_vec();
        if let Some(contact) = wants.or_else(|| switching.warmed(&wired, &conditions, &steady)) {
            switching.toggle(contact, &mut conditions);
            search = forget(&mut conditions);
            continue;
        }
        let chattering = switching.chattering();
        let is_found = !search.is_lost();
        if has_diodes || (saturates && moment.derivatives) {
            return look_with_slopes(&moment, conditions, speeds, (is_found, chattering), look).map_err(network_error);
        }
        let (state, halves) = (State::Live(Box::new(steady)), None);
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering, is_found, halves }));
    }
}

/// Has all that depends on the solution itself be found anew, for a unit that has changed.
fn forget(conditions: &mut Conditions) -> Search {
    conditions.diodes.clear();
    conditions.saturation.clear();
    conditions.dim_lamps.clear();
    Search::default()
}

/// Looks at a settled unit with diodes or saturating iron, whose values are given their derivatives.
fn look_with_slopes<R>(
    moment: &Layout<'_>,
    mut conditions: Conditions,
    speeds: &[f64],
    (is_found, chattering): (bool, Option<ContactId>),
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, SolveError> {
    let Layout { unit, setup, .. } = *moment;
    if moment.derivatives {
        conditions.diodes = moment.with_slopes(&conditions, speeds)?;
        conditions.saturation = moment.factors_with_slopes(&conditions, speeds)?;
    }
    let wired = moment.wire_up(&conditions);
    let factored = wired.assembly.factor()?;
    let steady = wired.assembly.settle_from(&factored, wired.assembly.ratios_after(speeds), |_| Ok(false))?;
    let without = moment.wire_up(&moment.with_all(&conditions, &DiodeState::Blocking));
    let factored_without = without.assembly.factor()?;
    let halves = match moment.direct_share() {
        Some(direct_share) => {
            let blocking = without.assembly.at_ratios(&factored_without, steady.speed_ratios().to_vec())?;
            Some(Box::new(BetweenHalves { blocking, direct_share }))
        }
        None => None,
    };
    let state = State::Live(Box::new(steady));
    Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering, is_found, halves }))
}
