//! Ways of choosing the next check.

use crate::random::Random;
use bench::{Job, Measure, Setup, TerminalId};
use diagnosis::Check;
use diagnosis::checks::Action;
use serde::{Deserialize, Serialize};

/// A way of choosing the next check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Strategy {
    /// What the engine puts first: the shortest way ahead, danger counted.
    Engine,
    /// What tells most, whatever it costs.
    Bits,
    /// What comes nearest to splitting the probability in halves.
    Halves,
    /// Any useful check.
    Random,
    /// A fixed order as in handbooks: supply first, then currents, then every part end to end, then to the frame.
    Handbook,
}

impl Strategy {
    /// All, the engine's first.
    pub const ALL: [Strategy; 5] =
        [Strategy::Engine, Strategy::Bits, Strategy::Halves, Strategy::Random, Strategy::Handbook];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Strategy::Engine => "engine: shortest way ahead",
            Strategy::Bits => "most bits, cost not counted",
            Strategy::Halves => "half-splitting",
            Strategy::Random => "any useful check",
            Strategy::Handbook => "fixed handbook order",
        }
    }

    /// How many checks it wants to choose from.
    pub fn wants(self) -> usize {
        match self {
            Strategy::Engine => 12,
            Strategy::Handbook => 1,
            _ => 40,
        }
    }

    /// Chooses among checks that can be answered and written down, best first.
    pub fn choose<'c>(self, checks: &[&'c Check], random: &mut Random) -> Option<&'c Check> {
        let most = |value: fn(&Check) -> f64| checks.iter().copied().max_by(|a, b| value(a).total_cmp(&value(b)));
        match self {
            Strategy::Engine | Strategy::Handbook => checks.first().copied(),
            Strategy::Bits => most(|check| check.bits),
            Strategy::Halves => most(|check| {
                let largest = check.outcomes.iter().map(|outcome| outcome.probability).fold(0.0, f64::max);
                -(largest - 0.5).abs()
            }),
            Strategy::Random => checks.get(random.below(checks.len())).copied(),
        }
    }
}

/// Whether the outcome of a check can be written into a job.
///
/// An exchange of sister parts makes another unit, and that nothing trips has no word, so the technician passes over both;
/// and over what the truth here has no figures for: inertias, single coils of an armature.
pub fn can_be_noted(check: &Check) -> bool {
    match check.action {
        Action::Read(measure) => !matches!(measure, Measure::RunDown(_) | Measure::Bars(..)),
        Action::Push(_) | Action::Spin(_) => true,
        Action::Swap(..) | Action::Wait(_) => false,
    }
}

/// The readings of the fixed order, with the minutes of each by itself, for the live setup that the complaint is about.
pub fn handbook(job: &Job, live: &Setup) -> Vec<(Setup, Measure, f64)> {
    let unit = &job.unit;
    let unplugged = Setup::unplugged("unplugged");
    let ends = |part: usize| unit.terminals_of(part).map(TerminalId).collect::<Vec<_>>();
    let own = |part: &usize| !unit.parts()[*part].kind.feeds_unit() && *part != unit.part_of(unit.frame());
    let mut list = Vec::new();
    let cord = unit.find_part("cord").map(&ends).unwrap_or_default();
    let (half, neutral) = (cord.len() / 2, cord.iter().position(|&end| unit.terminal_name(end) == "cord.neutral"));
    if let Some(neutral) = neutral {
        for &live_end in &cord[half..neutral.max(half)] {
            list.push((live.clone(), Measure::Volts(live_end, cord[neutral]), 2.0));
            list.push((live.clone(), Measure::AmpsAtTerminal(live_end), 2.0));
        }
    }
    for part in (0..unit.parts().len()).filter(own) {
        let ends = ends(part);
        if let (Some(&first), Some(&last)) = (ends.first(), ends.last()) {
            list.push((live.clone(), Measure::Volts(first, last), 2.0));
            for pair in ends.windows(2) {
                list.push((unplugged.clone(), Measure::Ohms(pair[0], pair[1]), 2.0));
            }
        }
        if unit.is_motor(part) {
            list.push((live.clone(), Measure::Rpm(part), 2.0));
        }
    }
    for part in (0..unit.parts().len()).filter(own) {
        if let Some(&first) = ends(part).first() {
            list.push((unplugged.clone(), Measure::Ohms(first, unit.frame()), 2.5));
        }
    }
    list.reverse();
    list
}
