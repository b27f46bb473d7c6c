//! What every part of a drawn unit really is: the values that its plate does not tell.

use super::machine::Saturation;
use num_complex::Complex64;
use std::collections::BTreeMap;

/// For each position the pairs of terminals that it joins.
pub type ContactTable = BTreeMap<String, Vec<(String, String)>>;

/// A part as it really is.
#[derive(Debug, Clone)]
pub enum TruePart {
    /// The supply.
    Supply(TrueSupply),
    /// Ohms of each conductor of a cord.
    Cord(Vec<f64>),
    /// A switch: its table, its ordinary position, ohms of a closed contact.
    Switch(ContactTable, String, f64),
    /// A single contact or link that is closed unless a setup says otherwise: ohms.
    Contact(f64),
    /// A heating element.
    Heater {
        /// Ohms at room temperature.
        cold_ohms: f64,
        /// Ohms at work over cold.
        hot_ratio: f64,
        /// Where along it the insulation is weakest.
        weak_at: f64,
    },
    /// A lamp.
    Lamp {
        /// Ohms when lit.
        ohms: f64,
        /// Ohms to a meter over those when lit; infinite for a glow lamp.
        cold_ratio: f64,
    },
    /// A capacitor.
    Capacitor {
        /// Farads.
        farads: f64,
        /// Loss factor.
        loss: f64,
    },
    /// A relay.
    Relay(TrueRelay),
    /// A joint: ohms of each leg.
    Splice(f64),
    /// An induction motor.
    Induction(Box<TrueInduction>),
    /// A universal motor.
    Commutator(Box<TrueCommutator>),
    /// A transformer.
    Transformer(Box<TrueTransformer>),
}

/// The supply as it really is.
#[derive(Debug, Clone)]
pub struct TrueSupply {
    /// Names of the live conductors, with their volts to neutral today.
    pub live: Vec<(&'static str, Complex64)>,
    /// Impedance of each conductor, ohms.
    pub impedance: Complex64,
    /// Ohms of the earth conductor.
    pub earth_ohms: f64,
    /// Amperes at which the breaker opens at once.
    pub trips_amps: f64,
}

/// A relay as it really is.
#[derive(Debug, Clone)]
pub struct TrueRelay {
    /// Volts at which it pulls in.
    pub pulls_in: f64,
    /// Volts below which it lets go.
    pub lets_go: f64,
    /// Ohms of the coil at 20 degrees Celsius.
    pub ohms: f64,
    /// Reactance of the coil, ohms.
    pub reactance: f64,
    /// Its contacts, released and pulled in.
    pub contacts: ContactTable,
    /// Ohms of a closed contact.
    pub contact_ohms: f64,
}

/// How an induction motor is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Make {
    /// Auxiliary winding behind a run capacitor.
    CapacitorRun,
    /// Shading coils.
    ShadedPole,
    /// Start winding behind a centrifugal switch.
    Split,
    /// Two equal windings that share a capacitor.
    Reversible,
}

/// A section of a tapped winding.
#[derive(Debug, Clone, Copy)]
pub struct TrueSection {
    /// Turns over main turns.
    pub turns: f64,
    /// Ohms at 20 degrees Celsius.
    pub ohms: f64,
    /// Leakage reactance, ohms.
    pub leakage: f64,
}

/// An induction motor as it really is; impedances referred to the main winding.
#[derive(Debug, Clone)]
pub struct TrueInduction {
    /// How it is made.
    pub make: Make,
    /// Names of its taps, fastest first.
    pub taps: Vec<String>,
    /// Poles.
    pub poles: u32,
    /// Main winding at 20 degrees Celsius, ohms.
    pub main_ohms: f64,
    /// Its leakage reactance, ohms.
    pub main_leakage: f64,
    /// The second winding; turns relative.
    pub second: TrueSection,
    /// Its axis, radians.
    pub second_angle: f64,
    /// Speed sections.
    pub sections: Vec<TrueSection>,
    /// Magnetising reactance at rated load, ohms.
    pub magnetising: f64,
    /// That of axis q over that of axis d.
    pub quadrature: f64,
    /// Rotor resistance when warm, ohms.
    pub rotor_ohms: f64,
    /// Rotor leakage reactance, ohms.
    pub rotor_leakage: f64,
    /// Resistance across the main winding that stands for core loss, ohms.
    pub core_loss: f64,
    /// How the iron saturates.
    pub saturation: Saturation,
    /// Torque of what it drives at plate speed, newton metres.
    pub load_torque: f64,
    /// Power of the speed with which that goes.
    pub load_exponent: f64,
    /// Name of the fault by which it loses its load; empty if it cannot.
    pub load_fault: &'static str,
    /// Friction, newton metres.
    pub friction: f64,
    /// Torque at plate speed that sizes of faults refer to, newton metres.
    pub rated_torque: f64,
    /// Plate speed over synchronous speed.
    pub rated_ratio: f64,
    /// Where in the winding the insulation is weakest.
    pub weak_at: f64,
    /// Speed ratios at which its centrifugal switch opens and closes again, and ohms of its contact.
    pub centrifugal: (f64, f64, f64),
    /// Whether its start winding keeps a run capacitor.
    pub has_run_capacitor: bool,
}

/// A universal motor as it really is.
#[derive(Debug, Clone)]
pub struct TrueCommutator {
    /// Names of the field taps, fastest first; empty for a single speed.
    pub taps: Vec<String>,
    /// Bars of its commutator.
    pub bars: f64,
    /// Plate speed, revolutions per minute.
    pub rpm: f64,
    /// Field up to the fastest tap at 20 degrees Celsius, ohms.
    pub field_ohms: f64,
    /// Its leakage reactance, ohms.
    pub field_leakage: f64,
    /// Reactance of the flux that the armature turns in, at rated load, ohms.
    pub magnetising: f64,
    /// Armature between the brushes at 20 degrees Celsius, without them, ohms.
    pub armature_ohms: f64,
    /// Armature reactance between the brushes, ohms.
    pub armature_reactance: f64,
    /// Ohms of each brush.
    pub brush_ohms: [f64; 2],
    /// Speed voltage for each field ampere at plate speed, ohms.
    pub speed_ohms: f64,
    /// Torque at plate speed that goes with the square of the speed, newton metres.
    pub fan_torque: f64,
    /// Friction, newton metres.
    pub friction: f64,
    /// Speed sections.
    pub sections: Vec<TrueSection>,
    /// How the iron saturates.
    pub saturation: Saturation,
    /// Where in field and armature the insulation is weakest.
    pub weak_at: f64,
}

/// A section of a transformer's winding.
#[derive(Debug, Clone)]
pub struct TransformerSection {
    /// Its name, `a-centre`.
    pub name: String,
    /// Name of its winding.
    pub winding: String,
    /// Its first terminal among those of the part; the next is its other end.
    pub terminal: usize,
    /// Its values.
    pub values: TrueSection,
}

/// A transformer as it really is.
#[derive(Debug, Clone)]
pub struct TrueTransformer {
    /// All sections, in the order of the terminals; each winding here is one section.
    pub sections: Vec<TransformerSection>,
    /// Magnetising reactance referred to one relative turn, ohms.
    pub magnetising: f64,
    /// Core loss as a resistance across one relative turn, ohms.
    pub core_loss: f64,
    /// How the iron saturates.
    pub saturation: Saturation,
    /// First terminal of the winding that has a thermal link.
    pub link_terminal: Option<usize>,
    /// Where in a winding the insulation is weakest.
    pub weak_at: f64,
}
