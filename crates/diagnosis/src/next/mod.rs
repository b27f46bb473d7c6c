//! The next check: the first of the way that is expected to be shortest, and after it what tells most a minute.
//!
//! Checks are ranked by the expected drop of entropy *over repairs*, per minute, energised work counted dearer. The one that
//! leads stays first unless [`mod@crate::plan`] finds that with another first the whole way is shorter. An energised check is
//! never put first when an isolated one tells nearly as much.

pub mod words;

use crate::checks::survey::{Candidate, survey};
use crate::checks::{Action, Check, Hazard, Inseparable, WORTH_DOING_BITS, cautions_of};
use crate::plan::first::first;
use crate::sequencing::{NEARLY_AS_MUCH, Price};
use crate::suspects::Diagnosis;
use crate::unexplained::unexplained;
use std::cmp::Ordering;

/// Steps of bits a minute within which two checks tell the same, so that the last digits of a solution do not order them.
const SAME_RATE: f64 = 1e-9;

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlan {
    /// Entropy over repairs now, bits.
    pub entropy_bits: f64,
    /// The repair that holds enough probability for the search to end, if one does.
    pub settled: Option<String>,
    /// Whether none of the known faults explains the readings best, so that taking doubtful ones again comes before any check.
    pub unexplained: bool,
    /// Best checks, best first: the one to do next, then those that tell most a minute.
    pub checks: Vec<Check>,
    /// Why the first is the first.
    pub lead: Lead,
    /// Suspects that ask for different repairs and that no check on the list tells apart.
    pub inseparable: Vec<Inseparable>,
    /// The best check of those refused, if it tells more a minute than all that are left, without outcomes.
    pub foregone: Option<Check>,
}

/// Why the first check is the first.
#[derive(Debug, Clone, PartialEq)]
pub enum Lead {
    /// It tells most a minute, danger counted.
    MostAMinute,
    /// Another tells more a minute, but with the supply on, and this one nearly as much with the supply off.
    Isolated {
        /// The other, without outcomes.
        other: Box<Check>,
    },
    /// Another tells more a minute, but with this one first the whole way is shorter.
    ShorterWay {
        /// The other, without outcomes.
        other: Box<Check>,
        /// Expected price of the whole way with this one first.
        expected: Price,
        /// And with the other.
        with_other: Price,
        /// Whether every order was weighed, not only the first check.
        is_exact: bool,
    },
}

/// Finds the best next checks, at most `most`; of no use if the diagnosis was cancelled meanwhile.
pub fn next_checks(diagnosis: &Diagnosis<'_>, most: usize) -> CheckPlan {
    let job = diagnosis.evidence.job;
    let shares = diagnosis.repairs.iter().map(|repair| repair.probability);
    let entropy_bits = crate::information::entropy(shares) / std::f64::consts::LN_2;
    let settled = diagnosis.settled().map(|share| share.repair.clone());
    let survey = survey(diagnosis);
    let inseparable = survey.inseparable(diagnosis);
    let worth_doing = survey.candidates.iter().filter(|candidate| candidate.check.bits > WORTH_DOING_BITS).cloned();
    let (refused, mut open): (Vec<Candidate>, Vec<Candidate>) = worth_doing.partition(|candidate| candidate.is_refused);
    by_rate(&mut open);
    let most_a_minute = open.first().map(|candidate| candidate.check.clone());
    let foregone = refused
        .into_iter()
        .map(|candidate| candidate.check)
        .filter(|check| most_a_minute.as_ref().is_none_or(|most| check.rate() > most.rate()))
        .max_by(|a, b| a.rate().total_cmp(&b.rate()));
    let usual = open.get(isolated_for(&open, 0)).map(|candidate| candidate.check.clone());
    // What would only confirm needs no way.
    let ahead = usual.as_ref().filter(|_| settled.is_none()).and_then(|usual| first(diagnosis, &survey, usual));
    let first = ahead.as_ref().map_or(usual.as_ref(), |ahead| Some(&ahead.check));
    let at = first.and_then(|first| open.iter().position(|candidate| same(&candidate.check, first)));
    if let Some(at) = at {
        let at = isolated_for(&open, at);
        open[..=at].rotate_right(1);
    }
    drop_repeats(&mut open);
    open.truncate(most);
    let mut checks: Vec<Check> =
        open.into_iter().map(|candidate| candidate.with_outcomes(&job.unit, &survey.players)).collect();
    for check in &mut checks {
        check.cautions = cautions_of(job, check);
    }
    let lead = match (checks.first(), usual, most_a_minute, ahead) {
        (Some(is), Some(usual), _, Some(ahead)) if same(is, &ahead.check) && !same(is, &usual) => Lead::ShorterWay {
            other: Box::new(usual),
            expected: ahead.expected,
            with_other: ahead.with_usual,
            is_exact: ahead.is_exact,
        },
        (Some(is), _, Some(other), _) if !same(is, &other) && is.hazard == Hazard::Isolated => {
            Lead::Isolated { other: Box::new(other) }
        }
        _ => Lead::MostAMinute,
    };
    let unexplained = unexplained(diagnosis).is_some();
    CheckPlan { entropy_bits, settled, unexplained, checks, lead, inseparable, foregone }
}

