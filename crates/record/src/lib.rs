//! The record of a repair: one self-contained page, for the customer first, then for whoever checks the figures.
//!
//! Knows findings; knows neither command lines nor the web.
//!
//! - [`mod@closing`]: whether the job may be closed as proven, and what is missing.
//! - [`mod@gather`]: everything that goes into a record, from a job and its ranking.
//! - [`mod@safety_sheet`]: from what a job says about safety to the sheet that judges it; [`mod@heat_runs`]: from its logs to
//!   verdicts, by way of [`mod@logged_run`], and from ohms after switching off by [`mod@by_ohms`], with what
//!   [`mod@expected`] says ahead; [`mod@hottest`]: where a run has to be made.
//! - [`mod@strains`]: what a fault has strained, in words.
//! - `html`: the page; `sections` holds its parts, `sources` the list that figures point to.

pub mod by_ohms;
pub mod closing;
pub mod expected;
pub mod gather;
pub mod heat_runs;
pub mod hottest;
mod html;
pub mod logged_run;
pub mod safety_sheet;
mod sections;
mod sources;
pub mod strains;

pub use by_ohms::{Rest, WindingByOhms};
pub use closing::{Closing, Point, Standing, closing};
pub use gather::{gather, subject};
pub use heat_runs::{HeatChannel, HeatRun, heat_runs};
pub use hottest::{Winding, Windings};
pub use html::html;
pub use safety_sheet::safety_sheet;

use bench::PredictError;
use diagnosis::recurrence::Recurrence;
use diagnosis::{Diagnosis, Suspect};
use proof::safety::{SafetyError, Sheet};
use repair::stress::Exposure;
use repair::{AfterReading, RepairError, RepairOption, Strained};

/// Everything that goes into a record.
pub struct Findings<'f, 'j> {
    /// The ranking by the readings before the repair.
    pub found: &'f Diagnosis<'j>,
    /// The suspect that the record is about: the cause that was repaired, or the leading one.
    pub suspect: &'f Suspect,
    /// What each repair would bring.
    pub options: Vec<RepairOption>,
    /// What the fault has strained.
    pub exposure: Exposure,
    /// The parts.
    pub strained: Vec<Strained>,
    /// Readings after the repair.
    pub after: Vec<AfterReading>,
    /// The safety tests.
    pub safety: Option<Sheet>,
    /// Heat runs after the repair.
    pub heat: Vec<HeatRun>,
    /// Where the windings get hottest; nothing for a unit in which none warms to speak of.
    pub windings: Option<Windings>,
    /// What may stand behind the failure of each part of the suspect.
    pub behind: Vec<Recurrence>,
}

/// Why there is no record.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecordError {
    /// A unit cannot be solved.
    #[error("{0}")]
    Predict(#[from] PredictError),
    /// A repair cannot be worked out.
    #[error("{0}")]
    Repair(#[from] RepairError),
    /// A safety entry does not suit the unit.
    #[error("{0}")]
    Safety(#[from] SafetyError),
    /// Nobody to write about.
    #[error("{0}")]
    NoSuspect(String),
}
