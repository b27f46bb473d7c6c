//! From a layout to a settled unit: contacts that move, diodes, the breaker.

use crate::fault::Place;
use crate::half_wave::{BetweenHalves, DiodeState, Layout, Search};
use crate::observe::{Observed, PredictError, State};
use crate::switching::{ContactId, Switching};
use crate::unit::Unit;
use crate::wiring::{Conditions, Element, Wired};
use circuit::{DirectNetwork, Quantity, SolveError};
use machine::Steady;

/// A multiple of its rating at which a breaker opens at once (magnetic trip of IEC 60898 type C: 5 to 10 times).
const INSTANT_TRIP: f64 = 5.0;

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
    if !setup.energised {
        speeds.iter_mut().for_each(|speed| *speed = 0.0);
        let wired = moment.wire_up(&conditions);
        let direct = DirectNetwork::new(&wired.assembly.network).map_err(network_error)?;
        let state = State::Isolated(direct);
        let halves = None;
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering: None, halves }));
    }
    let mut switching = Switching::new(unit);
    let has_diodes = unit.parts().iter().any(|part| part.kind.passes_half_waves());
    let mut search = Search::default();
    loop {
        if has_diodes && conditions.diodes.is_empty() {
            conditions.diodes = moment.states_at(&conditions, speeds).map_err(network_error)?;
            search = Search::default();
        }
        let wired = moment.wire_up(&conditions);
        let factored = wired.assembly.factor().map_err(network_error)?;
        let ratios = wired.assembly.ratios_after(speeds);
        let (steady, wants) = switching.run_up(&wired, &factored, ratios, &conditions).map_err(network_error)?;
        if has_diodes && wants.is_none() && !wired.assembly.machines.is_empty() && !search.is_lost() {
            let found = moment.states_at(&conditions, steady.speed_ratios()).map_err(network_error)?;
            if let Some(next) = search.next(&conditions.diodes, &found) {
                *speeds = steady.speed_ratios().to_vec();
                conditions.diodes = next;
                continue;
            }
        }
        if wants.is_none() && !conditions.breaker_open && trips_breaker(unit, &wired, &steady) {
            conditions.breaker_open = true;
            switching.begin_again(&mut conditions);
            conditions.diodes.clear();
            speeds.clear();
            continue;
        }
        *speeds = steady.speed_ratios().to_vec();
        if let Some(contact) = wants.or_else(|| switching.warmed(&wired, &conditions, &steady)) {
            switching.toggle(contact, &mut conditions);
            conditions.diodes.clear();
            continue;
        }
        let chattering = switching.chattering();
        if let Some(direct_share) = moment.direct_share() {
            let is_found = !search.is_lost();
            return look_between(&moment, conditions, speeds, direct_share, (is_found, chattering), look)
                .map_err(network_error);
        }
        let (state, halves) = (State::Live(Box::new(steady)), None);
        return Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering, halves }));
    }
}

/// Looks at a settled unit with diodes, its reactances given their derivatives.
fn look_between<R>(
    moment: &Layout<'_>,
    mut conditions: Conditions,
    speeds: &[f64],
    direct_share: Quantity,
    (is_found, chattering): (bool, Option<ContactId>),
    look: impl FnOnce(&mut Observed<'_>) -> R,
) -> Result<R, SolveError> {
    let Layout { unit, setup, .. } = *moment;
    if moment.derivatives {
        conditions.diodes = moment.with_slopes(&conditions, speeds)?;
    }
    let wired = moment.wire_up(&conditions);
    let factored = wired.assembly.factor()?;
    let steady = wired.assembly.settle_from(&factored, wired.assembly.ratios_after(speeds), |_| Ok(false))?;
    let without = moment.wire_up(&moment.with_all(&conditions, &DiodeState::Blocking));
    let factored_without = without.assembly.factor()?;
    let blocking = without.assembly.at_ratios(&factored_without, steady.speed_ratios().to_vec())?;
    let halves = Some(Box::new(BetweenHalves { blocking, direct_share, is_found }));
    let state = State::Live(Box::new(steady));
    Ok(look(&mut Observed { unit, setup, wired: &wired, state, conditions, chattering, halves }))
}

fn trips_breaker(unit: &Unit, wired: &Wired, steady: &Steady<'_>) -> bool {
    let limit = unit.parts()[unit.supply()].kind.supply().map_or(f64::INFINITY, |supply| supply.breaker_amps);
    let is_live = |element: &&Element| wired.assembly.network.branches()[element.branch.0].source.value() != 0.0;
    wired
        .elements_of(Place::Part(unit.supply()))
        .filter(is_live)
        .any(|element| steady.solution().current(element.branch).norm() > INSTANT_TRIP * limit)
}
