//! What came of the cases, added up.

use crate::case::Case;
use crate::strategy::Strategy;
use crate::technician::{End, Outcome};
use diagnosis::repairs::{NO_REPAIR, UNKNOWN_REPAIR};
use serde::{Deserialize, Serialize};

/// Repairs below this do not count for calibration.
const OFFERED: f64 = 0.001;
/// A log loss is cut off at this probability.
const LEAST: f64 = 1e-6;
/// Stopped at 95 % for something else while the truth holds less than this: wrongly sure.
const WRONGLY_SURE: f64 = 0.05;
/// Bins of the reliability table.
pub const BINS: usize = 10;

/// One case worked on by one strategy.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Scored {
    /// Number of the case.
    pub number: u64,
    /// Index of its family.
    pub family: usize,
    /// The strategy.
    pub strategy: Strategy,
    /// Whether it has two faults that call for two repairs.
    pub is_double: bool,
    /// Whether the complaint says that anything is amiss.
    pub is_visible: bool,
    /// What is wrong, in words.
    pub fault_words: String,
    /// Names of the faults, without places.
    pub fault_names: Vec<String>,
    /// Probability of all repairs that contain the true ones.
    pub probability: f64,
    /// Place of the first repair that contains the true ones, from 1.
    pub rank: Option<usize>,
    /// Whether the leading repair names at least one of the true ones.
    pub names_one: bool,
    /// For every single repair the probability that it is needed, alone or with another, and whether it is.
    pub needed: Vec<(f64, bool)>,
    /// The same, given that something is wrong.
    pub needed_if_faulty: Vec<(f64, bool)>,
    /// What the search led to.
    pub outcome: Outcome,
}

/// What a wrong certainty is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Belief {
    /// That nothing is wrong.
    Sound,
    /// That it is no known fault.
    Unknown,
    /// That a repair is needed which does not help.
    Other,
    /// That one of two faults is all.
    OneOfTwo,
}

impl Scored {
    /// Scores an outcome.
    pub fn new(number: u64, case: &Case, strategy: Strategy, outcome: Outcome) -> Self {
        let truth = case.true_repairs();
        let mends = |(repair, _): &(String, f64)| case.is_mended_by(repair);
        let probability =
            outcome.repairs.iter().filter(|entry| mends(entry)).map(|(_, share)| share).sum::<f64>().max(0.0);
        let rank = outcome.repairs.iter().position(mends).map(|place| place + 1);
        let names_one =
            outcome.repairs.first().is_some_and(|(repair, _)| truth.iter().any(|own| repair.contains(own.as_str())));
        let mut singles: Vec<String> = case.job.unit.faults().iter().map(bench::Fault::repair).collect();
        singles.extend([NO_REPAIR.into(), UNKNOWN_REPAIR.into()]);
        singles.sort();
        singles.dedup();
        let share_of = |single: &str| {
            let with_it = outcome.repairs.iter().filter(|(repair, _)| repair.contains(single));
            with_it.map(|(_, share)| share).sum::<f64>()
        };
        let table = |left_out: &str, scale: f64| {
            let rows = singles.iter().filter(|single| *single != left_out);
            let mut rows: Vec<(f64, bool)> = rows
                .map(|single| (scale * share_of(single), truth.contains(single)))
                .filter(|(share, _)| *share >= OFFERED)
                .collect();
            rows.sort_by(|a, b| b.0.total_cmp(&a.0));
            rows
        };
        let needed = table("", 1.0);
        let is_faulty = 1.0 - share_of(NO_REPAIR);
        let needed_if_faulty =
            if case.faults.is_empty() { Vec::new() } else { table(NO_REPAIR, 1.0 / is_faulty.max(1e-9)) };
        Scored {
            number,
            family: case.family,
            strategy,
            is_double: truth.len() > 1,
            is_visible: case.is_visible(),
            fault_words: case.fault_words(),
            fault_names: case.faults.iter().map(|put| put.name.clone()).collect(),
            probability,
            rank,
            names_one,
            needed,
            needed_if_faulty,
            outcome,
        }
    }

    /// Stopped at 95 %, and the truth is next to ruled out.
    pub fn is_wrongly_sure(&self) -> bool {
        self.outcome.end == End::Settled && self.probability < WRONGLY_SURE
    }

    /// Whether the true repair leads once 'nothing to repair' is left aside.
    pub fn leads_if_faulty(&self) -> bool {
        let Some(rank) = self.rank else { return false };
        self.outcome.repairs.iter().take(rank - 1).all(|(repair, _)| repair == NO_REPAIR)
    }

    /// What the leading repair says.
    pub fn belief(&self) -> Belief {
        match self.outcome.repairs.first() {
            _ if self.names_one => Belief::OneOfTwo,
            Some((repair, _)) if repair == NO_REPAIR => Belief::Sound,
            Some((repair, _)) if repair == UNKNOWN_REPAIR => Belief::Unknown,
            _ => Belief::Other,
        }
    }

