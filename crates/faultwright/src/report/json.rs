//! Findings as JSON. Field names are a promise: docs/json-output.md lists them, and tests hold them.

use super::plan::price_json;
use super::prediction as prediction_words;
use super::verdict_json::{explained, slips_json, verdict_json};
use bench::cautions::{STANDING, cautions};
use bench::experience::Moved;
use bench::heat::words::trip_words;
use bench::words;
use bench::{FaultSet, Job, Measure, Value};
use diagnosis::blind_spots::{BlindSpot, Seen, blind_spots};
use diagnosis::checks::{Action, Check, Hazard, Outcome, Shown};
use diagnosis::flows::{CutsOff, consequences};
use diagnosis::foresight::{Foresight, foresights};
use diagnosis::misreadings::{misreading_words, misreadings};
use diagnosis::next::{Lead, words::why_first};
use diagnosis::reading_model::Datum;
use diagnosis::recurrence::{Standing, recurrence};
use diagnosis::setup_table::{SetupTable, Spread};
use diagnosis::support::{log_supports, log_weights, supports};
use diagnosis::words as findings;
use diagnosis::{CheckPlan, Diagnosis, Suspect};
use serde_json::{Value as Json, json};

/// Odds that a shop's experience has moved.
pub fn experience(job: &Job, moved: &[Moved]) -> Json {
    let row = |one: &Moved| {
        json!({
            "fault": job.unit.faults()[one.fault].label(),
            "listed_odds": one.listed,
            "odds": one.learnt,
            "confirmed": one.confirmed,
            "parts_seen": one.parts,
        })
    };
    moved.iter().map(row).collect()
}

/// Suspects below this probability are left out.
const LISTED: f64 = 1e-5;

fn predicted(measure: Measure, value: f64) -> Json {
    if value.is_finite() { json!(value) } else { json!(words::over_range(measure)) }
}

fn measured(measure: Measure, value: Value) -> Json {
    match value {
        Value::Number(number) => json!(number),
        Value::Open => json!(words::over_range(measure)),
    }
}

fn reading_json(found: &Diagnosis<'_>, reading: usize) -> serde_json::Map<String, Json> {
    let (job, entry) = (found.evidence.job, &found.evidence.taken[reading]);
    let mut map = serde_json::Map::new();
    map.insert("line".into(), json!(entry.line));
    map.insert("setup".into(), json!(job.setups[entry.setup].name));
    map.insert("where".into(), json!(words::place(&job.unit, entry.measure)));
    map.insert("unit".into(), json!(entry.measure.unit()));
    map.insert("measured".into(), measured(entry.measure, entry.value));
    map
}

/// The ranking.
pub fn ranking(found: &Diagnosis<'_>, available: bool) -> Json {
    let job = found.evidence.job;
    let suspects: Vec<Json> = found
        .suspects
        .iter()
        .filter(|suspect| suspect.probability >= LISTED)
        .map(|suspect| suspect_json(found, suspect))
        .collect();
    let questionable: Vec<Json> = found
        .questionable_readings()
        .into_iter()
        .map(|(reading, doubt)| {
            let mut map = reading_json(found, reading);
            map.insert("probability_wrong".into(), json!(doubt));
            let slips = misreadings(found, reading);
            let words = slips.iter().map(|slip| misreading_words(found, reading, slip));
            map.insert("possible_slips".into(), json!(words.collect::<Vec<_>>()));
            Json::Object(map)
        })
        .collect();
    let support: Vec<Json> = supports(found)
        .into_iter()
        .map(|support| {
            let mut map = reading_json(found, support.reading);
            map.insert("log_ratio".into(), json!(support.log_ratio));
            map.insert("probability_without".into(), json!(support.without));
            Json::Object(map)
        })
        .collect();
    json!({
        "unit": job.unit.name,
        "note": job.unit.note,
        "suspects": suspects,
        "repairs": found.repairs.iter().filter(|share| share.probability >= LISTED)
            .map(|share| json!({ "repair": share.repair, "probability": share.probability })).collect::<Vec<_>>(),
        "needed": found.needed.iter().filter(|share| share.probability >= LISTED)
            .map(|share| json!({ "repair": share.repair, "probability": share.probability })).collect::<Vec<_>>(),
        "unseen": unseen(found, available),
        "support": support,
        "log_support": log_supports(found).into_iter().map(|support| json!({
            "line": job.logs[support.log].line, "run": job.runs[job.logs[support.log].run].name,
            "log_ratio": support.log_ratio, "probability_without": support.without,
        })).collect::<Vec<_>>(),
        "failed_before": recurrence(found).map(|again| json!({
            "part": job.unit.place_name(again.place),
            "times": again.times,
            "conditions": again.conditions.iter().map(|(condition, standing)| json!({
                "words": condition.words,
                "standing": match standing {
                    Standing::Found => "found",
                    Standing::Excluded => "excluded",
                    Standing::Open => "open",
                },
                "check": condition.check,
            })).collect::<Vec<_>>(),
        })),
        "questionable_readings": questionable,
        "slips": slips_json(found),
        "explained_readings": explained(found),
        "verdict": verdict_json(found, None),
        "method": findings::method(found),
        "mass_not_enumerated": found.not_looked_at.estimate,
        "mass_not_enumerated_at_most": found.not_looked_at.at_most,
        "work": {
            "singles": found.work.singles,
            "single_fits": found.work.single_fits,
            "pairs": found.work.pairs,
            "pairs_solved": found.work.pairs_solved,
            "pair_fits": found.work.pair_fits,
            "triples": found.work.triples,
            "triple_fits": found.work.triple_fits,
            "slips": found.work.slips,
            "slip_fits": found.work.slip_fits,
            "unsolved": found.work.unsolved,
        },
        "caution": STANDING,
    })
}

