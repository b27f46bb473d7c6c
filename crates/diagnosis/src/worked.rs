//! The unit worked once.
//!
//! Whatever is broken now, the maker's choice of parts did its job: relays pulled in, start windings were cut off, motors
//! came up to speed. Unknown values at which the sound unit would not do so are out of the question, however well they
//! would explain the readings. What it should do is what it does at its medians, in every ordinary live setup.

use crate::evidence::Evidence;
use bench::{FaultSet, Job, Observed, PredictError, Setup, observe_values};
use machine::Motion;
use std::collections::BTreeSet;

/// What a sound unit does in a setup.
#[derive(Debug, Clone, PartialEq)]
struct Doing {
    moved_contacts: BTreeSet<(usize, usize)>,
    running: Vec<bool>,
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
            found.is_ok_and(|found| found.as_ref() == Some(expected))
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
        let running = |&part: &usize| observed.motion(part) == Some(Motion::Running);
        observed.settled().then(|| Doing {
            moved_contacts: observed.conditions().moved_contacts.clone(),
            running: motors.iter().map(running).collect(),
        })
    };
    observe_values(&job.unit, setup, &FaultSet::none(), deviations, look)
}
