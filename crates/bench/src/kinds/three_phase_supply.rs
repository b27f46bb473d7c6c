//! Three-phase supply: three lines a third of a period apart about an earthed neutral.
//!
//! # Assumes
//! See `live_conductors`. The lines follow each other in the order 1, 2, 3.

use super::live_conductors::{LiveConductors, LiveSupplyEntry};
use super::{Kind, SupplyFigures, UnknownSpec, breaker};
use crate::fault::FaultMode;
use crate::heat::{HeatContact, PartHeat};
use crate::wiring::PartWiring;
use serde::Deserialize;
use std::f64::consts::PI;

const LINES: LiveConductors = LiveConductors {
    names: &["line-1", "line-2", "line-3"],
    lag: 2.0 * PI / 3.0,
    // One over the square root of three.
    to_neutral: 0.577_350_269_189_625_8,
    usual_breaker_amps: 16.0,
};

/// Three-phase supply. Terminals: line-1, line-2, line-3, neutral, earth. Its volts are those from line to line.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(transparent)]
#[schemars(with = "LiveSupplyEntry")]
pub struct ThreePhaseSupply(LiveSupplyEntry);

impl Kind for ThreePhaseSupply {
    fn name(&self) -> &'static str {
        "three-phase-supply"
    }

    fn terminals(&self) -> Vec<String> {
        LINES.terminals()
    }

    fn describe(&self) -> String {
        format!("3 x {} V, {} Hz", self.0.volts.0, self.0.hertz.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        LINES.unknowns(&self.0)
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "have the outlet and its circuit put right, its fuses first";
        let mut faults = LINES.faults(repair);
        let words = "two lines are interchanged at the outlet, so motors turn backwards";
        faults.push(FaultMode::new(
            "lines-interchanged",
            words,
            0.008,
            "interchange two lines at the plug or the outlet",
        ));
        faults
    }

    fn supply(&self) -> Option<SupplyFigures> {
        Some(LINES.figures(&self.0))
    }

    fn feeds_unit(&self) -> bool {
        true
    }

    fn heat(&self) -> PartHeat {
        LINES.heat(&self.0)
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        breaker::heat_contact()
    }

    fn live_conductors(&self) -> usize {
        LINES.names.len()
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        // Which two change places makes no difference to what turns.
        let order = if part.has("lines-interchanged") { [0, 2, 1, 3] } else { [0, 1, 2, 3] };
        LINES.connect(part, &order);
    }
}
