//! Switch: any number of contacts, closed by position.

use super::Kind;
use super::contact::{self, ContactOdds};
use super::rated::{self, ContactAmps};
use crate::fault::FaultMode;
use crate::job::Pair;
use crate::wiring::PartWiring;
use serde::Deserialize;
use serde::de::{Deserializer, Error};
use std::collections::BTreeMap;

/// Odds per contact; a part that arcs at every operation (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.01, welded: 0.003, burnt: 0.008 };

/// Switch. Terminals are all names in its contact table.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Switch {
    /// For each position the pairs of terminals that it joins.
    #[serde(deserialize_with = "contact_table")]
    pub positions: ContactTable,
    /// Amps that each of its contacts may carry, if marked; of 16(4) the figure in brackets where a motor is switched.
    pub rated_amps: Option<ContactAmps>,
}

/// For each position the pairs of terminals that it joins.
pub(super) type ContactTable = BTreeMap<String, Vec<(String, String)>>;

/// Reads a contact table in which every contact joins two different terminals.
pub(super) fn contact_table<'de, D: Deserializer<'de>>(table: D) -> Result<ContactTable, D::Error> {
    let table = BTreeMap::<String, Vec<Pair<String>>>::deserialize(table)?;
    if let Some(Pair(a, _)) = table.values().flatten().find(|Pair(a, b)| a == b) {
        return Err(D::Error::custom(format!("a contact from {a} to itself, expected two different terminals")));
    }
    let pairs = |contacts: Vec<Pair<String>>| contacts.into_iter().map(|Pair(a, b)| (a, b)).collect();
    Ok(table.into_iter().map(|(position, contacts)| (position, pairs(contacts))).collect())
}

/// Every pair that a contact table joins somewhere, each once.
pub(super) fn distinct_contacts(table: &ContactTable) -> Vec<(&str, &str)> {
    let mut contacts: Vec<(&str, &str)> = Vec::new();
    for (a, b) in table.values().flatten() {
        let (a, b) = (a.as_str(), b.as_str());
        if !contacts.contains(&(a, b)) && !contacts.contains(&(b, a)) {
            contacts.push((a, b));
        }
    }
    contacts
}

/// The terminals of contacts in the order in which they are named.
pub(super) fn terminals_of<'n>(contacts: &[(&'n str, &'n str)]) -> Vec<&'n str> {
    let mut names: Vec<&str> = Vec::new();
    for name in contacts.iter().flat_map(|&(a, b)| [a, b]) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

impl Switch {
    /// Every pair that some position joins, each once.
    fn contacts(&self) -> Vec<(&str, &str)> {
        distinct_contacts(&self.positions)
    }

    fn ordinary(&self) -> Option<&str> {
        let off = self.positions.keys().find(|name| name.as_str() == "off");
        off.or_else(|| self.positions.keys().next()).map(String::as_str)
    }
}

impl Kind for Switch {
    fn name(&self) -> &'static str {
        "switch"
    }

    fn terminals(&self) -> Vec<String> {
        terminals_of(&self.contacts()).into_iter().map(str::to_owned).collect()
    }

    fn describe(&self) -> String {
        let positions: Vec<&str> = self.positions.keys().map(String::as_str).collect();
        format!("positions {}{}", positions.join(", "), rated::contact_words(self.rated_amps))
    }

    fn positions(&self) -> Vec<String> {
        self.positions.keys().cloned().collect()
    }

    fn is_set_by_hand(&self) -> bool {
        true
    }

    fn ordinary_position(&self) -> Option<String> {
        self.ordinary().map(str::to_owned)
    }

    fn faults(&self) -> Vec<FaultMode> {
        self.contacts()
            .iter()
            .flat_map(|(a, b)| {
                contact::faults(&format!("{a}-{b}-"), &format!("contact {a} to {b}"), &ODDS, "replace the switch {}")
            })
            .collect()
    }

    fn rated_contact_amps(&self) -> Option<f64> {
        self.rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let contacts = self.contacts();
        let names = terminals_of(&contacts);
        let position = part.position().or(self.ordinary());
        let closed = position.and_then(|name| self.positions.get(name)).map_or(&[][..], Vec::as_slice);
        let place = |name: &str| names.iter().position(|known| *known == name).unwrap_or_default();
        for (a, b) in contacts {
            let is_closed = closed.iter().any(|(x, y)| (x == a && y == b) || (x == b && y == a));
            let (from, to) = (part.terminal(place(a)), part.terminal(place(b)));
            contact::connect(part, from, to, is_closed, format_args!("{a}-{b}-"));
        }
    }
}
