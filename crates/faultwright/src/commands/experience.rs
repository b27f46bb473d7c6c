//! `experience`: what a shop's closed jobs teach, as a table.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use bench::{Experience, Job};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// Count the confirmed causes of closed jobs; the table moves the odds of later rankings.
///
/// Jobs without a confirmed cause (a section repaired with faults) are left out and named; a job that is given twice counts once.
/// To use a table: suspects, next and options
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
        let (mut taught, mut silent, mut twice) = (0, Vec::new(), Vec::new());
        let mut seen = HashSet::new();
        for path in &self.jobs {
            let text = input::read_file(path)?;
            if !seen.insert(text.text()) {
                twice.push(path.display().to_string());
                continue;
            }
            let job = text.load()?;
            if experience.add(&job) { taught += 1 } else { silent.push(path.display().to_string()) }
        }
        let twice =
            (!twice.is_empty()).then(|| format!("The same job as one before it, counted once: {}.", twice.join(", ")));
        match &self.out {
            None => {
                // The table alone goes to the standard output.
                if let Some(words) = twice {
                    eprintln!("{words}");
                }
                page::standard().raw(experience.to_csv().trim_end())?;
            }
            Some(path) => {
                std::fs::write(path, experience.to_csv())
                    .map_err(|error| Failure::WrongUse(format!("cannot write {}: {error}", path.display())))?;
                let mut page = page::standard();
                page.text(0, &format!("{taught} closed jobs counted in {}.", path.display()))?;
                if let Some(words) = twice {
                    page.text(0, &words)?;
                }
                if !silent.is_empty() {
                    page.text(0, &format!("Without a confirmed cause, left out: {}.", silent.join(", ")))?;
                }
            }
        }
        Ok(())
    }
}

/// Faults of a table that a unit has not are named up to so many.
const NAMED: usize = 5;

/// Reads a table and moves the odds of a job by it.
///
/// # Errors
/// [`Failure::WrongUse`] if there is no such table.
pub fn learn(job: &mut Job, path: &Path) -> Result<Vec<bench::experience::Moved>, Failure> {
    let refuse = |problem: String| Failure::WrongUse(format!("{}: {problem}", path.display()));
    let text = std::fs::read_to_string(path).map_err(|error| refuse(error.to_string()))?;
    let experience = Experience::from_csv(&text).map_err(|error| refuse(error.to_string()))?;
    let strange = experience.not_in(&job.unit);
    if !strange.is_empty() {
        let more = strange.len().saturating_sub(NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let list = strange.into_iter().take(NAMED).collect::<Vec<_>>().join(", ") + &more;
        eprintln!("{}: no part of this unit has these faults, they move nothing here: {list}", path.display());
    }
    Ok(job.learn(&experience))
}
