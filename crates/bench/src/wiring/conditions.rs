//! What holds inside a unit at a moment, beyond what the setup says.

use crate::half_wave::DiodeStates;
use crate::saturation::Factors;
use std::collections::BTreeSet;

/// Temperatures and contacts that the unit itself has brought about.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Conditions {
    /// Whether the breaker ahead of the unit has opened.
    pub breaker_open: bool,
    /// Whether the earth-leakage trip ahead of the unit has opened.
    pub residual_trip_open: bool,
    /// Temperature of each part's windings, the main one of two, degrees Celsius; empty if all are as the setup says.
    pub winding_celsius: Vec<f64>,
    /// Temperature of each part's second winding, degrees Celsius; empty as above.
    pub second_winding_celsius: Vec<f64>,
    /// Temperature of each part's rotor, degrees Celsius; empty if rotors are as warm as at rated load.
    pub rotor_celsius: Vec<f64>,
    /// Contacts that have left the state in which they rest, by part and by the contact's place among the part's own.
    pub moved_contacts: BTreeSet<(usize, usize)>,
    /// Whether a run follows the unit's warmth, so that contacts that it moves do not move by themselves.
    pub follows_heat: bool,
    /// Compressors that have stopped so lately that their pressures are not level, by part.
    pub against_pressure: BTreeSet<usize>,
    /// What each diode is, by part; those not named are conductors.
    pub diodes: DiodeStates,
    /// Glow lamps whose volts do not light them, by part.
    pub dim_lamps: BTreeSet<usize>,
    /// What saturation makes of magnetising reactances, by part; those not named are as at the plate.
    pub saturation: Factors,
}

impl Conditions {
    /// Whether what protects the supply has cut the unit off.
    pub fn is_cut_off(&self) -> bool {
        self.breaker_open || self.residual_trip_open
    }
}
