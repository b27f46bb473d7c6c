//! Heights: every item of a column keeps its order and comes as near as it can to what it is wired to.
//!
//! For a column in a given order, the heights with the least sum of absolute distances are those of isotonic regression
//! in the L1 norm, found by pooling adjacent violators with medians; so wires come out straight rather than nearly so.

use super::form::Form;
use super::lanes::{Item, Station, Ways};
use super::order::{Order, is_bottom};
use super::plan::{Plan, Side};
use super::size::{PITCH, STEP, Size};
use bench::TerminalId;

/// Sweeps to and fro; heights settle after a few.
const SWEEPS: usize = 8;
/// Rounds of straightening afterwards.
const STRAIGHTENINGS: usize = 3;

/// What has a height of its own: an item, or one wire's place on a rail.
#[derive(Debug, Clone)]
struct Block {
    height: f64,
    /// Room above, to the block before.
    gap: f64,
    y: f64,
}

/// One end of a hop: the block it is on and how far below that block's top.
type Port = (usize, f64);

/// Heights of everything.
#[derive(Debug)]
pub(super) struct Heights {
    blocks: Vec<Block>,
    columns: Vec<Vec<usize>>,
    /// How many blocks of every column do not belong to the bottom.
    upper: Vec<usize>,
    /// By channel and hop: both ends.
    ports: Vec<Vec<[Port; 2]>>,
    /// First block of every body.
    of_body: Vec<usize>,
    /// Height of everything.
    pub(super) total: f64,
}

impl Heights {
    /// Heights for an order.
    pub(super) fn of(plan: &Plan, ways: &Ways, order: &Order, sizes: &[Size]) -> Self {
        let ports = ways.hops.iter().map(|hops| vec![[(0, 0.0); 2]; hops.len()]).collect();
        let mut heights = Heights {
            blocks: Vec::new(),
            columns: vec![Vec::new(); plan.columns],
            upper: vec![0; plan.columns],
            ports,
            of_body: vec![0; plan.bodies.len()],
            total: 0.0,
        };
        for column in 0..plan.columns {
            heights.add_column(plan, ways, order, sizes, column);
            heights.close_column(plan, ways, order, column);
        }
        heights.stack();
        for sweep in 0..SWEEPS {
            let both = sweep >= SWEEPS / 2;
            for step in 0..plan.columns {
                let column = if sweep % 2 == 0 { step } else { plan.columns - 1 - step };
                heights.draw_near(column, [usize::from(both || sweep % 2 == 0), usize::from(both || sweep % 2 == 1)]);
            }
        }
        for column in 0..plan.columns {
            // What is on the left stands already, so that it counts more.
            heights.draw_near(column, [2, 1]);
            heights.keep_clear(ways, column, 0..heights.upper[column]);
        }
        for _ in 0..STRAIGHTENINGS {
            for column in (0..plan.columns).rev() {
                heights.straighten(ways, column);
            }
        }
        heights.lay_bottom(ways);
        heights.lift();
        heights
    }

    /// Height of the end of a hop.
    pub(super) fn end(&self, channel: usize, hop: usize, end: usize) -> f64 {
        let (block, offset) = self.ports[channel][hop][end];
        self.blocks[block].y + offset
    }

    /// Top of a body.
    pub(super) fn body(&self, body: usize) -> f64 {
        self.blocks[self.of_body[body]].y
    }

    /// A column without bottom items is all upper.
    fn close_column(&mut self, plan: &Plan, ways: &Ways, order: &Order, column: usize) {
        if !order.columns[column].iter().any(|&item| is_bottom(plan, ways, item)) {
            self.upper[column] = self.columns[column].len();
        }
    }

