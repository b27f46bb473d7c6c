//! What a shop has learnt: how often each fault of each kind of part was the confirmed cause in its closed jobs.
//!
//! The odds of a fault are taken to be known as well as if [`PRIOR_PARTS`] parts of its kind had been seen before; what a
//! shop has seen is added to that:
//!
//! ```text
//! odds = (PRIOR_PARTS * listed odds + times confirmed) / (PRIOR_PARTS + parts seen)
//! ```
//!
//! the mean of a gamma posterior for counts (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, 2.6). Nothing is learnt
//! in silence: [`Experience::apply`] answers with every odds that it moved.

use crate::fault::{Fault, Place};
use crate::job::Job;
use crate::job::nearest;
use crate::kinds::KIND_NAMES;
use crate::unit::Unit;
use crate::words::number;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Parts of a kind that the listed odds are worth (engineering judgement: lists of the trade are opinions, not counts).
pub const PRIOR_PARTS: f64 = 50.0;
/// Kind under which the faults of wires are counted.
const WIRE: &str = "wire";
/// Kind of the part that every unit has and no job names.
const FRAME: &str = "frame";
const HEADER: &str = "kind,fault,confirmed,parts seen";

/// Counts from closed jobs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Experience {
    /// Parts seen in closed jobs, by kind.
    parts: BTreeMap<String, u32>,
    /// Times a fault was the confirmed cause, by kind and fault.
    confirmed: BTreeMap<(String, String), u32>,
}

/// An odds that experience has moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// Index of the fault in the unit.
    pub fault: usize,
    /// As listed.
    pub listed: f64,
    /// With experience.
    pub learnt: f64,
    /// Times it was confirmed.
    pub confirmed: u32,
    /// Parts of its kind seen.
    pub parts: u32,
}

impl Moved {
    /// What moved it: '0.383 instead of 0.02 (30 confirmed among 30 such parts)'.
    pub fn words(&self) -> String {
        let (learnt, listed) = (number(self.learnt), number(self.listed));
        format!("{learnt} instead of {listed} ({} confirmed among {} such parts)", self.confirmed, self.parts)
    }
}

/// An odds as it is with so many cases among so many parts seen; see above.
pub fn learnt(listed: f64, confirmed: u32, parts: u32) -> f64 {
    (PRIOR_PARTS * listed + f64::from(confirmed)) / (PRIOR_PARTS + f64::from(parts))
}

/// The odds of a unit's faults as listed, by kind and fault; of several parts of a kind each by itself.
pub fn listed_odds(unit: &Unit) -> impl Iterator<Item = (String, String, f64)> + '_ {
    unit.faults().iter().map(|fault| (kind_of(unit, fault), fault.mode.name.clone(), fault.mode.odds))
}

/// Why a table of experience cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExperienceError {
    /// The first line is not the heading.
    #[error(
        "line 1: this is no table of experience; it begins with '{HEADER}'. Make one with: faultwright experience JOBS... --out FILE"
    )]
    NoHeader,
    /// A line that is none of the table.
    #[error("line {line}: '{text}' is no row; expected a kind, a fault and two whole numbers, with commas between")]
    Row {
        /// Counted from 1.
        line: usize,
        /// The line.
        text: String,
    },
    /// A fault confirmed more often than parts were seen.
    #[error("line {line}: {confirmed} confirmed among {parts} parts cannot be")]
    Counts {
        /// Counted from 1.
        line: usize,
        /// Times confirmed.
        confirmed: u32,
        /// Parts seen.
        parts: u32,
    },
    /// A kind of part that there is not.
    #[error("line {line}: there is no kind '{kind}'{near}")]
    Kind {
        /// Counted from 1.
        line: usize,
        /// As written.
        kind: String,
        /// The nearest names, as words to follow.
        near: String,
    },
    /// Two lines that say different things of one kind or fault.
    #[error("line {line}: {what} stands in an earlier line already, with another count")]
    Twice {
        /// Counted from 1.
        line: usize,
        /// What.
        what: String,
    },
}

