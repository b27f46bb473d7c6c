//! Draws wires, jumpers and plug pins, their labels and arrows.

use super::WiringView;
use super::colours;
use super::flows::{Direction, WireFlow};
use super::layout::{Layout, Route};
use super::plan::Link;
use super::scale::Scale;
use super::size::SMALL;
use super::symbols;
use super::words::shorten;
use crate::svg::{Anchor, Area, Canvas, Point, at, text_width};
use bench::{Place, TerminalId, Unit, Wire, words};

/// Width of a wire where currents are not shown.
const PLAIN: f64 = 2.6;
/// Letters of a wire's label.
const LABEL: usize = 20;

/// The label a wire was given, if it was given one; others are named by their ends.
fn own_label<'w>(unit: &Unit, wire: &'w Wire) -> Option<&'w str> {
    let ends = format!("{}~{}", unit.terminal_name(wire.from), unit.terminal_name(wire.to));
    (!wire.name.starts_with(&ends)).then_some(wire.name.as_str())
}

/// What is written beside an edge.
pub(super) fn label(view: &WiringView<'_>, link: Link) -> String {
    match link {
        Link::Plug => String::new(),
        Link::Jumper(_) => "jumper".into(),
        Link::Wire(index) => {
            let wire = &view.unit.wires()[index];
            let colour = wire.colour.as_deref().unwrap_or("");
            let mut text = match own_label(view.unit, wire) {
                Some(label) if colour.is_empty() => shorten(label, LABEL),
                Some(label) => format!("{}, {}", shorten(label, LABEL), shorten(colour, 12)),
                None => shorten(colour, 14),
            };
            for mark in view.suspects.iter().filter(|mark| mark.place == Place::Wire(index)) {
                let space = if text.is_empty() { "" } else { ": " };
                text += &format!("{space}{}", shorten(&mark.words, LABEL));
            }
            text
        }
    }
}

/// Width to keep for a label.
pub(super) fn label_room(text: &str) -> f64 {
    if text.is_empty() { 0.0 } else { text_width(text, SMALL) + 12.0 }
}

/// A wire in words: "brown wire from cord.hot to cutout.a".
pub(super) fn wire_words(unit: &Unit, wire: &Wire) -> String {
    let colour = wire.colour.as_deref().map_or(String::new(), |colour| format!("{colour} "));
    let label = own_label(unit, wire).map_or(String::new(), |label| format!(" '{label}'"));
    format!("{colour}wire{label} from {} to {}", unit.terminal_name(wire.from), unit.terminal_name(wire.to))
}

/// A wire taken off its terminal ends this far from it.
const OFF: f64 = 13.0;

/// Corners of a route as it lies in the setup: ends taken off their terminals are shorter.
fn lying(view: &WiringView<'_>, layout: &Layout, route: &Route) -> Vec<Point> {
    let mut points = route.points.clone();
    for (place, terminal) in [(0, route.ends[0]), (points.len().saturating_sub(1), route.ends[1])] {
        let is_off = !matches!(route.link, Link::Jumper(_)) && is_lifted(view, terminal);
        let Some(placed) = layout.terminal(terminal).filter(|placed| is_off && placed.joints.len() == 1) else {
            continue;
        };
        points[place].x += if placed.left { -OFF } else { OFF };
    }
    points
}

/// Draws a route without its arrow.
pub(super) fn draw(canvas: &mut Canvas, view: &WiringView<'_>, layout: &Layout, route: &Route, scale: Scale) {
    let route = &Route { points: lying(view, layout, route), ..route.clone() };
    match route.link {
        Link::Wire(index) => draw_wire(canvas, view, route, index, scale),
        Link::Jumper(_) => {
            let [a, b] = route.ends.map(|end| view.unit.terminal_name(end));
            canvas.group(
                "jumper",
                &[("data-jumper", &format!("{a} {b}"))],
                &format!("jumper from {a} to {b}"),
                |canvas| {
                    canvas.polyline("strand", &route.points, Some(3.6));
                    write_label(canvas, "strong", route, "jumper", 3.6);
                },
            );
        }
        Link::Plug => {
            let is_in = view.setup.is_none_or(|setup| setup.energised);
            let width = view.flows.as_ref().map_or(1.6, |flows| scale.width(flows.terminals[route.ends[0].0]));
            let title = if is_in { "plugged in" } else { "unplugged" };
            canvas.group("plug", &[], title, |canvas| {
                canvas.polyline(if is_in { "lead" } else { "apart" }, &route.points, Some(width));
            });
        }
    }
}

