//! The next check: what could be measured, what each suspect says it would show, and what that would settle.
//!
//! Every candidate is judged by the expected drop of entropy *over repairs*, per minute, energised work counted dearer.
//! An energised check is never put first when an isolated one tells nearly as much.

use crate::fit::Fit;
use crate::information::{Forecast, density, expected_gain, expected_gain_of_answers};
use crate::prior::Prior;
use crate::reading_model::{GROSS_SHARE, sigma};
use crate::suspects::{Diagnosis, Suspect};
use bench::cautions::cautions;
use bench::{Job, Measure, Meter, Setup, TerminalId, Unit, observe, observe_values};
use machine::Motion;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Suspects considered: the most probable ones, up to this many.
const SUSPECT_LIMIT: usize = 20;
/// Candidates of each kind of setup that are worked out in full after a first sifting.
const FINALISTS: usize = 24;
/// Spread assumed for every prediction in the first sifting.
const ROUGH_SPREAD: f64 = 0.05;
/// An isolated check goes first if it tells at least this share of what the best one tells.
const NEARLY_AS_MUCH: f64 = 0.8;
/// A check that tells less than this is not worth doing, bits.
const WORTH_DOING_BITS: f64 = 0.05;
/// A repair that holds this much probability ends the search.
const SETTLED: f64 = 0.95;

/// How dangerous a check is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// Unplugged, proven dead.
    Isolated,
    /// Supply on.
    Energised,
    /// Supply on and a hand near moving parts.
    EnergisedMoving,
}

impl Hazard {
    /// By how much a minute of such work is dearer than one of isolated work (engineering judgement).
    pub fn weight(self) -> f64 {
        match self {
            Hazard::Isolated => 1.0,
            Hazard::Energised => 2.5,
            Hazard::EnergisedMoving => 3.5,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Hazard::Isolated => "isolated",
            Hazard::Energised => "energised",
            Hazard::EnergisedMoving => "energised, moving parts",
        }
    }
}

/// What is done in a check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Action {
    /// Take a reading.
    Read(Measure),
    /// Give a motor a push and see whether it runs.
    Push(usize),
}

/// What a check may show.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// A number, most probable value and the range within two standard deviations.
    Number {
        /// Most probable value.
        middle: f64,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Over range.
    Open,
    /// Runs after a push, or not.
    Runs(bool),
}

/// One outcome of a check and what it would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// What is shown.
    pub shown: Shown,
    /// Probability of this outcome.
    pub probability: f64,
    /// Suspects left, by index in the diagnosis, with their probability then; at least 1 % each.
    pub leaves: Vec<(usize, f64)>,
    /// Most probable repair then, and its probability.
    pub repair: (String, f64),
}

/// Something the technician could do next.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Arrangement to do it in; may be one of the job's own.
    pub setup: Setup,
    /// What to do.
    pub action: Action,
    /// Expected drop of the entropy over repairs, bits.
    pub bits: f64,
    /// About how long it takes, minutes (engineering judgement).
    pub minutes: f64,
    /// How dangerous it is.
    pub hazard: Hazard,
    /// What to heed.
    pub cautions: Vec<String>,
    /// What it may show, most probable first.
    pub outcomes: Vec<Outcome>,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlan {
    /// Entropy over repairs now, bits.
    pub entropy_bits: f64,
    /// The repair that holds enough probability for the search to end, if one does.
    pub settled: Option<String>,
    /// Best checks, best first.
    pub checks: Vec<Check>,
}

/// A suspect in play: its place in the ranking, weight, class and fit.
struct Player<'d> {
    index: usize,
    weight: f64,
    class: usize,
    fit: &'d Fit,
    prior: Prior,
}

