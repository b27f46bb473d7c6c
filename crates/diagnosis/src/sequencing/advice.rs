//! What to do first, and what it saves over the test that would be done first by its bits for the price.

use super::policies::Step;
use super::{NEARLY_AS_MUCH, Price, Solver, State};

/// Worlds up to which the optimum is worked out; above that, advice is one of rollout.
pub const MOST_EXACT: usize = 16;
/// States that are looked at for advice, few enough for it to be there about as soon as without looking ahead.
pub const AFFORDABLE_STATES: usize = 3_000;
/// What a first test must save, minutes with danger counted, to go before the usual one (engineering judgement: the way
/// ahead is a forecast).
const WORTH_CHANGING: f64 = 0.1;

/// What to do first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// The test.
    pub test: usize,
    /// Expected price of the whole way with it first.
    pub expected: Price,
    /// Expected price of the whole way with the usual test first.
    pub with_usual: Price,
    /// Whether every order was weighed, not only the first test.
    pub is_exact: bool,
}

#[derive(Clone, Copy)]
enum Way {
    Optimum,
    Rollout,
}

impl Solver<'_> {
    /// The first test of the cheapest way that can be afforded: of the optimum, past its limits of rollout. `usual` is the
    /// test that would be done without looking ahead; it stays first if the other hardly saves anything. No energised test goes
    /// first where an isolated one tells nearly as much, as by greed.
    ///
    /// `None` where the search ends, past the limit for rollout too, or when cancelled.
    pub fn advice(&mut self, state: State, usual: usize) -> Option<Advice> {
        let few = state.left.count_ones() as usize <= MOST_EXACT;
        let exact = if few { self.advice_by(Way::Optimum, state, usual) } else { None };
        exact.or_else(|| self.advice_by(Way::Rollout, state, usual))
    }

    fn advice_by(&mut self, way: Way, state: State, usual: usize) -> Option<Advice> {
        let best = self.step(way, state)?.test?;
        let with_usual = self.with_first(way, state, usual)?;
        let proper = self.proper(state);
        let (mut test, mut expected) = (usual, with_usual);
        for other in if proper.contains(&best) { vec![best] } else { proper } {
            let with = self.with_first(way, state, other)?;
            if with.weighted < expected.weighted {
                (test, expected) = (other, with);
            }
        }
        let is_exact = matches!(way, Way::Optimum);
        if expected.weighted > with_usual.weighted - WORTH_CHANGING {
            return Some(Advice { test: usual, expected: with_usual, with_usual, is_exact });
        }
        Some(Advice { test, expected, with_usual, is_exact })
    }

    fn step(&mut self, way: Way, state: State) -> Option<Step> {
        match way {
            Way::Optimum => self.optimum(state),
            Way::Rollout => self.rollout(state),
        }
    }

    fn with_first(&mut self, way: Way, state: State, test: usize) -> Option<Price> {
        match way {
            Way::Optimum => self.with(test, state, Solver::optimum),
            Way::Rollout => self.with(test, state, Solver::rollout),
        }
    }

    /// Tests that may go first: all isolated ones, and of the energised those that tell more than any isolated one does nearly.
    fn proper(&self, state: State) -> Vec<usize> {
        let problem = self.problem;
        let bits = |test: usize| {
            let cells = problem.split(test, state.left);
            if cells.len() > 1 { problem.gain(&cells, state.left) } else { 0.0 }
        };
        let bits: Vec<f64> = (0..problem.tests.len()).map(bits).collect();
        let is_isolated = |test: usize| problem.tests[test].is_isolated;
        let most = (0..bits.len()).filter(|&test| is_isolated(test)).map(|test| bits[test]).fold(0.0, f64::max);
        let may_lead = |&test: &usize| bits[test] > 0.0 && (is_isolated(test) || most < NEARLY_AS_MUCH * bits[test]);
        (0..bits.len()).filter(may_lead).collect()
    }
}
