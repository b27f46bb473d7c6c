//! The repairs of a suspect, each made to the unit and the unit solved with it.

use crate::RepairError;
use crate::compare::{Remark, differences, gather, strains};
use crate::course::{Course, course};
use crate::positions::live_positions;
use crate::substitute::{Compared, compare};
use crate::variant::{Exchange, Exchanged, carried_over, with_exchange, with_leads_interchanged};
use bench::{FaultSet, Job, Place, Setup, TerminalId, Unit};
use diagnosis::{Diagnosis, Suspect};
use rayon::prelude::*;

/// Temperature of the room that options are worked out for, degrees Celsius.
pub const ROOM_CELSIUS: f64 = 25.0;
/// Interchanged leads are tried for parts with at most so many terminals.
const MOST_TERMINALS: usize = 8;

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
    pub interchanged: (String, String),
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
    let unit = &job.unit;
    let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok(Vec::new()) };
    let deviations = suspect.deviations(unit);
    let own = fit.deviations[..found.evidence.prior.count()].to_vec();
    let positions = live_positions(job);
    let proper = courses(unit, &positions, &FaultSet::none(), &own)?;
    let alive: Vec<usize> = (0..positions.len()).filter(|&place| does_something(unit, &proper[place])).collect();
    let positions: Vec<Setup> = alive.iter().map(|&place| positions[place].clone()).collect();
    let proper: Vec<Course> = alive.iter().map(|&place| proper[place].clone()).collect();

    let mut list = vec![RepairOption {
        work: Work::LikeForLike,
        words: suspect.repair.clone(),
        remarks: gather(
            proper.iter().map(|course| (course.position.clone(), strains(unit, course, None))).collect::<Vec<_>>(),
        ),
        courses: proper.clone(),
        compared: Vec::new(),
        wrong_hook_ups: wrong_hook_ups(job, text, faults, &own, &positions, &proper)?,
    }];
    for &part in &removable(unit, faults) {
        let lifted: Vec<Setup> = positions
            .iter()
            .map(|setup| {
                let mut setup = setup.clone();
                setup.lifted.extend(unit.terminals_of(part).map(TerminalId));
                setup
            })
            .collect();
        let courses = courses(unit, &lifted, &FaultSet::none(), &own)?;
        list.push(RepairOption {
            words: format!("take {} out, cap its wires, and run without it", unit.parts()[part].name),
            remarks: remarks(unit, &proper, &courses, Some(part)),
            work: Work::TakeOut(part),
            courses,
            compared: Vec::new(),
            wrong_hook_ups: Vec::new(),
        });
    }
    for exchange in substitutes {
        list.push(substituted(job, text, exchange, &own, &positions, &proper)?);
    }
    if !faults.0.is_empty() {
        let courses = courses(unit, &positions, faults, &deviations)?;
        list.push(RepairOption {
            work: Work::Leave,
            words: "leave it as it is".into(),
            remarks: remarks(unit, &proper, &courses, None),
            courses,
            compared: Vec::new(),
            wrong_hook_ups: Vec::new(),
        });
    }
    Ok(list)
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

fn does_something(unit: &Unit, course: &Course) -> bool {
    let is_load = |part: &usize| !unit.parts()[*part].kind.feeds_unit();
    course.cut_off.is_some() || (0..unit.parts().len()).filter(is_load).any(|part| course.part_watts[part] > 1.0)
}

fn remarks(unit: &Unit, proper: &[Course], courses: &[Course], gone: Option<usize>) -> Vec<Remark> {
    let pairs = proper.iter().zip(courses);
    gather(
        pairs
            .map(|(proper, course)| (course.position.clone(), differences(unit, proper, course, gone)))
            .collect::<Vec<_>>(),
    )
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

fn substituted(
    job: &Job,
    text: &str,
    exchange: &Exchange,
    own: &[f64],
    positions: &[Setup],
    proper: &[Course],
) -> Result<RepairOption, RepairError> {
    let exchanged: Exchanged = with_exchange(text, exchange)?;
    let other = &exchanged.job.unit;
    let deviations = carried_over(&job.unit, own, other, Some(&exchange.part));
    let courses = courses(other, positions, &FaultSet::none(), &deviations)?;
    let fields: Vec<String> = exchange.fields.iter().map(|(name, value)| format!("{name} {value}")).collect();
    Ok(RepairOption {
        words: format!("put another {} in: {}", exchange.part, fields.join(", ")),
        remarks: remarks(other, proper, &courses, None),
        work: Work::Substitute(exchange.clone()),
        courses,
        compared: compare(&exchanged),
        wrong_hook_ups: Vec::new(),
    })
}

/// Interchanges of two leads of a part that is replaced, those that anything would show of.
fn wrong_hook_ups(
    job: &Job,
    text: &str,
    faults: &FaultSet,
    own: &[f64],
    positions: &[Setup],
    proper: &[Course],
) -> Result<Vec<WrongHookUp>, RepairError> {
    let unit = &job.unit;
    let mut pairs: Vec<(TerminalId, TerminalId)> = Vec::new();
    for part in removable(unit, faults) {
        let terminals: Vec<TerminalId> = unit.terminals_of(part).map(TerminalId).collect();
        let is_wired = |terminal: &TerminalId| unit.wires().iter().any(|w| w.from == *terminal || w.to == *terminal);
        // What has two ends may be turned about.
        if !(3..=MOST_TERMINALS).contains(&terminals.len()) {
            continue;
        }
        for (place, &a) in terminals.iter().enumerate() {
            pairs.extend(terminals[place + 1..].iter().filter(|b| is_wired(&a) || is_wired(b)).map(|&b| (a, b)));
        }
    }
    let look = |&(a, b): &(TerminalId, TerminalId)| -> Result<Option<WrongHookUp>, RepairError> {
        let wrong = with_leads_interchanged(text, unit, a, b)?;
        let deviations = carried_over(unit, own, &wrong.unit, None);
        let courses = courses(&wrong.unit, positions, &FaultSet::none(), &deviations)?;
        let remarks = remarks(unit, proper, &courses, None);
        let interchanged = (unit.terminal_name(a), unit.terminal_name(b));
        Ok((!remarks.is_empty()).then_some(WrongHookUp { interchanged, remarks }))
    };
    let found: Vec<Option<WrongHookUp>> = pairs.par_iter().map(look).collect::<Result<_, _>>()?;
    Ok(found.into_iter().flatten().collect())
}
