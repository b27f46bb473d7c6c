//! Current relay: puts the start winding in while the run winding draws its heavy current, and takes it out as that falls.
//!
//! Its contact is open at rest. The coil, a few turns of thick wire, is in series with the run winding, from `line` to
//! `run`; the contact is between `line` and `start`.
//!
//! # Assumes
//! Drop-out at 85 % of pick-up where it is not given (common practice, no source). The coil's few turns have the
//! resistance that drops one volt at pick-up, and as much reactance (engineering judgement, spreads to match). It hangs
//! the right way up.

use super::contact::{self, ContactOdds, MovesTo};
use super::rated::{self, ContactAmps};
use super::{Kind, UnknownSpec};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::switching::{ContactLaw, OwnContact, Thresholds};
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Drop-out over pick-up.
const DROPOUT_SHARE: f64 = 0.85;
/// Volts that the coil's resistance drops at pick-up.
const VOLTS_AT_PICKUP: f64 = 1.0;

/// Odds (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.025, welded: 0.015, burnt: 0.012 };
const CONTACT_WORDS: &str = "the contact of the relay";

const OHMS: usize = 0;
const REACTANCE: usize = 1;

/// Current relay. Terminals: line, run, start.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "CurrentRelayEntry")]
#[schemars(with = "CurrentRelayEntry")]
pub struct CurrentRelay {
    entry: CurrentRelayEntry,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentRelayEntry {
    /// Amps through the coil at which the contact closes.
    pickup_amps: Positive,
    /// Amps at which it opens again.
    dropout_amps: Option<Positive>,
    /// Amps that its contact may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
}

impl TryFrom<CurrentRelayEntry> for CurrentRelay {
    type Error = String;

    fn try_from(entry: CurrentRelayEntry) -> Result<Self, Self::Error> {
        let (pickup, dropout) = (entry.pickup_amps.0, entry.dropout_amps.map(|amps| amps.0));
        match dropout {
            Some(dropout) if dropout >= pickup => Err(format!(
                "drop-out at {dropout} A is not below pick-up at {pickup} A, expected the contact to open again at less \
                 current than it closes at; correct one of them, or leave dropout_amps out"
            )),
            _ => Ok(CurrentRelay { entry }),
        }
    }
}

impl CurrentRelay {
    fn thresholds(&self) -> Thresholds {
        let leaves = self.entry.pickup_amps.0;
        Thresholds { leaves, returns: self.entry.dropout_amps.map_or(DROPOUT_SHARE * leaves, |amps| amps.0) }
    }
}

impl Kind for CurrentRelay {
    fn name(&self) -> &'static str {
        "current-relay"
    }

    fn terminals(&self) -> Vec<String> {
        ["line", "run", "start"].map(String::from).to_vec()
    }

    fn describe(&self) -> String {
        let Thresholds { leaves, returns } = self.thresholds();
        let contact = rated::contact_words(self.entry.rated_amps);
        format!("closes at {leaves} A, opens again at {} A{contact}", crate::words::number(returns))
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let ohms = VOLTS_AT_PICKUP / self.entry.pickup_amps.0;
        vec![UnknownSpec::new("coil ohms", ohms, 0.6), UnknownSpec::new("coil reactance", ohms, 0.8)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the current relay {}";
        let mut faults = vec![FaultMode::new("coil-open", "the coil of the relay is open", 0.012, repair)];
        faults.extend(contact::faults("", CONTACT_WORDS, &ODDS, repair));
        faults
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        vec![OwnContact { moved_words: "the relay has closed", law: ContactLaw::Amps("coil", self.thresholds()) }]
    }

    fn hindered_words(&self, _contact: usize, has: &dyn Fn(&str) -> bool) -> Option<String> {
        contact::hindered(has, "", CONTACT_WORDS, MovesTo::Closed)
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (line, run, start) = (part.terminal(0), part.terminal(1), part.terminal(2));
        contact::connect(part, line, start, part.has_moved(0), "");
        if !part.has("coil-open") {
            part.inductor("coil", line, run, part.unknown(OHMS), part.unknown(REACTANCE));
        }
    }
}
