//! Edits on a parsed document, done plainly: what the edits of the text are compared with.

use bench::job::ShownValue;
use bench::job::edit::{Edit, ReadingPlace, ShownText};
use toml::{Table, Value};

/// The document of a job file; a list or a safety section without entries counts as none, and 1.0 as 1.
pub fn parsed(text: &str) -> Table {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut table: Table = toml::from_str(text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    forget_empty_lists(&mut table);
    table.iter_mut().for_each(|(_, value)| whole_numbers(value));
    table
}

fn whole_numbers(value: &mut Value) {
    match value {
        Value::Float(number) => *value = plain_number(*number),
        Value::Array(list) => list.iter_mut().for_each(whole_numbers),
        Value::Table(table) => table.iter_mut().for_each(|(_, value)| whole_numbers(value)),
        _ => (),
    }
}

fn forget_empty_lists(table: &mut Table) {
    table.retain(|_, value| value.as_array().is_none_or(|list| !list.is_empty()));
    if let Some(Value::Table(repaired)) = table.get_mut("repaired") {
        forget_empty_lists(repaired);
    }
    if let Some(Value::Table(safety)) = table.get_mut("safety") {
        forget_empty_lists(safety);
        if safety.is_empty() {
            table.remove("safety");
        }
    }
}

/// What a document should be after an edit that is not refused.
pub fn expected(before: &Table, edit: &Edit) -> Table {
    let mut table = before.clone();
    match edit {
        Edit::AddReading { setup, measure, value, meter } => {
            list(&mut table, "readings").push(Value::Table(reading(setup, measure, value, meter)));
        }
        Edit::ReplaceReading { index, setup, measure, value, meter } => {
            let entry = &mut list(&mut table, "readings")[*index];
            let note = entry.get("note").cloned();
            let mut new = reading(setup, measure, value, meter);
            new.extend(note.map(|note| ("note".to_owned(), note)));
            *entry = Value::Table(new);
        }
        Edit::AddSymptom { setup, part, word } => {
            let fields = [("setup", setup.as_str()), ("part", part), ("word", word.as_str())];
            list(&mut table, "symptoms").push(Value::Table(texts(&fields)));
        }
        Edit::AddWire { from, to, colour, label } => {
            list(&mut table, "wires").push(Value::Table(wire(from, to, colour, label)));
        }
        Edit::ReplaceWire { index, from, to, colour, label } => {
            list(&mut table, "wires")[*index] = Value::Table(wire(from, to, colour, label));
        }
        Edit::RemoveReading { index } => drop(list(&mut table, "readings").remove(*index)),
        Edit::RemoveSymptom { index } => drop(list(&mut table, "symptoms").remove(*index)),
        Edit::RemoveWire { index } => drop(list(&mut table, "wires").remove(*index)),
        Edit::SetPart { name, kind, fields } => {
            let part = section(section(&mut table, "parts"), name);
            let known: &[&str] = match kind.as_str() {
                "run-capacitor" => &["kind", "make", "microfarads", "volts"],
                "heater" => &["kind", "make", "volts", "watts"],
                other => panic!("the model does not know {other}"),
            };
            if part.get("kind").and_then(Value::as_str) != Some(kind) {
                part.retain(|field, _| known.contains(&field));
            }
            part.insert("kind".into(), Value::String(kind.clone()));
            for (field, typed) in fields {
                let number = typed.replace(',', ".").parse::<f64>();
                match number {
                    _ if typed.is_empty() => drop(part.remove(field)),
                    Ok(number) => drop(part.insert(field.clone(), plain_number(number))),
                    Err(_) => drop(part.insert(field.clone(), Value::String(typed.clone()))),
                }
            }
        }
        Edit::RemovePart { name } => {
            let touches = |end: &Value| end.as_str().unwrap().split('.').next() == Some(name);
            list(&mut table, "wires").retain(|wire| !touches(&wire["from"]) && !touches(&wire["to"]));
            section(&mut table, "parts").remove(name);
        }
        Edit::RenamePart { from, to } => rename(&mut table, from, to),
        Edit::SetSetup { name, supply_on, positions, lifted, jumpers, held, pushed, winding_celsius } => {
            let setup = section(section(&mut table, "setups"), name);
            setup.retain(|field, _| field == "hertz");
            setup.insert("supply".into(), Value::String(if *supply_on { "on".into() } else { "off".into() }));
            let positions: Vec<(&str, &str)> =
                positions.iter().map(|(part, at)| (part.as_str(), at.as_str())).collect();
            let jumpers = jumpers.iter().map(|(a, b)| strings(&[a.clone(), b.clone()])).collect();
            let lists = [("lifted", strings(lifted)), ("held", strings(held)), ("pushed", strings(pushed))];
            for (field, value) in lists.into_iter().chain([("jumpers", Value::Array(jumpers))]) {
                if !value.as_array().unwrap().is_empty() {
                    setup.insert(field.into(), value);
                }
            }
            if !positions.is_empty() {
                setup.insert("positions".into(), Value::Table(texts(&positions)));
            }
            if let Some(celsius) = winding_celsius {
                setup.insert("winding_celsius".into(), plain_number(*celsius));
            }
        }
        Edit::RemoveSetup { name } => drop(section(&mut table, "setups").remove(name)),
        Edit::SetUnit { name, note } => {
            let unit = section(&mut table, "unit");
            unit.insert("name".into(), Value::String(name.clone()));
            match note.as_ref().filter(|note| !note.trim().is_empty()) {
                Some(note) => unit.insert("note".into(), Value::String(note.clone())),
                None => unit.remove("note"),
            };
        }
        Edit::SetRepaired { fields } => {
            let repaired = section(&mut table, "repaired");
            for (name, typed) in fields {
                match (typed.as_str(), name.as_str()) {
                    ("", _) => drop(repaired.remove(name)),
                    (_, "faults" | "looked_at") => {
                        let labels: Vec<String> = typed.split(',').map(|label| label.trim().to_owned()).collect();
                        drop(repaired.insert(name.clone(), strings(&labels)));
                    }
                    (_, "minutes_with_fault") => {
                        drop(repaired.insert(name.clone(), plain_number(typed.parse().unwrap())));
                    }
                    _ => drop(repaired.insert(name.clone(), Value::String(typed.trim().to_owned()))),
                }
            }
        }
        Edit::AddReadingAfter { setup, measure, value, meter } => {
            list(section(&mut table, "repaired"), "readings").push(Value::Table(reading(setup, measure, value, meter)));
        }
        Edit::RemoveReadingAfter { index } => {
            drop(list(section(&mut table, "repaired"), "readings").remove(*index));
        }
        Edit::SetSafety { fields } => {
            let safety = section(&mut table, "safety");
            for (name, typed) in fields {
                match (typed.as_str(), typed.parse::<f64>(), name.as_str()) {
                    ("", ..) => drop(safety.remove(name)),
                    (_, Ok(number), _) => drop(safety.insert(name.clone(), plain_number(number))),
                    (_, Err(_), "unearthed_metal") => {
                        drop(safety.insert(name.clone(), Value::Boolean(typed == "true")))
                    }
                    (_, Err(_), _) => drop(safety.insert(name.clone(), Value::String(typed.trim().to_owned()))),
                }
            }
        }
        Edit::AddSafetyTest(test) => {
            let mut entry = texts(&[("test", test.test.trim()), ("value", test.value.trim())]);
            let more = [("at", &test.at), ("date", &test.date), ("instrument", &test.instrument), ("note", &test.note)];
            for (name, text) in more {
                let text = text.as_deref().map(str::trim).filter(|text| !text.is_empty());
                entry.extend(text.map(|text| (name.to_owned(), Value::String(text.to_owned()))));
            }
            list(section(&mut table, "safety"), "tests").push(Value::Table(entry));
        }
        Edit::RemoveSafetyTest { index } => drop(list(section(&mut table, "safety"), "tests").remove(*index)),
        Edit::BeginRun { .. }
        | Edit::AddLogRowAfter { .. }
        | Edit::RemoveLogRowAfter { .. }
        | Edit::SetLogAfter { .. } => crate::heat_run_logs::apply_to_model(&mut table, edit),
        Edit::Refuse { what } => {
            let refused = list(&mut table, "refused");
            if !refused.iter().any(|known| known.as_str() == Some(what)) {
                refused.push(Value::String(what.clone()));
            }
        }
        Edit::Allow { what } => {
            let refused = list(&mut table, "refused");
            let at = refused.iter().position(|known| known.as_str() == Some(what)).unwrap();
            refused.remove(at);
        }
        Edit::SetHousingOpen { name, open } => {
            let housings = list(&mut table, "housings");
            let housing = housings.iter_mut().find(|housing| housing["name"].as_str() == Some(name)).unwrap();
            housing.as_table_mut().unwrap().insert("open".into(), Value::Boolean(*open));
        }
    }
    forget_empty_lists(&mut table);
    table
}

fn list<'t>(table: &'t mut Table, name: &str) -> &'t mut Vec<Value> {
    table.entry(name).or_insert(Value::Array(Vec::new())).as_array_mut().unwrap()
}

