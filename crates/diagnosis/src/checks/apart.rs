//! Which leading suspects some check would tell apart, which none would, and why not.

use super::forecast::Players;
use crate::information::Forecast;
use crate::suspects::{Diagnosis, Suspect};
use bench::{Place, Unit};
use std::collections::BTreeSet;

/// Suspects below this probability are not worth naming as one of a group.
const NAMED: f64 = 0.01;
/// Values that differ by less than this share of themselves are the same.
const SAME: f64 = 0.02;

/// Suspects that ask for different repairs and that no check on the list tells apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Inseparable {
    /// The suspects, by their place in the ranking.
    pub suspects: Vec<usize>,
    /// Why no check does.
    pub why: Why,
}

/// Why no check tells suspects apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// One that the technician refuses would.
    Refused,
    /// Something differs, but by less than values and meters spread.
    Close,
    /// All in which they differ is joined inside this part, by its index.
    InsidePart(usize),
    /// They show the same wherever one can measure.
    Same,
}

/// For each two players whether some check shows them differently.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Apart {
    open: BTreeSet<(usize, usize)>,
    /// By checks that are refused.
    refused: BTreeSet<(usize, usize)>,
    /// Shown differently, but not by enough.
    close: BTreeSet<(usize, usize)>,
}

impl Apart {
    /// Notes what one reading would tell apart: values more than a standard deviation from each other, or a path and none.
    /// A player that may show either is told apart from nobody.
    pub(super) fn see(&mut self, forecasts: &[(usize, Forecast)], is_refused: bool) {
        let may_be_either = |player: usize| forecasts.iter().filter(|(number, _)| *number == player).count() > 1;
        let sure: Vec<&(usize, Forecast)> = forecasts.iter().filter(|(number, _)| !may_be_either(*number)).collect();
        for (at, (first, a)) in sure.iter().enumerate() {
            for (second, b) in &sure[at + 1..] {
                let pair = (*first.min(second), *first.max(second));
                let (both, apart) = (a.mean.is_finite() && b.mean.is_finite(), (a.mean - b.mean).abs());
                let differ =
                    if both { apart > a.sigma.hypot(b.sigma) } else { a.mean.is_finite() != b.mean.is_finite() };
                match (differ, is_refused) {
                    (true, true) => self.refused.insert(pair),
                    (true, false) => self.open.insert(pair),
                    (false, _) => both && apart > SAME * a.mean.max(b.mean) && self.close.insert(pair),
                };
            }
        }
    }

    /// Notes what the answer to a question would tell apart.
    pub(super) fn hear(&mut self, chances: &[f64]) {
        for (first, a) in chances.iter().enumerate() {
            for (second, b) in chances.iter().enumerate().skip(first + 1) {
                if (a - b).abs() > 0.3 {
                    self.open.insert((first, second));
                }
            }
        }
    }

    /// Both together.
    pub(super) fn with(mut self, other: Apart) -> Apart {
        self.open.extend(other.open);
        self.refused.extend(other.refused);
        self.close.extend(other.close);
        self
    }

    /// Groups of suspects that ask for different repairs and that nothing tells apart; within a group no two are apart.
    pub(super) fn inseparable(&self, players: &Players<'_>, diagnosis: &Diagnosis<'_>) -> Vec<Inseparable> {
        let is_named = |&player: &usize| players.all[player].weight >= NAMED && !players.all[player].with_further;
        let mut left: Vec<usize> = (0..players.all.len()).filter(is_named).collect();
        let mut groups = Vec::new();
        while !left.is_empty() {
            let mut group: Vec<usize> = Vec::new();
            left.retain(|&player| {
                let joins = group.iter().all(|&member| !self.open.contains(&(member.min(player), member.max(player))));
                if joins {
                    group.push(player);
                }
                !joins
            });
            let classes = |&player: &usize| players.all[player].class;
            if group.iter().map(classes).any(|class| class != players.all[group[0]].class) {
                let suspects: Vec<usize> = group.iter().map(|&player| players.all[player].index).collect();
                let why = self.why(&group, &suspects, diagnosis);
                groups.push(Inseparable { suspects, why });
            }
        }
        groups
    }

    fn why(&self, group: &[usize], suspects: &[usize], diagnosis: &Diagnosis<'_>) -> Why {
        let some = |pairs: &BTreeSet<(usize, usize)>| {
            group.iter().any(|&a| group.iter().any(|&b| pairs.contains(&(a.min(b), a.max(b)))))
        };
        if some(&self.refused) {
            return Why::Refused;
        }
        if some(&self.close) {
            return Why::Close;
        }
        let suspects: Vec<&Suspect> = suspects.iter().map(|&index| &diagnosis.suspects[index]).collect();
        inside_part(&diagnosis.evidence.job.unit, &suspects).map_or(Why::Same, Why::InsidePart)
    }
}

/// The part that all lie in by which the suspects differ.
fn inside_part(unit: &Unit, suspects: &[&Suspect]) -> Option<usize> {
    let sets: Vec<&[usize]> =
        suspects.iter().filter_map(|suspect| suspect.faults.as_ref()).map(|set| set.0.as_slice()).collect();
    let differing = sets.iter().flat_map(|set| set.iter()).filter(|fault| !sets.iter().all(|set| set.contains(fault)));
    let mut places = differing.map(|&fault| unit.faults()[fault].place);
    let Place::Part(part) = places.next()? else { return None };
    places.all(|place| place == Place::Part(part)).then_some(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_differs_by_less_than_it_spreads_is_close_and_what_is_refused_is_noted_as_that() {
        let at = |mean: f64| Forecast { weight: 0.2, class: 0, mean, sigma: 1.0 };
        let told = [(0, at(20.0)), (1, at(21.0)), (2, at(30.0)), (3, at(20.1))];
        let mut apart = Apart::default();
        apart.see(&told, false);
        assert_eq!(apart.open.iter().copied().collect::<Vec<_>>(), [(0, 2), (1, 2), (2, 3)]);
        assert_eq!(apart.close.iter().copied().collect::<Vec<_>>(), [(0, 1), (1, 3)]);
        apart.see(&[(0, at(20.0)), (1, at(f64::INFINITY))], true);
        assert!(apart.refused.contains(&(0, 1)) && !apart.open.contains(&(0, 1)));
    }
}
