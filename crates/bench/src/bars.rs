//! Ohms from bar to bar round a commutator, brushes lifted: what the ring shows, and what a round of readings comes to.
//!
//! A coil lies between every two neighbouring bars, and all coils form one ring, so a meter between neighbours sees one
//! coil beside all others in series. With `r` the ohms of a coil and `n` coils: `r (n - 1) / n` all round; with one coil
//! open `(n - 1) r` there and `r` elsewhere; a shorted coil reads low there; a bar with a bad joint adds it to both of its
//! pairs. (By hand; a ring of resistors.)
//!
//! A round is told in three figures, because of a fault's place on the ring nothing is known beforehand: the middle of all
//! pairs, and in relation to it the pair that differs most and the more different of its two neighbours.
//!
//! # Assumes
//! One coil for each bar in a simple lap winding; at most one fault on the ring. Of the places where a fault could be,
//! only the one that the round itself points to is considered.

use crate::reading::Value;
use circuit::Quantity;

/// Which figure of a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BarPair {
    /// The middle of all pairs, ohms.
    Typical,
    /// The pair that differs most, over the typical.
    Odd,
    /// The neighbour of the odd pair that differs more, over the typical.
    Neighbour,
}

impl BarPair {
    /// All figures of a round.
    pub const ALL: [BarPair; 3] = [BarPair::Typical, BarPair::Odd, BarPair::Neighbour];
}

/// What a ring shows.
#[derive(Debug, Clone, PartialEq)]
pub struct BarRing {
    /// Bars of the commutator.
    pub bars: f64,
    /// Ohms between most neighbours.
    pub typical: Quantity,
    /// Ohms at the fault's place over the typical; 1 without a fault.
    pub odd: Quantity,
    /// The same of the pair beside it.
    pub neighbour: Quantity,
    /// Whether there is a fault that has a place on the ring.
    pub has_place: bool,
}

/// What is wrong on a ring.
#[derive(Debug, Clone, PartialEq)]
pub enum RingFault {
    /// Nothing.
    None,
    /// A coil is open.
    Open,
    /// A coil is bridged by these ohms.
    Shorted(Quantity),
    /// A bar meets its coils through these ohms.
    BadBar(Quantity),
}

impl BarRing {
    /// A ring of `bars` coils of `coil` ohms each.
    pub fn new(bars: f64, coil: &Quantity, fault: &RingFault) -> Self {
        let one = Quantity::constant(1.0);
        let sound = coil * ((bars - 1.0) / bars);
        let ring = |typical, odd, neighbour, has_place: bool| BarRing { bars, typical, odd, neighbour, has_place };
        match fault {
            RingFault::None => ring(sound, one.clone(), one, false),
            RingFault::Open => ring(coil.clone(), Quantity::constant(bars - 1.0), one, true),
            RingFault::Shorted(short) => {
                let bridged = &(coil * short) / &(coil + short);
                let others = coil * (bars - 1.0);
                let total = &others + &bridged;
                let typical = &(coil * &(&total - coil)) / &total;
                let at_short = &(&bridged * &others) / &total;
                let odd = &at_short / &typical;
                ring(typical, odd, one, true)
            }
            RingFault::BadBar(joint) => {
                let high = &(joint / &sound) + 1.0;
                ring(sound, high.clone(), high, true)
            }
        }
    }

    /// One figure.
    pub fn figure(&self, pair: BarPair) -> &Quantity {
        match pair {
            BarPair::Typical => &self.typical,
            BarPair::Odd => &self.odd,
            BarPair::Neighbour => &self.neighbour,
        }
    }
}

/// The middle of a round: its median; open if more than half of it is.
pub fn typical(round: &[Value]) -> Value {
    let mut ohms: Vec<f64> = round.iter().map(|&value| as_ohms(value)).collect();
    ohms.sort_by(f64::total_cmp);
    let middle = ohms.len() / 2;
    let median = if ohms.len() % 2 == 1 { ohms[middle] } else { (ohms[middle - 1] + ohms[middle]) / 2.0 };
    as_value(median)
}

/// A round in the order of [`BarPair::ALL`].
///
/// # Panics
/// Never for a round of at least three pairs whose typical value is a number above zero, as the job file asks for.
pub fn figures(round: &[Value]) -> [Value; 3] {
    let middle = as_ohms(typical(round));
    let over: Vec<f64> = round.iter().map(|&value| as_ohms(value) / middle).collect();
    let apart = |place: usize| if over[place] > 0.0 { over[place].ln().abs() } else { f64::INFINITY };
    let count = over.len();
    let more_apart = |a: usize, b: usize| if apart(b) > apart(a) { b } else { a };
    let odd = (0..count).reduce(more_apart).unwrap_or(0);
    let neighbour = more_apart((odd + count - 1) % count, (odd + 1) % count);
    [as_value(middle), as_value(over[odd]), as_value(over[neighbour])]
}

fn as_ohms(value: Value) -> f64 {
    match value {
        Value::Number(ohms) => ohms,
        Value::Open => f64::INFINITY,
    }
}

fn as_value(ohms: f64) -> Value {
    if ohms.is_finite() { Value::Number(ohms) } else { Value::Open }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(values: &[f64]) -> Vec<Value> {
        values.iter().map(|&value| as_value(value)).collect()
    }

    #[test]
    fn a_round_is_turned_to_where_it_differs_most() {
        let round = numbers(&[0.5, 0.5, 0.52, 9.0, 0.49, 0.5]);
        let [middle, odd, neighbour] = figures(&round).map(as_ohms);
        assert_eq!((middle, odd), (0.5, 18.0));
        assert!((neighbour - 1.04).abs() < 1e-12);
        // The ring has no end: the last pair is beside the first.
        let [_, odd, neighbour] = figures(&numbers(&[f64::INFINITY, 0.5, 0.5, 0.5, 0.5, f64::INFINITY])).map(as_ohms);
        assert!(odd.is_infinite() && neighbour.is_infinite());
        assert_eq!(figures(&numbers(&[0.5, 0.0, 0.5])).map(as_ohms), [0.5, 0.0, 1.0]);
    }
}
