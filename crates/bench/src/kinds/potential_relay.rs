//! Potential relay: takes a start capacitor out once the volts across the start winding have risen with the speed.
//!
//! Its contact is closed at rest. The coil lies across the start winding, whose volts rise as the motor speeds up.
//! Terminals in plain words, with the numbers mostly found on the case: `start` (2) to the start winding, `capacitor` (1)
//! to the start capacitor, `common` (5) to the common lead; the contact is between 1 and 2, the coil between 5 and 2.
//!
//! # Assumes
//! Drop-out at a third of pick-up where it is not given; coil ohms of the usual size where they are not given, and as much
//! reactance as resistance (engineering judgement, spreads to match). The armature changes nothing about the coil.

use super::contact::{self, ContactOdds, MovesTo};
use super::rated::{self, ContactAmps};
use super::{Kind, PlateClass, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::switching::{ContactLaw, OwnContact, Thresholds};
use crate::wiring::PartWiring;
use circuit::Quantity;
use machine::copper;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Drop-out over pick-up (common practice, no source: 60 to 130 V beside 180 to 390 V).
const DROPOUT_SHARE: f64 = 0.33;
/// Ohms of a coil that picks up at 200 V; with the square of the volts for others (engineering judgement).
const OHMS_AT_200_VOLTS: f64 = 4000.0;
const REACTANCE_OVER_OHMS: f64 = 1.0;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.012, welded: 0.015, burnt: 0.01 };
const CONTACT_WORDS: &str = "the contact of the relay";

const OHMS: usize = 0;
const REACTANCE: usize = 1;

/// Potential relay. Terminals: start, capacitor, common.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "PotentialRelayEntry")]
#[schemars(with = "PotentialRelayEntry")]
pub struct PotentialRelay {
    entry: PotentialRelayEntry,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PotentialRelayEntry {
    /// Volts across the coil at which the contact opens.
    pickup_volts: Positive,
    /// Volts at which it closes again.
    dropout_volts: Option<Positive>,
    /// Ohms of the coil, cold, where published.
    ohms: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
    /// Insulation class, such as `F` or `155`.
    insulation_class: Option<PlateClass>,
}

impl TryFrom<PotentialRelayEntry> for PotentialRelay {
    type Error = String;

    fn try_from(entry: PotentialRelayEntry) -> Result<Self, Self::Error> {
        let (pickup, dropout) = (entry.pickup_volts.0, entry.dropout_volts.map(|volts| volts.0));
        match dropout {
            Some(dropout) if dropout >= pickup => Err(format!(
                "drop-out at {dropout} V is not below pick-up at {pickup} V, expected the contact to close again at fewer \
                 volts than it opens at; correct one of them, or leave dropout_volts out"
            )),
            _ => Ok(PotentialRelay { entry }),
        }
    }
}

impl PotentialRelay {
    fn thresholds(&self) -> Thresholds {
        let leaves = self.entry.pickup_volts.0;
        Thresholds { leaves, returns: self.entry.dropout_volts.map_or(DROPOUT_SHARE * leaves, |volts| volts.0) }
    }
}

impl Kind for PotentialRelay {
    fn name(&self) -> &'static str {
        "potential-relay"
    }

    fn terminals(&self) -> Vec<String> {
        ["start", "capacitor", "common"].map(String::from).to_vec()
    }

    fn describe(&self) -> String {
        let Thresholds { leaves, returns } = self.thresholds();
        let contact = rated::contact_words(self.entry.rated_amps);
        format!("opens at {leaves} V, closes again at {} V{contact}", crate::words::number(returns))
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let usual = OHMS_AT_200_VOLTS * (self.entry.pickup_volts.0 / 200.0).powi(2);
        let (ohms, spread) = self.entry.ohms.map_or((usual, 0.6), |ohms| (ohms.0, 0.08));
        vec![
            UnknownSpec::new("coil ohms", ohms, spread),
            UnknownSpec::new("coil reactance", REACTANCE_OVER_OHMS * ohms, 0.5f64.hypot(spread)),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the potential relay {}";
        let mut faults = vec![FaultMode::new("coil-open", "the coil of the relay is open", 0.02, repair)];
        faults.extend(contact::faults("", CONTACT_WORDS, &ODDS, repair));
        faults
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        vec![OwnContact { moved_words: "the relay has opened", law: ContactLaw::Volts("coil", self.thresholds()) }]
    }

    fn hindered_words(&self, _contact: usize, has: &dyn Fn(&str) -> bool) -> Option<String> {
        contact::hindered(has, "", CONTACT_WORDS, MovesTo::Open)
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (start, capacitor, common) = (part.terminal(0), part.terminal(1), part.terminal(2));
        contact::connect(part, capacitor, start, !part.has_moved(0), "");
        if !part.has("coil-open") {
            let ohms: Quantity = &part.unknown(OHMS) * copper::resistance_ratio(part.winding_celsius(), 20.0);
            let reactance = part.unknown(REACTANCE);
            part.inductor("coil", common, start, ohms, reactance);
        }
    }
}
