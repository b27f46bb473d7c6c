//! The safety sheet after a repair, and the limits it is held to, as text and as JSON.

use crate::page::Page;
use bench::Job;
use proof::safety::{
    Bound, Figure, JudgedEntry, LimitRow, Outcome, Quantity, Row, STANDING, Scheme, Sheet, When, rows,
};
use proof::source::{Source, Standing};
use serde_json::{Value as Json, json};
use std::io::{self, Write};

/// The sheet.
pub fn show<W: Write>(page: &mut Page<W>, job: &Job, sheet: &Sheet) -> io::Result<()> {
    page.heading("Safety after repair")?;
    page.text(2, &format!("{}. {}", job.unit.name, unit_words(job)))?;
    if let Some(note) = &job.unit.note {
        page.text(2, note)?;
    }
    page.text(2, &format!("Limits: {}.", sheet.scheme.words()))?;
    page.strong(2, "=", &format!("{}: {}", sheet.outcome.words().to_uppercase(), outcome_words(sheet)))?;
    for note in &sheet.notes {
        page.item(2, "-", note)?;
    }
    for (index, row) in sheet.rows.iter().enumerate() {
        page.gap()?;
        show_row(page, index + 1, row)?;
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn show_row<W: Write>(page: &mut Page<W>, number: usize, row: &Row) -> io::Result<()> {
    let name = row.test.name().replace('-', " ");
    let asked = if row.is_required { "" } else { " (not asked for)" };
    page.strong(2, &format!("{number}."), &format!("{name}{asked}: {}", row.outcome.words()))?;
    for caution in row.test.cautions() {
        page.item(5, "!", caution)?;
    }
    if let Some(words) = &row.not_yet {
        page.item(5, "!", words)?;
    }
    page.text(5, row.test.words())?;
    let with = row.limit.as_ref().map_or("", |limit| limit.with);
    let with = if with.is_empty() { String::new() } else { format!("; {with}") };
    page.text(5, &format!("With: {}{with}", row.test.instrument()))?;
    if let Some(limit) = &row.limit {
        page.text(5, &format!("Limit: {} ({})", limit.words, limit.source))?;
        if let Some(working) = &limit.working {
            page.text(7, working)?;
        }
    } else if row.test.quantity().is_some() {
        page.text(5, "Limit: none in this region")?;
    }
    for entry in &row.entries {
        page.item(5, if entry.counts { ">" } else { "x" }, &entry_words(entry))?;
    }
    if row.entries.is_empty() {
        page.item(5, ">", "nothing entered yet")?;
    } else if row.entries.iter().all(|entry| !row.why.ends_with(&entry.why)) {
        page.item(5, "=", &row.why)?;
    }
    Ok(())
}

fn entry_words(judged: &JudgedEntry) -> String {
    let entry = &judged.entry;
    let beside: Vec<&str> =
        [&entry.at, &entry.date, &entry.instrument].into_iter().filter_map(Option::as_deref).collect();
    let beside = if beside.is_empty() { String::new() } else { format!(" ({})", beside.join(", ")) };
    let later = if judged.counts { "" } else { "; a later entry counts" };
    format!("{}{beside}: {}, {}{later}", entry.typed, judged.outcome.words(), judged.why)
}

/// What the limits hang on, in a line.
fn unit_words(job: &Job) -> String {
    let facts = job.safety_facts();
    let because = facts.class_because.map(|because| format!(" ({because})")).unwrap_or_default();
    let heating =
        if facts.heating_watts > 0.0 { format!(", {} W heating", facts.heating_watts) } else { ", no heating".into() };
    let cord = match facts.cord {
        None => ", wired in".to_owned(),
        Some(cord) => {
            let metres = cord.metres.map_or("length not given".into(), |metres| format!("{metres} m"));
            let section = cord.square_millimetres.map_or("section not given".into(), |section| format!("{section:.3}"));
            let section = if section.starts_with(|c: char| c.is_ascii_digit()) {
                format!("{} mm2", section.trim_end_matches('0').trim_end_matches('.'))
            } else {
                section
            };
            format!(", cord {metres}, {section}")
        }
    };
    let handling = facts.handling.unwrap_or("use not given");
    format!("Protection class {}{because}{heating}{cord}, {handling}", facts.class)
}

fn outcome_words(sheet: &Sheet) -> String {
    let of = |outcome| {
        let names =
            sheet.rows.iter().filter(|row| (row.is_required || outcome == Outcome::Fail) && row.outcome == outcome);
        names.map(|row| row.test.name().replace('-', " ")).collect::<Vec<_>>().join(", ")
    };
    match sheet.outcome {
        Outcome::Pass => "every required test has passed".into(),
        Outcome::Fail => format!("{} failed; do not hand the unit over", of(Outcome::Fail)),
        Outcome::NotProven => format!("still open: {}", of(Outcome::NotProven)),
    }
}

/// The regions, and every limit with its source.
pub fn standards<W: Write>(page: &mut Page<W>) -> io::Result<()> {
    page.heading("Regions")?;
    let regions: Vec<Vec<String>> =
        Scheme::ALL.iter().map(|scheme| vec![scheme.name().into(), scheme.words().into()]).collect();
    page.table(2, "<<", &regions)?;
    for scheme in Scheme::ALL {
        page.heading(scheme.name())?;
        for row in rows().iter().filter(|row| row.scheme == scheme) {
            page.item(2, "-", &row_words(row))?;
            let with = if row.with.is_empty() { String::new() } else { format!("Test: {}. ", row.with) };
            let read = match row.source.standing {
                Standing::Verified(read_in) => format!("read in {read_in}"),
                Standing::FromMemory => "look it up before relying on it".into(),
            };
            page.text(4, &format!("{with}{}: {read}.", row.source))?;
        }
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn row_words(row: &LimitRow) -> String {
    let classes: Vec<&str> = row.classes.iter().map(|class| class.name()).collect();
    format!("{}, class {}{}: {}", row.test.name(), classes.join(" and "), when_words(row.when), figure_words(row))
}

fn when_words(when: When) -> String {
    match when {
        When::Otherwise => String::new(),
        When::HeatingAbove(watts) if watts > 0.0 => format!(", heating above {watts} W"),
        When::HeatingAbove(_) => ", with heating".into(),
        When::HeatingBelow(watts) => format!(", with heating below {watts} W"),
        When::Used(handling) => format!(", {}", handling.name()),
        When::StationaryHeating => ", stationary with heating".into(),
        When::LargerSection => ", conductor above 1.5 mm2".into(),
    }
}

fn figure_words(row: &LimitRow) -> String {
    let quantity = row.test.quantity().unwrap_or(Quantity::Ohms);
    let plain = |value| quantity.words(value);
    match row.figure {
        Figure::AtMost(value) => Bound::AtMost(value).words(quantity),
        Figure::AtLeast(value) => Bound::AtLeast(value).words(quantity),
        Figure::PerKilowatt { amperes, at_least, at_most } => {
            format!("{} for each kW, from {} to {}", plain(amperes), plain(at_least), plain(at_most))
        }
        Figure::ByLength { ohms, metres, step_ohms, step_metres, at_most } => format!(
            "{} up to {metres} m, {} more for each whole further {step_metres} m, at most {}",
            plain(ohms),
            plain(step_ohms),
            plain(at_most)
        ),
        Figure::ByConductor { joints_ohms, at_most } if at_most.is_finite() => {
            format!("{} and the conductor of the cord, at most {}", plain(joints_ohms), plain(at_most))
        }
        Figure::ByConductor { joints_ohms, .. } => format!("{} and the conductor of the cord", plain(joints_ohms)),
        Figure::Withstands(volts) => format!("no breakdown at {volts} V for 1 min"),
    }
}

/// The limits as JSON. Field names are a promise: docs/json-output.md lists them.
pub fn standards_json() -> Json {
    let limits: Vec<Json> = rows()
        .iter()
        .map(|row| {
            json!({
                "region": row.scheme.name(),
                "test": row.test.name(),
                "classes": row.classes.iter().map(|class| class.name()).collect::<Vec<_>>(),
                "when": when_words(row.when).trim_start_matches(", "),
                "limit": figure_words(row),
                "with": row.with,
                "source": source_json(&row.source),
            })
        })
        .collect();
    let regions: Vec<Json> =
        Scheme::ALL.iter().map(|scheme| json!({ "region": scheme.name(), "words": scheme.words() })).collect();
    json!({ "regions": regions, "limits": limits, "caution": STANDING })
}

/// The sheet as JSON. Field names are a promise: docs/json-output.md lists them.
pub fn json(job: &Job, sheet: &Sheet) -> Json {
    let facts = job.safety_facts();
    let tests: Vec<Json> = sheet.rows.iter().map(row_json).collect();
    json!({
        "unit": job.unit.name,
        "note": job.unit.note,
        "region": sheet.scheme.name(),
        "standard": sheet.scheme.words(),
        "class": facts.class,
        "class_because": facts.class_because,
        "use": facts.handling,
        "heating_watts": facts.heating_watts,
        "cord": facts.cord.map(|cord| json!({ "metres": cord.metres, "square_millimetres": cord.square_millimetres })),
        "outcome": sheet.outcome.words(),
        "why": outcome_words(sheet),
        "tests": tests,
        "notes": sheet.notes,
        "caution": STANDING,
    })
}

fn row_json(row: &Row) -> Json {
    let entries: Vec<Json> = row
        .entries
        .iter()
        .map(|judged| {
            json!({
                "value": judged.entry.typed,
                "at": judged.entry.at,
                "date": judged.entry.date,
                "instrument": judged.entry.instrument,
                "counts": judged.counts,
                "outcome": judged.outcome.words(),
                "why": judged.why,
            })
        })
        .collect();
    let limit = row.limit.as_ref().map(|limit| {
        let (at_least, at_most) = match limit.bound {
            Some(Bound::AtLeast(value)) => (Some(value), None),
            Some(Bound::AtMost(value)) => (None, Some(value)),
            None => (None, None),
        };
        json!({
            "at_least": at_least,
            "at_most": at_most,
            "words": limit.words,
            "working": limit.working,
            "with": limit.with,
            "source": source_json(&limit.source),
        })
    });
    json!({
        "test": row.test.name(),
        "required": row.is_required,
        "energised": row.test.is_energised(),
        "words": row.test.words(),
        "instrument": row.test.instrument(),
        "unit": row.test.quantity().map(Quantity::unit),
        "cautions": row.test.cautions(),
        "not_yet": row.not_yet,
        "limit": limit,
        "entries": entries,
        "outcome": row.outcome.words(),
        "why": row.why,
    })
}

fn source_json(source: &Source) -> Json {
    let read_in = match source.standing {
        Standing::Verified(read_in) => Some(read_in),
        Standing::FromMemory => None,
    };
    json!({
        "standard": source.standard,
        "edition": source.edition,
        "verified": source.is_verified(),
        "read_in": read_in,
    })
}
