//! A series commutator (universal) motor: field coils on iron, an armature ring between two brushes.
//!
//! With `F = sum n_k I_k` the ampere-turns of everything wound on the field's iron, `r` the speed over a reference speed
//! `w` and `I_a` the armature current,
//!
//! ```text
//! speed voltage   E = K r F        in phase with the field, K in ohms at the reference speed
//! torque          T = K Re(conj(I_a) F) / w - D r |F|^2 / w
//! power balance   Re(conj(I_a) E) = T r w + D r^2 |F|^2
//! ```
//!
//! `D` is zero in a sound armature; it stands for the currents that the flux drives round shorted armature coils as they
//! turn. Phasors are RMS, so torque is the mean over a period; it pulsates at twice the supply frequency. Source: the
//! series motor on alternating current, Fitzgerald, Kingsley and Umans, "Electric Machinery", chapter on single-phase
//! motors; Guru and Hiziroglu, "Electric Machinery and Transformers", section on the universal motor (both from memory).
//!
//! # Assumes
//! Linear iron (a motor past its rated current makes less than this says); brushes in the neutral position, so that
//! armature and field do not act on each other as a transformer; no core loss: at speed it counts as load; brush drop
//! as a resistance.

use crate::coil_group::{Coil, Core, add_on_core};
use circuit::{Branch, BranchId, Coupling, FieldId, Link, NetId, Network, Quantity};
use std::f64::consts::PI;

/// One of the paths through the armature ring from one brush to the other.
#[derive(Debug, Clone)]
pub struct ArmaturePath {
    /// Net at which positive current enters.
    pub from: NetId,
    /// Net at which it leaves.
    pub to: NetId,
    /// Coils in it, over those of a whole path; the share of the speed voltage that it feels.
    pub share: Quantity,
    /// Ohms at the armature's own temperature.
    pub resistance: Quantity,
    /// Reactance at rest, ohms.
    pub reactance: Quantity,
}

/// How field and armature of a commutator motor make torque.
#[derive(Debug, Clone)]
pub struct Commutator {
    /// Driven by all coils on the field's iron, felt by the armature.
    pub excitation: FieldId,
    /// Driven by the armature and felt by nothing: its drive is the armature current.
    pub armature: FieldId,
    /// `K`: volts between the brushes for each field ampere at the reference speed, ohms.
    pub speed_ohms: Quantity,
    /// `D`: watts round shorted armature coils for each field ampere squared at the reference speed, ohms.
    pub shorted_ohms: Quantity,
}

/// Adds field coils on their iron and the paths of an armature; returns the branches of both and the iron.
///
/// `Commutator::excitation` follows every coil on the iron, whatever it is part of.
pub fn add_commutator(
    network: &mut Network,
    coils: &[Coil],
    magnetising: Quantity,
    paths: &[ArmaturePath],
    (speed_ohms, shorted_ohms): (Quantity, Quantity),
) -> (Vec<BranchId>, Core, Commutator) {
    let (mut branches, core) = add_on_core(network, coils, magnetising);
    let (excitation, armature) = (network.add_field(), network.add_field());
    for (coil, &branch) in coils.iter().zip(&branches) {
        let turns = coil.turns.clone();
        network.add_link(Link { branch, field: excitation, turns, angle: 0.0, coupling: Coupling::Drives });
    }
    for path in paths {
        let branch = network.add_branch(Branch {
            from: path.from,
            to: path.to,
            resistance: path.resistance.clone(),
            reactance: path.reactance.clone(),
            source: Quantity::constant(0.0),
            source_angle: 0.0,
            passes_direct_current: true,
        });
        for (field, coupling) in [(excitation, Coupling::Feels), (armature, Coupling::Drives)] {
            network.add_link(Link { branch, field, turns: path.share.clone(), angle: 0.0, coupling });
        }
        branches.push(branch);
    }
    (branches, core, Commutator { excitation, armature, speed_ohms, shorted_ohms })
}

/// What one shorted coil of `bars` does: its turns on the field's iron, and its share `D` of [`Commutator`].
///
/// Both paths hold `bars / 2` coils, whose speed voltages add to `K F` between the brushes; with flux distributed as a
/// sine the largest in one coil is `pi / bars` of that, and its mean square over a turn half the square of the largest.
/// At rest the same flux induces in it, as in a transformer, `hertz_ratio` (supply frequency over turns per second at the
/// reference speed) times as much where it faces the poles, and again half the square on the mean over all places.
/// Two poles.
pub fn shorted_coil(
    speed_ohms: &Quantity,
    magnetising: &Quantity,
    bars: f64,
    hertz_ratio: f64,
    loop_ohms: &Quantity,
) -> (Quantity, Quantity) {
    let largest = speed_ohms * (PI / bars);
    let turns = &(&largest * (hertz_ratio * 0.5f64.sqrt())) / magnetising;
    let shorted_ohms = &(&(&largest * &largest) * 0.5) / loop_ohms;
    (turns, shorted_ohms)
}
