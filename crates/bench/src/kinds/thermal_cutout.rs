//! Self-resetting thermal cutout: a contact that heat opens and cooling closes again.
//!
//! # Assumes
//! Its state is given by the setup, closed unless the setup says open; heat does not move it here.

use super::Kind;
use super::contact::{self, ContactOdds};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.02, welded: 0.004, burnt: 0.006 };

/// Self-resetting thermal cutout. Terminals: a, b. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermalCutout {
    /// Temperature at which it opens, degrees Celsius.
    pub opens_celsius: Option<Positive>,
}

impl Kind for ThermalCutout {
    fn name(&self) -> &'static str {
        "thermal-cutout"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        self.opens_celsius.map_or("self-resetting thermal cutout".into(), |opens| format!("opens at {} C", opens.0))
    }

    fn positions(&self) -> Vec<String> {
        contact::positions()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some("closed".into())
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the thermal cutout {}";
        let mut faults = contact::faults("", "the cutout contact", &ODDS, repair);
        faults.push(FaultMode::new("trips-early", "the cutout opens below its temperature", 0.012, repair));
        faults
    }

    fn is_protector(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let closed = part.position() != Some("open");
        contact::connect(part, part.terminal(0), part.terminal(1), closed, "");
    }
}
