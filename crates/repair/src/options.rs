//! The repairs of a suspect, each made to the unit and the unit solved with it.

use crate::RepairError;
use crate::compare::{Remark, What, differences, gather, strains};
use crate::course::{Course, course, course_with_spreads};
use crate::hook_ups::{Mistake, WrongHookUp, astray};
use crate::knowledge::Knowledge;
use crate::positions::live_positions;
use crate::renewed::renewed;
use crate::substitute::{Compared, compare};
use crate::variant::{Carried, Exchange, Exchanged, Substitution, carried_over, keep_load, with_exchanges};
use bench::newly_fitted::hook_ups;
use bench::{FaultSet, Job, Place, Setup, TerminalId, Unit};
use diagnosis::narrowing::Narrowing;
use diagnosis::prior::Prior;
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
    /// Other parts stand in, the rest is repaired.
    Substitute(Substitution),
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
    substitutes: &[Substitution],
) -> Result<Vec<RepairOption>, RepairError> {
    let job = found.evidence.job;
    let Some(trial) = Trial::new(found, suspect, text)? else { return Ok(Vec::new()) };
    let mut list = vec![trial.like_for_like(&suspect.repair)?];
    for part in removable(&job.unit, trial.faults) {
        list.push(trial.without(part)?);
    }
    for substitution in substitutes {
        list.push(trial.substituted(substitution)?);
    }
    if !trial.faults.0.is_empty() {
        list.push(trial.left(&suspect.deviations(&job.unit))?);
    }
    Ok(list)
}

/// One substitution, with the rest repaired; nothing for a suspect that was not worked out. `text` is that of the job's file.
///
/// # Errors
/// As [`options`].
pub fn substitute(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    text: &str,
    substitution: &Substitution,
) -> Result<Option<RepairOption>, RepairError> {
    Trial::new(found, suspect, text)?.map(|trial| trial.substituted(substitution)).transpose()
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
    faults: &'t FaultSet,
    prior: &'t Prior,
    narrowing: &'t Narrowing,
    /// Values of the unit as the readings tell them, without faults; those of parts that the repair replaces by their plates.
    own: Vec<f64>,
    /// Which of them are by their plates.
    new: Vec<usize>,
    positions: Vec<Setup>,
    /// What the unit should do in each.
    proper: Vec<Course>,
}

