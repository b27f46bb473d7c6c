//! A unit as it really is, with what is wrong in it.

use super::parts::TruePart;
use bench::{Place, Unit};

/// Share of copper's resistance at 20 degrees Celsius by which it grows for each kelvin: 1 / (234.5 + 20).
const COPPER_PER_KELVIN: f64 = 1.0 / 254.5;

/// A fault that is in the unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Put {
    /// Index in the unit's list of faults.
    pub index: usize,
    /// Where.
    pub place: Place,
    /// Its short name.
    pub name: String,
    /// Its size, if it has one.
    pub size: Option<f64>,
}

/// Insulation between a part and the frame.
#[derive(Debug, Clone)]
pub struct Leak {
    /// Where it leaks, by places of terminals in the part: as much at each.
    pub ends: Vec<usize>,
    /// Ohms of all ends together.
    pub ohms: f64,
    /// Farads of all ends together.
    pub farads: f64,
}

/// What surrounds the parts: joints, wires, stray capacitance, insulation, temperature.
#[derive(Debug, Clone)]
pub struct Surroundings {
    /// Ohms of the push-on or screwed joint at each terminal.
    pub joint_ohms: Vec<f64>,
    /// Ohms of each wire.
    pub wire_ohms: Vec<f64>,
    /// Farads from each terminal's wires to earth, and to the first live conductor.
    pub strays: Vec<(f64, f64)>,
    /// Insulation of each part, if it touches metal.
    pub leaks: Vec<Option<Leak>>,
    /// Kelvins by which windings are warmer than a setup says.
    pub warmer: f64,
}

/// A unit, what its parts really are, and what is wrong.
pub struct World<'u> {
    /// Parts, terminals, wires: the topology only.
    pub unit: &'u Unit,
    /// What every part really is, by the part's index; `None` for the frame.
    pub parts: Vec<Option<TruePart>>,
    /// Joints, wires, strays, insulation, temperature.
    pub surroundings: Surroundings,
    /// Faults.
    pub faults: Vec<Put>,
    /// Frequency, hertz.
    pub hertz: f64,
}

impl World<'_> {
    /// Whether a part has a fault.
    pub fn has(&self, part: usize, fault: &str) -> bool {
        self.find(Place::Part(part), fault).is_some()
    }

    /// Size of a part's fault.
    pub fn size(&self, part: usize, fault: &str) -> Option<f64> {
        self.find(Place::Part(part), fault)?.size
    }

    /// A fault at a place.
    pub fn find(&self, place: Place, fault: &str) -> Option<&Put> {
        self.faults.iter().find(|put| put.place == place && put.name == fault)
    }

    /// Resistance of copper in a setup over that at 20 degrees Celsius.
    pub fn copper_ratio(&self, winding_celsius: f64) -> f64 {
        1.0 + COPPER_PER_KELVIN * (winding_celsius + self.surroundings.warmer - 20.0)
    }

    /// The same unit without faults.
    pub fn sound(&self) -> World<'_> {
        World {
            unit: self.unit,
            parts: self.parts.clone(),
            surroundings: self.surroundings.clone(),
            faults: Vec::new(),
            hertz: self.hertz,
        }
    }
}
