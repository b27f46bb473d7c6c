//! Slips of whoever measured, that touch several readings at once: two terminals of a part taken for each other, two
//! figures in each other's line.
//!
//! To the sum over wrong readings such a slip is two or three mistakes that have nothing to do with each other, hundreds
//! of times rarer than it is. So it is a hypothesis of its own: every figure is right, and some were taken elsewhere than
//! they are written. `weigh_slips` weighs it, [`crate::slip_words`] says it.

use crate::evidence::Evidence;
use crate::suspects::Diagnosis;
use bench::{Measure, Reading, TerminalId, Value};

/// Share of jobs in which two terminals of one part are taken for each other, shared among all pairs of them that
/// readings name (engineering judgement).
const NAMES_SHARE: f64 = 0.005;
/// Share of jobs in which two figures stand in each other's line, shared among all pairs of lines in which that could be
/// (engineering judgement).
const LINES_SHARE: f64 = 0.005;
/// Readings that an exchange of names must touch: one that touches a single reading is a probe on a neighbouring terminal.
const LEAST_TOUCHED: usize = 2;
/// From this probability on a slip is named.
const WORTH_A_WORD: f64 = 0.03;
/// From this probability on slips stand in the way of a finding: as much as any other repair may hold beside it.
const OPEN: f64 = 0.05;
/// At most this many slips are considered.
const MOST_SLIPS: usize = 500;

/// How figures came to be taken elsewhere than they are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Two terminals of a part were taken for each other.
    Names {
        /// One of them.
        a: TerminalId,
        /// The other.
        b: TerminalId,
        /// In the readings of ohms alone, or in all that name them.
        only_ohms: bool,
    },
    /// The figures of two readings, by index, stand in each other's line.
    Lines(usize, usize),
}

/// A slip, and what each reading then is of.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// Ways by which it may have come about, which readings cannot tell apart, with their odds in a job.
    pub ways: Vec<(Way, f64)>,
    /// Per reading, where its figure was really taken.
    pub meant: Vec<Measure>,
    /// Readings that were taken elsewhere than they are written.
    pub touched: Vec<usize>,
    /// Probability that it was made, by all readings.
    pub probability: f64,
}

impl Slip {
    /// Odds of it in a job, before anything is read.
    pub fn odds(&self) -> f64 {
        self.ways.iter().map(|(_, odds)| odds).sum()
    }
}

/// Every slip that could have been made in the readings of a job.
pub(crate) fn possible(evidence: &Evidence<'_>) -> Vec<Slip> {
    let mut slips: Vec<Slip> = Vec::new();
    let mut add = |ways: Vec<(Way, Vec<Measure>)>, share: f64, pairs: usize| {
        for (way, meant) in ways {
            let touched: Vec<usize> =
                (0..meant.len()).filter(|&at| !meant[at].is_of_one_place(evidence.taken[at].measure)).collect();
            let odds = share / pairs as f64;
            let is_same = |slip: &&mut Slip| (0..meant.len()).all(|at| slip.meant[at].is_of_one_place(meant[at]));
            match slips.iter_mut().find(is_same) {
                Some(slip) => slip.ways.push((way, odds)),
                None => slips.push(Slip { ways: vec![(way, odds)], meant, touched, probability: 0.0 }),
            }
        }
    };
    let pairs = named_pairs(evidence);
    for &(a, b) in &pairs {
        let with = |only_ohms: bool| {
            let meant: Vec<Measure> = (evidence.taken.iter())
                .map(|taken| match taken.measure {
                    Measure::Ohms(..) => with_exchanged(taken.measure, a, b),
                    _ if only_ohms => taken.measure,
                    _ => with_exchanged(taken.measure, a, b),
                })
                .collect();
            (Way::Names { a, b, only_ohms }, meant)
        };
        let (all, ohms) = (with(false), with(true));
        let is_touched = |meant: &[Measure]| {
            let touched =
                meant.iter().zip(&evidence.taken).filter(|(meant, taken)| !meant.is_of_one_place(taken.measure));
            touched.count() >= LEAST_TOUCHED
        };
        let mut ways = vec![all];
        if ohms.1 != ways[0].1 {
            ways.push(ohms);
        }
        let share = NAMES_SHARE / ways.len() as f64;
        ways.retain(|(_, meant)| is_touched(meant));
        add(ways, share, pairs.len());
    }
    let lines = exchangeable_lines(&evidence.taken);
    for &(first, second) in &lines {
        let mut meant: Vec<Measure> = evidence.taken.iter().map(|taken| taken.measure).collect();
        meant.swap(first, second);
        add(vec![(Way::Lines(first, second), meant)], LINES_SHARE, lines.len());
    }
    // Those that touch most readings explain most.
    slips.sort_by_key(|slip| std::cmp::Reverse(slip.touched.len()));
    slips.truncate(MOST_SLIPS);
    slips
}

