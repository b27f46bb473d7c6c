//! What every element of a solved unit carries.

use super::Observed;
use crate::fault::Place;
use crate::wiring::Owner;

/// Current, voltage and real power of one element.
#[derive(Debug, Clone, PartialEq)]
pub struct ElementFlow {
    /// Where it belongs.
    pub place: Place,
    /// What it is.
    pub label: String,
    /// Current, amperes.
    pub amps: f64,
    /// Voltage across it, volts.
    pub volts: f64,
    /// Real power it takes in, watts; negative if it delivers.
    pub watts: f64,
    /// The two nets it lies between, the lower-numbered first.
    pub nets: (usize, usize),
}

impl Observed<'_> {
    /// Real power and current of every element that is a part's or a wire's own, in order.
    pub fn element_flows(&self) -> Vec<ElementFlow> {
        let Some(steady) = self.steady() else { return Vec::new() };
        self.wired
            .elements
            .iter()
            .filter_map(|element| match element.owner {
                Owner::Place(place) => Some(ElementFlow {
                    place,
                    label: element.label.to_string(),
                    amps: steady.solution().current(element.branch).norm(),
                    volts: steady.solution().voltage(element.branch).norm(),
                    watts: steady.solution().power(element.branch).re,
                    nets: self.wired.nets_of(element),
                }),
                _ => None,
            })
            .collect()
    }
}
