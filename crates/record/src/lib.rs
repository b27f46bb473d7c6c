//! The record of a repair: one self-contained page, for the customer first, then for whoever checks the figures.
//!
//! Knows findings; knows neither command lines nor the web.
//!
//! - [`closing`]: whether the job may be closed as proven, and what is missing.
//! - [`html`]: the page; [`sections`] holds its parts, [`sources`] the list that figures point to.

pub mod closing;
mod html;
mod sections;
mod sources;

pub use closing::{Closing, Point, Standing, closing};
pub use html::html;

use bench::PredictError;
use diagnosis::{Diagnosis, Suspect};
use proof::safety::Sheet;
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
}

/// A judged heat run.
pub struct HeatRun {
    /// Name of the run.
    pub name: String,
    /// Per channel.
    pub channels: Vec<HeatChannel>,
}

/// A judged channel of a heat run.
pub struct HeatChannel {
    /// What it is.
    pub name: String,
    /// Minutes and degrees Celsius.
    pub points: Vec<(f64, f64)>,
    /// Where it is going, degrees Celsius, with the ends of its 95 % interval.
    pub final_celsius: f64,
    /// Ends of the interval.
    pub interval95: [f64; 2],
    /// What it may come to, degrees Celsius.
    pub limit_celsius: f64,
    /// Where the limit is from.
    pub limit_source: String,
    /// Whether it passes; `None` as long as that is open.
    pub passes: Option<bool>,
    /// The verdict in words.
    pub words: String,
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
}
