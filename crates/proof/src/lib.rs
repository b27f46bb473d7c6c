//! Whether a repair is proven: heat runs, electrical safety, and the limits they are held to, each with its source.
//!
//! Knows limits and statistics; knows neither screens nor what was wrong with the unit.
//!
//! - [`heat_run`]: where logged temperatures are going, and whether that is below the limit.
//! - [`safety`]: the electrical tests after a repair, by protection class and region.
//! - [`insulation`]: temperature classes, limits of rise, and the life that heat costs.
//! - [`source`]: where a figure comes from, and how far that was looked at.

pub mod heat_run;
pub mod insulation;
mod names;
pub mod safety;
pub mod source;
