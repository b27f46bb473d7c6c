//! Thermal cutout that stays open once heat has opened it, until its button is pressed.
//!
//! # Assumes
//! In a setup its state is as the setup says, closed unless it says open. Found open without a setup that says so, it
//! has tripped: a fault like any other, with a cause to be looked for. In a run heat opens it, at the temperature of what
//! it is clamped to or of the air about it, and it stays open; without `opens_celsius` it stays closed.

use super::Kind;
use super::contact::{self, ContactOdds};
use super::rated::{self, ContactAmps};
use crate::fault::FaultMode;
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.012, welded: 0.003, burnt: 0.006 };

/// Manual-reset thermal cutout. Terminals: a, b. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ManualResetCutout {
    /// Temperature at which it opens, degrees Celsius.
    pub opens_celsius: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    pub rated_amps: Option<ContactAmps>,
}

impl Kind for ManualResetCutout {
    fn name(&self) -> &'static str {
        "manual-reset-cutout"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let opens = self.opens_celsius.map_or("manual-reset thermal cutout".into(), |opens| {
            format!("opens at {} C, until its button is pressed", opens.0)
        });
        opens + &rated::contact_words(self.rated_amps)
    }

    fn positions(&self) -> Vec<String> {
        contact::positions()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some("closed".into())
    }

    fn faults(&self) -> Vec<FaultMode> {
        let tripped = "find what overheated, then press the button of the cutout {}";
        let mut faults = contact::faults("", "the cutout contact", &ODDS, "replace the manual-reset cutout {}");
        faults.push(FaultMode::new("tripped", "the cutout has tripped and was not reset", 0.04, tripped));
        faults
    }

    fn is_protector(&self) -> bool {
        true
    }

    fn heat(&self) -> PartHeat {
        PartHeat::feeler()
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        contact::by_heat(self.opens_celsius.map(|opens| opens.0), None, None)
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let closed = part.position() != Some("open") && !part.has("tripped") && !part.has_moved(0);
        contact::connect(part, part.terminal(0), part.terminal(1), closed, "");
    }
}
