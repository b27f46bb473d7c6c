//! A logger's file as the log of a run: its text is pasted, read as `heatrun` reads it, and its columns are given places.

use super::{answer, named_run};
use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::jobs::View;
use crate::shell;
use crate::trouble::{Trouble, sentence};
use axum::response::Response;
use bench::heat::{Logged, all_quantities};
use bench::job::edit::{Edit, LogPlace};
use bench::{Measure, Unit};
use maud::{Markup, html};
use proof::heat_run::import::header::{HOURS, MINUTES, Quantity, SECONDS, Unit as TimeUnit};
use proof::heat_run::import::oddity::{Kind, Oddity};
use proof::heat_run::import::{Channel, ImportError, Log, Options, read};
use std::collections::BTreeMap;

/// Units of time that a form offers for a file that does not say.
const TIME_UNITS: [(&str, TimeUnit); 3] = [("s", SECONDS), ("min", MINUTES), ("h", HOURS)];
/// Times are kept to this share of a minute, values to this share of a unit.
const KEPT: f64 = 1000.0;

type Column = (LogPlace, Vec<Option<f64>>);

/// The form.
pub fn form(view: &View<'_>, run: usize) -> Markup {
    let name = &view.sheet.job.runs[run].name;
    let example = places_of(&view.sheet.job.unit).first().cloned().unwrap_or_else(|| "M1.winding".into());
    html! {
        details #paste .card {
            summary { "Paste a logger's file" }
            form method="post" action=(view.path("/heat-run/paste")) data-live #paste-form {
                (view.hidden())
                input type="hidden" name="run" value=(name);
                p { "It takes the place of the rows that " (name) " has so far. One line of headings, then the rows: "
                    code { "time [min]," (example) " [°C],room [°C],amps" } }
                p { label { "Choose a file: " input type="file" data-fill="paste-text" accept=".csv,.txt,text/plain,text/csv"; } " or paste its text:" }
                textarea #paste-text name="csv" rows="6" aria-label="Text of the logger's file" spellcheck="false" {}
                p { label { "Times without a unit are in "
                    select name="time_unit" { option value="" { "what the heading says" } @for (key, _) in TIME_UNITS { option { (key) } } }
                } }
                p { label { input type="checkbox" name="leave_out" value="yes"; " Leave out what cannot be read" } }
                button { "Put it in" }
            }
        }
    }
}

/// Puts a log in.
pub async fn paste(posted: Posted) -> Result<Response, Trouble> {
    let fields = &posted.fields;
    let name = fields.needed("run", "a run")?.to_owned();
    let text = fields.raw("csv").unwrap_or_default();
    let time_unit = TIME_UNITS.iter().find(|(key, _)| *key == fields.text("time_unit")).map(|&(_, unit)| unit);
    let log = read(text.as_bytes(), &Options { time_unit, room_celsius: None }).map_err(refused)?;
    check(&log.oddities, fields.text("leave_out") == "yes")?;
    let edit = |sheet: &Sheet| {
        named_run(sheet, &name)?;
        let (minutes, channels) = columns(&sheet.job.unit, &log)?;
        Ok(Edit::SetLogAfter { run: name.clone(), minutes, channels })
    };
    let sheet = posted.change(edit).await?;
    let notice = (!log.oddities.is_empty()).then(|| {
        let words =
            format!("Saved: {}. Odd about the file: {}", sheet.revision.what, odd(log.oddities.iter()).join("; "));
        shell::done(&words, None)
    });
    Ok(answer(&posted, &sheet, &name, notice))
}

/// Why a file cannot be used at all.
fn refused(error: ImportError) -> Trouble {
    match error {
        ImportError::NoTimeUnit { row, column } => Trouble::refused(format!(
            "Row {row}: the times in '{column}' are numbers without a unit."
        ))
        .mend(format!("Write '{column} [min]', [s] or [h] into the heading, or choose the unit below the text.")),
        other => {
            Trouble::refused(sentence(&other.to_string())).mend("Nothing was changed; mend the text and try again.")
        }
    }
}

/// What is lost in a file is asked about; a sensor that fell off spoils the run.
fn check(oddities: &[Oddity], may_leave_out: bool) -> Result<(), Trouble> {
    let of = |kinds: &[Kind]| odd(oddities.iter().filter(|oddity| kinds.contains(&oddity.kind)));
    let list = |lines: Vec<String>| html! { ul { @for line in lines { li { (line) } } } };
    let lost = of(&[Kind::SensorLost]);
    if !lost.is_empty() {
        return Err(Trouble::refused("A sensor fell off in this run: it proves nothing of that place.")
            .mend("Fix it and run again, or take its column out of the text.")
            .more(list(lost)));
    }
    let unread = of(&[Kind::Unreadable, Kind::UnreadableTime, Kind::BackwardTime, Kind::Cells]);
    if !unread.is_empty() && !may_leave_out {
        return Err(Trouble::refused("Not all of the file can be read; nothing was changed.")
            .mend("Mend these rows, or tick 'Leave out what cannot be read'.")
            .more(list(unread)));
    }
    Ok(())
}

