//! Test sequencing: which test to do after which outcome, so that the expected price is least.
//!
//! A finite problem: worlds of which one holds, each with a weight and a class (what is to be done in it); tests that put the
//! worlds into cells; a price for each test that depends on what stands open, on the arrangement used last and on whether the
//! unit is warm. A search ends
//! where one class holds enough of the weight, or where no test tells worlds of two classes apart.
//!
//! - [`Solver::optimum`]: the least expected price, by dynamic programming over what is left, what is open, what is
//!   warm and the arrangement. The problem is that of Pattipati and Alexandridis, 'Application of heuristic search and information theory
//!   to sequential fault diagnosis', IEEE Transactions on Systems, Man and Cybernetics 20 (1990), with prices that depend on
//!   what was done before.
//! - [`Solver::greedy`]: most bits for the price, one test at a time.
//! - [`Solver::rollout`]: the test that is best if greed goes on after it; never dearer than greed (Bertsekas, Tsitsiklis and
//!   Wu, 'Rollout algorithms for combinatorial optimization', Journal of Heuristics 3 (1997): greed here is one fixed choice
//!   for each state, and looking one step ahead of a fixed choice never makes it dearer).
//! - [`Solver::advice`]: what to do first, by the optimum where it can be afforded, else by rollout.
//!
//! Assumes: a test shows the same in a world however often it is done, and its cell is sure.

mod advice;
mod policies;

pub use advice::{AFFORDABLE_STATES, Advice, MOST_EXACT};
pub use policies::{Solver, Step};

use crate::information::entropy;
use std::ops::Add;

/// Most worlds: what is left is a set of bits.
pub const MOST_WORLDS: usize = 64;
/// An isolated test goes first by greed if it tells at least this share of what the best one tells.
pub(crate) const NEARLY_AS_MUCH: f64 = 0.8;
/// Greed counts what tells worlds of one class apart by this share: it may open the way to more.
const WITHIN_CLASS: f64 = 1e-3;

/// What something costs.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Price {
    /// Minutes.
    pub minutes: f64,
    /// Minutes with danger counted: what is to be least.
    pub weighted: f64,
}

impl Price {
    /// Without danger.
    pub fn plain(minutes: f64) -> Self {
        Price { minutes, weighted: minutes }
    }

    fn times(self, share: f64) -> Self {
        Price { minutes: share * self.minutes, weighted: share * self.weighted }
    }
}

impl Add for Price {
    type Output = Price;

    fn add(self, other: Price) -> Price {
        Price { minutes: self.minutes + other.minutes, weighted: self.weighted + other.weighted }
    }
}

/// One test.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// For each world the cell it falls into.
    pub cells: Vec<usize>,
    /// Price of the test itself.
    pub own: Price,
    /// Arrangement that it needs.
    pub arrangement: usize,
    /// Housings that must be open, bits.
    pub housings: u64,
    /// Whether it is done with the supply off.
    pub is_isolated: bool,
    /// Price of waiting until what is warm has cooled; nothing if it need not be cold.
    pub cooling: Price,
    /// Whether it leaves the unit warm.
    pub warms: bool,
}

/// A whole problem.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// Weights of the worlds; their sum is what counts as one.
    pub weights: Vec<f64>,
    /// What is to be done in each.
    pub classes: Vec<usize>,
    /// For each class the single things to be done in it, bits; empty if they do not count.
    pub needs: Vec<u64>,
    /// The tests.
    pub tests: Vec<Test>,
    /// Price of going from one arrangement to another.
    pub change: Vec<Vec<Price>>,
    /// The same where a housing is opened on the way.
    pub change_opening: Vec<Vec<Price>>,
    /// Price of opening each housing; those open from the start are free.
    pub housings: Vec<f64>,
    /// Share of the weight that ends the search: of one class, or of what needs one single thing while whatever else is
    /// needed has less than the rest.
    pub settled: f64,
    /// Whether it is open at the start, with every world left, although one class holds enough of their weight: what is no
    /// world of its own may count against it.
    pub is_open: bool,
    /// A search ends, too, where all tests together would tell less than this of the classes, bits.
    pub worth_bits: f64,
}

/// Where a search stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct State {
    /// Worlds left, bits.
    pub left: u64,
    /// Housings open, bits.
    pub open: u64,
    /// Arrangement used last.
    pub arrangement: usize,
    /// Whether the unit is warm.
    pub is_warm: bool,
}

/// Why a search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// A class holds enough, with this share.
    Settled {
        /// The class.
        class: usize,
        /// Its share of what is left.
        share: f64,
    },
    /// A single thing is needed with this share, and nothing else is likely.
    Needed {
        /// The single thing.
        need: usize,
        /// Its share of what is left.
        share: f64,
    },
    /// No test, or none worth doing, tells worlds of two classes apart.
    Inseparable,
}

/// Numbers of the bits that are set.
pub fn members(set: u64) -> impl Iterator<Item = usize> {
    (0..64).filter(move |&at| set >> at & 1 == 1)
}

impl Problem {
    /// The start of a search: every world left, the unit cold.
    pub fn start(&self, open: u64, arrangement: usize) -> State {
        State { left: self.all(), open, arrangement, is_warm: false }
    }

    /// Every world.
    fn all(&self) -> u64 {
        members(u64::MAX).take(self.weights.len()).fold(0, |set, world| set | 1 << world)
    }

    /// Weight of worlds.
    pub fn weight(&self, left: u64) -> f64 {
        members(left).map(|world| self.weights[world]).sum()
    }

