//! Random networks for the property tests, described apart from the crate's own types so that they can be changed
//! and built again.

// Every test file compiles this module for itself and uses its own part of it.
#![allow(dead_code)]

use circuit::{Branch, BranchId, Complex64, Coupling, FieldId, Link, NetId, Network, Quantity, UnknownId};
use proptest::prelude::*;

/// The usual settings, but a failing case is only printed: it goes into a test of its own, not into a file of seeds.
pub fn config() -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::default() }
}

/// Branch values in ohms and volts, before any deviation.
#[derive(Debug, Clone)]
pub struct BranchPlan {
    pub from: usize,
    pub to: usize,
    pub resistance: f64,
    pub reactance: f64,
    pub source: f64,
    pub source_angle: f64,
}

impl BranchPlan {
    /// The source with its phase.
    pub fn phasor(&self) -> Complex64 {
        Complex64::from_polar(self.source, self.source_angle)
    }
}

/// A branch wound on a rotor, linked to both of the rotor's fields.
#[derive(Debug, Clone)]
pub struct WindingPlan {
    pub branch: usize,
    pub rotor: usize,
    pub turns: f64,
    pub angle: f64,
    pub coupling: Coupling,
}

/// A whole network; rotor `r` owns the field impedances `2 r` (forward) and `2 r + 1` (backward).
#[derive(Debug, Clone)]
pub struct Plan {
    pub net_count: usize,
    pub branches: Vec<BranchPlan>,
    pub windings: Vec<WindingPlan>,
    pub field_impedances: Vec<Complex64>,
}

/// A branch of constant values.
pub fn branch(from: usize, to: usize, resistance: f64, reactance: f64, source: f64) -> Branch {
    Branch {
        from: NetId(from),
        to: NetId(to),
        resistance: resistance.into(),
        reactance: reactance.into(),
        source: source.into(),
        source_angle: 0.0,
        passes_direct_current: reactance >= 0.0,
    }
}

/// A network of constant branches at 50 Hz.
pub fn network(net_count: usize, branches: &[Branch]) -> Network {
    let mut network = Network::new(50.0, net_count);
    for branch in branches {
        network.add_branch(branch.clone());
    }
    network
}

/// Links a branch to a forward field and, with the opposite angle, to the backward field after it.
pub fn link_to_rotor(
    network: &mut Network,
    branch: BranchId,
    forward: FieldId,
    turns: &Quantity,
    angle: f64,
    coupling: Coupling,
) {
    for (field, angle) in [(forward, angle), (FieldId(forward.0 + 1), -angle)] {
        network.add_link(Link { branch, field, turns: turns.clone(), angle, coupling });
    }
}

impl Plan {
    /// Three unknowns per branch (resistance, reactance, source), then one per winding (turns).
    pub fn unknown_count(&self) -> usize {
        3 * self.branches.len() + self.windings.len()
    }

    /// The network with every value at its median.
    pub fn build(&self) -> Network {
        self.build_at(&vec![0.0; self.unknown_count()])
    }

    /// The network with every value moved by its deviation on the log scale.
    pub fn build_at(&self, deviations: &[f64]) -> Network {
        let mut network = Network::new(50.0, self.net_count);
        let value =
            |median: f64, unknown: usize| Quantity::log_unknown(median, UnknownId(unknown), deviations[unknown]);
        for (index, plan) in self.branches.iter().enumerate() {
            network.add_branch(Branch {
                resistance: value(plan.resistance, 3 * index),
                reactance: value(plan.reactance, 3 * index + 1),
                source: value(plan.source, 3 * index + 2),
                source_angle: plan.source_angle,
                ..branch(plan.from, plan.to, plan.resistance, plan.reactance, plan.source)
            });
        }
        for _ in &self.field_impedances {
            network.add_field();
        }
        for (index, plan) in self.windings.iter().enumerate() {
            let turns = value(plan.turns, 3 * self.branches.len() + index);
            link_to_rotor(
                &mut network,
                BranchId(plan.branch),
                FieldId(2 * plan.rotor),
                &turns,
                plan.angle,
                plan.coupling,
            );
        }
        network
    }

    /// The same network with other source voltages.
    pub fn with_sources(&self, source: impl Fn(usize) -> f64) -> Plan {
        let mut plan = self.clone();
        for (index, branch) in plan.branches.iter_mut().enumerate() {
            branch.source = source(index);
        }
        plan
    }

    /// The same network with one more resistor.
    pub fn with_resistor(&self, from: usize, to: usize, resistance: f64) -> Plan {
        let mut plan = self.clone();
        plan.branches.push(BranchPlan { from, to, resistance, reactance: 0.0, source: 0.0, source_angle: 0.0 });
        plan
    }
}

/// Ends and values of one branch as plain random numbers, given meaning by [`plans`].
#[derive(Debug, Clone)]
struct RawBranch {
    ends: (prop::sample::Index, prop::sample::Index),
    turned: bool,
    resistance_decade: f64,
    reactance_ratio: f64,
    kind: u8,
    source: f64,
    source_angle: f64,
}

