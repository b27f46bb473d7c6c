//! What each repair would do: the unit solved anew with the repair made, in every position of its switches, until it has
//! warmed through.
//!
//! Knows units and suspects; knows neither screens nor limits of safety.
//!
//! - [`positions`]: the positions in which a unit can be switched on.
//! - [`mod@course`]: what a unit does in one of them, from cold until its temperatures stand.
//! - [`variant`]: a job's unit with parts exchanged; [`mod@renewed`]: which values a repair makes new.
//! - [`mod@substitute`]: whether another part may stand in for one.
//! - [`mod@options`]: the repairs of a suspect, each with what it brings and what it risks; [`compare`]: against the unit as
//!   it should be.
//! - [`mod@loads`]: what parts and wires carry over what they are made for; [`surroundings`]: how hot it is about capacitors.
//! - [`knowledge`]: how far figures may be off.
//! - [`hook_ups`]: mistakes in connecting what was put in.
//! - [`mod@after`]: readings after the repair against those predicted for it.
//! - [`mod@stress`]: parts and wires that the fault drove past what they are made for.

pub mod after;
pub mod compare;
pub mod course;
pub mod hook_ups;
pub mod knowledge;
pub mod loads;
pub mod options;
pub mod positions;
pub mod renewed;
pub mod stress;
pub mod substitute;
pub mod surroundings;
pub mod variant;

pub use after::{AfterReading, after};
pub use course::{Course, course};
pub use options::{RepairOption, Work, options, substitute};
pub use stress::{Strained, stress};

/// Why options could not be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RepairError {
    /// A unit cannot be solved.
    #[error("{0}")]
    Predict(#[from] bench::PredictError),
    /// A part cannot be exchanged as asked.
    #[error("{what}: {problem}")]
    Exchange {
        /// What was asked for.
        what: String,
        /// What is wrong with it, with a mend where there is one.
        problem: String,
    },
}
