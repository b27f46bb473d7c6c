//! An arrangement: how the windings of one sort of motor are joined, and which of their ends come out as leads.

use crate::known::{Connection, Motor};

/// How winding sections are joined, with their ohms as a log-normal prior.
///
/// Nodes 0 to `terminals.len() - 1` have a lead; the `inner` nodes after them have none, such as a star point.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// In words.
    pub words: String,
    /// The kind of motor that has it.
    pub motor: Motor,
    /// Odds before any reading, against the other arrangements.
    pub odds: f64,
    /// Number of speeds it gives by its taps or windings.
    pub speeds: usize,
    /// Whether the leads are there to turn it either way: always, never, or by the way its start winding is joined.
    pub reversible: Option<bool>,
    /// How the phases are joined, of a three-phase motor.
    pub connection: Option<Connection>,
    /// What each lead is.
    pub terminals: Vec<Terminal>,
    /// Nodes without a lead.
    pub inner: usize,
    /// The windings.
    pub sections: Vec<Section>,
    /// Unknown values behind the ohms of the sections, each a standard normal one; the first is the size of all.
    pub latents: usize,
    /// What no reading of ohms can settle of it.
    pub cannot_tell: &'static [&'static str],
}

/// The inner end of a lead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terminal {
    /// Leads of one place belong together; places of one name are alike.
    pub place: usize,
    /// What the place is called: "common", "pair".
    pub role: &'static str,
    /// What the lead is within its place: "corner", or nothing.
    pub part: &'static str,
    /// Odds that its lead is open, against none being so.
    pub open: Odds,
}

/// Odds as a whole number of ten-thousandths, so that terminals can be told alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Odds(pub u32);

impl Odds {
    /// As a number.
    pub fn value(self) -> f64 {
        f64::from(self.0) * 1e-4
    }
}

/// Odds that a lead has come off or is broken inside (engineering judgement).
pub const LEAD_OPEN: Odds = Odds(50);
/// Odds that a winding section is burnt open (engineering judgement).
pub const SECTION_OPEN: f64 = 0.01;

/// A winding, or a part of one between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// What it is: "run winding".
    pub name: String,
    /// Node at one end.
    pub from: usize,
    /// Node at the other.
    pub to: usize,
    /// Sections of one class are alike before anything is read.
    pub class: usize,
    /// Median ohms at 20 degrees Celsius.
    pub median_ohms: f64,
    /// How the logarithm of its ohms moves with each unknown value.
    pub weights: Vec<(usize, f64)>,
}

impl Arrangement {
    /// Nodes with and without a lead.
    pub fn node_count(&self) -> usize {
        self.terminals.len() + self.inner
    }

    /// Its number of leads.
    pub fn lead_count(&self) -> usize {
        self.terminals.len()
    }
}

/// What may be open in a motor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Break {
    /// Nothing.
    None,
    /// A section, by its index.
    Section(usize),
    /// The lead of a terminal, by its index.
    Lead(usize),
}

/// A place of its own for each of some leads.
pub(crate) fn terminal(place: usize, role: &'static str) -> Terminal {
    Terminal { place, role, part: "", open: LEAD_OPEN }
}
