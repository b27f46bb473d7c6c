//! `predict`: everything a setup would show, healthy or with faults put in.

use crate::commands::named;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{json, prediction};
use diagnosis::setup_table::setup_table;
use std::path::PathBuf;

/// Predict every voltage, current, power, speed and torque of a setup, with spreads.
///
/// Healthy unless faults are put in. A fault is written as place and name, with its size if you wish:
/// --fault "M2 common-open" --fault "C1 low 0.4". The names are listed when one is not known.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Predict {
    /// The job file.
    job: PathBuf,
    /// Name of the setup.
    #[arg(long)]
    setup: String,
    /// A fault to put in: "PLACE FAULT" or "PLACE FAULT SIZE"; may be given several times.
    #[arg(long = "fault")]
    faults: Vec<String>,
    /// Print the prediction as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Predict {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let setup = named::setup(&job, &self.setup)?;
        let (faults, deviations) = named::faults(&job, &self.faults)?;
        let table = setup_table(&job, setup, &faults, &deviations)?;
        let mut page = page::standard();
        if self.json {
            page.raw(&format!("{:#}", json::prediction(&job, setup, &faults, &table)))?;
        } else {
            prediction::show(&mut page, &job, setup, &faults, &deviations, &table)?;
        }
        Ok(())
    }
}
