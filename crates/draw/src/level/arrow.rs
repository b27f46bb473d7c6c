//! The shape of an element between two lines.

use super::scale::Flow;
use crate::svg::{Canvas, Point, at};

/// How much wider the head is than the shaft.
const HEAD_OVER: f64 = 10.0;
/// Length of a head where there is room.
const HEAD_LENGTH: f64 = 13.0;
/// Distance of the marks in the shaft of one that delivers.
const MARKS: f64 = 9.0;
/// Width of the outline of one that delivers.
const OUTLINE: f64 = 1.6;
/// Height of one that is closed on itself.
pub(super) const RING: f64 = 30.0;

/// Width that an element takes up.
pub(super) fn breadth(flow: Flow, width: f64) -> f64 {
    match flow {
        Flow::Takes | Flow::Gives => width + HEAD_OVER,
        Flow::Swings => width,
        Flow::Pale => 2.0,
    }
}

/// Draws it about `x` from `bottom` to `top` (`top` is the smaller y).
pub(super) fn draw(canvas: &mut Canvas, flow: Flow, width: f64, x: f64, bottom: f64, top: f64) {
    match flow {
        Flow::Pale => canvas.line("idle", at(x, top), at(x, bottom)),
        Flow::Swings => canvas.polygon("swings", &bar(x, width, bottom, top)),
        Flow::Takes => canvas.polygon("takes", &outline(x, width, top, bottom)),
        Flow::Gives => {
            // Drawn within its outline, so that the width stays the current's.
            let inner = (width - OUTLINE).max(0.4);
            canvas.polygon("gives", &outline(x, inner, bottom, top));
            marks(canvas, x, inner, bottom, top);
        }
    }
}

/// Draws one that is closed on itself, as a hoop standing on its line.
pub(super) fn draw_ring(canvas: &mut Canvas, flow: Flow, width: f64, x: f64, line: f64) {
    let class = if flow == Flow::Pale { "idle" } else { "hoop" };
    let points: Vec<Point> = (0..=24)
        .map(|step| {
            let angle = std::f64::consts::PI * f64::from(step) / 24.0;
            at(x - 9.0 * angle.cos(), line - (RING - 6.0) * angle.sin())
        })
        .collect();
    canvas.polyline(class, &points, (flow != Flow::Pale).then_some(width.min(8.0)));
}

/// An arrow's outline from its tail to its tip: shaft, head, and back.
fn outline(x: f64, width: f64, tail: f64, tip: f64) -> Vec<Point> {
    let toward = (tip - tail).signum();
    let neck = tip - toward * HEAD_LENGTH.min(0.5 * (tip - tail).abs());
    let (shaft, head) = (width / 2.0, (width + HEAD_OVER) / 2.0);
    vec![
        at(x - shaft, tail),
        at(x - shaft, neck),
        at(x - head, neck),
        at(x, tip),
        at(x + head, neck),
        at(x + shaft, neck),
        at(x + shaft, tail),
    ]
}

fn bar(x: f64, width: f64, bottom: f64, top: f64) -> Vec<Point> {
    let half = width / 2.0;
    vec![at(x - half, top), at(x + half, top), at(x + half, bottom), at(x - half, bottom)]
}

/// Chevrons up the shaft, where it is wide enough to hold them.
fn marks(canvas: &mut Canvas, x: f64, width: f64, bottom: f64, top: f64) {
    if width < 4.0 {
        return;
    }
    let half = width / 2.0 - 1.0;
    let rise = half.min(5.0);
    let mut y = bottom - 4.0;
    while y - rise > top + HEAD_LENGTH {
        canvas.polyline("chevron", &[at(x - half, y), at(x, y - rise), at(x + half, y)], None);
        y -= MARKS;
    }
}
