//! Half-wave diode: lets every other half of the wave pass, for a low setting of a heater or a universal motor.
//!
//! # Assumes
//! As [`crate::half_wave`]. Its 0.8 V in forward direction are left out. An ohmmeter's volts are below those, so a sound one
//! reads open both ways on an ohms range; what its diode test shows is no resistance.

use super::{Kind, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::half_wave::{DIRECT_SHARE_MEDIAN, DIRECT_SHARE_SPREAD};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Half-wave diode. Terminals: a, b; which is which does not matter.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HalfWaveDiode {
    /// Rated amps.
    pub amps: Option<Positive>,
}

impl Kind for HalfWaveDiode {
    fn name(&self) -> &'static str {
        "half-wave-diode"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        self.amps.map_or("diode in series".into(), |amps| format!("diode in series, {} A", amps.0))
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        vec![UnknownSpec::new("how much direct current meters leave out", DIRECT_SHARE_MEDIAN, DIRECT_SHARE_SPREAD)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the diode {} with one for at least the same amps and volts";
        vec![
            FaultMode::new("shorted", "the diode has broken through, so that full power passes", 0.03, repair),
            FaultMode::new("open", "the diode is open", 0.02, repair),
            FaultMode::new("leaky", "the diode leaks in its blocking half", 0.004, repair)
                .sized(Severity::ohms(500.0, 1.5)),
        ]
    }

    fn rating(&self) -> Option<Rating> {
        self.amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 })
    }

    fn passes_half_waves(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (a, b) = (part.terminal(0), part.terminal(1));
        if part.has("shorted") {
            part.join(a, b);
            return;
        }
        if let Some(ohms) = part.severity("leaky") {
            part.resistor("leakage", a, b, ohms);
        }
        if !part.has("open") {
            part.diode(a, b);
        }
    }
}
