//! Setups: the arrangements in which readings are taken.

use crate::unit::TerminalId;
use std::collections::BTreeMap;

/// One arrangement of the unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Its name.
    pub name: String,
    /// Whether the supply is connected and on; otherwise the unit is unplugged.
    pub energised: bool,
    /// Position of each switch, thermostat or cutout that is not in its ordinary one, by part.
    pub positions: BTreeMap<usize, String>,
    /// Terminals whose wires are taken off; the wires that shared a terminal stay together.
    pub lifted: Vec<TerminalId>,
    /// Temporary connections between terminals.
    pub jumpers: Vec<(TerminalId, TerminalId)>,
    /// Motors held so that they cannot turn, by part.
    pub held: Vec<usize>,
    /// Motors given a push by hand, by part.
    pub pushed: Vec<usize>,
    /// Temperature of the windings, degrees Celsius.
    pub winding_celsius: f64,
}

impl Setup {
    /// The unit unplugged, everything in its ordinary position, at room temperature.
    pub fn unplugged(name: impl Into<String>) -> Self {
        Setup {
            name: name.into(),
            energised: false,
            positions: BTreeMap::new(),
            lifted: Vec::new(),
            jumpers: Vec::new(),
            held: Vec::new(),
            pushed: Vec::new(),
            winding_celsius: 20.0,
        }
    }
}
