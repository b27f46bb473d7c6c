//! How the finding stands: decided or not, what is left, and what a wrong verdict would cost.
//!
//! Everything is added up over the suspects, each alone and with every further fault that may hide behind it. A case is
//! met by a repair if that is all it needs; the repair is in vain in it if nothing of it is needed.

use crate::plan::minutes_in_vain;
use crate::reading_model::sigma;
use crate::repairs::{RepairShare, SETTLED, UNKNOWN_REPAIR};
use crate::suspects::{Diagnosis, Suspect};
use crate::unexplained::{Unexplained, unexplained};
use bench::danger::danger;
use bench::newly_fitted::{Blame, blame};
use bench::{FaultSet, Measure, Value, observe_values};
use std::collections::BTreeMap;

/// Repairs below this probability are not named as left.
const NAMED: f64 = 0.02;
/// At most this many are.
const NAMED_MOST: usize = 4;
/// Standard deviations by which a reading must change for the repair to be proved by it.
const DIFFERS: f64 = 3.0;

/// How the finding stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// The repair that ends the search, if one does.
    pub settled: Option<RepairShare>,
    /// What to take again first, where none of the known faults is the most probable.
    pub unexplained: Option<Unexplained>,
    /// A single repair that is needed almost surely although it is open whether it is all.
    pub needed: Option<RepairShare>,
    /// Other whole repairs if it is settled, all of them if not; most probable first.
    pub left: Vec<RepairShare>,
    /// What a wrong verdict would cost, where it is settled on something to do.
    pub if_wrong: Option<IfWrong>,
    /// Further faults that may hide behind the first suspect and that its repair would leave, with their probability, most probable first.
    pub hidden: Vec<(usize, f64)>,
    /// Probability that the unit has not failed at all, and that what is at fault is this; most probable first.
    pub blame: Vec<(Blame, f64)>,
    /// A reading by which the repair is proved.
    pub proof: Option<Proof>,
}

/// What a wrong verdict would cost.
#[derive(Debug, Clone, PartialEq)]
pub struct IfWrong {
    /// Probability that nothing of the repair is needed.
    pub in_vain: f64,
    /// What it would have taken, minutes.
    pub minutes: f64,
    /// The repair that is then needed most likely.
    pub instead: Option<RepairShare>,
    /// Probability that some fault would be left, the repair in vain or not.
    pub misses: f64,
    /// Faults that would be left, most probable first.
    pub missed: Vec<Missed>,
}

/// A fault that a repair would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct Missed {
    /// The fault, by index in the unit.
    pub fault: usize,
    /// Probability that it is there.
    pub probability: f64,
    /// Why it must not be left, if it is dangerous.
    pub danger: Option<&'static str>,
    /// Current that a person would carry from the metal to earth with it, at most over the live setups, milliamperes;
    /// only of dangerous ones.
    pub touch_milliamps: Option<f64>,
}

/// A reading to take again after the repair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proof {
    /// The reading as it was taken, by index.
    pub reading: usize,
    /// What it shows once the repair is done, in its unit; infinite if over range.
    pub repaired: f64,
}

/// One way things may be: a suspect, with or without a further fault.
struct Case<'d> {
    suspect: &'d Suspect,
    further: Option<usize>,
    probability: f64,
}

impl Case<'_> {
    fn faults(&self) -> Vec<usize> {
        let own = self.suspect.faults.iter().flat_map(|set| set.0.iter().copied());
        own.chain(self.further).collect()
    }
}

