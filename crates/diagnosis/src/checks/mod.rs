//! Checks: what could be measured, what each suspect says it would show, and what that would settle.
//!
//! Every candidate has the expected drop of entropy *over repairs*, and the minutes that it takes.

mod apart;
pub(crate) mod candidates;
pub mod cost;
pub(crate) mod forecast;
pub(crate) mod outcomes;
mod questions;
mod shown;
pub(crate) mod survey;
pub(crate) mod warmth;

pub use apart::{Inseparable, Why};

use bench::cautions::cautions;
use bench::{Job, Manner, Measure, Reach, Refusal, Setup};
use cost::Cost;

/// A check that tells less than this is not worth doing, bits.
pub(crate) const WORTH_DOING_BITS: f64 = 0.05;

/// How dangerous a check is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// Unplugged, proven dead.
    Isolated,
    /// Supply on.
    Energised,
    /// Supply on and a hand near moving parts.
    EnergisedMoving,
}

impl Hazard {
    /// By how much a minute of such work is dearer than one of isolated work (engineering judgement).
    pub fn weight(self) -> f64 {
        match self {
            Hazard::Isolated => 1.0,
            Hazard::Energised => 2.5,
            Hazard::EnergisedMoving => 3.5,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Hazard::Isolated => "isolated",
            Hazard::Energised => "energised",
            Hazard::EnergisedMoving => "energised, moving parts",
        }
    }
}

/// What is done in a check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Action {
    /// Take a reading.
    Read(Measure),
    /// Turn the shaft of an unplugged motor by hand and feel whether it turns freely.
    Spin(usize),
    /// Give a motor a push and see whether it runs.
    Push(usize),
    /// Exchange two sister parts and take a reading.
    Swap(usize, usize, Measure),
    /// Leave the unit running under watch and see whether a part trips its protector.
    Wait(usize),
}

/// What a check may show.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// A number, most probable value and the range within two standard deviations.
    Number {
        /// Most probable value.
        middle: f64,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Over range.
    Open,
    /// The answer to a question that has only two: it runs, it trips.
    Answer(bool),
}

/// One outcome of a check and what it would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What is shown.
    pub shown: Shown,
    /// Probability of this outcome.
    pub probability: f64,
    /// Suspects left, by index in the diagnosis, with their probability then; at least 1 % each.
    pub leaves: Vec<(usize, f64)>,
    /// Most probable repair then, and its probability.
    pub repair: (String, f64),
}

/// Something the technician could do next.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Arrangement to do it in; may be one of the job's own.
    pub setup: Setup,
    /// What to do.
    pub action: Action,
    /// Expected drop of the entropy over repairs, bits.
    pub bits: f64,
    /// About how long it takes from where the bench stands, minutes.
    pub minutes: f64,
    /// What these minutes are made of.
    pub cost: Cost,
    /// How dangerous it is.
    pub hazard: Hazard,
    /// What to heed.
    pub cautions: Vec<String>,
    /// What it may show, most probable first.
    pub outcomes: Vec<Outcome>,
}

impl Check {
    /// What could be refused of it, the narrowest first.
    pub fn refusable(&self, job: &Job) -> Vec<Refusal> {
        let mut reach = Reach::of_setup(&self.setup);
        match self.action {
            Action::Read(measure) => reach = reach.with_reading(&job.unit, measure),
            Action::Swap(a, b, measure) => {
                reach = reach.with_reading(&job.unit, measure);
                reach.parts.extend([a, b]);
                reach.manners.push(Manner::Swap);
            }
            Action::Spin(part) => {
                reach.parts.push(part);
                reach.manners.push(Manner::Spin);
            }
            Action::Push(_) => reach.manners.push(Manner::Push),
            Action::Wait(_) => reach.manners.push(Manner::Wait),
        }
        let mut parts = reach.parts.clone();
        parts.extend(reach.terminals.iter().map(|&terminal| job.unit.part_of(terminal)));
        let own = job.setups.iter().filter(|setup| **setup == self.setup);
        let all = (reach.terminals.iter().map(|&terminal| Refusal::Terminal(terminal)))
            .chain(parts.into_iter().map(Refusal::Part))
            .chain(reach.manners.iter().map(|&manner| Refusal::Manner(manner)))
            .chain(self.cost.housings.iter().map(|&housing| Refusal::Housing(housing)))
            .chain(own.map(|setup| Refusal::Setup(setup.name.clone())))
            .chain(self.setup.energised.then_some(Refusal::Energised));
        let mut list: Vec<Refusal> = Vec::new();
        for refusal in all {
            if !list.contains(&refusal) {
                list.push(refusal);
            }
        }
        list
    }
}

impl Check {
    /// Minutes with danger counted.
    pub fn weighted_minutes(&self) -> f64 {
        self.cost.weighted(self.hazard)
    }

    /// Bits for each minute, danger counted.
    pub fn rate(&self) -> f64 {
        self.bits / self.weighted_minutes()
    }
}

/// What to heed in a check.
pub(crate) fn cautions_of(job: &Job, check: &Check) -> Vec<String> {
    let mut list = cautions(&job.unit, &check.setup);
    if let Action::Wait(_) = check.action {
        list.push("Stay with the unit, hand on the switch; stop at any smell, smoke or unusual noise.".into());
    }
    list
}
