//! All suspects, ranked.
//!
//! Candidates: nothing wrong, every single fault, every pair of faults, and none of the known faults. Singles that
//! predict the same for every reading share one fit. A pair is solved setup by setup until a bound says that it cannot
//! matter; one that can is estimated at the values fitted for its likelier fault, and fitted if its share is not small.
//! What is left out is added up and reported. A fault that changes no reading by itself is looked at beside every fault
//! that was fitted, and taken to change none beside the others; three faults at once are looked at where two of them
//! matter.

use crate::DiagnosisError;
use crate::evidence::Evidence;
use crate::fit::Fit;
use crate::hidden::{Alike, Hidden};
use crate::leaders::draw_leaders;
use crate::log_weights::LogSum;
use crate::logs::{LogEvidence, LogVerdict};
use crate::not_looked_at::NotLookedAt;
use crate::pairs::{compatible, weigh_pairs};
use crate::repairs::{RepairShare, UNKNOWN_REPAIR, repair_of, repair_shares};
use crate::sampling::Sampled;
use crate::screen::Sway;
use crate::singles::weigh_singles;
use crate::slips::Slip;
use crate::triples::weigh_triples;
use crate::watch::Watch;
use crate::weigh_slips::{SlipShares, weigh_slips};
use crate::wrong_readings::summed;
use bench::wiring::severity_unknown;
use bench::{FaultSet, Job};
use rayon::prelude::*;

/// Odds of a sound unit, where a fault's are its own: a unit comes to the bench because something about it was amiss, one
/// without a fault a tenth as often (engineering judgement).
pub const SOUND_ODDS: f64 = 0.1;
/// Odds of a fault that is not in any list (engineering judgement).
const UNKNOWN_ODDS: f64 = 0.02;
/// Of the size of a fault nothing is told if readings leave more than this share of its prior variance (engineering judgement).
const UNTOLD: f64 = 0.9;
/// Hypotheses whose weight by readings alone is this far, in nats, below the best are not taken through runs.
const LOGS_DEPTH: f64 = 16.0;
/// The same for several faults together.
const PAIR_LOGS_DEPTH: f64 = 8.0;
/// At most this many hypotheses are looked at closely by their logs.
const CLOSE_LOOKS: usize = 32;
/// And at least this many of those that are not the leader with a further fault, so that there are rivals to be told.
const LEAST_RIVALS: usize = 5;

/// A hypothesis with its probability.
#[derive(Debug, Clone)]
pub struct Suspect {
    /// What is wrong; `None` is 'none of the known faults'.
    pub faults: Option<FaultSet>,
    /// Probability, with what it may hide beside it.
    pub probability: f64,
    /// Share of `probability` in which there is a further fault that no reading taken could show.
    pub hidden_share: f64,
    /// Those further faults, with the share of `probability` that each has.
    pub hidden: Hidden,
    /// What to do about it.
    pub repair: String,
    /// Most probable values; `None` for 'none of the known faults'.
    pub fit: Option<Fit>,
    /// Log evidence, nats.
    pub log_evidence: f64,
    /// The same before draws.
    pub undrawn_log_evidence: f64,
    /// Standard error of its log evidence, nats, where it was drawn; elsewhere it is Laplace's approximation.
    pub error: Option<f64>,
    /// What the logs say of it, where they were weighed.
    pub logs: LogVerdict,
    /// Slips of whoever measured, by place in [`Diagnosis::slips`], with the share of `probability` that each has.
    pub slips: Vec<(usize, f64)>,
    /// With a slip that has most of it: per reading, what its figure should be where it was really taken.
    pub as_meant: Option<Vec<f64>>,
}

/// How much work a diagnosis was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Single faults considered.
    pub singles: usize,
    /// Fits made for them.
    pub single_fits: usize,
    /// Pairs considered.
    pub pairs: usize,
    /// Pairs solved in every setup; the others were ruled out before.
    pub pairs_solved: usize,
    /// Pairs fitted.
    pub pair_fits: usize,
    /// Looks at a third fault beside a pair.
    pub triples: usize,
    /// Threes fitted.
    pub triple_fits: usize,
    /// Slips of whoever measured that were considered.
    pub slips: usize,
    /// Fits made with them.
    pub slip_fits: usize,
    /// Suspects that could not be solved and were left out.
    pub unsolved: usize,
}