impl Experience {
    /// Adds a closed job; one without a confirmed cause teaches nothing. Says whether it did.
    pub fn add(&mut self, job: &Job) -> bool {
        let Some(repaired) = job.repaired.as_ref().filter(|repaired| !repaired.faults.0.is_empty()) else {
            return false;
        };
        for part in job.unit.parts() {
            *self.parts.entry(part.kind.name().to_owned()).or_default() += 1;
        }
        *self.parts.entry(WIRE.to_owned()).or_default() += u32::try_from(job.unit.wires().len()).unwrap_or(u32::MAX);
        for &fault in &repaired.faults.0 {
            let fault = &job.unit.faults()[fault];
            *self.confirmed.entry((kind_of(&job.unit, fault), fault.mode.name.clone())).or_default() += 1;
        }
        true
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Kind, fault, times confirmed and parts seen, one row for each fault that was ever confirmed and one with an empty
    /// fault for each kind of which none was.
    pub fn rows(&self) -> Vec<(String, String, u32, u32)> {
        let mut rows = Vec::new();
        for (kind, &parts) in &self.parts {
            let of_kind = self.confirmed.iter().filter(|((own, _), _)| own == kind);
            let before = rows.len();
            rows.extend(of_kind.map(|((_, fault), &count)| (kind.clone(), fault.clone(), count, parts)));
            if rows.len() == before {
                rows.push((kind.clone(), String::new(), 0, parts));
            }
        }
        rows
    }

    /// As comma-separated values.
    pub fn to_csv(&self) -> String {
        let mut text = format!("{HEADER}\n");
        for (kind, fault, confirmed, parts) in self.rows() {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{kind},{fault},{confirmed},{parts}");
        }
        text
    }

    /// From comma-separated values.
    ///
    /// # Errors
    /// [`ExperienceError`] with the line.
    pub fn from_csv(text: &str) -> Result<Self, ExperienceError> {
        let mut lines = text.lines().enumerate();
        let header = lines.next().map(|(_, line)| line.trim_start_matches('\u{feff}').trim());
        if header != Some(HEADER) {
            return Err(ExperienceError::NoHeader);
        }
        let mut found = Experience::default();
        for (index, text) in lines.filter(|(_, text)| !text.trim().is_empty()) {
            let line = index + 1;
            let fields: Vec<&str> = text.split(',').map(str::trim).collect();
            let refuse = || ExperienceError::Row { line, text: text.chars().take(60).collect() };
            let [kind, fault, confirmed, parts] = fields[..] else { return Err(refuse()) };
            let (confirmed, parts) = match (confirmed.parse::<u32>(), parts.parse::<u32>()) {
                (Ok(confirmed), Ok(parts)) if !kind.is_empty() && (confirmed == 0 || !fault.is_empty()) => {
                    (confirmed, parts)
                }
                _ => return Err(refuse()),
            };
            if ![WIRE, FRAME].contains(&kind) && !KIND_NAMES.contains(&kind) {
                let known: Vec<String> = KIND_NAMES.iter().copied().chain([WIRE, FRAME]).map(String::from).collect();
                let (near, kind) = (nearest(kind, &known), kind.chars().take(60).collect());
                return Err(ExperienceError::Kind { line, kind, near });
            }
            if confirmed > parts {
                return Err(ExperienceError::Counts { line, confirmed, parts });
            }
            if found.parts.insert(kind.to_owned(), parts).is_some_and(|before| before != parts) {
                return Err(ExperienceError::Twice { line, what: kind.to_owned() });
            }
            let key = (kind.to_owned(), fault.to_owned());
            if confirmed > 0 && found.confirmed.insert(key, confirmed).is_some() {
                return Err(ExperienceError::Twice { line, what: format!("{kind} {fault}") });
            }
        }
        Ok(found)
    }

    /// Faults of the table, as 'kind fault', of kinds that a unit has and none of whose parts has such a fault: other taps or
    /// plates, or a slip of spelling. They move nothing.
    pub fn not_in(&self, unit: &Unit) -> Vec<String> {
        let own: BTreeSet<(String, String)> =
            unit.faults().iter().map(|fault| (kind_of(unit, fault), fault.mode.name.clone())).collect();
        let has_kind = |kind: &str| own.iter().any(|(own, _)| own == kind);
        let strange = self.confirmed.keys().filter(|key| has_kind(&key.0) && !own.contains(*key));
        strange.map(|(kind, fault)| format!("{kind} {fault}")).collect()
    }

    /// Moves the odds of a unit's faults; answers with all that it moved.
    pub fn apply(&self, unit: &mut Unit) -> Vec<Moved> {
        let kinds: Vec<String> = unit.faults().iter().map(|fault| kind_of(unit, fault)).collect();
        let mut moved = Vec::new();
        for (index, (fault, kind)) in unit.faults_mut().iter_mut().zip(kinds).enumerate() {
            let Some(&parts) = self.parts.get(&kind).filter(|&&parts| parts > 0) else { continue };
            let confirmed = self.confirmed.get(&(kind, fault.mode.name.clone())).copied().unwrap_or(0);
            let listed = fault.mode.odds;
            let learnt = learnt(listed, confirmed, parts);
            fault.mode.odds = learnt;
            moved.push(Moved { fault: index, listed, learnt, confirmed, parts });
        }
        moved
    }
}

fn kind_of(unit: &Unit, fault: &Fault) -> String {
    match fault.place {
        Place::Part(part) => unit.parts()[part].kind.name().to_owned(),
        Place::Wire(_) => WIRE.to_owned(),
    }
}

impl Job {
    /// Moves the odds of the job's faults by what a shop has learnt; answers with all that it moved.
    pub fn learn(&mut self, experience: &Experience) -> Vec<Moved> {
        experience.apply(&mut self.unit)
    }
}
