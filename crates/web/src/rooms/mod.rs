//! The rooms of the bench, in the order of the job: what each shows and what it accepts.

pub mod assets;
pub mod charts;
pub mod checks;
pub mod closing;
pub mod entry;
pub mod events;
pub mod expect;
pub mod finding;
pub mod heat_run;
pub mod history;
pub mod home;
pub mod housings;
pub mod jobs;
pub mod login;
pub mod parts;
pub mod photos;
pub mod pictures;
pub mod plan;
pub mod readings;
pub mod refusals;
pub mod runs;
pub mod safety;
pub mod setups;
pub mod text;
pub mod wiring;
pub mod you;
