//! Start capacitor: an electrolytic capacitor for alternating current, made for a few seconds at a time.
//!
//! # Assumes
//! Marked with the least it has, as such capacitors are: the true value lies up to 20 or 30 % above (common practice, no
//! source). Loss factor 0.08 (engineering judgement; up to 0.1 is called good). A bleed resistor lies across its
//! terminals, not inside it, so an ohmmeter reads it.

use super::capacitor::{self, CapacitorOdds};
use super::rated::{self, MaxCelsius};
use super::{Doubt, Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Median over the marked value, and the spread about it.
const ABOVE_MARK: f64 = 1.1;
const FARADS_SPREAD: f64 = 0.07;
const LOSS_FACTOR: f64 = 0.08;
/// What such capacitors have, microfarads (common practice, no source).
const USUAL_MICROFARADS: [f64; 2] = [2.0, 2000.0];

/// Twenty starts an hour of three seconds each (common practice, no source; the same as the 1.7 % of a duty cycle of three
/// minutes that IEC 60252-2 has, from memory).
const STARTING_SECONDS: f64 = 3.0;

/// It dries out, and dies if the switch ahead of it does not open (common practice, no source).
const ODDS: CapacitorOdds = CapacitorOdds { open: 0.05, low: 0.05, shorted: 0.02, leaky: 0.008, wrong_value: 0.01 };

/// Start capacitor. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StartCapacitor {
    /// Marked microfarads; of a range the lower figure.
    pub microfarads: Positive,
    /// Marked volts.
    pub volts: Option<Positive>,
    /// The hottest it may get, degrees Celsius, if marked; of 25/085/21 the figure in the middle.
    pub max_celsius: Option<MaxCelsius>,
    /// Bleed resistor across its terminals, if there is one, ohms.
    pub bleed_ohms: Option<Positive>,
}

impl Kind for StartCapacitor {
    fn name(&self) -> &'static str {
        "start-capacitor"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let volts = self.volts.map_or(String::new(), |volts| format!(", {} V", volts.0));
        let bleed = self.bleed_ohms.map_or(String::new(), |ohms| format!(", {} ohm across it", ohms.0));
        let celsius = rated::celsius_words(self.max_celsius);
        format!("{} uF{volts}{celsius}{bleed}", self.microfarads.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let farads = UnknownSpec::new("microfarads", ABOVE_MARK * self.microfarads.0, FARADS_SPREAD);
        // Bleed resistors are 5 or 10 % parts.
        let bleed = self.bleed_ohms.map(|ohms| UnknownSpec::new("bleed resistor", ohms.0, 0.05));
        std::iter::once(farads).chain(bleed).collect()
    }

    fn faults(&self) -> Vec<FaultMode> {
        let mut faults = capacitor::faults(&ODDS);
        if self.bleed_ohms.is_some() {
            let repair = "replace the bleed resistor of {}";
            faults.push(FaultMode::new("bleed-open", "the bleed resistor is open", 0.004, repair));
        }
        faults
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

    fn starting_seconds(&self) -> Option<f64> {
        Some(STARTING_SECONDS)
    }

    fn max_celsius(&self) -> Option<f64> {
        self.max_celsius.map(|celsius| celsius.0)
    }

    fn stores_charge(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if self.bleed_ohms.is_some() && !part.has("bleed-open") {
            part.resistor("bleed resistor", part.terminal(0), part.terminal(1), part.unknown(1));
        }
        capacitor::connect(part, LOSS_FACTOR);
    }
}
