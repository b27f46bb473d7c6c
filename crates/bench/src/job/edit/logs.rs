//! Heat runs after the repair in the text of a job: a run begun, its log written row by row or put in as a whole.

use super::source::{Node, Source, after_remarks, spliced};
use super::toml_text::{inline_table, number, quoted};
use super::{EditError, fields, lists, references, repaired};
use crate::job::logs::ROOM;
use std::ops::Range;
use toml_edit::Value;

const LOGS: [&str; 2] = ["repaired", "logs"];
/// What a job file has where there is no value.
const NONE: &str = "none";
/// A run that a log outlasts is made longer in steps of so many minutes.
const LONGER_BY: f64 = 60.0;

/// What a channel of a log holds, and where, by the names of the job file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LogPlace {
    /// Degrees Celsius of a body, such as `M1.winding`.
    Celsius(String),
    /// Degrees Celsius of the room's air.
    Room,
    /// Amps through a terminal or a wire.
    Amps(String),
    /// Watts of a part.
    Watts(String),
}

impl LogPlace {
    /// The fields of its values and of its place, and the place.
    fn fields(&self) -> (&'static str, &'static str, &str) {
        match self {
            LogPlace::Celsius(body) => ("celsius", "at", body),
            LogPlace::Room => ("celsius", "at", ROOM),
            LogPlace::Amps(conductor) => ("amps", "through", conductor),
            LogPlace::Watts(part) => ("watts", "of", part),
        }
    }

    /// A whole channel.
    fn channel(&self, values: &[Option<f64>]) -> String {
        let (quantity, preposition, name) = self.fields();
        let values: Vec<String> = values.iter().map(|value| shown(*value)).collect();
        inline_table(&[
            (quantity.to_owned(), format!("[{}]", values.join(", "))),
            (preposition.to_owned(), quoted(name)),
        ])
    }
}

fn shown(value: Option<f64>) -> String {
    value.map_or_else(|| quoted(NONE), number)
}

/// Adds a run of one setup.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NameTaken`]; [`EditError::BadName`] without a name.
pub(super) fn begin(
    text: &str,
    name: &str,
    setup: &str,
    minutes: f64,
    room_celsius: Option<f64>,
) -> Result<String, EditError> {
    if name.trim().is_empty() {
        return Err(EditError::BadName { what: "run", name: name.into() });
    }
    if references::names(&Source::read(text)?, "runs").iter().any(|known| known == name) {
        return Err(EditError::NameTaken { what: "run", name: name.into() });
    }
    let step = inline_table(&[("minute".to_owned(), number(0.0)), ("setup".to_owned(), quoted(setup))]);
    let mut run = vec![("minutes".to_owned(), number(minutes)), ("steps".to_owned(), format!("[{step}]"))];
    run.extend(room_celsius.map(|celsius| ("room_celsius".to_owned(), number(celsius))));
    fields::add_table(text, &["runs", name], &run, &["runs", "setups"])
}

/// Adds a row to the log of a run after the repair; makes the log, and the run longer, where that is needed.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a row without a value, a time at or before that of the row before
/// it, or while nothing is noted as done.
pub(super) fn add_row(text: &str, run: &str, minute: f64, values: &[(LogPlace, f64)]) -> Result<String, EditError> {
    check(text, minute, values.is_empty())?;
    let longer = lengthened(text, run, minute)?;
    let single = || values.iter().map(|(place, value)| (place.clone(), vec![Some(*value)])).collect::<Vec<_>>();
    let Some(log) = log_of(&Source::read(&longer)?, run) else { return push_log(&longer, run, &[minute], &single()) };
    let log = log.to_string();
    let path = |rest: &[&str]| -> Vec<String> {
        LOGS.iter().copied().chain([log.as_str()]).chain(rest.iter().copied()).map(str::to_owned).collect()
    };
    let source = Source::read(&longer)?;
    let rows = numbers(&source, &path(&["minutes"]));
    if let Some(&last) = rows.last().filter(|&&last| minute <= last) {
        let (number, last) = (rows.len(), number(last));
        let words = format!(
            "row {number} is at minute {last} already, and time runs on; write a later minute, or remove row {number}"
        );
        return Err(EditError::BadValue {
            field: format!("row {}, minute {}", number + 1, shown(Some(minute))),
            words,
        });
    }
    let channels = channels_of(&source, &path(&["channels"]));
    let mut text = push_number(&longer, &path(&["minutes"]), &number(minute))?;
    for (index, found) in channels.iter().enumerate() {
        let Some((quantity, _)) = found else { continue };
        let value = values.iter().find(|(place, _)| found.as_ref() == Some(&key_of(place)));
        let value = shown(value.map(|(_, value)| *value));
        text = push_number(&text, &path(&["channels", &index.to_string(), quantity]), &value)?;
    }
    let path = path(&["channels"]);
    let path: Vec<&str> = path.iter().map(String::as_str).collect();
    for (place, value) in values.iter().filter(|(place, _)| !channels.contains(&Some(key_of(place)))) {
        let mut column = vec![None; rows.len()];
        column.push(Some(*value));
        text = lists::push_value_at(&text, &path, &place.channel(&column))?;
    }
    Ok(text)
}

