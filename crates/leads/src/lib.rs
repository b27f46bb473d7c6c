//! Which unmarked lead of a motor is which, from ohms between them.
//!
//! Knows how motors are wound and weighs that against readings; knows neither screens nor command lines. Of
//! `diagnosis` it uses only what weighs: the reading model, logarithms of weights, entropy.
//!
//! - [`case`]: the leads and what a meter showed; [`file`](mod@file) and [`of_job`]: where a case comes from.
//! - [`arrangement`] and [`arrangements`]: how motors are wound, one file per family, with ohms to be expected.
//! - [`symmetry`], [`hypotheses`]: what is really different.
//! - [`fit`](mod@fit), [`wrong_readings`]: how well readings and a hypothesis agree.
//! - [`inference`]: all together; [`answer`]: which lead is what; [`forms`]: with which windings of how many ohms.
//! - [`outlook`](mod@outlook): what would be shown; [`next`]: what to measure next; [`apart`](mod@apart): what tells two
//!   answers apart; [`slips`]: how a doubtful reading may have come about.

pub mod answer;
pub mod apart;
pub mod arrangement;
pub mod arrangements;
pub mod case;
pub mod file;
pub mod fit;
pub mod forms;
pub mod hypotheses;
pub mod inference;
pub mod known;
pub mod next;
pub mod of_job;
pub mod outlook;
pub mod slips;
pub mod symmetry;
pub mod wrong_readings;

pub use case::{Case, LeadReading, OhmMeter};
pub use inference::{Finding, LeadsError, infer};
pub use known::{Connection, Known, Motor};
