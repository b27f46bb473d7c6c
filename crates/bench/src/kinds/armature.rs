//! The armature of a commutator motor as a ring of coils between two brushes, turning or read at rest.
//!
//! The ring has as many coils as the commutator has bars; between its brushes it is two paths side by side. With one coil
//! open only the other path is left, so the ohms double, except where a brush bridges the open coil; a shorted coil leaves
//! one coil fewer in its path, except where it lies under a brush; a bad bar shows only under a brush. A turning armature
//! is the mean over its positions.
//!
//! # Assumes
//! An even number of bars, brushes at least two bars wide. An ohmmeter sees the same brush ohms as the rated current (film
//! on the commutator makes them more at a meter's few milliamperes; inside their spread).

use crate::bars::{BarRing, RingFault};
use crate::wiring::{Node, PartWiring, PlannedCoil};
use circuit::Quantity;

/// Shaft position at which most positions are alike.
pub(super) const AS_IT_STANDS: &str = "as-it-stands";
/// Shaft position at which ohms between the brushes are lowest.
pub(super) const LOWEST: &str = "lowest-ohms";
/// Shaft position at which they are highest.
pub(super) const HIGHEST: &str = "highest-ohms";

/// An armature with its brushes.
pub(super) struct Armature {
    /// Bars of its commutator.
    pub(super) bars: f64,
    /// Ohms between the brushes without them, at winding temperature.
    pub(super) ohms: Quantity,
    /// Reactance between the brushes, ohms.
    pub(super) reactance: Quantity,
    /// One brush, ohms.
    pub(super) brush_ohms: Quantity,
    /// Terminal of the first brush; that of the other follows.
    pub(super) first_brush: usize,
}

/// Ohms of one of `bars` coils in a ring, from the ohms between the brushes: two paths of half the coils side by side.
pub(super) fn coil_ohms(between_brushes: f64, bars: f64) -> f64 {
    4.0 * between_brushes / bars
}

fn ring_fault(part: &PartWiring<'_, '_>) -> RingFault {
    if part.has("armature-coil-open") {
        return RingFault::Open;
    }
    let shorted = part.severity("armature-coil-shorted").map(RingFault::Shorted);
    shorted.or_else(|| part.severity("bad-bar").map(RingFault::BadBar)).unwrap_or(RingFault::None)
}

impl Armature {
    /// The paths through the armature, and the ohms round a shorted coil if it turns.
    pub(super) fn connect(&self, part: &mut PartWiring<'_, '_>) -> (Vec<PlannedCoil>, Option<Quantity>) {
        let is_read = !part.plugged_in();
        let (at_lowest, at_highest) = (part.position() == Some(LOWEST), part.position() == Some(HIGHEST));
        let bars = self.bars;
        let whole_ohms = &self.ohms * 2.0;
        let whole_reactance = &self.reactance * 2.0;
        let coil_ohms = &whole_ohms * (2.0 / bars);
        if is_read {
            let fault = ring_fault(part);
            part.bar_ring(BarRing::new(bars, &coil_ohms, &fault));
        }
        let one = Quantity::constant(1.0);
        let (mut first, mut second) = (Some((whole_ohms.clone(), one.clone())), (whole_ohms, one));
        let mut loop_ohms = None;
        if let Some(short) = part.severity("armature-coil-shorted") {
            if !is_read {
                // The shorted coil is in either path for half a turn.
                second = (&second.0 * (1.0 - 1.0 / bars), &second.1 * (1.0 - 1.0 / bars));
                first = Some(second.clone());
                loop_ohms = Some(&coil_ohms + &short);
            } else if !at_highest {
                let bridged = &(&coil_ohms * &short) / &(&coil_ohms + &short);
                first = Some((&(&second.0 - &coil_ohms) + &bridged, second.1.clone()));
            }
        }
        if part.has("armature-coil-open") && !(is_read && at_lowest) {
            first = None;
        }
        let (brush_1, brush_2) = self.brushes(part, is_read, at_highest);
        let path = |label: &'static str, from, to, (ohms, turns): &(Quantity, Quantity), share: f64| PlannedCoil {
            label: label.into(),
            from,
            to,
            turns: turns * share,
            angle: 0.0,
            resistance: ohms * share,
            leakage: &whole_reactance * share,
        };
        let mut paths: Vec<PlannedCoil> =
            first.iter().map(|values| path("armature", brush_1, brush_2, values, 1.0)).collect();
        match part.severity("armature-to-frame") {
            Some(leak) => {
                // Where on the ring it breaks through turns with the shaft; the middle of a path stands for it.
                let middle = part.inner();
                part.resistor("path to frame", middle, part.frame(), leak);
                paths.push(path("armature", brush_1, middle, &second, 0.5));
                paths.push(path("armature", middle, brush_2, &second, 0.5));
            }
            None => paths.push(path("armature", brush_1, brush_2, &second, 1.0)),
        }
        (paths, loop_ohms)
    }

    /// The commutator's side of both brushes.
    fn brushes(&self, part: &mut PartWiring<'_, '_>, is_read: bool, at_highest: bool) -> (Node, Node) {
        let mut ohms = self.brush_ohms.clone();
        if let Some(factor) = part.severity("wrong-brushes") {
            ohms = &ohms * &factor;
        }
        let inner = ["brush-1", "brush-2"].map(|brush| (brush, part.inner()));
        for (index, (brush, node)) in inner.iter().enumerate() {
            let mut own = ohms.clone();
            if let Some(worn) = part.severity(format_args!("{brush}-worn")) {
                own = &own + &worn;
            }
            if let (0, Some(bar)) = (index, part.severity("bad-bar")) {
                // Turning, a brush rests on the bad bar alone for a small part of each turn (engineering judgement).
                let share = if !is_read { 1.0 / self.bars } else { f64::from(u8::from(at_highest)) };
                own = &own + &(&bar * share);
            }
            if !part.has(format_args!("{brush}-stuck")) {
                let label = ["brush 1", "brush 2"][index];
                part.resistor(label, part.terminal(self.first_brush + index), *node, own);
            }
        }
        match part.has("brush-leads-interchanged") {
            true => (inner[1].1, inner[0].1),
            false => (inner[0].1, inner[1].1),
        }
    }
}
