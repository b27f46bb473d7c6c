//! Insulation between what carries current in a part and the metal about it.
//!
//! # Assumes
//! One resistance and one capacitance for the whole part, shared out equally among the terminals that its winding or
//! element ends at, so that they meet about half of the part's volts. Insulation between windings, of cords, switches and
//! terminals is left out; the stray capacitance of the wiring stands for what those leak.

use super::UnknownSpec;
use crate::fault::{FaultMode, Severity};

/// Fault of every part that has insulation to metal.
pub(crate) const INSULATION_LOW: &str = "insulation-low";

/// Ohms to the frame of a motor that runs, and how wide they spread: 200 Mohm and more are published for a new motor, 10
/// Mohm as the least for one fit to go back (a motor maker's maintenance manual); nine in ten lie between.
const MOTOR_OHMS: f64 = 100e6;
const MOTOR_SPREAD: f64 = 1.2;
/// Farads from the windings of a small motor to its frame (engineering judgement: 0.5 to 5 nF; a stored test record of a
/// 120 V fan with 0.175 mA of leakage comes to 4 nF with all else that leaks in it).
const MOTOR_FARADS: f64 = 1.5e-9;

/// Ohms to the sheath of a cold heating element: its filling takes up moisture, so anything from a few megohms upward is
/// sound; appliance tests ask for 0.3 Mohm (engineering judgement).
const ELEMENT_OHMS: f64 = 50e6;
const ELEMENT_SPREAD: f64 = 1.5;
/// Farads from an element to its sheath for each rated watt: some 0.5 nF for a kilowatt (engineering judgement).
const ELEMENT_FARADS_PER_WATT: f64 = 0.5e-12;

/// Ohms and farads from a small coil on a plastic bobbin to its iron (engineering judgement).
const COIL_OHMS: f64 = 200e6;
const COIL_SPREAD: f64 = 1.2;
const COIL_FARADS: f64 = 0.1e-9;

/// Insulation of a sound part to the frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Insulation {
    /// Median of its resistance with all terminals joined, ohms.
    pub ohms: f64,
    /// Standard deviation of the natural logarithm of that.
    pub log_spread: f64,
    /// Capacitance, farads.
    pub farads: f64,
    /// Terminals that it is shared out among, by their place in the part.
    pub terminals: Vec<usize>,
}

impl Insulation {
    /// Of a motor.
    pub(super) fn of_motor(terminals: impl IntoIterator<Item = usize>) -> Self {
        let terminals = terminals.into_iter().collect();
        Insulation { ohms: MOTOR_OHMS, log_spread: MOTOR_SPREAD, farads: MOTOR_FARADS, terminals }
    }

    /// Of a heating element.
    pub(super) fn of_element(watts: f64, terminals: [usize; 2]) -> Self {
        let farads = ELEMENT_FARADS_PER_WATT * watts;
        Insulation { ohms: ELEMENT_OHMS, log_spread: ELEMENT_SPREAD, farads, terminals: terminals.into() }
    }

    /// Of a coil or of the windings of a small transformer.
    pub(super) fn of_coil(terminals: impl IntoIterator<Item = usize>) -> Self {
        let terminals = terminals.into_iter().collect();
        Insulation { ohms: COIL_OHMS, log_spread: COIL_SPREAD, farads: COIL_FARADS, terminals }
    }

    /// Its resistance as a value that is not known exactly.
    pub(crate) fn unknown(&self) -> UnknownSpec {
        UnknownSpec::new("insulation ohms to the frame", self.ohms, self.log_spread)
    }
}

/// Insulation that has gone low: damp, dirt, carbon dust, long heat.
pub(crate) fn insulation_low() -> FaultMode {
    let words = "its insulation to the frame is low: damp, dirt or heat has got into it";
    let repair = "dry and clean {}, test its insulation again, and replace it if that stays low";
    FaultMode::new(INSULATION_LOW, words, 0.008, repair).sized(Severity::ohms(200e3, 1.5))
}
