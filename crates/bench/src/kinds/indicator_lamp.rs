//! Indicator lamp.
//!
//! # Assumes
//! Lit, a resistance. To an ohmmeter a glow lamp is open, since its test volts do not strike it, and so is a light-emitting
//! diode with a rectifier; a cold filament has about a tenth of the ohms that it has when lit (common practice, no source).
//! A lamp at a few volts, as one in series with something else, is taken for lit.

use super::{Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use circuit::Quantity;
use serde::Deserialize;

/// Watts assumed where none are given: a small lamp with its resistor (common practice, no source).
const USUAL_WATTS: f64 = 0.3;
/// A lamp whose watts are marked and above this has a filament (common practice, no source).
const FILAMENT_WATTS: f64 = 1.0;
/// Ohms of a filament cold over lit, and the spread of the natural logarithm (common practice, no source: 1/8 to 1/15).
const COLD_SHARE: f64 = 0.1;
const COLD_SPREAD: f64 = 0.3;

const COLD: usize = 1;

/// Indicator lamp. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IndicatorLamp {
    /// Rated volts.
    pub volts: Positive,
    /// Rated watts.
    pub watts: Option<Positive>,
    /// What lights in it. Without it: a filament from 1 W on, a glow lamp below.
    pub light: Option<Light>,
}

/// What lights in a lamp.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Light {
    /// Gas, or a light-emitting diode behind a rectifier: open to an ohmmeter.
    Glow,
    /// A filament.
    Filament,
}

impl IndicatorLamp {
    fn watts(&self) -> f64 {
        self.watts.map_or(USUAL_WATTS, |watts| watts.0)
    }

    fn light(&self) -> Light {
        let usual = if self.watts() >= FILAMENT_WATTS { Light::Filament } else { Light::Glow };
        self.light.unwrap_or(usual)
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
        let lit = UnknownSpec::new("lamp ohms", self.volts.0 * self.volts.0 / self.watts(), 0.5);
        match self.light() {
            Light::Glow => vec![lit],
            Light::Filament => vec![lit, UnknownSpec::new("cold ohms over lit", COLD_SHARE, COLD_SPREAD)],
        }
    }

    fn faults(&self) -> Vec<FaultMode> {
        vec![FaultMode::new("open", "the lamp is burnt out", 0.015, "replace the indicator lamp {}")]
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if part.has("open") {
            return;
        }
        let (a, b, ohms) = (part.terminal(0), part.terminal(1), part.unknown(0));
        match self.light() {
            Light::Glow => part.blocking("lamp", a, b, ohms, Quantity::constant(0.0)),
            Light::Filament if part.energised() => part.resistor("lamp", a, b, ohms),
            Light::Filament => part.resistor("lamp", a, b, &ohms * &part.unknown(COLD)),
        }
    }
}
