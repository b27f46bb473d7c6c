//! Which readings carry a verdict, and what would overturn it.
//!
//! A reading's support is how much more likely it is under the leading repair than under its best rival; and, asked the
//! other way, what would be left of the verdict if that one reading were not there. Both use the fitted values as they
//! stand; nothing is fitted again. A suspect that asks for the leading repair and for another one beside it is no rival.

use crate::log_weights::LogSum;
use crate::suspects::{Diagnosis, Suspect};

/// What one reading does to the verdict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// The reading, by index in the job.
    pub reading: usize,
    /// Natural logarithm of its likelihood under the leading suspect over that under the best rival.
    pub log_ratio: f64,
    /// Probability of the leading repair without this reading.
    pub without: f64,
}

/// What one log does to the verdict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogSupport {
    /// The log, by index in the job.
    pub log: usize,
    /// Natural logarithm of its likelihood under the leading suspect over that under the best rival.
    pub log_ratio: f64,
    /// Probability of the leading repair without this log.
    pub without: f64,
}

/// Whether a suspect asks for what the leading one asks for, with or without more.
fn agrees(top: &Suspect, suspect: &Suspect) -> bool {
    let (Some(all), Some(own)) = (&suspect.faults, &top.faults) else { return suspect.repair == top.repair };
    suspect.repair == top.repair || (!own.0.is_empty() && own.0.iter().all(|fault| all.0.contains(fault)))
}

/// The most probable suspect that asks for something else than this one, of those whose logs were weighed.
fn rival_of<'d>(diagnosis: &'d Diagnosis<'_>, suspect: &Suspect) -> Option<&'d Suspect> {
    let mut weighed = diagnosis.suspects.iter().filter(|other| !other.logs.findings.is_empty());
    weighed.find(|other| !agrees(suspect, other))
}

/// What the logs say for a suspect and against another.
#[derive(Debug, Clone)]
pub struct LogWeights<'d> {
    /// The other: the most probable that asks for something else.
    pub rival: &'d Suspect,
    /// Per log, natural logarithm of its likelihood under the suspect over that under the other.
    pub log_ratios: Vec<f64>,
}

/// How much each log weighs for a suspect, in the order of the job; `None` if no log was weighed for it or nothing
/// rivals it.
pub fn log_weights<'d>(diagnosis: &'d Diagnosis<'_>, suspect: &Suspect) -> Option<LogWeights<'d>> {
    let rival = rival_of(diagnosis, suspect).filter(|_| !suspect.logs.findings.is_empty())?;
    let pairs = suspect.logs.findings.iter().zip(&rival.logs.findings);
    Some(LogWeights { rival, log_ratios: pairs.map(|(own, other)| own.log_evidence - other.log_evidence).collect() })
}

/// What every log does to the leading repair, in the order of the job; empty if nothing rivals it.
pub fn log_supports(diagnosis: &Diagnosis<'_>) -> Vec<LogSupport> {
    let Some(top) = diagnosis.suspects.first() else { return Vec::new() };
    let Some(weights) = log_weights(diagnosis, top) else { return Vec::new() };
    let weighed: Vec<&Suspect> =
        diagnosis.suspects.iter().filter(|suspect| !suspect.logs.findings.is_empty()).collect();
    let of = |suspect: &Suspect, place: usize| suspect.logs.findings[place].log_evidence;
    (weights.log_ratios.iter().enumerate())
        .map(|(place, &log_ratio)| {
            let (mut all, mut leading) = (LogSum::default(), LogSum::default());
            for suspect in &weighed {
                let without = suspect.probability.ln() - of(suspect, place);
                all.add(without);
                if agrees(top, suspect) {
                    leading.add(without);
                }
            }
            LogSupport { log: top.logs.findings[place].log, log_ratio, without: (leading.log() - all.log()).exp() }
        })
        .collect()
}

/// What every reading does to the leading repair, strongest support first; empty if nothing rivals it.
pub fn supports(diagnosis: &Diagnosis<'_>) -> Vec<Support> {
    let Some(top) = diagnosis.suspects.first() else { return Vec::new() };
    let log_likelihood = |suspect: &Suspect, reading: usize| match &suspect.fit {
        Some(fit) => {
            let written = fit.outlook.predictions[reading].value;
            let predicted = suspect.as_meant.as_ref().map_or(written, |meant| meant[reading]);
            fit.datum(&diagnosis.evidence, reading).log_likelihood(predicted, 0.0).value
        }
        None => diagnosis.evidence.data[reading].log_unexplained(),
    };
    let in_play: Vec<&Suspect> =
        diagnosis.suspects.iter().filter(|suspect| suspect.fit.is_some() || suspect.faults.is_none()).collect();
    let Some(rival) = in_play.iter().find(|suspect| !agrees(top, suspect)) else { return Vec::new() };
    let mut list: Vec<Support> = (0..diagnosis.evidence.data.len())
        .map(|reading| {
            let log_ratio = log_likelihood(top, reading) - log_likelihood(rival, reading);
            let weights: Vec<(f64, bool)> = in_play
                .iter()
                .map(|suspect| (suspect.probability.ln() - log_likelihood(suspect, reading), agrees(top, suspect)))
                .collect();
            let largest = weights.iter().map(|(weight, _)| *weight).fold(f64::NEG_INFINITY, f64::max);
            let sum = |only_top: bool| -> f64 {
                weights
                    .iter()
                    .filter(|(_, is_top)| *is_top || !only_top)
                    .map(|(weight, _)| (weight - largest).exp())
                    .sum()
            };
            Support { reading, log_ratio, without: sum(true) / sum(false) }
        })
        .collect();
    list.sort_by(|a, b| b.log_ratio.total_cmp(&a.log_ratio));
    list
}