impl<'t> Trial<'t> {
    /// Of a suspect that was worked out.
    fn new(found: &'t Diagnosis<'_>, suspect: &'t Suspect, text: &'t str) -> Result<Option<Self>, RepairError> {
        let (job, prior) = (found.evidence.job, &found.evidence.prior);
        let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok(None) };
        let mut own = fit.deviations[..prior.count()].to_vec();
        let new = renewed(&job.unit, faults);
        new.iter().for_each(|&unknown| own[unknown] = 0.0);
        let narrowing: &Narrowing = &fit.narrowing;
        let known = Knowledge::of_unit(prior.clone(), narrowing, &new);
        let positions = live_positions(job);
        let proper = courses(&job.unit, &positions, &FaultSet::none(), &own, Some(&known))?;
        let does_something = |course: &Course| course.cut_off.is_some() || takes_power(&job.unit, course);
        let alive = positions.into_iter().zip(proper).filter(|(_, course)| does_something(course));
        let (positions, proper) = alive.unzip();
        Ok(Some(Trial { job, text, faults, prior, narrowing, own, new, positions, proper }))
    }

    fn like_for_like(&self, repair: &str) -> Result<RepairOption, RepairError> {
        let strained = |course: &Course| (course.position.clone(), strains(&self.job.unit, course, None));
        let remarks = gather(self.proper.iter().map(strained));
        let option = self.option(Work::LikeForLike, repair.to_owned(), self.proper.clone(), remarks);
        let mut wrong_hook_ups = Vec::new();
        for part in removable(&self.job.unit, self.faults) {
            let part = self.job.unit.parts()[part].name.clone();
            wrong_hook_ups.extend(self.wrong_hook_ups(&Substitution(vec![Exchange { part, fields: Vec::new() }]))?);
        }
        Ok(RepairOption { wrong_hook_ups, ..option })
    }

    fn without(&self, part: usize) -> Result<RepairOption, RepairError> {
        let unit = &self.job.unit;
        let lifted = |setup: &Setup| {
            let mut setup = setup.clone();
            setup.lifted.extend(unit.terminals_of(part).map(TerminalId));
            setup
        };
        let lifted: Vec<Setup> = self.positions.iter().map(lifted).collect();
        let known = Knowledge::of_unit(self.prior.clone(), self.narrowing, &self.new);
        let courses = courses(unit, &lifted, &FaultSet::none(), &self.own, Some(&known))?;
        let name = &unit.parts()[part].name;
        let remarks = self.remarks(unit, &courses, Some(part));
        let words = match self.needs(part, &courses, &remarks) {
            Some(need) => format!("not a repair: without {name}, {need}"),
            None => format!("take {name} out, cap its wires, and run without it"),
        };
        Ok(self.option(Work::TakeOut(part), words, courses, remarks))
    }

    /// What no longer works without a part, if that leaves no repair: another motor does not run, or nothing does anything.
    fn needs(&self, part: usize, courses: &[Course], remarks: &[Remark]) -> Option<String> {
        let unit = &self.job.unit;
        let stands = remarks.iter().find_map(|remark| match remark.what {
            What::Stands(motor) if motor != part => Some(motor),
            _ => None,
        });
        let is_dead = || courses.iter().all(|course| course.cut_off.is_some() || !takes_power(unit, course));
        match stands {
            Some(motor) => Some(format!("{} no longer starts", unit.parts()[motor].name)),
            None if is_dead() => Some("nothing works any more".into()),
            None => None,
        }
    }

    fn substituted(&self, substitution: &Substitution) -> Result<RepairOption, RepairError> {
        let (exchanged, carried) = self.exchanged(substitution)?;
        let other = &exchanged.job.unit;
        let origins: Vec<Option<usize>> =
            carried.origins.iter().map(|origin| origin.filter(|value| !self.new.contains(value))).collect();
        let known = Knowledge::of_another(self.prior.clone(), self.narrowing, other, origins);
        let courses = courses(other, &self.positions, &FaultSet::none(), &carried.deviations, Some(&known))?;
        let remarks = self.remarks(other, &courses, None);
        let work = Work::Substitute(substitution.clone());
        let option = self.option(work, substitution.words(), courses, remarks);
        let wrong_hook_ups = self.wrong_hook_ups(substitution)?;
        Ok(RepairOption { compared: compare(&exchanged), wrong_hook_ups, ..option })
    }

    /// The job with other parts in it, which drive what is there to be driven, and the values of its unit.
    fn exchanged(&self, substitution: &Substitution) -> Result<(Exchanged, Carried), RepairError> {
        let mut exchanged = with_exchanges(self.text, substitution)?;
        let (from, to) = (&self.job.unit, &mut exchanged.job.unit);
        let mut carried = carried_over(from, &self.own, to, &substitution.parts());
        for exchange in &substitution.0 {
            keep_load(from, &self.own, to, &mut carried, exchange)?;
        }
        Ok((exchanged, carried))
    }

    fn left(&self, deviations: &[f64]) -> Result<RepairOption, RepairError> {
        let unit = &self.job.unit;
        let known = Knowledge::of_unit(self.prior.with_severities(unit, self.faults), self.narrowing, &[]);
        let courses = courses(unit, &self.positions, self.faults, deviations, Some(&known))?;
        let remarks = self.remarks(unit, &courses, None);
        Ok(self.option(Work::Leave, "leave it as it is".into(), courses, remarks))
    }

    /// Mistakes in connecting parts that were put in, those that anything would show of.
    fn wrong_hook_ups(&self, substitution: &Substitution) -> Result<Vec<WrongHookUp>, RepairError> {
        // A part that has just been fitted may have its leads on the wrong terminals.
        let mut fitted = substitution.clone();
        fitted.0.iter_mut().for_each(|exchange| exchange.fields.push(("fitted".into(), "new".into())));
        let (exchanged, carried) = self.exchanged(&fitted)?;
        let new = &exchanged.job.unit;
        let look = |unit: &Unit, faults: &FaultSet, mistake: Mistake| -> Result<WrongHookUp, RepairError> {
            let courses = courses(unit, &self.positions, faults, &carried.deviations, None)?;
            Ok(WrongHookUp { mistake, remarks: self.remarks(unit, &courses, None) })
        };
        let mut found: Vec<WrongHookUp> = Vec::new();
        for part in substitution.parts().into_iter().filter_map(|name| new.find_part(name)) {
            let interchanged = |(fault, terminals): (usize, [TerminalId; 2])| {
                let names = terminals.map(|terminal| new.terminal_name(terminal));
                look(new, &FaultSet(vec![fault]), Mistake::Interchanged(names))
            };
            let looked: Result<Vec<WrongHookUp>, RepairError> =
                hook_ups(new, part).into_par_iter().map(interchanged).collect();
            found.extend(looked?);
            for (wire, end, other) in astray(new, part) {
                let mut moved = self.exchanged(&fitted)?.0.job.unit;
                moved.move_wire_end(wire, end, other);
                let [belongs_on, on] = [end, other].map(|terminal| new.terminal_name(terminal));
                let lead = new.wires()[wire].name.clone();
                found.push(look(&moved, &FaultSet::none(), Mistake::OnAnother { lead, on, belongs_on })?);
            }
        }
        found.retain(|wrong| !wrong.remarks.is_empty());
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

/// Whether anything but what feeds it takes power worth speaking of.
fn takes_power(unit: &Unit, course: &Course) -> bool {
    let is_load = |part: &usize| !unit.parts()[*part].kind.feeds_unit();
    (0..unit.parts().len()).filter(is_load).any(|part| course.part_watts[part] > WORTH_WATTS)
}

fn courses(
    unit: &Unit,
    positions: &[Setup],
    faults: &FaultSet,
    deviations: &[f64],
    known: Option<&Knowledge<'_>>,
) -> Result<Vec<Course>, RepairError> {
    let one = |setup: &Setup| match known {
        Some(known) => Ok(course_with_spreads(unit, setup, faults, deviations, ROOM_CELSIUS, known)?),
        None => Ok(course(unit, setup, faults, deviations, ROOM_CELSIUS)?),
    };
    positions.par_iter().map(one).collect()
}
