//! Glow lamps that have too few volts to be lit.
//!
//! A lamp is laid out as lit. Where its volts then do not keep it so, it is laid out anew as one that is not, and stays so
//! until something in the unit changes. One that is taken for lit at any volts would tie a wire behind it that hangs in the
//! air to the mains.

use crate::fault::Place;
use crate::unit::Unit;
use crate::wiring::Wired;
use machine::Steady;
use std::collections::BTreeSet;

/// Label of the element that glows.
pub(crate) const GLOW_BRANCH: &str = "lamp";

/// Lamps, by part, that are laid out as lit and cannot be.
pub(crate) fn going_dim(unit: &Unit, wired: &Wired, steady: &Steady<'_>, dim: &BTreeSet<usize>) -> Vec<usize> {
    let lamps = unit.solution_dependent().glow_lamps.iter().filter(|(part, _)| !dim.contains(part));
    let cannot = |&&(part, least): &&(usize, f64)| volts_across(wired, steady, part).is_some_and(|volts| volts < least);
    lamps.filter(cannot).map(|&(part, _)| part).collect()
}

/// Volts across the one element of a part; none if it has none.
fn volts_across(wired: &Wired, steady: &Steady<'_>, part: usize) -> Option<f64> {
    let element = wired.elements_of(Place::Part(part)).find(|element| element.label == GLOW_BRANCH)?;
    Some(steady.solution().voltage(element.branch).norm())
}
