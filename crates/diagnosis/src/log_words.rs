//! What logs say of suspects, in words.

use crate::logs::{Farthest, LogFinding};
use crate::support::log_weights;
use crate::words::{off_words, strength, suspect_words};
use crate::{Diagnosis, Suspect};
use bench::heat::Logged;
use bench::{Job, words};

/// A channel of a log beside what a suspect predicts, where the two are farthest apart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelLine {
    /// Index of the log in the job.
    pub log: usize,
    /// What was logged and where, in words.
    pub place: String,
    /// Its unit.
    pub unit: &'static str,
    /// The figures.
    pub farthest: Farthest,
    /// When, in words.
    pub at: String,
    /// What the suspect predicts then with its spread, in words.
    pub predicted: String,
    /// What was logged then, in words.
    pub logged: String,
    /// The distance in standard deviations, in words.
    pub off: String,
    /// A word for it.
    pub verdict: &'static str,
}

/// Place and unit of what a channel holds.
fn place_and_unit(job: &Job, logged: Logged) -> (String, &'static str) {
    match logged {
        Logged::Electric(measure) => (words::place(&job.unit, measure), measure.unit()),
        _ => (logged.celsius_place(&job.unit).unwrap_or_default(), "°C"),
    }
}

/// A line for each channel of each log that was weighed for a suspect.
pub fn channel_lines(found: &Diagnosis<'_>, suspect: &Suspect) -> Vec<ChannelLine> {
    let job = found.evidence.job;
    let lines_of = |finding: &LogFinding| {
        let channels = job.logs[finding.log].channels.iter().zip(&finding.channels);
        let line = |(channel, agrees): (&bench::heat::Channel, &Option<crate::logs::ChannelFinding>)| {
            let farthest = agrees.as_ref()?.farthest?;
            let (place, unit) = place_and_unit(job, channel.logged);
            let value = |value: f64| match channel.logged {
                Logged::Electric(measure) => words::quantity(measure, value),
                _ => format!("{} °C", words::number(value)),
            };
            let (off, verdict) = off_words(farthest.deviation());
            Some(ChannelLine {
                log: finding.log,
                place,
                unit,
                farthest,
                at: words::minutes(farthest.seconds),
                predicted: format!("{} +-{}", value(farthest.predicted), words::number(farthest.sigma)),
                logged: value(farthest.logged),
                off,
                verdict,
            })
        };
        channels.filter_map(line).collect::<Vec<_>>()
    };
    suspect.logs.findings.iter().flat_map(lines_of).collect()
}

/// What each log says of a suspect, a line each.
pub fn log_lines(found: &Diagnosis<'_>, suspect: &Suspect) -> Vec<String> {
    let job = found.evidence.job;
    let weights = log_weights(found, suspect);
    let line = |(place, finding): (usize, &LogFinding)| {
        let log = &job.logs[finding.log];
        let mut parts: Vec<String> = log
            .channels
            .iter()
            .zip(&finding.channels)
            .filter_map(|(channel, agrees)| {
                let (place, unit) = place_and_unit(job, channel.logged);
                let unit = if unit == "°C" { "K" } else { unit };
                agrees.map(|agrees| format!("{place} within {} {unit}", words::number(agrees.root_mean_square)))
            })
            .collect();
        parts.push(stop_words(finding));
        if let Some(weights) = &weights {
            let rival = suspect_words(found, weights.rival);
            parts.push(format!("speaks for it against {rival}: {}", strength(weights.log_ratios[place])));
        }
        format!("log of run {}: {}", job.runs[log.run].name, parts.join("; "))
    };
    suspect.logs.findings.iter().enumerate().map(line).collect()
}

/// When a protector should stop the unit, and when one did.
fn stop_words(finding: &LogFinding) -> String {
    match (finding.predicted_stop, finding.logged_stop) {
        (None, None) => "no protector should open, and none did".into(),
        (Some(predicted), None) => format!("a protector should open at {}, and none did", words::minutes(predicted)),
        (None, Some((before, after))) => format!(
            "no protector should open, and one did between {} and {}",
            words::minutes(before),
            words::minutes(after)
        ),
        (Some(predicted), Some((before, after))) => format!(
            "a protector should open at {}, and did between {} and {}",
            words::minutes(predicted),
            words::minutes(before),
            words::minutes(after)
        ),
    }
}
