//! Indicator lamp.
//!
//! # Assumes
//! Lit, a resistance. To an ohmmeter a glow lamp is open, since its test volts do not strike it, and so is a light-emitting
//! diode with a rectifier; a cold filament has about a tenth of the ohms that it has when lit (common practice, no source).
//! A glow lamp with too few volts to be lit, as one that has a wire behind it that hangs in the air, holds about the volts
//! that would keep it lit at whatever passes, or is dark: its ohms are anything between those when lit and insulation.

use super::{Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Watts assumed where none are given: a small lamp with its resistor (common practice, no source).
const USUAL_WATTS: f64 = 0.3;
/// A lamp whose watts are marked and above this has a filament (common practice, no source).
const FILAMENT_WATTS: f64 = 1.0;
/// Ohms of a filament cold over lit, and the spread of the natural logarithm (common practice, no source: 1/8 to 1/15).
const COLD_SHARE: f64 = 0.1;
const COLD_SPREAD: f64 = 0.3;

/// Volts (r.m.s.) that keep neon between small electrodes alight (data sheets of miniature lamps, from memory: 55 to 65 V),
/// and the plate below which a lamp can be no neon but has a diode, which lights from a few volts on.
const NEON_VOLTS: f64 = 60.0;
const LEAST_NEON_PLATE: f64 = 90.0;
const DIODE_VOLTS: f64 = 3.0;
/// Ohms of a lamp that is not lit: two standard deviations reach from those of a lit one of 0.2 W at 230 V to a gigohm
/// (engineering judgement).
const DIM_OHMS: f64 = 16e6;
const DIM_SPREAD: f64 = 2.0;

/// Of a filament.
const COLD: usize = 1;
/// Of what glows.
const DIM: usize = 1;

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
            Light::Glow => vec![lit, UnknownSpec::new("ohms while not lit", DIM_OHMS, DIM_SPREAD)],
            Light::Filament => vec![lit, UnknownSpec::new("cold ohms over lit", COLD_SHARE, COLD_SPREAD)],
        }
    }

    fn least_lit_volts(&self) -> Option<f64> {
        let volts = if self.volts.0 < LEAST_NEON_PLATE { DIODE_VOLTS } else { NEON_VOLTS };
        (self.light() == Light::Glow).then_some(volts)
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
            Light::Glow => part.glow_lamp(a, b, ohms, part.unknown(DIM)),
            Light::Filament if part.energised() => part.resistor("lamp", a, b, ohms),
            Light::Filament => part.resistor("lamp", a, b, &ohms * &part.unknown(COLD)),
        }
    }
}
