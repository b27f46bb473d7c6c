//! Which unmarked lead is which, as JSON. Field names are a promise: docs/json-output.md lists them.

use super::leads::{AFTER, BEFORE, form_words, slip_words};
use bench::Value;
use bench::cautions::STANDING;
use leads::apart::apart;
use leads::forms::{Form, forms};
use leads::next::NextPair;
use leads::slips::Doubt;
use leads::{Finding, LeadsError};
use serde_json::{Value as Json, json};

/// Answers and roles below this probability are left out.
const LISTED: f64 = 1e-4;
/// Answers listed at most.
const MOST_ANSWERS: usize = 50;

fn ohms(value: f64) -> Json {
    if value.is_finite() { json!(value) } else { json!("open") }
}

/// The finding.
pub fn finding(found: &Finding, pairs: &[NextPair], doubts: &[Doubt]) -> Result<Json, LeadsError> {
    let case = &found.case;
    let lead = |lead: usize| case.leads[lead].as_str();
    let listed =
        found.answers.iter().take(MOST_ANSWERS).take_while(|answer| answer.probability >= LISTED).count().max(1);
    let answers: Vec<Json> = found.answers[..listed.min(found.answers.len())]
        .iter()
        .enumerate()
        .map(|(index, answer)| {
            let places: Vec<Json> = answer
                .assignment
                .0
                .iter()
                .map(|station| {
                    let leads: Vec<Json> = station
                        .leads
                        .iter()
                        .map(|&(part, at)| json!({ "lead": lead(at), "part": (!part.is_empty()).then_some(part) }))
                        .collect();
                    json!({ "role": station.role, "leads": leads })
                })
                .collect();
            let forms: Vec<Json> = forms(found, index, 0.001).iter().map(|form| form_json(found, form)).collect();
            json!({ "probability": answer.probability, "places": places, "arrangements": forms })
        })
        .collect();
    let readings: Vec<Json> = case
        .readings
        .iter()
        .zip(&found.wrong)
        .map(|(reading, &wrong)| {
            let measured = match reading.value {
                Value::Open => json!("open"),
                Value::Number(number) => json!(number),
            };
            json!({ "line": reading.line, "between": [lead(reading.between.0), lead(reading.between.1)],
                    "measured": measured, "probability_wrong": wrong })
        })
        .collect();
    let doubtful: Vec<Json> = doubts
        .iter()
        .map(|doubt| {
            let slips: Vec<Json> = doubt
                .slips
                .iter()
                .map(|&(slip, share)| json!({ "words": slip_words(case, slip), "probability": share * doubt.probability }))
                .collect();
            let reading = &case.readings[doubt.reading];
            json!({ "line": reading.line, "between": [lead(reading.between.0), lead(reading.between.1)],
                    "probability_wrong": doubt.probability, "expected": ohms(doubt.expected), "slips": slips })
        })
        .collect();
    let roles: Vec<Json> = (0..case.leads.len())
        .map(|at| {
            let may_be: Vec<Json> = found
                .roles(at, LISTED)
                .iter()
                .map(|&(role, probability)| json!({ "role": role, "probability": probability }))
                .collect();
            json!({ "lead": lead(at), "may_be": may_be })
        })
        .collect();
    let apart = match listed > 1 {
        true => apart(found, 0, 1)?.map(|apart| {
            json!({ "between": [lead(apart.between.0), lead(apart.between.1)],
                    "first": ohms(apart.first), "second": ohms(apart.second) })
        }),
        false => None,
    };
    let next: Vec<Json> = pairs
        .iter()
        .map(|pair| {
            let outcomes: Vec<Json> = pair
                .outcomes
                .iter()
                .map(|outcome| {
                    json!({ "ohms": outcome.ohms.map_or(json!("open"), |(low, high)| json!({ "low": low, "high": high })),
                            "probability": outcome.probability,
                            "answer": outcome.leader.0, "answer_probability": outcome.leader.1 })
                })
                .collect();
            json!({ "between": [lead(pair.between.0), lead(pair.between.1)], "bits": pair.bits, "again": pair.again,
                    "outcomes": outcomes })
        })
        .collect();
    Ok(json!({
        "name": case.name,
        "winding_celsius": case.winding_celsius,
        "answers": answers,
        "roles": roles,
        "none_of_these": found.none_of_these,
        "left_out": found.left_out,
        "readings": readings,
        "doubtful": doubtful,
        "entropy_bits": found.entropy() / std::f64::consts::LN_2,
        "apart": apart,
        "next": next,
        "cautions": BEFORE.iter().chain([&AFTER]).collect::<Vec<_>>(),
        "caution": STANDING,
    }))
}

fn form_json(found: &Finding, form: &Form) -> Json {
    let lead = |lead: Option<usize>| lead.map(|lead| found.case.leads[lead].as_str());
    let arrangement = &found.arrangements[form.arrangement];
    let sections: Vec<Json> = form
        .sections
        .iter()
        .map(|section| {
            json!({ "name": section.name, "from": lead(section.from), "to": lead(section.to), "open": section.open,
                    "ohms": section.ohms, "low": section.low, "high": section.high, "ohms_20c": section.ohms_20c,
                    "measured": section.measured })
        })
        .collect();
    json!({ "motor": arrangement.motor.as_str(), "words": form_words(found, form), "probability": form.probability,
            "cannot_tell": arrangement.cannot_tell, "sections": sections })
}
