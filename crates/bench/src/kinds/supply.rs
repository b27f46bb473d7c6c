//! Supply: the outlet or feed ahead of the unit.
//!
//! # Assumes
//! One phase against an earthed neutral; source impedance resistive, half in each conductor.

use super::live_conductors::{HIGH_VOLTS_ODDS, times_rated_volts};
use super::{Kind, SupplyFigures, UnknownSpec, breaker};
use crate::fault::{FaultMode, Severity};
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use circuit::Quantity;
use serde::Deserialize;

/// Loop resistance of an ordinary outlet, ohms (common practice, no source: 0.2 to 1 ohm).
const USUAL_SOURCE_OHMS: f64 = 0.4;
/// Share by which mains volts wander from day to day (engineering judgement inside the +-10 % of EN 50160).
const VOLTS_SPREAD: f64 = 0.02;
/// Rating assumed for the breaker ahead, amperes (common practice, no source).
const USUAL_BREAKER_AMPS: f64 = 16.0;

/// Supply. Terminals: hot, neutral, earth.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// Volts between hot and neutral.
    pub volts: Positive,
    /// Frequency in hertz.
    pub hertz: Positive,
    /// Resistance of the supply loop, ohms.
    pub source_ohms: Option<Positive>,
    /// Breaker or fuse ahead of the unit, amperes.
    pub breaker_amps: Option<Positive>,
    /// Earth-leakage trip ahead of the unit, milliamperes; left out if there is none.
    pub residual_trip_milliamps: Option<Positive>,
}

impl Supply {
    fn breaker_amps(&self) -> f64 {
        self.breaker_amps.map_or(USUAL_BREAKER_AMPS, |amps| amps.0)
    }
}

impl Kind for Supply {
    fn name(&self) -> &'static str {
        "supply"
    }

    fn terminals(&self) -> Vec<String> {
        ["hot", "neutral", "earth"].map(String::from).into()
    }

    fn describe(&self) -> String {
        format!("{} V, {} Hz", self.volts.0, self.hertz.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let ohms = self.source_ohms.map_or(USUAL_SOURCE_OHMS, |ohms| ohms.0);
        vec![
            UnknownSpec::new("supply volts", self.volts.0, VOLTS_SPREAD),
            UnknownSpec::new("supply source ohms", ohms / 2.0, 0.5),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "have the outlet and its circuit put right";
        vec![
            FaultMode::new("hot-dead", "no volts on the hot side of the outlet", 0.02, repair),
            FaultMode::new("neutral-open", "the neutral of the outlet is open", 0.004, repair),
            FaultMode::new("earth-open", "the earth of the outlet is open", 0.01, repair),
            FaultMode::new("hot-neutral-interchanged", "hot and neutral are interchanged at the outlet", 0.01, repair),
            FaultMode::new("low-volts", "the outlet delivers too few volts", 0.01, repair).sized(Severity::share(
                "share of volts missing",
                0.15,
                0.5,
            )),
            FaultMode::new("high-volts", "the outlet delivers too many volts", HIGH_VOLTS_ODDS, repair)
                .sized(times_rated_volts()),
        ]
    }

    fn supply(&self) -> Option<SupplyFigures> {
        let residual_trip_amps = self.residual_trip_milliamps.map(|milliamps| 1e-3 * milliamps.0);
        Some(SupplyFigures {
            volts: self.volts.0,
            hertz: self.hertz.0,
            breaker_amps: self.breaker_amps(),
            residual_trip_amps,
        })
    }

    fn feeds_unit(&self) -> bool {
        true
    }

    fn heat(&self) -> PartHeat {
        breaker::heat(self.breaker_amps())
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        breaker::heat_contact()
    }

    fn live_conductors(&self) -> usize {
        1
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if !part.plugged_in() {
            return;
        }
        let swapped = part.has("hot-neutral-interchanged");
        let (hot, neutral) = if swapped { (1, 0) } else { (0, 1) };
        let (hot, neutral, earth) = (part.terminal(hot), part.terminal(neutral), part.terminal(2));
        let volts = match part.severity("low-volts") {
            Some(missing) => &part.unknown(0) * &(&(&missing * -1.0) + 1.0),
            None => part.unknown(0),
        };
        let volts = part.severity("high-volts").map_or(volts.clone(), |times| &volts * &times);
        if part.energised() && !part.has("hot-dead") {
            part.source("hot", part.earth(), hot, volts, part.unknown(1));
        }
        if !part.has("neutral-open") {
            part.source("neutral", part.earth(), neutral, Quantity::constant(0.0), part.unknown(1));
        }
        if !part.has("earth-open") {
            part.join(part.earth(), earth);
        }
    }
}
