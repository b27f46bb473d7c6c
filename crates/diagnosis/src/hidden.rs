//! Further faults that no reading could show beside others.
//!
//! Of parts side by side hundreds hide behind each of thousands of suspects. So what hides is kept as lists that suspects
//! share, each with the few that cannot be there beside the suspect's own faults.

use bench::Unit;
use std::sync::Arc;

/// Faults that hide together, with their odds.
#[derive(Debug)]
pub(crate) struct Alike {
    faults: Vec<(usize, f64)>,
    odds: f64,
}

impl Alike {
    pub(crate) fn new(unit: &Unit, faults: &[usize]) -> Arc<Self> {
        let faults: Vec<(usize, f64)> = faults.iter().map(|&fault| (fault, unit.faults()[fault].mode.odds)).collect();
        let odds = faults.iter().map(|(_, odds)| odds).sum();
        Arc::new(Alike { faults, odds })
    }
}

/// A list of which some cannot be there.
#[derive(Debug, Clone)]
struct Behind {
    alike: Arc<Alike>,
    but: Vec<usize>,
    /// What the odds of each are multiplied by.
    share: f64,
}

/// Further faults that may be there beside some, each with its odds or its share.
#[derive(Debug, Clone, Default)]
pub struct Hidden {
    lists: Vec<Behind>,
    total: f64,
}

impl Hidden {
    /// Adds those of a list that may be there, each with a share of its odds.
    pub(crate) fn add(&mut self, alike: &Arc<Alike>, may_be_there: impl Fn(usize) -> bool, share: f64) {
        let but: Vec<(usize, f64)> = alike.faults.iter().copied().filter(|&(fault, _)| !may_be_there(fault)).collect();
        if but.len() < alike.faults.len() {
            self.total += share * (alike.odds - but.iter().map(|(_, odds)| odds).sum::<f64>());
            let but = but.into_iter().map(|(fault, _)| fault).collect();
            self.lists.push(Behind { alike: Arc::clone(alike), but, share });
        }
    }

    /// All odds or shares together.
    pub fn total(&self) -> f64 {
        self.total
    }

    /// Each fault with its odds or share; one that hides for more than one reason comes more than once.
    pub fn iter(&self) -> impl Iterator<Item = (usize, f64)> {
        self.lists.iter().flat_map(|list| {
            let there = list.alike.faults.iter().filter(|(fault, _)| !list.but.contains(fault));
            there.map(|&(fault, odds)| (fault, list.share * odds))
        })
    }

    /// The same, each figure multiplied.
    pub(crate) fn times(mut self, factor: f64) -> Self {
        self.total *= factor;
        self.lists.iter_mut().for_each(|list| list.share *= factor);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_together_are_the_sum_of_each() -> Result<(), Box<dyn std::error::Error>> {
        let job = bench::job::read("demo", include_str!("../../../demos/dough-proofer.toml"))?;
        let odds = |fault: usize| job.unit.faults()[fault].mode.odds;
        let (first, second) = (Alike::new(&job.unit, &[0, 1, 2, 3]), Alike::new(&job.unit, &[7, 9]));
        let mut hidden = Hidden::default();
        hidden.add(&first, |fault| fault != 2, 1.0);
        hidden.add(&second, |_| true, 0.5);
        hidden.add(&second, |_| false, 1.0);
        let found: Vec<(usize, f64)> = hidden.iter().collect();
        let expected = [(0, odds(0)), (1, odds(1)), (3, odds(3)), (7, 0.5 * odds(7)), (9, 0.5 * odds(9))];
        assert_eq!(found, expected);
        let sum: f64 = expected.iter().map(|(_, odds)| odds).sum();
        assert!((hidden.total() - sum).abs() < 1e-15);
        let tenth = hidden.times(0.1);
        assert!((tenth.total() - 0.1 * sum).abs() < 1e-15);
        assert!((tenth.iter().map(|(_, share)| share).sum::<f64>() - 0.1 * sum).abs() < 1e-15);
        Ok(())
    }
}
