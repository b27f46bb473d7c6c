//! Families of units: each writes a job text with drawn ratings, and says what every part in it really is.

mod cabinets;
mod motors;
mod tools;

use crate::design;
use crate::random::Random;
use crate::truth::parts::{ContactTable, TruePart};
use crate::truth::{Leak, Surroundings};
use bench::Unit;
use bench::kinds::Insulation;
use std::collections::BTreeMap;

/// A unit as drawn.
pub struct Drawn {
    /// Its job text, without readings.
    pub text: String,
    /// What its parts really are, by name.
    pub parts: BTreeMap<String, TruePart>,
    /// Hertz.
    pub hertz: f64,
    /// The live setup in which it is said to misbehave first, then the others.
    pub live_setups: Vec<&'static str>,
    /// Parts whose work a user sees, the one that matters most first.
    pub seen: Vec<&'static str>,
}

/// A family: its name and how one of it is drawn.
#[derive(Clone, Copy)]
pub struct Family {
    /// Its name.
    pub name: &'static str,
    /// Draws one.
    pub draw: fn(&mut Random) -> Drawn,
}

/// All families.
pub const FAMILIES: [Family; 13] = [
    Family { name: "heater cabinet", draw: cabinets::heater_cabinet },
    Family { name: "two elements of one make", draw: cabinets::two_elements },
    Family { name: "cabinet on two legs", draw: cabinets::two_leg_cabinet },
    Family { name: "fan heater", draw: cabinets::fan_heater },
    Family { name: "relay-switched heater", draw: cabinets::relay_heater },
    Family { name: "transformer-fed heater", draw: cabinets::transformer_fed },
    Family { name: "blower, one speed", draw: motors::blower },
    Family { name: "blower, three speeds", draw: motors::three_speed_blower },
    Family { name: "two motors of one make", draw: motors::two_motors },
    Family { name: "reversible motor", draw: motors::reversible },
    Family { name: "split-phase grinder", draw: tools::grinder },
    Family { name: "capacitor-start pump", draw: tools::pump },
    Family { name: "polisher, two speeds", draw: tools::polisher },
];

/// Mains of a region.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mains {
    pub(crate) volts: f64,
    pub(crate) hertz: f64,
    pub(crate) breaker_amps: f64,
}

impl Mains {
    pub(crate) fn draw(random: &mut Random) -> Self {
        if random.chance(0.5) {
            Mains { volts: 230.0, hertz: 50.0, breaker_amps: 16.0 }
        } else {
            Mains { volts: 120.0, hertz: 60.0, breaker_amps: 15.0 }
        }
    }
}

/// A job text being written.
#[derive(Default)]
pub(crate) struct Writer {
    wires: String,
    sections: String,
    parts: BTreeMap<String, TruePart>,
}

impl Writer {
    /// Begins with supply and cord.
    pub(crate) fn on(random: &mut Random, mains: Mains, square_millimetres: f64) -> Self {
        let mut writer = Writer::default();
        let Mains { volts, hertz, breaker_amps } = mains;
        let supply = design::supply(random, volts, breaker_amps);
        writer.part(
            "supply",
            "supply",
            &format!("volts = {volts}\nhertz = {hertz}\nbreaker_amps = {breaker_amps}"),
            supply,
        );
        writer.cord(random, &["hot", "neutral", "earth"], square_millimetres);
        writer.wire("cord.earth", "frame");
        writer
    }

    /// A cord with its conductors.
    pub(crate) fn cord(&mut self, random: &mut Random, conductors: &[&str], square_millimetres: f64) {
        let metres = (random.between(1.2, 4.0) * 10.0).round() / 10.0;
        // Copper has 1/58 ohm for a metre of one square millimetre (IEC 60028).
        let ohms = metres / 58.0 / square_millimetres;
        let truth = TruePart::Cord(conductors.iter().map(|_| random.about(ohms, 0.1)).collect());
        let names: Vec<String> = conductors.iter().map(|name| format!("\"{name}\"")).collect();
        let body = format!(
            "conductors = [{}]\nmetres = {metres}\nsquare_millimetres = {square_millimetres}",
            names.join(", ")
        );
        self.part("cord", "cord", &body, truth);
    }

    pub(crate) fn wire(&mut self, from: &str, to: &str) {
        self.wires += &format!("  {{ from = \"{from}\", to = \"{to}\" }},\n");
    }

    pub(crate) fn wires(&mut self, list: &[(&str, &str)]) {
        list.iter().for_each(|(from, to)| self.wire(from, to));
    }

