//! Symbols between two points, after IEC 60617, and their variants common in North America (IEEE 315).

use super::Symbols;
use crate::svg::{Anchor, Area, Canvas, Point, Rounded, at};

/// A symbol that lies between two points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Symbol {
    Resistor,
    Capacitor,
    Diode,
    Coil,
    Lamp,
    Fuse,
    Contact { closed: bool },
    Conductor,
}

/// Coordinates of a symbol: along the way from one point to the other, and across.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axis {
    middle: Point,
    along: Point,
    half: f64,
}

impl Axis {
    pub(super) fn between(from: Point, to: Point) -> Self {
        let (dx, dy) = (to.x - from.x, to.y - from.y);
        let length = dx.hypot(dy);
        let along = if length > 0.0 { at(dx / length, dy / length) } else { at(1.0, 0.0) };
        Axis { middle: at((from.x + to.x) / 2.0, (from.y + to.y) / 2.0), along, half: length / 2.0 }
    }

    /// The point `along` the way from the middle and `across` it, to the right hand.
    pub(super) fn point(&self, along: f64, across: f64) -> Point {
        let Point { x, y } = self.along;
        at(self.middle.x + along * x - across * y, self.middle.y + along * y + across * x)
    }
}

/// Draws a symbol from one point to another, its leads `width` wide.
pub(super) fn draw(canvas: &mut Canvas, symbols: Symbols, symbol: Symbol, from: Point, to: Point, width: f64) {
    let axis = Axis::between(from, to);
    let reach = match symbol {
        Symbol::Resistor | Symbol::Fuse => 16.0,
        Symbol::Capacitor => 3.5,
        Symbol::Diode => 7.0,
        Symbol::Coil => 15.0,
        Symbol::Lamp => 10.0,
        Symbol::Contact { .. } if symbols == Symbols::NorthAmerican => 4.0,
        Symbol::Contact { .. } => 13.0,
        Symbol::Conductor => 0.0,
    };
    let reach = f64::min(reach, axis.half);
    let line = |canvas: &mut Canvas, points: &[(f64, f64)]| {
        let points: Vec<Point> = points.iter().map(|&(along, across)| axis.point(along, across)).collect();
        canvas.polyline("stroke", &points, Some(1.6));
    };
    for side in [-1.0, 1.0] {
        canvas.polyline("lead", &[axis.point(side * axis.half, 0.0), axis.point(side * reach, 0.0)], Some(width));
    }
    match (symbol, symbols) {
        (Symbol::Conductor, _) => {}
        (Symbol::Resistor, Symbols::Iec) => outline(canvas, &axis, reach, 7.0),
        (Symbol::Resistor, Symbols::NorthAmerican) => {
            let step = reach / 6.0;
            let mut points = vec![(-reach, 0.0)];
            points.extend((0..6).map(|tooth| {
                let across = if tooth % 2 == 0 { -7.0 } else { 7.0 };
                (-reach + step * (2.0 * f64::from(tooth) + 1.0), across)
            }));
            points.push((reach, 0.0));
            line(canvas, &points);
        }
        (Symbol::Fuse, Symbols::Iec) => {
            outline(canvas, &axis, reach, 6.0);
            line(canvas, &[(-reach, 0.0), (reach, 0.0)]);
        }
        (Symbol::Fuse, Symbols::NorthAmerican) => {
            arcs(canvas, &axis, &[(-reach, reach / 2.0, true, false), (0.0, reach / 2.0, false, false)]);
        }
        (Symbol::Capacitor, _) => {
            line(canvas, &[(-3.5, -10.0), (-3.5, 10.0)]);
            if symbols == Symbols::Iec {
                line(canvas, &[(3.5, -10.0), (3.5, 10.0)]);
            } else {
                let [start, end] = [axis.point(7.0, -10.0), axis.point(7.0, 10.0)];
                let [x1, y1, x2, y2] = [start.x, start.y, end.x, end.y].map(Rounded);
                canvas.path("stroke", &format!("M{x1} {y1}A16 16 0 0 0 {x2} {y2}"));
            }
        }
        (Symbol::Diode, _) => {
            line(canvas, &[(-reach, -8.0), (-reach, 8.0), (reach, 0.0), (-reach, -8.0)]);
            line(canvas, &[(reach, -8.0), (reach, 8.0)]);
            line(canvas, &[(-reach, 0.0), (reach, 0.0)]);
        }
        (Symbol::Coil, _) => {
            let loops = symbols == Symbols::NorthAmerican;
            let radius = reach / 3.0;
            let bumps: Vec<(f64, f64, bool, bool)> =
                (0..3).map(|bump| (-reach + 2.0 * radius * f64::from(bump), radius, true, loops)).collect();
            arcs(canvas, &axis, &bumps);
        }
        (Symbol::Lamp, _) => {
            canvas.circle("box", axis.point(0.0, 0.0), reach);
            let corner = reach * std::f64::consts::FRAC_1_SQRT_2;
            line(canvas, &[(-corner, -corner), (corner, corner)]);
            line(canvas, &[(-corner, corner), (corner, -corner)]);
        }
        (Symbol::Contact { closed }, Symbols::Iec) => {
            for end in [-reach, reach] {
                canvas.circle("dot", axis.point(end, 0.0), 2.2);
            }
            let tip = if closed { (reach, 0.0) } else { (reach - 3.0, -11.0) };
            let blade = [axis.point(-reach, 0.0), axis.point(tip.0, tip.1)];
            canvas.polyline("lead", &blade, Some(f64::max(width, 2.2)));
        }
        (Symbol::Contact { closed }, Symbols::NorthAmerican) => {
            for end in [-reach, reach] {
                line(canvas, &[(end, -9.0), (end, 9.0)]);
            }
            if closed {
                canvas.polyline("lead", &[axis.point(-reach, 0.0), axis.point(reach, 0.0)], Some(width));
                line(canvas, &[(-reach - 4.0, 9.0), (reach + 4.0, -9.0)]);
            }
        }
    }
}

