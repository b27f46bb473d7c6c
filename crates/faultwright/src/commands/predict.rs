//! `predict`: everything a setup would show, or a run would log, healthy or with faults put in.

use crate::commands::named;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{json, prediction, run};
use bench::heat::words::event_words;
use bench::heat::{Case, End, HeatScales, all_quantities, record};
use bench::{Job, words};
use diagnosis::setup_table::setup_table;
use std::path::PathBuf;

/// Rows of a table that is to be read, if the time between them is not given.
const READABLE_ROWS: f64 = 20.0;
/// Seconds between rows that are to be read by a program, if not given.
const USUAL_SECONDS: f64 = 10.0;
/// Most rows.
const MOST_ROWS: f64 = 100_000.0;

/// Predict every voltage, current, power, speed and torque of a setup, with spreads; or a run from cold over time.
///
/// Healthy unless faults are put in. A fault is written as place and name, with its size if you wish:
/// --fault "M2 common-open" --fault "C1 low 0.4". The names are listed when one is not known.
#[derive(clap::Args)]
#[command(after_help = CODES)]
#[command(group = clap::ArgGroup::new("what").required(true).args(["setup", "run"]))]
pub struct Predict {
    /// The job file.
    job: PathBuf,
    /// Name of the setup.
    #[arg(long)]
    setup: Option<String>,
    /// Name of the run.
    #[arg(long)]
    run: Option<String>,
    /// A fault to put in: "PLACE FAULT" or "PLACE FAULT SIZE"; may be given several times.
    #[arg(long = "fault")]
    faults: Vec<String>,
    /// Seconds between rows of a run.
    #[arg(long, conflicts_with = "setup")]
    every_seconds: Option<f64>,
    /// Print a run as comma-separated values.
    #[arg(long, conflicts_with_all = ["setup", "json"])]
    csv: bool,
    /// Print the prediction as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Predict {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let (faults, deviations) = named::faults(&job, &self.faults)?;
        let mut page = page::standard();
        if let Some(name) = &self.run {
            return self.over_time(&job, named::run(&job, name)?, &faults, &deviations);
        }
        let setup = named::setup(&job, self.setup.as_deref().unwrap_or_default())?;
        let table = setup_table(&job, setup, &faults, &deviations)?;
        if self.json {
            page.raw(&format!("{:#}", json::prediction(&job, setup, &faults, &table)))?;
        } else {
            prediction::show(&mut page, &job, setup, &faults, &deviations, &table)?;
        }
        Ok(())
    }

    fn over_time(&self, job: &Job, index: usize, faults: &bench::FaultSet, deviations: &[f64]) -> Result<(), Failure> {
        let entry = &job.runs[index];
        let readable = (entry.end_seconds / READABLE_ROWS / 10.0).ceil() * 10.0;
        let usual = if self.csv || self.json { USUAL_SECONDS } else { readable };
        let every = self.every_seconds.unwrap_or(usual);
        if !(every.is_finite() && every > 0.0 && entry.end_seconds / every <= MOST_ROWS) {
            return Err(Failure::WrongUse(format!(
                "a row every {every} seconds; expected a time above zero, and at most {MOST_ROWS} rows"
            )));
        }
        let mut times: Vec<f64> =
            (0..).map(|row| f64::from(row) * every).take_while(|&t| t < entry.end_seconds).collect();
        times.push(entry.end_seconds);
        let scales = HeatScales::medians(&job.unit);
        let case = Case { unit: &job.unit, setups: &job.setups, run: entry, faults, deviations, scales: &scales };
        let quantities = all_quantities(&job.unit);
        let timeline = record(case, &times, &quantities, &job.meters[0])?;
        let mut page = page::standard();
        if self.csv {
            page.raw(run::csv(&job.unit, &quantities, &timeline).trim_end())?;
            // Rows that are missing need their reason, and a table has no place for it.
            if let (End::BurntOut(_), Some(last)) = (timeline.end, timeline.events.last()) {
                eprintln!(
                    "after {}: {}; the rows end there",
                    words::minutes(last.seconds),
                    event_words(job, last.what)
                );
            }
        } else if self.json {
            page.raw(&format!("{:#}", run::json(job, entry, faults, &quantities, &timeline)))?;
        } else {
            run::show(&mut page, job, entry, (faults, deviations), &quantities, &timeline)?;
        }
        Ok(())
    }
}