/// Pairs of terminals of one part that readings name. Those of a cord or supply are told by their colours and shapes.
fn named_pairs(evidence: &Evidence<'_>) -> Vec<(TerminalId, TerminalId)> {
    let unit = &evidence.job.unit;
    let mut named: Vec<TerminalId> = evidence.taken.iter().flat_map(|taken| ends(taken.measure)).collect();
    named.sort_unstable();
    named.dedup();
    named.retain(|&terminal| !unit.parts()[unit.part_of(terminal)].kind.feeds_unit());
    let after = |place: usize| named[place + 1..].iter().copied();
    let pairs = named.iter().enumerate().flat_map(|(place, &a)| after(place).map(move |b| (a, b)));
    pairs.filter(|&(a, b)| unit.part_of(a) == unit.part_of(b)).collect()
}

/// Pairs of readings that were taken in one go, setup and unit the same.
fn exchangeable_lines(taken: &[Reading]) -> Vec<(usize, usize)> {
    let is_plain = |reading: &Reading| !matches!(reading.measure, Measure::Bars(..));
    let alike = |one: &Reading, other: &Reading| {
        let is_other = match (one.value, other.value) {
            (Value::Number(a), Value::Number(b)) => a != b,
            (a, b) => a != b,
        };
        is_other
            && one.setup == other.setup
            && one.measure.unit() == other.measure.unit()
            && is_plain(one)
            && is_plain(other)
    };
    let pairs = (0..taken.len()).flat_map(|first| (first + 1..taken.len()).map(move |second| (first, second)));
    pairs.filter(|&(first, second)| alike(&taken[first], &taken[second])).collect()
}

fn ends(measure: Measure) -> Vec<TerminalId> {
    match measure {
        Measure::Ohms(a, b) | Measure::Volts(a, b) => vec![a, b],
        Measure::AmpsAtTerminal(terminal) => vec![terminal],
        _ => Vec::new(),
    }
}

/// The measure with two terminals in each other's place.
fn with_exchanged(measure: Measure, a: TerminalId, b: TerminalId) -> Measure {
    let other = |terminal: TerminalId| match terminal {
        terminal if terminal == a => b,
        terminal if terminal == b => a,
        terminal => terminal,
    };
    match measure {
        Measure::Ohms(x, y) => Measure::Ohms(other(x), other(y)),
        Measure::Volts(x, y) => Measure::Volts(other(x), other(y)),
        Measure::AmpsAtTerminal(x) => Measure::AmpsAtTerminal(other(x)),
        measure => measure,
    }
}

impl Diagnosis<'_> {
    /// Slips worth a word, most probable first.
    pub fn likely_slips(&self) -> Vec<&Slip> {
        let mut likely: Vec<&Slip> = self.slips.iter().filter(|slip| slip.probability >= WORTH_A_WORD).collect();
        likely.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        likely
    }

    /// Whether slips are likely enough that nothing is settled before what they touch is measured once more.
    pub fn is_slip_open(&self) -> bool {
        self.likely_slips().into_iter().map(|slip| slip.probability).sum::<f64>() >= OPEN
    }
}
