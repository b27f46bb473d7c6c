//! Run capacitor.
//!
//! # Assumes
//! Loss factor 0.002 at supply frequency (limit of IEC 60252-1 product sheets at 1 kHz); no harmonics.

use super::{Kind, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;
use std::f64::consts::PI;

/// Spread about the marked value: marked tolerances are 5 to 10 % (IEC 60252-1 product sheets).
const FARADS_SPREAD: f64 = 0.04;
const LOSS_FACTOR: f64 = 0.002;

/// Run capacitor. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunCapacitor {
    /// Marked microfarads.
    pub microfarads: Positive,
    /// Marked volts.
    pub volts: Option<Positive>,
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
        format!("{} uF{volts}", self.microfarads.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        vec![UnknownSpec::new("microfarads", self.microfarads.0, FARADS_SPREAD)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the capacitor {} with one of the same microfarads and at least the same volts";
        vec![
            FaultMode::new("open", "the capacitor is open inside", 0.03, repair),
            FaultMode::new("low", "the capacitor has lost capacitance", 0.06, repair).sized(Severity::share(
                "share of capacitance lost",
                0.4,
                0.9,
            )),
            FaultMode::new("shorted", "the capacitor is shorted", 0.012, repair).sized(Severity::ohms(1.0, 1.0)),
            FaultMode::new("leaky", "the capacitor leaks", 0.006, repair).sized(Severity::ohms(20e3, 1.5)),
            FaultMode::new("wrong-value", "a capacitor of another value is fitted", 0.01, repair)
                .sized(Severity::factor("times marked capacitance", 1.0, 0.6)),
        ]
    }

    fn stores_charge(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (a, b) = (part.terminal(0), part.terminal(1));
        if part.has("open") {
            return;
        }
        if let Some(ohms) = part.severity("shorted") {
            part.resistor("short", a, b, ohms);
            return;
        }
        if let Some(ohms) = part.severity("leaky") {
            part.resistor("leak", a, b, ohms);
        }
        let mut microfarads = part.unknown(0);
        if let Some(lost) = part.severity("low") {
            microfarads = &microfarads * &(&(&lost * -1.0) + 1.0);
        }
        if let Some(factor) = part.severity("wrong-value") {
            microfarads = &microfarads * &factor;
        }
        let reactance = &microfarads.recip() * (1e6 / (2.0 * PI * part.hertz()));
        part.blocking("capacitor", a, b, &reactance * LOSS_FACTOR, &reactance * -1.0);
    }
}
