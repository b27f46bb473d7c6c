//! Heat runs in the text of a job: begun, written row by row, put in whole, mended; the plain model of these edits.

use crate::model::{expected, parsed, plain_number, section};
use bench::job::edit::{Edit, LogPlace, apply};
use toml::{Table, Value};

const SEALER: &str = include_str!("../../../../demos/heat-sealer.toml");
const RUN: &str = "sealing after the repair";

fn text(text: &str) -> String {
    text.to_owned()
}

/// What a channel is by its fields in the file.
fn fields(place: &LogPlace) -> (&'static str, &'static str, String) {
    match place {
        LogPlace::Celsius(body) => ("celsius", "at", body.clone()),
        LogPlace::Room => ("celsius", "at", text("room")),
        LogPlace::Amps(conductor) => ("amps", "through", conductor.clone()),
        LogPlace::Watts(part) => ("watts", "of", part.clone()),
    }
}

fn channel(place: &LogPlace, values: &[Option<f64>]) -> Value {
    let (quantity, preposition, name) = fields(place);
    let value = |value: &Option<f64>| value.map_or_else(|| Value::String(text("none")), plain_number);
    let mut table = Table::new();
    table.insert(text(quantity), Value::Array(values.iter().map(value).collect()));
    table.insert(text(preposition), Value::String(name));
    Value::Table(table)
}

fn logs(table: &mut Table) -> &mut Vec<Value> {
    let repaired = section(table, "repaired");
    repaired.entry("logs").or_insert(Value::Array(Vec::new())).as_array_mut().unwrap()
}

fn long_enough(table: &mut Table, run: &str, minute: f64) {
    let Some(run) = table.get_mut("runs").and_then(|runs| runs.get_mut(run)) else { return };
    let planned = run["minutes"].as_float().or(run["minutes"].as_integer().map(|whole| whole as f64)).unwrap();
    if minute > planned {
        run.as_table_mut().unwrap().insert(text("minutes"), plain_number((minute / 60.0).ceil() * 60.0));
    }
}

/// The model of the edits of runs and their logs.
pub fn apply_to_model(table: &mut Table, edit: &Edit) {
    match edit {
        Edit::BeginRun { name, setup, minutes, room_celsius } => {
            let run = section(section(table, "runs"), name);
            let mut step = Table::new();
            step.insert(text("minute"), Value::Integer(0));
            step.insert(text("setup"), Value::String(setup.clone()));
            run.insert(text("minutes"), plain_number(*minutes));
            run.insert(text("steps"), Value::Array(vec![Value::Table(step)]));
            run.extend(room_celsius.map(|celsius| (text("room_celsius"), plain_number(celsius))));
        }
        Edit::AddLogRowAfter { run, minute, values } => {
            long_enough(table, run, *minute);
            let logs = logs(table);
            let found = logs.iter_mut().rev().find(|log| log["run"].as_str() == Some(run));
            let Some(log) = found.and_then(Value::as_table_mut) else {
                let columns: Vec<_> = values.iter().map(|(place, value)| (place.clone(), vec![Some(*value)])).collect();
                return set(table, run, &[*minute], &columns);
            };
            let rows = log["minutes"].as_array().unwrap().len();
            log["minutes"].as_array_mut().unwrap().push(plain_number(*minute));
            let channels = log["channels"].as_array_mut().unwrap();
            let is_it = |channel: &Value, place: &LogPlace| {
                let (quantity, preposition, name) = fields(place);
                channel.get(quantity).is_some() && channel[preposition].as_str() == Some(&name)
            };
            for known in channels.iter_mut() {
                let value = values.iter().find(|(place, _)| is_it(known, place));
                let value = value.map_or_else(|| Value::String(text("none")), |(_, value)| plain_number(*value));
                let column = known.as_table_mut().unwrap().iter_mut().find_map(|(_, value)| value.as_array_mut());
                column.unwrap().push(value);
            }
            for (place, value) in values {
                if !channels.iter().any(|channel| is_it(channel, place)) {
                    let mut column = vec![None; rows];
                    column.push(Some(*value));
                    channels.push(channel(place, &column));
                }
            }
        }
        Edit::RemoveLogRowAfter { log: index, row } => {
            let log = logs(table)[*index].as_table_mut().unwrap();
            let minutes = log["minutes"].as_array_mut().unwrap();
            minutes.remove(*row);
            if minutes.is_empty() {
                logs(table).remove(*index);
                return;
            }
            let channels = log["channels"].as_array_mut().unwrap();
            for channel in channels.iter_mut() {
                let column = channel.as_table_mut().unwrap().iter_mut().find_map(|(_, value)| value.as_array_mut());
                column.unwrap().remove(*row);
            }
            let is_empty = |channel: &Value| {
                let column = channel.as_table().unwrap().values().find_map(Value::as_array).unwrap();
                column.iter().all(|value| value.as_str() == Some("none"))
            };
            let is_all_empty = channels.iter().all(is_empty);
            channels.retain(|channel| is_all_empty || !is_empty(channel));
        }
        Edit::SetLogAfter { run, minutes, channels } => {
            long_enough(table, run, minutes.last().copied().unwrap());
            logs(table).retain(|log| log["run"].as_str() != Some(run));
            set(table, run, minutes, channels);
        }
        other => panic!("no edit of a run: {other:?}"),
    }
}

