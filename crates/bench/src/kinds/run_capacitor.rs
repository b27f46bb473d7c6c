//! Run capacitor.
//!
//! # Assumes
//! Loss factor 0.002 at supply frequency (limit of IEC 60252-1 product sheets at 1 kHz); no harmonics.

use super::capacitor::{self, CapacitorOdds};
use super::rated::{self, MaxCelsius};
use super::{Doubt, Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Spread about the marked value: marked tolerances are 5 to 10 % (IEC 60252-1 product sheets).
const FARADS_SPREAD: f64 = 0.04;
const LOSS_FACTOR: f64 = 0.002;
/// What such capacitors have, microfarads (common practice, no source).
const USUAL_MICROFARADS: [f64; 2] = [0.1, 200.0];
/// Odds (common practice, no source).
const ODDS: CapacitorOdds = CapacitorOdds { open: 0.03, low: 0.06, shorted: 0.012, leaky: 0.006, wrong_value: 0.01 };

/// Run capacitor. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunCapacitor {
    /// Marked microfarads.
    pub microfarads: Positive,
    /// Marked volts.
    pub volts: Option<Positive>,
    /// The hottest it may get, degrees Celsius, if marked; of 25/085/21 the figure in the middle.
    pub max_celsius: Option<MaxCelsius>,
}

impl Kind for RunCapacitor {
    fn name(&self) -> &'static str {
        "run-capacitor"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let volts = self.volts.map_or(String::new(), |volts| format!(", {} V", volts.0));
        format!("{} uF{volts}{}", self.microfarads.0, rated::celsius_words(self.max_celsius))
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        vec![UnknownSpec::new("microfarads", self.microfarads.0, FARADS_SPREAD)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        capacitor::faults(&ODDS)
    }

    fn is_capacitor(&self) -> bool {
        true
    }

    fn doubts(&self) -> Vec<Doubt> {
        capacitor::doubts(self.microfarads.0, USUAL_MICROFARADS)
    }

    fn rated_volts(&self) -> Option<f64> {
        self.volts.map(|volts| volts.0)
    }

    fn max_celsius(&self) -> Option<f64> {
        self.max_celsius.map(|celsius| celsius.0)
    }

    fn stores_charge(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        capacitor::connect(part, LOSS_FACTOR);
    }
}