/// What the readings cannot see; what the best available check would, if asked for.
fn unseen(found: &Diagnosis<'_>, available: bool) -> Vec<Json> {
    if !available {
        return blind_spots(found).iter().map(|spot| unseen_json(found, spot)).collect();
    }
    let job = found.evidence.job;
    let with = |foresight: &Foresight| {
        let mut map = unseen_json(found, &foresight.taken);
        if let Some(fields) = map.as_object_mut() {
            let check = foresight.available.as_ref().map(|best| {
                let (seen, size) = seen_json(best.seen);
                json!({ "seen": seen, "size": size, "setup": best.setup.name, "where": words::place(&job.unit, best.measure),
                    "unit": best.measure.unit() })
            });
            fields.insert("available".into(), json!(check));
        }
        map
    };
    foresights(found).iter().map(with).collect()
}

fn seen_json(seen: Seen) -> (&'static str, Option<f64>) {
    match seen {
        Seen::Always => ("always", None),
        Seen::Never => ("never", None),
        Seen::From(size) => ("from", Some(size)),
    }
}

fn unseen_json(found: &Diagnosis<'_>, spot: &BlindSpot) -> Json {
    let fault = &found.evidence.job.unit.faults()[spot.fault];
    let (seen, size) = seen_json(spot.seen);
    let words = fault.mode.severity.as_ref().map(|severity| severity.words);
    json!({ "part": fault.place_name, "fault": fault.mode.name, "seen": seen, "size": size, "size_words": words })
}

fn suspect_json(found: &Diagnosis<'_>, suspect: &Suspect) -> Json {
    let job = found.evidence.job;
    let sizes = found.severities(suspect);
    let faults: Vec<Json> = suspect
        .faults
        .iter()
        .flat_map(|faults| faults.0.iter().enumerate())
        .map(|(position, &fault)| {
            let fault = &job.unit.faults()[fault];
            json!({
                "part": fault.place_name,
                "fault": fault.mode.name,
                "words": fault.mode.words,
                "severity": sizes.get(position).copied().flatten(),
                "severity_words": fault.mode.severity.as_ref().map(|severity| severity.words),
                "odds": fault.mode.odds,
                "odds_source": fault.mode.source,
            })
        })
        .collect();
    let readings: Vec<Json> = suspect
        .fit
        .iter()
        .flat_map(|fit| fit.outlook.predictions.iter().enumerate())
        .map(|(reading, prediction)| {
            let datum = &found.evidence.data[reading];
            let mut map = reading_json(found, reading);
            let (spread, deviation) = match *datum {
                Datum::Shown { value, sigma, .. } => {
                    let deviation = prediction.value.is_finite().then(|| (value - prediction.value) / sigma);
                    (json!(sigma), json!(deviation))
                }
                Datum::Open { .. } => (Json::Null, Json::Null),
            };
            map.insert("predicted".into(), predicted(found.evidence.taken[reading].measure, prediction.value));
            map.insert("spread".into(), spread);
            map.insert("deviation".into(), deviation);
            map.insert("verdict".into(), json!(findings::fit_word(found, suspect, reading)));
            Json::Object(map)
        })
        .collect();
    json!({
        "probability": suspect.probability,
        "words": findings::suspect_words(found, suspect),
        "known": suspect.faults.is_some(),
        "faults": faults,
        "logs": findings::log_lines(found, suspect),
        "log_channels": findings::channel_lines(found, suspect).iter().map(|channel| json!({
            "line": job.logs[channel.log].line, "run": job.runs[job.logs[channel.log].run].name,
            "where": channel.place, "unit": channel.unit, "minute": channel.farthest.seconds / 60.0,
            "logged": channel.farthest.logged, "predicted": channel.farthest.predicted,
            "spread": channel.farthest.sigma, "deviation": channel.farthest.deviation(), "verdict": channel.verdict,
        })).collect::<Vec<_>>(),
        "log_weights": log_weights(found, suspect).map(|weights| json!({
            "against": findings::suspect_words(found, weights.rival), "log_ratios": weights.log_ratios,
        })),
        "repair": suspect.repair,
        "hidden_share": suspect.hidden_share,
        "log_evidence": suspect.log_evidence,
        "log_evidence_error": suspect.error,
        "fitted": suspect.fit.is_some(),
        "readings": readings,
        "consequences": if suspect.probability >= 0.01 { consequences_json(found, suspect) } else { Json::Null },
    })
}

