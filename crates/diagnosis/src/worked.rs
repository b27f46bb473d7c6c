//! The unit worked once.
//!
//! Whatever is broken now, the maker's choice of parts did its job: relays pulled in, start windings were cut off, motors
//! came up to about the speed on their plates. Unknown values at which the sound unit would not do so are out of the
//! question, however well they would explain the readings; those at which a motor is too slow weigh the less the slower it
//! is. What it should do is what it does at its medians, in every ordinary live setup.

use crate::evidence::Evidence;
use bench::{FaultSet, Job, Observed, PredictError, Setup, observe_values};
use machine::Motion;
use std::collections::BTreeSet;

/// Slip over the slip that it should have, up to which nothing speaks against a sound motor: what IEC 60034-1 allows below a
/// kilowatt (from memory).
const ALLOWED_SLIP: f64 = 1.3;
/// Standard deviation of the natural logarithm of the slip beyond that: what a motor drives is seldom quite what its plate was
/// measured with. Engineering judgement.
const SLIP_LOG_SPREAD: f64 = 0.2;
/// Of motors without slip to speak of (commutator motors at the speed of their plate): so much of the speed counts as their
/// slip. Engineering judgement.
const LEAST_SLIP: f64 = 0.1;
/// Values that weigh less than this, in nats, are as good as impossible.
const HOPELESS: f64 = -8.0;

/// What a sound unit does in a setup.
#[derive(Debug, Clone, PartialEq)]
struct Doing {
    moved_contacts: BTreeSet<(usize, usize)>,
    /// By motor: its speed over synchronous speed or, of a commutator motor, over that on its plate; `None` at rest.
    running: Vec<Option<f64>>,
}

impl Doing {
    /// By motor: the natural logarithm of its slip over what is expected, zero at rest; `None` if it does something else.
    fn slips_over(&self, expected: &Self) -> Option<Vec<f64>> {
        let over = |(found, expected): (&Option<f64>, &Option<f64>)| match (found, expected) {
            (Some(found), Some(expected)) => {
                Some(((1.0 - found).max(LEAST_SLIP) / (1.0 - expected).max(LEAST_SLIP)).ln())
            }
            (None, None) => Some(0.0),
            _ => None,
        };
        let is_alike = self.moved_contacts == expected.moved_contacts;
        self.running.iter().zip(&expected.running).map(over).collect::<Option<Vec<f64>>>().filter(|_| is_alike)
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
    /// What speaks against a unit that worked with these values, nats: nothing as long as its motors come up to about the
    /// speed of their plates, everything if it does something else. Severities of faults behind the values do not count.
    pub(crate) fn log_worked(&self, deviations: &[f64]) -> f64 {
        let own = &deviations[..self.prior.count().min(deviations.len())];
        let mut farthest: Vec<f64> = Vec::new();
        for (index, expected) in &self.worked.setups {
            let found = doing(self.job, &self.job.setups[*index], own).ok().flatten();
            let Some(slips) = found.and_then(|found| found.slips_over(expected)) else { return f64::NEG_INFINITY };
            farthest.resize(slips.len(), 0.0);
            farthest.iter_mut().zip(slips).for_each(|(farthest, slip)| *farthest = farthest.max(slip));
        }
        let beyond = farthest.iter().map(|slip| (slip - ALLOWED_SLIP.ln()).max(0.0) / SLIP_LOG_SPREAD);
        -0.5 * beyond.map(|deviations| deviations * deviations).sum::<f64>()
    }

    /// Whether the unit may have worked with these values.
    pub(crate) fn worked_with(&self, deviations: &[f64]) -> bool {
        self.log_worked(deviations) > HOPELESS
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
