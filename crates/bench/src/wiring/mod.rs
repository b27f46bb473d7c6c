//! From a unit in a setup, with faults put in, to a network.
//!
//! Parts speak in nodes: every terminal has a node on its wire side and one on its part side (joined unless the wires
//! are lifted), and parts may have inner nodes. Sound conductors join nodes into one net; a conductor that has gone
//! high in resistance is a branch; a broken one is nothing. So 10 milliohm wires and 10 megohm meters never meet in one
//! matrix, and the current in any sound conductor is still found, from Kirchhoff's law inside its net.

mod commutator;
mod conditions;
mod part;
mod stray;
mod wired;

pub use commutator::PlannedCommutator;
pub use conditions::Conditions;
pub use stray::STRAY_LOG_SPREAD;

use crate::bars::BarRing;
use crate::fault::{FaultSet, Place};
use crate::newly_fitted::changed_places;
use crate::setup::Setup;
use crate::unit::{TerminalId, Unit};
use circuit::{Branch, BranchId, NetId, Network, Quantity, UnknownId, components};
use machine::{Assembly, Coil, Conversion, Core, Load, Machine, Rotor, Start, coil_group};
use std::borrow::Cow;
use std::f64::consts::PI;

/// Room for the branches of a part, motors aside: two windings or an element, and insulation at each end.
const BRANCHES_OF_A_PART: usize = 6;

/// What the branch of a contact is called whose face is burnt.
pub const BURNT_CONTACT_BRANCH: &str = "burnt contact";

/// What the branch is called that stands for the loss in a part's iron.
pub const CORE_LOSS_BRANCH: &str = "core loss";

/// A point that conductors and branches meet at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Node(usize);

/// Where a conductor belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Owner {
    /// A part or wire.
    Place(Place),
    /// A closed contact of a part.
    Contact(usize),
    /// The joint between the wires at a terminal and the part's side of it.
    Terminal(TerminalId),
    /// A jumper of the setup.
    Jumper,
    /// Insulation between a part and the frame.
    Insulation(usize),
    /// Stray capacitance.
    Stray,
}

/// A branch of the network and what it stands for.
#[derive(Debug, Clone)]
pub struct Element {
    /// Where it belongs.
    pub owner: Owner,
    /// What it is, for people: "main", "element".
    pub label: Cow<'static, str>,
    /// The branch.
    pub branch: BranchId,
    /// Whether it is copper of its part's second winding.
    pub is_second_winding: bool,
    from: Node,
    to: Node,
}

impl Element {
    /// Whether it only stands for what leaks: stray capacitance, insulation.
    pub fn is_leakage(&self) -> bool {
        matches!(self.owner, Owner::Stray | Owner::Insulation(_))
    }
}

#[derive(Debug, Clone, Copy)]
struct Join {
    a: Node,
    b: Node,
    owner: Owner,
}

struct PlannedBranch {
    from: Node,
    to: Node,
    resistance: Quantity,
    reactance: Quantity,
    source: Quantity,
    source_angle: f64,
    passes_direct_current: bool,
    owner: Owner,
    label: Cow<'static, str>,
}

/// A coil of a planned motor or core.
pub struct PlannedCoil {
    /// What it is, for people.
    pub label: Cow<'static, str>,
    /// Node at which positive current enters.
    pub from: Node,
    /// Node at which it leaves.
    pub to: Node,
    /// Relative turns.
    pub turns: Quantity,
    /// Axis, radians.
    pub angle: f64,
    /// Ohms at winding temperature.
    pub resistance: Quantity,
    /// Leakage reactance, ohms.
    pub leakage: Quantity,
}

/// A motor to be added to the network.
pub struct PlannedMotor {
    /// Its coils.
    pub coils: Vec<PlannedCoil>,
    /// Place among them from which on they are its second winding; their number if it has none.
    pub second_winding: usize,
    /// Radians by which the axis of that is off its place.
    pub second_turned: Option<Quantity>,
    /// Its rotor.
    pub rotor: Rotor,
    /// Number of poles.
    pub poles: u32,
    /// Its load.
    pub load: Load,
    /// Of all that turns, kilogram metres squared.
    pub inertia: Quantity,
}

/// Coils on an iron core without rotor, to be added to the network.
pub struct PlannedCore {
    /// Its coils; all lie on one axis, so their angles do not count.
    pub coils: Vec<PlannedCoil>,
    /// Magnetising reactance referred to one relative turn, ohms.
    pub magnetising: Quantity,
}