fn consequences_json(found: &Diagnosis<'_>, suspect: &Suspect) -> Json {
    let job = found.evidence.job;
    let Ok(what) = consequences(found, suspect) else { return Json::Null };
    let part = |index: usize| job.unit.parts()[index].name.clone();
    let setup = |index: usize| job.setups[index].name.clone();
    let cut_off = |by: fn(&CutsOff) -> bool| -> Vec<String> {
        what.cuts_off.iter().filter(|cut| by(cut)).map(|cut| setup(cut.setup)).collect()
    };
    json!({
        "fed_backwards": what.fed_backwards.iter().map(|fed| json!({
            "setup": setup(fed.setup), "from_part": part(fed.giver), "from_element": fed.giver_element,
            "watts": fed.watts, "sound_watts": fed.sound_watts,
            "into_part": fed.taker.as_ref().map(|taker| part(taker.0)),
            "into_element": fed.taker.as_ref().map(|taker| taker.1.clone()),
        })).collect::<Vec<_>>(),
        "runs_hotter": what.runs_hotter.iter().map(|hot| json!({
            "setup": setup(hot.setup), "part": part(hot.part), "heat_watts": hot.heat, "sound_heat_watts": hot.sound_heat,
        })).collect::<Vec<_>>(),
        "opens_breaker_in": cut_off(|cut| cut.breaker),
        "opens_residual_trip_in": cut_off(|cut| cut.residual_trip),
    })
}

/// The next checks.
pub fn plan(found: &Diagnosis<'_>, plan: &CheckPlan) -> Json {
    let list: Vec<Json> = plan
        .checks
        .iter()
        .map(|check| {
            let mut map = check_json(found, check);
            let outcomes = check.outcomes.iter().map(|outcome| outcome_json(found, check, outcome));
            if let Some(fields) = map.as_object_mut() {
                fields.insert("outcomes".into(), Json::Array(outcomes.collect()));
            }
            map
        })
        .collect();
    let job = found.evidence.job;
    json!({ "entropy_bits": plan.entropy_bits, "settled": plan.settled, "checks": list,
        "verdict": verdict_json(found, Some(plan)),
        "lead": lead_json(found, plan),
        "refused": job.refused.iter().map(|refusal| refusal.words(job)).collect::<Vec<_>>(),
        "foregone": plan.foregone.as_ref().map(|check| json!({
            "words": findings::action_words(found, check), "setup": check.setup.name,
            "bits": check.bits, "minutes": check.minutes, "cost": cost_json(job, check),
        })),
        "inseparable": plan.inseparable.iter().map(|group| group.suspects.iter().map(|&index| json!({
            "suspect": findings::suspect_words(found, &found.suspects[index]),
            "repair": found.suspects[index].repair, "probability": found.suspects[index].probability,
        })).collect::<Vec<_>>()).collect::<Vec<_>>(),
        "inseparable_because": plan.inseparable.iter().map(|group| findings::why_inseparable(found, group)).collect::<Vec<_>>(),
        "caution": STANDING })
}

/// Why the first check is the first.
fn lead_json(found: &Diagnosis<'_>, plan: &CheckPlan) -> Json {
    let (because, expected, with_other) = match &plan.lead {
        Lead::MostAMinute => ("most-a-minute", None, None),
        Lead::Isolated { .. } => ("isolated", None, None),
        Lead::ShorterWay { expected, with_other, .. } => ("shorter-way", Some(*expected), Some(*with_other)),
    };
    json!({
        "because": because,
        "words": why_first(found, plan),
        "expected": expected.map(price_json),
        "with_most_a_minute": with_other.map(price_json),
    })
}

fn outcome_json(found: &Diagnosis<'_>, check: &Check, outcome: &Outcome) -> Json {
    json!({
        "shown": shown_json(check, &outcome.shown),
        "words": findings::shown_words(check, &outcome.shown),
        "probability": outcome.probability,
        "repair": outcome.repair.0,
        "repair_probability": outcome.repair.1,
        "leaves": outcome.leaves.iter().map(|&(suspect, probability)| json!({
            "suspect": findings::suspect_words(found, &found.suspects[suspect]), "probability": probability,
        })).collect::<Vec<_>>(),
    })
}

