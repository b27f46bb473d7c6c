//! A ranking and the checks that follow, made ready for a page.

use bench::experience::Moved;
use bench::heat::HeatScales;
use bench::{FaultSet, Job, Value, words};
use diagnosis::checks::{Action, Hazard};
use diagnosis::flows::consequences;
use diagnosis::next::words::{standing_words, why_first};
use diagnosis::reading_model::Datum;
use diagnosis::repairs::RepairShare;
use diagnosis::support::supports;
use diagnosis::verdict::verdict;
use diagnosis::words as findings;
use diagnosis::{Check, CheckPlan, Diagnosis, DiagnosisError, Suspect, Watch, diagnose_watched, next_checks};

/// Suspects below this probability are not shown one by one.
const SHOWN: f64 = 0.005;
const SHOWN_MOST: usize = 8;
/// Suspects whose consequences are worked out.
const EXPLAINED: usize = 4;
/// Checks proposed.
const CHECKS: usize = 4;

/// Everything the page shows about what could be wrong.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// Most probable first.
    pub suspects: Vec<SuspectView>,
    /// How many odds the shop's experience has moved; nothing if the listed ones hold.
    pub learnt: Option<usize>,
    /// Repairs and how probably each is what is needed.
    pub repairs: Vec<(String, f64)>,
    /// Single repairs, alone or with others, where several faults together are in play; else empty.
    pub needed: Vec<(String, f64)>,
    /// What each reading does to the first repair, strongest first.
    pub support: Vec<SupportView>,
    /// Readings that are probably wrong.
    pub doubts: Vec<String>,
    /// What the readings would not have shown.
    pub unseen: Vec<String>,
    /// What may stand behind a part that has failed before, a line each; empty if none has.
    pub recurrence: Vec<String>,
    /// How the ranking came about.
    pub method: String,
    /// How the finding stands, a line each.
    pub verdict: Vec<String>,
    /// Volts that look odd and fit, a line each.
    pub odd_volts: Vec<String>,
    /// How far finding is, where the list of checks does not speak for itself.
    pub standing: Option<&'static str>,
    /// Best first.
    pub checks: Vec<CheckView>,
    /// Why the first check is not the one that tells most a minute; nothing if it is.
    pub why_first: Option<String>,
    /// What is refused and what that costs, in words.
    pub refusals: Vec<String>,
    /// Suspects that no check tells apart, in words.
    pub inseparable: Vec<String>,
}

/// One suspect.
#[derive(Debug, Clone)]
pub struct SuspectView {
    pub label: String,
    pub probability: f64,
    /// Each fault in words.
    pub faults: Vec<String>,
    /// Odds of its faults that the shop's experience has moved, in words.
    pub learnt: Vec<String>,
    pub repair: String,
    /// Chance of a further fault that no reading could show.
    pub hidden_share: f64,
    pub readings: Vec<ReadingView>,
    /// What it does to currents and powers.
    pub consequences: Vec<String>,
    /// The faults, and the most probable values of everything unknown, to draw it by.
    pub set: Option<FaultSet>,
    pub deviations: Vec<f64>,
    /// What is not known of the unit's heat, at its most probable, if a log says something of it.
    pub scales: Option<HeatScales>,
}

/// One reading under one suspect.
#[derive(Debug, Clone)]
pub struct ReadingView {
    pub unit: &'static str,
    pub place: String,
    pub setup: String,
    pub predicted: String,
    pub shown: String,
    pub off: String,
    pub verdict: &'static str,
    /// Predicted, one standard deviation, and shown if a number, in the measure's unit.
    pub predicted_value: f64,
    pub sigma: Option<f64>,
    pub shown_value: Option<f64>,
}

/// What a reading does to the verdict.
#[derive(Debug, Clone)]
pub struct SupportView {
    /// Index in the job.
    pub reading: usize,
    pub place: String,
    pub setup: String,
    pub shown: String,
    pub log_ratio: f64,
    pub strength: String,
    pub without: f64,
}

