//! What a capacitance meter shows of a capacitor that is off its wires.
//!
//! The meter finds `C = Im(Y) / (2 pi f)` of the admittance between its probes, here at the supply's frequency. A bleed
//! resistor or a leak across the capacitor adds to the real part alone, so it does not change what is shown.
//!
//! # Leaves out
//! Film and electrolytic capacitors have a few per cent more or less at the meter's own volts and frequency than in the
//! machine; the reading model allows for it. Meters that time a charge show too much of a capacitor that leaks.

use crate::fault::Place;
use crate::setup::Setup;
use crate::unit::{TerminalId, Unit};
use crate::wiring::Wired;
use circuit::Quantity;
use std::f64::consts::PI;

/// A path of fewer ohms across a capacitor keeps the meter from charging it: it shows over range (that a short does is in
/// published manuals of handheld meters; the figure is engineering judgement).
const SHORTING_OHMS: f64 = 100.0;

/// Why a capacitance meter cannot be used there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoCapacitance {
    /// The supply is on.
    Live,
    /// The two points are not the terminals of one capacitor.
    NoCapacitor,
    /// Both ends of the capacitor are still connected.
    Connected,
}

impl NoCapacitance {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            NoCapacitance::Live => "a capacitance meter cannot be used while the supply is on",
            NoCapacitance::NoCapacitor => "a capacitance is read between the two terminals of one capacitor",
            NoCapacitance::Connected => "a capacitance meter cannot see a capacitor through what it is connected to",
        }
    }
}

/// Whether a capacitance meter between two terminals sees a capacitor, and nothing else, in a setup.
///
/// One end off is enough: whatever lies beside a capacitor hangs on both of its ends.
///
/// # Errors
/// What stands in the way.
pub fn sees_capacitor(unit: &Unit, setup: &Setup, [a, b]: [TerminalId; 2]) -> Result<(), NoCapacitance> {
    let part = unit.part_of(a);
    if part != unit.part_of(b) || a == b || !unit.parts()[part].kind.is_capacitor() {
        return Err(NoCapacitance::NoCapacitor);
    }
    if setup.energised {
        return Err(NoCapacitance::Live);
    }
    let is_free = |end: TerminalId| {
        let has_wires = unit.wires().iter().any(|wire| wire.from == end || wire.to == end);
        let is_bridged = setup.jumpers.iter().any(|&(from, to)| from == end || to == end);
        (setup.lifted.contains(&end) || !has_wires) && !is_bridged
    };
    if is_free(a) || is_free(b) { Ok(()) } else { Err(NoCapacitance::Connected) }
}

/// Microfarads shown between the terminals of a capacitor that is off its wires; infinite if it is over range.
pub(super) fn microfarads(unit: &Unit, wired: &Wired, a: TerminalId) -> Quantity {
    let (mut siemens, mut susceptance) = (0.0, Quantity::constant(0.0));
    for element in wired.elements_of(Place::Part(unit.part_of(a))) {
        let branch = &wired.assembly.network.branches()[element.branch.0];
        let (ohms, reactance) = (&branch.resistance, &branch.reactance);
        if branch.passes_direct_current {
            siemens += 1.0 / ohms.value();
        } else {
            let square = &(ohms * ohms) + &(reactance * reactance);
            susceptance = &susceptance - &(reactance * &square.recip());
        }
    }
    if siemens * SHORTING_OHMS > 1.0 {
        return Quantity::constant(f64::INFINITY);
    }
    &susceptance * (1e6 / (2.0 * PI * unit.hertz()))
}
