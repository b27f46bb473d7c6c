//! From a case to its answers, by weighing every hypothesis against every reading.

use crate::answer::Assignment;
use crate::arrangement::{Arrangement, Break};
use crate::arrangements::{arrangements, possible_lead_counts};
use crate::case::Case;
use crate::fit::{Fit, Layout, datum, fit};
use crate::hypotheses::{Group, hypotheses};
use crate::wrong_readings::{Evidence, evidence};
use circuit::SolveError;
use diagnosis::log_weights::LogSum;
use diagnosis::reading_model::Datum;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Odds that the motor has none of the arrangements looked for (engineering judgement).
const NONE_OF_THESE: f64 = 0.01;
/// Hypotheses that fall behind the best by this much, as a logarithm, are not looked at closely: one in 160 000.
const OUT_OF_REACH: f64 = -12.0;
/// Hypotheses of one arrangement count towards an answer's ohms if they have this share of it.
const COUNTED: f64 = 1e-6;

/// Why a case could not be weighed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LeadsError {
    /// Nothing that is looked for agrees with what is said to be known.
    #[error("no motor that is looked for has {leads} leads and is what [known] says; {mend}")]
    NoArrangement {
        /// Number of leads.
        leads: usize,
        /// What could be changed.
        mend: String,
    },
    /// There is nothing to weigh.
    #[error("there are no readings; measure {first} to {second} first: before any reading every pair tells as much")]
    NoReadings {
        /// A lead.
        first: String,
        /// Another.
        second: String,
    },
    /// The ohms of a section have run out of all bounds.
    #[error("the windings cannot be solved: {0}")]
    Solve(#[from] SolveError),
}

/// One hypothesis that was weighed: every lead in its place.
#[derive(Debug, Clone)]
pub struct Weighed {
    /// Index of the group.
    pub group: usize,
    /// Leads at the terminals.
    pub lead_at: Vec<usize>,
    /// Which answer it belongs to.
    pub answer: usize,
    /// Its probability.
    pub probability: f64,
}

/// Which lead is what, with its probability.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Which lead is what.
    pub assignment: Assignment,
    /// Its probability.
    pub probability: f64,
}

/// Everything that follows from a case.
#[derive(Debug)]
pub struct Finding {
    /// The case.
    pub case: Case,
    /// Arrangements that agree with what was known.
    pub arrangements: Vec<Arrangement>,
    /// Hypotheses that meet all readings alike.
    pub groups: Vec<Group>,
    /// What the readings say of each of them; nothing for those out of reach.
    pub evidence: Vec<Option<Evidence>>,
    /// Every hypothesis with any weight, most probable first.
    pub hypotheses: Vec<Weighed>,
    /// Answers, most probable first.
    pub answers: Vec<Answer>,
    /// Probability that the motor is none of these.
    pub none_of_these: f64,
    /// For each reading, the probability that it is wrong.
    pub wrong: Vec<f64>,
    /// Estimate, on the high side, of the probability in hypotheses that were not looked at closely.
    pub left_out: f64,
}