pub fn section<'t>(table: &'t mut Table, name: &str) -> &'t mut Table {
    table.entry(name).or_insert(Value::Table(Table::new())).as_table_mut().unwrap()
}

fn texts(fields: &[(&str, &str)]) -> Table {
    fields.iter().map(|&(name, value)| (name.to_owned(), Value::String(value.to_owned()))).collect()
}

fn strings(items: &[String]) -> Value {
    Value::Array(items.iter().cloned().map(Value::String).collect())
}

/// Whole numbers are written without a point.
pub fn plain_number(number: f64) -> Value {
    if number.fract() == 0.0 { Value::Integer(number as i64) } else { Value::Float(number) }
}

fn reading(setup: &str, measure: &ReadingPlace, value: &ShownText, meter: &Option<String>) -> Table {
    let shown = match value.value() {
        ShownValue::Open => Value::String("open".into()),
        ShownValue::OverRange => Value::String("OL".into()),
        ShownValue::Dead => Value::String("dead".into()),
        // What was typed with a suffix stays text.
        ShownValue::Number(_) if value.to_string().ends_with(['k', 'M']) => Value::String(value.to_string()),
        ShownValue::Number(number) => plain_number(number),
    };
    let (quantity, field, place) = match measure {
        ReadingPlace::Ohms(a, b) => ("ohms", "between", strings(&[a.clone(), b.clone()])),
        ReadingPlace::Microfarads(a, b) => ("microfarads", "between", strings(&[a.clone(), b.clone()])),
        ReadingPlace::Volts(a, b) => ("volts", "between", strings(&[a.clone(), b.clone()])),
        ReadingPlace::Amps(conductor) => ("amps", "through", Value::String(conductor.clone())),
        ReadingPlace::Watts(part) => ("watts", "of", Value::String(part.clone())),
        ReadingPlace::Rpm(part) => ("rpm", "of", Value::String(part.clone())),
        ReadingPlace::TouchMilliamps(terminal) => ("touch_milliamps", "at", Value::String(terminal.clone())),
        ReadingPlace::LeakageMilliamps(part) => ("leakage_milliamps", "of", Value::String(part.clone())),
        ReadingPlace::RunDown(part) => ("run_down_seconds", "of", Value::String(part.clone())),
    };
    let mut table = texts(&[("setup", setup)]);
    table.insert(quantity.into(), shown);
    table.insert(field.into(), place);
    table.extend(typed("meter", meter));
    table
}