fn outline(canvas: &mut Canvas, axis: &Axis, reach: f64, half: f64) {
    let corners = [(-reach, -half), (reach, -half), (reach, half), (-reach, half)];
    canvas.polygon("box", &corners.map(|(along, across)| axis.point(along, across)));
}

/// Arcs along the way: where each begins, its radius, to which hand it bulges, and whether it is a loop.
fn arcs(canvas: &mut Canvas, axis: &Axis, arcs: &[(f64, f64, bool, bool)]) {
    let mut data = String::new();
    for &(start, radius, left, is_loop) in arcs {
        let (from, to) = (axis.point(start, 0.0), axis.point(start + 2.0 * radius, 0.0));
        let [x1, y1, x2, y2] = [from.x, from.y, to.x, to.y].map(Rounded);
        let (size, large) = if is_loop { (1.25 * radius, 1) } else { (radius, 0) };
        data += &format!("M{x1} {y1}A{} {} 0 {large} {} {x2} {y2}", Rounded(size), Rounded(size), u8::from(left));
    }
    canvas.path("stroke", &data);
}

/// Mark of something worked by heat.
pub(super) fn thermal(canvas: &mut Canvas, middle: Point) {
    canvas.text("small", at(middle.x, middle.y + 19.0), Anchor::Middle, 10.0, "t°");
}

/// A gap with a cross: no way through.
pub(super) fn open(canvas: &mut Canvas, middle: Point) {
    canvas.circle("gap", middle, 7.0);
    for (x, y) in [(5.0, 5.0), (5.0, -5.0)] {
        canvas.polyline("cross", &[at(middle.x - x, middle.y - y), at(middle.x + x, middle.y + y)], Some(2.4));
    }
}

/// Arrow of real power beside an element: filled and into it if it takes, hollow and double out of it if it gives.
pub(super) fn power_arrow(canvas: &mut Canvas, from: Point, toward: Point, takes: bool) {
    let axis = Axis::between(from, toward);
    let triangle =
        |tip: f64, size: f64| [axis.point(tip, 0.0), axis.point(tip - size, -5.0), axis.point(tip - size, 5.0)];
    if takes {
        canvas.polygon("takes", &triangle(4.5, 9.0));
    } else {
        let back = |tip: f64| [axis.point(tip, 0.0), axis.point(tip + 6.0, -5.0), axis.point(tip + 6.0, 5.0)];
        canvas.polygon("gives", &back(-7.0));
        canvas.polygon("gives", &back(0.0));
    }
}

/// Metal of the unit: a line with three strokes below it.
pub(super) fn chassis(canvas: &mut Canvas, top: Point) {
    canvas.polyline("stroke", &[at(top.x - 11.0, top.y), at(top.x + 11.0, top.y)], Some(1.6));
    for step in [-9.0, 0.0, 9.0] {
        canvas.polyline("stroke", &[at(top.x + step, top.y), at(top.x + step - 5.0, top.y + 8.0)], Some(1.6));
    }
}

/// Protective earth: three lines, each shorter.
pub(super) fn earth(canvas: &mut Canvas, top: Point) {
    for (index, half) in [9.0, 6.0, 3.0].into_iter().enumerate() {
        let y = top.y + 3.5 * index as f64;
        canvas.polyline("stroke", &[at(top.x - half, y), at(top.x + half, y)], Some(1.6));
    }
}

/// Alternating supply: a circle with a wave.
pub(super) fn source(canvas: &mut Canvas, middle: Point) {
    canvas.circle("box", middle, 9.0);
    let [x, y] = [middle.x, middle.y].map(|value| value);
    let [a, b, c, d] = [x - 5.0, y, x, x + 5.0].map(Rounded);
    canvas.path("stroke", &format!("M{a} {b}A2.5 3.5 0 0 1 {c} {b}A2.5 3.5 0 0 0 {d} {b}"));
}

/// Letter M in a circle.
pub(super) fn motor(canvas: &mut Canvas, middle: Point) {
    canvas.circle("box", middle, 14.0);
    canvas.text("strong", at(middle.x, middle.y + 5.0), Anchor::Middle, 14.0, "M");
}

/// A winding closed on itself.
pub(super) fn shading_ring(canvas: &mut Canvas, middle: Point) {
    let area = Area { left: middle.x - 4.0, top: middle.y - 8.0, width: 8.0, height: 16.0 };
    canvas.rectangle("ring", area, 3.0);
}
