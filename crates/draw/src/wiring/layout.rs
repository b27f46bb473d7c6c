//! The finished layout: where every body, terminal and wire lies.

use super::crossings;
use super::form::{Form, Row};
use super::lanes::{Item, Station, Ways};
use super::order::Order;
use super::place::Heights;
use super::plan::{Body, Conductor, Edge, Link, Plan, Side};
use super::route::{self, Tracks};
use super::size::{Caption, Size, TAIL};
use crate::svg::{Area, Point, at};
use bench::{TerminalId, Unit};

/// Room around the drawing.
pub(super) const MARGIN: f64 = 16.0;
/// Distance of vertical tracks.
const TRACK: f64 = 12.0;
/// Room in a channel beside tracks and labels.
const PAD: f64 = 9.0;

/// Where a terminal lies and where its wires join it.
#[derive(Debug, Clone)]
pub struct PlacedTerminal {
    /// The terminal.
    pub terminal: TerminalId,
    /// Its middle.
    pub at: Point,
    /// Where each of its wires ends, from the top.
    pub joints: Vec<Point>,
    /// Whether its wires come from the left.
    pub left: bool,
}

/// Where a part, or one conductor of supply or cord, lies.
#[derive(Debug, Clone)]
pub struct PlacedBody {
    /// The part.
    pub part: usize,
    pub(super) conductor: Option<Conductor>,
    pub(super) form: Form,
    /// Column, from hot to neutral.
    pub column: usize,
    /// Place in its column among bodies, from the top.
    pub place: usize,
    /// Symbol and texts.
    pub area: Area,
    /// Symbol alone, between its terminals.
    pub symbol: Area,
    /// Left and right edge of what is drawn between terminals and their names.
    pub(super) core: (f64, f64),
    pub(super) rows: Vec<Row>,
    pub(super) row_middles: Vec<f64>,
    pub(super) caption: Caption,
    /// Its terminals.
    pub terminals: Vec<PlacedTerminal>,
}

/// A wire, jumper or plug pin as it is drawn.
#[derive(Debug, Clone)]
pub struct Route {
    pub(super) link: Link,
    /// The terminals at its ends.
    pub ends: [TerminalId; 2],
    /// Its corners, ends included.
    pub points: Vec<Point>,
    /// Room kept for its label: the left end of the line under it, and the width.
    pub(super) label: (Point, f64),
}

impl Route {
    /// Index of the wire in the unit, if it is one.
    pub fn wire(&self) -> Option<usize> {
        if let Link::Wire(wire) = self.link { Some(wire) } else { None }
    }
}

/// A unit laid out.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Full width.
    pub width: f64,
    /// Full height.
    pub height: f64,
    /// Parts and conductors.
    pub bodies: Vec<PlacedBody>,
    /// Wires, jumpers and plug pins.
    pub routes: Vec<Route>,
    /// What the layout of a changed unit keeps.
    pub(super) kept: Kept,
}

/// The order of a layout, told by names so that it outlives a change of the unit.
#[derive(Debug, Clone, Default)]
pub(super) struct Kept {
    pub(super) bodies: Vec<KeptBody>,
    /// Names of the terminals a lane's wire joins, its column, its place there.
    pub(super) lanes: Vec<([String; 2], usize, usize)>,
}

/// The place of a body.
#[derive(Debug, Clone)]
pub(super) struct KeptBody {
    pub(super) part: String,
    pub(super) conductor: Option<Conductor>,
    pub(super) place: usize,
    /// Terminal names by row, left and right.
    pub(super) rows: Vec<[Option<String>; 2]>,
}

impl Layout {
    /// Number of places where two wires cross.
    pub fn crossings(&self) -> usize {
        crossings::count(&self.routes)
    }

    /// Moves everything down.
    pub(super) fn move_down(&mut self, by: f64) {
        self.height += by;
        for body in &mut self.bodies {
            body.area.top += by;
            body.symbol.top += by;
            body.row_middles.iter_mut().for_each(|y| *y += by);
            for terminal in &mut body.terminals {
                terminal.at.y += by;
                terminal.joints.iter_mut().for_each(|joint| joint.y += by);
            }
        }
        for route in &mut self.routes {
            route.points.iter_mut().for_each(|point| point.y += by);
            route.label.0.y += by;
        }
    }

    /// Where a terminal lies.
    pub fn terminal(&self, terminal: TerminalId) -> Option<&PlacedTerminal> {
        self.bodies.iter().flat_map(|body| &body.terminals).find(|placed| placed.terminal == terminal)
    }
}

