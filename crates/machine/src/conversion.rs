//! How a machine turns electrical into mechanical power: fields whose impedance depends on speed, and a torque that is
//! quadratic in their drives.
//!
//! Every machine here is of the form
//!
//! ```text
//! E_f = Z_f(r) F_f,      T w = sum over terms of W(r) Re(conj(F_a) F_b)
//! ```
//!
//! with `r` its speed over a reference speed `w`. What differs between kinds of machine is the list of fields and terms.

use crate::coil_group::{FieldImpedance, Rotor, RotorField};
use crate::commutator::Commutator;
use circuit::{Complex64, FieldId, Quantity, UnknownId};
use smallvec::{SmallVec, smallvec};

/// Speed of an induction motor over its synchronous speed that a search never passes.
const FASTEST_INDUCTION: f64 = 1.0;
/// Speed of a commutator motor over its rated speed that a search never passes; one without load would come near it and
/// fly apart (engineering judgement).
const FASTEST_COMMUTATOR: f64 = 20.0;

/// What is inside a machine.
#[derive(Debug, Clone)]
pub enum Conversion {
    /// A squirrel cage between fields that turn with and against it; its reference is synchronous speed.
    Induction {
        /// The fields its coils share.
        field: RotorField,
        /// Cage and magnetising values.
        rotor: Rotor,
    },
    /// An armature with commutator in a stationary field; its reference is any speed, such as the rated one.
    Commutator(Commutator),
}

/// A field whose impedance depends on speed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FieldTerm {
    pub(crate) field: FieldId,
    pub(crate) impedance: Complex64,
    /// Derivative by the speed ratio.
    pub(crate) by_ratio: Complex64,
}

/// `weight * Re(conj(F_a) F_b)` in the torque times the reference speed, watts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TorqueTerm {
    pub(crate) a: FieldId,
    pub(crate) b: FieldId,
    pub(crate) weight: f64,
    /// Derivative of the weight by the speed ratio.
    pub(crate) by_ratio: f64,
}

fn forward(rotor: &Rotor, ratio: f64) -> FieldImpedance {
    rotor.field_impedance(1.0 - ratio)
}

fn backward(rotor: &Rotor, ratio: f64) -> FieldImpedance {
    rotor.field_impedance(1.0 + ratio)
}

impl Conversion {
    /// Fields at a speed ratio.
    pub(crate) fn fields(&self, ratio: f64) -> SmallVec<[FieldTerm; 2]> {
        match self {
            Conversion::Induction { field, rotor } => {
                let (zf, zb) = (forward(rotor, ratio), backward(rotor, ratio));
                // Slip falls as speed rises: dZf/dratio = -dZf/dslip, dZb/dratio = +dZb/dslip.
                smallvec![
                    FieldTerm { field: field.forward, impedance: zf.value, by_ratio: -zf.by_slip },
                    FieldTerm { field: field.backward, impedance: zb.value, by_ratio: zb.by_slip },
                ]
            }
            Conversion::Commutator(commutator) => {
                let ohms = Complex64::from(commutator.speed_ohms.value());
                smallvec![FieldTerm { field: commutator.excitation, impedance: ohms * ratio, by_ratio: ohms }]
            }
        }
    }

    /// Torque times the reference speed at a speed ratio.
    pub(crate) fn torque_terms(&self, ratio: f64) -> SmallVec<[TorqueTerm; 2]> {
        self.torque_terms_with(ratio, &self.fields(ratio))
    }

    /// The same with the fields at that speed ratio.
    pub(crate) fn torque_terms_with(&self, ratio: f64, fields: &[FieldTerm]) -> SmallVec<[TorqueTerm; 2]> {
        match self {
            // The resistive part of each field's impedance; the field that turns backward brakes.
            Conversion::Induction { .. } => fields
                .iter()
                .zip([1.0, -1.0])
                .map(|(field, sign)| TorqueTerm {
                    a: field.field,
                    b: field.field,
                    weight: sign * field.impedance.re,
                    by_ratio: sign * field.by_ratio.re,
                })
                .collect(),
            Conversion::Commutator(Commutator { excitation, armature, speed_ohms, shorted_ohms }) => {
                let shorted = shorted_ohms.value();
                smallvec![
                    TorqueTerm { a: *armature, b: *excitation, weight: speed_ohms.value(), by_ratio: 0.0 },
                    TorqueTerm { a: *excitation, b: *excitation, weight: -shorted * ratio, by_ratio: -shorted },
                ]
            }
        }
    }

