//! Many cases, side by side.

use crate::case::Case;
use crate::random::Random;
use crate::score::Scored;
use crate::strategy::Strategy;
use crate::technician::work_on;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What is to be run.
#[derive(Debug, Clone, Copy)]
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

/// What a case gave: its scores, or nothing if the unit could not be laid out or solved.
pub type Worked = Option<Vec<Scored>>;

/// Works on one case by the engine's way, and by all ways if asked for.
pub fn one(plan: &Plan, number: u64, all_strategies: bool) -> Worked {
    let case = Case::draw(plan.seed, number, plan.sound_share)?;
    let strategies = if all_strategies { &Strategy::ALL[..] } else { &Strategy::ALL[..1] };
    let work = |strategy: &Strategy| {
        // The meter's errors are those of the case, whichever way it is worked on.
        let mut random = Random::new(plan.seed ^ 0x5bd1_e995, number);
        Some(Scored::new(number, &case, *strategy, work_on(&case, *strategy, &mut random)?))
    };
    strategies.iter().map(work).collect()
}

/// Works on all cases of a plan. Progress goes to `progress` with the number of cases done.
///
/// Returns the scores, and how many cases gave none.
pub fn many(plan: &Plan, progress: impl Fn(usize) + Sync) -> (Vec<Scored>, usize) {
    let Plan { cases, compared, .. } = *plan;
    let done = AtomicUsize::new(0);
    let results: Vec<Worked> = (0..cases as usize)
        .into_par_iter()
        .with_max_len(1)
        .map(|number| {
            let number = number as u64;
            // Families follow each other, so every family has its share of those that are compared.
            let is_compared =
                compared > 0 && (number / crate::families::FAMILIES.len() as u64).is_multiple_of(compared);
            let result = one(plan, number, is_compared);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1);
            result
        })
        .collect();
    let failed = results.iter().filter(|result| result.is_none()).count();
    (results.into_iter().flatten().flatten().collect(), failed)
}