/// What a unit in a setup amounts to electrically.
#[derive(Debug)]
pub struct Wired {
    /// Network and machines.
    pub assembly: Assembly,
    /// Branches with their meaning.
    pub elements: Vec<Element>,
    net_of_node: Vec<NetId>,
    joins: Vec<Join>,
    machine_of_part: Vec<Option<usize>>,
    /// By machine, kilogram metres squared.
    inertias: Vec<Quantity>,
    bar_rings: Vec<(usize, BarRing)>,
}

/// Lays a unit out in a setup.
pub struct Wiring<'u> {
    unit: &'u Unit,
    setup: &'u Setup,
    faults: &'u FaultSet,
    deviations: &'u [f64],
    derivatives: bool,
    conditions: &'u Conditions,
    energised: bool,
    node_count: usize,
    joins: Vec<Join>,
    branches: Vec<PlannedBranch>,
    motors: Vec<(usize, PlannedMotor)>,
    commutators: Vec<(usize, PlannedCommutator)>,
    cores: Vec<(usize, PlannedCore)>,
    bar_rings: Vec<(usize, BarRing)>,
}

/// One part's view of the layout.
pub struct PartWiring<'w, 'u> {
    wiring: &'w mut Wiring<'u>,
    part: usize,
    has_faults: bool,
}

/// Number of unknowns in the deviations of a unit with faults: the unit's own, the stray capacitance, the severities.
pub fn unknown_count(unit: &Unit, faults: &FaultSet) -> usize {
    unit.unknowns().len() + 1 + severity_count(unit, faults)
}

fn severity_count(unit: &Unit, faults: &FaultSet) -> usize {
    faults.0.iter().filter(|&&fault| unit.faults()[fault].mode.severity.is_some()).count()
}

/// Index in the deviations of the stray capacitance.
pub fn stray_unknown(unit: &Unit) -> usize {
    unit.unknowns().len()
}

/// Index in the deviations of the severity of the fault at `position` in the set.
pub fn severity_unknown(unit: &Unit, faults: &FaultSet, position: usize) -> Option<usize> {
    unit.faults()[faults.0[position]].mode.severity.as_ref()?;
    let before = FaultSet(faults.0[..position].to_vec());
    Some(unit.unknowns().len() + 1 + severity_count(unit, &before))
}

/// Size of a part's fault in a set, 1 if it has none; `None` if it is not in the set.
pub fn fault_size(unit: &Unit, faults: &FaultSet, deviations: &[f64], part: usize, name: &str) -> Option<f64> {
    let position = faults.0.iter().position(|&fault| {
        let fault = &unit.faults()[fault];
        fault.place == Place::Part(part) && fault.mode.name == name
    })?;
    let severity = unit.faults()[faults.0[position]].mode.severity.as_ref();
    let unknown = severity_unknown(unit, faults, position);
    Some(severity.zip(unknown).map_or(1.0, |(severity, unknown)| severity.value(deviations[unknown])))
}

/// Lays out `unit` in `setup` with `faults` in it, values at `deviations` (natural-log deviations from the medians).
///
/// An open breaker or earth-leakage trip leaves the hot side of the supply off although the setup is energised. Without `derivatives` values
/// forget what they depend on, which is quicker where only values are wanted.
pub fn wire_up(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    conditions: &Conditions,
    derivatives: bool,
) -> Wired {
    let energised = setup.energised && !conditions.is_cut_off();
    let mut wiring = Wiring {
        unit,
        setup,
        faults,
        deviations,
        derivatives,
        conditions,
        energised,
        node_count: 1 + 2 * unit.terminal_count(),
        joins: Vec::with_capacity(unit.terminal_count() + unit.wires().len() + unit.parts().len()),
        branches: Vec::with_capacity(BRANCHES_OF_A_PART * unit.parts().len()),
        motors: Vec::new(),
        commutators: Vec::new(),
        cores: Vec::new(),
        bar_rings: Vec::new(),
    };
    let changed = changed_places(unit, faults);
    for terminal in (0..unit.terminal_count()).map(TerminalId) {
        if !setup.lifted.contains(&terminal) {
            wiring.joins.push(Join {
                a: wire_side(wires_on(&changed, terminal)),
                b: part_side(terminal),
                owner: Owner::Terminal(terminal),
            });
        }
    }
    for (part, entry) in unit.parts().iter().enumerate() {
        let has_faults = faults.0.iter().any(|&fault| unit.faults()[fault].place == Place::Part(part));
        let mut part_wiring = PartWiring { wiring: &mut wiring, part, has_faults };
        entry.kind.connect(&mut part_wiring);
        if let Some(insulation) = unit.insulation_of(part) {
            part_wiring.insulate(insulation);
        }
    }
    for wire in 0..unit.wires().len() {
        wiring.add_wire(wire);
    }
    for &(a, b) in &setup.jumpers {
        wiring.joins.push(Join { a: part_side(a), b: part_side(b), owner: Owner::Jumper });
    }
    wiring.finish()
}

