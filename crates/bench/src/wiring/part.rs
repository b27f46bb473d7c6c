//! What a part may do while the unit is laid out: name its nodes, ask for its values and faults, add what it is made of.

use super::{
    Join, Node, Owner, PartWiring, PlannedBranch, PlannedCommutator, PlannedCore, PlannedMotor, REFERENCE, part_side,
};
use crate::bars::BarRing;
use crate::fault::Place;
use crate::glow::GLOW_BRANCH;
use crate::half_wave::{DIODE_BRANCH, DiodeState};
use crate::kinds::{INSULATION_LOW, Insulation, KeptLoad};
use crate::unit::TerminalId;
use circuit::{Quantity, UnknownId};
use machine::copper;
use std::borrow::Cow;
use std::f64::consts::PI;
use std::fmt::Display;

/// Temperature of a rotor at rated load, degrees Celsius (engineering judgement).
const RATED_ROTOR_CELSIUS: f64 = 70.0;
/// Ohms of a conducting diode: next to nothing, but a branch of its own.
const CONDUCTING_OHMS: f64 = 1e-4;
/// Ohms of a blocking one: microamperes at mains volts (data sheets of rectifier diodes, from memory).
const BLOCKING_OHMS: f64 = 1e9;

impl PartWiring<'_, '_> {
    /// Part side of the part's terminal number `index`.
    pub fn terminal(&self, index: usize) -> Node {
        part_side(TerminalId(self.wiring.unit.parts()[self.part].first_terminal + index))
    }

    /// Part side of the supply's terminal of that name, if it has one.
    pub fn supply_terminal(&self, name: &str) -> Option<Node> {
        let unit = self.wiring.unit;
        unit.find_terminal_of(unit.supply(), name).map(part_side)
    }

    /// The metal frame.
    pub fn frame(&self) -> Node {
        part_side(self.wiring.unit.frame())
    }

    /// Earth at the supply, the reference of all potentials.
    pub fn earth(&self) -> Node {
        REFERENCE
    }

    /// A new inner node.
    pub fn inner(&mut self) -> Node {
        self.wiring.node_count += 1;
        Node(self.wiring.node_count - 1)
    }

    /// The part's unknown number `index`.
    pub fn unknown(&self, index: usize) -> Quantity {
        self.value(self.wiring.unit.parts()[self.part].first_unknown + index)
    }

    /// An unknown of the unit.
    fn value(&self, id: usize) -> Quantity {
        let (median, deviation) = (self.wiring.unit.unknowns()[id].median, self.wiring.deviations[id]);
        if self.wiring.derivatives {
            Quantity::log_unknown(median, UnknownId(id), deviation)
        } else {
            Quantity::constant(median * deviation.exp())
        }
    }

    /// Whether a fault is put in; its name is only put together if the part has any.
    pub fn has(&self, fault: impl Display) -> bool {
        self.has_faults && self.wiring.severity(Place::Part(self.part), &fault.to_string()).is_some()
    }

    /// Whether any fault of this part is put in.
    pub fn has_any(&self) -> bool {
        self.has_faults
    }

    /// Size of a fault that is put in.
    pub fn severity(&self, fault: impl Display) -> Option<Quantity> {
        self.has_faults.then(|| self.wiring.severity(Place::Part(self.part), &fault.to_string()).flatten()).flatten()
    }

    /// Position that the setup puts this part in.
    pub fn position(&self) -> Option<&str> {
        self.wiring.setup.positions.get(&self.part).map(String::as_str)
    }

    /// Whether the supply is on.
    pub fn energised(&self) -> bool {
        self.wiring.energised
    }

    /// Whether the plug is in, live or not.
    pub fn plugged_in(&self) -> bool {
        self.wiring.setup.energised
    }

    /// Supply frequency, hertz.
    pub fn hertz(&self) -> f64 {
        self.wiring.unit.hertz()
    }

    /// Temperature of the part's windings, the main one of two, degrees Celsius.
    pub fn winding_celsius(&self) -> f64 {
        let own = self.wiring.conditions.winding_celsius.get(self.part);
        own.copied().unwrap_or(self.wiring.setup.winding_celsius)
    }

    /// Temperature of its second winding, degrees Celsius.
    pub fn second_winding_celsius(&self) -> f64 {
        let own = self.wiring.conditions.second_winding_celsius.get(self.part);
        own.copied().unwrap_or(self.wiring.setup.winding_celsius)
    }

    /// Resistance of the part's rotor over what it is at rated load.
    ///
    /// Plates give speed and amps of a warm motor; cages are mostly of aluminium.
    pub fn rotor_ratio(&self) -> f64 {
        let celsius = self.wiring.conditions.rotor_celsius.get(self.part);
        celsius.map_or(1.0, |&celsius| copper::cage_ratio(celsius, RATED_ROTOR_CELSIUS))
    }

    /// Its magnetising reactance over that at the plate, as far as its iron saturates.
    pub fn saturation(&self) -> Quantity {
        self.wiring.conditions.saturation.get(&self.part).cloned().unwrap_or(Quantity::constant(1.0))
    }

    /// Whether the part's own contact number `index` has left the state in which it rests.
    pub fn has_moved(&self, index: usize) -> bool {
        self.wiring.conditions.moved_contacts.contains(&(self.part, index))
    }

    /// The load that the part, a motor, has been given in place of its own.
    pub(crate) fn kept_load(&self) -> Option<KeptLoad> {
        self.wiring.unit.kept_load(self.part)
    }

    /// Whether the part, a compressor, has to start against pressure.
    pub fn meets_pressure(&self) -> bool {
        self.wiring.conditions.against_pressure.contains(&self.part)
    }

