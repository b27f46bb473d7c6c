//! The next check: what could be measured, what each suspect says it would show, and what that would settle.
//!
//! Every candidate is judged by the expected drop of entropy *over repairs*, per minute, energised work counted dearer.
//! An energised check is never put first when an isolated one tells nearly as much.

mod apart;
mod candidates;
pub mod cost;
pub(crate) mod forecast;
pub(crate) mod outcomes;
mod questions;
mod shown;
pub(crate) mod survey;

use crate::sequencing::NEARLY_AS_MUCH;
use crate::suspects::Diagnosis;
use bench::cautions::cautions;
use bench::{Job, Manner, Measure, Reach, Refusal, Setup};
use cost::Cost;
use survey::{Candidate, survey};

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

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlan {
    /// Entropy over repairs now, bits.
    pub entropy_bits: f64,
    /// The repair that holds enough probability for the search to end, if one does.
    pub settled: Option<String>,
    /// Best checks, best first.
    pub checks: Vec<Check>,
    /// Suspects, by index in the diagnosis, that ask for different repairs and that no check on the list tells apart.
    pub inseparable: Vec<Vec<usize>>,
    /// The best check of those refused, if it is better than the best that is left, without outcomes.
    pub foregone: Option<Check>,
}

impl Check {
    /// Minutes with danger counted.
    pub fn weighted_minutes(&self) -> f64 {
        self.cost.weighted(self.hazard)
    }
}

/// Finds the best next checks, at most `most`; of no use if the diagnosis was cancelled meanwhile.
pub fn next_checks(diagnosis: &Diagnosis<'_>, most: usize) -> CheckPlan {
    let job = diagnosis.evidence.job;
    let shares = diagnosis.repairs.iter().map(|repair| repair.probability);
    let entropy_bits = crate::information::entropy(shares) / std::f64::consts::LN_2;
    let settled = diagnosis.settled().map(|share| share.repair.clone());
    let survey = survey(diagnosis);
    let inseparable = survey.apart.inseparable(&survey.players);
    let worth_doing = survey.candidates.into_iter().filter(|candidate| candidate.check.bits > WORTH_DOING_BITS);
    let (refused, mut open): (Vec<Candidate>, Vec<Candidate>) = worth_doing.partition(|candidate| candidate.is_refused);
    order(&mut open);
    let best = open.first().map_or(0.0, |candidate| rate(&candidate.check));
    let foregone = refused
        .into_iter()
        .map(|candidate| candidate.check)
        .filter(|check| rate(check) > best)
        .max_by(|a, b| rate(a).total_cmp(&rate(b)));
    open.truncate(most);
    let mut checks: Vec<Check> = open.into_iter().map(|candidate| candidate.with_outcomes(&survey.players)).collect();
    for check in &mut checks {
        check.cautions = cautions_of(job, check);
    }
    CheckPlan { entropy_bits, settled, checks, inseparable, foregone }
}

/// What to heed in a check.
pub(crate) fn cautions_of(job: &Job, check: &Check) -> Vec<String> {
    let mut list = cautions(&job.unit, &check.setup);
    if let Action::Wait(_) = check.action {
        list.push("Stay with the unit, hand on the switch; stop at any smell, smoke or unusual noise.".into());
    }
    list
}

/// Best first, each once.
fn order(candidates: &mut Vec<Candidate>) {
    candidates.sort_by(|a, b| {
        let (a, b) = (&a.check, &b.check);
        rate(b).total_cmp(&rate(a)).then_with(|| a.minutes.total_cmp(&b.minutes))
    });
    isolated_first(candidates);
    drop_repeats(candidates);
}

/// Bits for each minute, danger counted.
fn rate(check: &Check) -> f64 {
    check.bits / check.weighted_minutes()
}

/// Puts an isolated check first if it tells nearly as much as the energised one that leads.
fn isolated_first(candidates: &mut [Candidate]) {
    let Some(first) = candidates.first().map(|candidate| &candidate.check) else { return };
    if first.hazard == Hazard::Isolated {
        return;
    }
    let needed = NEARLY_AS_MUCH * first.bits;
    let is_enough = |check: &Check| check.hazard == Hazard::Isolated && check.bits >= needed;
    if let Some(at) = candidates.iter().position(|candidate| is_enough(&candidate.check)) {
        candidates[..=at].rotate_right(1);
    }
}

/// Leaves one check of those that tell the same: points of one net, or the same points in another switch position.
fn drop_repeats(candidates: &mut Vec<Candidate>) {
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in candidates.drain(..) {
        let check = &candidate.check;
        let repeats = kept.iter().map(|other| &other.check).any(|other| {
            let same_place = other.action == check.action || other.setup == check.setup;
            same_place && (other.bits - check.bits).abs() < 1e-3 && same_kind(other.action, check.action)
        });
        if !repeats {
            kept.push(candidate);
        }
    }
    *candidates = kept;
}

fn same_kind(a: Action, b: Action) -> bool {
    match (a, b) {
        (Action::Read(x), Action::Read(y)) => x.unit() == y.unit(),
        (Action::Swap(a, b, x), Action::Swap(c, d, y)) => (a, b) == (c, d) && x.unit() == y.unit(),
        _ => a == b,
    }
}
