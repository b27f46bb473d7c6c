//! Electrical safety after a repair: which tests, against which limits, and what came of them.
//!
//! A [`Scheme`] is one region's way of testing, in one edition; limits of two schemes are never mixed. [`Sheet::new`] lays
//! the tests of a unit out in the order in which they are safe to make, and judges what was entered.
//!
//! - `scheme`: regions and editions.
//! - `appliance`: what is known of the unit.
//! - `limits`, `rows`: the limits, each with its source.
//! - `tests`: what to do, with what, heeding what.
//! - `entry`: what was entered, judged against a limit with the error of the meter.
//! - `sheet`: all of it together.

mod appliance;
mod entry;
mod error;
mod limits;
mod rows;
mod scheme;
mod sheet;
mod tests;

pub use appliance::{Appliance, Cord, Handling, ProtectionClass};
pub use entry::{Accuracy, Comparison, Entered, Entry, Outcome, Quantity, Value, judge};
pub use error::SafetyError;
pub use limits::{Bound, COPPER_OHM_SQUARE_MILLIMETRES_PER_METRE, Figure, LimitRow, When, limit, rows};
pub use scheme::Scheme;
pub use sheet::{JudgedEntry, Limit, Row, STANDING, Sheet};
pub use tests::Test;
