//! How a run ended: temperatures, what switched when, and whether it has settled.

use super::crossing::Threshold;

/// How many periods may pass without a switching before a device no longer counts as cycling (engineering judgement).
const PATIENCE_PERIODS: f64 = 2.0;

/// A threshold that was crossed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// When.
    pub seconds: f64,
    /// Its place in the plant's list.
    pub index: usize,
    /// The threshold as it stood.
    pub threshold: Threshold,
}

/// A device that switches to and fro.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// Place of its threshold in the plant's list.
    pub index: usize,
    /// Seconds from one rising crossing to the next, of the last whole cycle.
    pub period_seconds: f64,
    /// The same of the cycle before it, if there was one: while a machine still warms, its cycles are not alike.
    pub previous_seconds: Option<f64>,
    /// Share of that time between a falling crossing and the next rising one: the time in which a cutout is closed.
    pub duty: f64,
    /// How many whole cycles there were in the run.
    pub cycles: usize,
}

/// What the temperatures were doing when the run ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trend {
    /// All move more slowly than asked for.
    Settled,
    /// Something switches to and fro; the quickest of them.
    Cycling(Cycle),
    /// Some node still moves.
    Moving {
        /// The node that moves fastest.
        node: usize,
        /// Its kelvins per second; positive while it warms.
        kelvin_per_second: f64,
    },
}

/// The end of a run, and what happened in it.
#[derive(Debug, Clone, PartialEq)]
pub struct RunOutcome {
    /// Length of the run, s.
    pub seconds: f64,
    /// Temperatures at its end, degrees Celsius.
    pub celsius: Vec<f64>,
    /// Kelvins per second of each node at its end.
    pub kelvin_per_second: Vec<f64>,
    /// What was crossed, in order of time.
    pub crossings: Vec<Crossing>,
    /// How often the plant was asked for its regime.
    pub regime_calls: usize,
    /// Steps that were kept.
    pub steps: usize,
    /// Steps that were tried and found too long.
    pub rejected_steps: usize,
}

impl RunOutcome {
    /// Moments at which the threshold at one place of the plant's list was crossed, either way, s.
    pub fn crossing_seconds(&self, index: usize) -> Vec<f64> {
        self.crossings.iter().filter(|crossing| crossing.index == index).map(|crossing| crossing.seconds).collect()
    }

    /// Period and duty of what switches to and fro at one place of the plant's list; none before a whole cycle.
    pub fn cycle(&self, index: usize) -> Option<Cycle> {
        let own = self.crossings.iter().filter(|crossing| crossing.index == index);
        let (rises, falls): (Vec<Crossing>, Vec<Crossing>) = own.partition(|crossing| crossing.threshold.rising);
        // From rise over fall to rise; a rise without a fall before it belongs to no cycle.
        let whole: Vec<(f64, f64)> = rises
            .windows(2)
            .filter_map(|pair| {
                let (from, to) = (pair[0].seconds, pair[1].seconds);
                let fall = falls.iter().find(|fall| fall.seconds > from && fall.seconds <= to)?;
                Some((to - from, to - fall.seconds))
            })
            .collect();
        let &(period_seconds, closed) = whole.last()?;
        let previous_seconds = whole.len().checked_sub(2).map(|place| whole[place].0);
        Some(Cycle { index, period_seconds, previous_seconds, duty: closed / period_seconds, cycles: whole.len() })
    }

    /// Whether the run ended settled (every node slower than `settled_kelvin_per_second`), cycling, or still moving.
    ///
    /// What cycles is never settled, however slow it is just then.
    pub fn trend(&self, settled_kelvin_per_second: f64) -> Trend {
        let most = self.crossings.iter().map(|crossing| crossing.index + 1).max().unwrap_or(0);
        let lasting = |cycle: &Cycle| {
            let last = self.crossings.iter().rfind(|crossing| crossing.index == cycle.index);
            last.is_some_and(|last| self.seconds - last.seconds <= PATIENCE_PERIODS * cycle.period_seconds)
        };
        let cycles = (0..most).filter_map(|index| self.cycle(index)).filter(lasting);
        if let Some(quickest) = cycles.min_by(|a, b| a.period_seconds.total_cmp(&b.period_seconds)) {
            return Trend::Cycling(quickest);
        }
        let rates = self.kelvin_per_second.iter().copied().enumerate();
        match rates.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) {
            Some((node, rate)) if rate.abs() > settled_kelvin_per_second => {
                Trend::Moving { node, kelvin_per_second: rate }
            }
            _ => Trend::Settled,
        }
    }
}
