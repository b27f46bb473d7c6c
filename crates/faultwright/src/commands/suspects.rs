//! `suspects`: what could be wrong, most probable first, with the readings that say so.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{json, ranking};
use std::path::PathBuf;

/// Rank what could be wrong, and show what each reading says about it.
///
/// Every single fault, every pair that could matter, 'nothing is wrong' and 'none of the known faults' are weighed
/// against all readings and symptoms of the job.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Suspects {
    /// The job file.
    job: PathBuf,
    /// Print the ranking as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
    /// How many suspects to show with all their readings.
    #[arg(long, default_value_t = 3)]
    detail: usize,
    /// Say, too, how small a fault the best check still available would see; takes about as long again.
    #[arg(long)]
    available: bool,
}

impl Suspects {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let found = diagnosis::diagnose(&job)?;
        let mut page = page::standard();
        if self.json {
            page.raw(&format!("{:#}", json::ranking(&found, self.available)))?;
        } else {
            ranking::show(&mut page, &found, self.detail, self.available)?;
        }
        Ok(())
    }
}
