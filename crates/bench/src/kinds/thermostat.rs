//! Thermostat: a contact that heat opens and cooling closes again.
//!
//! # Assumes
//! In a setup its state is as the setup says, closed unless it says open. In a run heat moves it, at the temperature of
//! what it is clamped to or of the air about it; without `opens_celsius` it stays closed.

use super::Kind;
use super::contact::{self, ContactOdds};
use super::rated::{self, ContactAmps};
use crate::fault::{FaultMode, SHORT_CYCLING};
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// What a thermostat cools by before it closes again, kelvins (common practice, no source: 3 to 10).
const DIFFERENTIAL: f64 = 6.0;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.025, welded: 0.012, burnt: 0.008 };

/// Thermostat. Terminals: a, b. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "ThermostatEntry")]
#[schemars(with = "ThermostatEntry")]
pub struct Thermostat {
    entry: ThermostatEntry,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThermostatEntry {
    /// Temperature at which it opens, degrees Celsius.
    opens_celsius: Option<Positive>,
    /// Temperature at which it closes again, degrees Celsius; 6 kelvins lower if not given.
    closes_celsius: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
}

impl TryFrom<ThermostatEntry> for Thermostat {
    type Error = String;

    fn try_from(entry: ThermostatEntry) -> Result<Self, Self::Error> {
        contact::check_order(entry.opens_celsius, entry.closes_celsius)?;
        Ok(Thermostat { entry })
    }
}

impl Kind for Thermostat {
    fn name(&self) -> &'static str {
        "thermostat"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let opens = self.entry.opens_celsius.map_or("thermostat".into(), |opens| format!("opens at {} C", opens.0));
        opens + &rated::contact_words(self.entry.rated_amps)
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

    fn heat(&self) -> PartHeat {
        PartHeat::feeler()
    }

    fn heat_contact(&self, size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        let opens = self.entry.opens_celsius.map(|opens| opens.0);
        let contact = contact::by_heat(opens, self.entry.closes_celsius, Some(DIFFERENTIAL))?;
        // Of one that cycles too fast only a share of its differential is left.
        let left = size(SHORT_CYCLING).unwrap_or(1.0);
        let closer = |closes: f64| contact.opens_celsius - left * (contact.opens_celsius - closes);
        Some(HeatContact { closes_celsius: contact.closes_celsius.map(closer), ..contact })
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let closed = part.position() != Some("open") && !part.has_moved(0);
        contact::connect(part, part.terminal(0), part.terminal(1), closed, "");
    }
}
