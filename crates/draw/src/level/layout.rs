//! Where everything in a level picture goes, before anything is drawn.

use super::columns::{self, Stand};
use super::lines::{self, Lines, Need};
use super::panel::Panel;
use super::scale::{Flow, Scale, usable};
use super::{arrow, words};
use crate::fit::spread;

/// Least height of an arrow.
const LEAST_ARROW: f64 = 30.0;
/// Distance of things beside each other.
const GAP: f64 = 5.0;
/// Room for the lines' labels beside each panel.
pub(super) const GUTTER: f64 = 104.0;
/// Room to the right of a column.
const COLUMN_GAP: f64 = 8.0;

/// A column of elements.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    /// Part whose elements stand in it.
    pub(super) part: String,
    /// Left edge, from the left edge of the panel's columns.
    pub(super) left: f64,
    /// Where its labels begin, from the same.
    pub(super) label_left: f64,
    /// Right edge of its labels, from the same.
    pub(super) right: f64,
}

/// The layout of all panels; heights count upwards from the lowest line.
#[derive(Debug)]
pub(super) struct Layout<'p> {
    pub(super) scale: Scale,
    pub(super) columns: Vec<Column>,
    pub(super) panels: Vec<PanelLayout<'p>>,
    /// Height of whatever stands highest.
    pub(super) height: f64,
}

/// The layout of one panel.
#[derive(Debug)]
pub(super) struct PanelLayout<'p> {
    pub(super) panel: &'p Panel,
    pub(super) lines: Lines,
    pub(super) stands: Vec<Stand<'p>>,
    /// Label of each line, the volts last, and the height of its middle.
    pub(super) labels: Vec<(Vec<String>, f64)>,
    /// Elements whose two nets share a line, with nothing to draw between.
    pub(super) without_volts: Vec<String>,
}

/// Lays panels out on one scale.
pub(super) fn lay_out(panels: &[Panel]) -> Layout<'_> {
    let scale = Scale::of(panels);
    let mut lines: Vec<Lines> = panels.iter().map(|panel| lines::of_panel(panel, &scale)).collect();
    let mut stands = Vec::new();
    let mut without_volts = Vec::new();
    for (panel, lines) in panels.iter().zip(&lines) {
        let (standing, without) = stand(panel, lines, &scale);
        stands.push(standing);
        without_volts.push(without);
    }
    let parts = columns::assign(&mut stands);
    let columns = place_columns(parts, &stands);
    let needs: Vec<Need> = stands.iter().enumerate().flat_map(|(panel, stands)| needs(panel, stands)).collect();
    lines::set_heights(&mut lines, &needs, scale.volts);
    let rings = stands.iter().zip(&lines).flat_map(|(stands, lines)| {
        let rings = stands.iter().filter(|stand| stand.low == stand.high);
        rings.map(|stand| lines.lines[stand.low].height + ring_height(stand))
    });
    let tops = lines.iter().filter_map(|lines| lines.lines.last()).map(|line| line.height);
    let height = tops.chain(rings).fold(0.0, f64::max);
    let panels = panels
        .iter()
        .zip(lines)
        .zip(stands)
        .zip(without_volts)
        .map(|(((panel, lines), stands), without_volts)| {
            let labels = labels(panel, &lines);
            PanelLayout { panel, lines, stands, labels, without_volts }
        })
        .collect();
    Layout { scale, columns, panels, height }
}

/// What stands between lines, and the names of what has nothing to stand between.
fn stand<'p>(panel: &'p Panel, lines: &Lines, scale: &Scale) -> (Vec<Stand<'p>>, Vec<String>) {
    let mut stands = Vec::new();
    let mut without_volts = Vec::new();
    for standing in usable(panel).filter(|standing| !scale.conducts(standing)) {
        let line = |level: usize| lines.line_of.get(level).copied().flatten();
        let (Some(from), Some(to)) = (line(standing.from_level), line(standing.to_level)) else { continue };
        let flow = match scale.flow(standing) {
            // A coil closed on itself takes its power from the field, not from a net.
            Flow::Takes | Flow::Gives if from == to => Flow::Swings,
            flow => flow,
        };
        if from == to && flow == Flow::Pale {
            without_volts.push(words::subject(standing));
            continue;
        }
        stands.push(Stand {
            standing,
            flow,
            width: scale.width(standing.amps),
            low: from.min(to),
            high: from.max(to),
            label: words::beside(panel, standing, flow, scale, from == to),
            column: 0,
        });
    }
    (stands, without_volts)
}