/// Weighs a case.
///
/// # Errors
/// [`LeadsError`] if there is nothing to weigh or nothing to weigh it by.
pub fn infer(case: &Case) -> Result<Finding, LeadsError> {
    check(case)?;
    let arrangements = arrangements(&case.known, case.leads.len());
    let data: Vec<Datum> = case.readings.iter().map(datum).collect();
    let groups = hypotheses(case, &arrangements);
    let layout = |group: &Group| Layout { arrangement: &arrangements[group.arrangement], open: group.open };
    // First the fit with all readings taken to be right, of those that could reach the leader by their paths alone.
    let bounds = bounds(&groups, &arrangements, &data);
    let mut order: Vec<usize> = (0..groups.len()).collect();
    order.sort_by(|&a, &b| bounds[b].total_cmp(&bounds[a]));
    let log_none = NONE_OF_THESE.ln() + data.iter().map(Datum::log_unexplained).sum::<f64>();
    let mut leader = log_none;
    let mut first: Vec<(usize, f64, Fit)> = Vec::new();
    let nothing_wrong = vec![false; data.len()];
    for chunk in order.chunks(CHUNK) {
        if bounds[chunk[0]] < leader + OUT_OF_REACH {
            break;
        }
        let fits: Result<Vec<(usize, f64, Fit)>, SolveError> = chunk
            .par_iter()
            .map(|&index| {
                let group = &groups[index];
                let found = fit(&layout(group), case, &data, &group.pairs, &nothing_wrong)?;
                Ok((index, found.log_evidence + group.log_prior, found))
            })
            .collect();
        first.extend(fits?);
        leader = first.iter().fold(leader, |best, (_, log, _)| best.max(*log));
    }
    // Then the sum over wrong readings, the best first, so that the cutoff is high early on.
    first.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut found: Vec<Option<Evidence>> = vec![None; groups.len()];
    let mut first = first.into_iter().peekable();
    while first.peek().is_some() {
        let chunk: Vec<(usize, f64, Fit)> = first.by_ref().take(CHUNK).collect();
        let cutoff = leader + OUT_OF_REACH;
        let sums: Result<Vec<(usize, Evidence)>, SolveError> = chunk
            .into_par_iter()
            .map(|(index, _, fit)| {
                let group = &groups[index];
                let sum = evidence(&layout(group), case, &data, &group.pairs, cutoff - group.log_prior, fit)?;
                Ok((index, sum))
            })
            .collect();
        for (index, sum) in sums? {
            leader = leader.max(sum.log + groups[index].log_prior);
            found[index] = Some(sum);
        }
    }
    Ok(gathered(case.clone(), arrangements, groups, found, &bounds, log_none))
}

/// Says what keeps a case from being weighed.
///
/// # Errors
/// [`LeadsError`] if nothing looked for agrees with what is known, or nothing was read.
pub fn check(case: &Case) -> Result<(), LeadsError> {
    if arrangements(&case.known, case.leads.len()).is_empty() {
        return Err(no_arrangement(case));
    }
    if let (true, [first, second, ..]) = (case.readings.is_empty(), &case.leads[..]) {
        return Err(LeadsError::NoReadings { first: first.clone(), second: second.clone() });
    }
    Ok(())
}

/// Hypotheses fitted between two looks at who leads.
const CHUNK: usize = 32;

/// For each group, the logarithm of the most its evidence and prior can be, by which readings have a path.
fn bounds(groups: &[Group], arrangements: &[Arrangement], data: &[Datum]) -> Vec<f64> {
    let mut joined: BTreeMap<(usize, Break), Vec<usize>> = BTreeMap::new();
    groups
        .iter()
        .map(|group| {
            let islands = joined
                .entry((group.arrangement, group.open))
                .or_insert_with(|| islands(&arrangements[group.arrangement], group.open));
            let best = |(datum, &(a, b)): (&Datum, &(usize, usize))| {
                if islands[a] == islands[b] {
                    datum.best_within(0.0, LARGEST_WINDING_OHMS)
                } else {
                    datum.best_within(f64::INFINITY, f64::INFINITY)
                }
            };
            group.log_prior + data.iter().zip(&group.pairs).map(best).sum::<f64>()
        })
        .collect()
}

/// No winding of a small motor has more (engineering judgement).
const LARGEST_WINDING_OHMS: f64 = 1e5;

/// For each terminal, which island of joined windings it is on.
fn islands(arrangement: &Arrangement, open: Break) -> Vec<usize> {
    let mut label: Vec<usize> = (0..arrangement.node_count()).collect();
    for (_, section) in arrangement.sections.iter().enumerate().filter(|&(index, _)| open != Break::Section(index)) {
        let (from, to) = (label[section.from], label[section.to]);
        label.iter_mut().filter(|island| **island == from).for_each(|island| *island = to);
    }
    if let Break::Lead(terminal) = open {
        label[terminal] = arrangement.node_count();
    }
    label
}

