//! Which faults the readings point to, how surely, and which check to do next.
//!
//! Knows probability; knows neither screens nor files.
//!
//! In the order in which a reading passes through:
//! - [`reading_model`]: how likely a shown value is when the true one is known; [`symptom_model`]: the same for words.
//! - [`prior`]: unknown values and their spreads, sisters included.
//! - [`ascent`]: climbing to a top by damped steps, whatever the hill.
//! - [`evidence`]: the job prepared, and what a suspect predicts of it.
//! - [`fit`]: the most probable values under one suspect, and its evidence (Laplace).
//! - [`narrowing`]: how far readings narrow what is known of the values.
//! - [`wrong_readings`]: the same with the sum made over which readings are wrong, and over curves where a straight line would
//!   miss the most.
//! - [`screen`]: what a suspect weighs at most, and about what it weighs, at a glance.
//! - [`sampling`]: the evidence of leading suspects by draws, with its error.
//! - [`suspects`]: all single faults, pairs under a bound, none, and none of the known, ranked.
//! - [`logs`]: the same for what was logged in runs.
//! - [`repairs`]: what the suspects ask for, added up.
//! - [`mod@verdict`]: decided or not, what is left, what a mistake would cost; [`mod@explanations`]: volts that look odd.
//! - [`mod@unexplained`]: what to take again where none of the known faults explains the readings.
//! - [`misreadings`]: how a doubtful reading may have come about; [`blind_spots`]: what the readings cannot see;
//!   [`foresight`]: what the best check still available would.
//! - [`slips`]: names taken for each other and figures in each other's line, weighed; [`slip_words`]: what tells them.
//! - [`support`]: which readings carry the verdict; [`flows`]: what it does to currents and powers.
//! - [`mod@recurrence`]: what may stand behind a part that has failed before.
//! - [`checks`]: what could be measured next and what it would tell, by [`information`].
//! - [`mod@plan`]: the whole way from here to a settled repair, by [`sequencing`]; [`next`]: the check to do first.
//! - [`watch`]: how far long work is, and a way to stop it.
//! - [`mod@words`]: all this as people say it.
//! - [`setup_table`]: everything a setup would show, with spreads.

pub mod ascent;
mod bar_rounds;
mod bends;
mod beside;
pub mod blind_spots;
pub mod checks;
mod controlled_mean;
pub mod evidence;
pub mod explanations;
pub mod fit;
pub mod flows;
pub mod foresight;
pub mod hidden;
pub mod information;
mod leaders;
pub mod log_weights;
mod log_words;
pub mod logs;
pub mod misreadings;
pub mod narrowing;
mod neighbours;
pub mod next;
mod not_looked_at;
mod pairs;
pub mod plan;
pub mod prior;
pub mod reading_model;
pub mod recurrence;
pub mod repairs;
pub mod sampling;
pub mod screen;
pub mod sequencing;
pub mod setup_table;
mod singles;
pub mod slip_words;
pub mod slips;
pub mod support;
pub mod suspects;
pub mod symptom_model;
mod triples;
pub mod unexplained;
pub mod verdict;
mod verdict_words;
pub mod watch;
mod weigh_slips;
pub mod words;
mod worked;
pub mod wrong_readings;

pub use checks::Check;
pub use next::{CheckPlan, next_checks};
pub use not_looked_at::NotLookedAt;
pub use plan::{Plan, plan};
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
