//! A heat run as JSON.

use crate::commands::heatrun::ByResistance;
use bench::cautions::STANDING;
use proof::heat_run::finding::{ChannelFinding, Finding};
use proof::heat_run::import::Log;
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::Verdict;
use proof::heat_run::words::{STAY, Scale, verdict_words};
use serde_json::{Value, json};

/// The finding.
pub fn finding(title: &str, log: &Log, found: Option<&Finding>, resistances: &[ByResistance]) -> Value {
    let oddities: Vec<Value> = log
        .oddities
        .iter()
        .map(|oddity| {
            json!({ "kind": oddity.kind.key(), "column": oddity.column, "rows": oddity.rows, "count": oddity.count,
                    "words": oddity.words })
        })
        .collect();
    let channels: Vec<Value> = found.iter().flat_map(|found| &found.channels).map(channel).collect();
    let cutout = found.and_then(|found| found.cycling.as_ref()).map(|cycling| {
        json!({ "stops": cycling.stops, "shown_by": cycling.shown_by, "off_minutes": cycling.when, "opens_celsius": cycling.opens_celsius, "closes_celsius": cycling.closes_celsius,
                "period_minutes": cycling.period_minutes })
    });
    json!({
        "log": title,
        "rows": log.rows,
        "minutes": log.seconds / 60.0,
        "room_celsius": found.and_then(|found| found.room_celsius),
        "room_logged": found.is_some_and(|found| found.is_room_logged),
        "verdict": verdict(found, resistances).key(),
        "channels": channels,
        "current_stops": cutout,
        "ends_at_row": found.and_then(|found| found.ends_at),
        "by_resistance": resistances.iter().map(by_resistance).collect::<Vec<_>>(),
        "oddities": oddities,
        "cautions": [STAY],
        "caution": STANDING,
    })
}

/// Of everything that has a limit together: a fail of one is a fail, a pass needs all.
fn verdict(found: Option<&Finding>, resistances: &[ByResistance]) -> Verdict {
    let by_resistance = resistances.iter().map(ByResistance::verdict);
    let all: Vec<Verdict> = found.map(|found| found.verdict).into_iter().chain(by_resistance).collect();
    match all.iter().all(|&verdict| verdict == Verdict::Pass) {
        _ if all.contains(&Verdict::Fail) => Verdict::Fail,
        true => Verdict::Pass,
        false => Verdict::NotYet,
    }
}

fn limit(limit: &Limit) -> Value {
    json!({ "celsius": limit.celsius, "words": limit.words, "source": limit.source, "room_celsius": limit.room_celsius })
}

fn channel(channel: &ChannelFinding) -> Value {
    let judgement = &channel.judgement;
    let known = judgement.forecast.as_ref();
    let margin = known
        .zip(channel.limit.as_ref())
        .map(|(known, limit)| limit.celsius - judgement.correction_kelvin - known.final_celsius());
    let rules: Vec<Value> = channel
        .rules
        .iter()
        .map(|&(rule, met, since)| {
            json!({ "rule": rule.key(), "words": rule.words(), "source": rule.source(), "leaves_out": rule.leaves_out(),
                    "met": met, "first_met_minute": since })
        })
        .collect();
    json!({
        "name": channel.name,
        "minutes": judgement.minutes,
        "now_celsius": channel.series.celsius.last(),
        "final_celsius": known.map(|known| known.final_celsius()),
        "interval95": known.map(|known| known.interval(0.95)),
        "time_constants_minutes": known.map(|known| json!({
            "main": known.main_minutes(0.5),
            "main_interval90": [known.main_minutes(0.05), known.main_minutes(0.95)],
            "fast": known.fast_minutes(0.5).0,
            "fast_share": known.fast_minutes(0.5).1,
        })),
        "minutes_to_within_1_kelvin": known.map(|known| json!({
            "median": known.minutes_until_within(1.0, 0.5), "nine_in_ten": known.minutes_until_within(1.0, 0.9),
        })),
        "quick_rules": channel.quick.map(|quick| json!({
            "three_readings_celsius": quick.three_readings,
            "minutes_apart": quick.spacing_minutes,
            "one_exponential_celsius": quick.one_exponential,
        })),
        "limit": channel.limit.as_ref().map(limit),
        "correction_kelvin": judgement.correction_kelvin,
        "margin_kelvin": margin,
        "probability_below": judgement.probability_below,
        "equilibrium": rules,
        "verdict": judgement.verdict.key(),
        "withheld": judgement.withheld.map(|reason| reason.key()),
        "interrupted": channel.interrupted.map(|at| json!({ "minute": at.minute, "until_minute": at.until_minute, "row": at.row })),
        "lost_at_row": channel.lost_at,
        "minutes_to_verdict": channel.minutes_to_verdict,
        "words": verdict_words(channel, Scale::CELSIUS),
    })
}

fn by_resistance(entry: &ByResistance) -> Value {
    let (ohms, celsius) = entry.cold;
    let hot = |hot: f64| entry.metal.celsius(ohms, celsius, hot);
    let rise = |hot: f64, room: f64| entry.metal.rise_kelvin(entry.cold, hot, room);
    let found = entry.found.as_ref();
    json!({
        "name": entry.name,
        "metal": entry.metal.key(),
        "source": entry.metal.source(),
        "cold": { "ohms": ohms, "celsius": celsius },
        "ohms_at_switch_off": found.ok().map(|found| found.ohms()),
        "celsius_at_switch_off": found.ok().map(|found| hot(found.ohms())),
        "interval95": found.ok().map(|found| { let (low, high) = found.interval(0.95); [hot(low), hot(high)] }),
        "problem": found.err().map(ToString::to_string),
        "room_celsius": entry.room_celsius,
        "rise_kelvin": found.ok().zip(entry.room_celsius).map(|(found, room)| rise(found.ohms(), room)),
        "rise_interval95": found.ok().zip(entry.room_celsius).map(|(found, room)| {
            let (low, high) = found.interval(0.95);
            [rise(low, room), rise(high, room)]
        }),
        "limit": entry.limit.as_ref().map(limit),
        "correction_kelvin": entry.end.map(|end| end.correction_kelvin),
        "probability_below": entry.end.and_then(|end| end.probability_below),
        "verdict": entry.verdict().key(),
        "withheld": entry.end.and_then(|end| end.withheld).map(|reason| reason.key()),
        "had_come_to_rest": entry.rest.as_ref().map(|rest| rest.came()),
        "words": entry.words(),
    })
}
