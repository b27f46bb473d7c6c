//! How edges pass the columns: lanes through columns, hops through the channels between them.

use super::plan::{Plan, Side};
use bench::TerminalId;

/// Something that stands in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Item {
    /// A body, by index.
    Body(usize),
    /// A lane, by index.
    Lane(usize),
}

/// A way straight through a column, between its bodies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Lane {
    pub(super) edge: usize,
    pub(super) column: usize,
}

/// Where a hop ends on the border of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Station {
    /// At a terminal.
    Terminal(TerminalId),
    /// At a lane.
    Lane(usize),
}

/// End of a hop: the border of the channel and the station there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct HopEnd {
    /// `Left` is the right side of the column left of the channel.
    pub(super) border: Side,
    pub(super) station: Station,
}

/// The way of an edge through one channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hop {
    pub(super) edge: usize,
    pub(super) ends: [HopEnd; 2],
}

/// All lanes and hops of a plan.
#[derive(Debug)]
pub(super) struct Ways {
    pub(super) lanes: Vec<Lane>,
    /// Hops by channel.
    pub(super) hops: Vec<Vec<Hop>>,
    /// For every edge its hops in order from its first end, as channel and index.
    pub(super) of_edge: Vec<Vec<(usize, usize)>>,
}

impl Ways {
    /// Finds the way of every edge: through every column between the channels of its ends.
    pub(super) fn of(plan: &Plan) -> Self {
        let mut ways = Ways {
            lanes: Vec::new(),
            hops: vec![Vec::new(); plan.columns + 1],
            of_edge: vec![Vec::new(); plan.edges.len()],
        };
        for (index, edge) in plan.edges.iter().enumerate() {
            let border = |terminal: TerminalId| match plan.places[terminal.0].1 {
                Side::Left => Side::Right,
                Side::Right => Side::Left,
            };
            let [mut start, finish] =
                edge.ends.map(|end| HopEnd { border: border(end), station: Station::Terminal(end) });
            let [mut channel, last] = edge.ends.map(|end| plan.channel(end));
            while channel != last {
                let forward = last > channel;
                let column = if forward { channel } else { channel - 1 };
                ways.lanes.push(Lane { edge: index, column });
                let station = Station::Lane(ways.lanes.len() - 1);
                let (here, there) = if forward { (Side::Right, Side::Left) } else { (Side::Left, Side::Right) };
                ways.add(channel, Hop { edge: index, ends: [start, HopEnd { border: here, station }] });
                start = HopEnd { border: there, station };
                channel = if forward { channel + 1 } else { channel - 1 };
            }
            ways.add(channel, Hop { edge: index, ends: [start, finish] });
        }
        ways
    }

    /// Pairs of hops that share a channel: what it takes to count all crossings.
    pub(super) fn pairs(&self) -> usize {
        self.hops.iter().map(|hops| hops.len() * hops.len() / 2 + 8).sum()
    }

    fn add(&mut self, channel: usize, hop: Hop) {
        self.of_edge[hop.edge].push((channel, self.hops[channel].len()));
        self.hops[channel].push(hop);
    }
}
