//! Which faults the readings point to, how surely, and which check to do next.
//!
//! Knows probability; knows neither screens nor files.
//!
//! In the order in which a reading passes through:
//! - [`reading_model`]: how likely a shown value is when the true one is known; [`symptom_model`]: the same for words.
//! - [`prior`]: unknown values and their spreads, sisters included.
//! - [`fit`]: the most probable values under one suspect, and its evidence (Laplace).
//! - [`screen`]: what a suspect weighs at most, and about what it weighs, at a glance.
//! - [`suspects`]: all single faults, pairs under a bound, none, and none of the known, ranked.
//! - [`logs`]: the same for what was logged in runs.
//! - [`support`]: which readings carry the verdict; [`flows`]: what it does to currents and powers.
//! - [`checks`]: what could be measured next and what it would tell, by [`information`].
//! - [`watch`]: how far long work is, and a way to stop it.
//! - [`mod@words`]: all this as people say it.
//! - [`setup_table`]: everything a setup would show, with spreads.

mod bar_rounds;
pub mod checks;
pub mod fit;
pub mod flows;
pub mod information;
pub mod log_weights;
pub mod logs;
mod pairs;
pub mod prior;
pub mod reading_model;
pub mod screen;
pub mod setup_table;
mod singles;
pub mod support;
pub mod suspects;
pub mod symptom_model;
pub mod watch;
pub mod words;

pub use checks::{Check, CheckPlan, next_checks};
pub use suspects::{Diagnosis, Suspect, diagnose, diagnose_watched};
pub use watch::Watch;

/// Why a diagnosis could not be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DiagnosisError {
    /// The sound unit cannot be solved.
    #[error("the sound unit cannot be solved: {0}")]
    Predict(#[from] bench::PredictError),
    /// Whoever waited for it has cancelled it.
    #[error("the diagnosis was cancelled")]
    Cancelled,
}