    /// Joins two nodes by a sound conductor.
    pub fn join(&mut self, a: Node, b: Node) {
        let owner = Owner::Place(Place::Part(self.part));
        self.wiring.joins.push(Join { a, b, owner });
    }

    /// Joins two nodes by a closed contact.
    pub fn close_contact(&mut self, a: Node, b: Node) {
        self.wiring.joins.push(Join { a, b, owner: Owner::Contact(self.part) });
    }

    /// A conductor that may be open or high in resistance by the named faults.
    pub fn conductor(&mut self, a: Node, b: Node, open: &str, bad_joint: &str) {
        if self.has(open) {
            return;
        }
        match self.severity(bad_joint) {
            Some(ohms) => self.resistor("bad joint", a, b, ohms),
            None => self.join(a, b),
        }
    }

    /// A resistance.
    pub fn resistor(&mut self, label: impl Into<Cow<'static, str>>, a: Node, b: Node, ohms: Quantity) {
        let owner = Owner::Place(Place::Part(self.part));
        self.wiring.passive(a, b, ohms, Quantity::constant(0.0), true, owner, label.into());
    }

    /// A coil by itself, on a field of nothing else: resistance and reactance in series, ohms.
    pub fn inductor(
        &mut self,
        label: impl Into<Cow<'static, str>>,
        a: Node,
        b: Node,
        ohms: Quantity,
        reactance: Quantity,
    ) {
        let owner = Owner::Place(Place::Part(self.part));
        self.wiring.passive(a, b, ohms, reactance, true, owner, label.into());
    }

    /// A branch that direct current cannot pass: resistance and reactance in series, ohms.
    pub fn blocking(
        &mut self,
        label: impl Into<Cow<'static, str>>,
        a: Node,
        b: Node,
        ohms: Quantity,
        reactance: Quantity,
    ) {
        let owner = Owner::Place(Place::Part(self.part));
        self.wiring.passive(a, b, ohms, reactance, false, owner, label.into());
    }

    /// A lamp that glows, with its ohms when lit and when its volts do not light it; an ohmmeter's volts never do.
    pub fn glow_lamp(&mut self, a: Node, b: Node, lit: Quantity, dim: Quantity) {
        let is_dim = self.wiring.conditions.dim_lamps.contains(&self.part);
        let ohms = if is_dim { dim } else { lit };
        self.blocking(GLOW_BRANCH, a, b, ohms, Quantity::constant(0.0));
    }

    /// A diode, as what the conditions say that it is; an ohmmeter's volts do not open one.
    pub fn diode(&mut self, a: Node, b: Node) {
        let (ohms, reactance) = match self.wiring.conditions.diodes.get(&self.part) {
            Some(DiodeState::Blocking) => (BLOCKING_OHMS, Quantity::constant(0.0)),
            Some(DiodeState::Half(reactance)) => (CONDUCTING_OHMS, reactance.clone()),
            Some(DiodeState::Conducting) | None => (CONDUCTING_OHMS, Quantity::constant(0.0)),
        };
        self.blocking(DIODE_BRANCH, a, b, Quantity::constant(ohms), reactance);
    }

    /// A voltage source in series with a resistance, raising the potential from `a` to `b`.
    pub fn source(&mut self, label: impl Into<Cow<'static, str>>, a: Node, b: Node, volts: Quantity, ohms: Quantity) {
        self.source_at(label, a, b, volts, 0.0, ohms);
    }

    /// The same with a phase, radians; positive leads.
    pub fn source_at(
        &mut self,
        label: impl Into<Cow<'static, str>>,
        a: Node,
        b: Node,
        volts: Quantity,
        angle: f64,
        ohms: Quantity,
    ) {
        let owner = Owner::Place(Place::Part(self.part));
        self.wiring.branches.push(PlannedBranch {
            from: a,
            to: b,
            resistance: ohms,
            reactance: Quantity::constant(0.0),
            source: volts,
            source_angle: angle,
            passes_direct_current: true,
            owner,
            label: label.into(),
        });
    }

    /// The insulation between the part and the frame: as it is when sound, or what a fault has left of it.
    pub(super) fn insulate(&mut self, insulation: &Insulation) {
        let ends = insulation.terminals.len() as f64;
        let sound = self.wiring.unit.parts()[self.part].insulation_unknown.map(|id| self.value(id));
        let Some(ohms) = self.severity(INSULATION_LOW).or(sound).map(|ohms| &ohms * ends) else { return };
        let reactance = -ends / (2.0 * PI * self.hertz() * insulation.farads);
        let (owner, frame, zero) = (Owner::Insulation(self.part), self.frame(), Quantity::constant(0.0));
        for &terminal in &insulation.terminals {
            let node = self.terminal(terminal);
            self.wiring.passive(node, frame, ohms.clone(), zero.clone(), true, owner, "insulation".into());
            if self.plugged_in() {
                let label = "capacitance to frame".into();
                self.wiring.passive(node, frame, zero.clone(), reactance.into(), false, owner, label);
            }
        }
    }

    /// A motor.
    pub fn motor(&mut self, motor: PlannedMotor) {
        self.wiring.motors.push((self.part, motor));
    }

    /// A motor with commutator.
    pub fn commutator_motor(&mut self, motor: PlannedCommutator) {
        self.wiring.commutators.push((self.part, motor));
    }

    /// What its commutator shows from bar to bar with the brushes lifted; no part of the network.
    pub fn bar_ring(&mut self, ring: BarRing) {
        self.wiring.bar_rings.push((self.part, ring));
    }

    /// Coils on an iron core.
    pub fn core(&mut self, core: PlannedCore) {
        self.wiring.cores.push((self.part, core));
    }
}
