//! What may stand behind a part that fails again, or a joint: conditions that act on it, and how to look at each.
//!
//! All of it is common practice, no source: a part that failed twice needs its reason.

use crate::fault::{Place, SHORT_CYCLING};
use crate::heat::body::{Body, HeatSource};
use crate::heat::{AIR_BLOCKED, HOT_SURROUNDINGS};
use crate::kinds::{BEARING_WORN, OUT_OF_BALANCE};
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
    /// As one types it: `M1 bearing-drag`, or `C1 heat` for what is hot beside C1.
    pub label: String,
    /// Index of the fault that stands for it, if there is one.
    pub fault: Option<usize>,
    /// How to look at it.
    pub check: &'static str,
}

/// Stands where a fault has its name, in the label of the heat about a part.
const HEAT: &str = "heat";
const LOOK_AT_MARKS: &str = "hold what is marked on it against what belongs there";
const FEEL_SHAKE: &str = "run it and lay a hand on its mounting; look for play, and for what is broken or clogged";
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

/// Kinds that starting a motor too often wears, beside what must rest between starts itself.
const WORN_BY_STARTS: [&str; 7] =
    ["start-capacitor", "ptc-starter", "potential-relay", "current-relay", "relay", "overload-relay", "fuse"];
const COUNT_STARTS: &str = "count its starts in an hour, and time how long it stands between them";

/// What makes a joint go high or a wire break, of those that have no fault of their own.
const OF_JOINTS: [(&str, &str, &str); 2] = [
    (
        "fit",
        "a loose fit: a push-on terminal that has lost its spring, a poor crimp, a screw that was not tight",
        "pull at the terminal, and look for browning; cut back to bright copper and fit a new terminal, not only a new wire",
    ),
    (
        "amps",
        "more current than wire and terminal are made for",
        "hold the amps through it against the size of the wire and what is marked on the terminal",
    ),
];

/// Conditions that act on a part or a wire, those with a fault of their own first.
pub fn conditions(unit: &Unit, place: Place) -> Vec<Condition> {
    match place {
        Place::Part(part) => of_part(unit, part),
        Place::Wire(wire) => of_wire(unit, wire),
    }
}

/// A fault of a part as a condition, if it can have it.
fn fault_of(unit: &Unit, part: usize, name: &str, check: &'static str) -> Option<Condition> {
    let is_it = |fault: &crate::Fault| fault.place == Place::Part(part) && fault.mode.name == name;
    let index = unit.faults().iter().position(is_it)?;
    let fault = &unit.faults()[index];
    let words = format!("{}: {}", fault.place_name, fault.mode.words);
    Some(Condition { words, label: fault.label(), fault: Some(index), check })
}

/// A condition that is no fault of its own, called by the place that it acts on and `what`.
fn said(place: &str, what: &str, words: impl Into<String>, check: &'static str) -> Condition {
    Condition { words: words.into(), label: format!("{place} {what}"), fault: None, check }
}

