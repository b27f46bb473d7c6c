//! The plan: the whole way from here to a settled repair, as a tree, for the least expected minutes.
//!
//! Every live suspect says what each check shows within two standard deviations; ranges that overlap are one outcome. A
//! suspect that may well show either of two outcomes is split into as many worlds, while there are no more than
//! [`MOST_EXACT`]; past that the outcomes are taken as one. Worlds that no check tells apart and that ask for one repair are
//! one group. What remains is a problem of [`crate::sequencing`], whose optimum is exact up to [`MOST_EXACT`] groups; above
//! that, or past its limit of work, the way is one of rollout.
//!
//! The start is settled only if the verdict is, which counts every suspect. Where none of the known faults explains the
//! readings there is nothing to plan before doubtful ones were taken again.
//!
//! Assumes: a reading is not grossly wrong, and falls within two standard deviations of what its suspect says. So the plan is
//! a forecast of the work; after each reading the diagnosis, and the plan, are made anew.

pub(crate) mod first;
mod tree;
mod vain;
pub mod words;
mod worlds;

use crate::checks::survey::survey;
use crate::checks::{Check, Shown};
pub use crate::sequencing::MOST_EXACT;
use crate::sequencing::{Price, Solver};
use crate::suspects::Diagnosis;
use crate::unexplained::unexplained;
use tree::Grower;
pub(crate) use vain::minutes as minutes_in_vain;
use worlds::Worlds;

/// States that a way may look at; the optimum then gives way to rollout.
const MOST_STATES: usize = 150_000;

/// How far a tree is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Checks one after another.
    pub depth: usize,
    /// Nodes in all.
    pub nodes: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { depth: 8, nodes: 200 }
    }
}

/// How the tree came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// The least expected price.
    Optimum,
    /// One step of looking ahead, then the most bits for the price.
    Rollout,
}

/// The whole way.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// How the tree came about.
    pub way: Way,
    /// What the tree is expected to cost.
    pub expected: Price,
    /// What is expected where each check is the one with the most bits for its price, as the next check is chosen.
    pub greedy: Price,
    /// The same with one step of looking ahead.
    pub rollout: Price,
    /// The least possible, where it was worked out.
    pub optimum: Option<Price>,
    /// Groups of suspects, and checks in play.
    pub groups: usize,
    /// Checks in play.
    pub checks: usize,
    /// Probability of suspects that are left out of the plan.
    pub left_out: f64,
    /// Probability that no check settles it.
    pub inseparable: f64,
    /// Expected minutes of repairs in vain.
    pub in_vain: f64,
    /// Whether the tree was cut at its limits.
    pub is_cut: bool,
    /// The first check.
    pub root: Node,
}

/// A point of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Probability of getting here.
    pub probability: f64,
    /// Suspects left, by index in the diagnosis, with their probability here.
    pub left: Vec<(usize, f64)>,
    /// Repairs left with their probability here, most probable first.
    pub repairs: Vec<(String, f64)>,
    /// What is expected from here on.
    pub expected: Price,
    /// What follows.
    pub next: Next,
}

/// What follows at a point.
#[derive(Debug, Clone, PartialEq)]
pub enum Next {
    /// A check, priced from this point; its outcomes are the branches.
    Check(Box<Check>, Vec<Branch>),
    /// A repair holds enough. If it is in vain nevertheless, it takes these minutes for nothing.
    Settled {
        /// The repair: a whole one, or a single one that is needed whatever else is.
        repair: String,
        /// Its probability here.
        share: f64,
        /// Minutes of the repair.
        minutes: f64,
    },
    /// No check tells the repairs apart. Minutes that are expected to be in vain if they are done in the order of `repairs`.
    Inseparable {
        /// Expected minutes in vain.
        in_vain: f64,
    },
    /// The tree goes on, but is not drawn.
    Cut,
    /// None of the known faults explains the readings best: doubtful ones are taken again before anything is planned.
    TakeAgain,
}

/// An outcome of a check.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// What is shown.
    pub shown: Shown,
    /// Its probability after what came before.
    pub probability: f64,
    /// What follows.
    pub node: Node,
}

/// Works out the whole way; `None` if the diagnosis was cancelled meanwhile or no suspect has a fit.
pub fn plan(diagnosis: &Diagnosis<'_>, limits: Limits) -> Option<Plan> {
    if unexplained(diagnosis).is_some() {
        return Some(Plan::none_yet(diagnosis));
    }
    let watch = &diagnosis.evidence.watch;
    let survey = survey(diagnosis);
    let worlds = Worlds::new(diagnosis, &survey)?;
    let problem = &worlds.problem;
    let groups = problem.weights.len();
    let start = worlds.start();
    let mut solver = Solver::new(problem, MOST_STATES, watch.clone());
    let greedy = solver.greedy(start)?.expected;
    let rollout = solver.rollout(start)?.expected;
    let optimum = if groups <= MOST_EXACT { solver.optimum(start).map(|step| step.expected) } else { None };
    if watch.is_cancelled() {
        return None;
    }
    let way = if optimum.is_some() { Way::Optimum } else { Way::Rollout };
    let mut grower = Grower::new(diagnosis, &worlds, &mut solver, way, limits);
    let root = grower.node(start, 1.0, 0)?;
    Some(Plan {
        way,
        expected: root.expected,
        greedy,
        rollout,
        optimum,
        groups,
        checks: problem.tests.len(),
        left_out: worlds.left_out,
        inseparable: grower.inseparable,
        in_vain: grower.in_vain,
        is_cut: grower.is_cut,
        root,
    })
}

impl Plan {
    /// Where doubtful readings are taken again first.
    fn none_yet(diagnosis: &Diagnosis<'_>) -> Plan {
        let nothing = Price::default();
        let repairs = diagnosis.repairs.iter().map(|share| (share.repair.clone(), share.probability)).collect();
        let root = Node { probability: 1.0, left: Vec::new(), repairs, expected: nothing, next: Next::TakeAgain };
        Plan {
            way: Way::Optimum,
            expected: nothing,
            greedy: nothing,
            rollout: nothing,
            optimum: None,
            groups: 0,
            checks: 0,
            left_out: 0.0,
            inseparable: 0.0,
            in_vain: 0.0,
            is_cut: false,
            root,
        }
    }
}
