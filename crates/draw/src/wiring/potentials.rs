//! How far along the way from hot to neutral each terminal lies: the potentials of the unit if every path inside its
//! parts had one and the same resistance.

use super::conduction::{Conduction, End};
use super::plan::Edge;
use bench::{TerminalId, Unit};

/// Conductance that draws floating and dead-ended points gently toward `RESTING`, over that of a path.
const LEAK: f64 = 1e-3;
/// Where points that lead nowhere come to rest: nearer to neutral, so that dead ends lead away from hot.
const RESTING: f64 = 0.3;
const SWEEPS: usize = 3000;

/// Groups of terminals joined by wires, and what the groups are joined to.
#[derive(Debug)]
pub(super) struct Nets {
    root: Vec<usize>,
}

impl Nets {
    /// Joins terminals by wires alone.
    pub(super) fn of_wires(unit: &Unit, edges: &[Edge]) -> Self {
        let mut nets = Nets { root: (0..unit.terminal_count()).collect() };
        for edge in edges {
            nets.join(edge.ends[0], edge.ends[1]);
        }
        nets
    }

    /// Joins terminals that lie inside one part, too.
    pub(super) fn join_parts(&mut self, conduction: &Conduction) {
        let mut inner: Vec<(usize, TerminalId)> = Vec::new();
        for path in conduction.paths.iter().flatten() {
            let terminals = path.ends.map(|end| match end {
                End::Terminal(terminal) => Some(terminal),
                End::Inner(point) => inner.iter().find(|(known, _)| *known == point).map(|&(_, terminal)| terminal),
            });
            match (path.ends, terminals) {
                (_, [Some(a), Some(b)]) => self.join(a, b),
                ([_, End::Inner(point)], [Some(a), None]) | ([End::Inner(point), _], [None, Some(a)]) => {
                    inner.push((point, a));
                }
                _ => {}
            }
        }
    }

    fn join(&mut self, a: TerminalId, b: TerminalId) {
        let (a, b) = (self.net(a), self.net(b));
        for root in &mut self.root {
            if *root == a.max(b) {
                *root = a.min(b);
            }
        }
    }

    /// The net of a terminal, named by its lowest terminal.
    pub(super) fn net(&self, terminal: TerminalId) -> usize {
        self.root[terminal.0]
    }
}

/// Potential of every terminal: 1 where a live conductor comes in, 0 at neutral.
pub(super) fn potentials(unit: &Unit, conduction: &Conduction, nets: &Nets, fixed: &[(TerminalId, f64)]) -> Vec<f64> {
    let inner = conduction.paths.iter().flatten().flat_map(|path| path.ends);
    let inner = inner.filter_map(|end| if let End::Inner(point) = end { Some(point + 1) } else { None }).max();
    let count = unit.terminal_count();
    let node = |end: End| match end {
        End::Terminal(terminal) => nets.net(terminal),
        End::Inner(point) => count + point,
    };
    let mut beside: Vec<Vec<usize>> = vec![Vec::new(); count + inner.unwrap_or(0)];
    for path in conduction.paths.iter().flatten() {
        let [a, b] = path.ends.map(node);
        if a != b {
            beside[a].push(b);
            beside[b].push(a);
        }
    }
    let mut held = vec![None; beside.len()];
    for &(terminal, value) in fixed {
        held[nets.net(terminal)].get_or_insert(value);
    }
    let mut value: Vec<f64> = held.iter().map(|held| held.unwrap_or(RESTING)).collect();
    for _ in 0..SWEEPS {
        let mut change: f64 = 0.0;
        for (node, others) in beside.iter().enumerate() {
            if held[node].is_some() || others.is_empty() {
                continue;
            }
            let sum: f64 = others.iter().map(|&other| value[other]).sum();
            let next = (sum + LEAK * RESTING) / (others.len() as f64 + LEAK);
            change = change.max((next - value[node]).abs());
            value[node] = next;
        }
        if change < 1e-9 {
            break;
        }
    }
    (0..count).map(|terminal| value[nets.net(TerminalId(terminal))]).collect()
}
