//! A simulated technician: reads, writes down, asks the engine anew, stops when it is sure.

use crate::case::Case;
use crate::meter;
use crate::random::Random;
use crate::strategy::{Strategy, can_be_noted, handbook};
use crate::truth::{Put, State};
use crate::written::job_text;
use bench::{FaultSet, Job, Measure, Place, Reading, Setup, Symptom, Value, Word};
use diagnosis::checks::Action;
use diagnosis::checks::cost::of_reading;
use diagnosis::repairs::{SETTLED, UNKNOWN_REPAIR};
use diagnosis::{Diagnosis, diagnose, next_checks};
use serde::{Deserialize, Serialize};

/// Checks after which the technician gives up.
pub const MOST_CHECKS: usize = 20;
/// A pushed motor that turns at this share of its speed runs.
const SEEN_RUNNING: f64 = 0.3;
/// Drag, in shares of rated torque, that a hand feels (engineering judgement).
const FELT_DRAG: f64 = 0.15;

/// Why a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum End {
    /// One repair holds 95 %. That it is none of the known faults is no end.
    Settled,
    /// No check is offered that can be done and written down.
    NothingToCheck,
    /// Twenty checks.
    GivenUp,
}

/// What a search led to.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Outcome {
    /// Why it ended.
    pub end: End,
    /// Repairs with their probabilities, most probable first.
    pub repairs: Vec<(String, f64)>,
    /// Sum of all repair probabilities.
    pub total: f64,
    /// Checks done.
    pub checks: usize,
    /// Their minutes.
    pub minutes: f64,
    /// For each reading whether it was grossly wrong, and whether the engine doubts it.
    pub doubts: Vec<(bool, bool)>,
    /// What was noted, in words.
    pub notes: Vec<String>,
    /// The whole job as a file, what is true in a remark.
    pub job_text: String,
    /// The leading suspect in words.
    pub believed: String,
    /// What the engine's own fit of the true faults weighs over what leads, nats; where something else is settled on.
    pub margin: Option<f64>,
    /// How often the engine's first check could not be written down.
    pub passed_over: usize,
    /// Diagnoses made.
    pub diagnoses: usize,
}

/// Goes through one case; `None` if the engine could not solve the unit.
pub fn work_on(case: &Case, strategy: Strategy, random: &mut Random) -> Option<Outcome> {
    let mut job = bench::job::read("trial", &case.drawn.text).ok()?;
    job.symptoms = case.complaint.clone();
    let world = case.world();
    let first_live = job.find_setup(case.drawn.live_setups.first()?)?;
    let mut fixed = handbook(&job, &job.setups[first_live]);
    let mut gross: Vec<bool> = Vec::new();
    let (mut checks, mut minutes, mut passed_over, mut diagnoses) = (0, 0.0, 0, 0);
    loop {
        let found = diagnose(&job).ok()?;
        diagnoses += 1;
        let is_settled =
            found.repairs.first().is_some_and(|top| top.probability >= SETTLED && top.repair != UNKNOWN_REPAIR);
        let end = if is_settled {
            Some(End::Settled)
        } else if checks >= MOST_CHECKS {
            Some(End::GivenUp)
        } else {
            None
        };
        let mut next: Option<(Setup, Action, f64)> = None;
        if end.is_none() {
            if strategy == Strategy::Handbook {
                next = fixed.pop().map(|(setup, measure, own)| {
                    let took = of_reading(&job, &setup, measure, own).minutes();
                    (setup, Action::Read(measure), took)
                });
            } else {
                let plan = next_checks(&found, strategy.wants());
                passed_over += usize::from(plan.checks.first().is_some_and(|check| !can_be_noted(check)));
                let usable: Vec<_> = plan.checks.iter().filter(|check| can_be_noted(check)).collect();
                let chosen = strategy.choose(&usable, random);
                next = chosen.map(|check| (check.setup.clone(), check.action, check.minutes));
            }
        }
        let end = end.or(next.is_none().then_some(End::NothingToCheck));
        if let Some(end) = end {
            let named: Vec<usize> =
                found.questionable_readings().into_iter().map(|(reading, _)| found.evidence.sources[reading]).collect();
            let doubts =
                gross.iter().enumerate().map(|(index, &is_gross)| (is_gross, named.contains(&index))).collect();
            let repairs: Vec<(String, f64)> =
                found.repairs.iter().map(|share| (share.repair.clone(), share.probability)).collect();
            let total = repairs.iter().map(|(_, probability)| probability).sum();
            let margin = (end == End::Settled).then(|| margin(&found, case)).flatten();
            let (notes, believed) = (notes(&job), believed(&found));
            let job_text =
                job_text(&case.drawn.text, &job, &format!("True: {}\nBelieved: {believed}", case.fault_words()));
            return Some(Outcome {
                end,
                repairs,
                total,
                checks,
                minutes,
                doubts,
                notes,
                job_text,
                believed,
                margin,
                passed_over,
                diagnoses,
            });
        }
        drop(found);
        let (setup, action, took) = next?;
        checks += 1;
        minutes += took;
        let state = State::of(&world, &setup)?;
        carry_out(case, &mut job, &state, (&setup, action), |job, measure| {
            let noted = meter::read(random, &job.unit, &state, measure, &job.meters[0])?;
            gross.push(noted.is_gross);
            Some(noted.value)
        })?;
    }
}