/// Finds the best next checks, at most `most`.
pub fn next_checks(diagnosis: &Diagnosis<'_>, most: usize) -> CheckPlan {
    let job = diagnosis.evidence.job;
    let (players, classes) = players(diagnosis);
    let shares = diagnosis.repairs.iter().map(|repair| repair.probability);
    let entropy_bits = crate::information::entropy(shares) / std::f64::consts::LN_2;
    let settled = diagnosis.repairs.first().filter(|top| top.probability >= SETTLED).map(|top| top.repair.clone());
    let total: f64 = players.iter().map(|player| player.weight).sum();
    let mut checks: Vec<Check> = candidate_setups(job)
        .into_par_iter()
        .flat_map_iter(|candidate| setup_checks(job, &candidate, &players, total))
        .collect();
    checks.extend(pushes(job, &players));
    checks.retain(|check| check.bits > WORTH_DOING_BITS);
    checks.sort_by(|a, b| rate(b).total_cmp(&rate(a)).then_with(|| a.minutes.total_cmp(&b.minutes)));
    isolated_first(&mut checks);
    drop_repeats(&mut checks);
    checks.truncate(most);
    for check in &mut checks {
        finish(check, job, &players, &classes);
    }
    CheckPlan { entropy_bits, settled, checks }
}

fn rate(check: &Check) -> f64 {
    check.bits / (check.minutes * check.hazard.weight())
}

