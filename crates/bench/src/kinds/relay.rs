//! Relay or contactor for alternating current: a coil, and contacts that it moves together.
//!
//! # Assumes
//! Pick-up at 80 % and drop-out at 40 % of the rated coil volts, within what IEC 60947-4-1 allows (from memory: pick-up by
//! 85 %, drop-out between 20 and 75 %). With its armature out, jammed or short of volts, the coil has a quarter of its
//! reactance and takes about twice the current; the moment of that in a sound relay is left out. All contacts move at once.

use super::contact::{self, ContactOdds, MovesTo};
use super::rated::{self, ContactAmps};
use super::switch::{ContactTable, contact_table, distinct_contacts, terminals_of};
use super::{Insulation, Kind, PlateClass, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::switching::{ContactLaw, OwnContact, Thresholds};
use crate::wiring::PartWiring;
use machine::copper;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Volt-amperes of a coil with its armature in: puts a 24 V coil at 32 ohms, the geometric middle of the 10 to 100 ohms that
/// are published (riunitedformarriage.org, a weak source; a training item shows 22 ohms as good, coastguardexams.com).
const USUAL_VOLT_AMPERES: f64 = 8.2;
/// Share of a coil's impedance that is resistance (engineering judgement).
const OHMS_SHARE: f64 = 0.45;
/// Reactance of a coil with its armature out over that with it in: the gap in its iron (engineering judgement; currents of
/// two to five times are in texts, less the more of a coil is copper).
const OUT_SHARE: f64 = 0.25;
/// Pick-up and drop-out over rated volts.
const PICKUP_SHARE: f64 = 0.8;
const DROPOUT_SHARE: f64 = 0.4;

/// A part that arcs at every operation (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.01, welded: 0.008, burnt: 0.012 };

const RELEASED: &str = "released";
const PULLED_IN: &str = "pulled-in";
const PULLED_IN_WORDS: &str = "the relay has pulled in";

const OHMS: usize = 0;
const REACTANCE: usize = 1;

/// Relay. Terminals: coil-a, coil-b, then all names in its contact table.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "RelayEntry")]
#[schemars(with = "RelayEntry")]
pub struct Relay {
    entry: RelayEntry,
    contacts: Vec<(String, String)>,
    terminals: Vec<String>,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RelayEntry {
    /// Rated volts of the coil, alternating.
    volts: Positive,
    /// Ohms of the coil, cold, where published.
    ohms: Option<Positive>,
    /// The pairs of terminals that are joined while the relay is `released`, and while it is `pulled-in`.
    #[serde(deserialize_with = "contact_table")]
    contacts: ContactTable,
    /// Amps that each of its contacts may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    rated_amps: Option<ContactAmps>,
    /// Insulation class, such as `F` or `155`.
    insulation_class: Option<PlateClass>,
}

impl TryFrom<RelayEntry> for Relay {
    type Error = String;

    fn try_from(entry: RelayEntry) -> Result<Self, Self::Error> {
        if let Some(state) = entry.contacts.keys().find(|state| ![RELEASED, PULLED_IN].contains(&state.as_str())) {
            return Err(format!(
                "contacts of a relay that is '{state}', expected {RELEASED} or {PULLED_IN}; rename it, or make it a switch"
            ));
        }
        let contacts = distinct_contacts(&entry.contacts);
        if contacts.is_empty() {
            return Err(format!(
                "a relay without contacts, expected at least one pair; write contacts.{PULLED_IN} = [[\"a\", \"b\"]]"
            ));
        }
        let mut terminals = vec!["coil-a".to_owned(), "coil-b".to_owned()];
        terminals.extend(terminals_of(&contacts).into_iter().map(str::to_owned));
        let contacts = contacts.into_iter().map(|(a, b)| (a.to_owned(), b.to_owned())).collect();
        Ok(Relay { entry, contacts, terminals })
    }
}

impl Relay {
    fn joins(&self, state: &str, a: &str, b: &str) -> bool {
        let pairs = self.entry.contacts.get(state);
        pairs.is_some_and(|pairs| pairs.iter().any(|(x, y)| (x == a && y == b) || (x == b && y == a)))
    }
}

/// What tells the faults of one contact from those of the others.
fn prefix(a: &str, b: &str) -> String {
    format!("{a}-{b}-")
}

fn contact_words(a: &str, b: &str) -> String {
    format!("contact {a} to {b}")
}

impl Kind for Relay {
    fn name(&self) -> &'static str {
        "relay"
    }

    fn terminals(&self) -> Vec<String> {
        self.terminals.clone()
    }

    fn describe(&self) -> String {
        let count = self.contacts.len();
        let (volts, plural) = (self.entry.volts.0, if count == 1 { "" } else { "s" });
        format!("coil for {volts} V, {count} contact{plural}{}", rated::contact_words(self.entry.rated_amps))
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let usual = OHMS_SHARE * self.entry.volts.0.powi(2) / USUAL_VOLT_AMPERES;
        let (ohms, spread) = self.entry.ohms.map_or((usual, 0.7), |ohms| (ohms.0, 0.06));
        let reactance = ohms * (1.0 / OHMS_SHARE.powi(2) - 1.0).sqrt();
        vec![
            UnknownSpec::new("coil ohms", ohms, spread),
            UnknownSpec::new("coil reactance", reactance, spread.hypot(0.3)),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the relay {}";
        let mut faults = vec![
            FaultMode::new("coil-open", "the coil of the relay is open", 0.025, repair),
            FaultMode::new("coil-shorted-turns", "some turns of the relay coil are shorted", 0.006, repair)
                .sized(Severity::share("share of turns", 0.3, 0.9)),
            FaultMode::new("does-not-pull-in", "the armature of the relay is jammed", 0.008, repair),
        ];
        for (a, b) in &self.contacts {
            faults.extend(contact::faults(&prefix(a, b), &contact_words(a, b), &ODDS, repair));
        }
        faults
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        let volts = self.entry.volts.0;
        let thresholds = Thresholds { leaves: PICKUP_SHARE * volts, returns: DROPOUT_SHARE * volts };
        vec![OwnContact { moved_words: PULLED_IN_WORDS, law: ContactLaw::Volts("coil", thresholds) }]
    }

    fn hindered_words(&self, _contact: usize, has: &dyn Fn(&str) -> bool) -> Option<String> {
        if has("does-not-pull-in") {
            return Some("the coil has its volts, but the relay does not pull in".into());
        }
        let hindered = self.contacts.iter().filter_map(|(a, b)| {
            let moves_to = match [RELEASED, PULLED_IN].map(|state| self.joins(state, a, b)) {
                [true, false] => MovesTo::Open,
                [false, true] => MovesTo::Closed,
                _ => return None,
            };
            contact::hindered(has, &prefix(a, b), &contact_words(a, b), moves_to)
        });
        let hindered: Vec<String> = hindered.collect();
        (!hindered.is_empty()).then(|| format!("{PULLED_IN_WORDS}, but {}", hindered.join(", and ")))
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_coil([0, 1]))
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let is_pulled_in = part.has_moved(0) && !part.has("does-not-pull-in");
        if !part.has("coil-open") {
            let mut ohms = &part.unknown(OHMS) * copper::resistance_ratio(part.winding_celsius(), 20.0);
            let mut reactance = part.unknown(REACTANCE);
            let mut label = "coil";
            if let Some(shorted) = part.severity("coil-shorted-turns") {
                // The shorted turns keep the flux from building up: what is left is mostly copper, and does not pull.
                let left = &(&shorted * -1.0) + 1.0;
                ohms = &ohms * &left;
                reactance = &(&reactance * &(&left * &left)) * 0.3;
                label = "coil with shorted turns";
            } else if !is_pulled_in {
                reactance = &reactance * OUT_SHARE;
            }
            part.inductor(label, part.terminal(0), part.terminal(1), ohms, reactance);
        }
        let state = if is_pulled_in { PULLED_IN } else { RELEASED };
        let place = |name: &String| self.terminals.iter().position(|known| known == name).unwrap_or_default();
        for (a, b) in &self.contacts {
            let (from, to) = (part.terminal(place(a)), part.terminal(place(b)));
            contact::connect(part, from, to, self.joins(state, a, b), format_args!("{a}-{b}-"));
        }
    }
}
