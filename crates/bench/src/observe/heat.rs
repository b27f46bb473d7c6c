//! What parts turn into heat.

use super::Observed;
use crate::fault::Place;
use crate::wiring::{CORE_LOSS_BRANCH, Element};
use circuit::BranchId;
use machine::Steady;

impl Observed<'_> {
    /// Heat in a part's windings, watts.
    pub fn windings_heat(&self, part: usize) -> f64 {
        self.branch_heat(part, |element| element.label != CORE_LOSS_BRANCH)
    }

    /// Heat in a part's second winding, watts.
    pub fn second_winding_heat(&self, part: usize) -> f64 {
        self.branch_heat(part, |element| element.is_second_winding)
    }

    /// Heat in a part's core and rotor, watts.
    pub fn iron_heat(&self, part: usize) -> f64 {
        let rotor = self.steady().zip(self.wired.machine_of(part));
        self.branch_heat(part, |element| element.label == CORE_LOSS_BRANCH)
            + rotor.map_or(0.0, |(steady, machine)| steady.rotor_loss(machine))
    }

    /// Heat in one element of a part, watts.
    pub fn element_heat(&self, part: usize, label: &str) -> f64 {
        self.branch_heat(part, |element| element.label == label)
    }

    /// Volts across an element of a part; none across what is not there.
    pub fn element_volts(&self, part: usize, label: &str) -> f64 {
        let element = self.wired.elements_of(Place::Part(part)).find(|element| element.label == label);
        self.steady().zip(element).map_or(0.0, |(steady, element)| steady.solution().voltage(element.branch).norm())
    }

    fn branch_heat(&self, part: usize, wanted: impl Fn(&Element) -> bool) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let elements = self.wired.elements_of(Place::Part(part)).filter(|element| wanted(element));
        elements.map(|element| self.copper_loss(steady, element.branch)).sum()
    }

    /// Heat in a motor's windings and rotor, or in any other part, watts.
    pub fn heat(&self, part: usize) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let copper: f64 =
            self.wired.elements_of(Place::Part(part)).map(|element| self.copper_loss(steady, element.branch)).sum();
        copper + self.wired.machine_of(part).map_or(0.0, |machine| steady.rotor_loss(machine))
    }

    fn copper_loss(&self, steady: &Steady<'_>, branch: BranchId) -> f64 {
        let ohms = self.wired.assembly.network.branches()[branch.0].resistance.value();
        steady.solution().current(branch).norm_sqr() * ohms
    }
}