/// Whether two are one check, whatever it tells.
fn same(a: &Check, b: &Check) -> bool {
    a.action == b.action && a.setup == b.setup
}

/// What tells most a minute first; the shorter of those that tell the same, then the one that was looked at first.
fn by_rate(candidates: &mut [Candidate]) {
    let key = |candidate: &Candidate| (candidate.check.rate(), candidate.check.minutes);
    candidates.sort_by(|a, b| most_a_minute_first(key(a), key(b)));
}

/// The order of two checks by their bits a minute and their minutes.
///
/// Rates are compared in steps and not by their distance, so that no row of checks, each all but equal to the next, goes round.
fn most_a_minute_first((a_rate, a_minutes): (f64, f64), (b_rate, b_minutes): (f64, f64)) -> Ordering {
    let steps = |rate: f64| (rate / SAME_RATE).round();
    steps(b_rate).total_cmp(&steps(a_rate)).then_with(|| a_minutes.total_cmp(&b_minutes))
}

/// The place of the isolated check that goes before the one at a place since it tells nearly as much; else that place.
fn isolated_for(candidates: &[Candidate], at: usize) -> usize {
    let Some(check) = candidates.get(at).map(|candidate| &candidate.check) else { return at };
    if check.hazard == Hazard::Isolated {
        return at;
    }
    let needed = NEARLY_AS_MUCH * check.bits;
    let is_enough = |check: &Check| check.hazard == Hazard::Isolated && check.bits >= needed;
    candidates.iter().position(|candidate| is_enough(&candidate.check)).unwrap_or(at)
}

/// Leaves one check of those that tell the same: points of one net, or the same points in another switch position.
fn drop_repeats(candidates: &mut Vec<Candidate>) {
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in candidates.drain(..) {
        let check = &candidate.check;
        let repeats = kept.iter().map(|other| &other.check).any(|other| {
            let same_place = other.action == check.action || other.setup == check.setup;
            same_place && (other.bits - check.bits).abs() < 1e-3 && same_kind(other.action, check.action)
        });
        if !repeats {
            kept.push(candidate);
        }
    }
    *candidates = kept;
}

fn same_kind(a: Action, b: Action) -> bool {
    match (a, b) {
        (Action::Read(x), Action::Read(y)) => x.unit() == y.unit(),
        (Action::Swap(a, b, x), Action::Swap(c, d, y)) => (a, b) == (c, d) && x.unit() == y.unit(),
        _ => a == b,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_digits_of_a_rate_order_nothing() {
        let (rate, next) = (0.0174, 0.0174 * (1.0 + 4.0 * f64::EPSILON));
        assert_eq!(most_a_minute_first((rate, 5.0), (next, 5.0)), Ordering::Equal);
        assert_eq!(most_a_minute_first((next, 7.0), (rate, 5.0)), Ordering::Greater);
        // A thousandth more is more, however long it takes.
        assert_eq!(most_a_minute_first((1.001 * rate, 7.0), (rate, 5.0)), Ordering::Less);
    }
}