/// The ranking.
pub struct Diagnosis<'j> {
    /// The prepared job.
    pub evidence: Evidence<'j>,
    /// Suspects, most probable first.
    pub suspects: Vec<Suspect>,
    /// Whole repairs, most probable first.
    pub repairs: Vec<RepairShare>,
    /// Single repairs, with the probability that each is needed, alone or with others; most probable first.
    pub needed: Vec<RepairShare>,
    /// What was not looked at.
    pub not_looked_at: NotLookedAt,
    /// Per reading, the probability that it is grossly wrong.
    pub reading_doubt: Vec<f64>,
    /// Slips of whoever measured that matter, with their probability.
    pub slips: Vec<Slip>,
    /// Work done.
    pub work: Work,
}

/// Ranks everything that could be wrong with the unit of a job.
///
/// # Errors
/// [`DiagnosisError`] if the sound unit cannot be solved.
pub fn diagnose(job: &Job) -> Result<Diagnosis<'_>, DiagnosisError> {
    diagnose_watched(job, &Watch::new())
}

/// As [`diagnose`], for those who may lose patience.
///
/// # Errors
/// [`DiagnosisError::Predict`] if the sound unit cannot be solved, [`DiagnosisError::Cancelled`] if the watch says so.
pub fn diagnose_watched<'j>(job: &'j Job, watch: &Watch) -> Result<Diagnosis<'j>, DiagnosisError> {
    let mut evidence = Evidence::new(job)?;
    evidence.watch = watch.clone();
    let mut work = Work { singles: job.unit.faults().len(), ..Work::default() };
    let none = FaultSet::none();
    let medians = vec![0.0; evidence.prior.count()];
    let sound = evidence.outlook(&none, &medians)?;
    let sound_sway = Sway::new(&evidence.prior, &sound);

    let sound_fit = summed(&evidence, evidence.fit(&none, None)?);
    let (groups, quiet) = weigh_singles(&evidence, &sound, &sound_sway, &sound_fit, &mut work);
    let silent: Vec<usize> = quiet.iter().flat_map(|group| group.faults.iter().copied()).collect();
    let mut total = LogSum::default();
    total.add(SOUND_ODDS.ln() + sound_fit.log_evidence);
    groups.iter().chain(&quiet).for_each(|group| total.add(group.odds.ln() + group.log_evidence));
    let (silent_from, all_silent) = (groups.len(), Alike::new(&job.unit, &silent));
    let mut with_silent = groups;
    with_silent.extend(quiet.iter().flat_map(|group| group.apart(&evidence)));
    let mut pairs = weigh_pairs(&evidence, &mut with_silent, silent_from, &sound_sway, total.log(), &mut work);
    let triples = weigh_triples(&evidence, &with_silent, &mut pairs.weighed, total.log(), &mut work);
    let groups = &with_silent[..silent_from];

    if watch.is_cancelled() {
        return Err(DiagnosisError::Cancelled);
    }
    let several = pairs.weighed.iter().chain(&triples.weighed).map(Vec::len).sum::<usize>();
    let mut weighed = Vec::with_capacity(1 + job.unit.faults().len() + several);
    weighed.push(Weighed::fitted(none, SOUND_ODDS.ln(), sound_fit));
    for (place, group) in groups.iter().chain(&quiet).enumerate() {
        // Silent faults are of one kin with the sound unit, which is weighed with the number 0.
        let kin = if place < groups.len() { place + 1 } else { 0 };
        for (&fault, hidden) in group.faults.iter().zip(&group.hidden) {
            let faults = FaultSet(vec![fault]);
            let log_odds = job.unit.faults()[fault].mode.odds.ln();
            let single = Weighed::new(faults, log_odds, group.log_evidence, group.fit.clone());
            // Beside a pair it would be a third fault; of two silent faults each gets half, so that the pair counts once.
            let share = if silent.contains(&fault) { 0.5 } else { 1.0 };
            let mut hidden = hidden.clone();
            if !group.silent_seen {
                let beside = |extra| fault != extra && compatible(&evidence, fault, extra);
                hidden.add(&all_silent, beside, share);
            }
            weighed.push(Weighed { hidden, kin, ..single });
        }
    }
    for (place, members) in pairs.weighed.into_iter().chain(triples.weighed).enumerate() {
        let kin = groups.len() + 1 + place;
        weighed.extend(members.into_iter().map(|member| Weighed { kin, ..member }));
    }
    let shift = draw_leaders(&evidence, &mut weighed);
    let slips = weigh_slips(&evidence, &mut weighed, shift, &mut work);
    let mut left_out = LogSum::default();
    left_out.add(pairs.left_out + shift);
    left_out.add(triples.left_out + shift);
    let mut left_out = left_out.log();
    let unexplained_logs = if job.logs.is_empty() { 0.0 } else { weigh_logs(&evidence, &mut weighed, &mut left_out)? };
    if watch.is_cancelled() {
        return Err(DiagnosisError::Cancelled);
    }
    Ok(rank(evidence, weighed, Aside { left_out, shift, unexplained_logs, slips }, work))
}

