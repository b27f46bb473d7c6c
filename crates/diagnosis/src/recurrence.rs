//! A part that has failed before: which conditions behind its failure the readings have not excluded.

use crate::suspects::{Diagnosis, Suspect};
use bench::recurrence::{Condition, conditions};
use bench::{FaultSet, Place};

/// Readings exclude a condition that makes them this many times less likely, in nats: five times (engineering judgement).
const EXCLUDED: f64 = 1.6;

/// How a condition stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The leading suspect has it.
    Found,
    /// Beside the leading suspect it would make the readings much less likely.
    Excluded,
    /// The readings do not tell.
    Open,
}

/// A part or wire of a suspect and what may stand behind its failure.
#[derive(Debug, Clone, PartialEq)]
pub struct Recurrence {
    /// The part or wire.
    pub place: Place,
    /// How often it has been replaced before.
    pub times: u32,
    /// What may stand behind it.
    pub conditions: Vec<(Condition, Standing)>,
}

/// Looks behind the leading suspect, if a part of it has failed before.
///
/// A condition is tried at its usual size beside the suspect's fitted values. Logs are not asked.
pub fn recurrence(found: &Diagnosis<'_>) -> Option<Recurrence> {
    let leader = found.suspects.iter().find(|suspect| suspect.faults.as_ref().is_some_and(|set| !set.0.is_empty()))?;
    behind(found, leader).into_iter().find(|recurrence| recurrence.times > 0)
}

/// What may stand behind each part or wire of a suspect, whether or not it has failed before: a repair that leaves its reason in
/// place does not last.
pub fn behind(found: &Diagnosis<'_>, suspect: &Suspect) -> Vec<Recurrence> {
    let unit = &found.evidence.job.unit;
    let Some(faults) = &suspect.faults else { return Vec::new() };
    let mut places: Vec<Place> = Vec::new();
    for place in faults.0.iter().map(|&fault| unit.faults()[fault].place) {
        if !places.contains(&place) {
            places.push(place);
        }
    }
    let times = |place: Place| match place {
        Place::Part(part) => unit.parts()[part].provenance.replaced_before,
        Place::Wire(_) => 0,
    };
    let standing = |condition: &Condition| match condition.fault {
        Some(fault) if faults.0.contains(&fault) => Standing::Found,
        Some(fault) => beside(found, suspect, faults, fault).unwrap_or(Standing::Open),
        None => Standing::Open,
    };
    let with_standing = |condition: Condition| {
        let standing = standing(&condition);
        (condition, standing)
    };
    places
        .into_iter()
        .map(|place| Recurrence {
            place,
            times: times(place),
            conditions: conditions(unit, place).into_iter().map(with_standing).collect(),
        })
        .collect()
}

/// Whether the readings bear a further fault beside the leader's; `None` if that cannot be solved.
fn beside(found: &Diagnosis<'_>, leader: &Suspect, faults: &FaultSet, fault: usize) -> Option<Standing> {
    let evidence = &found.evidence;
    let fit = leader.fit.as_ref()?;
    let together = FaultSet(faults.0.iter().copied().chain([fault]).collect());
    let mut deviations = fit.deviations.to_vec();
    deviations.resize(bench::wiring::unknown_count(&evidence.job.unit, &together), 0.0);
    let with = evidence.outlook_values(&together, &deviations).ok()?;
    let loss = evidence.log_likelihood(&fit.outlook) - evidence.log_likelihood(&with);
    Some(if loss > EXCLUDED { Standing::Excluded } else { Standing::Open })
}