fn of_part(unit: &Unit, part: usize) -> Vec<Condition> {
    let name = unit.parts()[part].name.as_str();
    let kind = &unit.parts()[part].kind;
    let mut list: Vec<Condition> = OWN.iter().filter_map(|&(name, check)| fault_of(unit, part, name, check)).collect();
    if kind.must_rest() || WORN_BY_STARTS.contains(&kind.name()) {
        let controls = 0..unit.parts().len();
        list.extend(controls.filter_map(|control| fault_of(unit, control, SHORT_CYCLING, COUNT_STARTS)));
    }
    if kind.is_protector() || kind.is_current_fuse() {
        let others = (0..unit.parts().len()).filter(|&motor| motor != part);
        list.extend(others.filter_map(|motor| fault_of(unit, motor, "bearing-drag", TURN_SHAFT)));
    }
    let streams = || unit.air().streams.iter().filter(|stream| stream.fan == part || stream.parts.contains(&part));
    let fans: BTreeSet<usize> = streams().map(|stream| stream.fan).collect();
    let look = "look through filter, inlet and duct; feel the stream";
    list.extend(fans.iter().filter_map(|&fan| fault_of(unit, fan, AIR_BLOCKED, look)));
    let in_air = "hold a thermometer into the air that the running unit takes in";
    list.extend(fault_of(unit, unit.part_of(unit.frame()), HOT_SURROUNDINGS, in_air));
    list.extend(fault_of(unit, unit.supply(), "low-volts", "measure the volts at the cord while everything runs"));
    let by_night = "measure the volts at the cord, at night too; ask what else has failed in the house";
    list.extend(fault_of(unit, unit.supply(), "high-volts", by_night));
    if kind.name() == "splice" {
        list.extend(OF_JOINTS.map(|(what, words, check)| said(name, what, words, check)));
    }
    let feels_heat = minds_heat(unit, part);
    if feels_heat && fans.is_empty() {
        let about = "look through filter, inlets and vents; hold a thermometer beside it while the unit runs";
        list.push(said(name, "air", "the air about it is held up, or hotter than the room", about));
    }
    let placed = neighbours(unit, part);
    // Where the job does not say what stands beside it, anything hot may.
    let beside: Vec<usize> = match placed.is_empty() && feels_heat {
        true => hot_parts(unit).filter(|&other| other != part).collect(),
        false => placed.into_iter().collect(),
    };
    if !beside.is_empty() {
        let names: Vec<&str> = beside.iter().map(|&other| unit.parts()[other].name.as_str()).collect();
        let words = format!("the heat of {}", names.join(", "));
        list.push(said(name, HEAT, words, "log the temperature beside it over a run"));
    }
    list
}

/// Whether heat from outside shortens its life or opens it: windings, capacitors, what a temperature moves.
fn minds_heat(unit: &Unit, part: usize) -> bool {
    let kind = &unit.parts()[part].kind;
    let is_moved = kind.heat_contact(&|_| None).is_some() || (kind.is_protector() && !kind.is_current_fuse());
    is_moved || kind.is_capacitor() || unit.heat_of(part).bodies.iter().any(Body::is_winding)
}

/// Parts that warm what is beside them: motors, transformers, heaters.
fn hot_parts(unit: &Unit) -> impl Iterator<Item = usize> + '_ {
    let is_warm = |body: &Body| body.has_celsius() && body.source != HeatSource::Nothing;
    (0..unit.parts().len()).filter(move |&part| unit.heat_of(part).bodies.iter().any(is_warm))
}

fn of_wire(unit: &Unit, wire: usize) -> Vec<Condition> {
    let name = unit.wires()[wire].name.as_str();
    let ends = [unit.wires()[wire].from, unit.wires()[wire].to].map(|end| unit.part_of(end));
    let ends: BTreeSet<usize> = ends.into_iter().collect();
    let shakes = |&part: &usize| {
        [(BEARING_WORN, TURN_SHAFT), (OUT_OF_BALANCE, FEEL_SHAKE)]
            .map(|(name, check)| fault_of(unit, part, name, check))
    };
    let mut list: Vec<Condition> = ends.iter().flat_map(shakes).flatten().collect();
    list.extend(OF_JOINTS.map(|(what, words, check)| said(name, what, words, check)));
    let hot: Vec<&str> =
        hot_parts(unit).filter(|part| ends.contains(part)).map(|part| unit.parts()[part].name.as_str()).collect();
    if !hot.is_empty() {
        let check = "log the temperature of the terminal over a run; lead the wire away from what is hot, or use one for that heat";
        list.push(said(name, HEAT, format!("the heat of {}", hot.join(", ")), check));
    }
    list
}

/// Labels of all conditions that act on any part or wire, each once.
pub fn labels(unit: &Unit) -> BTreeSet<String> {
    let places = (0..unit.parts().len()).map(Place::Part).chain((0..unit.wires().len()).map(Place::Wire));
    places.flat_map(|place| conditions(unit, place)).map(|condition| condition.label).collect()
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
        again.flat_map(|part| conditions(unit, Place::Part(part))).filter_map(|condition| condition.fault).collect();
    for fault in raised {
        unit.faults_mut()[fault].mode.odds *= RAISED_ODDS;
    }
}
