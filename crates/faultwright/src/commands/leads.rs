//! `leads`: which unmarked lead of a motor is which.

use crate::demos::LEADS_DEMO;
use crate::exit::{CODES, Failure};
use crate::input::{self, JobText};
use crate::page;
use crate::report::{leads as report, leads_json};
use std::path::PathBuf;

/// Find out which unmarked lead of a motor is which, from ohms between them.
///
/// Takes a leads file (docs/leads-file.md), or with --part the ohms that a job holds between the terminals of a motor with
/// its wires off. Says which lead is what with which probability, the ohms of each winding, which readings do not fit, and
/// what to measure next.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Leads {
    /// The leads file, or with --part the job file.
    #[arg(required_unless_present = "demo")]
    file: Option<PathBuf>,
    /// Look at this motor of a job.
    #[arg(long, conflicts_with = "demo")]
    part: Option<String>,
    /// Use the example that comes with the program.
    #[arg(long, conflicts_with = "file")]
    demo: bool,
    /// Print the finding as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Leads {
    pub fn run(self) -> Result<(), Failure> {
        let text = match &self.file {
            Some(path) => input::read_file(path)?,
            None => JobText::embedded(LEADS_DEMO.name, LEADS_DEMO.text),
        };
        let case = match &self.part {
            Some(part) => {
                leads::of_job::of_job(&text.load()?, part).map_err(|error| Failure::WrongUse(error.to_string()))?
            }
            None => text.load_leads()?,
        };
        let found = leads::infer(&case).map_err(unsolvable)?;
        let pairs = leads::next::next_pairs(&found).map_err(unsolvable)?;
        let doubts = leads::slips::doubts(&found).map_err(unsolvable)?;
        let mut page = page::standard();
        if self.json {
            let value = leads_json::finding(&found, &pairs, &doubts).map_err(unsolvable)?;
            return Ok(page.raw(&format!("{value:#}"))?);
        }
        report::show(&mut page, &found, &pairs, &doubts)
    }
}

/// As the report needs it as well.
pub fn unsolvable(error: leads::LeadsError) -> Failure {
    Failure::Unsolvable(error.to_string())
}
