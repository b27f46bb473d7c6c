//! What the iron of a part gets.

use super::Observed;
use crate::fault::Place;
use crate::wiring::CORE_LOSS_BRANCH;

/// Times rated volts above which iron that is taken for linear would saturate, so that nothing worked out for it holds
/// (common practice, no source: at rated volts small machines are well into the bend, and a fifth more can double the
/// magnetising current).
pub const MOST_CORE_VOLTS: f64 = 1.2;

impl Observed<'_> {
    /// Parts whose linear iron gets more than [`MOST_CORE_VOLTS`] times the volts of its plate, with how many times.
    pub fn saturated(&self) -> Vec<(usize, f64)> {
        let times = |part: usize| Some((part, self.times_core_volts(part)?));
        let parts = (0..self.unit.parts().len()).filter_map(times);
        parts.filter(|(_, times)| *times > MOST_CORE_VOLTS).collect()
    }

    /// Volts at a part's iron over those of its plate; `None` for what has no iron, and for iron that is told to saturate.
    /// Of several windings the one that gets least counts: one behind a capacitor gets more in sound motors too.
    pub fn times_core_volts(&self, part: usize) -> Option<f64> {
        let kind = &self.unit.parts()[part].kind;
        let rated = kind.core_volts().filter(|_| kind.saturation().is_none())?;
        let steady = self.steady()?;
        let cores = self.wired.elements_of(Place::Part(part)).filter(|element| element.label == CORE_LOSS_BRANCH);
        let volts = cores.map(|element| {
            // A core's own coil lies between no two nets: its current times its ohms is what the flux induces.
            let ohms = self.wired.assembly.network.branches()[element.branch.0].resistance.value();
            steady.solution().current(element.branch).norm() * ohms
        });
        volts.reduce(f64::min).map(|volts| volts / rated)
    }
}