    /// Ended without a check left while the truth is still among the leaders: a tie that no offered check separates.
    pub fn is_tied(&self) -> bool {
        let leading = self.outcome.repairs.first().map_or(0.0, |(_, share)| *share);
        self.outcome.end == End::NothingToCheck && self.probability >= 0.1 * leading
    }
}

/// Figures over a group of cases.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// Cases.
    pub cases: usize,
    /// Mean probability of the true repair.
    pub probability: f64,
    /// Shares of cases in which it leads, and in which it is among the first three.
    pub first: f64,
    /// Share in which it leads once 'nothing to repair' is left aside.
    pub first_if_faulty: f64,
    /// Among the first three.
    pub third: f64,
    /// Share in which the leading repair names one of the true ones.
    pub names_one: f64,
    /// Mean of minus the logarithm of its probability, nats.
    pub log_loss: f64,
    /// Mean checks.
    pub checks: f64,
    /// Mean minutes.
    pub minutes: f64,
    /// Share that ended at 95 %.
    pub settled: f64,
    /// Share that ended in a tie with the truth among the leaders.
    pub tied: f64,
    /// Share that ended at 95 % for something else.
    pub wrongly_sure: f64,
    /// Gross readings, those of them that were named, right readings that were named, all readings.
    pub gross: (usize, usize, usize, usize),
    /// Reliability: per bin the single repairs, the mean of their probabilities, the share that was right.
    pub bins: [(usize, f64, f64); BINS],
    /// Reliability given that something is wrong.
    pub bins_if_faulty: [(usize, f64, f64); BINS],
    /// Expected calibration error over the single repairs.
    pub calibration_error: f64,
    /// The same over the likeliest of each case.
    pub leading_error: f64,
}

impl Figures {
    /// Adds up a group.
    pub fn of<'s>(group: impl IntoIterator<Item = &'s Scored>) -> Self {
        let group: Vec<&Scored> = group.into_iter().collect();
        let count = group.len().max(1) as f64;
        let mean = |value: &dyn Fn(&Scored) -> f64| group.iter().map(|scored| value(scored)).sum::<f64>() / count;
        let share =
            |holds: &dyn Fn(&Scored) -> bool| group.iter().filter(|scored| holds(scored)).count() as f64 / count;
        let doubts: Vec<(bool, bool)> = group.iter().flat_map(|scored| scored.outcome.doubts.iter().copied()).collect();
        let named = |is_gross: bool| doubts.iter().filter(|&&(gross, named)| gross == is_gross && named).count();
        let needed: Vec<(f64, bool)> = group.iter().flat_map(|scored| scored.needed.iter().copied()).collect();
        let leading: Vec<(f64, bool)> = group.iter().filter_map(|scored| scored.needed.first().copied()).collect();
        Figures {
            cases: group.len(),
            probability: mean(&|scored| scored.probability),
            first: share(&|scored| scored.rank == Some(1)),
            first_if_faulty: share(&Scored::leads_if_faulty),
            third: share(&|scored| scored.rank.is_some_and(|rank| rank <= 3)),
            names_one: share(&|scored| scored.names_one),
            log_loss: mean(&|scored| -scored.probability.clamp(LEAST, 1.0).ln()),
            checks: mean(&|scored| scored.outcome.checks as f64),
            minutes: mean(&|scored| scored.outcome.minutes),
            settled: share(&|scored| scored.outcome.end == End::Settled),
            tied: share(&Scored::is_tied),
            wrongly_sure: share(&Scored::is_wrongly_sure),
            gross: (doubts.iter().filter(|(gross, _)| *gross).count(), named(true), named(false), doubts.len()),
            bins: bins(&needed),
            bins_if_faulty: bins(
                &group.iter().flat_map(|scored| scored.needed_if_faulty.iter().copied()).collect::<Vec<_>>(),
            ),
            calibration_error: calibration_error(&bins(&needed)),
            leading_error: calibration_error(&bins(&leading)),
        }
    }
}

/// Probabilities in ten bins: how many, their mean, the share that was right.
pub fn bins(needed: &[(f64, bool)]) -> [(usize, f64, f64); BINS] {
    let mut table = [(0, 0.0, 0.0); BINS];
    for &(probability, is_right) in needed {
        let entry = &mut table[((probability * BINS as f64) as usize).min(BINS - 1)];
        entry.0 += 1;
        entry.1 += probability;
        entry.2 += f64::from(u8::from(is_right));
    }
    for (count, mean, right) in &mut table {
        *mean /= (*count).max(1) as f64;
        *right /= (*count).max(1) as f64;
    }
    table
}

/// Mean distance between probability and share that was right, bins weighed by what is in them.
///
/// Source: Naeini, Cooper and Hauskrecht, "Obtaining well calibrated probabilities using Bayesian binning", AAAI 2015.
pub fn calibration_error(table: &[(usize, f64, f64); BINS]) -> f64 {
    let all: usize = table.iter().map(|(count, ..)| count).sum();
    table.iter().map(|&(count, mean, right)| count as f64 * (mean - right).abs()).sum::<f64>() / all.max(1) as f64
}
