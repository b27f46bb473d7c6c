//! Logs as evidence: what a run's amps, watts and temperatures say for and against a suspect.
//!
//! A log of a thousand values is not a thousand readings. What makes a value differ from its prediction (a motor that
//! sheds heat better than its plate suggests, a model that is a little off) makes the next one differ likewise. So the
//! values of a log are one normal vector with correlations in time, and the first trip of a protector is one datum.
//!
//! - `record`: the values that count, and how far instruments and model may be off.
//! - `forecast`: what a suspect predicts for them, and how that follows what is not known of its heat.
//! - `trip`: when a protector first opened, against when it should have.
//! - `linear`: values against a forecast.
//! - `channel`: where a channel is farthest from its forecast.
//! - `weigh`: all of it as evidence for every suspect.
//!
//! # Assumes
//! Normal errors; straight lines near the best values of what is not known; from the first trip on, logged or
//! predicted, values say nothing more.

mod channel;
mod forecast;
mod linear;
mod record;
mod trip;
mod weigh;

pub use channel::{ChannelFinding, Farthest};
pub use record::LogRecord;
pub use trip::Trip;
pub(crate) use weigh::LogEvidence;
pub use weigh::{LogFinding, LogVerdict};