/// Adds what the logs say to every hypothesis that readings leave in play; answers with what they weigh unexplained.
///
/// All are glanced at, those that then lead are looked at closely. What was left out before keeps its share.
fn weigh_logs(evidence: &Evidence<'_>, weighed: &mut [Weighed], left_out: &mut f64) -> Result<f64, DiagnosisError> {
    let Some(sound) = weighed.iter().find(|entry| entry.faults.0.is_empty()).and_then(|entry| entry.fit.clone()) else {
        return Ok(0.0);
    };
    let logs = LogEvidence::new(evidence, &sound)?;
    let unexplained = logs.log_unexplained();
    let total = |weighed: &[Weighed]| {
        let mut sum = LogSum::default();
        weighed.iter().for_each(|entry| sum.add(entry.log_weight()));
        sum.log()
    };
    let before = total(weighed);
    let best = weighed.iter().map(Weighed::log_weight).fold(f64::NEG_INFINITY, f64::max);
    evidence.watch.plan(weighed.len());
    let glances: Vec<f64> = weighed
        .par_iter()
        .map(|entry| {
            let depth = if entry.faults.0.len() > 1 { PAIR_LOGS_DEPTH } else { LOGS_DEPTH };
            let is_in_play = entry.log_weight() > best - depth && evidence.watch.step();
            if is_in_play { logs.glance(&entry.faults, entry.fit.as_ref()) } else { unexplained }
        })
        .collect();
    let mut order: Vec<usize> = (0..weighed.len()).collect();
    let weight = |place: usize| weighed[place].log_weight() + glances[place];
    order.sort_by(|&a, &b| weight(b).total_cmp(&weight(a)));
    let floor = weight(order[0]) - LOGS_DEPTH;
    let leader = &weighed[order[0]].faults.0;
    let is_rival = |place: usize| leader.iter().any(|fault| !weighed[place].faults.0.contains(fault));
    let rivals: Vec<usize> = order.iter().copied().filter(|&place| is_rival(place)).take(LEAST_RIVALS).collect();
    let front = order.into_iter().take(CLOSE_LOOKS).filter(|&place| weight(place) > floor && !rivals.contains(&place));
    let close: Vec<usize> = front.chain(rivals.iter().copied()).collect();
    evidence.watch.plan(close.len());
    let verdicts: Vec<(usize, LogVerdict)> = close
        .into_par_iter()
        .filter(|_| evidence.watch.step())
        .map(|place| (place, logs.verdict(&weighed[place].faults, weighed[place].fit.as_ref())))
        .collect();
    for (entry, glance) in weighed.iter_mut().zip(&glances) {
        entry.log_evidence += glance;
    }
    for (place, verdict) in verdicts {
        weighed[place].log_evidence += verdict.log_evidence() - glances[place];
        weighed[place].logs = verdict;
    }
    *left_out += total(weighed) - before;
    Ok(unexplained)
}