fn raw_branch() -> impl Strategy<Value = RawBranch> {
    let index = any::<prop::sample::Index>;
    ((index(), index()), any::<bool>(), -0.5..3.0, -4.0..4.0, 0u8..12, 1.0..300.0, -3.0..3.0).prop_map(
        |(ends, turned, resistance_decade, reactance_ratio, kind, source, source_angle)| RawBranch {
            ends,
            turned,
            resistance_decade,
            reactance_ratio,
            kind,
            source,
            source_angle,
        },
    )
}

fn raw_winding() -> impl Strategy<Value = (prop::sample::Index, f64, f64)> {
    (any::<prop::sample::Index>(), 0.2..3.0, -3.0..3.0)
}

fn field_impedance() -> impl Strategy<Value = Complex64> {
    (0.5..100.0, -20.0..100.0).prop_map(|(re, im)| Complex64::new(re, im))
}

/// Connected networks of 3 to 8 nets with at least one loaded source, and up to `rotor_limit` rotors of up to 4 windings.
///
/// Reactances stay within four times the branch's resistance, so that no resonance is sharp enough to swallow the
/// digits that the tests ask for; some branches of the spanning tree have no impedance at all.
pub fn plans(rotor_limit: usize) -> impl Strategy<Value = Plan> {
    let branches = prop::collection::vec(raw_branch(), 2..16);
    let rotor = (prop::collection::vec(raw_winding(), 2..5), field_impedance(), field_impedance());
    let rotors = prop::collection::vec(rotor, 0..=rotor_limit);
    (3usize..9, branches, rotors).prop_flat_map(|(net_count, extra, rotors)| {
        prop::collection::vec(raw_branch(), net_count - 1)
            .prop_map(move |tree| assemble_plan(net_count, &tree, &extra, &rotors))
    })
}

/// As [`plans`], and as many in which some windings only drive their fields and others only feel them.
pub fn plans_of_any_coupling(rotor_limit: usize) -> impl Strategy<Value = Plan> {
    let couplings = prop::collection::vec(0usize..3, 4 * rotor_limit);
    (plans(rotor_limit), any::<bool>(), couplings).prop_map(|(mut plan, one_way, couplings)| {
        if one_way {
            for (winding, kind) in plan.windings.iter_mut().zip(couplings) {
                winding.coupling = [Coupling::Mutual, Coupling::Drives, Coupling::Feels][kind];
            }
            // A voltage that feeds its own current could come near to self-excitation; small ones do not.
            for impedance in &mut plan.field_impedances {
                *impedance *= 0.02;
            }
        }
        plan
    })
}

type RawRotor = (Vec<(prop::sample::Index, f64, f64)>, Complex64, Complex64);

fn assemble_plan(net_count: usize, tree: &[RawBranch], extra: &[RawBranch], rotors: &[RawRotor]) -> Plan {
    let mut branches = Vec::new();
    for (index, raw) in tree.iter().enumerate() {
        let mut plan = branch_plan(raw, raw.ends.0.index(index + 1), index + 1);
        if raw.kind == 0 {
            // A closed contact or an ideal source; tree branches close no loop among themselves.
            (plan.resistance, plan.reactance) = (0.0, 0.0);
        }
        branches.push(plan);
    }
    for raw in extra {
        let from = raw.ends.0.index(net_count);
        branches.push(branch_plan(raw, from, (from + 1 + raw.ends.1.index(net_count - 1)) % net_count));
    }
    // The first branch is a source with a load across it, so that every network carries current.
    branches[0].source = tree[0].source;
    let load = branches.len() - extra.len();
    (branches[load].from, branches[load].to) = (branches[0].to, branches[0].from);
    let mut plan = Plan { net_count, branches, windings: Vec::new(), field_impedances: Vec::new() };
    for (rotor, (windings, forward, backward)) in rotors.iter().enumerate() {
        for (place, turns, angle) in windings {
            let branch = place.index(plan.branches.len());
            // A branch is wound on a rotor once: two windings of it could all but cancel.
            if plan.windings.iter().any(|winding| winding.branch == branch && winding.rotor == rotor) {
                continue;
            }
            let coupling = Coupling::Mutual;
            plan.windings.push(WindingPlan { branch, rotor, turns: *turns, angle: *angle, coupling });
        }
        plan.field_impedances.extend([*forward, *backward]);
    }
    plan
}

fn branch_plan(raw: &RawBranch, from: usize, to: usize) -> BranchPlan {
    let resistance = 10f64.powf(raw.resistance_decade);
    let reactance = if raw.kind.is_multiple_of(3) { 0.0 } else { raw.reactance_ratio * resistance };
    let source = if raw.kind.is_multiple_of(4) { raw.source } else { 0.0 };
    let (from, to) = if raw.turned { (to, from) } else { (from, to) };
    BranchPlan { from, to, resistance, reactance, source, source_angle: raw.source_angle }
}
