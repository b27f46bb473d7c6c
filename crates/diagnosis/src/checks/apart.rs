//! Which leading suspects some check would tell apart, and which none would.

use super::forecast::Players;
use crate::information::Forecast;

/// Suspects below this probability are not worth naming as one of a group.
const NAMED: f64 = 0.01;

/// For each two players whether some check shows them differently.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Apart {
    pairs: Vec<(usize, usize)>,
}

impl Apart {
    /// Notes what one reading would tell apart: values more than a standard deviation from each other, or a path and none.
    /// A player that may show either is told apart from nobody.
    pub(super) fn see(&mut self, forecasts: &[(usize, Forecast)]) {
        let may_be_either = |player: usize| forecasts.iter().filter(|(number, _)| *number == player).count() > 1;
        let sure: Vec<&(usize, Forecast)> = forecasts.iter().filter(|(number, _)| !may_be_either(*number)).collect();
        for (at, (first, a)) in sure.iter().enumerate() {
            for (second, b) in &sure[at + 1..] {
                let differ = match (a.mean.is_finite(), b.mean.is_finite()) {
                    (true, true) => (a.mean - b.mean).abs() > a.sigma.hypot(b.sigma),
                    (one, other) => one != other,
                };
                self.note(*first, *second, differ);
            }
        }
    }

    /// Notes what the answer to a question would tell apart.
    pub(super) fn hear(&mut self, chances: &[f64]) {
        for (first, a) in chances.iter().enumerate() {
            for (second, b) in chances.iter().enumerate().skip(first + 1) {
                self.note(first, second, (a - b).abs() > 0.3);
            }
        }
    }

    fn note(&mut self, first: usize, second: usize, differ: bool) {
        let pair = (first.min(second), first.max(second));
        if differ && !self.pairs.contains(&pair) {
            self.pairs.push(pair);
        }
    }

    /// Both together.
    pub(super) fn with(mut self, other: Apart) -> Apart {
        other.pairs.into_iter().for_each(|(first, second)| self.note(first, second, true));
        self
    }

    /// Groups of suspects, by their place in the ranking, that ask for different repairs and that nothing tells apart;
    /// within a group no two are apart.
    pub(super) fn inseparable(&self, players: &Players<'_>) -> Vec<Vec<usize>> {
        let is_named = |&player: &usize| players.all[player].weight >= NAMED && !players.all[player].with_further;
        let mut left: Vec<usize> = (0..players.all.len()).filter(is_named).collect();
        let mut groups = Vec::new();
        while !left.is_empty() {
            let mut group: Vec<usize> = Vec::new();
            left.retain(|&player| {
                let joins = group.iter().all(|&member| !self.pairs.contains(&(member.min(player), member.max(player))));
                if joins {
                    group.push(player);
                }
                !joins
            });
            let classes = |&player: &usize| players.all[player].class;
            if group.iter().map(classes).any(|class| class != players.all[group[0]].class) {
                groups.push(group.iter().map(|&player| players.all[player].index).collect());
            }
        }
        groups
    }
}