/// What [`assemble`] puts together.
pub(super) struct Parts<'p> {
    pub(super) unit: &'p Unit,
    pub(super) plan: &'p Plan,
    pub(super) ways: &'p Ways,
    pub(super) order: &'p Order,
    pub(super) sizes: &'p [Size],
    pub(super) captions: &'p [Caption],
    /// Width of the label of every edge.
    pub(super) labels: &'p [f64],
}

/// Left edges of columns and channels.
struct Widths {
    columns: Vec<(f64, f64)>,
    /// Left edge, room for labels at the left, tracks, right edge.
    channels: Vec<(f64, f64, Tracks, f64)>,
}

/// Gives everything its place.
pub(super) fn assemble(parts: &Parts<'_>) -> Layout {
    let Parts { plan, ways, order, sizes, .. } = *parts;
    let heights = Heights::of(plan, ways, order, sizes);
    let homes: Vec<(usize, usize)> = ways.of_edge.iter().map(|hops| label_home(ways, hops)).collect();
    let widths = widths(parts, &heights, &homes);
    let bodies: Vec<PlacedBody> =
        (0..plan.bodies.len()).map(|body| place_body(parts, &heights, &widths, body)).collect();
    let routes = plan
        .edges
        .iter()
        .enumerate()
        .map(|(index, edge)| route_edge(parts, &heights, &widths, &bodies, homes[index], index, edge))
        .collect();
    let width = widths.channels.last().map_or(0.0, |channel| channel.3) + MARGIN;
    let height = MARGIN + heights.total + MARGIN;
    Layout { width, height, bodies, routes, kept: keep(parts) }
}

/// The hop beside which an edge is named: the first that starts on a left border, else the first.
fn label_home(ways: &Ways, hops: &[(usize, usize)]) -> (usize, usize) {
    let starts_left =
        |&&(channel, hop): &&(usize, usize)| ways.hops[channel][hop].ends.iter().any(|end| end.border == Side::Left);
    let first = hops.iter().filter(starts_left).min_by_key(|(channel, _)| *channel);
    first.or(hops.first()).copied().unwrap_or((0, 0))
}

fn widths(parts: &Parts<'_>, heights: &Heights, homes: &[(usize, usize)]) -> Widths {
    let Parts { plan, ways, order, sizes, labels, .. } = *parts;
    let mut widths = Widths { columns: Vec::new(), channels: Vec::new() };
    let mut x = MARGIN;
    for channel in 0..=plan.columns {
        let tracks = route::tracks(ways, heights, channel);
        let mut room = [0.0_f64; 2];
        for (edge, &(home, hop)) in homes.iter().enumerate().filter(|(_, home)| home.0 == channel) {
            let on_left = ways.hops[home][hop].ends.iter().any(|end| end.border == Side::Left);
            let side = &mut room[usize::from(!on_left)];
            *side = side.max(labels[edge]);
        }
        let left = x;
        let is_outside = channel == 0 || channel == plan.columns;
        let pad = if is_outside && tracks.count == 0 { 0.0 } else { PAD };
        let first_track = left + room[0] + pad;
        x = first_track + TRACK * tracks.count.saturating_sub(1) as f64 + pad + room[1];
        widths.channels.push((left, first_track, tracks, x));
        if channel < plan.columns {
            let bodies = order.columns[channel].iter();
            let width =
                bodies.filter_map(|item| if let Item::Body(body) = item { Some(sizes[*body].width) } else { None });
            let width = width.fold(0.0, f64::max);
            widths.columns.push((x, width));
            x += width;
        }
    }
    widths
}

