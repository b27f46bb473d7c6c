//! What conducts inside each part, asked of the part itself by laying it out with all its wires off.
//!
//! So a kind of part that this crate has never heard of still shows its coils, resistances and contacts.

use bench::unit::Part;
use bench::wiring::{self, Wired};
use bench::{FaultSet, Place, Setup, TerminalId, Unit};
use std::collections::BTreeMap;

/// What a path inside a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Nature {
    /// Opens and closes with the part's position.
    Contact,
    /// Always one conductor.
    Joined,
    /// Resistance.
    Resistance,
    /// Winding on a field, or an inductance.
    Coil,
    /// Capacitance.
    Capacitance,
}

/// End of a path inside a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// A terminal.
    Terminal(TerminalId),
    /// A point inside, numbered within the unit.
    Inner(usize),
}

/// A path inside a part.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Path {
    pub(super) ends: [End; 2],
    /// What the part calls it; empty for contacts and plain conductors.
    pub(super) label: String,
    pub(super) nature: Nature,
}

/// Paths inside all parts, by part.
#[derive(Debug)]
pub(super) struct Conduction {
    pub(super) paths: Vec<Vec<Path>>,
}

/// The net of every terminal, on its part's side, with all wires off.
#[derive(Debug)]
pub(super) struct Joints {
    nets: Vec<usize>,
}

impl Joints {
    /// What is joined inside the parts in the positions of a setup.
    pub(super) fn in_setup(unit: &Unit, setup: Option<&Setup>) -> Self {
        let positions = setup.map(|setup| setup.positions.clone()).unwrap_or_default();
        Joints::of(unit, &wires_off(unit, positions, &wiring::Conditions::default()))
    }

    fn of(unit: &Unit, wired: &Wired) -> Self {
        Joints { nets: (0..unit.terminal_count()).map(|terminal| wired.net_at(TerminalId(terminal)).0).collect() }
    }

    /// Whether two terminals of a part are joined inside it.
    pub(super) fn joined(&self, a: TerminalId, b: TerminalId) -> bool {
        self.nets[a.0] == self.nets[b.0]
    }
}

impl Conduction {
    /// Finds all paths, each switch and contact in each of its positions, and those that move by themselves in both.
    pub(super) fn of(unit: &Unit) -> Self {
        let positions: Vec<Vec<String>> = unit.parts().iter().map(|part| part.kind.positions()).collect();
        let rounds = positions.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let mut paths: Vec<Vec<Path>> = vec![Vec::new(); unit.parts().len()];
        let mut joints = Vec::with_capacity(rounds);
        for round in 0..rounds {
            let chosen = positions.iter().enumerate();
            let chosen =
                chosen.filter_map(|(part, list)| Some((part, list.get(round.min(list.len().max(1) - 1))?.clone())));
            let wired = wires_off(unit, chosen.collect(), &wiring::Conditions::default());
            for (part, found) in paths.iter_mut().enumerate() {
                add_elements(unit, &wired, part, round, found);
            }
            joints.push(Joints::of(unit, &wired));
        }
        if !unit.own_contacts().is_empty() {
            // Contacts that the unit moves by itself have a second state too.
            let chosen = positions.iter().enumerate();
            let chosen = chosen.filter_map(|(part, list)| Some((part, list.first()?.clone()))).collect();
            let moved_contacts = unit.own_contacts().iter().map(|placed| placed.id).collect();
            let moved = wiring::Conditions { moved_contacts, ..wiring::Conditions::default() };
            joints.push(Joints::of(unit, &wires_off(unit, chosen, &moved)));
        }
        for (part, found) in paths.iter_mut().enumerate() {
            add_joints(unit, part, &joints, found);
        }
        Conduction { paths }
    }
}

fn wires_off(unit: &Unit, positions: BTreeMap<usize, String>, conditions: &wiring::Conditions) -> Wired {
    let mut setup = Setup::unplugged("wires off");
    setup.positions = positions;
    setup.lifted = (0..unit.terminal_count()).map(TerminalId).collect();
    let sound = FaultSet::none();
    let deviations = vec![0.0; wiring::unknown_count(unit, &sound)];
    wiring::wire_up(unit, &setup, &sound, &deviations, conditions, false)
}

fn add_elements(unit: &Unit, wired: &Wired, part: usize, round: usize, paths: &mut Vec<Path>) {
    let network = &wired.assembly.network;
    let end = |net: usize| {
        let mut terminals = unit.terminals_of(part).map(TerminalId);
        terminals.find(|&terminal| wired.net_at(terminal).0 == net).map_or(End::Inner(net), End::Terminal)
    };
    for element in wired.elements_of(Place::Part(part)) {
        let (a, b) = wired.nets_of(element);
        let ends = [end(a), end(b)];
        // Points inside are numbered by the first round; in others they have other numbers.
        let inside = ends.iter().any(|end| matches!(end, End::Inner(_)));
        let known = paths.iter().any(|path| path.ends == ends && path.label == element.label);
        if a == b || known || (inside && round > 0) {
            continue;
        }
        let branch = &network.branches()[element.branch.0];
        let on_field = network.links().iter().any(|link| link.branch == element.branch);
        let nature = match branch.reactance.value() {
            x if on_field || x > 0.0 => Nature::Coil,
            x if x < 0.0 => Nature::Capacitance,
            _ => Nature::Resistance,
        };
        paths.push(Path { ends, label: element.label.to_string(), nature });
    }
}

/// Conductors and contacts: pairs of terminals that are joined in every, or in some, position.
fn add_joints(unit: &Unit, part: usize, joints: &[Joints], paths: &mut Vec<Path>) {
    let entry = &unit.parts()[part];
    let terminals: Vec<TerminalId> = unit.terminals_of(part).map(TerminalId).collect();
    let contacts = named_contacts(entry, &terminals);
    for (index, &a) in terminals.iter().enumerate() {
        for &b in &terminals[index + 1..] {
            let times = joints.iter().filter(|joints| joints.joined(a, b)).count();
            let nature = match times {
                _ if contacts.contains(&(a, b)) => Nature::Contact,
                _ if !contacts.is_empty() || times == 0 => continue,
                _ if times == joints.len() => Nature::Joined,
                _ => Nature::Contact,
            };
            // Of several terminals joined for good, each is tied to the first.
            let tied = |path: &Path| path.nature == Nature::Joined && path.ends[1] == End::Terminal(a);
            if nature == Nature::Joined && paths.iter().any(tied) {
                continue;
            }
            paths.push(Path { ends: [End::Terminal(a), End::Terminal(b)], label: String::new(), nature });
        }
    }
}

/// The pairs of a contact table, known by the names of their faults; whichever end is named first.
fn named_contacts(part: &Part, terminals: &[TerminalId]) -> Vec<(TerminalId, TerminalId)> {
    let names = part.kind.terminals();
    if part.kind.positions().is_empty() {
        return Vec::new();
    }
    let faults: Vec<String> = part.kind.faults().into_iter().map(|fault| fault.name).collect();
    let mut pairs = Vec::new();
    for (a, from) in names.iter().enumerate() {
        for (b, to) in names.iter().enumerate() {
            if a != b && faults.contains(&format!("{from}-{to}-stuck-open")) {
                pairs.push((terminals[a.min(b)], terminals[a.max(b)]));
            }
        }
    }
    pairs
}