/// Puts in a whole log of a run after the repair, over the one that is there.
///
/// # Errors
/// As [`add_row`].
pub(super) fn set(
    text: &str,
    run: &str,
    minutes: &[f64],
    channels: &[(LogPlace, Vec<Option<f64>>)],
) -> Result<String, EditError> {
    let last = minutes.last().copied().unwrap_or_default();
    check(text, last, minutes.is_empty() || channels.is_empty())?;
    let mut text = lengthened(text, run, last)?;
    while let Some(log) = log_of(&Source::read(&text)?, run) {
        text = lists::remove_at(&text, &LOGS, "logs after the repair", log)?;
    }
    push_log(&text, run, minutes, channels)
}

/// Removes a row of a log after the repair; with its last row the log goes, and with its last value a channel.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuchEntry`].
pub(super) fn remove_row(text: &str, log: usize, row: usize) -> Result<String, EditError> {
    let index = log.to_string();
    let at = [LOGS[0], LOGS[1], index.as_str()];
    let minutes = [&at[..], &["minutes"]].concat();
    let source = Source::read(text)?;
    let rows = source.place(&minutes).and_then(|place| place.entry_count()).unwrap_or(0);
    if rows == 1 && row == 0 {
        return lists::remove_at(text, &LOGS, "logs after the repair", log);
    }
    let mut left = lists::remove_at(text, &minutes, "the log", row)?;
    let path = [&at[..], &["channels"]].concat();
    let owned: Vec<String> = path.iter().map(|name| (*name).to_owned()).collect();
    for (channel, found) in channels_of(&source, &owned).iter().enumerate().rev() {
        let Some((quantity, _)) = found else { continue };
        let channel_name = channel.to_string();
        let values = [&path[..], &[channel_name.as_str(), quantity]].concat();
        left = lists::remove_at(&left, &values, "the log", row)?;
        let source = Source::read(&left)?;
        let count = source.place(&values).and_then(|place| place.entry_count()).unwrap_or(0);
        let is_none = |value: usize| {
            let value = value.to_string();
            let place = source.place(&[&values[..], &[value.as_str()]].concat());
            place.and_then(|place| place.text()).is_some_and(|(text, _)| text == NONE)
        };
        let channels = source.place(&path).and_then(|place| place.entry_count()).unwrap_or(0);
        if channels > 1 && (0..count).all(is_none) {
            left = lists::remove_at(&left, &path, "channels of the log", channel)?;
        }
    }
    Ok(left)
}

/// # Errors
/// [`EditError::BadValue`] while nothing is noted as done, for a time that is none, or for a row without a value.
fn check(text: &str, minute: f64, is_empty: bool) -> Result<(), EditError> {
    if !repaired::is_noted(text)? {
        return Err(repaired::nothing_done("first note what was done: a heat run is the proof of a repair"));
    }
    let bad = |words: &str| Err(EditError::BadValue { field: "row".into(), words: words.into() });
    if is_empty {
        return bad("nothing was logged in it; write a temperature, amps or watts beside the minutes");
    }
    if !(minute.is_finite() && minute >= 0.0) {
        return bad("its minutes are no time; write the minutes since the unit was switched on");
    }
    Ok(())
}

/// The text with a run long enough for a row; runs are planned, and logs are what happened.
fn lengthened(text: &str, run: &str, minute: f64) -> Result<String, EditError> {
    let path = ["runs", run, "minutes"];
    let source = Source::read(text)?;
    let planned = source.place(&path).and_then(|place| value_of(place.node));
    match planned.filter(|&planned| minute > planned) {
        Some(_) => fields::set(text, &path, &number((minute / LONGER_BY).ceil() * LONGER_BY)),
        None => Ok(text.to_owned()),
    }
}

