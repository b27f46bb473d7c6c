//! Whether a job may be closed as proven.
//!
//! Four things must agree: the finding, a reading that the repair has changed, the heat run, and the safety tests. A
//! symptom that is gone proves nothing by itself.

use crate::Findings;
use diagnosis::repairs::SETTLED;

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
        Some(repaired) => (Standing::Proven, repaired.work.clone()),
        None => (Standing::Missing, "nothing is noted as done; write it into [repaired]".into()),
    }
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
    // What no limit is known for can neither pass nor fail.
    let channels =
        || findings.heat.iter().flat_map(|run| &run.channels).filter(|channel| channel.finding.limit.is_some());
    if let Some(failed) = channels().find(|channel| channel.passes() == Some(false)) {
        return (Standing::Against, format!("{}: {}", failed.name(), failed.words()));
    }
    match channels().count() {
        0 => (Standing::Missing, "no heat run after the repair; log one until the verdict is certain".into()),
        _ => match channels().find(|channel| channel.passes().is_none()) {
            Some(open) => (Standing::Missing, format!("{}: {}", open.name(), open.words())),
            None => (Standing::Proven, "every logged temperature stays below its limit".into()),
        },
    }
}

fn safety(findings: &Findings<'_, '_>) -> (Standing, String) {
    match &findings.safety {
        None => (Standing::Missing, "no safety tests are noted; see the sheet (faultwright safety)".into()),
        Some(sheet) => crate::sections::safety::standing(sheet),
    }
}
