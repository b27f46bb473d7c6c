//! A part that was changed while the fault was looked for: its own faults are less likely then, a wrong part and wires on
//! the wrong terminals more so.
//!
//! All figures are engineering judgement.

use crate::fault::{Fault, FaultMode, FaultSet, Place};
use crate::unit::{TerminalId, Unit};

/// Factor by which the odds of a part's own faults fall where the part is new.
pub const NEW_PART: f64 = 0.2;
/// Factor by which the odds of a wrong part rise where somebody has just put one in.
pub const WRONG_PART: f64 = 5.0;
/// Odds that wires went on the wrong terminals of a part that was changed, over all pairs of them together.
pub const HOOK_UP_ODDS: f64 = 0.06;

/// What faults of wires on each other's terminals end in.
const INTERCHANGED: &str = "-wires-interchanged";

/// Faults of a part that is not what belongs there.
const WRONG_PARTS: [&str; 4] = ["wrong-value", "wrong-rating", "wrong-brushes", WRONG_WINDING];

/// A motor with the right power on its plate that is wound for other volts.
pub const WRONG_WINDING: &str = "wrong-winding";

/// What the fault begins with by which a motor has another number of poles; the number follows.
pub const WRONG_POLES: &str = "wrong-poles-";

pub(crate) fn is_wrong_part(fault: &str) -> bool {
    WRONG_PARTS.contains(&fault) || fault.starts_with(WRONG_POLES)
}

/// What a finding says of who or what is at fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Blame {
    /// Something in the unit has failed.
    Unit,
    /// The supply ahead of the unit.
    Supply,
    /// Wires on the wrong terminals of a part that was changed.
    HookUp,
    /// A part that does not belong there.
    WrongPart,
}

/// Who or what is to blame for a fault.
pub fn blame(unit: &Unit, fault: &Fault) -> Blame {
    match fault.place {
        Place::Part(part) if part == unit.supply() => Blame::Supply,
        _ if fault.mode.name.ends_with(INTERCHANGED) => Blame::HookUp,
        _ if is_wrong_part(&fault.mode.name) => Blame::WrongPart,
        _ => Blame::Unit,
    }
}

/// The faults of a part that has just been fitted, with its odds as they are then, and those that fitting brings with it.
pub(crate) fn faults_when_new(unit: &Unit, part: usize, own: Vec<FaultMode>) -> Vec<FaultMode> {
    let kind = &unit.parts()[part].kind;
    let mut list: Vec<FaultMode> = own.into_iter().chain(kind.faults_when_new()).collect();
    for mode in &mut list {
        mode.odds *= match mode.name.as_str() {
            name if is_wrong_part(name) => WRONG_PART,
            // What opens a fuse or a cutout opens the next one too; leads, joints and hubs are done in fitting.
            _ if kind.is_protector() || kind.is_current_fuse() => 1.0,
            name if ["interchanged", "bad-joint", "-loose"].iter().any(|end| name.ends_with(end)) => 1.0,
            _ => NEW_PART,
        };
    }
    let pairs = interchangeable(unit, part);
    let odds = HOOK_UP_ODDS / pairs.len().max(1) as f64;
    list.extend(pairs.iter().map(|&(a, b)| {
        let [a, b] = [a, b].map(|terminal| unit.terminal_of(terminal).to_owned());
        let words = format!("since it was changed, what belongs on {a} is on {b} and the other way round");
        FaultMode::new(interchanged(&a, &b), words, odds, "put the leads of {} on the right terminals")
    }));
    list
}

fn interchanged(a: &str, b: &str) -> String {
    format!("{a}-{b}{INTERCHANGED}")
}

/// Pairs of terminals whose wires may have changed places; of two terminals it makes no difference, and a fault of the
/// kind itself may say the same already.
fn interchangeable(unit: &Unit, part: usize) -> Vec<(TerminalId, TerminalId)> {
    let terminals: Vec<TerminalId> = unit.terminals_of(part).map(TerminalId).collect();
    if part == unit.supply() || terminals.len() < 3 {
        return Vec::new();
    }
    let kind = &unit.parts()[part].kind;
    let is_wired = |terminal: TerminalId| unit.wires().iter().any(|wire| [wire.from, wire.to].contains(&terminal));
    let own: Vec<String> = kind.faults().into_iter().map(|mode| mode.name).collect();
    let is_own = |a: TerminalId, b: TerminalId| {
        own.contains(&format!("{}-{}-interchanged", unit.terminal_of(a), unit.terminal_of(b)))
    };
    let mut pairs = Vec::new();
    for (at, &a) in terminals.iter().enumerate() {
        for &b in &terminals[at + 1..] {
            // The pins of a plug have no wires; elsewhere an empty terminal may have got its neighbour's.
            let may_be = if kind.feeds_unit() { is_wired(a) && is_wired(b) } else { is_wired(a) || is_wired(b) };
            if may_be && !is_own(a, b) {
                pairs.push((a, b));
            }
        }
    }
    pairs
}

/// Faults of a part that has just been fitted by which two of its leads have changed places, with their terminals; those that
/// its kind lists by itself among them.
pub fn hook_ups(unit: &Unit, part: usize) -> Vec<(usize, [TerminalId; 2])> {
    let terminals: Vec<TerminalId> = unit.terminals_of(part).map(TerminalId).collect();
    let mut found = Vec::new();
    for (at, &a) in terminals.iter().enumerate() {
        for &b in &terminals[at + 1..] {
            let [first, second] = [a, b].map(|terminal| unit.terminal_of(terminal));
            let names = [interchanged(first, second), format!("{first}-{second}-interchanged")];
            let fault = unit
                .faults()
                .iter()
                .position(|fault| fault.place == Place::Part(part) && names.contains(&fault.mode.name));
            found.extend(fault.map(|fault| (fault, [a, b])));
        }
    }
    found
}

/// Pairs of terminals whose wires have changed places by the faults that are put in.
pub(crate) fn changed_places(unit: &Unit, faults: &FaultSet) -> Vec<(TerminalId, TerminalId)> {
    let mut pairs = Vec::new();
    for fault in faults.0.iter().map(|&fault| &unit.faults()[fault]) {
        let Place::Part(part) = fault.place else { continue };
        if !fault.mode.name.ends_with(INTERCHANGED) {
            continue;
        }
        let is_it = |&(a, b): &(TerminalId, TerminalId)| {
            interchanged(unit.terminal_of(a), unit.terminal_of(b)) == fault.mode.name
        };
        pairs.extend(interchangeable(unit, part).into_iter().find(is_it));
    }
    pairs
}
