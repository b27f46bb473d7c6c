//! Heat runs of units drawn at random: is the interval honest, how much shorter do runs get, is a pass ever false?
//!
//! The truth is a network of four to six bodies ([`network`]) with a sensor that lags, a room that drifts and mains that
//! wander ([`run`]); the forecast of crate `proof` knows three exponentials and none of that.

pub mod network;
pub mod report;
pub mod run;
pub mod score;