    /// Shares of the classes among worlds, largest first.
    pub fn shares(&self, left: u64) -> Vec<(usize, f64)> {
        let mut shares: Vec<(usize, f64)> = Vec::new();
        let total = self.weight(left).max(f64::MIN_POSITIVE);
        for world in members(left) {
            let (class, share) = (self.classes[world], self.weights[world] / total);
            match shares.iter_mut().find(|(other, _)| *other == class) {
                Some((_, sum)) => *sum += share,
                None => shares.push((class, share)),
            }
        }
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }

    /// Why the search ends with these left, if it does.
    pub fn end(&self, left: u64) -> Option<End> {
        let &(class, share) = self.shares(left).first()?;
        if !(self.is_open && left == self.all()) {
            if share >= self.settled - 1e-12 {
                return Some(End::Settled { class, share });
            }
            if let Some(end) = self.needed(left) {
                return Some(end);
            }
        }
        let tells = |test: &Test| {
            members(left)
                .any(|a| members(left).any(|b| self.classes[a] != self.classes[b] && test.cells[a] != test.cells[b]))
        };
        let is_worthless = || self.worth_bits > 0.0 && self.all_bits(left) < self.worth_bits;
        (!self.tests.iter().any(tells) || is_worthless()).then_some(End::Inseparable)
    }

    /// Whether a single thing is needed almost surely, and nothing else is likely.
    fn needed(&self, left: u64) -> Option<End> {
        let all = members(left).filter_map(|world| self.needs.get(self.classes[world])).fold(0, |all, need| all | need);
        let total = self.weight(left).max(f64::MIN_POSITIVE);
        let share = |need: usize| {
            let needing = |world: &usize| self.needs[self.classes[*world]] >> need & 1 == 1;
            members(left).filter(needing).map(|world| self.weights[world]).sum::<f64>() / total
        };
        let mut shares: Vec<(usize, f64)> = members(all).map(|need| (need, share(need))).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        let &(need, share) = shares.first().filter(|(_, share)| *share >= self.settled - 1e-12)?;
        shares.get(1).is_none_or(|second| second.1 < 1.0 - self.settled).then_some(End::Needed { need, share })
    }

    /// What all tests together would tell of the classes, bits.
    fn all_bits(&self, left: u64) -> f64 {
        let mut cells = vec![(0, left)];
        for test in 0..self.tests.len() {
            cells = cells.into_iter().flat_map(|(_, cell)| self.split(test, cell)).collect();
        }
        let total = self.weight(left).max(f64::MIN_POSITIVE);
        let of_class = |set: u64| entropy(self.shares(set).into_iter().map(|(_, share)| share));
        let after: f64 = cells.into_iter().map(|(_, cell)| self.weight(cell) / total * of_class(cell)).sum();
        (of_class(left) - after) / std::f64::consts::LN_2
    }

    /// Cells that a test puts worlds into, none of them empty, with the cell's number.
    pub fn split(&self, test: usize, left: u64) -> Vec<(usize, u64)> {
        let mut cells: Vec<(usize, u64)> = Vec::new();
        for world in members(left) {
            let cell = self.tests[test].cells[world];
            match cells.iter_mut().find(|(other, _)| *other == cell) {
                Some((_, set)) => *set |= 1 << world,
                None => cells.push((cell, 1 << world)),
            }
        }
        cells
    }

    /// What a test costs from a state.
    pub fn price(&self, test: usize, state: State) -> Price {
        let test = &self.tests[test];
        let closed = test.housings & !state.open;
        let change = if closed == 0 { &self.change } else { &self.change_opening };
        let opening: f64 = members(closed).map(|housing| self.housings[housing]).sum();
        let cooling = if state.is_warm { test.cooling } else { Price::default() };
        test.own + change[state.arrangement][test.arrangement] + Price::plain(opening) + cooling
    }

    /// The state after an outcome.
    pub fn after(&self, test: usize, state: State, left: u64) -> State {
        let test = &self.tests[test];
        let is_warm = test.warms || (state.is_warm && test.cooling == Price::default());
        State { left, open: state.open | test.housings, arrangement: test.arrangement, is_warm }
    }

    /// Drop of the entropy over classes, bits; what tells worlds of one class apart counts a little.
    fn gain(&self, cells: &[(usize, u64)], left: u64) -> f64 {
        let total = self.weight(left).max(f64::MIN_POSITIVE);
        let drop = |of: &dyn Fn(u64) -> f64| {
            of(left) - cells.iter().map(|&(_, cell)| self.weight(cell) / total * of(cell)).sum::<f64>()
        };
        let by_class = drop(&|set| entropy(self.shares(set).into_iter().map(|(_, share)| share)));
        let by_world = drop(&|set| entropy(members(set).map(|world| self.weights[world])));
        (by_class + WITHIN_CLASS * by_world) / std::f64::consts::LN_2
    }

    /// The test that tells most for its price; an isolated one that tells nearly as much goes before an energised one.
    pub fn most_for_its_price(&self, state: State) -> Option<usize> {
        let mut useful: Vec<(usize, f64, f64)> = Vec::new();
        for test in 0..self.tests.len() {
            let cells = self.split(test, state.left);
            if cells.len() > 1 {
                let bits = self.gain(&cells, state.left);
                useful.push((test, bits, bits / self.price(test, state).weighted.max(1e-9)));
            }
        }
        let best = *useful.iter().max_by(|a, b| a.2.total_cmp(&b.2))?;
        if self.tests[best.0].is_isolated {
            return Some(best.0);
        }
        let is_enough =
            |entry: &&(usize, f64, f64)| self.tests[entry.0].is_isolated && entry.1 >= NEARLY_AS_MUCH * best.1;
        let isolated = useful.iter().filter(is_enough).max_by(|a, b| a.2.total_cmp(&b.2));
        Some(isolated.map_or(best.0, |entry| entry.0))
    }
}
