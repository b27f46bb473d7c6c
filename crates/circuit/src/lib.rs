//! Linear networks: nets joined by branches, solved with complex phasors at one frequency or at 0 Hz.
//!
//! This crate knows nets, branches, fields and derivatives. It knows no parts and no trade words.
//!
//! Signs, once for the whole program:
//! - A branch current is positive from its `from` net to its `to` net, through the branch.
//! - A branch voltage is `v_from - v_to`; a source voltage raises the potential from `from` to `to`.
//! - `voltage * conj(current)` is the complex power a branch takes in; negative means it delivers.
//! - All phasors are RMS.
//!
//! The way of a solution: [`Network`] is described, [`Factored`] eliminates everything except the fields,
//! [`Factored::solve`] closes the fields for given field impedances, and [`Solution`] answers questions,
//! with exact derivatives through [`Probe`].

mod components;
mod direct;
mod lu;
mod network;
mod phasor;
mod probe;
mod quantity;
pub mod variants;

pub use components::components;
pub use direct::{DirectNetwork, PairResistance};
pub use network::{Branch, BranchId, Coupling, FieldId, Link, NetId, Network};
pub use num_complex::Complex64;
pub use phasor::{Factored, FieldDrives, Solution};
pub use probe::{Adjoint, Probe};
pub use quantity::{Quantity, UnknownId};

/// Why a network could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// A branch value is infinite or not a number.
    #[error("branch {branch} has a value that is not a finite number")]
    NotFinite {
        /// The branch in question.
        branch: usize,
    },
    /// The equations have no unique solution; the unknown at which elimination stopped is named.
    #[error("the network has no unique solution ({unknown})")]
    Singular {
        /// The net or branch whose equation has no usable pivot.
        unknown: String,
    },
    /// A frequency that is zero, negative or not finite was given for a phasor solution.
    #[error("a phasor solution needs a positive frequency, not {hertz} Hz")]
    Frequency {
        /// The frequency asked for.
        hertz: f64,
    },
}
