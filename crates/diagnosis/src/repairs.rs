//! Repairs: what the suspects ask for, added up.
//!
//! Two ways of adding: whole repairs ('replace A' and 'replace A; replace B' are two), which is what a check should
//! settle; and single repairs, which is what a technician wants to know first: does A have to come out?

use crate::suspects::{Diagnosis, Suspect};
use bench::{Fault, FaultSet, Unit};
use smallvec::{SmallVec, smallvec};
use std::collections::{BTreeMap, HashMap};

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
    let mut repairs: Vec<String> = faults.0.iter().map(|&fault| unit.faults()[fault].repair()).collect();
    repairs.sort();
    repairs.dedup();
    if repairs.is_empty() { NO_REPAIR.into() } else { repairs.join("; ") }
}

/// Probability of each whole repair, and of each single one that it is needed whatever else is; further faults that may
/// hide behind a suspect make others of it.
pub(crate) fn repair_shares(unit: &Unit, suspects: &[Suspect]) -> (Vec<RepairShare>, Vec<RepairShare>) {
    let phrases = Phrases::new(unit);
    let mut whole: HashMap<Asked, f64> = HashMap::new();
    let mut needed: BTreeMap<usize, f64> = BTreeMap::new();
    for (repairs, probability) in every_case(&phrases, suspects) {
        for &repair in &repairs {
            *needed.entry(repair).or_default() += probability;
        }
        *whole.entry(repairs).or_default() += probability;
    }
    let whole = whole.into_iter().map(|(repairs, probability)| (phrases.join(&repairs), probability));
    let needed = needed.into_iter().map(|(repair, probability)| (phrases.join(&[repair]), probability));
    (sorted(whole), sorted(needed))
}

/// Single repairs that are needed together, by their places among all: three faults and one that hides need no allocation.
type Asked = SmallVec<[usize; 4]>;

/// Everything that can be asked for, in the order of the alphabet, so that single repairs are told apart by a number: of
/// parts side by side there are a million cases, and few repairs.
struct Phrases {
    all: Vec<String>,
    /// By fault.
    of_fault: Vec<usize>,
    /// Of a sound unit, and where no known fault explains anything.
    none: usize,
    unknown: usize,
}

impl Phrases {
    fn new(unit: &Unit) -> Self {
        let own: Vec<String> = unit.faults().iter().map(Fault::repair).collect();
        let mut all = own.clone();
        all.extend([NO_REPAIR.to_owned(), UNKNOWN_REPAIR.to_owned()]);
        all.sort();
        all.dedup();
        let place = |phrase: &str| all.partition_point(|known| known.as_str() < phrase);
        let of_fault = own.iter().map(|repair| place(repair)).collect();
        let (none, unknown) = (place(NO_REPAIR), place(UNKNOWN_REPAIR));
        Phrases { all, of_fault, none, unknown }
    }

    /// What a set of faults asks for.
    fn of_all(&self, faults: &FaultSet) -> Asked {
        let mut asked: Asked = faults.0.iter().map(|&fault| self.of_fault[fault]).collect();
        asked.sort_unstable();
        asked.dedup();
        if asked.is_empty() { smallvec![self.none] } else { asked }
    }

    fn join(&self, repairs: &[usize]) -> String {
        repairs.iter().map(|&repair| self.all[repair].as_str()).collect::<Vec<_>>().join("; ")
    }
}

/// Single repairs of every suspect, alone and with each further fault that may hide behind it.
fn every_case<'s>(phrases: &'s Phrases, suspects: &'s [Suspect]) -> impl Iterator<Item = (Asked, f64)> + 's {
    suspects.iter().flat_map(move |suspect| {
        let own = match &suspect.faults {
            Some(faults) => phrases.of_all(faults),
            None => smallvec![phrases.unknown],
        };
        let alone = (own.clone(), suspect.probability * (1.0 - suspect.hidden_share));
        let with = move |(fault, share): (usize, f64)| {
            let mut asked = own.clone();
            let further = phrases.of_fault[fault];
            // A sound unit with something hidden in it needs that.
            asked.retain(|repair| *repair != phrases.none);
            if let Err(place) = asked.binary_search(&further) {
                asked.insert(place, further);
            }
            (asked, suspect.probability * share)
        };
        std::iter::once(alone).chain(suspect.hidden.iter().map(with))
    })
}

/// The most probable first; those that are as probable by the alphabet.
fn sorted(shares: impl Iterator<Item = (String, f64)>) -> Vec<RepairShare> {
    let mut shares: Vec<RepairShare> =
        shares.map(|(repair, probability)| RepairShare { repair, probability }).collect();
    shares.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| a.repair.cmp(&b.repair)));
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