fn odd<'o>(oddities: impl Iterator<Item = &'o Oddity>) -> Vec<String> {
    oddities.map(ToString::to_string).collect()
}

/// The columns by the places of the unit, on one list of minutes.
fn columns(unit: &Unit, log: &Log) -> Result<(Vec<f64>, Vec<Column>), Trouble> {
    let kept = |value: f64| (value * KEPT).round() / KEPT;
    // Minutes as whole steps of what is kept, so that equal times are one row.
    let step = |seconds: f64| (seconds / 60.0 * KEPT).round() as i64;
    let mut found: Vec<(LogPlace, BTreeMap<i64, f64>)> = Vec::new();
    for channel in log.channels.iter().filter(|channel| channel.bins.readings > 0) {
        let place = place_of(unit, channel)?;
        if found.iter().any(|(known, _)| *known == place) {
            return Err(Trouble::refused(format!("Two columns are for one place: '{}'.", channel.name))
                .mend("Give each column a place of its own, or take one out."));
        }
        found.push((place, channel.bins.means().map(|(seconds, value)| (step(seconds), kept(value))).collect()));
    }
    let mut times: Vec<i64> = found.iter().flat_map(|(_, values)| values.keys().copied()).collect();
    times.sort_unstable();
    times.dedup();
    let column = |(place, values): (LogPlace, BTreeMap<i64, f64>)| {
        (place, times.iter().map(|time| values.get(time).copied()).collect())
    };
    let minutes = times.iter().map(|&time| time as f64 / KEPT).collect();
    Ok((minutes, found.into_iter().map(column).collect()))
}

/// All bodies by name, and the air of streams.
fn places_of(unit: &Unit) -> Vec<String> {
    all_quantities(unit).into_iter().filter_map(|quantity| quantity.celsius_place(unit)).collect()
}

/// The place that a heading names: a body in full, or `winding` where there is only one; amps and watts without a name are
/// those of the whole unit.
fn place_of(unit: &Unit, channel: &Channel) -> Result<LogPlace, Trouble> {
    let name = channel.name.trim();
    let electric = || all_quantities(unit).into_iter();
    match channel.quantity {
        Quantity::Temperature if channel.is_room => Ok(LogPlace::Room),
        Quantity::Temperature => {
            let known = places_of(unit);
            let is_it = |place: &&String| place.eq_ignore_ascii_case(name);
            let ends_so = |place: &&String| place.split('.').nth(1).is_some_and(|body| body.eq_ignore_ascii_case(name));
            let ending: Vec<&String> = known.iter().filter(ends_so).collect();
            let only = ending.first().copied().filter(|_| ending.len() == 1);
            match known.iter().find(is_it).or(only) {
                Some(place) => Ok(LogPlace::Celsius(place.clone())),
                None => {
                    Err(Trouble::refused(format!("The heading '{name}' does not say which part of the unit it is."))
                        .mend(format!("Name the column after one of {}.", known.join(", "))))
                }
            }
        }
        Quantity::Amps => {
            let is_named = unit.find_terminal(name).is_some() || unit.find_wire(name).is_some();
            let whole = electric().find_map(|quantity| match quantity {
                Logged::Electric(Measure::AmpsAtTerminal(terminal)) => Some(unit.terminal_name(terminal)),
                _ => None,
            });
            match whole {
                _ if is_named => Ok(LogPlace::Amps(name.to_owned())),
                Some(whole) => Ok(LogPlace::Amps(whole)),
                None => Err(Trouble::refused(format!("There is no conductor for the amps of '{name}'."))),
            }
        }
        Quantity::Watts => {
            let whole = electric().find_map(|quantity| match quantity {
                Logged::Electric(Measure::Watts(part)) => Some(unit.parts()[part].name.clone()),
                _ => None,
            });
            let named = unit.find_part(name).map(|part| unit.parts()[part].name.clone());
            named
                .or(whole)
                .map(LogPlace::Watts)
                .ok_or_else(|| Trouble::refused(format!("There is no part for the watts of '{name}'.")))
        }
        _ => Err(Trouble::refused(format!("The column '{name}' holds ohms, which a run's log does not take."))
            .mend("Take the column out; ohms after switching off are for: faultwright heatrun --cold-ohms.")),
    }
}