    fn add_column(&mut self, plan: &Plan, ways: &Ways, order: &Order, sizes: &[Size], column: usize) {
        let items = &order.columns[column];
        let upper = items.iter().filter(|&&item| !is_bottom(plan, ways, item)).count();
        for (index, &item) in items.iter().enumerate() {
            let gap = match (index.checked_sub(1).map(|above| items[above]), item) {
                (None, _) | (Some(Item::Lane(_)), Item::Lane(_)) => 0.0,
                (Some(Item::Body(_)), Item::Body(_)) => PITCH,
                _ => STEP,
            };
            let first = self.blocks.len();
            if index == upper {
                self.upper[column] = self.columns[column].len();
            }
            match item {
                Item::Lane(lane) => {
                    self.add_block(column, PITCH, gap);
                    for (channel, border) in [(column, Side::Right), (column + 1, Side::Left)] {
                        self.set_ports(ways, channel, border, Station::Lane(lane), |_| (first, STEP));
                    }
                }
                Item::Body(body) => {
                    self.of_body[body] = first;
                    self.add_block(column, sizes[body].height(), gap);
                    let is_rail = upper == 1 && plan.bodies[body].form == Form::Feed && !plan.bodies[body].bottom;
                    for (row, ends) in order.rows[body].iter().enumerate() {
                        let middle = sizes[body].row_middle(row);
                        for (side, terminal) in
                            ends.ends.iter().enumerate().filter_map(|(side, end)| Some((side, (*end)?)))
                        {
                            self.add_terminal(ways, order, plan, column, (side, terminal), middle, is_rail, first);
                        }
                    }
                }
            }
        }
    }

    /// Lays what belongs to earth below everything else in its columns, on one level.
    fn lay_bottom(&mut self, ways: &Ways) {
        let mut floor = f64::NEG_INFINITY;
        for (column, &upper) in self.columns.iter().zip(&self.upper) {
            let last = column[..upper].last().filter(|_| upper < column.len());
            floor = last.map_or(floor, |&block| floor.max(self.blocks[block].y + self.blocks[block].height + PITCH));
        }
        if floor == f64::NEG_INFINITY {
            floor = 0.0;
        }
        for column in 0..self.columns.len() {
            for index in self.upper[column]..self.columns[column].len() {
                let block = self.columns[column][index];
                self.blocks[block].y = floor;
            }
            self.keep_clear(ways, column, self.upper[column]..self.columns[column].len());
        }
    }

    /// Moves single blocks to where more of their wires run straight.
    fn straighten(&mut self, ways: &Ways, column: usize) {
        let ends: Vec<(usize, usize, usize)> = [(column, Side::Right), (column + 1, Side::Left)]
            .into_iter()
            .flat_map(|(channel, border)| ends_at(ways, channel, border).map(move |(hop, end)| (channel, hop, end)))
            .collect();
        for index in 0..self.upper[column] {
            let block = self.columns[column][index];
            let own: Vec<(usize, usize, usize)> = ends
                .iter()
                .copied()
                .filter(|&(channel, hop, end)| {
                    let ports = self.ports[channel][hop];
                    ports[end].0 == block && ports[1 - end].0 != block
                })
                .collect();
            let above = index.checked_sub(1).map(|above| &self.blocks[self.columns[column][above]]);
            let least = above.map_or(f64::NEG_INFINITY, |above| above.y + above.height + self.blocks[block].gap);
            let below = self.columns[column][..self.upper[column]].get(index + 1).map(|&below| &self.blocks[below]);
            let most = below.map_or(f64::INFINITY, |below| below.y - below.gap - self.blocks[block].height);
            let offset = |&(channel, hop, end): &(usize, usize, usize)| self.ports[channel][hop][end].1;
            let other = |&(channel, hop, end): &(usize, usize, usize)| self.end(channel, hop, 1 - end);
            let straight = |y: f64| own.iter().filter(|end| y + offset(end) == other(end)).count();
            let clear = |y: f64| {
                own.iter().all(|own| {
                    let (channel, hop, end) = *own;
                    let border = ways.hops[channel][hop].ends[end].border;
                    let across = if border == Side::Left { Side::Right } else { Side::Left };
                    ends_at(ways, channel, across)
                        .all(|(facing, end)| facing == hop || self.end(channel, facing, end) != y + offset(own))
                })
            };
            let current = straight(self.blocks[block].y);
            let candidates = own.iter().map(|end| other(end) - offset(end));
            let better = candidates
                .filter(|&y| y >= least && y <= most && straight(y) > current && clear(y))
                .max_by(|a, b| straight(*a).cmp(&straight(*b)).then(b.total_cmp(a)));
            if let Some(y) = better {
                self.blocks[block].y = y;
            }
        }
    }

