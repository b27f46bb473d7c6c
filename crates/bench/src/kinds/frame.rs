//! The metal frame of the unit: every unit has one, under the name `frame`.
//!
//! It floats unless a wire joins it to earth.

use super::Kind;
use crate::fault::FaultMode;
use crate::wiring::PartWiring;

/// The metal of the unit, one terminal.
#[derive(Debug, Clone)]
pub struct Frame;

impl Kind for Frame {
    fn name(&self) -> &'static str {
        "frame"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["metal".into()]
    }

    fn describe(&self) -> String {
        "metal of the unit".into()
    }

    fn faults(&self) -> Vec<FaultMode> {
        Vec::new()
    }

    fn connect(&self, _part: &mut PartWiring<'_, '_>) {}
}