fn draw_wire(canvas: &mut Canvas, view: &WiringView<'_>, route: &Route, index: usize, scale: Scale) {
    let wire = &view.unit.wires()[index];
    let flow = view.flows.as_ref().and_then(|flows| flows.wires.get(index).copied());
    let amps = flow.flatten().map_or(0.0, |flow| flow.amps);
    let idle = flow.is_some() && scale.is_idle(amps);
    let width = if flow.is_some() { scale.width(amps) } else { PLAIN };
    let is_suspect = view.suspects.iter().any(|mark| mark.place == Place::Wire(index));
    let colours = wire.colour.as_deref().map(colours::parse).unwrap_or_default();
    let title = match flow {
        Some(None) => format!("{}, broken", wire_words(view.unit, wire)),
        Some(Some(flow)) => format!("{}, {} A", wire_words(view.unit, wire), words::number(flow.amps)),
        None => wire_words(view.unit, wire),
    };
    let class = if idle { "wire idle" } else { "wire" };
    canvas.group(class, &[("data-wire", &wire.name)], &title, |canvas| {
        if is_suspect {
            canvas.polyline("halo", &route.points, Some(width + 7.0));
        }
        canvas.polyline("rim", &route.points, Some(width + 1.8));
        let class =
            |place: usize| colours.get(place).map_or(String::new(), |colour| format!("strand {}", colour.class));
        match colours.len() {
            0 => canvas.polyline("strand", &route.points, Some(width)),
            _ => canvas.polyline(&class(0), &route.points, Some(width)),
        }
        if colours.len() > 1 {
            canvas.polyline(&format!("{} second", class(1)), &route.points, Some(width));
        }
        write_label(canvas, if is_suspect { "tag" } else { "label" }, route, &label(view, route.link), width);
    });
}

fn write_label(canvas: &mut Canvas, class: &str, route: &Route, text: &str, width: f64) {
    let Point { x, y } = route.label.0;
    canvas.text(class, at(x, y - 3.0 - width / 2.0), Anchor::Start, SMALL, text);
}

/// Draws the arrow of real power on a wire, and the cross on a broken one, where no text is in the way.
pub(super) fn mark(canvas: &mut Canvas, obstacles: &[Area], route: &Route, flow: Option<WireFlow>, width: f64) {
    let Some(flow) = flow else {
        if let Some((place, _)) = free_place(canvas, obstacles, route, 9.0) {
            symbols::open(canvas, place);
        }
        return;
    };
    let Some(direction) = flow.direction else { return };
    let usual = 6.0 + width / 2.0;
    let sizes = [usual, 0.75 * usual];
    let found = sizes.into_iter().find_map(|size| Some((size, free_place(canvas, obstacles, route, size)?)));
    let Some((size, (place, toward))) = found else { return };
    let sign = if direction == Direction::Forward { 1.0 } else { -1.0 };
    let (x, y) = (sign * toward.x, sign * toward.y);
    let corner = |along: f64, across: f64| at(place.x + along * x - across * y, place.y + along * y + across * x);
    canvas.polygon("arrow", &[corner(size, 0.0), corner(-0.7 * size, -size), corner(-0.7 * size, size)]);
}

/// A place on a line with room about it, and the direction of the line there; the middles of long pieces first.
fn free_place(canvas: &Canvas, obstacles: &[Area], route: &Route, room: f64) -> Option<(Point, Point)> {
    let mut pieces: Vec<(f64, Point, Point)> = route
        .points
        .windows(2)
        .map(|piece| ((piece[1].x - piece[0].x).abs() + (piece[1].y - piece[0].y).abs(), piece[0], piece[1]))
        .collect();
    pieces.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (length, from, to) in pieces.into_iter().filter(|piece| piece.0 > 2.0 * room) {
        let toward = at((to.x - from.x) / length, (to.y - from.y) / length);
        for share in [0.5, 0.7, 0.3, 0.85, 0.15] {
            let place = at(from.x + share * (to.x - from.x), from.y + share * (to.y - from.y));
            let area = Area { left: place.x - room, top: place.y - room, width: 2.0 * room, height: 2.0 * room };
            let taken = canvas.texts().iter().map(|(text, _)| text).chain(obstacles);
            if taken.into_iter().all(|taken| !taken.overlaps(&area)) {
                return Some((place, toward));
            }
        }
    }
    None
}

/// Terminals at which a wire was taken off do not touch it.
pub(super) fn is_lifted(view: &WiringView<'_>, terminal: TerminalId) -> bool {
    view.setup.is_some_and(|setup| setup.lifted.contains(&terminal))
}
