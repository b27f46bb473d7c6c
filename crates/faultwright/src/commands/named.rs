//! Setups and faults named on the command line.

use crate::exit::Failure;
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job};

/// Finds a setup by name.
///
/// # Errors
/// [`Failure::WrongUse`] with the names there are.
pub fn setup(job: &Job, name: &str) -> Result<usize, Failure> {
    job.find_setup(name).ok_or_else(|| {
        let names: Vec<&str> = job.setups.iter().map(|setup| setup.name.as_str()).collect();
        Failure::WrongUse(format!("no setup '{name}'; the job has {}", names.join(", ")))
    })
}

/// Finds a run by name.
///
/// # Errors
/// [`Failure::WrongUse`] with the names there are.
pub fn run(job: &Job, name: &str) -> Result<usize, Failure> {
    job.find_run(name).ok_or_else(|| {
        let names: Vec<&str> = job.runs.iter().map(|run| run.name.as_str()).collect();
        let there = if names.is_empty() { "no runs".to_owned() } else { names.join(", ") };
        Failure::WrongUse(format!("no run '{name}'; the job has {there}"))
    })
}

/// Finds the faults and the deviations of their sizes.
pub fn faults(job: &Job, texts: &[String]) -> Result<(FaultSet, Vec<f64>), Failure> {
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
