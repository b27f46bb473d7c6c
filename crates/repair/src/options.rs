//! The repairs of a suspect, each made to the unit and the unit solved with it.

use crate::RepairError;
use crate::compare::{Remark, differences, gather, strains};
use crate::course::{Course, course};
use crate::positions::live_positions;
use crate::substitute::{Compared, compare};
use crate::variant::{Exchange, carried_over, with_exchange};
use bench::newly_fitted::hook_ups;
use bench::{FaultSet, Job, Place, Setup, TerminalId, Unit};
use diagnosis::{Diagnosis, Suspect};
use rayon::prelude::*;

/// Temperature of the room that options are worked out for, degrees Celsius.
pub const ROOM_CELSIUS: f64 = 25.0;
/// A position in which no part takes more than this does nothing, watts.
const WORTH_WATTS: f64 = 1.0;

/// What is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Work {
    /// Nothing: the unit goes on as it is.
    Leave,
    /// What the suspect asks for, with parts like those that were there.
    LikeForLike,
    /// A part comes out, its wires capped, the rest is repaired and the unit run without it.
    TakeOut(usize),
    /// Another part stands in for one, the rest is repaired.
    Substitute(Exchange),
}

/// A mistake in connecting a new part, and what it would do.
#[derive(Debug, Clone, PartialEq)]
pub struct WrongHookUp {
    /// The two terminals, by name.
    pub interchanged: [String; 2],
    /// What would be seen.
    pub remarks: Vec<Remark>,
}

/// A repair and what it brings.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairOption {
    /// What is done.
    pub work: Work,
    /// The same in words.
    pub words: String,
    /// What the unit then does, position by position.
    pub courses: Vec<Course>,
    /// What is lost and what is at risk, against the unit as it should be.
    pub remarks: Vec<Remark>,
    /// How a substitute compares with what was there.
    pub compared: Vec<Compared>,
    /// Mistakes in connecting it that would matter.
    pub wrong_hook_ups: Vec<WrongHookUp>,
}

/// Every sensible repair of a suspect, and substitutes that were asked for. `text` is that of the job's file.
///
/// Positions in which nothing flows even as it should be are left out.
///
/// # Errors
/// [`RepairError`] if the unit cannot be solved, or if a substitute cannot be put in.
pub fn options(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    text: &str,
    substitutes: &[Exchange],
) -> Result<Vec<RepairOption>, RepairError> {
    let job = found.evidence.job;
    let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok(Vec::new()) };
    let trial = Trial::new(job, text, fit.deviations[..found.evidence.prior.count()].to_vec())?;
    let mut list = vec![trial.like_for_like(&suspect.repair, faults)?];
    for part in removable(&job.unit, faults) {
        list.push(trial.without(part)?);
    }
    for exchange in substitutes {
        list.push(trial.substituted(exchange)?);
    }
    if !faults.0.is_empty() {
        list.push(trial.left(faults, &suspect.deviations(&job.unit))?);
    }
    Ok(list)
}

/// One substitute, with the rest repaired; nothing for a suspect that was not worked out. `text` is that of the job's file.
///
/// # Errors
/// As [`options`].
pub fn substitute(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    text: &str,
    exchange: &Exchange,
) -> Result<Option<RepairOption>, RepairError> {
    let Some(fit) = &suspect.fit else { return Ok(None) };
    let own = fit.deviations[..found.evidence.prior.count()].to_vec();
    Trial::new(found.evidence.job, text, own)?.substituted(exchange).map(Some)
}

impl RepairOption {
    /// What is at risk, then what is lost, a line each.
    pub fn remark_lines(&self, unit: &Unit) -> Vec<String> {
        let line = |label: &str, remark: &Remark| {
            let is_everywhere = remark.positions.len() == self.courses.len() && self.courses.len() > 1;
            let positions = if is_everywhere { "in every position".to_owned() } else { remark.positions.join("; ") };
            format!("{label}: {} ({positions})", remark.what.words(unit))
        };
        let (risks, losses): (Vec<&Remark>, Vec<&Remark>) =
            self.remarks.iter().partition(|remark| remark.what.is_risk());
        let risks = risks.into_iter().map(|remark| line("at risk", remark));
        risks.chain(losses.into_iter().map(|remark| line("lost", remark))).collect()
    }
}

/// Parts of a suspect that a unit may do without: neither what feeds it or protects it nor what switches it.
fn removable(unit: &Unit, faults: &FaultSet) -> Vec<usize> {
    let mut parts: Vec<usize> = faults
        .0
        .iter()
        .filter_map(|&fault| match unit.faults()[fault].place {
            Place::Part(part) => Some(part),
            Place::Wire(_) => None,
        })
        .filter(|&part| {
            let kind = &unit.parts()[part].kind;
            let is_path = kind.feeds_unit() || kind.is_protector() || kind.is_current_fuse() || kind.is_set_by_hand();
            !is_path && part != unit.part_of(unit.frame())
        })
        .collect();
    parts.dedup();
    parts
}

/// A unit on which repairs are tried.
struct Trial<'t> {
    job: &'t Job,
    text: &'t str,
    /// Values of the unit as the readings tell them, without faults.
    own: Vec<f64>,
    positions: Vec<Setup>,
    /// What the unit should do in each.
    proper: Vec<Course>,
}

