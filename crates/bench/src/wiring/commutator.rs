//! A commutator motor laid out by its part, put into the network.

use super::{Element, PlannedCoil, coils_between_nets, name_coils, start_of};
use crate::setup::Setup;
use circuit::{NetId, Network, Quantity};
use machine::commutator::add_commutator;
use machine::{ArmaturePath, Conversion, Core, Load, Machine};

/// A commutator motor to be added to the network.
pub struct PlannedCommutator {
    /// Coils on the iron of its field; all lie on one axis, so their angles do not count.
    pub coils: Vec<PlannedCoil>,
    /// Reactance of the field's flux referred to one relative turn, ohms.
    pub magnetising: Quantity,
    /// Paths through the armature; as turns, the share of the speed voltage that each feels.
    pub paths: Vec<PlannedCoil>,
    /// Volts between the brushes for each field ampere at the reference speed, ohms.
    pub speed_ohms: Quantity,
    /// Watts round shorted armature coils for each field ampere squared at the reference speed, ohms.
    pub shorted_ohms: Quantity,
    /// Speed that ratios refer to, radians per second.
    pub reference_speed: f64,
    /// Its load.
    pub load: Load,
    /// Of all that turns, kilogram metres squared.
    pub inertia: Quantity,
}

/// Adds a part's motor; returns it with its iron.
pub(super) fn add_commutator_motor(
    network: &mut Network,
    elements: &mut Vec<Element>,
    net_of_node: &[NetId],
    setup: &Setup,
    (part, motor): (usize, PlannedCommutator),
) -> (Machine, Core) {
    let coils = coils_between_nets(&motor.coils, net_of_node);
    let path = |path: &PlannedCoil| ArmaturePath {
        from: net_of_node[path.from.0],
        to: net_of_node[path.to.0],
        share: path.turns.clone(),
        resistance: path.resistance.clone(),
        reactance: path.leakage.clone(),
    };
    let paths: Vec<ArmaturePath> = motor.paths.iter().map(path).collect();
    let (branches, core, commutator) =
        add_commutator(network, &coils, motor.magnetising, &paths, (motor.speed_ohms, motor.shorted_ohms));
    let (on_iron, in_armature) = branches.split_at(coils.len());
    name_coils(elements, part, motor.coils, on_iron);
    name_coils(elements, part, motor.paths, in_armature);
    let machine = Machine {
        conversion: Conversion::Commutator(commutator),
        coils: branches,
        reference_speed: motor.reference_speed,
        load: motor.load,
        start: start_of(setup, part),
    };
    (machine, core)
}