    /// Places of the wires on a terminal: side by side about its height, or on a rail each where it likes.
    #[allow(clippy::too_many_arguments)]
    fn add_terminal(
        &mut self,
        ways: &Ways,
        order: &Order,
        plan: &Plan,
        column: usize,
        (side, terminal): (usize, TerminalId),
        middle: f64,
        is_rail: bool,
        body_block: usize,
    ) {
        let (channel, border) = if side == 0 { (column, Side::Right) } else { (column + 1, Side::Left) };
        let sorted = sorted_slots(ways, order, plan, channel, border, terminal);
        let count = sorted.len() as f64;
        for (slot, (hop, end)) in sorted.into_iter().enumerate() {
            self.ports[channel][hop][end] = match slot {
                0 if is_rail => (body_block, middle),
                _ if is_rail => {
                    self.add_block(column, PITCH, 0.0);
                    (self.blocks.len() - 1, STEP)
                }
                _ => (body_block, middle + PITCH * (slot as f64 - (count - 1.0) / 2.0)),
            };
        }
    }

    fn add_block(&mut self, column: usize, height: f64, gap: f64) {
        self.columns[column].push(self.blocks.len());
        self.blocks.push(Block { height, gap, y: 0.0 });
    }

    fn set_ports(&mut self, ways: &Ways, channel: usize, border: Side, station: Station, port: impl Fn(usize) -> Port) {
        for (index, hop) in ways.hops[channel].iter().enumerate() {
            for (end, there) in hop.ends.iter().enumerate() {
                if there.border == border && there.station == station {
                    self.ports[channel][index][end] = port(index);
                }
            }
        }
    }

    /// Everything as high as it goes.
    fn stack(&mut self) {
        for column in &self.columns {
            let mut y = 0.0;
            for &block in column {
                y += self.blocks[block].gap;
                self.blocks[block].y = y;
                y += self.blocks[block].height;
            }
        }
    }

    /// Moves the blocks of a column toward what they are wired to on the left and on the right, as often as weighed.
    fn draw_near(&mut self, column: usize, weights: [usize; 2]) {
        let mut wanted: Vec<Vec<f64>> = vec![Vec::new(); self.blocks.len()];
        for (side, channel) in [(0, column), (1, column + 1)] {
            for ends in self.ports[channel].iter().flat_map(|ends| std::iter::repeat_n(ends, weights[side])) {
                for (own, other) in [(ends[0], ends[1]), (ends[1], ends[0])] {
                    if self.columns[column].contains(&own.0) && own.0 != other.0 {
                        wanted[own.0].push(self.blocks[other.0].y + other.1 - own.1);
                    }
                }
            }
        }
        // Pools of blocks that move together: what each wants of the pool's first block, and how many they are.
        let mut pools: Vec<(Vec<f64>, usize)> = Vec::new();
        let mut offset = 0.0;
        let mut offsets = Vec::with_capacity(self.upper[column]);
        let blocks = self.columns[column][..self.upper[column]].to_vec();
        for &block in &blocks {
            offset += self.blocks[block].gap;
            offsets.push(offset);
            let mut list: Vec<f64> = wanted[block].iter().map(|y| y - offset).collect();
            if list.is_empty() {
                list.push(self.blocks[block].y - offset);
            }
            offset += self.blocks[block].height;
            pools.push((list, 1));
            while let [.., above, below] = &mut pools[..] {
                if median(&mut above.0) <= median(&mut below.0) {
                    break;
                }
                above.0.append(&mut below.0);
                above.1 += below.1;
                pools.pop();
            }
        }
        let mut index = 0;
        for (mut list, count) in pools {
            let y = (median(&mut list) / STEP).round() * STEP;
            for _ in 0..count {
                self.blocks[blocks[index]].y = y + offsets[index];
                index += 1;
            }
        }
    }

