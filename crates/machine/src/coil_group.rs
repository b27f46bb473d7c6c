//! Coils on one shared field: the one model behind motors, transformers and tapped windings.
//!
//! Coil `k` has effective turns `n_k`, axis angle `a_k`, resistance and leakage reactance. With `d = a_i - a_j`
//!
//! ```text
//! Z_ij = n_i n_j (Zf e^{-jd} + Zb e^{+jd}),      Z_ii += R_i + jX_i
//! Zf(s) = 1/2 jXm (R2/s + jX2) / (R2/s + j(X2 + Xm)),   Zb = Zf(2 - s)
//! ```
//!
//! which factors into two fields: coil `k` feels `n_k e^{-j a_k} E_f + n_k e^{+j a_k} E_b`. Source: double revolving
//! field theory, Morrill, "The revolving-field theory of the capacitor motor", AIEE Trans. 48 (1929); the factored
//! form is its rank-two structure.
//!
//! # Assumes
//! Linear iron, sinusoidal winding distribution, a symmetrical cage, no core loss (add it as a branch).

use circuit::{Branch, BranchId, Coupling, FieldId, Link, NetId, Network, Quantity};
use num_complex::Complex64;
use std::f64::consts::FRAC_PI_2;

/// One coil between two nets.
#[derive(Debug, Clone)]
pub struct Coil {
    /// Net at which positive current enters.
    pub from: NetId,
    /// Net at which it leaves.
    pub to: NetId,
    /// Effective turns, relative to the coil to which the rotor values are referred.
    pub turns: Quantity,
    /// Electrical angle of the coil's axis, radians.
    pub angle: f64,
    /// Ohms at the coil's own temperature.
    pub resistance: Quantity,
    /// Leakage reactance, ohms.
    pub leakage: Quantity,
}

/// A squirrel cage and the magnetising path, referred to one relative turn; ohms.
#[derive(Debug, Clone)]
pub struct Rotor {
    /// Magnetising reactance Xm.
    pub magnetising: Quantity,
    /// Rotor resistance R2.
    pub resistance: Quantity,
    /// Rotor leakage reactance X2.
    pub leakage: Quantity,
}

/// The two fields that turn with and against the rotor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotorField {
    /// Turns in the direction of positive angles.
    pub forward: FieldId,
    /// Turns against it.
    pub backward: FieldId,
}

/// A stationary core without rotor (transformer, autotransformer): one field.
#[derive(Debug, Clone)]
pub struct Core {
    /// Its field.
    pub field: FieldId,
    /// Magnetising reactance referred to one relative turn, ohms.
    pub magnetising: Quantity,
}

/// One half-field impedance with its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldImpedance {
    /// `1/2 jXm (R2 + j s X2) / (R2 + j s (X2 + Xm))`, ohms.
    pub value: Complex64,
    /// Derivative by the slip of this field.
    pub by_slip: Complex64,
    /// Derivative by Xm.
    pub by_magnetising: Complex64,
    /// Derivative by R2.
    pub by_resistance: Complex64,
    /// Derivative by X2.
    pub by_leakage: Complex64,
}

impl Rotor {
    /// Impedance of the field whose slip relative to the rotor is `slip` (s forward, 2 - s backward).
    ///
    /// Written without dividing by the slip, so that synchronous speed is an ordinary point.
    pub fn field_impedance(&self, slip: f64) -> FieldImpedance {
        let (xm, r2, x2) = (self.magnetising.value(), self.resistance.value(), self.leakage.value());
        let numerator = Complex64::new(r2, slip * x2);
        let denominator = Complex64::new(r2, slip * (x2 + xm));
        let inverse = denominator.inv();
        let inverse_square = inverse * inverse;
        let half_j = Complex64::new(0.0, 0.5);
        FieldImpedance {
            value: half_j * xm * numerator * inverse,
            by_slip: 0.5 * xm * xm * r2 * inverse_square,
            by_magnetising: half_j * numerator * numerator * inverse_square,
            by_resistance: -0.5 * slip * xm * xm * inverse_square,
            by_leakage: -half_j * slip * slip * xm * xm * inverse_square,
        }
    }
}

/// Adds coils around a rotor; returns their branches and the pair of fields.
pub fn add_around_rotor(network: &mut Network, coils: &[Coil]) -> (Vec<BranchId>, RotorField) {
    let field = RotorField { forward: network.add_field(), backward: network.add_field() };
    let branches = coils
        .iter()
        .map(|coil| {
            let branch = add_branch(network, coil);
            add_link(network, branch, field.forward, coil, coil.angle);
            add_link(network, branch, field.backward, coil, -coil.angle);
            branch
        })
        .collect();
    (branches, field)
}

/// Turns the axis of a coil around a rotor by a small angle, radians, that is not known exactly: by turns at right angles to
/// it. What the coil itself loses by that is of second order and left out.
pub fn turn_axis(network: &mut Network, (branch, field): (BranchId, RotorField), coil: &Coil, angle: &Quantity) {
    let across = Coil { turns: &coil.turns * angle, ..coil.clone() };
    let axis = coil.angle + FRAC_PI_2;
    add_link(network, branch, field.forward, &across, axis);
    add_link(network, branch, field.backward, &across, -axis);
}

/// Adds coils on a stationary core; returns their branches and the core.
pub fn add_on_core(network: &mut Network, coils: &[Coil], magnetising: Quantity) -> (Vec<BranchId>, Core) {
    let field = network.add_field();
    let branches = coils
        .iter()
        .map(|coil| {
            let branch = add_branch(network, coil);
            add_link(network, branch, field, coil, 0.0);
            branch
        })
        .collect();
    (branches, Core { field, magnetising })
}

fn add_branch(network: &mut Network, coil: &Coil) -> BranchId {
    network.add_branch(Branch {
        from: coil.from,
        to: coil.to,
        resistance: coil.resistance.clone(),
        reactance: coil.leakage.clone(),
        source: Quantity::constant(0.0),
        source_angle: 0.0,
        passes_direct_current: true,
    })
}

fn add_link(network: &mut Network, branch: BranchId, field: FieldId, coil: &Coil, angle: f64) {
    network.add_link(Link { branch, field, turns: coil.turns.clone(), angle, coupling: Coupling::Mutual });
}