fn gathered(
    case: Case,
    arrangements: Vec<Arrangement>,
    groups: Vec<Group>,
    evidence: Vec<Option<Evidence>>,
    bounds: &[f64],
    log_none: f64,
) -> Finding {
    let mut total = LogSum::default();
    total.add(log_none);
    let size = |group: &Group| (group.assignments.len() as f64).ln();
    let mut left_out = LogSum::default();
    for ((group, found), &bound) in groups.iter().zip(&evidence).zip(bounds) {
        match found {
            Some(found) => total.add(found.log + group.log_prior + size(group)),
            None => left_out.add(bound + size(group)),
        }
    }
    let total = total.log();
    let mut by_answer: BTreeMap<Assignment, f64> = BTreeMap::new();
    let mut weighed: Vec<(usize, &Vec<usize>, Assignment, f64)> = Vec::new();
    let mut wrong = vec![0.0; case.readings.len()];
    for (index, (group, found)) in groups.iter().zip(&evidence).enumerate() {
        let Some(found) = found else { continue };
        let probability = (found.log + group.log_prior - total).exp();
        let of_group = probability * group.assignments.len() as f64;
        wrong.iter_mut().zip(&found.wrong).for_each(|(sum, share)| *sum += of_group * share);
        for lead_at in &group.assignments {
            let assignment = Assignment::new(&arrangements[group.arrangement], lead_at);
            *by_answer.entry(assignment.clone()).or_default() += probability;
            if probability > COUNTED * 1e-3 {
                weighed.push((index, lead_at, assignment, probability));
            }
        }
    }
    let none_of_these = (log_none - total).exp();
    // A motor that is none of these says nothing about a reading being wrong.
    wrong.iter_mut().for_each(|sum| *sum = (*sum / (1.0 - none_of_these).max(1e-12)).min(1.0));
    let mut answers: Vec<Answer> =
        by_answer.into_iter().map(|(assignment, probability)| Answer { assignment, probability }).collect();
    answers.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| a.assignment.cmp(&b.assignment)));
    let place: BTreeMap<&Assignment, usize> =
        answers.iter().enumerate().map(|(index, answer)| (&answer.assignment, index)).collect();
    let mut hypotheses: Vec<Weighed> = weighed
        .into_iter()
        .map(|(group, lead_at, assignment, probability)| Weighed {
            group,
            lead_at: lead_at.clone(),
            answer: place[&assignment],
            probability,
        })
        .collect();
    hypotheses.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| a.answer.cmp(&b.answer)));
    let left_out = (left_out.log() - total).exp().min(1.0);
    Finding { case, arrangements, groups, evidence, hypotheses, answers, none_of_these, wrong, left_out }
}

fn no_arrangement(case: &Case) -> LeadsError {
    let counts = possible_lead_counts(&case.known);
    let list: Vec<String> = counts.iter().map(ToString::to_string).collect();
    let mend = if counts.is_empty() {
        "what it says does not go together: leave out what you are not sure of".to_owned()
    } else {
        format!(
            "such a motor has {} leads: count again, leave the earth lead out, or leave out what you are not sure of",
            list.join(" or ")
        )
    };
    LeadsError::NoArrangement { leads: case.leads.len(), mend }
}

impl Finding {
    /// Probability of each kind of arrangement, by its index, over all answers.
    pub fn arrangement_probabilities(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.arrangements.len()];
        for hypothesis in &self.hypotheses {
            sums[self.groups[hypothesis.group].arrangement] += hypothesis.probability;
        }
        sums
    }

    /// For each lead, what it may be, with probabilities; those of more than `least`, the most probable first.
    pub fn roles(&self, lead: usize, least: f64) -> Vec<(&'static str, f64)> {
        let mut sums: BTreeMap<&'static str, f64> = BTreeMap::new();
        for answer in &self.answers {
            *sums.entry(answer.assignment.role_of(lead)).or_default() += answer.probability;
        }
        let mut list: Vec<(&'static str, f64)> = sums.into_iter().filter(|&(_, share)| share > least).collect();
        list.sort_by(|a, b| b.1.total_cmp(&a.1));
        list
    }

    /// Entropy over answers, in nats.
    pub fn entropy(&self) -> f64 {
        diagnosis::information::entropy(self.answers.iter().map(|answer| answer.probability))
    }

    /// The layout of a group.
    pub fn layout(&self, group: usize) -> Layout<'_> {
        let group = &self.groups[group];
        Layout { arrangement: &self.arrangements[group.arrangement], open: group.open }
    }
}
