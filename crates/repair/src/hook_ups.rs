//! Mistakes in connecting a part that was just put in, and what each would show.

use crate::compare::Remark;
use bench::{TerminalId, Unit};

/// A mistake in connecting a new part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Mistake {
    /// Two of its leads are on each other's terminals; both by name.
    Interchanged([String; 2]),
    /// A lead is on the same terminal of another part of the same kind.
    OnAnother {
        /// The wire.
        lead: String,
        /// Where it is.
        on: String,
        /// Where it belongs.
        belongs_on: String,
    },
}

impl Mistake {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Mistake::Interchanged([a, b]) => format!("{a} and {b} interchanged"),
            Mistake::OnAnother { lead, on, belongs_on } => format!("the lead {lead} on {on} instead of {belongs_on}"),
        }
    }
}

/// A mistake in connecting a new part, and what it would do.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongHookUp {
    /// The mistake.
    pub mistake: Mistake,
    /// What would be seen.
    pub remarks: Vec<Remark>,
}

/// Remarks of a mistake beyond this many are counted.
const SHOWN: usize = 3;

impl WrongHookUp {
    /// In a line: the mistake, and what would be seen.
    pub fn words(&self, unit: &Unit) -> String {
        let shown: Vec<String> = self.remarks.iter().take(SHOWN).map(|remark| remark.what.words(unit)).collect();
        let more = match self.remarks.len().saturating_sub(SHOWN) {
            0 => String::new(),
            more => format!("; and {more} more"),
        };
        format!("{}: {}{more}", self.mistake.words(), shown.join("; "))
    }
}

/// A wire that may have come onto a like terminal of another part: the wire, where it belongs, where it may be.
///
/// A motor comes with its leads, so their far ends go astray: onto the wrong capacitor. Of any other part the wires are taken
/// off and may be put on its neighbour.
pub fn astray(unit: &Unit, part: usize) -> Vec<(usize, TerminalId, TerminalId)> {
    let mut found = Vec::new();
    for (wire, entry) in unit.wires().iter().enumerate() {
        for (own, far) in [(entry.from, entry.to), (entry.to, entry.from)] {
            let end = if unit.is_motor(part) { far } else { own };
            if unit.part_of(own) != part || unit.part_of(far) == part {
                continue;
            }
            found.extend(
                like_terminals(unit, end).filter(|&other| unit.part_of(other) != part).map(|other| (wire, end, other)),
            );
        }
    }
    found
}

/// The same terminal of other parts of the same kind; none of splices and of what feeds the unit.
fn like_terminals(unit: &Unit, terminal: TerminalId) -> impl Iterator<Item = TerminalId> + '_ {
    let part = unit.part_of(terminal);
    let kind = &unit.parts()[part].kind;
    let is_meant = !kind.feeds_unit() && kind.name() != "splice" && part != unit.part_of(unit.frame());
    let is_like = move |&other: &usize| other != part && unit.parts()[other].kind.name() == kind.name();
    let same = move |other: usize| {
        let mut terminals = unit.terminals_of(other).map(TerminalId);
        terminals.find(|&known| unit.terminal_of(known) == unit.terminal_of(terminal))
    };
    (0..unit.parts().len()).filter(move |other| is_meant && is_like(other)).filter_map(same)
}
