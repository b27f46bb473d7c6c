//! From a unit in a setup to a network in which every wire, joint and contact is a small resistance.

use super::network::{Network, Source};
use super::parts::{ContactTable, TruePart, TrueRelay, TrueSupply};
use super::world::World;
use bench::{Place, Setup, TerminalId};
use num_complex::Complex64;
use std::collections::BTreeSet;
use std::f64::consts::PI;

/// What has come about in the unit by itself.
#[derive(Debug, Clone, Default)]
pub struct Conditions {
    /// Parts whose own contact has moved: relays pulled in, centrifugal switches open.
    pub moved: BTreeSet<usize>,
    /// Whether the breaker has opened.
    pub breaker_open: bool,
}

/// A unit laid out.
pub struct Layout<'w> {
    pub(super) world: &'w World<'w>,
    pub(super) setup: &'w Setup,
    pub(super) conditions: Conditions,
    /// The network.
    pub network: Network,
    /// For each passive the part that it belongs to.
    pub owners: Vec<Option<usize>>,
    /// For each terminal the passive that is its joint.
    pub joints: Vec<Option<usize>>,
    /// For each wire its passive.
    pub wires: Vec<Option<usize>>,
    /// Relays, with the passive that is the coil.
    pub relay_coils: Vec<(usize, usize)>,
    /// Passives that are glow lamps, with their ohms when lit.
    pub glow_lamps: Vec<(usize, f64)>,
    pub(super) part: usize,
}

/// Node on the wires' side of a terminal.
pub fn wire_side(terminal: TerminalId) -> usize {
    1 + 2 * terminal.0
}

/// Node on the part's side of a terminal, where a probe goes.
pub fn part_side(terminal: TerminalId) -> usize {
    2 + 2 * terminal.0
}

impl<'w> Layout<'w> {
    /// Lays a unit out.
    pub fn new(world: &'w World<'w>, setup: &'w Setup, conditions: &Conditions) -> Self {
        let unit = world.unit;
        let terminals = unit.terminal_count();
        let network = Network { nodes: 1 + 2 * terminals, ..Network::default() };
        let mut layout = Layout {
            world,
            setup,
            conditions: conditions.clone(),
            network,
            owners: Vec::new(),
            joints: vec![None; terminals],
            wires: vec![None; unit.wires().len()],
            relay_coils: Vec::new(),
            glow_lamps: Vec::new(),
            part: 0,
        };
        for terminal in (0..terminals).map(TerminalId) {
            if !setup.lifted.contains(&terminal) {
                let ohms = world.surroundings.joint_ohms[terminal.0];
                layout.joints[terminal.0] =
                    Some(layout.passive(wire_side(terminal), part_side(terminal), ohms.into(), true, None));
            }
        }
        layout.lay_wires();
        for &(a, b) in &setup.jumpers {
            layout.passive(part_side(a), part_side(b), 0.02.into(), true, None);
        }
        for part in 0..unit.parts().len() {
            layout.part = part;
            layout.lay_part();
            layout.lay_leak();
        }
        if setup.energised {
            layout.lay_strays();
        }
        layout
    }

    fn lay_wires(&mut self) {
        for (index, wire) in self.world.unit.wires().iter().enumerate() {
            let place = Place::Wire(index);
            if self.world.find(place, "broken").is_some() {
                continue;
            }
            let joint = self.world.find(place, "bad-joint").and_then(|put| put.size).unwrap_or(0.0);
            let ohms = self.world.surroundings.wire_ohms[index] + joint;
            self.wires[index] = Some(self.passive(wire_side(wire.from), wire_side(wire.to), ohms.into(), true, None));
        }
    }

