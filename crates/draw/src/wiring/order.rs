//! The order of things within columns, and what it costs in crossings.

use super::form::Row;
use super::lanes::{Hop, Item, Station, Ways};
use super::plan::{Plan, Side};

/// Rows that captions take above a body, about, when heights are compared during ordering.
const CAPTION_ROWS: i64 = 2;

/// What an order costs: crossings first, then how far wires climb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Cost {
    pub(super) crossings: usize,
    pub(super) climb: i64,
}

impl std::ops::Add for Cost {
    type Output = Cost;

    fn add(self, other: Cost) -> Cost {
        Cost { crossings: self.crossings + other.crossings, climb: self.climb + other.climb }
    }
}

/// Order of the items of every column and of the rows of every body.
#[derive(Debug, Clone)]
pub(super) struct Order {
    pub(super) columns: Vec<Vec<Item>>,
    pub(super) rows: Vec<Vec<Row>>,
    /// Rank and about twice the height of every station, terminals first, then lanes: on the left side, on the right.
    ranks: Vec<[(i64, i64); 2]>,
}

impl Order {
    /// Everything in the order of the job.
    pub(super) fn new(plan: &Plan, ways: &Ways) -> Self {
        let mut columns: Vec<Vec<Item>> = vec![Vec::new(); plan.columns];
        for (index, body) in plan.bodies.iter().enumerate() {
            columns[body.column].push(Item::Body(index));
        }
        for (index, lane) in ways.lanes.iter().enumerate() {
            columns[lane.column].push(Item::Lane(index));
        }
        let rows = plan.bodies.iter().map(|body| body.rows.clone()).collect();
        let ranks = vec![[(0, 0); 2]; plan.places.len() + ways.lanes.len()];
        let mut order = Order { columns, rows, ranks };
        for column in 0..plan.columns {
            order.columns[column].sort_by_key(|&item| is_bottom(plan, ways, item));
            order.rank(plan, column);
        }
        order
    }

    /// Ranks the stations of a column anew.
    pub(super) fn rank(&mut self, plan: &Plan, column: usize) {
        let mut height = 0;
        let mut next = [0; 2];
        for &item in &self.columns[column] {
            match item {
                Item::Lane(lane) => {
                    for (side, next) in next.iter_mut().enumerate() {
                        self.ranks[plan.places.len() + lane][side] = (*next, height);
                        *next += 1;
                    }
                    height += 2;
                }
                Item::Body(body) => {
                    height += 2 * CAPTION_ROWS;
                    for row in &self.rows[body] {
                        for (side, end) in row.ends.iter().enumerate() {
                            if let Some(terminal) = end {
                                self.ranks[terminal.0][side] = (next[side], height);
                                next[side] += 1;
                            }
                        }
                        height += 2;
                    }
                }
            }
        }
        // Heights count from the middle of the column.
        for &item in &self.columns[column] {
            match item {
                Item::Lane(lane) => {
                    self.ranks[plan.places.len() + lane].iter_mut().for_each(|(_, y)| *y -= height / 2);
                }
                Item::Body(body) => {
                    let ends = self.rows[body].iter().flat_map(|row| row.ends.into_iter().enumerate());
                    for (side, terminal) in ends.filter_map(|(side, end)| Some((side, end?))) {
                        self.ranks[terminal.0][side].1 -= height / 2;
                    }
                }
            }
        }
    }

    /// Rank and height of the ends of a hop; the left border's end first where the borders differ.
    pub(super) fn ends(&self, plan: &Plan, hop: &Hop) -> [(Side, (i64, i64)); 2] {
        hop.ends.map(|end| {
            // The left border of a channel is the right side of a column.
            let side = usize::from(end.border == Side::Left);
            let index = match end.station {
                Station::Terminal(terminal) => terminal.0,
                Station::Lane(lane) => plan.places.len() + lane,
            };
            (end.border, self.ranks[index][side])
        })
    }

    /// Cost of one channel.
    ///
    /// Wires that meet at a terminal do not cross, since their places on it can be chosen; other pairs cross once if
    /// their ends alternate around the channel, and then whatever their tracks.
    pub(super) fn channel_cost(&self, plan: &Plan, hops: &[Hop]) -> Cost {
        let mut cost = Cost::default();
        let mut through: Vec<(i64, i64)> = Vec::with_capacity(hops.len());
        let mut turning: [Vec<(i64, i64)>; 2] = [Vec::new(), Vec::new()];
        for hop in hops {
            let [(side, a), (other, b)] = self.ends(plan, hop);
            cost.climb += (a.1 - b.1).abs();
            match (side, other) {
                (Side::Left, Side::Right) => through.push((a.0, b.0)),
                (Side::Right, Side::Left) => through.push((b.0, a.0)),
                _ => turning[usize::from(side == Side::Right)].push((a.0.min(b.0), a.0.max(b.0))),
            }
        }
        for (index, &(left, right)) in through.iter().enumerate() {
            cost.crossings += through[index + 1..]
                .iter()
                .filter(|(l, r)| (left < *l && right > *r) || (left > *l && right < *r))
                .count();
            for (border, turning) in turning.iter().enumerate() {
                let at = if border == 0 { left } else { right };
                cost.crossings += turning.iter().filter(|(a, b)| *a < at && at < *b).count();
            }
        }
        for turning in &turning {
            for (index, &(a, b)) in turning.iter().enumerate() {
                let alternate = |c: i64, d: i64| (a < c && c < b && b < d) || (c < a && a < d && d < b);
                cost.crossings += turning[index + 1..].iter().filter(|(c, d)| alternate(*c, *d)).count();
            }
        }
        cost
    }

    /// Cost of the two channels beside a column.
    pub(super) fn column_cost(&self, plan: &Plan, ways: &Ways, column: usize) -> Cost {
        self.channel_cost(plan, &ways.hops[column]) + self.channel_cost(plan, &ways.hops[column + 1])
    }

    /// Cost of everything.
    pub(super) fn cost(&self, plan: &Plan, ways: &Ways) -> Cost {
        ways.hops.iter().map(|hops| self.channel_cost(plan, hops)).fold(Cost::default(), std::ops::Add::add)
    }
}

/// Whether an item belongs to earth and stays at the bottom of its column.
pub(super) fn is_bottom(plan: &Plan, ways: &Ways, item: Item) -> bool {
    match item {
        Item::Body(body) => plan.bodies[body].bottom,
        Item::Lane(lane) => {
            plan.edges[ways.lanes[lane].edge].ends.iter().all(|end| plan.bodies[plan.places[end.0].0].bottom)
        }
    }
}
