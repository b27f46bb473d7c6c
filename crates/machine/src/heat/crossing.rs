//! Where a path first crosses a temperature at which something switches.

use super::path::{PIECES, Path};

/// A crossing is found to this many seconds or to this many kelvins, whichever comes first.
const CLOSE_SECONDS: f64 = 1e-3;
const CLOSE_KELVIN: f64 = 1e-4;
/// More than enough halvings of a piece of a step.
const MOST_HALVINGS: usize = 80;

/// A temperature at which something will switch, as things stand.
///
/// It counts as crossed when the node is at or beyond it, also if it is so from the beginning. An infinite temperature
/// in the direction of crossing is never reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// The node whose temperature counts.
    pub node: usize,
    /// The temperature, degrees Celsius.
    pub celsius: f64,
    /// Crossed when rising to it (or else when falling to it).
    pub rising: bool,
}

impl Threshold {
    /// How far a temperature of its node is beyond it, K; negative before.
    pub fn kelvin_beyond(&self, celsius: f64) -> f64 {
        if self.rising { celsius - self.celsius } else { self.celsius - celsius }
    }
}

/// The first threshold that a path passes by more than a margin: share of the step, and place in the list.
///
/// Looks at the ends of all pieces, and at the peak within a piece that rises at its beginning and falls at its end.
pub(super) fn first_crossing(path: &Path, seconds: f64, list: &[Threshold], margin: f64) -> Option<(f64, usize)> {
    let mut first: Option<(f64, usize)> = None;
    for (index, threshold) in list.iter().enumerate() {
        let sought = Sought { path, seconds, threshold, margin };
        let before = first.map_or(1.0, |(share, _)| share);
        if let Some(share) = sought.first()
            && (share < before || first.is_none())
        {
            first = Some((share, index));
        }
    }
    first
}

struct Sought<'a> {
    path: &'a Path,
    seconds: f64,
    threshold: &'a Threshold,
    margin: f64,
}

impl Sought<'_> {
    /// Kelvins beyond the threshold and margin, and their change per step.
    fn beyond(&self, (celsius, rate): (f64, f64)) -> (f64, f64) {
        let sign = if self.threshold.rising { 1.0 } else { -1.0 };
        (self.threshold.kelvin_beyond(celsius) - self.margin, sign * rate)
    }

    fn at(&self, share: f64) -> (f64, f64) {
        self.beyond(self.path.node(self.threshold.node, share))
    }

    fn first(&self) -> Option<f64> {
        let at_end = |pieces| self.beyond(self.path.node_after_pieces(self.threshold.node, pieces));
        let share = |pieces: usize| pieces as f64 / PIECES as f64;
        let mut left = at_end(0);
        for piece in 1..=PIECES {
            let right = at_end(piece);
            let (from, to) = (share(piece - 1), share(piece));
            if right.0 >= 0.0 {
                return Some(self.close_in((from, left.0), (to, right.0)));
            }
            // A path with one peak stays under its tangent.
            let may_reach = left.1 > 0.0 && right.1 < 0.0 && left.0 + left.1 * (to - from) >= 0.0;
            if let Some(peak) = may_reach.then(|| self.peak(from, to)).flatten() {
                return Some(self.close_in((from, left.0), peak));
            }
            left = right;
        }
        None
    }

    /// A place beyond the threshold between one where the path rises and one where it falls, if there is one.
    fn peak(&self, mut rises: f64, mut falls: f64) -> Option<(f64, f64)> {
        for _ in 0..MOST_HALVINGS {
            let middle = 0.5 * (rises + falls);
            let (beyond, rate) = self.at(middle);
            if beyond >= 0.0 {
                return Some((middle, beyond));
            }
            if (falls - rises) * self.seconds < CLOSE_SECONDS || rate.abs() * (falls - rises) < CLOSE_KELVIN {
                return None;
            }
            if rate > 0.0 { rises = middle } else { falls = middle }
        }
        None
    }

    /// Closes in on the crossing between a place before and one beyond; answers with one just beyond.
    ///
    /// False position, with the weight of an end that stays halved (the Illinois rule; Dowell and Jarratt, BIT 11, 1971).
    fn close_in(&self, mut before: (f64, f64), mut beyond: (f64, f64)) -> f64 {
        let (mut weight_before, mut weight_beyond) = (before.1, beyond.1);
        let mut last_was_beyond = None;
        for turn in 0..MOST_HALVINGS {
            if (beyond.0 - before.0) * self.seconds < CLOSE_SECONDS || beyond.1 < CLOSE_KELVIN {
                break;
            }
            let false_position = before.0 + (beyond.0 - before.0) * weight_before / (weight_before - weight_beyond);
            let halfway = 0.5 * (before.0 + beyond.0);
            let inside = before.0 < false_position && false_position < beyond.0;
            // Every fourth turn halves, whatever the shape of the path.
            let place = if inside && turn % 4 != 3 { false_position } else { halfway };
            let value = self.at(place).0;
            if value >= 0.0 {
                beyond = (place, value);
                weight_beyond = value;
                weight_before *= if last_was_beyond == Some(true) { 0.5 } else { 1.0 };
            } else {
                before = (place, value);
                weight_before = value;
                weight_beyond *= if last_was_beyond == Some(false) { 0.5 } else { 1.0 };
            }
            last_was_beyond = Some(value >= 0.0);
        }
        beyond.0
    }
}
