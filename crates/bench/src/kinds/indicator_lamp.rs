//! Indicator lamp.
//!
//! # Assumes
//! A resistance; a glow lamp's striking voltage and a filament's rise of resistance are inside the spread.

use super::{Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Watts assumed where none are given: a small lamp with its resistor (common practice, no source).
const USUAL_WATTS: f64 = 0.3;

/// Indicator lamp. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IndicatorLamp {
    /// Rated volts.
    pub volts: Positive,
    /// Rated watts.
    pub watts: Option<Positive>,
}

impl IndicatorLamp {
    fn watts(&self) -> f64 {
        self.watts.map_or(USUAL_WATTS, |watts| watts.0)
    }
}

impl Kind for IndicatorLamp {
    fn name(&self) -> &'static str {
        "indicator-lamp"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        format!("{} W at {} V", self.watts(), self.volts.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        vec![UnknownSpec::new("lamp ohms", self.volts.0 * self.volts.0 / self.watts(), 0.5)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        vec![FaultMode::new("open", "the lamp is burnt out", 0.015, "replace the indicator lamp {}")]
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if !part.has("open") {
            part.resistor("lamp", part.terminal(0), part.terminal(1), part.unknown(0));
        }
    }
}
