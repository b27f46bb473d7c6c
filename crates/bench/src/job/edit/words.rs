//! Edits in words, for the history of a job.

use super::{Edit, LogPlace, ReadingPlace, ShownText};

/// Longest name that is shown whole, in characters.
const LONGEST: usize = 60;

/// A name on one line, shortened if it is very long.
pub(super) fn short(name: &str) -> String {
    let plain = |c: char| if c.is_control() { ' ' } else { c };
    let mut out: String = name.chars().take(LONGEST).map(plain).collect();
    if name.chars().nth(LONGEST).is_some() {
        out.push('…');
    }
    out
}

impl Edit {
    /// The edit on one line: "reading added: 27.1 ohm, M1.common to M1.high, setup cold".
    pub fn words(&self) -> String {
        match self {
            Edit::AddReading { setup, measure, value, meter } => {
                format!("reading added: {}", reading(setup, measure, value, meter))
            }
            Edit::RemoveReading { index } => format!("reading {} removed", index.saturating_add(1)),
            Edit::ReplaceReading { index, setup, measure, value, meter } => {
                format!("reading {} changed: {}", index.saturating_add(1), reading(setup, measure, value, meter))
            }
            Edit::AddSymptom { setup, part, word } => {
                let word = word.as_str().replace('-', " ");
                format!("symptom added: {} {word}, setup {}", short(part), short(setup))
            }
            Edit::RemoveSymptom { index } => format!("symptom {} removed", index.saturating_add(1)),
            Edit::AddWire { from, to, colour, label } => format!("wire added: {}", wire(from, to, colour, label)),
            Edit::RemoveWire { index } => format!("wire {} removed", index.saturating_add(1)),
            Edit::ReplaceWire { index, from, to, colour, label } => {
                format!("wire {} changed: {}", index.saturating_add(1), wire(from, to, colour, label))
            }
            Edit::SetPart { name, kind, fields } => {
                let mut words = format!("part {} set: {}", short(name), short(kind));
                for (field, value) in fields {
                    let value = if value.trim().is_empty() { "none".into() } else { short(value.trim()) };
                    words += &format!(", {} {value}", short(field));
                }
                words
            }
            Edit::RemovePart { name } => format!("part {} removed with its wires", short(name)),
            Edit::RenamePart { from, to } => format!("part {} renamed {}", short(from), short(to)),
            Edit::SetSetup { name, supply_on, positions, lifted, jumpers, held, pushed, winding_celsius } => {
                let mut words = vec![format!("supply {}", if *supply_on { "on" } else { "off" })];
                words.extend(positions.iter().map(|(part, at)| format!("{} at {}", short(part), short(at))));
                words.extend(lifted.iter().map(|terminal| format!("{} lifted", short(terminal))));
                words.extend(jumpers.iter().map(|(a, b)| format!("jumper {} to {}", short(a), short(b))));
                words.extend(held.iter().map(|motor| format!("{} held", short(motor))));
                words.extend(pushed.iter().map(|motor| format!("{} pushed", short(motor))));
                words.extend(winding_celsius.map(|celsius| format!("windings at {celsius} °C")));
                format!("setup {} set: {}", short(name), words.join(", "))
            }
            Edit::SetRepaired { fields } => {
                let work = fields.iter().find(|(name, _)| name == "work").map_or("", |(_, work)| work.trim());
                format!("repair noted: {}", short(work))
            }
            Edit::AddReadingAfter { setup, .. } => format!("reading after the repair added in {}", short(setup)),
            Edit::RemoveReadingAfter { index } => {
                format!("reading {} after the repair removed", index.saturating_add(1))
            }
            Edit::BeginRun { name, setup, .. } => format!("run {} begun in setup {}", short(name), short(setup)),
            Edit::AddLogRowAfter { run, minute, values } => {
                let values: Vec<String> = values.iter().map(|(place, value)| logged(place, *value)).collect();
                format!("{} at minute {minute}: {}", short(run), values.join(", "))
            }
            Edit::RemoveLogRowAfter { row, .. } => format!("row {} of the heat run removed", row.saturating_add(1)),
            Edit::SetLogAfter { run, minutes, .. } => format!("log of {} put in: {} rows", short(run), minutes.len()),
            Edit::SetSafety { fields } => {
                let field = |(field, value): &(String, String)| {
                    let value = if value.trim().is_empty() { "as the unit shows".into() } else { short(value.trim()) };
                    format!("{} {value}", short(field).replace('_', " "))
                };
                format!("safety set: {}", fields.iter().map(field).collect::<Vec<_>>().join(", "))
            }
            Edit::AddSafetyTest(test) => format!("safety test added: {} {}", short(&test.test), short(&test.value)),
            Edit::RemoveSafetyTest { index } => format!("safety test {} removed", index.saturating_add(1)),
            Edit::RemoveSetup { name } => format!("setup {} removed", short(name)),
            Edit::SetUnit { name, note: None } => format!("unit named {}", short(name)),
            Edit::SetUnit { name, note: Some(note) } => format!("unit named {}, note: {}", short(name), short(note)),
            Edit::Refuse { what } => format!("refused: {}", short(what)),
            Edit::Allow { what } => format!("no longer refused: {}", short(what)),
            Edit::SetHousingOpen { name, open: true } => format!("housing {} open", short(name)),
            Edit::SetHousingOpen { name, open: false } => format!("housing {} closed", short(name)),
        }
    }
}

fn reading(setup: &str, measure: &ReadingPlace, value: &ShownText, meter: &Option<String>) -> String {
    let (unit, place) = match measure {
        ReadingPlace::Ohms(a, b) => ("ohm", format!("{} to {}", short(a), short(b))),
        ReadingPlace::Microfarads(a, b) => ("uF", format!("{} to {}", short(a), short(b))),
        ReadingPlace::Volts(a, b) => ("V", format!("{} to {}", short(a), short(b))),
        ReadingPlace::Amps(conductor) => ("A", format!("through {}", short(conductor))),
        ReadingPlace::Watts(part) => ("W", format!("of {}", short(part))),
        ReadingPlace::Rpm(part) => ("rpm", format!("of {}", short(part))),
        ReadingPlace::TouchMilliamps(terminal) => ("mA touch", format!("at {}", short(terminal))),
        ReadingPlace::LeakageMilliamps(part) => ("mA leakage", format!("of {}", short(part))),
        ReadingPlace::RunDown(part) => ("s", format!("run-down of {}", short(part))),
    };
    let meter = meter.as_deref().map_or(String::new(), |meter| format!(", meter {}", short(meter)));
    format!("{}, {place}, setup {}{meter}", value.with_unit(unit), short(setup))
}

fn logged(place: &LogPlace, value: f64) -> String {
    match place {
        LogPlace::Celsius(body) => format!("{} {value} °C", short(body)),
        LogPlace::Room => format!("room {value} °C"),
        LogPlace::Amps(conductor) => format!("{} {value} A", short(conductor)),
        LogPlace::Watts(part) => format!("{} {value} W", short(part)),
    }
}

fn wire(from: &str, to: &str, colour: &Option<String>, label: &Option<String>) -> String {
    let mut words = format!("{} to {}", short(from), short(to));
    for extra in [colour, label].into_iter().flatten().filter(|extra| !extra.trim().is_empty()) {
        words += &format!(", {}", short(extra));
    }
    words
}
