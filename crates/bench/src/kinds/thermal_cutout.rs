//! Self-resetting thermal cutout: a contact that heat opens and cooling closes again.
//!
//! # Assumes
//! In a setup its state is as the setup says, closed unless it says open. In a run heat moves it, at the temperature of
//! what it is clamped to or of the air about it; without `opens_celsius` it stays closed.

use super::Kind;
use super::contact::{self, ContactOdds};
use super::rated::{self, ContactAmps};
use crate::fault::FaultMode;
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// What a cutout cools by before it closes again, kelvins (common practice, no source: 15 to 40).
const DIFFERENTIAL: f64 = 25.0;
/// How far below its temperature one that trips early opens, kelvins (engineering judgement).
const EARLY_KELVIN: f64 = 30.0;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.02, welded: 0.004, burnt: 0.006 };

/// Self-resetting thermal cutout. Terminals: a, b. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "ThermalCutoutEntry")]
#[schemars(with = "ThermalCutoutEntry")]
pub struct ThermalCutout {
    entry: ThermalCutoutEntry,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermalCutoutEntry {
    /// Temperature at which it opens, degrees Celsius.
    opens_celsius: Option<Positive>,
    /// Temperature at which it closes again, degrees Celsius; 25 kelvins lower if not given.
    closes_celsius: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
}

impl TryFrom<ThermalCutoutEntry> for ThermalCutout {
    type Error = String;

    fn try_from(entry: ThermalCutoutEntry) -> Result<Self, Self::Error> {
        contact::check_order(entry.opens_celsius, entry.closes_celsius)?;
        Ok(ThermalCutout { entry })
    }
}

impl Kind for ThermalCutout {
    fn name(&self) -> &'static str {
        "thermal-cutout"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let opens = self.entry.opens_celsius;
        let opens = opens.map_or("self-resetting thermal cutout".into(), |opens| format!("opens at {} C", opens.0));
        opens + &rated::contact_words(self.entry.rated_amps)
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

    fn heat(&self) -> PartHeat {
        PartHeat::feeler()
    }

    fn heat_contact(&self, size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        let early = if size("trips-early").is_some() { EARLY_KELVIN } else { 0.0 };
        let opens = self.entry.opens_celsius.map(|opens| opens.0 - early);
        let closes = self.entry.closes_celsius.map(|closes| Positive(closes.0 - early));
        contact::by_heat(opens, closes, Some(DIFFERENTIAL))
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let closed = part.position() != Some("open") && !part.has_moved(0);
        contact::connect(part, part.terminal(0), part.terminal(1), closed, "");
    }
}