fn place_body(parts: &Parts<'_>, heights: &Heights, widths: &Widths, index: usize) -> PlacedBody {
    let Parts { plan, ways, order, sizes, .. } = *parts;
    let top = MARGIN;
    let (body, size): (&Body, &Size) = (&plan.bodies[index], &sizes[index]);
    let (x, width) = widths.columns[body.column];
    let y = top + heights.body(index);
    let middle = x + width / 2.0;
    let (left, right) = (middle - size.symbol_width / 2.0, middle + size.symbol_width / 2.0);
    let rows = order.rows[index].clone();
    let mut terminals = Vec::new();
    for (row, ends) in rows.iter().enumerate() {
        for (side, end) in ends.ends.iter().enumerate() {
            let Some(terminal) = *end else { continue };
            let channel = body.column + side;
            let border = if side == 0 { Side::Right } else { Side::Left };
            let joint_x = if side == 0 { left } else { right };
            let mut joints: Vec<Point> = Vec::new();
            for (hop, there) in ways.hops[channel].iter().enumerate() {
                for (end, there) in there.ends.iter().enumerate() {
                    if there.border == border && there.station == Station::Terminal(terminal) {
                        joints.push(at(joint_x, top + heights.end(channel, hop, end)));
                    }
                }
            }
            joints.sort_by(|a, b| a.y.total_cmp(&b.y));
            let terminal_x = if side == 0 { left + TAIL } else { right - TAIL };
            if let [joint] = &mut joints[..] {
                joint.x = terminal_x;
            }
            let place = at(terminal_x, y + size.row_middle(row));
            terminals.push(PlacedTerminal { terminal, at: place, joints, left: side == 0 });
        }
    }
    let row_middles = (0..rows.len()).map(|row| y + size.row_middle(row)).collect();
    let caption = parts.captions[index].clone();
    let symbol_height: f64 = size.rows.iter().sum();
    let symbol = Area { left, top: y + size.head, width: size.symbol_width, height: symbol_height };
    let area = Area { left: middle - size.width / 2.0, top: y, width: size.width, height: size.height() };
    let bodies = order.columns[body.column].iter().filter(|item| matches!(item, Item::Body(_)));
    let place = bodies.take_while(|item| **item != Item::Body(index)).count();
    let (part, conductor, form, column) = (body.part, body.conductor, body.form, body.column);
    let core = (left + size.core.0, left + size.core.1);
    PlacedBody { part, conductor, form, column, place, area, symbol, core, rows, row_middles, caption, terminals }
}

fn route_edge(
    parts: &Parts<'_>,
    heights: &Heights,
    widths: &Widths,
    bodies: &[PlacedBody],
    home: (usize, usize),
    index: usize,
    edge: &Edge,
) -> Route {
    let Parts { plan, ways, labels, .. } = *parts;
    let top = MARGIN;
    // A wire that is alone at its terminal goes all the way to it; several end where the terminal gathers them.
    let joint_x = |terminal: TerminalId| {
        let placed = bodies[plan.places[terminal.0].0].terminals.iter().find(|placed| placed.terminal == terminal);
        placed.and_then(|placed| placed.joints.first()).map_or(0.0, |joint| joint.x)
    };
    let mut points = vec![at(joint_x(edge.ends[0]), 0.0)];
    let hops = &ways.of_edge[index];
    for &(channel, hop) in hops {
        let [from, to] = [0, 1].map(|end| top + heights.end(channel, hop, end));
        if let Some(last) = points.last_mut().filter(|_| hops.first() == Some(&(channel, hop))) {
            last.y = from;
        }
        if let Some(track) = widths.channels[channel].2.of_hop[hop] {
            let x = widths.channels[channel].1 + TRACK * track as f64;
            points.extend([at(x, from), at(x, to)]);
        }
    }
    let last = hops.last().map_or(0.0, |&(channel, hop)| top + heights.end(channel, hop, 1));
    points.push(at(joint_x(edge.ends[1]), last));
    // Corners only.
    let mut corners: Vec<Point> = Vec::with_capacity(points.len());
    for point in points {
        while let [.., before, last] = corners[..] {
            let level = before.y == last.y && last.y == point.y;
            let upright = before.x == last.x && last.x == point.x;
            if !(level || upright) {
                break;
            }
            corners.pop();
        }
        if corners.last() != Some(&point) {
            corners.push(point);
        }
    }
    let hop = &ways.hops[home.0][home.1];
    let on_left = hop.ends.iter().position(|end| end.border == Side::Left);
    let y = top + heights.end(home.0, home.1, on_left.unwrap_or(0));
    let (left, _, _, right) = &widths.channels[home.0];
    let x = if on_left.is_some() { left + 4.0 } else { right - labels[index] + 4.0 };
    Route { link: edge.link, ends: edge.ends, points: corners, label: (at(x, y), labels[index]) }
}

fn keep(parts: &Parts<'_>) -> Kept {
    let Parts { unit, plan, ways, order, .. } = *parts;
    let mut kept = Kept::default();
    for (column, items) in order.columns.iter().enumerate() {
        for (place, item) in items.iter().enumerate() {
            let body = match *item {
                Item::Body(body) => body,
                Item::Lane(lane) => {
                    let ends = plan.edges[ways.lanes[lane].edge].ends.map(|end| unit.terminal_name(end));
                    kept.lanes.push((ends, column, place));
                    continue;
                }
            };
            let name = |end: Option<TerminalId>| end.map(|terminal| unit.terminal_name(terminal));
            let rows = order.rows[body].iter().map(|row| row.ends.map(name)).collect();
            let Body { part, conductor, .. } = plan.bodies[body];
            let part = unit.parts()[part].name.clone();
            kept.bodies.push(KeptBody { part, conductor, place, rows });
        }
    }
    kept
}
