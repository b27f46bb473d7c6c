//! Three leads: one end of the run and of the start winding are joined and come out as common.
//!
//! Assumes: no more than a run and a start winding. What stands in the common lead of a compressor is its internal
//! overload, which can be open when the windings are sound (published: common to run and common to start open, run to
//! start still reads).

use super::prior::*;
use crate::arrangement::{Arrangement, Odds, Section, terminal};
use crate::known::Motor;

/// Odds that the internal overload of a sealed machine is open (engineering judgement: they are read while still hot).
const OVERLOAD_OPEN: Odds = Odds(500);

pub(super) fn arrangements(leads: usize) -> Vec<Arrangement> {
    if leads != 3 {
        return Vec::new();
    }
    vec![
        arrangement(Motor::CapacitorRun, CAPACITOR_RUN_MAIN, START_OVER_MAIN_CAPACITOR_RUN, 0.25),
        arrangement(Motor::SplitPhase, SPLIT_PHASE_MAIN, START_OVER_MAIN_SPLIT_PHASE, 0.4),
        arrangement(Motor::Compressor, COMPRESSOR_MAIN, START_OVER_MAIN_EITHER, 1.0),
        arrangement(Motor::WellPump, WELL_PUMP_MAIN, START_OVER_MAIN_EITHER, 1.0),
    ]
}

fn arrangement(motor: Motor, main: LogNormal, start_over_main: LogNormal, odds: f64) -> Arrangement {
    let mut common = terminal(0, "common");
    if motor == Motor::Compressor {
        common.open = OVERLOAD_OPEN;
    }
    Arrangement {
        words: "run and start winding joined at common".into(),
        motor,
        odds,
        speeds: 1,
        reversible: Some(false),
        connection: None,
        terminals: vec![common, terminal(1, "run"), terminal(2, "start")],
        inner: 0,
        sections: vec![main_section(main, 0, 1), start_section(main, start_over_main, 0, 2, 1)],
        latents: 2,
        cannot_tell: &[],
    }
}

/// A run winding.
pub(super) fn main_section(main: LogNormal, from: usize, to: usize) -> Section {
    Section { name: "run winding".into(), from, to, class: 0, median_ohms: main.0, weights: vec![(0, main.1)] }
}

/// A start winding, by its ratio to the run winding.
pub(super) fn start_section(main: LogNormal, ratio: LogNormal, from: usize, to: usize, latent: usize) -> Section {
    Section {
        name: "start winding".into(),
        from,
        to,
        class: 1,
        median_ohms: main.0 * ratio.0,
        weights: vec![(0, main.1), (latent, ratio.1)],
    }
}
