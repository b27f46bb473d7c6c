//! `validate`: everything that is wrong with a job file, at once.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::job;
use std::path::PathBuf;

/// Check a job file: everything wrong with it at once, with places and likely mends.
///
/// Nothing is computed from the readings. Each problem names file, line and column, what was expected there, and what
/// probably mends it.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Validate {
    /// The job file.
    job: PathBuf,
    /// Print problems as JSON: `usable` and `problems[]` (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Validate {
    pub fn run(self) -> Result<(), Failure> {
        let text = input::read_file(&self.job)?;
        let parsed = text.parse();
        let (usable, problems) = match &parsed {
            Ok(job) => (true, &job.warnings),
            Err(problems) => (false, problems),
        };
        if self.json {
            let value = serde_json::json!({ "usable": usable, "problems": problems.0 });
            page::standard().raw(&format!("{value:#}"))?;
        } else {
            text.show(problems, &mut std::io::stdout())?;
            let mut page = page::standard();
            match &parsed {
                Ok(found) => page.text(0, &format!("{}: usable. {}", self.job.display(), job::one_line(found)))?,
                Err(problems) => {
                    let count = problems.0.len();
                    page.text(
                        0,
                        &format!("{}: {count} problem{}", self.job.display(), if count == 1 { "" } else { "s" }),
                    )?;
                }
            }
        }
        if usable { Ok(()) } else { Err(Failure::JobUnusable) }
    }
}