/// A check that could be made.
#[derive(Debug, Clone)]
pub struct CheckView {
    pub words: String,
    pub setup: bench::Setup,
    pub setup_words: String,
    pub bits: f64,
    /// How long it takes, in words.
    pub cost: String,
    pub hazard: Hazard,
    pub cautions: Vec<String>,
    /// Terminals to put the leads on, as typed; empty if it is no reading between or at terminals.
    pub points: Vec<String>,
    /// Unit of what is read; empty if nothing is.
    pub unit: &'static str,
    pub outcomes: Vec<OutcomeView>,
    /// What could be refused of it: as in a job file, and in words.
    pub refusable: Vec<(String, String)>,
}

/// What a check may show and what would follow.
#[derive(Debug, Clone)]
pub struct OutcomeView {
    pub shown: String,
    pub probability: f64,
    pub repair: (String, f64),
    pub leaves: Vec<(String, f64)>,
}

impl Assessment {
    /// Weighs a job; takes a while.
    ///
    /// # Errors
    /// If the sound unit cannot be solved, or nobody waits any more.
    pub fn new(job: &Job, moved: Option<&[Moved]>, watch: &Watch) -> Result<Self, DiagnosisError> {
        let found = diagnose_watched(job, watch)?;
        let plan = next_checks(&found, CHECKS);
        if watch.is_cancelled() {
            return Err(DiagnosisError::Cancelled);
        }
        Ok(Self::of(&found, &plan, moved))
    }

    fn of(found: &Diagnosis<'_>, plan: &CheckPlan, moved: Option<&[Moved]>) -> Self {
        let job = found.evidence.job;
        let shown = found.suspects.iter().enumerate().take(SHOWN_MOST);
        let shown = shown.take_while(|(rank, suspect)| *rank == 0 || suspect.probability >= SHOWN);
        let taken = &found.evidence.taken;
        let place = |reading: usize| words::place(&job.unit, taken[reading].measure);
        let setup = |reading: usize| job.setups[taken[reading].setup].name.clone();
        let value = |reading: usize| words::shown(taken[reading].measure, taken[reading].value);
        let support = supports(found).into_iter().map(|support| SupportView {
            reading: found.evidence.sources[support.reading],
            place: place(support.reading),
            setup: setup(support.reading),
            shown: value(support.reading),
            log_ratio: support.log_ratio,
            strength: findings::strength(support.log_ratio),
            without: support.without,
        });
        let doubts = found.questionable_readings().into_iter();
        let doubts = doubts.map(|(reading, doubt)| findings::doubt_words(found, reading, doubt));
        let row = |share: &RepairShare| (share.repair.clone(), share.probability);
        let is_shown = |share: &&RepairShare| share.probability >= SHOWN;
        Assessment {
            suspects: shown
                .map(|(rank, suspect)| suspect_view(found, suspect, rank < EXPLAINED, moved.unwrap_or_default()))
                .collect(),
            learnt: moved.map(<[Moved]>::len),
            repairs: found.whole_repairs(SHOWN).take(SHOWN_MOST).map(row).collect(),
            needed: match found.has_several_together(SHOWN) {
                true => found.needed.iter().filter(is_shown).take(SHOWN_MOST).map(row).collect(),
                false => Vec::new(),
            },
            support: support.collect(),
            doubts: doubts.collect(),
            unseen: if job.readings.is_empty() { Vec::new() } else { findings::unseen_lines(found) },
            recurrence: findings::recurrence_lines(found),
            method: findings::method(found),
            verdict: findings::verdict_lines(found, &verdict(found), Some(plan)),
            odd_volts: findings::explanation_lines(found),
            standing: standing_words(plan),
            checks: plan.checks.iter().map(|check| check_view(found, check)).collect(),
            why_first: why_first(found, plan),
            refusals: findings::refusal_lines(found, plan),
            inseparable: findings::inseparable_lines(found, plan),
        }
    }

    /// The first suspects in a line, for search.
    pub fn in_a_line(&self) -> String {
        let first = self.suspects.iter().take(3);
        first
            .map(|suspect| format!("{} {}", suspect.label, words::percent(suspect.probability)))
            .collect::<Vec<_>>()
            .join("; ")
    }

