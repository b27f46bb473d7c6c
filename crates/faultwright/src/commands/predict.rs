//! `predict`: everything a setup would show, healthy or with faults put in.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{json, prediction};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job};
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
        let Some(setup) = job.find_setup(&self.setup) else {
            let names: Vec<&str> = job.setups.iter().map(|setup| setup.name.as_str()).collect();
            return Err(Failure::WrongUse(format!("no setup '{}'; the job has {}", self.setup, names.join(", "))));
        };
        let (faults, deviations) = put_in(&job, &self.faults)?;
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

/// Finds the faults and the deviations of their sizes.
fn put_in(job: &Job, texts: &[String]) -> Result<(FaultSet, Vec<f64>), Failure> {
    let mut set = FaultSet::none();
    let mut sizes = Vec::new();
    for text in texts {
        let (fault, size) = find(job, text)?;
        if set.0.contains(&fault) {
            return Err(Failure::WrongUse(format!("the fault '{text}' is given twice")));
        }
        set.0.push(fault);
        sizes.push(size);
    }
    let mut deviations = vec![0.0; unknown_count(&job.unit, &set)];
    for (position, size) in sizes.into_iter().enumerate() {
        let Some(size) = size else { continue };
        let mode = &job.unit.faults()[set.0[position]].mode;
        let found = mode.severity.as_ref().zip(severity_unknown(&job.unit, &set, position));
        let Some((severity, unknown)) = found else {
            return Err(Failure::WrongUse(format!("'{}' has no size; leave it out", mode.name)));
        };
        deviations[unknown] = severity
            .deviation(size)
            .ok_or_else(|| Failure::WrongUse(format!("'{}' cannot be {size} ({})", mode.name, severity.words)))?;
    }
    Ok((set, deviations))
}

fn find(job: &Job, text: &str) -> Result<(usize, Option<f64>), Failure> {
    if let Some(fault) = job.unit.find_fault(text) {
        return Ok((fault, None));
    }
    if let Some((label, size)) = text.rsplit_once(' ')
        && let (Some(fault), Ok(size)) = (job.unit.find_fault(label), bench::job::parse_number(size))
    {
        return Ok((fault, Some(size)));
    }
    let place = text.split(' ').next().unwrap_or_default();
    let of_place: Vec<String> = job
        .unit
        .faults()
        .iter()
        .filter(|fault| fault.place_name == place)
        .map(|fault| fault.mode.name.clone())
        .collect();
    let hint = if of_place.is_empty() {
        let mut places: Vec<&str> = job.unit.faults().iter().map(|fault| fault.place_name.as_str()).collect();
        places.dedup();
        format!("faults belong to one of {}", places.join(", "))
    } else {
        format!("{place} can have {}", of_place.join(", "))
    };
    Err(Failure::WrongUse(format!("no fault '{text}'; {hint}")))
}