    pub(crate) fn part(&mut self, name: &str, kind: &str, body: &str, truth: TruePart) {
        self.sections += &format!("\n[parts.{name}]\nkind = \"{kind}\"\n{body}\n");
        self.parts.insert(name.into(), truth);
    }

    /// A switch with an `off` position.
    pub(crate) fn switch(&mut self, random: &mut Random, name: &str, positions: &[(&str, &[(&str, &str)])]) {
        let pair = |&(a, b): &(&str, &str)| format!("[\"{a}\", \"{b}\"]");
        let mut body = "positions.off = []".to_owned();
        let mut table = ContactTable::from([("off".into(), Vec::new())]);
        for (position, pairs) in positions {
            let list: Vec<String> = pairs.iter().map(pair).collect();
            body += &format!("\npositions.{position} = [{}]", list.join(", "));
            table.insert((*position).into(), pairs.iter().map(|&(a, b)| (a.into(), b.into())).collect());
        }
        let truth = TruePart::Switch(table, "off".into(), design::contact_ohms(random));
        self.part(name, "switch", &body, truth);
    }

    /// A cutout, thermostat or thermal fuse.
    pub(crate) fn contact(&mut self, random: &mut Random, name: &str, kind: &str) {
        let truth = TruePart::Contact(design::contact_ohms(random));
        self.part(name, kind, "", truth);
    }

    pub(crate) fn splice(&mut self, random: &mut Random, name: &str, legs: &[&str]) {
        let list: Vec<String> = legs.iter().map(|leg| format!("\"{leg}\"")).collect();
        let truth = TruePart::Splice(random.about(0.003, 0.5));
        self.part(name, "splice", &format!("legs = [{}]", list.join(", ")), truth);
    }

    pub(crate) fn lamp(&mut self, random: &mut Random, name: &str, volts: f64) {
        let (truth, watts) = design::lamp(random, volts);
        let watts = watts.map_or(String::new(), |watts| format!("\nwatts = {watts}"));
        self.part(name, "indicator-lamp", &format!("volts = {volts}{watts}"), truth);
    }

    pub(crate) fn heater(&mut self, random: &mut Random, name: &str, make: &str, volts: f64, watts: f64) {
        let truth = design::heater(random, volts, watts);
        let make = if make.is_empty() { String::new() } else { format!("make = \"{make}\"\n") };
        self.part(name, "heater", &format!("{make}volts = {volts}\nwatts = {watts}"), truth);
    }

    pub(crate) fn capacitor(&mut self, random: &mut Random, name: &str, microfarads: f64, starts: bool) {
        let truth = design::capacitor(random, microfarads, starts);
        let kind = if starts { "start-capacitor" } else { "run-capacitor" };
        self.part(name, kind, &format!("microfarads = {microfarads}"), truth);
    }

    /// A live setup; `positions` as in a job file.
    pub(crate) fn live(&mut self, name: &str, positions: &str, celsius: f64) {
        self.sections += &format!(
            "\n[setups.\"{name}\"]\nsupply = \"on\"\npositions = {{ {positions} }}\nwinding_celsius = {celsius}\n"
        );
    }

    pub(crate) fn finish(self, name: &str, hertz: f64, live_setups: &[&'static str], seen: &[&'static str]) -> Drawn {
        let text = format!(
            "wires = [\n{}]\n\n[unit]\nname = \"{name}\"\nnote = \"Drawn at random for the trials, no real machine.\"\n{}\n[setups.unplugged]\nsupply = \"off\"\n",
            self.wires, self.sections
        );
        Drawn { text, parts: self.parts, hertz, live_setups: live_setups.to_vec(), seen: seen.to_vec() }
    }
}

/// Joints, wires and strays of a unit.
pub fn surroundings(random: &mut Random, unit: &Unit) -> Surroundings {
    Surroundings {
        joint_ohms: (0..unit.terminal_count()).map(|_| random.about(0.003, 0.6)).collect(),
        wire_ohms: unit.wires().iter().map(|_| random.about(0.008, 0.5)).collect(),
        strays: (0..unit.terminal_count()).map(|_| (random.about(25e-12, 0.5), random.about(25e-12, 0.7))).collect(),
        leaks: unit.parts().iter().map(|part| Some(leak(random, part.kind.insulation()?))).collect(),
        warmer: 4.0 * random.normal(),
    }
}

/// Insulation as it really is: where the engine has some, within a factor of some ten of what that takes for usual.
fn leak(random: &mut Random, usual: Insulation) -> Leak {
    let (ohms, farads) = (random.about(usual.ohms, 1.5), random.about(usual.farads, 0.6));
    Leak { ends: usual.terminals, ohms, farads }
}
