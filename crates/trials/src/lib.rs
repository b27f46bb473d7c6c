//! Simulated repairs: is the diagnosis right, and does it know how sure it is?
//!
//! Units of many families are drawn at random, one or two faults are put in, and a simulated technician asks the engine
//! what to check next until it is sure. What the meter shows comes from [`truth`], a second formulation that shares with
//! the engine nothing but the topology of the job text and has what the engine leaves out.
//!
//! - [`truth`]: what a unit really does.
//! - [`design`]: machines drawn first, and plates made of what they do.
//! - [`families`]: job texts of many kinds of units.
//! - [`case`]: a unit with faults and a complaint; [`technician`]: the meter, its mistakes, the way through the checks.
//! - [`strategy`]: other ways of choosing the next check.
//! - [`one_wrong`]: what one wrong reading of eight costs.
//! - [`score`] and [`report`]: what came of it; [`kept`]: cases already worked on.

pub mod case;
pub mod design;
pub mod families;
pub mod heat_runs;
pub mod kept;
pub mod meter;
pub mod one_wrong;
pub mod random;
pub mod report;
pub mod score;
pub mod strategy;
pub mod technician;
pub mod trials;
pub mod truth;
pub mod written;