/// The last log of a run.
fn log_of(source: &Source<'_>, run: &str) -> Option<usize> {
    let count = source.place(&LOGS).and_then(|place| place.entry_count()).unwrap_or(0);
    (0..count).rev().find(|index| {
        let place = source.place(&[LOGS[0], LOGS[1], &index.to_string(), "run"]);
        place.and_then(|place| place.text()).is_some_and(|(name, _)| name == run)
    })
}

/// The field of the values of each channel, and its place.
fn channels_of(source: &Source<'_>, path: &[String]) -> Vec<Option<(&'static str, String)>> {
    let path: Vec<&str> = path.iter().map(String::as_str).collect();
    let count = source.place(&path).and_then(|place| place.entry_count()).unwrap_or(0);
    let of = |index: usize| {
        let index = index.to_string();
        let at = |field| source.place(&[&path[..], &[index.as_str(), field]].concat());
        let quantity = ["celsius", "amps", "watts", "volts", "rpm"].into_iter().find(|field| at(field).is_some())?;
        let place = ["at", "through", "of"].into_iter().find_map(|field| at(field)?.text());
        Some((quantity, place.map_or_else(String::new, |(name, _)| name.to_owned())))
    };
    (0..count).map(of).collect()
}

fn key_of(place: &LogPlace) -> (&'static str, String) {
    let (quantity, _, name) = place.fields();
    (quantity, name.to_owned())
}

fn numbers(source: &Source<'_>, path: &[String]) -> Vec<f64> {
    let path: Vec<&str> = path.iter().map(String::as_str).collect();
    let count = source.place(&path).and_then(|place| place.entry_count()).unwrap_or(0);
    let of = |index: usize| value_of(source.place(&[&path[..], &[&index.to_string()]].concat())?.node);
    (0..count).filter_map(of).collect()
}

fn value_of(node: Node<'_>) -> Option<f64> {
    match node {
        Node::Value(value) => value.as_float().or(value.as_integer().map(|whole| whole as f64)),
        _ => None,
    }
}

/// Adds a value at the end of a list, on the line of the one before it.
fn push_number(text: &str, path: &[String], value: &str) -> Result<String, EditError> {
    let path: Vec<&str> = path.iter().map(String::as_str).collect();
    let source = Source::read(text)?;
    let form = || EditError::Form { name: path.join("."), expected: "a list" };
    let Some(Node::Value(Value::Array(array))) = source.place(&path).map(|place| place.node) else {
        return Err(form());
    };
    let last = array.iter().last().and_then(Value::span);
    let splice: (Range<usize>, String) = match (last, array.span()) {
        (Some(last), _) => (last.end..last.end, format!(", {value}")),
        (None, Some(whole)) => (whole.start + 1..whole.start + 1, value.to_owned()),
        (None, None) => return Err(form()),
    };
    Ok(spliced(text, vec![splice]))
}

/// Adds a log; under a heading of its own unless what was done is written in braces.
fn push_log(
    text: &str,
    run: &str,
    minutes: &[f64],
    channels: &[(LogPlace, Vec<Option<f64>>)],
) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let newline = source.newline();
    let minutes: Vec<String> = minutes.iter().map(|minute| number(*minute)).collect();
    let lines = channels.iter().map(|(place, values)| format!("  {},{newline}", place.channel(values)));
    let log = [
        ("run".to_owned(), quoted(run)),
        ("minutes".to_owned(), format!("[{}]", minutes.join(", "))),
        ("channels".to_owned(), format!("[{newline}{}]", lines.collect::<String>())),
    ];
    let has_list = source.place(&LOGS).is_some();
    match source.blocks(&LOGS[..1]).last() {
        Some(block) if !has_list => {
            let at = after_remarks(text, block.lines.end);
            let fields = log.iter().map(|(name, value)| format!("{name} = {value}{newline}"));
            let block = format!("[[{}]]{newline}{}", LOGS.join("."), fields.collect::<String>());
            Ok(spliced(text, vec![(at..at, source.set_off(at, &block))]))
        }
        _ => lists::push_at(text, &LOGS, &log),
    }
}
