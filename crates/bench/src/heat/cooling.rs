//! How long windings take to cool in a unit that has been switched off.
//!
//! # Assumes
//! All wound parts were as warm as each other, their iron as much cooler as at rated load; everything else is at the
//! temperature of the room. Fans stand still, and what is not known of the unit's heat is at its median.

use super::body::{IRON_RISE, WINDING_OVER_IRON};
use super::layout::{HeatLayout, HeatScales};
use crate::unit::Unit;
use machine::heat::{Plant, Regime, Threshold, run};
use std::convert::Infallible;

/// Kelvins above the room at which a winding counts as cold: copper is then within 2 % of its cold ohms (0.39 % a kelvin).
pub const COLD_WITHIN_KELVIN: f64 = 5.0;
/// Nobody waits longer than a working day.
const MOST_SECONDS: f64 = 8.0 * 3600.0;
const LOOK_EVERY_SECONDS: f64 = 60.0;
/// How far a temperature may be off within a step, kelvins.
const TOLERANCE_KELVIN: f64 = 0.1;

/// Seconds, by part, until windings that are at `hot_celsius` are within [`COLD_WITHIN_KELVIN`] of the room, a working day at
/// most, of a part with two windings the slower one; `None` for a part whose windings have no heat of their own. Nothing if
/// they are within it already.
pub fn seconds_of_cooling(unit: &Unit, hot_celsius: f64, room_celsius: f64) -> Vec<Option<f64>> {
    let layout = HeatLayout::new(unit, unit.air(), &HeatScales::medians(unit));
    let windings = |part: usize| {
        let bodies = unit.heat_of(part).bodies.iter().enumerate().filter(|(_, body)| body.source.is_copper());
        bodies.map(|(body, _)| layout.node(part, body)).collect()
    };
    let nodes: Vec<Vec<usize>> = (0..unit.parts().len()).map(windings).collect();
    let slowest = |of: &dyn Fn(usize) -> f64| -> Vec<Option<f64>> {
        nodes.iter().map(|nodes| nodes.iter().map(|&node| of(node)).max_by(f64::total_cmp)).collect()
    };
    let cold = room_celsius + COLD_WITHIN_KELVIN;
    if hot_celsius <= cold || nodes.iter().all(Vec::is_empty) {
        return slowest(&|_| 0.0);
    }
    let mut start = layout.cold(unit, room_celsius);
    let iron = room_celsius + IRON_RISE / (IRON_RISE + WINDING_OVER_IRON) * (hot_celsius - room_celsius);
    for part in (0..nodes.len()).filter(|&part| !nodes[part].is_empty()) {
        for (body, entry) in
            unit.heat_of(part).bodies.iter().enumerate().filter(|(_, entry)| !entry.source.has_own_scale())
        {
            start[layout.node(part, body)] = if entry.source.is_copper() { hot_celsius } else { iron };
        }
    }
    let regime = Regime {
        watts: vec![0.0; layout.nodes.len()],
        watts_per_kelvin: layout.watts_per_kelvin(|_| 0.0),
        fixed_celsius: HeatLayout::fixed_celsius(room_celsius),
    };
    let mut standing = Standing { regime, path: Vec::new() };
    let ran = run(&layout.network, &start, MOST_SECONDS, LOOK_EVERY_SECONDS, TOLERANCE_KELVIN, &mut standing);
    let path = if ran.is_ok() { standing.path } else { Vec::new() };
    slowest(&|node| first_below(&path, node, cold))
}

/// When a node is first below a temperature.
fn first_below(path: &[(f64, Vec<f64>)], node: usize, celsius: f64) -> f64 {
    let pairs = path.windows(2).map(|pair| (&pair[0], &pair[1]));
    let mut crossings = pairs.filter(|(before, after)| before.1[node] > celsius && after.1[node] <= celsius);
    crossings.next().map_or(MOST_SECONDS, |((t0, before), (t1, after))| {
        let share = (before[node] - celsius) / (before[node] - after[node]);
        t0 + share * (t1 - t0)
    })
}

/// A unit that is switched off.
struct Standing {
    regime: Regime,
    path: Vec<(f64, Vec<f64>)>,
}

impl Plant for Standing {
    type Error = Infallible;

    fn regime(&mut self, _seconds: f64, _celsius: &[f64]) -> Result<Regime, Infallible> {
        Ok(self.regime.clone())
    }

    fn thresholds(&self) -> Vec<Threshold> {
        Vec::new()
    }

    fn crossed(&mut self, _seconds: f64, _index: usize) {}

    fn next_change(&self, _seconds: f64) -> Option<f64> {
        None
    }

    fn change(&mut self, _seconds: f64) {}

    fn record(&mut self, seconds: f64, celsius: &[f64], _regime: &Regime) {
        self.path.push((seconds, celsius.to_vec()));
    }
}