/// A hypothesis on its way to a probability.
pub(crate) struct Weighed {
    pub(crate) faults: FaultSet,
    pub(crate) log_odds: f64,
    pub(crate) log_evidence: f64,
    pub(crate) fit: Option<Fit>,
    /// Further faults that no reading could show beside these, with their odds.
    pub(crate) hidden: Hidden,
    /// What the logs say.
    pub(crate) logs: LogVerdict,
    /// Hypotheses of one kin predict the same and share a fit.
    pub(crate) kin: usize,
    /// Evidence by draws, and what it was before them.
    pub(crate) sampled: Option<(Sampled, f64)>,
    /// What slips do to it.
    pub(crate) slips: SlipShares,
}

impl Weighed {
    /// `fit` may be that of another member of the same group: only the names differ.
    pub(crate) fn new(faults: FaultSet, log_odds: f64, log_evidence: f64, fit: Option<Fit>) -> Self {
        let fit = fit.map(|fit| Fit { faults: faults.clone(), ..fit });
        Weighed {
            faults,
            log_odds,
            log_evidence,
            fit,
            hidden: Hidden::default(),
            logs: LogVerdict::default(),
            kin: 0,
            sampled: None,
            slips: SlipShares::default(),
        }
    }

    pub(crate) fn fitted(faults: FaultSet, log_odds: f64, fit: Fit) -> Self {
        let log_evidence = fit.log_evidence;
        Weighed::new(faults, log_odds, log_evidence, Some(fit))
    }

    pub(crate) fn log_weight(&self) -> f64 {
        self.log_odds + self.log_evidence
    }

    /// With what hides behind it.
    pub(crate) fn log_weight_with_hidden(&self) -> f64 {
        self.log_weight() + self.hidden_odds().ln_1p()
    }

    pub(crate) fn hidden_odds(&self) -> f64 {
        self.hidden.total()
    }
}

/// What stands beside the weighed hypotheses, as logarithms.
struct Aside {
    /// Weight of what was left out.
    left_out: f64,
    /// What was taken off hypotheses that were not drawn.
    shift: f64,
    /// Weight of the logs where nothing explains them.
    unexplained_logs: f64,
    /// Slips that matter.
    slips: Vec<Slip>,
}

/// Turns weights into probabilities.
fn rank<'j>(evidence: Evidence<'j>, weighed: Vec<Weighed>, aside: Aside, work: Work) -> Diagnosis<'j> {
    let Aside { left_out, shift, unexplained_logs, mut slips } = aside;
    let symptom_chance = 0.5f64.ln() * evidence.job.symptoms.len() as f64;
    let unexplained: f64 =
        evidence.data.iter().map(|datum| datum.log_unexplained()).sum::<f64>() + symptom_chance + unexplained_logs;
    let unknown_weight = UNKNOWN_ODDS.ln() + unexplained;
    let mut total = LogSum::default();
    for entry in &weighed {
        total.add(entry.log_weight_with_hidden());
    }
    total.add(unknown_weight);
    let not_looked_at = NotLookedAt::new(&evidence, &weighed, left_out, total.log());
    let mut suspects: Vec<Suspect> = weighed
        .into_iter()
        .map(|entry| Suspect {
            probability: (entry.log_weight_with_hidden() - total.log()).exp(),
            hidden_share: entry.hidden_odds() / (1.0 + entry.hidden_odds()),
            hidden: {
                let all = 1.0 + entry.hidden_odds();
                entry.hidden.times(all.recip())
            },
            repair: repair_of(&evidence.job.unit, &entry.faults),
            log_evidence: entry.log_evidence,
            undrawn_log_evidence: {
                let undrawn = entry.log_evidence - entry.slips.gain - shift;
                entry.sampled.as_ref().map_or(undrawn, |(_, before)| *before)
            },
            // What a slip has most of was fitted anew.
            error: entry.sampled.filter(|_| entry.slips.as_meant.is_none()).map(|(sampled, _)| sampled.error),
            slips: entry.slips.shares,
            as_meant: entry.slips.as_meant,
            faults: Some(entry.faults),
            fit: entry.fit,
            logs: entry.logs,
        })
        .collect();
    suspects.push(Suspect {
        faults: None,
        probability: (unknown_weight - total.log()).exp(),
        hidden_share: 0.0,
        hidden: Hidden::default(),
        repair: UNKNOWN_REPAIR.into(),
        fit: None,
        log_evidence: unexplained,
        undrawn_log_evidence: unexplained,
        error: None,
        logs: LogVerdict::default(),
        slips: Vec::new(),
        as_meant: None,
    });
    for (place, slip) in slips.iter_mut().enumerate() {
        let share = |suspect: &Suspect| suspect.slips.iter().find(|(own, _)| *own == place).map(|(_, share)| *share);
        slip.probability = suspects.iter().map(|suspect| suspect.probability * share(suspect).unwrap_or(0.0)).sum();
    }
    suspects.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let (repairs, needed) = repair_shares(&evidence.job.unit, &suspects);
    let reading_doubt = reading_doubt(&evidence, &suspects);
    Diagnosis { evidence, suspects, repairs, needed, not_looked_at, reading_doubt, slips, work }
}