fn wire(from: &str, to: &str, colour: &Option<String>, label: &Option<String>) -> Table {
    let mut table = texts(&[("from", from), ("to", to)]);
    table.extend(typed("colour", colour));
    table.extend(typed("label", label));
    table
}

fn typed(name: &str, text: &Option<String>) -> Option<(String, Value)> {
    let text = text.as_deref()?.trim();
    (!text.is_empty()).then(|| (name.to_owned(), Value::String(text.to_owned())))
}

/// Renames a part in every text that names it; labels of wires, remarks and setups' names are no names of parts.
fn rename(table: &mut Table, from: &str, to: &str) {
    let empty = Vec::new();
    let labels: Vec<Value> = table
        .get("wires")
        .and_then(Value::as_array)
        .unwrap_or(&empty)
        .iter()
        .filter_map(|wire| wire.get("label").cloned())
        .collect();
    list(table, "refused").iter_mut().for_each(|value| rename_texts(value, from, to));
    let parts = section(table, "parts");
    let part = parts.remove(from).unwrap();
    parts.insert(to.into(), part);
    let after = table.get_mut("repaired").and_then(|repaired| repaired.get_mut("readings"));
    for entry in after.and_then(Value::as_array_mut).into_iter().flatten() {
        for field in ["between", "through", "of"] {
            if let Some(value) = entry.get_mut(field).filter(|value| !labels.contains(value)) {
                rename_texts(value, from, to);
            }
        }
    }
    if let Some(repaired) = table.get_mut("repaired") {
        rename_in_record(repaired, from, to);
    }
    for (name, fields) in [
        ("wires", &["from", "to"][..]),
        ("readings", &["between", "through", "of"]),
        ("symptoms", &["part"]),
        ("setups", &["lifted", "jumpers", "held", "pushed"]),
        ("housings", &["holds"]),
    ] {
        let entries: Vec<&mut Value> = match table.get_mut(name) {
            Some(Value::Array(list)) => list.iter_mut().collect(),
            Some(Value::Table(tables)) => tables.iter_mut().map(|(_, table)| table).collect(),
            _ => continue,
        };
        for entry in entries {
            for field in fields {
                if let Some(value) = entry.get_mut(field).filter(|value| !labels.contains(value)) {
                    rename_texts(value, from, to);
                }
            }
            if let Some(positions) = entry.get_mut("positions").and_then(Value::as_table_mut)
                && let Some(position) = positions.remove(from)
            {
                positions.insert(to.into(), position);
            }
        }
    }
}