/// How the finding stands.
pub fn verdict(found: &Diagnosis<'_>) -> Verdict {
    let settled = found.settled().cloned();
    let done: Vec<&str> = settled.iter().flat_map(|share| share.repair.split("; ")).collect();
    let others = found.repairs.iter().filter(|share| share.repair.split("; ").ne(done.iter().copied()));
    let left = others.filter(|share| share.probability >= NAMED).take(NAMED_MOST).cloned().collect();
    let is_open = settled.is_none() && !found.is_slip_open();
    let is_needed = |share: &&RepairShare| is_open && share.probability >= SETTLED && share.repair != UNKNOWN_REPAIR;
    let needed = found.needed.first().filter(is_needed).cloned();
    let is_work = settled.is_some() && found.suspects.first().is_some_and(|first| !faults_of(first).is_empty());
    Verdict {
        unexplained: unexplained(found),
        needed,
        left,
        if_wrong: if is_work { Some(if_wrong(found, &done)) } else { None },
        hidden: hidden(found),
        blame: blames(found),
        proof: if is_work { proof(found, &done) } else { None },
        settled,
    }
}

fn faults_of(suspect: &Suspect) -> &[usize] {
    suspect.faults.as_ref().map_or(&[], |set| &set.0)
}

fn cases<'d>(found: &'d Diagnosis<'_>) -> impl Iterator<Item = Case<'d>> {
    found.suspects.iter().flat_map(|suspect| {
        let alone = Case { suspect, further: None, probability: suspect.probability * (1.0 - suspect.hidden_share) };
        let with = suspect.hidden.iter().map(move |(fault, share)| Case {
            suspect,
            further: Some(fault),
            probability: suspect.probability * share,
        });
        std::iter::once(alone).chain(with)
    })
}

fn if_wrong(found: &Diagnosis<'_>, done: &[&str]) -> IfWrong {
    let unit = &found.evidence.job.unit;
    let mended: Vec<bool> = unit.faults().iter().map(|fault| done.contains(&fault.repair().as_str())).collect();
    let is_done = |fault: &usize| mended[*fault];
    let (mut in_vain, mut misses) = (0.0, 0.0);
    let mut instead: BTreeMap<&str, f64> = BTreeMap::new();
    let mut missed: BTreeMap<usize, f64> = BTreeMap::new();
    for case in cases(found) {
        let faults = case.faults();
        if !faults.iter().any(is_done) {
            in_vain += case.probability;
            *instead.entry(case.suspect.repair.as_str()).or_default() += case.probability;
        }
        if case.suspect.faults.is_none() || !faults.iter().all(is_done) {
            misses += case.probability;
        }
        faults.iter().filter(|fault| !is_done(fault)).for_each(|&fault| {
            *missed.entry(fault).or_default() += case.probability;
        });
    }
    let instead = instead.into_iter().filter(|(repair, _)| *repair != UNKNOWN_REPAIR);
    let instead = instead.max_by(|a, b| a.1.total_cmp(&b.1));
    let mut missed: Vec<Missed> = missed
        .into_iter()
        .map(|(fault, probability)| {
            let danger = danger(unit, &unit.faults()[fault]);
            Missed { fault, probability, danger, touch_milliamps: None }
        })
        .collect();
    missed.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let dangerous = missed.iter_mut().filter(|missed| missed.danger.is_some()).take(NAMED_MOST);
    dangerous.for_each(|missed| missed.touch_milliamps = touch_milliamps(found, missed.fault));
    IfWrong {
        in_vain,
        minutes: minutes_in_vain(&done.join("; ")),
        instead: instead.map(|(repair, probability)| RepairShare { repair: repair.to_owned(), probability }),
        misses,
        missed,
    }
}

/// What a person would carry from the metal with one fault in an otherwise sound unit at its usual size, at most over the
/// live setups.
fn touch_milliamps(found: &Diagnosis<'_>, fault: usize) -> Option<f64> {
    let job = found.evidence.job;
    let faults = FaultSet(vec![fault]);
    let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &faults)];
    let live = job.setups.iter().filter(|setup| setup.energised);
    live.filter_map(|setup| {
        observe_values(&job.unit, setup, &faults, &deviations, |observed| observed.body_milliamps().ok()).ok()?
    })
    .reduce(f64::max)
}

