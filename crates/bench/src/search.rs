//! Values that depend on the solution they lead to: put in, solved, put in again until they stay.

use std::collections::BTreeMap;

/// Values closer than this share are the same.
const SAME: f64 = 1e-12;
/// Rounds after which a search is given up; ordinary ones take six.
const MOST_ROUNDS: usize = 80;

/// What a search for values that depend on the solution they lead to has found so far.
#[derive(Default)]
pub(crate) struct Search {
    rounds: usize,
    /// Per part what was put in and what came out the time before.
    before: BTreeMap<usize, (f64, f64)>,
}

impl Search {
    /// What to try next after `tried` has led to where `found` would be right; nothing if they are the same.
    ///
    /// A secant for each value by itself, as each depends mostly on its own part.
    pub(crate) fn next(
        &mut self,
        tried: &BTreeMap<usize, f64>,
        found: &BTreeMap<usize, f64>,
    ) -> Option<BTreeMap<usize, f64>> {
        self.rounds += 1;
        let is_same =
            |(part, got): (&usize, &f64)| tried.get(part).is_some_and(|put| (put - got).abs() <= SAME * got.abs());
        if tried.len() == found.len() && found.iter().all(is_same) {
            return None;
        }
        let mut next = found.clone();
        for (part, value) in next.iter_mut() {
            let (Some(&put), got) = (tried.get(part), *value) else { continue };
            if let Some((put_before, got_before)) = self.before.insert(*part, (put, got))
                && put != put_before
            {
                let slope = ((got - got_before) / (put - put_before)).clamp(-3.0, 0.7);
                *value = put + (got - put) / (1.0 - slope);
            }
        }
        Some(next)
    }

    /// Whether it has gone on for too long.
    pub(crate) fn is_lost(&self) -> bool {
        self.rounds >= MOST_ROUNDS
    }
}
