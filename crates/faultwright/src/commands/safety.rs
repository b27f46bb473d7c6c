//! `safety`: the electrical tests after a repair, with limits, what was entered, and what it proves.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::safety;
use bench::safety::REGIONS;
use std::path::PathBuf;

/// Show the safety sheet of a repaired unit: tests in order, limits with their sources, what was entered, pass or not.
///
/// Class, heating and cord follow from the unit unless the section [safety] of the job file says otherwise; results are
/// entered there too (docs/job-file.md). The exit code says whether the sheet could be laid out, not whether it passes.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Safety {
    /// The job file.
    #[arg(required_unless_present = "standards")]
    job: Option<PathBuf>,
    /// Region whose limits hold; that of the job file if not given.
    #[arg(long)]
    region: Option<String>,
    /// List the regions, and every limit with its source.
    #[arg(long)]
    standards: bool,
    /// Print the sheet, or the limits, as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Safety {
    pub fn run(self) -> Result<(), Failure> {
        let mut page = page::standard();
        let Some(path) = self.job.filter(|_| !self.standards) else {
            if self.json {
                page.raw(&format!("{:#}", safety::standards_json()))?;
            } else {
                safety::standards(&mut page)?;
            }
            return Ok(());
        };
        let job = input::read_file(&path)?.load()?;
        let Some(region) = self.region.as_deref().or(job.safety.region) else {
            return Err(Failure::WrongUse(format!(
                "which region? the job file does not say; add --region NAME or region = \"NAME\" under [safety]; there is {}",
                REGIONS.join(", ")
            )));
        };
        proof::safety::Scheme::named(region).map_err(|error| Failure::WrongUse(error.to_string()))?;
        let sheet = record::safety_sheet(&job, region).map_err(|error| Failure::Unsolvable(error.to_string()))?;
        if self.json {
            page.raw(&format!("{:#}", safety::json(&job, &sheet)))?;
        } else {
            safety::show(&mut page, &job, &sheet)?;
        }
        Ok(())
    }
}