/// The leading suspects that have a fit; classes are repairs.
fn players<'d>(diagnosis: &'d Diagnosis<'_>) -> (Vec<Player<'d>>, Vec<String>) {
    let mut classes: Vec<String> = Vec::new();
    let mut players = Vec::new();
    let fitted = |suspect: &&(usize, &'d Suspect)| suspect.1.fit.is_some() && suspect.1.probability > 1e-4;
    for (index, suspect) in diagnosis.suspects.iter().enumerate().collect::<Vec<_>>().iter().filter(fitted).take(SUSPECT_LIMIT) {
        let Some(fit) = &suspect.fit else { continue };
        let class = classes.iter().position(|repair| *repair == suspect.repair).unwrap_or_else(|| {
            classes.push(suspect.repair.clone());
            classes.len() - 1
        });
        let prior = diagnosis.evidence.prior.with_severities(&diagnosis.evidence.job.unit, &fit.faults);
        players.push(Player { index: *index, weight: suspect.probability, class, fit, prior });
    }
    (players, classes)
}

/// A setup to measure in, what it costs to arrange, and where to measure.
struct CandidateSetup {
    setup: Setup,
    extra_minutes: f64,
    /// Only measure at this part.
    only_part: Option<usize>,
}

fn candidate_setups(job: &Job) -> Vec<CandidateSetup> {
    let unit = &job.unit;
    let mut list: Vec<CandidateSetup> = Vec::new();
    let known = |setup: &Setup| job.setups.iter().find(|own| Setup { name: setup.name.clone(), ..(*own).clone() } == *setup).cloned();
    let mut add = |setup: Setup, extra_minutes: f64, only_part: Option<usize>| {
        let (setup, extra_minutes) = match known(&setup) {
            Some(own) => (own, extra_minutes),
            None => (setup, extra_minutes),
        };
        list.push(CandidateSetup { setup, extra_minutes, only_part });
    };
    add(Setup::unplugged("unplugged"), 0.0, None);
    for (part, entry) in unit.parts().iter().enumerate() {
        let ordinary = entry.kind.ordinary_position();
        for position in entry.kind.positions().into_iter().filter(|position| Some(position) != ordinary.as_ref()) {
            // A thermostat or cutout cannot be told to open.
            if entry.kind.name() != "switch" {
                continue;
            }
            let mut setup = Setup::unplugged(format!("unplugged, {} at {position}", entry.name));
            setup.positions.insert(part, position);
            add(setup, 0.2, None);
        }
        let terminals = unit.terminals_of(part);
        if part != unit.supply() && !entry.kind.feeds_unit() && terminals.len() >= 2 {
            let mut setup = Setup::unplugged(format!("unplugged, wires off {}", entry.name));
            setup.lifted = terminals.clone().map(TerminalId).collect();
            add(setup, 1.0 + 0.5 * terminals.len() as f64, Some(part));
        }
    }
    let live: Vec<&Setup> = job.setups.iter().filter(|setup| setup.energised && setup.jumpers.is_empty()).collect();
    for setup in &live {
        add((*setup).clone(), 0.0, None);
    }
    if live.is_empty() {
        add(Setup { energised: true, ..Setup::unplugged("switched on") }, 0.0, None);
    }
    list
}

/// Places to measure at in a setup, with minutes.
fn places(unit: &Unit, candidate: &CandidateSetup) -> Vec<(Measure, f64)> {
    let setup = &candidate.setup;
    let supply = unit.supply();
    let terminals: Vec<TerminalId> = (0..unit.terminal_count())
        .map(TerminalId)
        .filter(|&terminal| candidate.only_part.is_none_or(|part| unit.part_of(terminal) == part))
        .filter(|&terminal| setup.energised || unit.part_of(terminal) != supply)
        .collect();
    let mut list = Vec::new();
    if !setup.energised {
        for (at, &a) in terminals.iter().enumerate() {
            for &b in &terminals[at + 1..] {
                let apart = if unit.part_of(a) == unit.part_of(b) { 0.0 } else { 0.5 };
                list.push((Measure::Ohms(a, b), 2.0 + apart + candidate.extra_minutes));
            }
        }
        return list;
    }
    let neutral = TerminalId(unit.terminals_of(supply).start + 1);
    for (at, &a) in terminals.iter().enumerate() {
        if unit.part_of(a) == supply {
            continue;
        }
        list.push((Measure::Volts(a, neutral), 4.0 + candidate.extra_minutes));
        for &b in terminals[at + 1..].iter().filter(|&&b| unit.part_of(b) == unit.part_of(a)) {
            list.push((Measure::Volts(a, b), 4.0 + candidate.extra_minutes));
        }
        if !setup.lifted.contains(&a) && a != unit.frame() {
            list.push((Measure::AmpsAtTerminal(a), 4.0 + candidate.extra_minutes));
        }
    }
    for (part, entry) in unit.parts().iter().enumerate() {
        if entry.kind.synchronous_rpm(unit.hertz()).is_some() {
            list.push((Measure::Rpm(part), 4.0 + candidate.extra_minutes));
        }
    }
    list
}

/// The best checks of one setup, without outcomes.
fn setup_checks(job: &Job, candidate: &CandidateSetup, players: &[Player<'_>], total: f64) -> Vec<Check> {
    let unit = &job.unit;
    let meter = &job.meters[0];
    let places = places(unit, candidate);
    let means: Vec<Option<Vec<f64>>> = players
        .iter()
        .map(|player| {
            let solved = observe_values(unit, &candidate.setup, &player.fit.faults, &player.fit.deviations, |observed| {
                places.iter().map(|&(measure, _)| shown_mean(observed.value(measure, meter).ok(), meter, measure)).collect()
            });
            solved.ok()
        })
        .collect();
    let rough = |place: usize| -> f64 {
        let measure = places[place].0;
        let forecasts: Vec<Forecast> = players
            .iter()
            .zip(&means)
            .filter_map(|(player, means)| {
                let mean = means.as_ref()?[place];
                let spread = sigma(measure, meter, finite_or_zero(mean)).hypot(ROUGH_SPREAD * finite_or_zero(mean));
                Some(Forecast { weight: player.weight, class: player.class, mean, sigma: spread })
            })
            .collect();
        let first = forecasts.first().map_or(0.0, |forecast| forecast.mean);
        if forecasts.iter().all(|f| f.mean == first || (f.mean - first).abs() < 0.02 * first.abs()) {
            return 0.0;
        }
        expected_gain(&forecasts, GROSS_SHARE)
    };
    let mut ranked: Vec<(usize, f64)> =
        (0..places.len()).map(|place| (place, rough(place) / places[place].1)).filter(|&(_, gain)| gain > 0.0).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    ranked.truncate(FINALISTS);
    ranked
        .into_iter()
        .map(|(place, _)| {
            let (measure, minutes) = places[place];
            let setup = candidate.setup.clone();
            let forecasts = forecasts(job, &setup, measure, players);
            let bits = total * expected_gain(&forecasts, GROSS_SHARE) / std::f64::consts::LN_2;
            let hazard = if setup.energised { Hazard::Energised } else { Hazard::Isolated };
            let action = Action::Read(measure);
            Check { setup, action, bits, minutes, hazard, cautions: Vec::new(), outcomes: Vec::new() }
        })
        .collect()
}

fn finite_or_zero(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

/// The mean a meter would show: over range counts as open.
fn shown_mean(value: Option<f64>, meter: &Meter, measure: Measure) -> f64 {
    match (value, measure) {
        (Some(value), Measure::Ohms(..)) if value > meter.ohms_limit => f64::INFINITY,
        (Some(value), _) => value,
        (None, _) => f64::INFINITY,
    }
}

/// What every suspect says a reading would be, spreads included.
fn forecasts(job: &Job, setup: &Setup, measure: Measure, players: &[Player<'_>]) -> Vec<Forecast> {
    let meter = &job.meters[0];
    players
        .iter()
        .filter_map(|player| {
            let fit = player.fit;
            let prediction =
                observe(&job.unit, setup, &fit.faults, &fit.deviations, |observed| observed.measure(measure, meter)).ok()?.ok()?;
            let mean = shown_mean(Some(prediction.value), meter, measure);
            let unknown = if mean.is_finite() { fit.spread(&player.prior, &prediction.gradient) } else { 0.0 };
            let sigma = sigma(measure, meter, finite_or_zero(mean)).hypot(unknown);
            Some(Forecast { weight: player.weight, class: player.class, mean, sigma })
        })
        .collect()
}

/// Pushes by hand, for motors that some suspect leaves at rest.
fn pushes(job: &Job, players: &[Player<'_>]) -> Vec<Check> {
    let unit = &job.unit;
    let mut checks = Vec::new();
    for setup in job.setups.iter().filter(|setup| setup.energised && setup.pushed.is_empty()) {
        for part in (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_some()) {
            let pushed = Setup { name: format!("{}, {} pushed", setup.name, unit.parts()[part].name), pushed: vec![part], ..setup.clone() };
            if job.setups.iter().any(|own| own.pushed.contains(&part) && own.positions == setup.positions) {
                continue;
            }
            let answers = push_answers(job, &pushed, part, players);
            let weights: Vec<(f64, usize)> = players.iter().map(|player| (player.weight, player.class)).collect();
            let bits = expected_gain_of_answers(&weights, &answers) / std::f64::consts::LN_2;
            let (hazard, action) = (Hazard::EnergisedMoving, Action::Push(part));
            checks.push(Check { setup: pushed, action, bits, minutes: 3.0, hazard, cautions: Vec::new(), outcomes: Vec::new() });
        }
    }
    checks
}

/// Probability, per suspect, that a pushed motor runs (answer 1) or not (answer 0).
fn push_answers(job: &Job, pushed: &Setup, part: usize, players: &[Player<'_>]) -> Vec<BTreeMap<usize, f64>> {
    /// Probability that what is seen is not what the model says (engineering judgement).
    const MISSEEN: f64 = 0.08;
    players
        .iter()
        .map(|player| {
            let fit = player.fit;
            let runs = observe_values(&job.unit, pushed, &fit.faults, &fit.deviations, |observed| {
                observed.motion(part) == Some(Motion::Running) && observed.speed_ratio(part).unwrap_or(0.0) > 0.3
            });
            let chance = if runs.unwrap_or(false) { 1.0 - MISSEEN } else { MISSEEN };
            BTreeMap::from([(1, chance), (0, 1.0 - chance)])
        })
        .collect()
}

/// Puts an isolated check first if it tells nearly as much as the energised one that leads.
fn isolated_first(checks: &mut [Check]) {
    let Some(first) = checks.first() else { return };
    if first.hazard == Hazard::Isolated {
        return;
    }
    let needed = NEARLY_AS_MUCH * first.bits;
    if let Some(at) = checks.iter().position(|check| check.hazard == Hazard::Isolated && check.bits >= needed) {
        checks[..=at].rotate_right(1);
    }
}

/// Leaves one check of those that tell the same: points of one net, or the same points in another switch position.
fn drop_repeats(checks: &mut Vec<Check>) {
    let mut kept: Vec<Check> = Vec::new();
    for check in checks.drain(..) {
        let repeats = kept.iter().any(|other| {
            let same_place = other.action == check.action || other.setup == check.setup;
            same_place && (other.bits - check.bits).abs() < 1e-3 && same_kind(other.action, check.action)
        });
        if !repeats {
            kept.push(check);
        }
    }
    *checks = kept;
}

fn same_kind(a: Action, b: Action) -> bool {
    match (a, b) {
        (Action::Read(x), Action::Read(y)) => x.unit() == y.unit(),
        (Action::Push(x), Action::Push(y)) => x == y,
        _ => false,
    }
}

/// Adds cautions and outcomes.
fn finish(check: &mut Check, job: &Job, players: &[Player<'_>], classes: &[String]) {
    check.cautions = cautions(&job.unit, &check.setup);
    check.outcomes = match check.action {
        Action::Read(measure) => read_outcomes(&forecasts(job, &check.setup, measure, players), players, classes),
        Action::Push(part) => push_outcomes(&push_answers(job, &check.setup, part, players), players, classes),
    };
    check.outcomes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
}

/// Bundles suspects that say about the same into outcomes.
fn read_outcomes(forecasts: &[Forecast], players: &[Player<'_>], classes: &[String]) -> Vec<Outcome> {
    let mut order: Vec<usize> = (0..forecasts.len()).collect();
    order.sort_by(|&a, &b| forecasts[a].mean.total_cmp(&forecasts[b].mean));
    let mut bundles: Vec<Vec<usize>> = Vec::new();
    for index in order {
        let joins = bundles.last().and_then(|bundle| bundle.last()).is_some_and(|&last| {
            let (a, b) = (&forecasts[last], &forecasts[index]);
            a.mean == b.mean || (b.mean - a.mean) < 2.0 * a.sigma.min(b.sigma).max(0.25 * a.sigma.max(b.sigma))
        });
        match bundles.last_mut() {
            Some(bundle) if joins => bundle.push(index),
            _ => bundles.push(vec![index]),
        }
    }
    let total: f64 = forecasts.iter().map(|forecast| forecast.weight).sum();
    bundles
        .into_iter()
        .map(|bundle| {
            let leader = bundle.iter().copied().max_by(|&a, &b| forecasts[a].weight.total_cmp(&forecasts[b].weight)).unwrap_or(0);
            let middle = forecasts[leader].mean;
            let probability = bundle.iter().map(|&index| forecasts[index].weight).sum::<f64>() / total;
            let low = bundle.iter().map(|&i| forecasts[i].mean - 2.0 * forecasts[i].sigma).fold(f64::INFINITY, f64::min);
            let high = bundle.iter().map(|&i| forecasts[i].mean + 2.0 * forecasts[i].sigma).fold(0.0, f64::max);
            let weights: Vec<f64> = forecasts.iter().map(|forecast| forecast.weight * density(forecast, middle)).collect();
            let shown =
                if middle.is_finite() { Shown::Number { middle, low: low.max(0.0), high } } else { Shown::Open };
            outcome(shown, probability, &weights, players, classes)
        })
        .collect()
}

fn push_outcomes(answers: &[BTreeMap<usize, f64>], players: &[Player<'_>], classes: &[String]) -> Vec<Outcome> {
    let total: f64 = players.iter().map(|player| player.weight).sum();
    [1, 0]
        .map(|answer| {
            let chance = |index: usize| answers[index].get(&answer).copied().unwrap_or(0.0);
            let weights: Vec<f64> = players.iter().enumerate().map(|(index, player)| player.weight * chance(index)).collect();
            let probability = weights.iter().sum::<f64>() / total;
            outcome(Shown::Runs(answer == 1), probability, &weights, players, classes)
        })
        .into()
}

fn outcome(shown: Shown, probability: f64, weights: &[f64], players: &[Player<'_>], classes: &[String]) -> Outcome {
    let sum: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let mut leaves: Vec<(usize, f64)> =
        players.iter().zip(weights).map(|(player, weight)| (player.index, weight / sum)).filter(|&(_, p)| p >= 0.01).collect();
    leaves.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut repairs = vec![0.0; classes.len()];
    for (player, weight) in players.iter().zip(weights) {
        repairs[player.class] += weight / sum;
    }
    let best = (0..repairs.len()).max_by(|&a, &b| repairs[a].total_cmp(&repairs[b])).unwrap_or(0);
    let repair = (classes.get(best).cloned().unwrap_or_default(), repairs.get(best).copied().unwrap_or(0.0));
    Outcome { shown, probability, leaves, repair }
}