/// Which terminal the wires on a terminal belong to.
fn wires_on(changed: &[(TerminalId, TerminalId)], terminal: TerminalId) -> TerminalId {
    changed.iter().fold(terminal, |at, &(a, b)| match at {
        at if at == a => b,
        at if at == b => a,
        at => at,
    })
}

fn wire_side(terminal: TerminalId) -> Node {
    Node(1 + 2 * terminal.0)
}

/// The node of a terminal on its part's side, where a meter's probe goes.
pub fn part_side(terminal: TerminalId) -> Node {
    Node(2 + 2 * terminal.0)
}

/// The reference node: earth at the supply.
const REFERENCE: Node = Node(0);

impl Wiring<'_> {
    fn add_wire(&mut self, index: usize) {
        let wire = &self.unit.wires()[index];
        let (from, to) = (wire_side(wire.from), wire_side(wire.to));
        let owner = Owner::Place(Place::Wire(index));
        if self.severity(Place::Wire(index), "broken").is_some() {
            return;
        }
        match self.severity(Place::Wire(index), "bad-joint").flatten() {
            Some(ohms) => self.passive(from, to, ohms, Quantity::constant(0.0), true, owner, "bad joint".into()),
            None => self.joins.push(Join { a: from, b: to, owner }),
        }
    }

    /// Outer `Some` if the fault is in the set; inner `Some` if it has a size.
    fn severity(&self, place: Place, name: &str) -> Option<Option<Quantity>> {
        let position = self.faults.0.iter().position(|&fault| {
            let fault = &self.unit.faults()[fault];
            fault.place == place && fault.mode.name == name
        })?;
        let quantity = severity_unknown(self.unit, self.faults, position).and_then(|unknown| {
            let severity = self.unit.faults()[self.faults.0[position]].mode.severity.as_ref()?;
            let quantity = severity.quantity(UnknownId(unknown), self.deviations[unknown]);
            Some(if self.derivatives { quantity } else { Quantity::constant(quantity.value()) })
        });
        Some(quantity)
    }

    #[allow(clippy::too_many_arguments)]
    fn passive(
        &mut self,
        from: Node,
        to: Node,
        resistance: Quantity,
        reactance: Quantity,
        passes_direct_current: bool,
        owner: Owner,
        label: Cow<'static, str>,
    ) {
        let source = Quantity::constant(0.0);
        self.branches.push(PlannedBranch {
            from,
            to,
            resistance,
            reactance,
            source,
            source_angle: 0.0,
            passes_direct_current,
            owner,
            label,
        });
    }

    /// The conductor that stray capacitance leads to: the first live one that has volts, or the first if none has.
    fn hot(&self) -> Node {
        let supply = Owner::Place(Place::Part(self.unit.supply()));
        let fed = |node: Node| self.branches.iter().any(|branch| branch.owner == supply && branch.to == node);
        let live: Vec<Node> = self.unit.live_terminals().map(part_side).collect();
        live.iter().copied().find(|&node| fed(node)).or(live.first().copied()).unwrap_or(REFERENCE)
    }

    fn finish(self) -> Wired {
        let (net_of_node, net_count) = nets(self.node_count, &self.joins);
        let unknown_count = unknown_count(self.unit, self.faults);
        let coils = self.motors.iter().map(|(_, motor)| motor.coils.len()).sum::<usize>()
            + self.cores.iter().map(|(_, core)| core.coils.len()).sum::<usize>();
        let room = self.branches.len() + 2 * (coils + net_count);
        let mut network = Network::with_room(self.unit.hertz(), net_count, room);
        let mut elements = Vec::with_capacity(room);
        let hot = self.hot();
        for planned in self.branches {
            let branch = network.add_branch(Branch {
                from: net_of_node[planned.from.0],
                to: net_of_node[planned.to.0],
                resistance: planned.resistance,
                reactance: planned.reactance,
                source: planned.source,
                source_angle: planned.source_angle,
                passes_direct_current: planned.passes_direct_current,
            });
            let PlannedBranch { owner, label, from, to, .. } = planned;
            elements.push(Element { owner, label, branch, is_second_winding: false, from, to });
        }
        let mut machines = Vec::new();
        let mut inertias = Vec::new();
        let mut machine_of_part = vec![None; self.unit.parts().len()];
        for (part, motor) in self.motors {
            machine_of_part[part] = Some(machines.len());
            inertias.push(motor.inertia.clone());
            machines.push(add_motor(&mut network, &mut elements, &net_of_node, self.setup, part, motor));
        }
        let mut cores: Vec<Core> =
            self.cores.into_iter().map(|core| add_core(&mut network, &mut elements, &net_of_node, core)).collect();
        for motor in self.commutators {
            machine_of_part[motor.0] = Some(machines.len());
            inertias.push(motor.1.inertia.clone());
            let (machine, core) =
                commutator::add_commutator_motor(&mut network, &mut elements, &net_of_node, self.setup, motor);
            machines.push(machine);
            cores.push(core);
        }
        if self.setup.energised {
            let hot = net_of_node[hot.0];
            let unknown = stray_unknown(self.unit);
            stray::add(&mut network, &mut elements, hot, unknown, self.deviations[unknown]);
        }
        let assembly = Assembly { network, machines, cores, unknown_count };
        Wired {
            assembly,
            elements,
            net_of_node,
            joins: self.joins,
            machine_of_part,
            inertias,
            bar_rings: self.bar_rings,
        }
    }
}

