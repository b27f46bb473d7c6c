//! The next check: what could be measured, what each suspect says it would show, and what that would settle.
//!
//! Every candidate is judged by the expected drop of entropy *over repairs*, per minute, energised work counted dearer.
//! An energised check is never put first when an isolated one tells nearly as much.

mod apart;
mod candidates;
mod forecast;
mod outcomes;
mod questions;
mod shown;

use crate::suspects::Diagnosis;
use apart::Apart;
use bench::cautions::cautions;
use bench::{Measure, Setup};
use candidates::candidate_setups;
use forecast::{Players, setup_checks};
use rayon::prelude::*;

/// An isolated check goes first if it tells at least this share of what the best one tells.
const NEARLY_AS_MUCH: f64 = 0.8;
/// A check that tells less than this is not worth doing, bits.
const WORTH_DOING_BITS: f64 = 0.05;

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
    /// About how long it takes, minutes (engineering judgement).
    pub minutes: f64,
    /// How dangerous it is.
    pub hazard: Hazard,
    /// What to heed.
    pub cautions: Vec<String>,
    /// What it may show, most probable first.
    pub outcomes: Vec<Outcome>,
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
}

/// Finds the best next checks, at most `most`; of no use if the diagnosis was cancelled meanwhile.
pub fn next_checks(diagnosis: &Diagnosis<'_>, most: usize) -> CheckPlan {
    let job = diagnosis.evidence.job;
    let players = Players::new(diagnosis);
    let shares = diagnosis.repairs.iter().map(|repair| repair.probability);
    let entropy_bits = crate::information::entropy(shares) / std::f64::consts::LN_2;
    let settled = diagnosis.settled().map(|share| share.repair.clone());
    let watch = &diagnosis.evidence.watch;
    let candidates = candidate_setups(job);
    watch.plan(candidates.len());
    let by_setup: Vec<(Vec<Check>, Apart)> = candidates
        .into_par_iter()
        .filter(|_| watch.step())
        .map(|candidate| setup_checks(job, &candidate, &players))
        .collect();
    let mut apart = Apart::default();
    let mut checks = Vec::new();
    for (of_setup, told) in by_setup {
        checks.extend(of_setup);
        apart = apart.with(told);
    }
    checks.extend(questions::checks(job, &players, &mut apart));
    checks.retain(|check| check.bits > WORTH_DOING_BITS);
    checks.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then_with(|| a.minutes.total_cmp(&b.minutes)));
    isolated_first(&mut checks);
    drop_repeats(&mut checks);
    checks.truncate(most);
    for check in &mut checks {
        check.cautions = cautions(&job.unit, &check.setup);
        if let Action::Wait(_) = check.action {
            check
                .cautions
                .push("Stay with the unit, hand on the switch; stop at any smell, smoke or unusual noise.".into());
        }
        check.outcomes = match check.action {
            Action::Read(measure) => {
                outcomes::of_reading(&players.forecasts(job, &check.setup, measure, None), &players)
            }
            Action::Swap(a, b, measure) => {
                outcomes::of_reading(&players.forecasts(job, &check.setup, measure, Some((a, b))), &players)
            }
            Action::Spin(_) | Action::Push(_) | Action::Wait(_) => {
                outcomes::of_question(&questions::chances(job, &check.setup, check.action, &players), &players)
            }
        };
        check.outcomes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    }
    CheckPlan { entropy_bits, settled, checks, inseparable: apart.inseparable(&players) }
}

fn rate(check: &Check) -> f64 {
    check.bits / (check.minutes * check.hazard.weight())
}

/// Puts an isolated check first if it tells nearly as much as the energised one that leads.
fn isolated_first(checks: &mut [Check]) {
    let Some(first) = checks.first() else { return };
    if first.hazard == Hazard::Isolated {
        return;
    }
    let needed = NEARLY_AS_MUCH * first.bits;
    if let Some(at) = checks.iter().position(|check| check.hazard == Hazard::Isolated && check.bits >= needed) {
        checks[..=at].rotate_right(1);
    }
}

/// Leaves one check of those that tell the same: points of one net, or the same points in another switch position.
fn drop_repeats(checks: &mut Vec<Check>) {
    let mut kept: Vec<Check> = Vec::new();
    for check in checks.drain(..) {
        let repeats = kept.iter().any(|other| {
            let same_place = other.action == check.action || other.setup == check.setup;
            same_place && (other.bits - check.bits).abs() < 1e-3 && same_kind(other.action, check.action)
        });
        if !repeats {
            kept.push(check);
        }
    }
    *checks = kept;
}

fn same_kind(a: Action, b: Action) -> bool {
    match (a, b) {
        (Action::Read(x), Action::Read(y)) => x.unit() == y.unit(),
        (Action::Swap(a, b, x), Action::Swap(c, d, y)) => (a, b) == (c, d) && x.unit() == y.unit(),
        _ => a == b,
    }
}
