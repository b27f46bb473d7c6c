//! Parts that are what the solution makes of them, so that both are found together.

use crate::kinds::Kind;
use crate::saturation::Saturation;

/// These parts of a unit, asked for once.
#[derive(Debug, Default)]
pub(crate) struct SolutionDependent {
    /// Parts that pass half waves only.
    pub(crate) diodes: Vec<usize>,
    saturating: Vec<(usize, Saturation)>,
    /// Lamps that glow, with the volts that keep them lit.
    pub(crate) glow_lamps: Vec<(usize, f64)>,
}

impl SolutionDependent {
    /// Notes a part of a kind if it is one of them.
    pub(crate) fn note(&mut self, part: usize, kind: &dyn Kind) {
        self.diodes.extend(kind.passes_half_waves().then_some(part));
        self.saturating.extend(kind.saturation().map(|saturation| (part, saturation)));
        self.glow_lamps.extend(kind.least_lit_volts().map(|volts| (part, volts)));
    }

    /// Parts whose iron saturates; in a unit with a diode that is left out.
    pub(crate) fn saturating(&self) -> &[(usize, Saturation)] {
        if self.diodes.is_empty() { &self.saturating } else { &[] }
    }
}