    fn lay_leak(&mut self) {
        let Some(leak) = &self.world.surroundings.leaks[self.part] else { return };
        let (count, frame) = (leak.ends.len() as f64, self.frame());
        let ohms = self.size("insulation-low").unwrap_or(leak.ohms) * count;
        for &end in &leak.ends {
            let end = self.terminal(end);
            self.passive(end, frame, ohms.into(), true, None);
            if self.setup.energised {
                let reactance = count / (2.0 * PI * self.world.hertz * leak.farads);
                self.passive(end, frame, Complex64::new(0.0, -reactance), false, None);
            }
        }
    }

    fn lay_strays(&mut self) {
        let live: Vec<usize> = self.world.unit.live_terminals().map(part_side).collect();
        let fed = live.iter().copied().find(|node| self.network.sources.iter().any(|source| source.b == *node));
        let hot = fed.or(live.first().copied()).unwrap_or(0);
        let omega = 2.0 * PI * self.world.hertz;
        for terminal in (0..self.world.unit.terminal_count()).map(TerminalId) {
            let (to_earth, to_hot) = self.world.surroundings.strays[terminal.0];
            // A terminal whose wires are off has its share on both sides of the gap.
            for node in [wire_side(terminal), part_side(terminal)] {
                for (other, farads) in [(0, to_earth), (hot, to_hot)] {
                    if node != other {
                        self.passive(node, other, Complex64::new(0.0, -2.0 / (omega * farads)), false, None);
                    }
                }
            }
        }
        for node in 1 + 2 * self.world.unit.terminal_count()..self.network.nodes {
            self.passive(node, 0, Complex64::new(0.0, -1.0 / (omega * 1e-12)), false, None);
        }
    }

    pub(super) fn passive(&mut self, a: usize, b: usize, ohms: Complex64, direct: bool, owner: Option<usize>) -> usize {
        self.owners.push(owner);
        self.network.passive(a, b, ohms, direct)
    }

    /// A resistance of the part being laid.
    pub(super) fn resistor(&mut self, a: usize, b: usize, ohms: f64) -> usize {
        self.passive(a, b, ohms.into(), true, Some(self.part))
    }

    /// Part side of terminal number `index` of the part being laid.
    pub(super) fn terminal(&self, index: usize) -> usize {
        part_side(TerminalId(self.world.unit.terminals_of(self.part).start + index))
    }

    fn named(&self, terminal: &str) -> Option<usize> {
        let name = &self.world.unit.parts()[self.part].name;
        self.world.unit.find_terminal(&format!("{name}.{terminal}")).map(part_side)
    }

    pub(super) fn frame(&self) -> usize {
        part_side(self.world.unit.frame())
    }

    pub(super) fn has(&self, fault: &str) -> bool {
        self.world.has(self.part, fault)
    }

    pub(super) fn size(&self, fault: &str) -> Option<f64> {
        self.world.size(self.part, fault)
    }

