//! Moves of single items, of rows and of whole wires, made while any of them helps.

use super::form::{Freedom, Row};
use super::lanes::{Item, Ways};
use super::order::{Cost, Order, is_bottom};
use super::plan::Plan;

/// Improves one order.
pub(super) struct Improver<'p> {
    pub(super) plan: &'p Plan,
    pub(super) ways: &'p Ways,
    pub(super) order: Order,
    /// Pairs of hops that may still be looked at.
    pub(super) budget: usize,
    /// Bodies and rows move only where that saves crossings.
    pub(super) settled: bool,
}

impl Improver<'_> {
    /// Moves until nothing helps or the budget is spent.
    pub(super) fn run(&mut self) {
        let mut improved = true;
        while improved && self.budget > 0 {
            improved = false;
            for column in 0..self.plan.columns {
                improved |= self.move_items(column);
                improved |= self.turn_rows(column);
            }
            for edge in 0..self.plan.edges.len() {
                improved |= self.move_wire(edge);
            }
        }
    }

    fn spend(&mut self, column: usize) {
        let pairs = |hops: usize| hops * hops / 2 + 8;
        let cost = pairs(self.ways.hops[column].len()) + pairs(self.ways.hops[column + 1].len());
        self.budget = self.budget.saturating_sub(cost);
    }

    /// Tries an order of a column's items or rows; keeps it if it is better.
    fn try_column(&mut self, column: usize, before: Cost, needs_fewer_crossings: bool) -> Option<Cost> {
        self.spend(column);
        self.order.rank(self.plan, column);
        let cost = self.order.column_cost(self.plan, self.ways, column);
        let better = if needs_fewer_crossings { cost.crossings < before.crossings } else { cost < before };
        better.then_some(cost)
    }

    /// Moves each item of a column to its best place.
    fn move_items(&mut self, column: usize) -> bool {
        let mut improved = false;
        for index in 0..self.order.columns[column].len() {
            let item = self.order.columns[column][index];
            let bottom = is_bottom(self.plan, self.ways, item);
            let mut without = self.order.columns[column].clone();
            without.remove(index);
            let mut least = self.order.column_cost(self.plan, self.ways, column);
            let mut best = self.order.columns[column].clone();
            let steady = self.settled && matches!(item, Item::Body(_));
            for place in 0..=without.len() {
                let above = place.checked_sub(1).map(|above| is_bottom(self.plan, self.ways, without[above]));
                let below = without.get(place).map(|&below| is_bottom(self.plan, self.ways, below));
                let misplaced = if bottom { below == Some(false) } else { above == Some(true) };
                if place == index || misplaced || self.budget == 0 {
                    continue;
                }
                let mut items = without.clone();
                items.insert(place, item);
                self.order.columns[column] = items;
                if let Some(cost) = self.try_column(column, least, steady) {
                    (least, best) = (cost, self.order.columns[column].clone());
                    improved = true;
                }
            }
            self.order.columns[column] = best;
            self.order.rank(self.plan, column);
        }
        improved
    }

    /// Puts the rows of the bodies of a column in their best order.
    fn turn_rows(&mut self, column: usize) -> bool {
        let mut improved = false;
        for index in 0..self.order.columns[column].len() {
            let Item::Body(body) = self.order.columns[column][index] else { continue };
            let mut least = self.order.column_cost(self.plan, self.ways, column);
            for turned in turned(&self.order.rows[body], self.plan.bodies[body].freedom) {
                if self.budget == 0 {
                    break;
                }
                let before = std::mem::replace(&mut self.order.rows[body], turned);
                match self.try_column(column, least, self.settled) {
                    Some(cost) => {
                        least = cost;
                        improved = true;
                    }
                    None => {
                        self.order.rows[body] = before;
                        self.order.rank(self.plan, column);
                    }
                }
            }
        }
        improved
    }

    /// Leads a wire of several lanes above or below everything on its way.
    fn move_wire(&mut self, edge: usize) -> bool {
        let lanes: Vec<usize> = (0..self.ways.lanes.len()).filter(|&lane| self.ways.lanes[lane].edge == edge).collect();
        if lanes.len() < 2 || self.budget == 0 {
            return false;
        }
        let before = self.order.clone();
        let cost_before = before.cost(self.plan, self.ways);
        self.budget = self.budget.saturating_sub(2 * self.ways.pairs());
        let ends = [0, usize::MAX];
        for place in ends {
            for &lane in &lanes {
                let column = self.ways.lanes[lane].column;
                let items = &mut self.order.columns[column];
                items.retain(|&item| item != Item::Lane(lane));
                let bottom = is_bottom(self.plan, self.ways, Item::Lane(lane));
                let upper = items.iter().filter(|&&item| !is_bottom(self.plan, self.ways, item)).count();
                let (first, last) = if bottom { (upper, items.len()) } else { (0, upper) };
                items.insert(place.clamp(first, last), Item::Lane(lane));
                self.order.rank(self.plan, column);
            }
            if self.order.cost(self.plan, self.ways) < cost_before {
                return true;
            }
            self.order = before.clone();
        }
        false
    }
}

/// Every order of rows one step away.
pub(super) fn turned(rows: &[Row], freedom: Freedom) -> Vec<Vec<Row>> {
    let mut found = Vec::new();
    if rows.len() < 2 {
        return found;
    }
    found.push(rows.iter().rev().copied().collect());
    for index in 1..rows.len() {
        match freedom {
            Freedom::Flip => {}
            Freedom::Rows => {
                let mut swapped = rows.to_vec();
                swapped.swap(index - 1, index);
                found.push(swapped);
            }
            Freedom::Sides => {
                for side in 0..2 {
                    found.push(with_swapped(rows, side, index));
                }
            }
            Freedom::Blocks if rows[index - 1].block == rows[index].block => {
                // Only the ends of which every row has one trade places; the common end stays in the middle.
                let block = rows[index].block;
                for side in 0..2 {
                    if rows.iter().filter(|row| row.block == block).all(|row| row.ends[side].is_some()) {
                        found.push(with_swapped(rows, side, index));
                        break;
                    }
                }
            }
            Freedom::Blocks => {
                let (above, below) = (rows[index - 1].block, rows[index].block);
                let mut swapped: Vec<Row> = rows.iter().filter(|row| row.block != above).copied().collect();
                let place = 1 + swapped.iter().rposition(|row| row.block == below).unwrap_or(0);
                let moved: Vec<Row> = rows.iter().filter(|row| row.block == above).copied().collect();
                swapped.splice(place..place, moved);
                found.push(swapped);
            }
        }
    }
    found
}

fn with_swapped(rows: &[Row], side: usize, index: usize) -> Vec<Row> {
    let mut swapped = rows.to_vec();
    swapped[index].ends[side] = rows[index - 1].ends[side];
    swapped[index - 1].ends[side] = rows[index].ends[side];
    swapped
}
