//! `options`: what each repair would bring, and what the fault has strained.

use super::experience::learn;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{options, options_json};
use crate::waiting::diagnosed;
use diagnosis::{Diagnosis, Suspect};
use repair::variant::Substitution;
use std::path::PathBuf;

/// Most minutes that a unit can be said to have run, as in a job.
const MOST_MINUTES: f64 = 1e6;

/// Work out what each repair would bring: every switch position, speeds, temperatures, protectors, what is lost.
///
/// The repairs of the leading suspect are made to the unit and the unit is solved with each, from cold until its
/// temperatures stand. Then: parts that the fault has driven past what they are made for, and the check that clears each.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Options {
    /// The job file.
    job: PathBuf,
    /// Which suspect, counted from the most probable.
    #[arg(long, default_value_t = 1)]
    suspect: usize,
    /// A substitute: the part, then what is different about the other one, as in "M2 plate.amps=0.6 plate.rpm=1300"; a
    /// motor drives on what is there. Given several times, each is an option of its own; parts that go in together are
    /// joined by 'and': "M1 plate.amps=0.6 and C1 microfarads=4".
    #[arg(long = "with", value_name = "SUBSTITUTE")]
    substitutes: Vec<String>,
    /// Minutes for which the unit was run with the fault. Goes before what the job says: the longer of its logs and of
    /// minutes_with_fault under "repaired", 60 if that is not there.
    #[arg(long)]
    minutes: Option<f64>,
    /// What the shop has learnt from its closed jobs (faultwright experience): a table that moves the odds of faults.
    #[arg(long, value_name = "FILE")]
    experience: Option<PathBuf>,
    /// Print options and strains as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Options {
    pub fn run(self) -> Result<(), Failure> {
        if let Some(minutes) = self.minutes.filter(|minutes| !(0.0..=MOST_MINUTES).contains(minutes)) {
            return Err(Failure::WrongUse(format!(
                "{minutes} minutes: give a number from 0 up, at most {MOST_MINUTES}"
            )));
        }
        let exchange = |typed: &String| {
            typed.parse::<Substitution>().map_err(|problem| Failure::WrongUse(format!("--with \"{typed}\": {problem}")))
        };
        let substitutes: Vec<Substitution> = self.substitutes.iter().map(exchange).collect::<Result<_, _>>()?;
        let text = input::read_file(&self.job)?;
        let mut job = text.load()?;
        if let Some(path) = &self.experience {
            learn(&mut job, path)?;
        }
        let found = diagnosed(&job)?;
        let suspect = suspect(&found, self.suspect)?;
        let options = repair::options(&found, suspect, &text.text(), &substitutes)?;
        let (exposure, strained) = repair::stress(&found, suspect, self.minutes)?;
        let mut page = page::standard();
        if self.json {
            return Ok(
                page.raw(&format!("{:#}", options_json::options(&found, suspect, &options, &exposure, &strained)))?
            );
        }
        options::show(&mut page, &found, suspect, &options)?;
        options::show_reasons(&mut page, &found, suspect)?;
        options::show_strains(&mut page, &found, &exposure, &strained)?;
        Ok(())
    }
}

/// The suspect of a rank, counted from 1, that something can be done about.
fn suspect<'f>(found: &'f Diagnosis<'_>, rank: usize) -> Result<&'f Suspect, Failure> {
    let place = rank.checked_sub(1).and_then(|place| found.suspects.get(place));
    let suspect = place.ok_or_else(|| {
        Failure::WrongUse(format!("no suspect {rank}; there are {}, counted from 1", found.suspects.len()))
    })?;
    match suspect.fit {
        Some(_) => Ok(suspect),
        None => Err(Failure::WrongUse(format!(
            "suspect {rank} ({}) cannot be worked out further; choose one with --suspect",
            diagnosis::words::suspect_words(found, suspect)
        ))),
    }
}
