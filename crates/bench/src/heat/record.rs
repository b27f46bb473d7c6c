//! What an instrument logger on every lead and every body would write down.

use super::run::Logged;
use super::simulate::{Case, simulate};
use super::timeline::Timeline;
use crate::meter::Meter;
use crate::observe::PredictError;
use crate::reading::Measure;
use crate::unit::{TerminalId, Unit};
use crate::words;

/// Takes a unit through a run and gives the values of `quantities` at `times`: seconds, in order.
///
/// # Errors
/// As [`simulate`].
pub fn record(
    case: Case<'_>,
    times: &[f64],
    quantities: &[Logged],
    meter: &Meter,
) -> Result<Timeline<Vec<f64>>, PredictError> {
    let mut timeline = simulate(case, times, |observed| {
        let value = |quantity: &Logged| match *quantity {
            Logged::Electric(measure) => observed.value(measure, meter).unwrap_or(f64::NAN),
            Logged::Celsius(..) | Logged::Air(_) => f64::NAN,
        };
        quantities.iter().map(value).collect::<Vec<f64>>()
    })?;
    for (place, quantity) in quantities.iter().enumerate() {
        let node = match *quantity {
            Logged::Celsius(part, body) => timeline.node(part, body),
            Logged::Air(part) => timeline.air[part],
            Logged::Electric(_) => None,
        };
        let Some(node) = node else { continue };
        for sample in &mut timeline.samples {
            sample.look[place] = sample.celsius[node];
        }
    }
    Ok(timeline)
}

/// Everything that is worth logging in a unit: currents of the live conductors ahead of it, watts, speeds, and the
/// temperatures of all bodies that have one and of the air of streams.
pub fn all_quantities(unit: &Unit) -> Vec<Logged> {
    let is_cord = |part: &usize| *part != unit.supply() && unit.parts()[*part].kind.feeds_unit();
    let feeding = (0..unit.parts().len()).find(is_cord).unwrap_or(unit.supply());
    let is_live = |terminal: &TerminalId| {
        let name = unit.terminal_name(*terminal);
        let is_wired = unit.wires().iter().any(|wire| wire.from == *terminal || wire.to == *terminal);
        is_wired && !(name.ends_with(".neutral") || name.ends_with(".earth"))
    };
    let live = unit.terminals_of(feeding).map(TerminalId).filter(is_live).map(Measure::AmpsAtTerminal);
    let motors = (0..unit.parts().len()).filter(|&part| unit.is_motor(part)).map(Measure::Rpm);
    let electric = live.chain([Measure::Watts(feeding)]).chain(motors).map(Logged::Electric);
    let has_celsius = |&(part, body): &(usize, usize)| unit.heat_of(part).bodies[body].has_celsius();
    let bodies = unit.bodies().filter(has_celsius).map(|(part, body)| Logged::Celsius(part, body));
    let air = (0..unit.parts().len()).filter(|&part| unit.air().has_stream_at(part)).map(Logged::Air);
    electric.chain(bodies).chain(air).collect()
}

/// A quantity in words: "A through supply.hot", "C at M1.winding".
pub fn quantity_words(unit: &Unit, quantity: Logged) -> String {
    match quantity {
        Logged::Electric(measure) => format!("{} {}", measure.unit(), words::place(unit, measure)),
        _ => format!("C at {}", quantity.celsius_place(unit).unwrap_or_default()),
    }
}
