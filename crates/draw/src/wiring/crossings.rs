//! Crossings counted on the finished lines, knowing nothing of how they came about.

use super::layout::Route;
use crate::svg::Point;

/// Number of places where two lines meet other than at a terminal they share.
pub(super) fn count(routes: &[Route]) -> usize {
    let mut count = 0;
    for (index, one) in routes.iter().enumerate() {
        for other in &routes[index + 1..] {
            let shared = one.ends.iter().any(|end| other.ends.contains(end));
            for a in one.points.windows(2) {
                for b in other.points.windows(2) {
                    count += meeting(a, b)
                        .filter(|point| !(shared && is_end(one, point) && is_end(other, point)))
                        .map_or(0, |_| 1);
                }
            }
        }
    }
    count
}

fn is_end(route: &Route, point: &Point) -> bool {
    route.points.first() == Some(point) || route.points.last() == Some(point)
}

/// Where two upright or level pieces meet; for pieces that lie on each other, one of their common points.
fn meeting(a: &[Point], b: &[Point]) -> Option<Point> {
    let span = |piece: &[Point], of: fn(&Point) -> f64| {
        let (from, to) = (of(&piece[0]), of(&piece[1]));
        (from.min(to), from.max(to))
    };
    let overlap = |of: fn(&Point) -> f64| {
        let ((a_low, a_high), (b_low, b_high)) = (span(a, of), span(b, of));
        let (low, high) = (a_low.max(b_low), a_high.min(b_high));
        (low <= high).then_some(low)
    };
    Some(Point { x: overlap(|point| point.x)?, y: overlap(|point| point.y)? })
}
