//! What a suspect does to currents and powers, read off the solved circuit.
//!
//! Nothing here is a rule about motors: an element that takes power in the sound unit and delivers it in the faulty one
//! is found by comparing the two solutions, whatever it is.

use crate::suspects::{Diagnosis, Suspect};
use bench::observe::ElementFlow;
use bench::{FaultSet, Observed, Place, PredictError, observe};

/// Power below which a change of direction is not worth a word, watts.
const WORTH_SAYING_WATTS: f64 = 0.5;
/// Heat ratio above which a part is said to run hotter.
const HOTTER: f64 = 1.25;

/// An element that delivers power although it takes power, or none, in the sound unit.
#[derive(Debug, Clone, PartialEq)]
pub struct FedBackwards {
    /// Setup, by index in the job.
    pub setup: usize,
    /// Part whose element delivers.
    pub giver: usize,
    /// Its element.
    pub giver_element: String,
    /// Power it delivers, watts.
    pub watts: f64,
    /// Power it takes in the sound unit, watts.
    pub sound_watts: f64,
    /// Element of another part between the same two nets that takes power: part and element.
    pub taker: Option<(usize, String)>,
}

/// A part that makes more heat than in the sound unit.
#[derive(Debug, Clone, PartialEq)]
pub struct RunsHotter {
    /// Setup, by index in the job.
    pub setup: usize,
    /// The part.
    pub part: usize,
    /// Its heat, watts.
    pub heat: f64,
    /// Its heat in the sound unit, watts.
    pub sound_heat: f64,
}

/// What a suspect does in the live setups of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Consequences {
    /// Elements that deliver power backwards, largest first.
    pub fed_backwards: Vec<FedBackwards>,
    /// Parts that run hotter, hottest first.
    pub runs_hotter: Vec<RunsHotter>,
    /// Setups in which the breaker or the earth-leakage trip opens.
    pub cuts_off: Vec<CutsOff>,
}

/// A setup in which the unit is cut off, and by what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CutsOff {
    /// Its index in the job.
    pub setup: usize,
    /// Whether the breaker opens at once.
    pub breaker: bool,
    /// Whether the earth-leakage trip opens.
    pub residual_trip: bool,
}

struct State {
    flows: Vec<ElementFlow>,
    heats: Vec<f64>,
    cut_off: CutsOff,
}

/// Compares a suspect with the sound unit, same values otherwise, in every live setup of the job.
///
/// # Errors
/// [`PredictError`] if a setup cannot be solved.
pub fn consequences(diagnosis: &Diagnosis<'_>, suspect: &Suspect) -> Result<Consequences, PredictError> {
    let mut found = Consequences::default();
    let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Ok(found) };
    let job = diagnosis.evidence.job;
    let own = &fit.deviations[..diagnosis.evidence.prior.count()];
    for (setup, arrangement) in job.setups.iter().enumerate().filter(|(_, setup)| setup.energised) {
        let take = |observed: &mut Observed<'_>| State {
            flows: observed.element_flows(),
            heats: (0..job.unit.parts().len()).map(|part| observed.heat(part)).collect(),
            cut_off: CutsOff {
                setup,
                breaker: observed.breaker_opened(),
                residual_trip: observed.residual_trip_opened(),
            },
        };
        let faulty = observe(&job.unit, arrangement, faults, &fit.deviations, take)?;
        let sound = observe(&job.unit, arrangement, &FaultSet::none(), own, take)?;
        if faulty.cut_off.breaker || faulty.cut_off.residual_trip {
            found.cuts_off.push(faulty.cut_off);
        }
        found.fed_backwards.extend(fed_backwards(diagnosis, setup, &faulty.flows, &sound.flows));
        for (part, (&heat, &sound_heat)) in faulty.heats.iter().zip(&sound.heats).enumerate() {
            // What warms the wiring ahead of the outlet is no part of the unit.
            if part != job.unit.supply() && heat > HOTTER * sound_heat && heat - sound_heat > 2.0 {
                found.runs_hotter.push(RunsHotter { setup, part, heat, sound_heat });
            }
        }
    }
    found.fed_backwards.sort_by(|a, b| b.watts.total_cmp(&a.watts));
    found.runs_hotter.sort_by(|a, b| (b.heat - b.sound_heat).total_cmp(&(a.heat - a.sound_heat)));
    Ok(found)
}

fn fed_backwards(
    diagnosis: &Diagnosis<'_>,
    setup: usize,
    faulty: &[ElementFlow],
    sound: &[ElementFlow],
) -> Vec<FedBackwards> {
    let unit = &diagnosis.evidence.job.unit;
    let givers = faulty.iter().filter(|flow| flow.watts < -WORTH_SAYING_WATTS);
    givers
        .filter_map(|flow| {
            let Place::Part(giver) = flow.place else { return None };
            if unit.parts()[giver].kind.feeds_unit() {
                return None;
            }
            let before = sound.iter().find(|other| other.place == flow.place && other.label == flow.label);
            let sound_watts = before.map_or(0.0, |other| other.watts);
            if sound_watts < -0.5 * WORTH_SAYING_WATTS {
                return None;
            }
            let taker = faulty.iter().find_map(|other| match other.place {
                Place::Part(part) if part != giver && other.nets == flow.nets && other.watts > 0.0 => {
                    Some((part, other.label.clone()))
                }
                _ => None,
            });
            let giver_element = flow.label.clone();
            Some(FedBackwards { setup, giver, giver_element, watts: -flow.watts, sound_watts, taker })
        })
        .collect()
}
