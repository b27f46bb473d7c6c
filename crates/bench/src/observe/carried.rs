//! What the feed, contacts and windings carry, apart from readings.

use super::shown::magnitude;
use super::{Observed, PredictError, Prediction};
use crate::fault::Place;
use crate::kinds::RatedOutput;
use crate::protection::feed_amps;
use circuit::Probe;

/// A winding gives if it takes less than this share of what the one takes that takes most: behind a dead short there are no
/// watts (engineering judgement).
const GIVES_BELOW: f64 = 0.01;

/// Currents inside a part, each with what its size counts for, added up.
#[derive(Debug, Clone)]
pub struct Carried(Vec<(Probe, f64)>);

impl Observed<'_> {
    /// Current in the live conductor of the supply that carries most, amperes.
    pub fn feed_amps(&self) -> f64 {
        self.steady().map_or(0.0, |steady| feed_amps(self.unit, self.wired, steady))
    }

    /// Amperes in whichever of a part's contacts carries most; `None` if none is closed, or nothing is live.
    pub fn busiest_contact(&self, part: usize) -> Option<Carried> {
        self.steady()?;
        let carried = self.wired.contact_currents(part).into_iter().map(|probe| Carried(vec![(probe, 1.0)]));
        carried.max_by(|a, b| self.carried(a).total_cmp(&self.carried(b)))
    }

    /// Volt-amperes that a transformer gives: rated volts times amperes of all windings but those that take its watts, as
    /// IEC 61558-1 has a rated output (from memory). Of a single winding it is the section that carries most, at the volts of
    /// all.
    pub fn output(&self, part: usize, rated: &RatedOutput) -> Option<Carried> {
        let windings: Vec<Carried> = rated.windings.iter().map(|sections| self.winding(part, sections)).collect();
        if let [sections] = rated.windings.as_slice() {
            let volts: f64 = sections.iter().map(|(_, volts)| volts).sum();
            let Carried(currents) = windings.into_iter().next()?;
            let each = currents.into_iter().map(|(probe, _)| Carried(vec![(probe, volts)]));
            return each.max_by(|a, b| self.carried(a).total_cmp(&self.carried(b)));
        }
        let watts: Vec<f64> = rated.windings.iter().map(|sections| self.winding_watts(part, sections)).collect();
        let most = watts.iter().copied().fold(0.0, f64::max);
        let giving = windings.into_iter().zip(watts).filter(|(_, watts)| *watts < GIVES_BELOW * most);
        Some(Carried(giving.flat_map(|(Carried(currents), _)| currents).collect()))
    }

    /// What is carried, in its unit.
    pub fn carried(&self, Carried(currents): &Carried) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        currents.iter().map(|(probe, weight)| weight * self.shown(probe, steady.solution())).sum()
    }

    /// The same with its derivatives.
    ///
    /// # Errors
    /// [`PredictError::Network`].
    pub fn carried_with_slopes(&mut self, Carried(currents): &Carried) -> Result<Prediction, PredictError> {
        let nothing = Prediction { value: 0.0, gradient: vec![0.0; self.wired.assembly.unknown_count] };
        let setup = self.setup;
        let super::State::Live(steady) = &mut self.state else { return Ok(nothing) };
        let mut halves = self.halves.as_deref_mut();
        currents.iter().try_fold(nothing, |mut sum, (probe, weight)| {
            let one = magnitude(steady, halves.as_deref_mut(), probe.clone())
                .map_err(|source| PredictError::Network { setup: setup.name.clone(), source })?
                .times(*weight);
            sum.value += one.value;
            sum.gradient.iter_mut().zip(one.gradient).for_each(|(sum, slope)| *sum += slope);
            Ok(sum)
        })
    }

    /// The sections of a winding, each by its volts; a section that a fault has in two halves by the one that carries more.
    fn winding(&self, part: usize, sections: &[(String, f64)]) -> Carried {
        let section = |(name, volts): &(String, f64)| {
            let halves = self.elements(part, name).map(|branch| (Probe::currents(vec![(branch, 1.0.into())]), *volts));
            halves.max_by(|a, b| {
                self.carried(&Carried(vec![a.clone()])).total_cmp(&self.carried(&Carried(vec![b.clone()])))
            })
        };
        Carried(sections.iter().filter_map(section).collect())
    }

    fn winding_watts(&self, part: usize, sections: &[(String, f64)]) -> f64 {
        let Some(steady) = self.steady() else { return 0.0 };
        let branches = sections.iter().flat_map(|(name, _)| self.elements(part, name));
        branches.map(|branch| steady.solution().power(branch).re).sum()
    }

    fn elements<'s>(&'s self, part: usize, name: &'s str) -> impl Iterator<Item = circuit::BranchId> + 's {
        let is_it =
            move |label: &str| label.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with(','));
        let elements = self.wired.elements_of(Place::Part(part)).filter(move |element| is_it(&element.label));
        elements.map(|element| element.branch)
    }
}
