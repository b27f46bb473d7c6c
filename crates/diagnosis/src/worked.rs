//! The unit worked once.
//!
//! Whatever is broken now, the maker's choice of parts did its job: relays pulled in, start windings were cut off, motors
//! came up to about the speed on their plates. Unknown values at which the sound unit would not do so are out of the
//! question, however well they would explain the readings. What it should do is what it does at its medians, in every
//! ordinary live setup.

use crate::evidence::Evidence;
use bench::{FaultSet, Job, Observed, PredictError, Setup, observe_values};
use machine::Motion;
use std::collections::BTreeSet;

/// A motor that slips so many times as much as it should never left its maker. IEC 60034-1 allows 1.3 times the slip of the
/// plate below a kilowatt (from memory); what it drives is seldom quite what the plate was measured with.
const MOST_SLIP: f64 = 2.0;
/// Of motors without slip to speak of (commutator motors at the speed of their plate): so much of the speed, over
/// [`MOST_SLIP`], may be missing. Engineering judgement.
const LEAST_SLIP: f64 = 0.1;

/// What a sound unit does in a setup.
#[derive(Debug, Clone, PartialEq)]
struct Doing {
    moved_contacts: BTreeSet<(usize, usize)>,
    /// By motor: its speed over synchronous speed or, of a commutator motor, over that on its plate; `None` at rest.
    running: Vec<Option<f64>>,
}

impl Doing {
    /// Whether a unit that does this does what is expected.
    fn meets(&self, expected: &Self) -> bool {
        let as_quick = |(found, expected): (&Option<f64>, &Option<f64>)| match (found, expected) {
            (Some(found), Some(expected)) => 1.0 - found <= MOST_SLIP * (1.0 - expected).max(LEAST_SLIP),
            (found, expected) => found.is_none() && expected.is_none(),
        };
        self.moved_contacts == expected.moved_contacts && self.running.iter().zip(&expected.running).all(as_quick)
    }
}

/// What the sound unit does in the ordinary live setups of a job.
#[derive(Debug, Clone, Default)]
pub(crate) struct Worked {
    /// By index of the setup.
    setups: Vec<(usize, Doing)>,
}

impl Worked {
    pub(crate) fn new(job: &Job, medians: &[f64]) -> Result<Self, PredictError> {
        let mut setups = Vec::new();
        for (index, setup) in job.setups.iter().enumerate().filter(|(_, setup)| is_ordinary(setup)) {
            if let Some(doing) = doing(job, setup, medians)? {
                setups.push((index, doing));
            }
        }
        Ok(Worked { setups })
    }
}

impl Evidence<'_> {
    /// Whether the unit would have worked with these values; severities of faults behind them do not count.
    pub(crate) fn worked_with(&self, deviations: &[f64]) -> bool {
        let own = &deviations[..self.prior.count().min(deviations.len())];
        self.worked.setups.iter().all(|(index, expected)| {
            let found = doing(self.job, &self.job.setups[*index], own);
            found.is_ok_and(|found| found.is_some_and(|found| found.meets(expected)))
        })
    }
}

/// Live, as in use: nothing lifted, bridged, held or pushed.
fn is_ordinary(setup: &Setup) -> bool {
    setup.energised
        && setup.lifted.is_empty()
        && setup.jumpers.is_empty()
        && setup.held.is_empty()
        && setup.pushed.is_empty()
}

/// What the sound unit does; nothing if there is nothing in it that could fail to, or it does not come to rest.
fn doing(job: &Job, setup: &Setup, deviations: &[f64]) -> Result<Option<Doing>, PredictError> {
    let motors: Vec<usize> = (0..job.unit.parts().len()).filter(|&part| job.unit.is_motor(part)).collect();
    if motors.is_empty() && job.unit.own_contacts().is_empty() {
        return Ok(None);
    }
    let look = |observed: &mut Observed<'_>| {
        let running = |&part: &usize| match observed.motion(part) {
            Some(Motion::Running) => observed.speed_ratio(part).map(f64::abs),
            _ => None,
        };
        observed.settled().then(|| Doing {
            moved_contacts: observed.conditions().moved_contacts.clone(),
            running: motors.iter().map(running).collect(),
        })
    };
    observe_values(&job.unit, setup, &FaultSet::none(), deviations, look)
}
