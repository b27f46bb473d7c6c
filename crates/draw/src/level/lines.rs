//! Which nets share a line, and how high each line is drawn.
//!
//! Nets of nearly the same volts share a line unless something that counts stands between them. Heights follow the
//! volts of all panels on one scale, in proportion where there is room; lines that something must stand or be read
//! between are pushed apart, and everything above them up. So more volts are never drawn lower.

use super::panel::Panel;
use super::scale::{SAME_LEVEL, Scale, is_defined, usable};

/// Height of the highest level where nothing is pushed apart.
const NATURAL_HEIGHT: f64 = 330.0;
/// Least distance of two lines of one panel.
const LEAST_GAP: f64 = 14.0;
/// Share of the highest level within which lines of different panels are drawn at one height.
const LEVEL_WITH: f64 = 0.005;

/// One horizontal line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    /// Its nets, by index in the panel's levels, from low to high.
    pub(super) levels: Vec<usize>,
    /// The same, those together that sound conductors of the cord join; others only happen to be as high.
    pub(super) pieces: Vec<Vec<usize>>,
    /// Volts of the lowest of them.
    pub(super) volts: f64,
    /// Height above the lowest line.
    pub(super) height: f64,
}

/// The lines of a panel from low to high.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Lines {
    pub(super) lines: Vec<Line>,
    /// For each level of the panel its line; none without a defined potential.
    pub(super) line_of: Vec<Option<usize>>,
}

/// Two lines of a panel that must be some way apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    pub(super) panel: usize,
    pub(super) low: usize,
    pub(super) high: usize,
    pub(super) distance: f64,
}

/// Puts the levels of a panel on lines, heights still open.
pub(super) fn of_panel(panel: &Panel, scale: &Scale) -> Lines {
    let mut order: Vec<usize> = (0..panel.levels.len()).filter(|&level| is_defined(&panel.levels[level])).collect();
    order.sort_by(|&a, &b| panel.levels[a].volts.total_cmp(&panel.levels[b].volts));
    let apart: Vec<(usize, usize)> = usable(panel)
        .filter(|standing| !scale.conducts(standing) && !scale.dead(standing))
        .map(|standing| (standing.from_level, standing.to_level))
        .collect();
    let mut lines: Vec<Line> = Vec::new();
    let mut line_of = vec![None; panel.levels.len()];
    for level in order {
        let volts = panel.levels[level].volts;
        let joins = lines.last().is_some_and(|line| {
            let near = volts - line.volts < SAME_LEVEL * scale.volts;
            let between = |&other: &usize| apart.contains(&(other, level)) || apart.contains(&(level, other));
            near && !line.levels.iter().any(between)
        });
        match lines.last_mut() {
            Some(line) if joins => line.levels.push(level),
            _ => lines.push(Line { levels: vec![level], pieces: Vec::new(), volts, height: 0.0 }),
        }
        line_of[level] = Some(lines.len() - 1);
    }
    let joined: Vec<(usize, usize)> = usable(panel)
        .filter(|standing| scale.conducts(standing))
        .map(|standing| (standing.from_level, standing.to_level))
        .collect();
    for line in &mut lines {
        line.pieces = pieces(&line.levels, &joined);
    }
    Lines { lines, line_of }
}

/// Splits levels into those that are joined.
fn pieces(levels: &[usize], joined: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut pieces: Vec<Vec<usize>> = levels.iter().map(|&level| vec![level]).collect();
    for &(a, b) in joined {
        let place = |wanted: usize| pieces.iter().position(|piece| piece.contains(&wanted));
        if let (Some(first), Some(second)) = (place(a), place(b))
            && first != second
        {
            let moved = pieces.swap_remove(first.max(second));
            pieces[first.min(second)].extend(moved);
        }
    }
    pieces
}

/// Gives every line its height.
pub(super) fn set_heights(panels: &mut [Lines], needs: &[Need], top_volts: f64) {
    let mut items: Vec<(usize, usize, f64)> = panels
        .iter()
        .enumerate()
        .flat_map(|(panel, lines)| lines.lines.iter().enumerate().map(move |(line, each)| (panel, line, each.volts)))
        .collect();
    items.sort_by(|a, b| a.2.total_cmp(&b.2).then(a.1.cmp(&b.1)).then(a.0.cmp(&b.0)));
    let per_volt = NATURAL_HEIGHT / top_volts;
    let mut below: Option<(f64, f64)> = None;
    let mut rest = items.as_slice();
    while let Some(&(_, _, volts)) = rest.first() {
        let (together, others) = rest.split_at(level_with(rest, top_volts));
        let mut height = below.map_or(0.0, |(height, other)| height + per_volt * (volts - other));
        for &(panel, line, _) in together {
            if line > 0 {
                height = height.max(panels[panel].lines[line - 1].height + LEAST_GAP);
            }
            for need in needs.iter().filter(|need| need.panel == panel && need.high == line) {
                height = height.max(panels[panel].lines[need.low].height + need.distance);
            }
        }
        for &(panel, line, _) in together {
            panels[panel].lines[line].height = height;
        }
        below = Some((height, volts));
        rest = others;
    }
}

/// How many of the lowest lines are drawn at one height: at most one of each panel, of nearly the same volts.
fn level_with(items: &[(usize, usize, f64)], top_volts: f64) -> usize {
    let (first_panel, _, volts) = items[0];
    let mut seen = vec![first_panel];
    for &(panel, _, other) in &items[1..] {
        if seen.contains(&panel) || other - volts > LEVEL_WITH * top_volts {
            break;
        }
        seen.push(panel);
    }
    seen.len()
}