fn add_motor(
    network: &mut Network,
    elements: &mut Vec<Element>,
    net_of_node: &[NetId],
    setup: &Setup,
    part: usize,
    motor: PlannedMotor,
) -> Machine {
    let coils = coils_between_nets(&motor.coils, net_of_node);
    let (branches, field) = coil_group::add_around_rotor(network, &coils);
    if let Some(angle) = &motor.second_turned {
        for (coil, &branch) in coils.iter().zip(&branches).skip(motor.second_winding) {
            coil_group::turn_axis(network, (branch, field), coil, angle);
        }
    }
    let second_winding = elements.len() + motor.second_winding;
    name_coils(elements, part, motor.coils, &branches);
    elements[second_winding..].iter_mut().for_each(|element| element.is_second_winding = true);
    Machine {
        conversion: Conversion::Induction { field, rotor: motor.rotor },
        coils: branches,
        reference_speed: 4.0 * PI * network.hertz() / f64::from(motor.poles),
        load: motor.load,
        start: start_of(setup, part),
    }
}

/// How a part's rotor begins in a setup.
fn start_of(setup: &Setup, part: usize) -> Start {
    if setup.held.contains(&part) {
        Start::Held
    } else if setup.pushed.contains(&part) {
        Start::Pushed
    } else {
        Start::Rest
    }
}

fn add_core(
    network: &mut Network,
    elements: &mut Vec<Element>,
    net_of_node: &[NetId],
    (part, core): (usize, PlannedCore),
) -> Core {
    let coils = coils_between_nets(&core.coils, net_of_node);
    let (branches, field) = coil_group::add_on_core(network, &coils, core.magnetising);
    name_coils(elements, part, core.coils, &branches);
    field
}

fn coils_between_nets(coils: &[PlannedCoil], net_of_node: &[NetId]) -> Vec<Coil> {
    let coil = |coil: &PlannedCoil| Coil {
        from: net_of_node[coil.from.0],
        to: net_of_node[coil.to.0],
        turns: coil.turns.clone(),
        angle: coil.angle,
        resistance: coil.resistance.clone(),
        leakage: coil.leakage.clone(),
    };
    coils.iter().map(coil).collect()
}

/// Says of the branches of coils what they are.
fn name_coils(elements: &mut Vec<Element>, part: usize, coils: Vec<PlannedCoil>, branches: &[BranchId]) {
    for (coil, &branch) in coils.into_iter().zip(branches) {
        let (owner, label) = (Owner::Place(Place::Part(part)), coil.label);
        elements.push(Element { owner, label, branch, is_second_winding: false, from: coil.from, to: coil.to });
    }
}

/// Unites joined nodes; the reference node's net is net 0.
fn nets(node_count: usize, joins: &[Join]) -> (Vec<NetId>, usize) {
    let (numbers, count) = components(node_count, joins.iter().map(|join| (join.a.0, join.b.0)));
    (numbers.into_iter().map(NetId).collect(), count)
}
