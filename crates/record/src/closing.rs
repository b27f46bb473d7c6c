//! Whether a job may be closed as proven.
//!
//! The finding, what was done, a reading that the repair has changed, the heat run and the safety tests must agree, and what
//! may have made the part fail must be excluded or looked at. A symptom that is gone proves nothing by itself.

use crate::{Findings, HeatChannel, HeatRun};
use diagnosis::recurrence::Standing as Behind;
use diagnosis::repairs::SETTLED;
use repair::options::ROOM_CELSIUS;

/// How a point stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It speaks for the repair.
    Proven,
    /// It was not shown.
    Missing,
    /// It speaks against the repair.
    Against,
}

/// One of the things that must agree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// What it is.
    pub name: &'static str,
    /// How it stands.
    pub standing: Standing,
    /// Why, in words; what to do where it is missing.
    pub words: String,
}

/// All points of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// The points, in the order of the work.
    pub points: Vec<Point>,
}

impl Closing {
    /// Whether everything agrees.
    pub fn is_proven(&self) -> bool {
        self.points.iter().all(|point| point.standing == Standing::Proven)
    }
}

/// How a job stands.
pub fn closing(findings: &Findings<'_, '_>) -> Closing {
    let point = |name, (standing, words): (Standing, String)| Point { name, standing, words };
    Closing {
        points: vec![
            point("finding", finding(findings)),
            point("repair", repair(findings)),
            point("why it failed", reason(findings)),
            point("readings after", readings(findings)),
            point("heat run", heat(findings)),
            point("electrical safety", safety(findings)),
        ],
    }
}

fn finding(findings: &Findings<'_, '_>) -> (Standing, String) {
    let found = findings.found;
    let chance = bench::words::percent(findings.suspect.probability);
    match found.settled() {
        Some(settled) => {
            // What was repaired must hold all that is settled on.
            let done: Vec<&str> = findings.suspect.repair.split("; ").collect();
            let names_it = settled.repair.split("; ").all(|repair| done.contains(&repair));
            match names_it {
                true => (Standing::Proven, format!("the readings settle it: {}", settled.repair)),
                false => (Standing::Against, format!("the readings point to something else: {}", settled.repair)),
            }
        }
        None if found.is_slip_open() => (
            Standing::Missing,
            "names of terminals may have been taken for each other, or figures stand in each other's line: take those \
             readings once more before closing"
                .into(),
        ),
        None => (
            Standing::Missing,
            format!(
                "no repair holds {} by the readings; what was repaired holds {chance}. Take the next check before closing",
                bench::words::percent(SETTLED)
            ),
        ),
    }
}

fn repair(findings: &Findings<'_, '_>) -> (Standing, String) {
    match &findings.found.evidence.job.repaired {
        Some(repaired) if repaired.faults.0.is_empty() => (
            Standing::Missing,
            format!(
                "'{}' is noted as done, but not for which cause; write the cause into faults of [repaired]",
                repaired.work
            ),
        ),
        Some(repaired) => (Standing::Proven, repaired.work.clone()),
        None => (Standing::Missing, "nothing is noted as done; write it into [repaired]".into()),
    }
}

/// A repair that leaves its reason in place does not last.
fn reason(findings: &Findings<'_, '_>) -> (Standing, String) {
    let repaired = findings.found.evidence.job.repaired.as_ref();
    let looked_at = repaired.map_or(&[][..], |repaired| &repaired.looked_at);
    let conditions: Vec<_> = findings.behind.iter().flat_map(|reasons| &reasons.conditions).collect();
    let open = || conditions.iter().filter(|(_, standing)| *standing == Behind::Open).map(|(condition, _)| condition);
    let mut left: Vec<String> = Vec::new();
    for condition in open().filter(|condition| !looked_at.contains(&condition.label)) {
        let words = format!("\"{}\" ({})", condition.label, condition.check);
        if !left.contains(&words) {
            left.push(words);
        }
    }
    if !left.is_empty() {
        let words = "look at what the readings do not exclude, and write what was found well into looked_at of [repaired], what was not into faults";
        return (Standing::Missing, format!("{words}: {}", left.join(", ")));
    }
    let found = conditions.iter().find(|(_, standing)| *standing == Behind::Found);
    let words = match (found, open().next()) {
        (Some((condition, _)), _) => format!("{}; it is part of the repair", condition.words),
        (None, Some(_)) => "what the readings do not exclude was looked at and found well".into(),
        (None, None) if conditions.is_empty() => "nothing is known that makes such a part fail".into(),
        (None, None) => "the readings exclude what makes such a part fail".into(),
    };
    (Standing::Proven, words)
}

