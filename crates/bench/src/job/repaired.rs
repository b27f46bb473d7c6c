//! Reads what was done to the unit, and what it showed afterwards.

use super::file::{LogEntry, ReadingEntry};
use super::hot_ohms::HotOhmsEntry;
use super::load::{Job, Reader};
use super::names;
use crate::fault::FaultSet;
use crate::kinds::PlateClass;
use crate::recurrence;
use crate::repaired::Repaired;
use serde::Deserialize;
use std::ops::Range;
use toml::Spanned;
use toml::de::DeValue;

const MOST_FAULTS: usize = 8;
const MOST_LOGS: usize = 20;

/// The fields of `[repaired]` that are plain.
#[derive(Debug, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RepairedEntry {
    /// What was found to be the cause: faults as `PART FAULT`, as the ranking prints them.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub faults: Vec<Spanned<String>>,
    /// What was done.
    #[schemars(with = "String")]
    pub work: Spanned<String>,
    /// When: `2026-05-14`.
    #[schemars(with = "Option<String>")]
    pub date: Option<Spanned<String>>,
    /// Who did it.
    pub by: Option<String>,
    /// Whose the unit is.
    pub customer: Option<String>,
    /// Minutes for which the unit was run with the fault, as far as is known.
    #[schemars(with = "Option<f64>")]
    pub minutes_with_fault: Option<Spanned<f64>>,
    /// Insulation class of the windings, such as `B` or `F`, where their own plates in the job do not say it.
    pub insulation_class: Option<PlateClass>,
    /// What may have stood behind the failure and was looked at and found well: `PART FAULT`, as closing asks for it.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub looked_at: Vec<Spanned<String>>,
}

impl<'t> Reader<'_, 't> {
    pub(super) fn repaired(&mut self, job: &Job, value: Option<Spanned<DeValue<'t>>>) -> Option<Repaired> {
        let value = value?;
        let span = value.span();
        let DeValue::Table(mut table) = value.into_inner() else {
            let problem = self.problems.error(span, "'repaired' is not a table");
            problem.expected("[repaired] with work = \"...\"");
            return None;
        };
        let readings = table.remove("readings");
        let logs = table.remove("logs");
        let hot_ohms = table.remove("hot_ohms");
        let entry: RepairedEntry = self.entry(Spanned::new(span, DeValue::Table(table)))?;
        if entry.work.get_ref().trim().is_empty() {
            let problem = self.problems.error(entry.work.span(), "nothing was done");
            problem.expected("what was done, in a few words").mend("leave [repaired] out until something was");
        }
        if let Some(date) = entry.date.as_ref().filter(|date| !is_date(date.get_ref())) {
            let problem = self.problems.error(date.span(), format!("'{}' is no date", date.get_ref()));
            problem.expected("year, month and day, as 2026-05-14");
        }
        if let Some(minutes) =
            entry.minutes_with_fault.as_ref().filter(|minutes| !(0.0..=1e6).contains(minutes.get_ref()))
        {
            let problem = self.problems.error(minutes.span(), format!("{} minutes", minutes.get_ref()));
            problem.expected("minutes from 0 up");
        }
        let mut repaired = Repaired {
            faults: self.causes(job, &entry.faults),
            work: entry.work.into_inner(),
            date: entry.date.map(Spanned::into_inner),
            by: entry.by,
            customer: entry.customer,
            minutes_with_fault: entry.minutes_with_fault.map(Spanned::into_inner),
            insulation_class: entry.insulation_class.map(|class| class.0),
            looked_at: self.looked_at(job, &entry.looked_at),
            readings: Vec::new(),
            logs: Vec::new(),
            hot_ohms: Vec::new(),
        };
        for (entry, span) in self.array::<ReadingEntry>(readings, "repaired.readings", usize::MAX) {
            if self.problems.is_enough() {
                break;
            }
            repaired.readings.extend(self.reading(job, &entry, span));
        }
        for (entry, span) in self.array::<LogEntry>(logs, "repaired.logs", MOST_LOGS) {
            if self.problems.is_enough() {
                break;
            }
            let log = self.log(job, &entry, span);
            if let Some(log) = &log
                && !job.runs[log.run].steps.iter().any(|step| job.setups[step.setup].energised)
            {
                let message = format!("in run '{}' the supply is never on", entry.run.get_ref());
                let problem = self.problems.warning(entry.run.span(), message);
                problem
                    .expected("a heat run: a live setup among the steps of its run")
                    .mend("mend the steps of the run, or log one with the supply on; this log proves nothing");
            }
            repaired.logs.extend(log);
        }
        for (entry, span) in self.array::<HotOhmsEntry>(hot_ohms, "repaired.hot_ohms", MOST_LOGS) {
            if self.problems.is_enough() {
                break;
            }
            repaired.hot_ohms.extend(self.hot_ohms(job, &entry, span));
        }
        Some(repaired)
    }

    fn looked_at(&mut self, job: &Job, labels: &[Spanned<String>]) -> Vec<String> {
        if labels.is_empty() {
            return Vec::new();
        }
        let known: Vec<String> = recurrence::labels(&job.unit).into_iter().collect();
        let mut found: Vec<String> = Vec::new();
        for label in labels {
            let text = label.get_ref().trim();
            if self.unread.has_part_of(text.split(' ').next().unwrap_or_default()) {
                continue;
            }
            match known.iter().find(|known| known.eq_ignore_ascii_case(text)) {
                Some(known) if found.contains(known) => {}
                Some(known) => found.push(known.clone()),
                None => {
                    let problem = self.problems.error(label.span(), format!("nothing to look at is called '{text}'"));
                    problem.expected("a name as closing prints it, such as 'M1 bearing-drag' or 'C1 heat'").mend =
                        names::mend(text, &known);
                }
            }
        }
        found
    }

    fn causes(&mut self, job: &Job, labels: &[Spanned<String>]) -> FaultSet {
        if labels.len() > MOST_FAULTS {
            let place: Range<usize> = labels[MOST_FAULTS].span();
            let problem = self.problems.error(place, format!("{} faults at once", labels.len()));
            problem.expected(format!("at most {MOST_FAULTS}"));
        }
        let mut faults = Vec::new();
        for label in labels {
            if self.unread.has_part_of(label.get_ref().split(' ').next().unwrap_or_default()) {
                continue;
            }
            match job.unit.find_fault(label.get_ref()) {
                Some(fault) => faults.push(fault),
                None => {
                    let known: Vec<String> = job.unit.faults().iter().map(|fault| fault.label()).collect();
                    let problem = self.problems.error(label.span(), format!("no fault '{}'", label.get_ref()));
                    problem.expected("a fault as the ranking prints it: PART FAULT").mend =
                        names::mend(label.get_ref(), &known);
                }
            }
        }
        faults.sort_unstable();
        faults.dedup();
        FaultSet(faults)
    }
}

/// Whether a text is a day of the calendar as `YYYY-MM-DD`.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return false };
    let is_digits = |text: &str, count: usize| text.len() == count && text.bytes().all(|byte| byte.is_ascii_digit());
    if !(is_digits(year, 4) && is_digits(month, 2) && is_digits(day, 2)) {
        return false;
    }
    let (Ok(year), Ok(month), Ok(day)) = (year.parse::<u32>(), month.parse::<u32>(), day.parse::<u32>()) else {
        return false;
    };
    let is_leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(is_leap),
        1..=12 => 31,
        _ => 0,
    };
    (1..=days).contains(&day)
}
