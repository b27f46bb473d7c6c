//! Repairs: what the suspects ask for, added up.
//!
//! Two ways of adding: whole repairs ('replace A' and 'replace A; replace B' are two), which is what a check should
//! settle; and single repairs, which is what a technician wants to know first: does A have to come out?

use crate::suspects::{Diagnosis, Suspect};
use bench::{FaultSet, Unit};
use std::collections::BTreeMap;

/// A repair that holds this much probability ends the search.
pub const SETTLED: f64 = 0.95;
/// Unless another one beside it holds as much as this.
const OPEN_QUESTION: f64 = 0.05;

/// Whole repairs below this probability are not worth a line where single ones are listed beside them.
const WHOLE_LISTED: f64 = 0.05;

/// Repairs with the probability that each is what is needed.
#[derive(Debug, Clone, PartialEq)]
pub struct RepairShare {
    /// What to do.
    pub repair: String,
    /// Probability that this is what is needed.
    pub probability: f64,
}

/// Words for a suspect without faults.
pub const NO_REPAIR: &str = "nothing to repair: look at how the unit is used and supplied";
/// Words for a suspect outside all lists.
pub const UNKNOWN_REPAIR: &str = "look again: no known fault explains the readings";

pub(crate) fn repair_of(unit: &Unit, faults: &FaultSet) -> String {
    if faults.0.is_empty() { NO_REPAIR.into() } else { single_repairs(unit, faults).join("; ") }
}

/// What each of several faults asks for, in order, each once.
fn single_repairs(unit: &Unit, faults: &FaultSet) -> Vec<String> {
    let mut repairs: Vec<String> = faults.0.iter().map(|&fault| unit.faults()[fault].repair()).collect();
    repairs.sort();
    repairs.dedup();
    repairs
}

/// Probability of each whole repair; further faults that may hide behind a suspect make others of it.
pub(crate) fn repair_shares(unit: &Unit, suspects: &[Suspect]) -> Vec<RepairShare> {
    shares(every_case(unit, suspects).map(|(repairs, probability)| (repairs.join("; "), probability)))
}

/// Probability that each single repair is needed, whatever else is.
pub(crate) fn needed_shares(unit: &Unit, suspects: &[Suspect]) -> Vec<RepairShare> {
    shares(
        every_case(unit, suspects)
            .flat_map(|(repairs, probability)| repairs.into_iter().map(move |repair| (repair, probability))),
    )
}

/// Single repairs of every suspect, alone and with each further fault that may hide behind it.
fn every_case<'s>(unit: &'s Unit, suspects: &'s [Suspect]) -> impl Iterator<Item = (Vec<String>, f64)> + 's {
    suspects.iter().flat_map(move |suspect| {
        let repairs = |further: Option<usize>| match &suspect.faults {
            Some(faults) if !faults.0.is_empty() || further.is_some() => {
                let faults = FaultSet(faults.0.iter().copied().chain(further).collect());
                single_repairs(unit, &faults)
            }
            _ => vec![suspect.repair.clone()],
        };
        let alone = (repairs(None), suspect.probability * (1.0 - suspect.hidden_share));
        let hidden =
            suspect.hidden.iter().map(move |&(fault, share)| (repairs(Some(fault)), suspect.probability * share));
        std::iter::once(alone).chain(hidden)
    })
}

fn shares(weights: impl Iterator<Item = (String, f64)>) -> Vec<RepairShare> {
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for (repair, probability) in weights {
        *sums.entry(repair).or_default() += probability;
    }
    let mut shares: Vec<RepairShare> =
        sums.into_iter().map(|(repair, probability)| RepairShare { repair, probability }).collect();
    shares.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    shares
}

impl Diagnosis<'_> {
    /// Whether several faults together hold at least this probability, as one suspect or one of them hidden behind the
    /// other, so that whole and single repairs differ.
    pub fn has_several_together(&self, probability: f64) -> bool {
        let is_several = |suspect: &Suspect| suspect.faults.as_ref().is_some_and(|faults| faults.0.len() > 1);
        let hides =
            |suspect: &Suspect| suspect.hidden.iter().any(|(_, share)| suspect.probability * share >= probability);
        self.suspects
            .iter()
            .any(|suspect| suspect.probability >= probability && (is_several(suspect) || hides(suspect)))
    }

    /// Whole repairs worth a line where `least` is the least worth one. Where single ones are listed too, the many small
    /// ways of needing two together would only repeat them.
    pub fn whole_repairs(&self, least: f64) -> impl Iterator<Item = &RepairShare> {
        let least = if self.has_several_together(least) { WHOLE_LISTED } else { least };
        self.repairs.iter().filter(move |share| share.probability >= least)
    }

    /// The repair that ends the search: a whole one that holds enough probability, or a single one that is needed almost
    /// surely while no other is more than a remote possibility. That it is none of the known faults ends nothing, and nothing
    /// ends while a slip of whoever measured is likely.
    pub fn settled(&self) -> Option<&RepairShare> {
        if self.is_slip_open() {
            return None;
        }
        let holds_enough = |share: &&RepairShare| share.probability >= SETTLED && share.repair != UNKNOWN_REPAIR;
        let whole = self.repairs.first().filter(holds_enough);
        whole.or_else(|| {
            let first = self.needed.first().filter(holds_enough)?;
            self.needed.get(1).is_none_or(|second| second.probability < OPEN_QUESTION).then_some(first)
        })
    }
}
