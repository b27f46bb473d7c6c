//! Varistor against surges, across the line.
//!
//! # Assumes
//! At rated volts it passes next to nothing (microamperes), so a sound one is left out of the circuit, and so is its
//! capacitance of some hundred picofarads. What it does above its rating is left out too: from about one and a half times
//! its rated volts it conducts and soon fails, but where the bend lies differs from one to the next, and no plate tells.
//! High volts are a reason for one to have failed; nothing here computes that.

use super::Kind;
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Varistor. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Varistor {
    /// Rated volts, alternating, that it stands all the time.
    pub volts: Positive,
}

impl Kind for Varistor {
    fn name(&self) -> &'static str {
        "varistor"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        format!("{} V", self.volts.0)
    }

    fn faults(&self) -> Vec<FaultMode> {
        let failed = "replace the varistor {} with one of the same volts, and find out whether the supply had surges or \
                      too many volts";
        vec![
            FaultMode::new("shorted", "the varistor has broken down to a short", 0.012, failed)
                .sized(Severity::ohms(1.0, 1.0)),
            // Before the short it draws more and more, and gets hot: watts to tens of watts.
            FaultMode::new("leaky", "the varistor has aged and passes current at ordinary volts", 0.004, failed)
                .sized(Severity::ohms(10e3, 1.5)),
            FaultMode::new("open", "the varistor is open, so that nothing holds surges down", 0.004, failed),
        ]
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        for (fault, label) in [("shorted", "broken-down varistor"), ("leaky", "leaky varistor")] {
            if let Some(ohms) = part.severity(fault) {
                part.resistor(label, part.terminal(0), part.terminal(1), ohms);
            }
        }
    }
}
