//! Two-leg supply: two live legs in opposite phase about an earthed neutral, such as 120/240 V from a centre-tapped
//! transformer.
//!
//! # Assumes
//! See `live_conductors`. A single 'volts' stands for both legs: the volts from leg to leg, twice those to neutral.

use super::live_conductors::{LiveConductors, LiveSupplyEntry};
use super::{Kind, SupplyFigures, UnknownSpec, breaker};
use crate::fault::FaultMode;
use crate::heat::{HeatContact, PartHeat};
use crate::wiring::PartWiring;
use serde::Deserialize;
use std::f64::consts::PI;

const LEGS: LiveConductors =
    LiveConductors { names: &["leg-1", "leg-2"], lag: PI, to_neutral: 0.5, usual_breaker_amps: 30.0 };
const NEUTRAL: usize = 2;

/// Two-leg supply. Terminals: leg-1, leg-2, neutral, earth. Its volts are those from leg to leg.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(transparent)]
#[schemars(with = "LiveSupplyEntry")]
pub struct TwoLegSupply(LiveSupplyEntry);

impl Kind for TwoLegSupply {
    fn name(&self) -> &'static str {
        "two-leg-supply"
    }

    fn terminals(&self) -> Vec<String> {
        LEGS.terminals()
    }

    fn describe(&self) -> String {
        format!("{}/{} V, {} Hz", LEGS.to_neutral * self.0.volts.0, self.0.volts.0, self.0.hertz.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        LEGS.unknowns(&self.0)
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "have the outlet and its circuit put right";
        let mut faults = LEGS.faults(repair);
        for leg in LEGS.names {
            let words = format!("{leg} and neutral are interchanged at the outlet");
            faults.push(FaultMode::new(format!("{leg}-neutral-interchanged"), words, 0.004, repair));
        }
        faults
    }

    fn supply(&self) -> Option<SupplyFigures> {
        Some(LEGS.figures(&self.0))
    }

    fn feeds_unit(&self) -> bool {
        true
    }

    fn heat(&self) -> PartHeat {
        LEGS.heat(&self.0)
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        breaker::heat_contact()
    }

    fn live_conductors(&self) -> usize {
        LEGS.names.len()
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let mut order = [0, 1, NEUTRAL];
        for (index, leg) in LEGS.names.iter().enumerate() {
            if part.has(format_args!("{leg}-neutral-interchanged")) {
                order.swap(index, NEUTRAL);
            }
        }
        LEGS.connect(part, &order);
    }
}