fn reading_doubt(evidence: &Evidence<'_>, suspects: &[Suspect]) -> Vec<f64> {
    let mut doubt = vec![0.0; evidence.data.len()];
    let mut mass = 0.0;
    for suspect in suspects {
        let Some(fit) = &suspect.fit else { continue };
        mass += suspect.probability;
        doubt.iter_mut().zip(&fit.doubt).for_each(|(sum, doubt)| *sum += suspect.probability * doubt);
    }
    doubt.iter_mut().for_each(|sum| *sum = (*sum / mass.max(f64::MIN_POSITIVE)).min(1.0));
    doubt
}

impl Suspect {
    /// Most probable deviations of everything unknown, by readings and logs; none without a fit.
    pub fn deviations(&self, unit: &bench::Unit) -> Vec<f64> {
        let (Some(faults), Some(fit)) = (&self.faults, &self.fit) else { return Vec::new() };
        let mut deviations = fit.deviations.to_vec();
        for position in 0..faults.0.len() {
            if let Some(unknown) = severity_unknown(unit, faults, position)
                && let Some(deviation) = deviations.get_mut(unknown)
            {
                *deviation += self.logs.size_shift(position);
            }
        }
        deviations
    }
}

impl Diagnosis<'_> {
    /// Readings more likely wrong than right, most doubtful first.
    pub fn questionable_readings(&self) -> Vec<(usize, f64)> {
        let mut doubtful: Vec<(usize, f64)> =
            self.reading_doubt.iter().copied().enumerate().filter(|(_, doubt)| *doubt > 0.5).collect();
        doubtful.sort_by(|a, b| b.1.total_cmp(&a.1));
        doubtful
    }

    /// Severity of each fault of a suspect at its most probable value; `None` without one, and where nothing was read that
    /// tells anything of it: a figure would then be that of the prior alone.
    pub fn severities(&self, suspect: &Suspect) -> Vec<Option<f64>> {
        let (Some(faults), Some(fit)) = (&suspect.faults, &suspect.fit) else { return Vec::new() };
        let unit = &self.evidence.job.unit;
        let deviations = suspect.deviations(unit);
        (0..faults.0.len())
            .map(|position| {
                let unknown = severity_unknown(unit, faults, position)?;
                let severity = unit.faults()[faults.0[position]].mode.severity.as_ref()?;
                // Sizes are values of their own, so that their places are the same among the standard-normal ones.
                let is_told = fit.narrowing.variance_of(unknown) < UNTOLD || suspect.logs.size_shift(position) != 0.0;
                is_told.then_some(severity.value(*deviations.get(unknown)?))
            })
            .collect()
    }
}
