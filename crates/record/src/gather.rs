//! Everything that goes into a record.

use crate::heat_runs::heat_runs;
use crate::hottest::windings;
use crate::safety_sheet::safety_sheet;
use crate::{Findings, RecordError};
use diagnosis::recurrence::behind;
use diagnosis::words::suspect_words;
use diagnosis::{Diagnosis, Suspect};

/// A suspect that the readings leave less than this is excluded by them: one in a million (engineering judgement).
const EXCLUDED: f64 = 1e-6;

/// Works out everything that a record holds. `text` is that of the job's file.
///
/// The record is about the cause that the job says was repaired; about the leading suspect if it says none.
///
/// # Errors
/// [`RecordError`]: nobody to write about, or a unit, a repair or a safety entry that cannot be.
pub fn gather<'f, 'j>(found: &'f Diagnosis<'j>, text: &str) -> Result<Findings<'f, 'j>, RecordError> {
    let job = found.evidence.job;
    let suspect = subject(found)?;
    let options = repair::options(found, suspect, text, &[])?;
    let (exposure, strained) = repair::stress(found, suspect, None)?;
    let after = repair::after(found, suspect)?;
    let safety = job.safety.region.map(|region| safety_sheet(job, region)).transpose()?;
    let heat = heat_runs(job);
    let own = suspect.fit.as_ref().map_or(&[][..], |fit| &fit.deviations[..found.evidence.prior.count()]);
    let windings = windings(job, &options, &heat, own)?;
    let behind = behind(found, suspect);
    Ok(Findings { found, suspect, options, exposure, strained, after, safety, heat, windings, behind })
}

/// Whom the record is about.
///
/// # Errors
/// [`RecordError::NoSuspect`].
pub fn subject<'f>(found: &'f Diagnosis<'_>) -> Result<&'f Suspect, RecordError> {
    let unit = &found.evidence.job.unit;
    let fitted = || found.suspects.iter().filter(|suspect| suspect.fit.is_some());
    let causes = found.evidence.job.repaired.as_ref().map(|repaired| &repaired.faults).filter(|set| !set.0.is_empty());
    let Some(causes) = causes else {
        return fitted().next().ok_or_else(|| RecordError::NoSuspect("no suspect could be worked out".into()));
    };
    let is_meant = |suspect: &&Suspect| suspect.faults.as_ref() == Some(causes) && suspect.probability >= EXCLUDED;
    fitted().find(is_meant).ok_or_else(|| {
        let named: Vec<String> = causes.0.iter().map(|&fault| unit.faults()[fault].label()).collect();
        let leads = fitted().next().map_or_else(String::new, |leader| suspect_words(found, leader));
        RecordError::NoSuspect(format!(
            "the readings leave next to nothing for '{}', which [repaired] names as the cause; they point to '{leads}'. \
             Mend faults under [repaired], or the readings",
            named.join(" and ")
        ))
    })
}