fn set(table: &mut Table, run: &str, minutes: &[f64], channels: &[(LogPlace, Vec<Option<f64>>)]) {
    let mut log = Table::new();
    log.insert(text("run"), Value::String(text(run)));
    log.insert(text("minutes"), Value::Array(minutes.iter().map(|minute| plain_number(*minute)).collect()));
    let channels = channels.iter().map(|(place, values)| channel(place, values)).collect();
    log.insert(text("channels"), Value::Array(channels));
    logs(table).push(Value::Table(log));
}

fn without_log() -> String {
    let (head, tail) = SEALER.split_once("[[repaired.logs]]").unwrap();
    format!("{head}# The safety{}", tail.split_once("# The safety").unwrap().1)
}

/// The sealer's job in the forms in which a log may stand: under a heading, in brackets, with what was done in braces, and
/// none yet; with the line ends of both worlds.
fn forms() -> Vec<String> {
    let none = without_log();
    let log = "{ run = \"sealing after the repair\", minutes = [0, 2], channels = [{ celsius = [20.9, 27], at = \"T1.winding\" }] }";
    let in_brackets =
        none.replace("minutes_with_fault = 30", &format!("logs = [{log}] # the log\nminutes_with_fault = 30"));
    assert_ne!(in_brackets, none);
    let (head, tail) = none.split_once("[repaired]").unwrap();
    let (_, safety) = tail.split_once("# The safety").unwrap();
    let in_braces = format!("repaired = {{ work = \"made new\" }}\n{head}# The safety{safety}");
    let all = [SEALER.to_owned(), none, in_brackets, in_braces];
    all.iter().flat_map(|text| [text.clone(), text.replace('\n', "\r\n")]).collect()
}

fn row(minute: f64, values: &[(LogPlace, f64)]) -> Edit {
    Edit::AddLogRowAfter { run: text(RUN), minute, values: values.to_vec() }
}

fn made(before: &str, edit: &Edit) -> String {
    let after = apply(before, edit).unwrap_or_else(|error| panic!("{error}: {edit:?}\n{before}"));
    assert_eq!(parsed(&after), expected(&parsed(before), edit), "{edit:?}\n{after}");
    bench::job::read("test", &after).unwrap_or_else(|problems| panic!("{problems}\n{after}"));
    let ends = after.matches("\r\n").count();
    assert!(ends == 0 || ends == after.matches('\n').count(), "line ends are mixed:\n{after}");
    let remarks = before.lines().filter(|line| line.starts_with('#'));
    remarks.for_each(|remark| assert!(after.contains(remark), "{remark} is gone"));
    after
}