/// What a check may show.
pub fn shown_json(check: &Check, shown: &Shown) -> Json {
    match *shown {
        Shown::Number { middle, low, high } => json!({ "value": middle, "low": low, "high": high }),
        Shown::Open => json!("open"),
        Shown::Answer(_) => json!(findings::shown_words(check, shown)),
    }
}

/// A check without its outcomes.
pub fn check_json(found: &Diagnosis<'_>, check: &Check) -> Json {
    let unit = &found.evidence.job.unit;
    let quantity = match check.action {
        Action::Read(measure) | Action::Swap(_, _, measure) => measure.unit(),
        Action::Spin(_) => "spin",
        Action::Push(_) => "push",
        Action::Wait(_) => "wait",
    };
    json!({
        "words": findings::action_words(found, check),
        "quantity": quantity,
        "terminals": findings::points(unit, check.action),
        "setup": check.setup.name,
        "setup_words": words::setup_words(unit, &check.setup),
        "bits": check.bits,
        "minutes": check.minutes,
        "cost": cost_json(found.evidence.job, check),
        "hazard": hazard_word(check.hazard),
        "cautions": check.cautions,
    })
}

fn hazard_word(hazard: Hazard) -> &'static str {
    match hazard {
        Hazard::Isolated => "isolated",
        Hazard::Energised => "energised",
        Hazard::EnergisedMoving => "energised-moving",
    }
}

/// What the minutes of a check are made of.
fn cost_json(job: &Job, check: &Check) -> Json {
    let cost = &check.cost;
    json!({
        "own_minutes": cost.own, "change_minutes": cost.change, "live_minutes": cost.live,
        "opening_minutes": cost.opening, "cooling_minutes": cost.cooling, "danger_weighted_minutes": check.weighted_minutes(),
        "housings": cost.housings.iter().map(|&housing| job.housings[housing].name.clone()).collect::<Vec<_>>(),
    })
}

/// The prediction of a setup.
pub fn prediction(job: &Job, setup: usize, faults: &FaultSet, table: &SetupTable) -> Json {
    let unit = &job.unit;
    let spread = |spread: Spread| json!({ "value": spread.value.map_or(json!("open"), |value| json!(value)), "spread": spread.spread });
    json!({
        "unit": unit.name,
        "setup": job.setups[setup].name,
        "faults": faults.0.iter().map(|&fault| unit.faults()[fault].label()).collect::<Vec<_>>(),
        "breaker_opened": table.breaker_opened,
        "residual_trip_opened": table.residual_trip_opened,
        "settled": table.settled,
        "moved_contacts": table.moved,
        "saturated": table.saturated.iter().map(|&(part, times)| json!({
            "part": unit.parts()[part].name, "times_rated_volts": times,
            "words": words::saturated(&unit.parts()[part].name, times),
        })).collect::<Vec<_>>(),
        "chattering": table.chattering.map(|part| unit.parts()[part].name.clone()),
        "motors": table.motors.iter().map(|motor| json!({
            "part": unit.parts()[motor.part].name, "motion": prediction_words::motion_words(motor.motion),
            "rpm": spread(motor.rpm), "torque_newton_metres": spread(motor.torque),
        })).collect::<Vec<_>>(),
        "terminals": table.terminals.iter().map(|row| json!({
            "terminal": unit.terminal_name(row.terminal), "volts": spread(row.volts), "amps": row.amps.map(spread),
        })).collect::<Vec<_>>(),
        "frame": table.frame.map(|frame| json!({
            "volts": spread(frame.volts), "touch_milliamps": spread(frame.touch_milliamps),
            "leakage_milliamps": spread(frame.leakage_milliamps),
        })),
        "elements": table.elements.iter().map(|row| json!({
            "part": unit.place_name(row.place), "element": row.label,
            "volts": spread(row.volts), "amps": spread(row.amps), "watts": spread(row.watts),
        })).collect::<Vec<_>>(),
        "ohms": table.ohms.iter().map(|row| json!({
            "from": unit.terminal_name(row.from), "to": unit.terminal_name(row.to), "ohms": spread(row.ohms),
        })).collect::<Vec<_>>(),
        "capacitances": table.capacitances.iter().map(|row| json!({
            "part": unit.parts()[row.part].name,
            "microfarads": match row.microfarads.value {
                Some(_) => spread(row.microfarads),
                None => json!({ "value": "over range", "spread": row.microfarads.spread }),
            },
        })).collect::<Vec<_>>(),
        "trips": table.trips.iter().map(|trip| json!({
            "part": unit.parts()[trip.part].name, "times_rated": trip.times_rated, "seconds": trip.seconds,
            "words": trip_words(unit, trip),
        })).collect::<Vec<_>>(),
        "cautions": cautions(unit, &job.setups[setup]),
        "caution": STANDING,
    })
}