    /// The natural size of the torque at standstill, times the reference speed, for given field drives there.
    pub(crate) fn standstill_watts(&self, drives: &[Complex64]) -> f64 {
        match self {
            Conversion::Induction { field, rotor } => {
                let largest = drives[field.forward.0].norm_sqr().max(drives[field.backward.0].norm_sqr());
                largest * forward(rotor, 0.0).value.re
            }
            Conversion::Commutator(commutator) => {
                let (field, armature) = (drives[commutator.excitation.0], drives[commutator.armature.0]);
                commutator.speed_ohms.value() * field.norm() * armature.norm()
            }
        }
    }

    /// Power that crosses into the rotor with the field that turns forward, and with the one that turns backward, watts;
    /// a commutator machine has one field, which stands still.
    pub(crate) fn gap_powers(&self, ratio: f64, drive: impl Fn(FieldId) -> Complex64) -> (f64, f64) {
        match self {
            Conversion::Induction { field, rotor } => (
                drive(field.forward).norm_sqr() * forward(rotor, ratio).value.re,
                drive(field.backward).norm_sqr() * backward(rotor, ratio).value.re,
            ),
            Conversion::Commutator(commutator) => {
                let product = (drive(commutator.armature).conj() * drive(commutator.excitation)).re;
                (commutator.speed_ohms.value() * ratio * product, 0.0)
            }
        }
    }

    /// Heat in the rotor apart from what its own branches show, watts.
    pub(crate) fn rotor_loss(&self, ratio: f64, drive: impl Fn(FieldId) -> Complex64) -> f64 {
        match self {
            // Slip times gap power, for each field.
            Conversion::Induction { .. } => {
                let (forward, backward) = self.gap_powers(ratio, drive);
                (1.0 - ratio) * forward + (1.0 + ratio) * backward
            }
            Conversion::Commutator(commutator) => {
                commutator.shorted_ohms.value() * ratio * ratio * drive(commutator.excitation).norm_sqr()
            }
        }
    }

    /// Speed ratio that a search never passes, either way.
    pub(crate) fn fastest(&self) -> f64 {
        match self {
            Conversion::Induction { .. } => FASTEST_INDUCTION,
            Conversion::Commutator(_) => FASTEST_COMMUTATOR,
        }
    }

    /// Adds `Re(weight dZ_f/du)` for the field number `index` of [`Conversion::fields`].
    pub(crate) fn add_field_slopes(&self, index: usize, ratio: f64, weight: Complex64, gradient: &mut [f64]) {
        match self {
            Conversion::Induction { rotor, .. } => {
                let impedance = if index == 0 { forward(rotor, ratio) } else { backward(rotor, ratio) };
                add_rotor_slopes(gradient, rotor, &impedance, weight);
            }
            Conversion::Commutator(commutator) => add_slopes(gradient, &commutator.speed_ohms, weight.re * ratio),
        }
    }

    /// Adds `factor dW/du` for the term number `index` of [`Conversion::torque_terms`].
    pub(crate) fn add_torque_slopes(&self, index: usize, ratio: f64, factor: f64, gradient: &mut [f64]) {
        match (self, index) {
            (Conversion::Induction { rotor, .. }, 0) => {
                add_rotor_slopes(gradient, rotor, &forward(rotor, ratio), factor.into());
            }
            (Conversion::Induction { rotor, .. }, _) => {
                add_rotor_slopes(gradient, rotor, &backward(rotor, ratio), (-factor).into());
            }
            (Conversion::Commutator(commutator), 0) => add_slopes(gradient, &commutator.speed_ohms, factor),
            (Conversion::Commutator(commutator), _) => add_slopes(gradient, &commutator.shorted_ohms, -factor * ratio),
        }
    }
}

/// Adds a derivative by a quantity to the gradient by unknowns.
pub(crate) fn add_slopes(gradient: &mut [f64], quantity: &Quantity, derivative: f64) {
    for &(UnknownId(unknown), slope) in quantity.slopes() {
        gradient[unknown] += derivative * slope;
    }
}

fn add_rotor_slopes(gradient: &mut [f64], rotor: &Rotor, impedance: &FieldImpedance, weight: Complex64) {
    add_slopes(gradient, &rotor.magnetising, (weight * impedance.by_magnetising).re);
    add_slopes(gradient, &rotor.resistance, (weight * impedance.by_resistance).re);
    add_slopes(gradient, &rotor.leakage, (weight * impedance.by_leakage).re);
}