#[test]
fn rows_are_added_and_taken_out_in_every_form() {
    let winding = || LogPlace::Celsius(text("T1.winding"));
    for before in forms() {
        // Later than anything that is logged, and beyond the planned end of the run.
        let first = made(&before, &row(119.5, &[(winding(), 84.5), (LogPlace::Room, 21.25)]));
        let second = made(&first, &row(125.0, &[(LogPlace::Amps(text("cord.hot")), 1.5)]));
        let job = bench::job::read("test", &second).unwrap();
        assert_eq!(job.runs[0].end_seconds, 180.0 * 60.0, "the run has become longer");
        let log = &job.repaired.as_ref().unwrap().logs[0];
        let rows = log.seconds.len();
        assert_eq!(log.room.as_ref().unwrap()[rows - 2..], [Some(21.25), None]);
        assert_eq!(log.channels.last().unwrap().values[rows - 2..], [None, Some(1.5)]);
        // Taken out again the text is as it was, but for the length of the run.
        let one_less = made(&second, &Edit::RemoveLogRowAfter { log: 0, row: rows - 1 });
        assert_eq!(one_less.replace("minutes = 180", "minutes = 120"), first);
        let none_left = made(&first, &Edit::RemoveLogRowAfter { log: 0, row: rows - 2 });
        assert_eq!(parsed(&none_left), parsed(&before), "{none_left}");
        let whole = Edit::SetLogAfter {
            run: text(RUN),
            minutes: vec![0.0, 1.5],
            channels: vec![
                (winding(), vec![Some(20.0), None]),
                (LogPlace::Watts(text("cord")), vec![None, Some(310.0)]),
            ],
        };
        made(&before, &whole);
    }
}

#[test]
fn time_that_runs_backwards_and_rows_of_nothing_are_refused() {
    let winding = || LogPlace::Celsius(text("T1.winding"));
    let words = |before: &str, edit: &Edit| apply(before, edit).unwrap_err().to_string();
    for minute in [119.0, 118.0, 0.0] {
        let said = words(SEALER, &row(minute, &[(winding(), 84.0)]));
        assert!(said.contains("row 31") && said.contains("row 30 is at minute 119 already"), "{said}");
    }
    for minute in [-1.0, f64::NAN, f64::INFINITY] {
        assert!(words(SEALER, &row(minute, &[(winding(), 84.0)])).contains("minutes are no time"));
    }
    assert!(words(SEALER, &row(119.5, &[])).contains("nothing was logged"));
    let unrepaired = include_str!("../../../../demos/dough-proofer.toml");
    assert!(words(unrepaired, &row(1.0, &[(winding(), 84.0)])).contains("first note what was done"));
    assert!(words(SEALER, &Edit::RemoveLogRowAfter { log: 0, row: 30 }).contains("no entry 31"));
    assert!(words(SEALER, &Edit::RemoveLogRowAfter { log: 1, row: 0 }).contains("no entry"));
}

#[test]
fn a_run_is_begun_once() {
    let begin =
        Edit::BeginRun { name: text("heat run"), setup: text("heat 3"), minutes: 240.0, room_celsius: Some(21.5) };
    let after = made(SEALER, &begin);
    assert!(apply(&after, &begin).unwrap_err().to_string().contains("already"));
}

#[test]
fn a_part_is_renamed_in_its_logs_and_a_setup_that_a_run_needs_stays() {
    let with_room = made(SEALER, &row(119.5, &[(LogPlace::Celsius(text("T1.core")), 60.0), (LogPlace::Room, 21.0)]));
    let renamed = apply(&with_room, &Edit::RenamePart { from: text("T1"), to: text("room") }).unwrap();
    let job = bench::job::read("test", &renamed).unwrap_or_else(|problems| panic!("{problems}\n{renamed}"));
    let log = &job.repaired.unwrap().logs[0];
    assert_eq!((log.channels.len(), log.room.is_some()), (2, true));
    assert_eq!(apply(&renamed, &Edit::RenamePart { from: text("room"), to: text("T1") }), Ok(with_room));
    let words = apply(SEALER, &Edit::RemoveSetup { name: text("heat 3") }).unwrap_err().to_string();
    assert!(words.contains("run sealing after the repair"), "{words}");
}
