//! The verdict and explained readings as JSON.

use bench::newly_fitted::Blame;
use diagnosis::explanations::{Explanation, explanation_words, explanations};
use diagnosis::repairs::RepairShare;
use diagnosis::slip_words::{Alike, Telling, alike, slip_words};
use diagnosis::slips::{Slip, Way};
use diagnosis::verdict::{Missed, verdict};
use diagnosis::words as findings;
use diagnosis::{CheckPlan, Diagnosis};
use serde_json::{Value as Json, json};

/// Faults that would be left and hidden ones below this probability are left out.
const LISTED: f64 = 1e-4;

/// How the finding stands.
pub fn verdict_json(found: &Diagnosis<'_>, plan: Option<&CheckPlan>) -> Json {
    let unit = &found.evidence.job.unit;
    let verdict = verdict(found);
    let share = |share: &RepairShare| json!({ "repair": share.repair, "probability": share.probability });
    let fault = |index: usize| {
        let fault = &unit.faults()[index];
        json!({ "part": fault.place_name, "fault": fault.mode.name, "words": fault.mode.words })
    };
    let with = |index: usize, fields: Json| {
        let mut whole = fault(index);
        if let (Some(whole), Json::Object(fields)) = (whole.as_object_mut(), fields) {
            whole.extend(fields);
        }
        whole
    };
    let missed = |missed: &Missed| {
        let fields = json!({ "probability": missed.probability, "danger": missed.danger,
            "touch_milliamps": missed.touch_milliamps });
        with(missed.fault, fields)
    };
    let if_wrong = verdict.if_wrong.as_ref().map(|wrong| {
        json!({
            "in_vain_probability": wrong.in_vain, "minutes_in_vain": wrong.minutes,
            "instead": wrong.instead.as_ref().map(share), "misses_probability": wrong.misses,
            "missed": wrong.missed.iter().filter(|fault| fault.probability >= LISTED).map(missed).collect::<Vec<_>>(),
        })
    });
    let hidden = verdict.hidden.iter().filter(|(_, probability)| *probability >= LISTED);
    json!({
        "state": if verdict.settled.is_some() { "settled" } else { "not decided" },
        "settled": verdict.settled.as_ref().map(share),
        "unexplained": verdict.unexplained.as_ref().map(|unexplained| json!({
            "probability": unexplained.probability,
            "take_again": unexplained.again.iter().map(|&reading| found.evidence.taken[reading].line).collect::<Vec<_>>(),
        })),
        "needed": verdict.needed.as_ref().map(share),
        "left": verdict.left.iter().map(share).collect::<Vec<_>>(),
        "if_wrong": if_wrong,
        "hidden": hidden.map(|&(fault, probability)| with(fault, json!({ "probability": probability }))).collect::<Vec<_>>(),
        "not_the_unit": verdict.blame.iter().map(|&(blame, probability)| {
            json!({ "what": blame_name(blame), "probability": probability })
        }).collect::<Vec<_>>(),
        "proof": verdict.proof.map(|proof| {
            let taken = &found.evidence.taken[proof.reading];
            let repaired = if proof.repaired.is_finite() { json!(proof.repaired) } else {
                json!(bench::words::over_range(taken.measure))
            };
            json!({ "line": taken.line, "repaired": repaired })
        }),
        "lines": findings::verdict_lines(found, &verdict, plan),
    })
}

/// Slips of whoever measured that touch several readings.
pub fn slips_json(found: &Diagnosis<'_>) -> Json {
    let job = found.evidence.job;
    let way = |way: Way| match way {
        Way::Names { a, b, only_ohms } => {
            json!({ "kind": "names", "terminals": [job.unit.terminal_name(a), job.unit.terminal_name(b)], "only_ohms": only_ohms })
        }
        Way::Lines(first, second) => {
            json!({ "kind": "lines", "lines": [found.evidence.taken[first].line, found.evidence.taken[second].line] })
        }
    };
    let tells = |telling: Telling| {
        json!({ "setup": job.setups[telling.setup].name, "where": bench::words::place(&job.unit, telling.measure),
            "unit": telling.measure.unit(), "with_slip": telling.with_slip, "as_written": telling.as_written })
    };
    let reads_like = |alike: Alike<'_>| {
        json!({ "words": findings::suspect_words(found, alike.suspect), "probability": alike.suspect.probability,
            "telling": alike.telling.map(tells) })
    };
    let row = |slip: &Slip| {
        json!({
            "ways": slip.ways.iter().map(|&(one, _)| way(one)).collect::<Vec<_>>(),
            "lines": slip.touched.iter().map(|&reading| found.evidence.taken[reading].line).collect::<Vec<_>>(),
            "probability": slip.probability,
            "reads_like": alike(found, slip).map(reads_like),
            "words": slip_words(found, slip),
        })
    };
    found.likely_slips().into_iter().map(row).collect()
}

fn blame_name(blame: Blame) -> &'static str {
    match blame {
        Blame::Unit => "unit",
        Blame::Supply => "supply",
        Blame::HookUp => "hook-up",
        Blame::WrongPart => "wrong part",
    }
}

/// Volts that look odd and fit.
pub fn explained(found: &Diagnosis<'_>) -> Json {
    let list = explanations(found).into_iter().map(|(reading, why)| {
        let kind = match why {
            Explanation::Ghost { .. } => "ghost",
            Explanation::OpenBetween => "open between",
            Explanation::NoCurrentThrough { .. } => "no current through",
            Explanation::OpenBehind { .. } => "open behind",
            Explanation::OpenFurtherOn { .. } => "open further on",
            Explanation::FedBack { .. } => "fed back",
            Explanation::MoreThanSupply { .. } => "more than the supply",
        };
        let low_impedance_volts = if let Explanation::Ghost { loaded, .. } = why { Some(loaded) } else { None };
        json!({
            "line": found.evidence.taken[reading].line, "kind": kind,
            "low_impedance_volts": low_impedance_volts, "words": explanation_words(found, reading, &why),
        })
    });
    Json::Array(list.collect())
}
