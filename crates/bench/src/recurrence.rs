//! What may stand behind a part that fails again: conditions that act on it, and how to look at each.
//!
//! All of it is common practice, no source: a part that failed twice needs its reason.

use crate::fault::Place;
use crate::heat::{AIR_BLOCKED, HOT_SURROUNDINGS};
use crate::kinds::BEARING_WORN;
use crate::unit::Unit;
use std::collections::BTreeSet;

/// Factor by which the odds of a condition rise where a part that it acts on has failed before (common practice, no
/// source).
pub const RAISED_ODDS: f64 = 3.0;

/// Something that may have made a part fail, and may do so again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// What, in words.
    pub words: String,
    /// As one types it: `M1 bearing-drag`, or `H1 heat` for the heat of a neighbour.
    pub label: String,
    /// Index of the fault that stands for it, if there is one.
    pub fault: Option<usize>,
    /// How to look at it.
    pub check: &'static str,
}

/// Stands where a fault has its name, in the label of a neighbour's heat.
const HEAT: &str = "heat";
const LOOK_AT_MARKS: &str = "hold what is marked on it against what belongs there";
const TURN_SHAFT: &str = "unplugged, turn the shaft by hand; time how long it runs on";

/// Faults of a part itself that make the next one fail too.
const OWN: [(&str, &str); 6] = [
    ("bearing-drag", TURN_SHAFT),
    (BEARING_WORN, TURN_SHAFT),
    ("wrong-value", LOOK_AT_MARKS),
    ("wrong-rating", LOOK_AT_MARKS),
    ("wrong-brushes", LOOK_AT_MARKS),
    ("wrong-setting", "hold what it is set to against the plate of its motor"),
];

/// Conditions that act on a part, those with a fault of their own first.
pub fn conditions(unit: &Unit, part: usize) -> Vec<Condition> {
    let mut list = Vec::new();
    let mut add = |place: usize, name: &str, check: &'static str| {
        let is_it = |fault: &&crate::Fault| fault.place == Place::Part(place) && fault.mode.name == name;
        if let Some(index) = unit.faults().iter().position(|fault| is_it(&fault)) {
            let fault = &unit.faults()[index];
            let words = format!("{}: {}", fault.place_name, fault.mode.words);
            list.push(Condition { words, label: fault.label(), fault: Some(index), check });
        }
    };
    OWN.iter().for_each(|&(name, check)| add(part, name, check));
    let kind = &unit.parts()[part].kind;
    if kind.is_protector() || kind.is_current_fuse() {
        (0..unit.parts().len()).filter(|&motor| motor != part).for_each(|motor| add(motor, "bearing-drag", TURN_SHAFT));
    }
    let streams = || unit.air().streams.iter().filter(|stream| stream.fan == part || stream.parts.contains(&part));
    let fans: BTreeSet<usize> = streams().map(|stream| stream.fan).collect();
    fans.into_iter().for_each(|fan| add(fan, AIR_BLOCKED, "look through filter, inlet and duct; feel the stream"));
    let in_air = "hold a thermometer into the air that the running unit takes in";
    add(unit.part_of(unit.frame()), HOT_SURROUNDINGS, in_air);
    add(unit.supply(), "low-volts", "measure the volts at the cord while everything runs");
    let by_night = "measure the volts at the cord, at night too; ask what else has failed in the house";
    add(unit.supply(), "high-volts", by_night);
    for neighbour in neighbours(unit, part) {
        let name = &unit.parts()[neighbour].name;
        list.push(Condition {
            words: format!("the heat of {name}"),
            label: format!("{name} {HEAT}"),
            fault: None,
            check: "log the temperature beside it over a run",
        });
    }
    list
}

/// Labels of all conditions that act on any part, each once.
pub fn labels(unit: &Unit) -> BTreeSet<String> {
    (0..unit.parts().len()).flat_map(|part| conditions(unit, part)).map(|condition| condition.label).collect()
}

/// Parts whose heat reaches a part: those that the air passes before it, what it is clamped to, what is clamped to it.
fn neighbours(unit: &Unit, part: usize) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    for stream in &unit.air().streams {
        let before = stream.parts.iter().take_while(|&&other| other != part);
        if stream.parts.contains(&part) {
            found.extend(before.copied());
        }
    }
    found.extend(unit.air().touches.iter().filter(|touch| touch.part == part).map(|touch| touch.on));
    found.retain(|&other| other != part && !unit.heat_of(other).bodies.is_empty());
    found
}

/// Raises the odds of the conditions that act on parts which have failed before.
pub(crate) fn raise_odds(unit: &mut Unit) {
    let again = (0..unit.parts().len()).filter(|&part| unit.parts()[part].provenance.replaced_before > 0);
    let raised: BTreeSet<usize> =
        again.flat_map(|part| conditions(unit, part)).filter_map(|condition| condition.fault).collect();
    for fault in raised {
        unit.faults_mut()[fault].mode.odds *= RAISED_ODDS;
    }
}