impl<'t> Trial<'t> {
    fn new(job: &'t Job, text: &'t str, own: Vec<f64>) -> Result<Self, RepairError> {
        let positions = live_positions(job);
        let proper = courses(&job.unit, &positions, &FaultSet::none(), &own)?;
        let is_load = |part: &usize| !job.unit.parts()[*part].kind.feeds_unit();
        let does_something = |course: &Course| {
            let takes = |part: usize| course.part_watts[part] > WORTH_WATTS;
            course.cut_off.is_some() || (0..job.unit.parts().len()).filter(is_load).any(takes)
        };
        let alive = positions.into_iter().zip(proper).filter(|(_, course)| does_something(course));
        let (positions, proper) = alive.unzip();
        Ok(Trial { job, text, own, positions, proper })
    }

    fn like_for_like(&self, repair: &str, faults: &FaultSet) -> Result<RepairOption, RepairError> {
        let strained = |course: &Course| (course.position.clone(), strains(&self.job.unit, course, None));
        let remarks = gather(self.proper.iter().map(strained));
        let option = self.option(Work::LikeForLike, repair.to_owned(), self.proper.clone(), remarks);
        Ok(RepairOption { wrong_hook_ups: self.wrong_hook_ups(faults)?, ..option })
    }

    fn without(&self, part: usize) -> Result<RepairOption, RepairError> {
        let unit = &self.job.unit;
        let lifted = |setup: &Setup| {
            let mut setup = setup.clone();
            setup.lifted.extend(unit.terminals_of(part).map(TerminalId));
            setup
        };
        let lifted: Vec<Setup> = self.positions.iter().map(lifted).collect();
        let courses = courses(unit, &lifted, &FaultSet::none(), &self.own)?;
        let words = format!("take {} out, cap its wires, and run without it", unit.parts()[part].name);
        let remarks = self.remarks(unit, &courses, Some(part));
        Ok(self.option(Work::TakeOut(part), words, courses, remarks))
    }

    fn substituted(&self, exchange: &Exchange) -> Result<RepairOption, RepairError> {
        let exchanged = with_exchange(self.text, exchange)?;
        let other = &exchanged.job.unit;
        let deviations = carried_over(&self.job.unit, &self.own, other, Some(&exchange.part));
        let courses = courses(other, &self.positions, &FaultSet::none(), &deviations)?;
        let fields: Vec<String> = exchange.fields.iter().map(|(name, value)| format!("{name} {value}")).collect();
        let words = format!("put another {} in: {}", exchange.part, fields.join(", "));
        let remarks = self.remarks(other, &courses, None);
        let option = self.option(Work::Substitute(exchange.clone()), words, courses, remarks);
        Ok(RepairOption { compared: compare(&exchanged), ..option })
    }

    fn left(&self, faults: &FaultSet, deviations: &[f64]) -> Result<RepairOption, RepairError> {
        let unit = &self.job.unit;
        let courses = courses(unit, &self.positions, faults, deviations)?;
        let remarks = self.remarks(unit, &courses, None);
        Ok(self.option(Work::Leave, "leave it as it is".into(), courses, remarks))
    }

    /// Interchanges of two leads of a part that is replaced, those that anything would show of.
    fn wrong_hook_ups(&self, faults: &FaultSet) -> Result<Vec<WrongHookUp>, RepairError> {
        let mut found = Vec::new();
        for part in removable(&self.job.unit, faults) {
            let name = self.job.unit.parts()[part].name.clone();
            // A part that has just been fitted may have its leads on the wrong terminals.
            let fitted = Exchange { part: name, fields: vec![("fitted".into(), "new".into())] };
            let new = with_exchange(self.text, &fitted)?.job.unit;
            let deviations = carried_over(&self.job.unit, &self.own, &new, None);
            let look = |(fault, terminals): (usize, [TerminalId; 2])| -> Result<WrongHookUp, RepairError> {
                let courses = courses(&new, &self.positions, &FaultSet(vec![fault]), &deviations)?;
                let interchanged = terminals.map(|terminal| new.terminal_name(terminal));
                Ok(WrongHookUp { interchanged, remarks: self.remarks(&new, &courses, None) })
            };
            let looked: Vec<WrongHookUp> =
                hook_ups(&new, part).into_par_iter().map(look).collect::<Result<_, RepairError>>()?;
            found.extend(looked.into_iter().filter(|wrong| !wrong.remarks.is_empty()));
        }
        Ok(found)
    }

    fn remarks(&self, unit: &Unit, courses: &[Course], gone: Option<usize>) -> Vec<Remark> {
        let pairs = self.proper.iter().zip(courses);
        gather(pairs.map(|(proper, course)| (course.position.clone(), differences(unit, proper, course, gone))))
    }

    fn option(&self, work: Work, words: String, courses: Vec<Course>, remarks: Vec<Remark>) -> RepairOption {
        RepairOption { work, words, courses, remarks, compared: Vec::new(), wrong_hook_ups: Vec::new() }
    }
}

fn courses(
    unit: &Unit,
    positions: &[Setup],
    faults: &FaultSet,
    deviations: &[f64],
) -> Result<Vec<Course>, RepairError> {
    let one = |setup: &Setup| Ok(course(unit, setup, faults, deviations, ROOM_CELSIUS)?);
    positions.par_iter().map(one).collect()
}