    pub(super) fn position(&self) -> Option<&'w str> {
        self.setup.positions.get(&self.part).map(String::as_str)
    }

    pub(super) fn warm(&self) -> f64 {
        self.world.copper_ratio(self.setup.winding_celsius)
    }

    pub(super) fn has_moved(&self) -> bool {
        self.conditions.moved.contains(&self.part)
    }

    fn lay_part(&mut self) {
        let world = self.world;
        let Some(truth) = &world.parts[self.part] else { return };
        match truth {
            TruePart::Supply(supply) => self.lay_supply(supply),
            TruePart::Cord(ohms) => self.lay_cord(ohms),
            TruePart::Switch(table, ordinary, ohms) => {
                let position = self.position().unwrap_or(ordinary);
                self.lay_contacts(table, position, *ohms);
            }
            &TruePart::Contact(ohms) => {
                let closed = self.position() != Some("open") && !self.has("blown");
                let joint = self.size("bad-joint").unwrap_or(0.0);
                self.lay_contact(self.terminal(0), self.terminal(1), closed, "", ohms + joint);
            }
            &TruePart::Heater { cold_ohms, hot_ratio, weak_at } => self.lay_heater(cold_ohms, hot_ratio, weak_at),
            &TruePart::Lamp { ohms, cold_ratio } => self.lay_lamp(ohms, cold_ratio),
            &TruePart::Capacitor { farads, loss } => self.lay_capacitor(farads, loss),
            TruePart::Relay(relay) => self.lay_relay(relay),
            &TruePart::Splice(ohms) => self.lay_splice(ohms),
            TruePart::Induction(motor) => self.lay_induction(motor),
            TruePart::Commutator(motor) => self.lay_commutator(motor),
            TruePart::Transformer(transformer) => self.lay_transformer(transformer),
        }
    }

    fn lay_supply(&mut self, supply: &TrueSupply) {
        if !self.setup.energised {
            return;
        }
        let count = supply.live.len();
        let mut order: Vec<usize> = (0..=count).collect();
        for (index, (name, _)) in supply.live.iter().enumerate() {
            if self.has(&format!("{name}-neutral-interchanged")) {
                order.swap(index, count);
            }
        }
        let all = (1.0 - self.size("low-volts").unwrap_or(0.0)) * self.size("high-volts").unwrap_or(1.0);
        for (index, &(name, volts)) in supply.live.iter().enumerate() {
            if self.conditions.breaker_open || self.has(&format!("{name}-dead")) {
                continue;
            }
            let own = 1.0 - self.size(&format!("{name}-low")).unwrap_or(0.0);
            let b = self.terminal(order[index]);
            self.network.sources.push(Source { a: 0, b, volts: volts * all * own, impedance: supply.impedance });
        }
        if !self.has("neutral-open") {
            self.passive(0, self.terminal(order[count]), supply.impedance, true, Some(self.part));
        }
        if !self.has("earth-open") {
            self.passive(0, self.terminal(count + 1), supply.earth_ohms.into(), true, None);
        }
    }

    fn lay_cord(&mut self, ohms: &[f64]) {
        let unit = self.world.unit;
        let supply = &unit.parts()[unit.supply()].name;
        for (index, &own) in ohms.iter().enumerate() {
            let end = TerminalId(unit.terminals_of(self.part).start + ohms.len() + index);
            let name = unit.terminal_name(end);
            let conductor = name.split_once('.').map_or("", |(_, conductor)| conductor);
            let (pin, end) = (self.terminal(index), part_side(end));
            if let Some(outlet) = unit.find_terminal(&format!("{supply}.{conductor}")).filter(|_| self.setup.energised)
            {
                let plug = self.world.surroundings.joint_ohms[outlet.0];
                self.passive(part_side(outlet), pin, plug.into(), true, None);
            }
            if !self.has(&format!("{conductor}-open")) {
                let joint = self.size(&format!("{conductor}-bad-joint")).unwrap_or(0.0);
                self.resistor(pin, end, own + joint);
            }
        }
    }

    fn lay_contact(&mut self, a: usize, b: usize, closed: bool, prefix: &str, ohms: f64) {
        if self.has(&format!("{prefix}stuck-open")) || !(closed || self.has(&format!("{prefix}welded"))) {
            return;
        }
        let burnt = self.size(&format!("{prefix}burnt")).unwrap_or(0.0);
        self.resistor(a, b, ohms + burnt);
    }

    fn lay_contacts(&mut self, table: &ContactTable, position: &str, ohms: f64) {
        let alike = |x: &(String, String), y: &(String, String)| x == y || (x.0 == y.1 && x.1 == y.0);
        let mut all: Vec<&(String, String)> = Vec::new();
        for pair in table.values().flatten() {
            if !all.iter().any(|known| alike(known, pair)) {
                all.push(pair);
            }
        }
        let none = Vec::new();
        let closed = table.get(position).unwrap_or(&none);
        for pair in all {
            let (Some(a), Some(b)) = (self.named(&pair.0), self.named(&pair.1)) else { continue };
            let is_closed = closed.iter().any(|other| alike(other, pair));
            self.lay_contact(a, b, is_closed, &format!("{}-{}-", pair.0, pair.1), ohms);
        }
    }

    fn lay_heater(&mut self, cold_ohms: f64, hot_ratio: f64, weak_at: f64) {
        let pieces = [("a", self.terminal(0)), ("b", self.terminal(1))];
        let touching = pieces.map(|(end, node)| (node, self.size(&format!("broken-{end}-to-frame"))));
        let frame = self.frame();
        for (node, ohms) in touching {
            if let Some(ohms) = ohms {
                self.resistor(node, frame, ohms);
            }
        }
        if self.has("open") || touching.iter().any(|(_, ohms)| ohms.is_some()) {
            return;
        }
        let factor = self.size("wrong-rating").unwrap_or(1.0) * if self.setup.energised { hot_ratio } else { 1.0 };
        let joint = self.size("bad-joint").unwrap_or(0.0);
        let (a, b, ohms) = (self.terminal(0), self.terminal(1), cold_ohms * factor);
        match self.size("to-frame") {
            Some(leak) => {
                let middle = self.network.node();
                self.resistor(a, middle, weak_at * ohms + joint);
                self.resistor(middle, b, (1.0 - weak_at) * ohms);
                self.resistor(middle, self.frame(), leak);
            }
            None => {
                self.resistor(a, b, ohms + joint);
            }
        }
    }

    fn lay_lamp(&mut self, ohms: f64, cold_ratio: f64) {
        let shown = if self.setup.energised { ohms } else { ohms * cold_ratio };
        if self.has("open") || !shown.is_finite() {
            return;
        }
        let index = self.resistor(self.terminal(0), self.terminal(1), shown);
        if cold_ratio.is_infinite() {
            self.glow_lamps.push((index, shown));
        }
    }

    fn lay_capacitor(&mut self, farads: f64, loss: f64) {
        if self.has("open") {
            return;
        }
        let (a, b) = (self.terminal(0), self.terminal(1));
        if let Some(ohms) = self.size("shorted") {
            self.resistor(a, b, ohms);
            return;
        }
        if let Some(ohms) = self.size("leaky") {
            self.resistor(a, b, ohms);
        }
        let left = (1.0 - self.size("low").unwrap_or(0.0)) * self.size("wrong-value").unwrap_or(1.0);
        let reactance = 1.0 / (2.0 * PI * self.world.hertz * farads * left);
        self.passive(a, b, Complex64::new(loss * reactance, -reactance), false, Some(self.part));
    }

    fn lay_relay(&mut self, relay: &TrueRelay) {
        let is_in = self.has_moved() && !self.has("does-not-pull-in") && !self.has("coil-shorted-turns");
        if !self.has("coil-open") {
            let (mut ohms, mut reactance) = (relay.ohms * self.warm(), relay.reactance);
            if let Some(shorted) = self.size("coil-shorted-turns") {
                // The flux that is left after the shorted turns have opposed it.
                ohms *= 1.0 - shorted;
                reactance *= (1.0 - shorted).powi(2) * 0.3;
            } else if !is_in {
                // An open gap in the iron leaves little but the copper.
                reactance *= 0.25;
            }
            let (a, b) = (self.terminal(0), self.terminal(1));
            let index = self.passive(a, b, Complex64::new(ohms, reactance), true, Some(self.part));
            self.relay_coils.push((self.part, index));
        }
        self.lay_contacts(&relay.contacts, if is_in { "pulled-in" } else { "released" }, relay.contact_ohms);
    }

    fn lay_splice(&mut self, ohms: f64) {
        let unit = self.world.unit;
        let centre = self.network.node();
        for terminal in unit.terminals_of(self.part).map(TerminalId) {
            let name = unit.terminal_name(terminal);
            let leg = name.split_once('.').map_or("", |(_, leg)| leg);
            if !self.has(&format!("{leg}-loose")) {
                let joint = self.size(&format!("{leg}-bad-joint")).unwrap_or(0.0);
                self.resistor(part_side(terminal), centre, ohms + joint);
            }
        }
    }
}
