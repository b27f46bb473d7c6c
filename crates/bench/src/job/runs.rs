//! Reads runs.

use super::file::RunEntry;
use super::load::{Job, MOST_RUNS, Reader};
use crate::heat::{Run, RunStep};
use toml::Spanned;
use toml::de::DeValue;

/// Longest run, minutes: two days.
const LONGEST_MINUTES: f64 = 2880.0;
/// Most steps of one run.
const MOST_STEPS: usize = 200;

impl<'t> Reader<'_, 't> {
    pub(super) fn runs(&mut self, job: &Job, value: Option<Spanned<DeValue<'t>>>) -> Vec<Run> {
        let mut runs = Vec::new();
        for (name, value) in self.table(value, "runs", MOST_RUNS) {
            let read = self.entry::<RunEntry>(value).and_then(|entry| self.run(job, &name, &entry));
            match read {
                Some(run) => runs.push(run),
                None => self.unread.runs.push(name.into_inner()),
            }
        }
        runs
    }

    fn run(&mut self, job: &Job, name: &Spanned<String>, entry: &RunEntry) -> Option<Run> {
        let minutes = entry.minutes.get_ref().0;
        if minutes > LONGEST_MINUTES {
            let problem = self.problems.error(entry.minutes.span(), format!("a run of {minutes} minutes"));
            problem.expected(format!("at most {LONGEST_MINUTES}, two days")).mend("minutes, not seconds");
            return None;
        }
        if entry.steps.is_empty() || entry.steps.len() > MOST_STEPS {
            let problem = self.problems.error(name.span(), format!("a run of {} steps", entry.steps.len()));
            problem
                .expected(format!("1 to {MOST_STEPS} steps"))
                .mend("write steps = [{ minute = 0, setup = \"NAME\" }]");
            return None;
        }
        let room = self.room(entry.room_celsius.as_ref());
        if entry.room_celsius.is_some() && room.is_none() {
            return None;
        }
        let mut steps: Vec<RunStep> = Vec::new();
        for (place, step) in entry.steps.iter().enumerate() {
            let minute = *step.minute.get_ref();
            let is_in_order = steps.last().is_none_or(|last| minute * 60.0 > last.seconds);
            let words = match place {
                0 if minute != 0.0 => Some("the first step at 0"),
                _ if !minute.is_finite() || minute >= minutes => Some("a step before the end of the run"),
                _ if !is_in_order => Some("steps in order of time"),
                _ => None,
            };
            if let Some(words) = words {
                let problem = self.problems.error(step.minute.span(), format!("a step at minute {minute}"));
                problem.expected(words).mend("correct its minute, or the length of the run");
                return None;
            }
            steps.push(RunStep { seconds: minute * 60.0, setup: self.setup_named(job, &step.setup)? });
        }
        Some(Run {
            name: name.get_ref().clone(),
            steps,
            end_seconds: minutes * 60.0,
            room_celsius: room.unwrap_or(job.unit.air().room_celsius),
            line: self.problems.line(name.span().start),
        })
    }
}