fn hidden(found: &Diagnosis<'_>) -> Vec<(usize, f64)> {
    let Some(first) = found.suspects.first() else { return Vec::new() };
    let unit = &found.evidence.job.unit;
    let done: Vec<&str> = first.repair.split("; ").collect();
    // What the repair mends anyway need not be asked for.
    let stays = |fault: usize| !done.contains(&unit.faults()[fault].repair().as_str());
    let mut list: Vec<(usize, f64)> = first
        .hidden
        .iter()
        .filter(|(fault, _)| stays(*fault))
        .map(|(fault, share)| (fault, share * first.probability))
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}

/// Suspects all of whose faults lie in one place outside the unit's own parts, added up.
fn blames(found: &Diagnosis<'_>) -> Vec<(Blame, f64)> {
    let unit = &found.evidence.job.unit;
    let mut sums: BTreeMap<Blame, f64> = BTreeMap::new();
    for suspect in &found.suspects {
        let mut to_blame = faults_of(suspect).iter().map(|&fault| blame(unit, &unit.faults()[fault]));
        if let Some(first) = to_blame.next()
            && first != Blame::Unit
            && to_blame.all(|other| other == first)
        {
            *sums.entry(first).or_default() += suspect.probability;
        }
    }
    let mut list: Vec<(Blame, f64)> = sums.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}

/// The reading that changes most once what is done is sound: everything else as fitted, new parts as they are usually made.
fn proof(found: &Diagnosis<'_>, done: &[&str]) -> Option<Proof> {
    let unit = &found.evidence.job.unit;
    let fit = found.suspects.first()?.fit.as_ref()?;
    let (mended, left): (Vec<usize>, Vec<usize>) =
        fit.faults.0.iter().partition(|&&fault| done.contains(&unit.faults()[fault].repair().as_str()));
    let replaced = |part: usize| {
        mended.iter().any(|&fault| {
            let fault = &unit.faults()[fault];
            fault.place == bench::Place::Part(part) && fault.repair().starts_with("replace")
        })
    };
    let mut deviations: Vec<f64> = fit.deviations[..=unit.unknowns().len()].to_vec();
    for (deviation, unknown) in deviations.iter_mut().zip(unit.unknowns()) {
        if replaced(unknown.part) {
            *deviation = 0.0;
        }
    }
    // Sizes of faults that stay are as fitted.
    for &fault in &left {
        let position = fit.faults.0.iter().position(|own| *own == fault)?;
        deviations.extend(bench::wiring::severity_unknown(unit, &fit.faults, position).map(|at| fit.deviations[at]));
    }
    let mended = Mended { faults: FaultSet(left), deviations };
    let changes = (0..found.evidence.taken.len()).filter_map(|reading| mended.change(found, reading));
    let changes = changes.filter(|(_, deviations)| *deviations > DIFFERS);
    // Of those that change alike the first that was taken.
    let most = changes.reduce(|most, next| if next.1 > most.1 { next } else { most })?;
    Some(most.0)
}

/// The unit after the repair.
struct Mended {
    faults: FaultSet,
    deviations: Vec<f64>,
}

impl Mended {
    /// What a reading becomes, and by how many standard deviations of meter and model that differs from what it was.
    fn change(&self, found: &Diagnosis<'_>, reading: usize) -> Option<(Proof, f64)> {
        let (job, taken) = (found.evidence.job, &found.evidence.taken[reading]);
        if let Measure::Bars(..) = taken.measure {
            return None;
        }
        let (setup, meter) = (&job.setups[taken.setup], &job.meters[taken.meter]);
        let ask = |observed: &mut bench::Observed<'_>| observed.value(taken.measure, meter).ok();
        let value = observe_values(&job.unit, setup, &self.faults, &self.deviations, ask).ok()??;
        let repaired = if value > meter.limit(taken.measure) { f64::INFINITY } else { value };
        let deviations = match taken.value {
            Value::Number(shown) if repaired.is_finite() => {
                (shown - repaired).abs() / sigma(taken.measure, meter, shown.max(repaired))
            }
            Value::Open if repaired.is_infinite() => 0.0,
            _ => f64::INFINITY,
        };
        Some((Proof { reading, repaired }, deviations))
    }
}