/// The cause, what was looked at, logs and hot ohms.
fn rename_in_record(repaired: &mut Value, from: &str, to: &str) {
    for field in ["faults", "looked_at"] {
        for value in repaired.get_mut(field).and_then(Value::as_array_mut).into_iter().flatten() {
            let (place, what) = value.as_str().unwrap().split_once(' ').unwrap();
            let (mut place, what) = (Value::String(place.to_owned()), what.to_owned());
            rename_texts(&mut place, from, to);
            *value = Value::String(format!("{} {what}", place.as_str().unwrap()));
        }
    }
    for entry in repaired.get_mut("hot_ohms").and_then(Value::as_array_mut).into_iter().flatten() {
        rename_texts(&mut entry["winding"], from, to);
    }
    for log in repaired.get_mut("logs").and_then(Value::as_array_mut).into_iter().flatten() {
        for channel in log["channels"].as_array_mut().unwrap() {
            for field in ["at", "through", "of"] {
                if let Some(value) = channel.get_mut(field) {
                    rename_texts(value, from, to);
                }
            }
        }
    }
}

fn rename_texts(value: &mut Value, from: &str, to: &str) {
    match value {
        Value::Array(list) => list.iter_mut().for_each(|value| rename_texts(value, from, to)),
        Value::String(text) => {
            let end = |end: &str| match end.split_once('.') {
                Some((part, terminal)) if part == from => format!("{to}.{terminal}"),
                None if end == from => to.to_owned(),
                _ => end.to_owned(),
            };
            *text = text.split('~').map(end).collect::<Vec<_>>().join("~");
        }
        _ => (),
    }
}