/// Does a check and writes down what comes of it; `None` if it cannot be done or written down.
pub(crate) fn carry_out(
    case: &Case,
    job: &mut Job,
    state: &State<'_>,
    (setup, action): (&Setup, Action),
    read: impl FnOnce(&Job, Measure) -> Option<Value>,
) -> Option<()> {
    let at = setup_index(job, setup.clone());
    match action {
        Action::Read(measure) => {
            let value = read(job, measure)?;
            job.readings.push(Reading { setup: at, measure, value, meter: 0, line: 0, round: Vec::new() });
        }
        Action::Spin(part) => job.symptoms.push(felt(case, at, part)),
        Action::Push(part) => job.symptoms.push(pushed(state, at, part)),
        Action::Swap(..) | Action::Wait(_) => return None,
    }
    Some(())
}

/// Weight of the true faults, fitted as the engine would, over that of the leading suspect, nats.
///
/// More than zero for a truth that was not among the leaders says that it was ruled out before it was fitted.
fn margin(found: &Diagnosis<'_>, case: &Case) -> Option<f64> {
    let unit = &found.evidence.job.unit;
    let log_odds = |faults: &FaultSet| faults.0.iter().map(|&fault| unit.faults()[fault].mode.odds.ln()).sum::<f64>();
    let truth = FaultSet(case.faults.iter().map(|put| put.index).collect());
    let fitted = found.evidence.fit(&truth, None).ok()?;
    let leading = found.suspects.first()?;
    // Not known faults have no odds of their own; there the comparison is left out.
    let leads = leading.log_evidence + log_odds(leading.faults.as_ref()?);
    Some(fitted.log_evidence + log_odds(&truth) - leads)
}

/// What a hand feels at a shaft.
fn felt(case: &Case, setup: usize, part: usize) -> Symptom {
    let drag = |put: &Put| match put.name.as_str() {
        _ if put.place != Place::Part(part) => 0.0,
        "seized" => f64::INFINITY,
        "bearing-drag" => put.size.unwrap_or(0.0),
        _ => 0.0,
    };
    let word = match case.faults.iter().map(drag).fold(0.0, f64::max) {
        drag if drag.is_infinite() => Word::DoesNotTurn,
        drag if drag > FELT_DRAG => Word::Stiff,
        _ => Word::TurnsFreely,
    };
    Symptom { setup, part, word, line: 0 }
}

/// What is seen after a push.
fn pushed(state: &State<'_>, setup: usize, part: usize) -> Symptom {
    let ratio = state.speed_ratio(part).unwrap_or(0.0).abs();
    let word = if ratio > SEEN_RUNNING {
        Word::RunsWhenPushed
    } else if state.watts(part).abs() > 1.0 && !state.breaker_open {
        Word::Hums
    } else {
        Word::Dead
    };
    Symptom { setup, part, word, line: 0 }
}

fn setup_index(job: &mut Job, setup: Setup) -> usize {
    let known = job.setups.iter().position(|own| *own == setup);
    known.unwrap_or_else(|| {
        job.setups.push(setup);
        job.setups.len() - 1
    })
}

fn notes(job: &Job) -> Vec<String> {
    let unit = &job.unit;
    let setup = |index: usize| &job.setups[index].name;
    let symptoms = job.symptoms.iter().map(|symptom| {
        format!("[{}] {} {}", setup(symptom.setup), unit.parts()[symptom.part].name, symptom.word.as_str())
    });
    let readings = job.readings.iter().map(|reading| {
        let value = match reading.value {
            Value::Number(value) => format!("{value} {}", reading.measure.unit()),
            Value::Open => bench::words::over_range(reading.measure).into(),
        };
        format!("[{}] {}: {value}", setup(reading.setup), place(job, reading.measure))
    });
    symptoms.chain(readings).collect()
}

fn place(job: &Job, measure: Measure) -> String {
    let unit = &job.unit;
    match measure {
        Measure::Ohms(a, b) | Measure::Volts(a, b) | Measure::Microfarads(a, b) => {
            format!("{} {}", unit.terminal_name(a), unit.terminal_name(b))
        }
        Measure::AmpsAtTerminal(terminal) => format!("at {}", unit.terminal_name(terminal)),
        Measure::AmpsInWire(wire) => unit.wires()[wire].name.clone(),
        Measure::TouchMilliamps(terminal) => unit.terminal_name(terminal),
        Measure::Watts(part)
        | Measure::Rpm(part)
        | Measure::RunDown(part)
        | Measure::LeakageMilliamps(part)
        | Measure::Bars(part, _) => unit.parts()[part].name.clone(),
    }
}

fn believed(found: &Diagnosis<'_>) -> String {
    let words = |suspect: &diagnosis::Suspect| diagnosis::words::suspect_words(found, suspect);
    found.suspects.first().map_or(String::new(), words)
}
