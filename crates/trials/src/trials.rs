//! Many cases, side by side.

use crate::case::Case;
use crate::random::Random;
use crate::score::Scored;
use crate::strategy::Strategy;
use crate::technician::work_on;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::time::Instant;

/// What is to be run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Cases.
    pub cases: u64,
    /// Seed.
    pub seed: u64,
    /// Of so many rounds through the families one is also worked on in the other ways; 0 for none.
    pub compared: u64,
    /// Share of units that are sound.
    pub sound_share: f64,
}

/// What a case gave.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Worked {
    /// Time of the thread that worked on it, seconds.
    pub seconds: f64,
    /// Its scores, or nothing if the unit could not be laid out or solved.
    pub scored: Option<Vec<Scored>>,
}

/// Works on one case by the engine's way, and by all ways if asked for.
pub fn one(plan: &Plan, number: u64, all_strategies: bool) -> Option<Vec<Scored>> {
    let case = Case::draw(plan.seed, number, plan.sound_share)?;
    let strategies = if all_strategies { &Strategy::ALL[..] } else { &Strategy::ALL[..1] };
    let work = |strategy: &Strategy| {
        // The meter's errors are those of the case, whichever way it is worked on.
        let mut random = Random::new(plan.seed ^ 0x5bd1_e995, number);
        Some(Scored::new(number, &case, *strategy, work_on(&case, *strategy, &mut random)?))
    };
    strategies.iter().map(work).collect()
}

/// Works on the cases of a plan that are not among `known`, and hands each to `note` with its number.
///
/// Returns all of them, in their order.
pub fn many(plan: &Plan, known: BTreeMap<u64, Worked>, note: impl Fn(u64, &Worked) + Sync) -> BTreeMap<u64, Worked> {
    let Plan { cases, compared, .. } = *plan;
    let open: Vec<u64> = (0..cases).filter(|number| !known.contains_key(number)).collect();
    let mut all = known;
    let worked: Vec<(u64, Worked)> = open
        .into_par_iter()
        .with_max_len(1)
        .map(|number| {
            // Families follow each other, so every family has its share of those that are compared.
            let is_compared =
                compared > 0 && (number / crate::families::FAMILIES.len() as u64).is_multiple_of(compared);
            let began = Instant::now();
            let scored = one(plan, number, is_compared);
            let worked = Worked { seconds: began.elapsed().as_secs_f64(), scored };
            note(number, &worked);
            (number, worked)
        })
        .collect();
    all.extend(worked);
    all
}
