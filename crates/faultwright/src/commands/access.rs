//! What cannot be done and what stands open, said on the command line as in the job file.

use crate::exit::Failure;
use bench::Job;
use bench::job::{REFUSABLE, nearest};

/// Refusals and open housings beside those of the job file.
#[derive(clap::Args)]
pub struct Access {
    /// Something that cannot or must not be done: amps, leakage, energised, a part, a terminal, "setup NAME",
    /// "housing NAME" (docs/job-file.md, refused); may be given several times.
    #[arg(long, value_name = "WHAT")]
    without: Vec<String>,
    /// A housing that stands open by now; may be given several times.
    #[arg(long, value_name = "HOUSING")]
    open: Vec<String>,
}

impl Access {
    /// The job with these.
    ///
    /// # Errors
    /// [`Failure::WrongUse`] with the nearest names.
    pub fn apply(self, job: &mut Job) -> Result<(), Failure> {
        for text in &self.without {
            let refusal = job.find_refusal(text).map_err(|known| {
                let near = nearest(text, &known);
                Failure::WrongUse(format!("--without '{text}' is not known; expected {REFUSABLE}{near}"))
            })?;
            if !job.refused.contains(&refusal) {
                job.refused.push(refusal);
            }
        }
        for name in &self.open {
            let Some(housing) = job.find_housing(name) else {
                let names: Vec<&str> = job.housings.iter().map(|housing| housing.name.as_str()).collect();
                let there = if names.is_empty() { "no housings".to_owned() } else { names.join(", ") };
                return Err(Failure::WrongUse(format!("no housing '{name}'; the job has {there}")));
            };
            job.housings[housing].is_open = true;
        }
        Ok(())
    }
}
