//! Ways through a problem, and what each is expected to cost.

use super::{Price, Problem, State};
use crate::watch::Watch;
use std::collections::HashMap;

/// A way's choice in a state, and the expected price from there on; no test where the search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The test.
    pub test: Option<usize>,
    /// Expected price of all that follows.
    pub expected: Price,
}

const OVER: Step = Step { test: None, expected: Price { minutes: 0.0, weighted: 0.0 } };

/// Works out ways through one problem, each state once; gives up when cancelled or past its limit.
pub struct Solver<'p> {
    pub(super) problem: &'p Problem,
    watch: Watch,
    /// States to be looked at in all, at most.
    most_states: usize,
    optimum: HashMap<State, Step>,
    greedy: HashMap<State, Step>,
    rollout: HashMap<State, Step>,
}

impl<'p> Solver<'p> {
    /// A solver that looks at no more than `most_states` states for each way.
    pub fn new(problem: &'p Problem, most_states: usize, watch: Watch) -> Self {
        let (optimum, greedy, rollout) = (HashMap::new(), HashMap::new(), HashMap::new());
        Solver { problem, watch, most_states, optimum, greedy, rollout }
    }

    /// The least expected price from a state on, and the first test on that way; `None` past the limit or when cancelled.
    pub fn optimum(&mut self, state: State) -> Option<Step> {
        if let Some(&known) = self.optimum.get(&state) {
            return Some(known);
        }
        if self.problem.end(state.left).is_some() {
            return Some(OVER);
        }
        self.count(self.optimum.len())?;
        let mut best: Option<Step> = None;
        for test in 0..self.problem.tests.len() {
            let cells = self.problem.split(test, state.left);
            if cells.len() < 2 {
                continue;
            }
            let total = self.problem.weight(state.left);
            let mut expected = self.problem.price(test, state);
            for (_, cell) in cells {
                if best.is_some_and(|best| expected.weighted >= best.expected.weighted) {
                    break;
                }
                let follows = self.optimum(self.problem.after(test, state, cell))?;
                expected = expected + follows.expected.times(self.problem.weight(cell) / total);
            }
            if best.is_none_or(|best| expected.weighted < best.expected.weighted) {
                best = Some(Step { test: Some(test), expected });
            }
        }
        let best = best.unwrap_or(OVER);
        self.optimum.insert(state, best);
        Some(best)
    }

    /// What greed costs from a state on, and its first test.
    pub fn greedy(&mut self, state: State) -> Option<Step> {
        if let Some(&known) = self.greedy.get(&state) {
            return Some(known);
        }
        if self.problem.end(state.left).is_some() {
            return Some(OVER);
        }
        self.count(self.greedy.len())?;
        let step = match self.problem.most_for_its_price(state) {
            Some(test) => Step { test: Some(test), expected: self.with(test, state, Solver::greedy)? },
            None => OVER,
        };
        self.greedy.insert(state, step);
        Some(step)
    }

    /// What rollout costs from a state on, and its first test.
    pub fn rollout(&mut self, state: State) -> Option<Step> {
        if let Some(&known) = self.rollout.get(&state) {
            return Some(known);
        }
        if self.problem.end(state.left).is_some() {
            return Some(OVER);
        }
        self.count(self.rollout.len())?;
        let greed = self.greedy(state)?;
        let mut chosen = (greed.test, greed.expected.weighted);
        for test in 0..self.problem.tests.len() {
            if self.problem.price(test, state).weighted >= chosen.1 || self.problem.split(test, state.left).len() < 2 {
                continue;
            }
            let expected = self.with(test, state, Solver::greedy)?.weighted;
            if expected < chosen.1 {
                chosen = (Some(test), expected);
            }
        }
        let step = match chosen.0 {
            Some(test) => Step { test: Some(test), expected: self.with(test, state, Solver::rollout)? },
            None => OVER,
        };
        self.rollout.insert(state, step);
        Some(step)
    }

    /// Expected price of a test with some way after it.
    pub(super) fn with(
        &mut self,
        test: usize,
        state: State,
        way: fn(&mut Self, State) -> Option<Step>,
    ) -> Option<Price> {
        let total = self.problem.weight(state.left);
        let mut expected = self.problem.price(test, state);
        for (_, cell) in self.problem.split(test, state.left) {
            let follows = way(self, self.problem.after(test, state, cell))?;
            expected = expected + follows.expected.times(self.problem.weight(cell) / total);
        }
        Some(expected)
    }

    fn count(&self, states: usize) -> Option<()> {
        self.watch.plan(1);
        (states < self.most_states && self.watch.step()).then_some(())
    }
}