    /// Probability of a suspect by its fault, whatever size was fitted.
    pub fn probability_of(&self, set: &Option<FaultSet>) -> Option<f64> {
        self.suspects.iter().find(|suspect| &suspect.set == set).map(|suspect| suspect.probability)
    }
}

fn suspect_view(found: &Diagnosis<'_>, suspect: &Suspect, explain: bool, moved: &[Moved]) -> SuspectView {
    let job = found.evidence.job;
    let learnt = |fault: &usize| {
        let moved = moved.iter().find(|moved| moved.fault == *fault)?;
        Some(format!("{}: {}", job.unit.faults()[*fault].label(), moved.words()))
    };
    let fault_words = |&fault: &usize| {
        let fault = &job.unit.faults()[fault];
        format!("{}: {}", fault.place_name, fault.mode.words)
    };
    let consequences = match explain {
        true => {
            let mut lines = findings::log_lines(found, suspect);
            lines.extend(
                consequences(found, suspect).map_or(Vec::new(), |what| findings::consequence_lines(found, &what)),
            );
            lines
        }
        false => Vec::new(),
    };
    let predictions = suspect.fit.iter().flat_map(|fit| fit.outlook.predictions.iter());
    let readings = predictions.enumerate().map(|(index, prediction)| {
        let (reading, datum) = (&found.evidence.taken[index], &found.evidence.data[index]);
        let (off, _) = findings::deviation(datum, prediction.value);
        let sigma = match datum {
            Datum::Shown { sigma, .. } => Some(*sigma),
            Datum::Open { .. } => None,
        };
        let shown_value = match reading.value {
            Value::Number(number) => Some(number),
            Value::Open => None,
        };
        ReadingView {
            unit: reading.measure.unit(),
            place: words::place(&job.unit, reading.measure),
            setup: job.setups[reading.setup].name.clone(),
            predicted: findings::predicted(reading.measure, &job.meters[reading.meter], datum, prediction.value),
            shown: words::shown(reading.measure, reading.value),
            off,
            verdict: findings::fit_word(found, suspect, index),
            predicted_value: prediction.value,
            sigma,
            shown_value,
        }
    });
    SuspectView {
        label: findings::suspect_words(found, suspect),
        probability: suspect.probability,
        faults: suspect.faults.iter().flat_map(|set| set.0.iter().map(fault_words)).collect(),
        learnt: suspect.faults.iter().flat_map(|set| set.0.iter().filter_map(learnt)).collect(),
        repair: suspect.repair.clone(),
        hidden_share: suspect.hidden_share,
        readings: readings.collect(),
        consequences,
        set: suspect.faults.clone(),
        deviations: suspect.deviations(&job.unit),
        scales: suspect.logs.scales().cloned(),
    }
}

fn check_view(found: &Diagnosis<'_>, check: &Check) -> CheckView {
    let job = found.evidence.job;
    let unit = &job.unit;
    let leaves = |leaves: &[(usize, f64)]| {
        let left = leaves.iter().take(3);
        left.map(|&(suspect, probability)| (findings::suspect_words(found, &found.suspects[suspect]), probability))
            .collect()
    };
    CheckView {
        words: findings::action_words(found, check),
        setup: check.setup.clone(),
        setup_words: words::setup_words(unit, &check.setup),
        bits: check.bits,
        cost: findings::cost_words(job, check),
        hazard: check.hazard,
        cautions: check.cautions.clone(),
        points: findings::points(unit, check.action),
        refusable: check.refusable(job).iter().map(|refusal| (refusal.text(job), refusal.words(job))).collect(),
        unit: match check.action {
            Action::Read(measure) | Action::Swap(_, _, measure) => measure.unit(),
            _ => "",
        },
        outcomes: check
            .outcomes
            .iter()
            .filter(|outcome| outcome.probability >= SHOWN)
            .map(|outcome| OutcomeView {
                shown: findings::shown_words(check, &outcome.shown),
                probability: outcome.probability,
                repair: outcome.repair.clone(),
                leaves: leaves(&outcome.leaves),
            })
            .collect(),
    }
}