    /// Pushes blocks down until no wire end is level with that of another wire across the channel on the left.
    fn keep_clear(&mut self, ways: &Ways, column: usize, blocks: std::ops::Range<usize>) {
        let across: Vec<(usize, f64)> =
            ends_at(ways, column, Side::Left).map(|(hop, end)| (hop, self.end(column, hop, end))).collect();
        let own: Vec<(usize, usize)> = ends_at(ways, column, Side::Right).collect();
        let mut floor = f64::NEG_INFINITY;
        for index in blocks {
            let block = self.columns[column][index];
            let least = floor + self.blocks[block].gap;
            if self.blocks[block].y < least {
                self.blocks[block].y = least;
            }
            let ports: Vec<(usize, f64)> = own
                .iter()
                .filter(|&&(hop, end)| self.ports[column][hop][end].0 == block)
                .map(|&(hop, end)| (hop, self.ports[column][hop][end].1))
                .collect();
            let meets = |y: f64| {
                ports.iter().any(|&(hop, offset)| {
                    across.iter().any(|&(other, level)| other != hop && (level - y - offset).abs() < STEP / 2.0)
                })
            };
            while meets(self.blocks[block].y) {
                self.blocks[block].y += STEP;
            }
            floor = self.blocks[block].y + self.blocks[block].height;
        }
    }

    /// Puts the highest block at zero.
    fn lift(&mut self) {
        let top = self.blocks.iter().map(|block| block.y).fold(f64::INFINITY, f64::min);
        let top = if top.is_finite() { top } else { 0.0 };
        for block in &mut self.blocks {
            block.y -= top;
        }
        self.total = self.blocks.iter().map(|block| block.y + block.height).fold(0.0, f64::max);
    }
}

/// Ends of the hops of a channel on one border, as hop and end.
fn ends_at(ways: &Ways, channel: usize, border: Side) -> impl Iterator<Item = (usize, usize)> {
    ways.hops[channel].iter().enumerate().flat_map(move |(index, hop)| {
        hop.ends.into_iter().enumerate().filter(move |(_, end)| end.border == border).map(move |(end, _)| (index, end))
    })
}

/// The wires on a terminal from the top, such that none crosses another of them.
fn sorted_slots(
    ways: &Ways,
    order: &Order,
    plan: &Plan,
    channel: usize,
    border: Side,
    terminal: TerminalId,
) -> Vec<(usize, usize)> {
    let mut slots: Vec<((i64, i64), (usize, usize))> = Vec::new();
    for (index, end) in ends_at(ways, channel, border) {
        let hop = &ways.hops[channel][index];
        if hop.ends[end].station != Station::Terminal(terminal) {
            continue;
        }
        let ends = order.ends(plan, hop);
        let (own, (other_border, other)) = (ends[end].1.0, ends[1 - end]);
        // Turning back upward: nearest on top; going across: as over there; turning back downward: nearest below.
        let key = match other_border {
            _ if other_border != border => (1, other.0),
            _ if other.0 < own => (0, -other.0),
            _ => (2, -other.0),
        };
        slots.push((key, (index, end)));
    }
    slots.sort_by_key(|&(key, place)| (key, place));
    slots.into_iter().map(|(_, place)| place).collect()
}

/// Lower median.
fn median(list: &mut [f64]) -> f64 {
    list.sort_unstable_by(f64::total_cmp);
    list.get(list.len().saturating_sub(1) / 2).copied().unwrap_or(0.0)
}
