//! What findings look like: as text for people, as JSON for programs.

pub mod checks;
pub mod experience;
pub mod heat_run;
pub mod heat_run_json;
pub mod job;
pub mod json;
pub mod leads;
pub mod leads_json;
pub mod options;
pub mod options_json;
pub mod plan;
pub mod prediction;
pub mod ranking;
pub mod run;
pub mod safety;
pub mod verdict;
mod verdict_json;
