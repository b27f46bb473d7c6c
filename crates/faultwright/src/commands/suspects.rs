//! `suspects`: what could be wrong, most probable first, with the readings that say so.

use super::experience::learn;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{experience, json, ranking, verdict};
use crate::waiting::diagnosed;
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
    /// What the shop has learnt from its closed jobs (faultwright experience): a table that moves the odds of faults.
    #[arg(long, value_name = "FILE")]
    experience: Option<PathBuf>,
    /// Say, too, how small a fault the best check still available would see; takes about as long again.
    #[arg(long)]
    available: bool,
}

impl Suspects {
    pub fn run(self) -> Result<(), Failure> {
        let mut job = input::read_file(&self.job)?.load()?;
        let moved = self.experience.as_deref().map(|path| learn(&mut job, path)).transpose()?;
        let found = diagnosed(&job)?;
        let mut page = page::standard();
        if self.json {
            let mut value = json::ranking(&found, self.available);
            value["experience"] = moved.map_or(serde_json::Value::Null, |moved| json::experience(&job, &moved));
            page.raw(&format!("{value:#}"))?;
        } else {
            ranking::show(&mut page, &found, self.detail, self.available)?;
            if let Some(moved) = moved {
                experience::show(&mut page, &job, &moved)?;
            }
            verdict::show(&mut page, &found, None)?;
        }
        Ok(())
    }
}
