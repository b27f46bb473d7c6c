//! `experience`: what a shop's closed jobs teach, as a table.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use bench::{Experience, Job};
use std::path::{Path, PathBuf};

/// Count the confirmed causes of closed jobs; the table moves the odds of later rankings.
///
/// Jobs without a confirmed cause (a section repaired with faults) are left out and named. To use a table: suspects, next and options
/// take --experience FILE; suspects shows the odds that it moves. To forget, delete the file.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct ExperienceOf {
    /// Job files of closed jobs.
    #[arg(required = true)]
    jobs: Vec<PathBuf>,
    /// File to write; without it the table goes to the standard output.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl ExperienceOf {
    pub fn run(self) -> Result<(), Failure> {
        let mut experience = Experience::default();
        let (mut taught, mut silent) = (0, Vec::new());
        for path in &self.jobs {
            let job = input::read_file(path)?.load()?;
            if experience.add(&job) { taught += 1 } else { silent.push(path.display().to_string()) }
        }
        match &self.out {
            None => page::standard().raw(experience.to_csv().trim_end())?,
            Some(path) => {
                std::fs::write(path, experience.to_csv())
                    .map_err(|error| Failure::WrongUse(format!("cannot write {}: {error}", path.display())))?;
                let mut page = page::standard();
                page.text(0, &format!("{taught} closed jobs counted in {}.", path.display()))?;
                if !silent.is_empty() {
                    page.text(0, &format!("Without a confirmed cause, left out: {}.", silent.join(", ")))?;
                }
            }
        }
        Ok(())
    }
}

/// Reads a table and moves the odds of a job by it.
///
/// # Errors
/// [`Failure::WrongUse`] if there is no such table.
pub fn learn(job: &mut Job, path: &Path) -> Result<Vec<bench::experience::Moved>, Failure> {
    let refuse = |problem: String| Failure::WrongUse(format!("{}: {problem}", path.display()));
    let text = std::fs::read_to_string(path).map_err(|error| refuse(error.to_string()))?;
    let experience = Experience::from_csv(&text).map_err(|error| refuse(error.to_string()))?;
    Ok(job.learn(&experience))
}
