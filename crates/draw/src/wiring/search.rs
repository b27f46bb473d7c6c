//! The search for an order with few crossings: barycentre and median sweeps, moves while any of them helps, and, while
//! wires still cross, small disturbances of the best order followed by more moves.
//!
//! All of it is deterministic; the same unit always gives the same order.

use super::improve::{Improver, turned};
use super::lanes::{Item, Station, Ways};
use super::order::{Cost, Order, is_bottom};
use super::plan::{Plan, Side};

/// Sweeps per start; orders settle after a few.
const SWEEPS: usize = 6;
/// Pairs of hops that may be looked at before the search ends: a fraction of a second.
const PAIRS: usize = 60_000_000;
/// Disturbances tried at most.
const KICKS: usize = 400;

/// How an item finds its place among its neighbours.
#[derive(Debug, Clone, Copy)]
enum Centre {
    Mean,
    Median,
}

/// Finds an order from scratch.
pub(super) fn search(plan: &Plan, ways: &Ways) -> (Order, Cost) {
    let job_order = Order::new(plan, ways);
    let mut best: Option<(Order, Cost)> = None;
    let mut budget = PAIRS;
    for centre in [None, Some(Centre::Mean), Some(Centre::Median)] {
        let mut order = job_order.clone();
        if let Some(centre) = centre {
            order = sweep(plan, ways, order, centre);
        }
        let improved = improve(plan, ways, order, &mut budget, PAIRS / 5);
        if best.as_ref().is_none_or(|(_, least)| improved.1 < *least) {
            best = Some(improved);
        }
    }
    let cost = job_order.cost(plan, ways);
    let (mut order, mut least) = best.unwrap_or((job_order, cost));
    let mut dice = Dice(1);
    for kick in 0..KICKS {
        if least.crossings == 0 || budget == 0 {
            break;
        }
        let mut disturbed = order.clone();
        if kick % 2 == 0 {
            for _ in 0..=dice.below(3) {
                disturb(plan, ways, &mut disturbed, &mut dice);
            }
        } else {
            shuffle(plan, ways, &mut disturbed, &mut dice);
            disturbed = sweep(plan, ways, disturbed, Centre::Mean);
            budget = budget.saturating_sub(2 * SWEEPS * ways.pairs());
        }
        let (other, cost) = improve(plan, ways, disturbed, &mut budget, PAIRS / 20);
        if cost < least {
            (order, least) = (other, cost);
        }
    }
    (order, least)
}

fn improve(plan: &Plan, ways: &Ways, order: Order, budget: &mut usize, most: usize) -> (Order, Cost) {
    let granted = most.min(*budget);
    let mut improver = Improver { plan, ways, order, budget: granted, settled: false };
    improver.run();
    *budget -= granted - improver.budget;
    let cost = improver.order.cost(plan, ways);
    (improver.order, cost)
}

/// Numbers without rule, the same every time (multiplier and increment of Knuth's MMIX generator).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % limit.max(1)
    }
}

/// Puts every column in an order without rule.
fn shuffle(plan: &Plan, ways: &Ways, order: &mut Order, dice: &mut Dice) {
    for column in 0..plan.columns {
        let items = &mut order.columns[column];
        for last in (1..items.len()).rev() {
            items.swap(last, dice.below(last + 1));
        }
        items.sort_by_key(|&item| is_bottom(plan, ways, item));
        order.rank(plan, column);
    }
}

/// Moves one item anywhere in its column, or turns the rows of one body.
fn disturb(plan: &Plan, ways: &Ways, order: &mut Order, dice: &mut Dice) {
    let column = dice.below(plan.columns);
    let count = order.columns[column].len();
    if count == 0 {
        return;
    }
    let index = dice.below(count);
    let item = order.columns[column][index];
    match item {
        Item::Body(body) if dice.below(2) == 0 => {
            let mut turns = turned(&order.rows[body], plan.bodies[body].freedom);
            if !turns.is_empty() {
                order.rows[body] = turns.swap_remove(dice.below(turns.len()));
            }
        }
        _ => {
            let item = order.columns[column].remove(index);
            order.columns[column].insert(dice.below(count), item);
            order.columns[column].sort_by_key(|&item| is_bottom(plan, ways, item));
        }
    }
    order.rank(plan, column);
}

/// Improves a given order; bodies move only where that saves crossings.
pub(super) fn settle(plan: &Plan, ways: &Ways, order: Order) -> Order {
    let mut improver = Improver { plan, ways, order, budget: PAIRS, settled: true };
    improver.run();
    improver.order
}

fn sweep(plan: &Plan, ways: &Ways, mut order: Order, centre: Centre) -> Order {
    let mut best = (order.cost(plan, ways), order.clone());
    for round in 0..SWEEPS {
        let forward = round % 2 == 0;
        for step in 0..plan.columns {
            let column = if forward { step } else { plan.columns - 1 - step };
            let channel = if forward { column } else { column + 1 };
            sort_by_neighbours(plan, ways, &mut order, column, channel, centre);
        }
        let cost = order.cost(plan, ways);
        if cost < best.0 {
            best = (cost, order.clone());
        }
    }
    best.1
}

fn sort_by_neighbours(plan: &Plan, ways: &Ways, order: &mut Order, column: usize, channel: usize, centre: Centre) {
    let border = if channel == column { Side::Right } else { Side::Left };
    let mut wanted: Vec<Vec<i64>> = vec![Vec::new(); plan.bodies.len() + ways.lanes.len()];
    for hop in &ways.hops[channel] {
        let ends = order.ends(plan, hop);
        for (own, other) in [(0, 1), (1, 0)] {
            if hop.ends[own].border == border && hop.ends[other].border != border {
                let index = match hop.ends[own].station {
                    Station::Terminal(terminal) => plan.places[terminal.0].0,
                    Station::Lane(lane) => plan.bodies.len() + lane,
                };
                wanted[index].push(ends[other].1.1);
            }
        }
    }
    let items = order.columns[column].clone();
    let mut keyed: Vec<(bool, i64, Item)> = Vec::with_capacity(items.len());
    let mut last = i64::MIN / 2;
    for item in items {
        let list = match item {
            Item::Body(body) => &mut wanted[body],
            Item::Lane(lane) => &mut wanted[plan.bodies.len() + lane],
        };
        list.sort_unstable();
        // An item without neighbours on that side stays beside the one before it.
        let key = match (list.len(), centre) {
            (0, _) => last,
            (count, Centre::Mean) => 100 * list.iter().sum::<i64>() / count as i64,
            (count, Centre::Median) => 50 * (list[(count - 1) / 2] + list[count / 2]),
        };
        last = key;
        keyed.push((is_bottom(plan, ways, item), key, item));
    }
    keyed.sort_by_key(|&(bottom, key, _)| (bottom, key));
    order.columns[column] = keyed.into_iter().map(|(_, _, item)| item).collect();
    order.rank(plan, column);
}