fn ring_height(stand: &Stand<'_>) -> f64 {
    arrow::RING.max(stand.label_height() + GAP)
}

/// How far apart lines must be for what stands between them.
fn needs(panel: usize, stands: &[Stand<'_>]) -> Vec<Need> {
    let one = |stand: &Stand<'_>| {
        let labels: f64 = stands.iter().filter(|other| stand.beside(other)).map(Stand::label_height).sum();
        let (high, distance) =
            if stand.low == stand.high { (stand.low + 1, ring_height(stand)) } else { (stand.high, LEAST_ARROW) };
        Need { panel, low: stand.low, high, distance: distance.max(labels + GAP) }
    };
    stands.iter().map(one).collect()
}

fn place_columns(parts: Vec<String>, stands: &[Vec<Stand<'_>>]) -> Vec<Column> {
    let mut left = 0.0;
    let mut columns: Vec<Column> = Vec::new();
    for (index, part) in parts.into_iter().enumerate() {
        if columns.last().is_some_and(|last: &Column| last.part != part) {
            left += COLUMN_GAP;
        }
        let here = || stands.iter().map(|stands| stands.iter().filter(|stand| stand.column == index));
        let breadth = here()
            .flat_map(|stands| {
                let all: Vec<&Stand<'_>> = stands.collect();
                all.clone().into_iter().map(move |stand| group_breadth(&all, stand)).collect::<Vec<f64>>()
            })
            .fold(14.0, f64::max);
        let label_left = left + breadth + GAP;
        let right = label_left + words::LABEL_WIDTH;
        columns.push(Column { part, left, label_left, right });
        left = right + COLUMN_GAP;
    }
    columns
}

/// Width of an element and those beside it.
fn group_breadth(stands: &[&Stand<'_>], stand: &Stand<'_>) -> f64 {
    let beside = stands.iter().filter(|other| stand.beside(other));
    beside.map(|other| own_breadth(other) + GAP).sum::<f64>() - GAP
}

/// Width that an element itself takes up.
pub(super) fn own_breadth(stand: &Stand<'_>) -> f64 {
    if stand.low == stand.high { 26.0 } else { arrow::breadth(stand.flow, stand.width) }
}

/// Labels of the lines, their middles pushed apart where the lines are close.
fn labels(panel: &Panel, lines: &Lines) -> Vec<(Vec<String>, f64)> {
    let texts: Vec<_> = lines.lines.iter().map(|line| words::line_label(panel, &line.levels, GUTTER)).collect();
    let wanted: Vec<f64> = lines.lines.iter().map(|line| line.height).collect();
    let sizes: Vec<f64> = texts.iter().map(|text| text.len() as f64 * words::PITCH + 3.0).collect();
    let middles = spread(&wanted, &sizes);
    texts.into_iter().zip(middles).collect()
}

impl Layout<'_> {
    /// Width of all columns.
    pub(super) fn inner_width(&self) -> f64 {
        self.columns.last().map_or(0.0, |column| column.right + 6.0)
    }
}

impl PanelLayout<'_> {
    /// How far its lines' labels reach, from the lowest to the highest.
    pub(super) fn labels_reach(&self) -> (f64, f64) {
        let reach = |sign: f64| {
            let ends =
                self.labels.iter().map(move |(text, middle)| sign * middle + text.len() as f64 * words::PITCH / 2.0);
            sign * ends.fold(0.0, f64::max)
        };
        (reach(-1.0), reach(1.0))
    }
}
