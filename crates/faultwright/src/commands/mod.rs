//! One file per command: its arguments, its help, what it does.

mod access;
pub mod bench;
pub mod demo;
pub mod experience;
pub mod heatrun;
pub mod leads;
pub mod levels;
mod logged_run;
mod named;
pub mod next;
pub mod options;
mod output;
pub mod paths;
pub mod plan;
pub mod predict;
pub mod record;
pub mod safety;
pub mod suspects;
pub mod validate;
pub mod wiring;
