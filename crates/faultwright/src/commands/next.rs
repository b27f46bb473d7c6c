//! `next`: the check that opens the shortest way to a repair, and those that tell most a minute.

use super::access::Access;
use super::experience::learn;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{checks, json};
use crate::waiting::diagnosed;
use std::path::PathBuf;

/// Show the best next checks, and what each outcome would mean.
///
/// First comes the check with which the whole way to a repair is expected to be shortest, energised work counted dearer;
/// after it those that tell most about the repair a minute. An energised check is never put first when an isolated one tells
/// nearly as much.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Next {
    /// The job file.
    job: PathBuf,
    /// Print the checks as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
    /// How many checks to show.
    #[arg(long, default_value_t = 3)]
    most: usize,
    #[command(flatten)]
    access: Access,
    /// What the shop has learnt from its closed jobs (faultwright experience): a table that moves the odds of faults.
    #[arg(long, value_name = "FILE")]
    experience: Option<PathBuf>,
}

impl Next {
    pub fn run(self) -> Result<(), Failure> {
        let mut job = input::read_file(&self.job)?.load()?;
        self.access.apply(&mut job)?;
        if let Some(path) = &self.experience {
            learn(&mut job, path)?;
        }
        let found = diagnosed(&job)?;
        let plan = diagnosis::next_checks(&found, self.most);
        let mut page = page::standard();
        if self.json {
            page.raw(&format!("{:#}", json::plan(&found, &plan)))?;
        } else {
            checks::show(&mut page, &found, &plan)?;
        }
        Ok(())
    }
}
