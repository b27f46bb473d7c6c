//! What every wiring drawing must keep to, checked on its finished lines and texts.

#![allow(dead_code, clippy::unwrap_used)]

use bench::{FaultSet, Job, Unit, job};
use draw::Drawing;
use draw::svg::{Area, Point};
use draw::wiring::{Layout, Route};

pub const DEMOS: [&str; 5] = ["dough-proofer", "air-curtain", "drying-cabinet", "two-leg-cabinet", "extractor"];

pub fn demo(name: &str) -> Job {
    let text = std::fs::read_to_string(format!("../../demos/{name}.toml")).unwrap();
    job::read(name, &text).unwrap()
}

/// All values at their medians.
pub fn medians(unit: &Unit, faults: &FaultSet) -> Vec<f64> {
    vec![0.0; bench::wiring::unknown_count(unit, faults)]
}

/// No text touches another or leaves the drawing, which is well-formed.
pub fn assert_legible(drawing: &Drawing, what: &str) {
    let whole = Area { left: 0.0, top: 0.0, width: drawing.width, height: drawing.height };
    for (index, (area, text)) in drawing.texts.iter().enumerate() {
        assert!(whole.holds(area), "{what}: '{text}' at {area:?} outside {whole:?}");
        for (other, another) in &drawing.texts[index + 1..] {
            assert!(!area.overlaps(other), "{what}: '{text}' {area:?} on '{another}' {other:?}");
        }
    }
    let text = drawing.standalone();
    roxmltree::Document::parse(&text).unwrap();
    assert!(!text.contains("NaN") && !text.contains("inf,"), "{what}");
}

fn pieces(route: &Route) -> impl Iterator<Item = (Point, Point)> {
    route.points.windows(2).map(|pair| (pair[0], pair[1]))
}

/// Box around a straight piece, a hair wide.
fn hull(from: Point, to: Point) -> Area {
    let (left, top) = (from.x.min(to.x), from.y.min(to.y));
    Area { left: left - 0.1, top: top - 0.1, width: (from.x - to.x).abs() + 0.2, height: (from.y - to.y).abs() + 0.2 }
}

/// Wires are upright or level, end at their terminals, never lie on each other, run through no part, and cross as often
/// as the layout says.
pub fn assert_sound(layout: &Layout, what: &str) {
    let mut crossings = 0;
    for (index, route) in layout.routes.iter().enumerate() {
        for (from, to) in pieces(route) {
            assert!((from.x == to.x) != (from.y == to.y), "{what}: {from:?} {to:?}");
            for body in &layout.bodies {
                let mut inner = body.area;
                // Ends reach into the symbol as far as its own terminals.
                if body.terminals.iter().any(|placed| route.ends.contains(&placed.terminal)) {
                    (inner.left, inner.width) = (body.symbol.left + 17.0, body.symbol.width - 34.0);
                }
                assert!(!inner.overlaps(&hull(from, to)), "{what}: a wire through part {}", body.part);
            }
        }
        for (end, point) in route.ends.iter().zip([route.points[0], route.points[route.points.len() - 1]]) {
            assert!(layout.terminal(*end).unwrap().joints.contains(&point), "{what}: {point:?} is no joint");
        }
        for other in &layout.routes[index + 1..] {
            for (a, b) in pieces(route) {
                for (c, d) in pieces(other) {
                    let level = |from: Point, to: Point| from.y == to.y;
                    if level(a, b) == level(c, d) {
                        assert!(!hull(a, b).overlaps(&hull(c, d)), "{what}: wires on each other at {a:?}");
                    } else if hull(a, b).overlaps(&hull(c, d)) {
                        crossings += 1;
                    }
                }
            }
        }
    }
    assert_eq!(layout.crossings(), crossings, "{what}");
}
