//! An answer: which lead is what, whatever arrangement makes it so.

use crate::arrangement::Arrangement;

/// A place in the windings and the leads at it; places are sorted, so that equal answers are equal.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Station {
    /// What it is: "common", "pair".
    pub role: &'static str,
    /// What each lead is within it (mostly nothing), and the lead.
    pub leads: Vec<(&'static str, usize)>,
}

/// Which lead is what.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Assignment(pub Vec<Station>);

impl Assignment {
    /// What an arrangement makes of leads at its terminals.
    pub fn new(arrangement: &Arrangement, lead_at: &[usize]) -> Self {
        let mut stations: Vec<(usize, Station)> = Vec::new();
        for (terminal, &lead) in arrangement.terminals.iter().zip(lead_at) {
            let entry = (terminal.part, lead);
            match stations.iter_mut().find(|(place, _)| *place == terminal.place) {
                Some((_, station)) => station.leads.push(entry),
                None => stations.push((terminal.place, Station { role: terminal.role, leads: vec![entry] })),
            }
        }
        stations.iter_mut().for_each(|(_, station)| station.leads.sort_unstable());
        // In the order of the arrangement; places of one name by their leads.
        let order = |station: &Station| arrangement.terminals.iter().position(|terminal| terminal.role == station.role);
        let mut stations: Vec<Station> = stations.into_iter().map(|(_, station)| station).collect();
        stations.sort_by(|a, b| (order(a), &a.leads).cmp(&(order(b), &b.leads)));
        Assignment(stations)
    }

    /// What a lead is.
    pub fn role_of(&self, lead: usize) -> &'static str {
        let has = |station: &&Station| station.leads.iter().any(|&(_, other)| other == lead);
        self.0.iter().find(has).map_or("", |station| station.role)
    }
}
