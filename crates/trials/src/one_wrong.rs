//! One wrong reading of eight: what it costs, and whether it is named.
//!
//! A technician who makes no mistakes takes the eight readings that the engine asks for; where it asks for fewer, the rest
//! is of the fixed handbook order. Then one of the eight is written down wrong, in the ways of [`crate::meter`], and the
//! job is ranked with it and without it. The other seven are those that were asked for when it was right.

use crate::case::Case;
use crate::meter::{self, Mistake};
use crate::random::Random;
use crate::strategy::{Strategy, can_be_noted, handbook};
use crate::technician::carry_out;
use crate::truth::State;
use bench::{Job, Setup, Value};
use diagnosis::checks::Action;
use diagnosis::reading_model::INSULATION_OHMS;
use diagnosis::{diagnose, next_checks};
use rayon::prelude::*;

/// Readings of a case.
pub const READINGS: usize = 8;
/// Checks after which a case is left out; those that are no readings count too.
const MOST_CHECKS: usize = 20;
/// Times that a mistake is made anew until it changes the reading.
const PATIENCE: usize = 100;

/// A case ranked with eight right readings, and with one of them wrong.
#[derive(Debug, Clone)]
pub struct Compared {
    /// Number of the case.
    pub number: u64,
    /// What became of the reading.
    pub mistake: Mistake,
    /// Whether the careful reading was of insulation, or over range.
    pub is_insulation: bool,
    /// Whether the complaint says that anything is amiss.
    pub is_visible: bool,
    /// Whether the true repair leads without the mistake, and with it.
    pub leads: [bool; 2],
    /// Probability of the true repair without it, and with it.
    pub probability: [f64; 2],
    /// Whether the wrong reading is named.
    pub is_named: bool,
    /// Right readings that are named without the mistake, of eight, and with it, of seven.
    pub falsely_named: [usize; 2],
    /// What was written down, in words: `readings[3]: 12.4 as 1.24`.
    pub words: String,
}

/// Works on one case; `None` if it could not be laid out or solved, or eight readings could not be taken.
pub fn one(seed: u64, number: u64) -> Option<Compared> {
    let case = Case::draw(seed, number, 0.0)?;
    let mut random = Random::new(seed ^ 0x0e1_6874, number);
    let mut job = eight_readings(&case, &mut random)?;
    let (place, value, mistake) = mistake(&case, &job, &mut random)?;
    let before = Ranked::of(&case, &job)?;
    let careful = std::mem::replace(&mut job.readings[place].value, value);
    let after = Ranked::of(&case, &job)?;
    let words = |value: Value| match value {
        Value::Number(number) => format!("{number}"),
        Value::Open => "over range".into(),
    };
    Some(Compared {
        number,
        mistake,
        is_insulation: match careful {
            Value::Number(figure) => job.readings[place].measure.unit() == "ohm" && figure > INSULATION_OHMS,
            Value::Open => true,
        },
        is_visible: case.is_visible(),
        leads: [before.leads, after.leads],
        probability: [before.probability, after.probability],
        is_named: after.named.contains(&place),
        falsely_named: [before.named.len(), after.named.iter().filter(|&&reading| reading != place).count()],
        words: format!("readings[{place}]: {} as {}", words(careful), words(value)),
    })
}

/// What the engine says of a job.
struct Ranked {
    /// Whether the true repair leads.
    leads: bool,
    /// Its probability.
    probability: f64,
    /// Readings named as questionable.
    named: Vec<usize>,
}

impl Ranked {
    fn of(case: &Case, job: &Job) -> Option<Self> {
        let found = diagnose(job).ok()?;
        let mends = found.repairs.iter().filter(|share| case.is_mended_by(&share.repair));
        let named = found.questionable_readings().into_iter().map(|(reading, _)| found.evidence.sources[reading]);
        Some(Ranked {
            leads: found.repairs.first().is_some_and(|top| case.is_mended_by(&top.repair)),
            probability: mends.map(|share| share.probability).sum(),
            named: named.collect(),
        })
    }
}

/// The case's job with eight right readings.
fn eight_readings(case: &Case, random: &mut Random) -> Option<Job> {
    let mut job = bench::job::read("trial", &case.drawn.text).ok()?;
    job.symptoms = case.complaint.clone();
    let world = case.world();
    let live = job.find_setup(case.drawn.live_setups.first()?)?;
    let mut fixed = handbook(&job, &job.setups[live]);
    for _ in 0..MOST_CHECKS {
        if job.readings.len() == READINGS {
            return Some(job);
        }
        let (setup, action) = asked_for(&job)?.or_else(|| not_taken(&job, &mut fixed))?;
        let state = State::of(&world, &setup)?;
        carry_out(case, &mut job, &state, (&setup, action), |job, measure| {
            meter::careful(random, &state, measure, &job.meters[0])
        })?;
    }
    None
}