fn readings(findings: &Findings<'_, '_>) -> (Standing, String) {
    let total = findings.after.len();
    let off = findings.after.iter().filter(|reading| !reading.agrees).count();
    let telling = findings.after.iter().filter(|reading| reading.tells && reading.agrees).count();
    if off > 0 {
        return (Standing::Against, format!("{off} of {total} do not agree with the repaired unit"));
    }
    if telling == 0 {
        let words = "no reading after the repair would have been another one with the fault still in; a symptom that is gone proves nothing. Repeat a reading that the fault had changed";
        return (Standing::Missing, words.into());
    }
    (
        Standing::Proven,
        format!("{total} agree with the repaired unit; {telling} of them could not with the fault still in"),
    )
}

fn heat(findings: &Findings<'_, '_>) -> (Standing, String) {
    let by_ohms = || findings.heat.iter().flat_map(|run| &run.by_ohms);
    // What no limit is known for can neither pass nor fail.
    let channels =
        || findings.heat.iter().flat_map(|run| &run.channels).filter(|channel| channel.finding.limit.is_some());
    if let Some(failed) = channels().find(|channel| channel.passes() == Some(false)) {
        return (Standing::Against, format!("{}: {}", failed.name(), failed.words()));
    }
    if let Some(failed) = by_ohms().find(|winding| winding.passes() == Some(false)) {
        return (Standing::Against, format!("{}: {}", failed.name, failed.words()));
    }
    if channels().next().is_none() && by_ohms().next().is_none() {
        return (Standing::Missing, "no heat run after the repair; log one until the verdict is certain".into());
    }
    // One proof of a winding is enough: by a sensor on it, or by its ohms.
    let proven_by_ohms =
        |place| by_ohms().any(|winding| Some(winding.place) == place && winding.passes() == Some(true));
    let proven_by_sensor =
        |place| channels().any(|channel| channel.place == Some(place) && channel.passes() == Some(true));
    if let Some(open) = channels().find(|channel| channel.passes().is_none() && !proven_by_ohms(channel.place)) {
        return (Standing::Missing, format!("{}: {}", open.name(), open.words()));
    }
    if let Some(open) = by_ohms().find(|winding| winding.passes().is_none() && !proven_by_sensor(winding.place)) {
        return (Standing::Missing, format!("{}: {}", open.name, open.words()));
    }
    let passed = || "every logged temperature stays below its limit".to_owned();
    let Some(windings) = &findings.windings else { return (Standing::Proven, passed()) };
    let hottest = &windings.hottest;
    let unit = &findings.found.evidence.job.unit;
    let is_winding = |channel: &HeatChannel| {
        let is_it = |(part, body): (usize, usize)| unit.heat_of(part).bodies[body].is_winding();
        channel.finding.limit.is_some() && channel.place.is_some_and(is_it)
    };
    let shows_one = |run: &HeatRun| run.channels.iter().any(is_winding) || !run.by_ohms.is_empty();
    let runs = || findings.heat.iter().enumerate().filter(|(_, run)| shows_one(run));
    if runs().next().is_none() {
        let words = format!(
            "no winding was logged, and what is about one is cooler than it; log {} or another winding by a sensor on it, or by its ohms after switching off (hot_ohms)",
            hottest.name
        );
        return (Standing::Missing, words);
    }
    if let Some((_, run)) = runs().find(|&(place, _)| windings.is_hot_enough(place)) {
        return (Standing::Proven, format!("{}, in '{}', where windings get as hot as anywhere", passed(), run.name));
    }
    let cooler = runs().find_map(|(place, _)| windings.runs.get(place)?.as_ref());
    let cooler = cooler
        .map_or(String::new(), |own| format!("in '{}' windings come to about {:.0} °C, ", own.position, own.celsius));
    let words = format!(
        "the run was not made where the unit gets hottest: {cooler}but in '{}' to about {:.0} °C by prediction, from a room of \
         {ROOM_CELSIUS} °C. Log a run there",
        hottest.position, hottest.celsius
    );
    (Standing::Missing, words)
}

fn safety(findings: &Findings<'_, '_>) -> (Standing, String) {
    match &findings.safety {
        None => (Standing::Missing, "no safety tests are noted; see the sheet (faultwright safety)".into()),
        Some(sheet) => crate::sections::safety::standing(sheet),
    }
}
