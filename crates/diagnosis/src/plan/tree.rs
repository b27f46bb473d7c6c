//! The tree: a way through the problem, told in checks, outcomes and suspects.

use super::vain;
use super::worlds::Worlds;
use super::{Branch, Limits, Next, Node, Way};
use crate::checks::cost::{self, Cost};
use crate::checks::survey::greatest;
use crate::checks::{Check, Shown, cautions_of};
use crate::information::entropy;
use crate::sequencing::{End, Solver, State, members};
use crate::suspects::Diagnosis;

/// Suspects below this share are not named at a point of the tree.
const NAMED: f64 = 0.005;

/// What a suspect shows in a cell of a check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Range {
    Number { middle: f64, low: f64, high: f64 },
    Open,
    Answer(bool),
}

/// Grows a tree along a way.
pub(super) struct Grower<'g, 'p> {
    diagnosis: &'g Diagnosis<'g>,
    worlds: &'g Worlds,
    solver: &'g mut Solver<'p>,
    way: Way,
    limits: Limits,
    nodes: usize,
    pub(super) inseparable: f64,
    pub(super) in_vain: f64,
    pub(super) is_cut: bool,
}

impl<'g, 'p> Grower<'g, 'p> {
    pub(super) fn new(
        diagnosis: &'g Diagnosis<'g>,
        worlds: &'g Worlds,
        solver: &'g mut Solver<'p>,
        way: Way,
        limits: Limits,
    ) -> Self {
        Grower { diagnosis, worlds, solver, way, limits, nodes: 0, inseparable: 0.0, in_vain: 0.0, is_cut: false }
    }

    /// The tree from a state on, reached with a probability after so many checks. What lies beyond the limits is walked, for
    /// the sums, but not kept.
    pub(super) fn node(&mut self, state: State, probability: f64, depth: usize) -> Option<Node> {
        let problem = &self.worlds.problem;
        let step = match self.way {
            Way::Optimum => self.solver.optimum(state)?,
            Way::Rollout => self.solver.rollout(state)?,
        };
        let shares = problem.shares(state.left);
        let mut repairs: Vec<(String, f64)> =
            shares.iter().map(|&(class, share)| (self.worlds.classes[class].clone(), share)).collect();
        let next = match (problem.end(state.left), step.test) {
            (Some(End::Settled { class, share }), _) => {
                self.settled(self.worlds.classes[class].clone(), share, probability)
            }
            (Some(End::Needed { need, share }), _) => {
                self.settled(self.worlds.singles[need].clone(), share, probability)
            }
            (_, Some(test)) => {
                let is_drawn = depth < self.limits.depth && self.nodes < self.limits.nodes;
                let check = self.check(test, state);
                let mut branches = Vec::new();
                let mut cells = problem.split(test, state.left);
                cells.sort_by(|a, b| problem.weight(b.1).total_cmp(&problem.weight(a.1)));
                self.nodes += cells.len();
                for (cell, left) in cells {
                    let share = problem.weight(left) / problem.weight(state.left);
                    let node = self.node(problem.after(test, state, left), probability * share, depth + 1)?;
                    let shown = self.shown(test, cell, left);
                    branches.push(Branch { shown, probability: share, node });
                }
                self.is_cut |= !is_drawn;
                if is_drawn { Next::Check(Box::new(check), branches) } else { Next::Cut }
            }
            (_, None) => {
                let in_vain = vain::in_order(&mut repairs);
                self.inseparable += probability;
                self.in_vain += probability * in_vain;
                Next::Inseparable { in_vain }
            }
        };
        Some(Node { probability, left: self.suspects(state.left), repairs, expected: step.expected, next })
    }

    fn settled(&mut self, repair: String, share: f64, probability: f64) -> Next {
        let minutes = vain::minutes(&repair);
        self.in_vain += probability * (1.0 - share).max(0.0) * minutes;
        Next::Settled { repair, share, minutes }
    }

    /// Suspects left with their shares, most probable first.
    fn suspects(&self, left: u64) -> Vec<(usize, f64)> {
        let total = self.worlds.problem.weight(left).max(f64::MIN_POSITIVE);
        let mut sums: Vec<(usize, f64)> = Vec::new();
        for world in members(left) {
            for &(suspect, share) in &self.worlds.suspects[world] {
                let more = share * self.worlds.problem.weights[world] / total;
                match sums.iter_mut().find(|(other, _)| *other == suspect) {
                    Some((_, sum)) => *sum += more,
                    None => sums.push((suspect, more)),
                }
            }
        }
        sums.retain(|(_, share)| *share >= NAMED);
        sums.sort_by(|a, b| b.1.total_cmp(&a.1));
        sums
    }

    /// A check, priced from a state.
    fn check(&self, test: usize, state: State) -> Check {
        let problem = &self.worlds.problem;
        let job = self.diagnosis.evidence.job;
        let mut check = self.worlds.checks[test].clone();
        let housings: Vec<usize> = members(problem.tests[test].housings & !state.open).collect();
        let from = &self.worlds.arrangements[state.arrangement];
        let way = if housings.is_empty() { cost::change } else { cost::change_opening };
        let (change, live) = way(from, &check.setup);
        let opening = housings.iter().map(|&housing| job.housings[housing].minutes).sum();
        let cooling = if state.is_warm { problem.tests[test].cooling.minutes } else { 0.0 };
        check.cost = Cost { own: check.cost.own, change, live, opening, cooling, housings };
        check.minutes = check.cost.minutes();
        check.cautions = cautions_of(job, &check);
        let total = problem.weight(state.left);
        let by_repair = |left: u64| entropy(problem.shares(left).into_iter().map(|(_, share)| share));
        let cells = problem.split(test, state.left);
        let after: f64 = cells.into_iter().map(|(_, left)| problem.weight(left) / total * by_repair(left)).sum();
        check.bits = ((by_repair(state.left) - after) / std::f64::consts::LN_2).max(0.0);
        check
    }

    /// What is shown in a cell by those left in it.
    fn shown(&self, test: usize, cell: usize, left: u64) -> Shown {
        let weight = |suspect: usize| -> f64 {
            members(left)
                .flat_map(|world| self.worlds.suspects[world].iter().map(move |entry| (world, entry)))
                .filter(|(_, entry)| entry.0 == suspect)
                .map(|(world, entry)| entry.1 * self.worlds.problem.weights[world])
                .sum()
        };
        let here = self.worlds.ranges[test].iter().filter(|(suspect, at, _)| *at == cell && weight(*suspect) > 0.0);
        let (mut shown, mut heaviest) = (Shown::Open, -1.0);
        let (mut lowest, mut highest) = (f64::INFINITY, 0.0f64);
        for &(suspect, _, range) in here {
            let is_heavier = weight(suspect) > heaviest;
            match range {
                Range::Number { middle, low, high } => {
                    (lowest, highest) = (lowest.min(low), highest.max(high));
                    if is_heavier {
                        shown = Shown::Number { middle, low, high };
                    }
                }
                Range::Answer(yes) => shown = Shown::Answer(yes),
                Range::Open if is_heavier => shown = Shown::Open,
                Range::Open => {}
            }
            heaviest = f64::max(heaviest, weight(suspect));
        }
        match shown {
            Shown::Number { middle, .. } => {
                let greatest = greatest(&self.diagnosis.evidence.job.unit, self.worlds.checks[test].action);
                Shown::Number { middle, low: lowest, high: highest.min(greatest.max(middle)) }
            }
            other => other,
        }
    }
}
