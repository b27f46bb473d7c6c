//! Thermostat: a contact that heat opens and cooling closes again.
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
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.025, welded: 0.012, burnt: 0.008 };

/// Thermostat. Terminals: a, b. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Thermostat {
    /// Temperature at which it opens, degrees Celsius.
    pub opens_celsius: Option<Positive>,
}

impl Kind for Thermostat {
    fn name(&self) -> &'static str {
        "thermostat"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        self.opens_celsius.map_or("thermostat".into(), |opens| format!("opens at {} C", opens.0))
    }

    fn positions(&self) -> Vec<String> {
        contact::positions()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some("closed".into())
    }

    fn faults(&self) -> Vec<FaultMode> {
        contact::faults("", "the thermostat contact", &ODDS, "replace the thermostat {}")
    }

    fn is_protector(&self) -> bool {
        false
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let closed = part.position() != Some("open");
        contact::connect(part, part.terminal(0), part.terminal(1), closed, "");
    }
}