/// The engine's next check that can be written down; outer `None` if the job cannot be ranked.
fn asked_for(job: &Job) -> Option<Option<(Setup, Action)>> {
    let found = diagnose(job).ok()?;
    let plan = next_checks(&found, Strategy::Engine.wants());
    Some(plan.checks.iter().find(|check| can_be_noted(check)).map(|check| (check.setup.clone(), check.action)))
}

/// The next of the fixed order that was not taken.
fn not_taken(job: &Job, fixed: &mut Vec<(Setup, bench::Measure, f64)>) -> Option<(Setup, Action)> {
    loop {
        let (setup, measure, _) = fixed.pop()?;
        let is_taken =
            job.readings.iter().any(|reading| reading.measure == measure && job.setups[reading.setup] == setup);
        if !is_taken {
            return Some((setup, Action::Read(measure)));
        }
    }
}

/// Which reading is written down wrong, as what, and how that came about.
fn mistake(case: &Case, job: &Job, random: &mut Random) -> Option<(usize, Value, Mistake)> {
    let world = case.world();
    for _ in 0..PATIENCE {
        let place = random.below(READINGS);
        let reading = &job.readings[place];
        let (state, meter) = (State::of(&world, &job.setups[reading.setup])?, &job.meters[reading.meter]);
        let (value, mistake) = meter::mistaken(random, &job.unit, &state, reading.measure, meter, reading.value);
        if meter::is_gross(meter, reading.measure, reading.value, value) {
            return Some((place, value, mistake));
        }
    }
    None
}

/// Works on many cases side by side; `note` is told of each.
pub fn many(seed: u64, cases: u64, note: impl Fn() + Sync) -> Vec<Compared> {
    let numbers: Vec<u64> = (0..cases).collect();
    let worked = numbers.into_par_iter().with_max_len(1).map(|number| {
        let compared = one(seed, number);
        note();
        compared
    });
    worked.collect::<Vec<_>>().into_iter().flatten().collect()
}

/// Figures over a group.
#[derive(Debug, Clone, Copy, Default)]
pub struct Figures {
    /// Cases.
    pub cases: usize,
    /// Share in which the true repair leads without the mistake, and with it.
    pub leads: [f64; 2],
    /// Cases in which the mistake took the lead from the true repair, and in which it gave it the lead.
    pub lost_and_won: [usize; 2],
    /// Mean probability of the true repair without the mistake, and with it.
    pub probability: [f64; 2],
    /// Share of wrong readings that are named.
    pub named: f64,
    /// Share of wrong readings that are named, or leave the true repair where it was.
    pub named_or_harmless: f64,
    /// Share of right readings that are named without the mistake, and with it.
    pub falsely_named: [f64; 2],
}

impl Figures {
    /// Adds up a group.
    pub fn of<'c>(group: impl IntoIterator<Item = &'c Compared>) -> Self {
        let group: Vec<&Compared> = group.into_iter().collect();
        let count = |holds: &dyn Fn(&Compared) -> bool| group.iter().filter(|entry| holds(entry)).count();
        let cases = group.len().max(1) as f64;
        let share = |holds: &dyn Fn(&Compared) -> bool| count(holds) as f64 / cases;
        let falsely = |which: usize| group.iter().map(|entry| entry.falsely_named[which]).sum::<usize>() as f64;
        Figures {
            cases: group.len(),
            leads: [share(&|entry| entry.leads[0]), share(&|entry| entry.leads[1])],
            lost_and_won: [
                count(&|entry| entry.leads[0] && !entry.leads[1]),
                count(&|entry| !entry.leads[0] && entry.leads[1]),
            ],
            probability: [0, 1].map(|which| group.iter().map(|entry| entry.probability[which]).sum::<f64>() / cases),
            named: share(&|entry| entry.is_named),
            named_or_harmless: share(&|entry| entry.is_named || entry.leads[0] == entry.leads[1]),
            falsely_named: [falsely(0) / (cases * READINGS as f64), falsely(1) / (cases * (READINGS - 1) as f64)],
        }
    }
}
