//! A run over time as text and as comma-separated values.

use super::prediction::show_faults;
use crate::page::Page;
use bench::cautions::{STANDING, cautions};
use bench::heat::words::{end_words, event_words};
use bench::heat::{End, Logged, Run, Timeline, What, quantity_words};
use bench::words;
use bench::{FaultSet, Job, Unit};
use serde_json::json;
use std::io::{self, Write};

/// The same happening is told this many times.
const TOLD_MOST: usize = 4;

/// Minutes and seconds of a moment, under a heading that says so.
fn clock(seconds: f64) -> String {
    words::minutes(seconds).trim_end_matches(" min").to_owned()
}

/// A value as logged.
fn value(quantity: Logged, value: f64) -> String {
    match quantity {
        Logged::Electric(bench::Measure::AmpsAtTerminal(_) | bench::Measure::AmpsInWire(_)) => format!("{value:.3}"),
        _ => format!("{value:.1}"),
    }
}

/// The run as a page.
pub fn show<W: Write>(
    page: &mut Page<W>,
    job: &Job,
    run: &Run,
    (faults, deviations): (&FaultSet, &[f64]),
    quantities: &[Logged],
    timeline: &Timeline<Vec<f64>>,
) -> io::Result<()> {
    page.heading(&format!("{}: run {}", job.unit.name, run.name))?;
    page.text(2, &format!("from cold, room at {} C", words::number(run.room_celsius)))?;
    show_faults(page, &job.unit, faults, deviations)?;
    let mut said: Vec<String> = Vec::new();
    for step in &run.steps {
        for caution in cautions(&job.unit, &job.setups[step.setup]) {
            if !said.contains(&caution) {
                page.item(2, "!", &caution)?;
                said.push(caution);
            }
        }
    }
    page.heading("What happens")?;
    let mut rows = vec![vec!["min:s".to_owned(), String::new()]];
    let mut told: Vec<What> = Vec::new();
    for event in &timeline.events {
        let times = told.iter().filter(|&&what| what == event.what).count();
        told.push(event.what);
        match times {
            0..TOLD_MOST => rows.push(vec![clock(event.seconds), event_words(job, event.what)]),
            TOLD_MOST if matches!(event.what, What::Opened(_)) => rows.push(vec!["...".into(), "and so on".into()]),
            _ => {}
        }
    }
    page.table(2, "><", &rows)?;
    page.strong(2, "-", &end_words(&job.unit, timeline.end))?;
    page.heading("Over time")?;
    for (place, quantity) in quantities.iter().enumerate() {
        page.text(2, &format!("{}: {}", place + 1, quantity_words(&job.unit, *quantity)))?;
    }
    page.gap()?;
    let head = std::iter::once("min:s".to_owned()).chain((1..=quantities.len()).map(|place| place.to_string()));
    let mut rows = vec![head.collect::<Vec<String>>()];
    for sample in &timeline.samples {
        let values = quantities.iter().zip(&sample.look).map(|(&quantity, &number)| value(quantity, number));
        rows.push(std::iter::once(clock(sample.seconds)).chain(values).collect());
    }
    page.table(2, &">".repeat(quantities.len() + 1), &rows)?;
    page.gap()?;
    page.text(
        2,
        "Capacities and cooling follow from plates by rules of thumb: temperatures over the room may be a third off, \
         times as much.",
    )?;
    page.text(2, STANDING)
}

/// The run as comma-separated values: minutes, then each quantity.
pub fn csv(unit: &Unit, quantities: &[Logged], timeline: &Timeline<Vec<f64>>) -> String {
    let field =
        |text: String| if text.contains([',', '"']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text };
    let names = quantities.iter().map(|&quantity| field(quantity_words(unit, quantity)));
    let mut text = std::iter::once("minutes".to_owned()).chain(names).collect::<Vec<_>>().join(",");
    for sample in &timeline.samples {
        let values = sample.look.iter().map(|number| format!("{number:.4}"));
        text += "\n";
        text += &std::iter::once(format!("{:.4}", sample.seconds / 60.0)).chain(values).collect::<Vec<_>>().join(",");
    }
    text + "\n"
}

/// The run as JSON.
pub fn json(
    job: &Job,
    run: &Run,
    faults: &FaultSet,
    quantities: &[Logged],
    timeline: &Timeline<Vec<f64>>,
) -> serde_json::Value {
    let unit = &job.unit;
    let channel = |&quantity: &Logged| match quantity {
        Logged::Electric(measure) => json!({ "unit": measure.unit(), "where": words::place(unit, measure) }),
        _ => json!({ "unit": "C", "where": quantity.celsius_place(unit).unwrap_or_default() }),
    };
    let end = match timeline.end {
        End::Settled => json!({ "state": "settled" }),
        End::Cycling { part, period_seconds, previous_seconds, closed_share } => json!({
            "state": "cycling", "part": unit.parts()[part].name,
            "period_seconds": period_seconds, "previous_seconds": previous_seconds, "closed_share": closed_share,
        }),
        End::Moving { part, kelvin_per_hour } => json!({
            "state": "moving", "part": part.map(|part| unit.parts()[part].name.clone()),
            "kelvin_per_hour": kelvin_per_hour,
        }),
        End::BurntOut(place) => json!({
            "state": "burnt out", "part": place.map(|(part, _)| unit.parts()[part].name.clone()),
            "body": place.map(|(part, body)| unit.body_name(part, body)),
        }),
    };
    json!({
        "unit": unit.name,
        "run": run.name,
        "room_celsius": run.room_celsius,
        "faults": faults.0.iter().map(|&fault| unit.faults()[fault].label()).collect::<Vec<_>>(),
        "channels": quantities.iter().map(channel).collect::<Vec<_>>(),
        "rows": timeline.samples.iter()
            .map(|sample| json!({ "minutes": sample.seconds / 60.0, "values": sample.look })).collect::<Vec<_>>(),
        "events": timeline.events.iter()
            .map(|event| json!({ "minutes": event.seconds / 60.0, "what": event_words(job, event.what) }))
            .collect::<Vec<_>>(),
        "end": end,
        "caution": STANDING,
    })
}
