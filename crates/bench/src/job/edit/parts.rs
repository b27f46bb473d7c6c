//! Adds, changes, removes and renames parts.

use super::references::{Entry, Naming, names, references, setups_with_position, wire_labels};
use super::source::{Node, Source, spliced};
use super::toml_text::{inline_table, quoted};
use super::typed::{field_toml, line_toml, table};
use super::{EditError, fields, lists};
use crate::job::names::mend;
use crate::kinds::KIND_NAMES;
use crate::kinds::catalogue::{CatalogueEntry, TableLine, find_kind};
use toml_edit::{Array, Value};

/// Adds a part, or changes the given fields of one that is there; an empty value removes its field.
pub(super) fn set(text: &str, name: &str, kind: &str, typed: &[(String, String)]) -> Result<String, EditError> {
    let entry = find_kind(kind).ok_or_else(|| EditError::UnknownKind {
        kind: kind.into(),
        mend: mend(kind, &KIND_NAMES.map(String::from)).unwrap_or_default(),
    })?;
    let mut set = Vec::new();
    for (field, value) in typed {
        set.push((field.as_str(), field_value(entry, field, value)?));
    }
    let text = if Source::read(text)?.place(&["parts", name]).is_some() {
        change_kind(text, name, entry)?
    } else {
        check_name(name)?;
        fields::add_table(text, &["parts", name], &[("kind".to_owned(), quoted(kind))], &["parts", "unit"])?
    };
    set.into_iter().try_fold(text, |text, (field, value)| {
        let path: Vec<&str> = ["parts", name].into_iter().chain(split_field(field)).collect();
        match value {
            Typed::Absent => fields::remove(&text, &path),
            Typed::Value(value) => fields::set(&text, &path, &value),
            Typed::Table(table) => set_table(&text, &path, &table),
        }
    })
}

/// What was typed for a field, as TOML.
enum Typed {
    Absent,
    Value(String),
    Table(Vec<(String, String)>),
}

fn field_value(entry: &CatalogueEntry, field: &str, typed: &str) -> Result<Typed, EditError> {
    if typed.trim().is_empty() {
        return Ok(Typed::Absent);
    }
    let bad = |words| EditError::BadValue { field: field.into(), words };
    let line_of = |name: &str| entry.find_field(name).and_then(|known| known.line);
    match (entry.find_field(field), split_field(field)[..].first()) {
        (Some(known), _) => match known.line {
            Some(line) => table(line, typed).map(Typed::Table).map_err(bad),
            None => field_toml(known.holds, typed).map(Typed::Value).map_err(bad),
        },
        // One line of a table: `positions.high`.
        (None, Some(&table)) if field != table && line_of(table).is_some() => {
            line_toml(line_of(table).unwrap_or(TableLine::Contacts), typed).map(Typed::Value).map_err(bad)
        }
        _ => {
            let known: Vec<String> = entry.fields.iter().map(|field| field.name.clone()).collect();
            let mend = mend(field, &known).unwrap_or_else(|| format!("there is {}", known.join(", ")));
            Err(EditError::UnknownField { kind: entry.kind, field: field.into(), mend })
        }
    }
}

/// `plate.volts` in two; what comes after the first point may hold more of them.
fn split_field(field: &str) -> Vec<&str> {
    field.splitn(2, '.').collect()
}

/// Makes a part another kind; fields that the new kind does not have go, since they would be refused.
fn change_kind(text: &str, name: &str, entry: &CatalogueEntry) -> Result<String, EditError> {
    let (has_kind, own) = {
        let source = Source::read(text)?;
        let kind =
            source.place(&["parts", name, "kind"]).and_then(|place| place.text().map(|(kind, _)| kind.to_owned()));
        (kind.as_deref() == Some(entry.kind), source.place(&["parts", name]).map(|place| place.names()))
    };
    if has_kind {
        return Ok(text.to_owned());
    }
    let is_known = |own: &str| own == "kind" || entry.fields.iter().any(|field| split_field(&field.name)[0] == own);
    let text = own
        .unwrap_or_default()
        .iter()
        .filter(|own| !is_known(own))
        .try_fold(text.to_owned(), |text, own| fields::remove(&text, &["parts", name, own]))?;
    fields::set(&text, &["parts", name, "kind"], &quoted(entry.kind))
}

/// Makes the table at a path say just what `table` says, leaving alone what it says already.
pub(super) fn set_table(text: &str, path: &[&str], table: &[(String, String)]) -> Result<String, EditError> {
    let own = match Source::read(text)?.place(path) {
        Some(place) if place.is_table() => place.names(),
        _ => return fields::set(text, path, &inline_table(table)),
    };
    let gone = own.iter().filter(|name| !table.iter().any(|(known, _)| known == *name));
    // New ones first: a table that is written field by field is gone with its last field.
    let text = table.iter().try_fold(text.to_owned(), |text, (name, value)| {
        fields::set(&text, &[path, &[name.as_str()]].concat(), value)
    })?;
    gone.into_iter().try_fold(text, |text, name| fields::remove(&text, &[path, &[name.as_str()]].concat()))
}

/// Removes a part and its wires.
pub(super) fn remove(text: &str, name: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    check_part(&source, name)?;
    let references = references(&source);
    let mut wires: Vec<usize> = Vec::new();
    for reference in references.iter().filter(|reference| reference.names_part(name)) {
        if let Entry::Wire(index) = reference.entry {
            wires.push(index);
        }
    }
    wires.dedup();
    let labels = wire_labels(&source);
    let mut users: Vec<String> = references
        .iter()
        .filter(|reference| !matches!(reference.entry, Entry::Wire(_)))
        .filter(|reference| match (reference.naming, labels.get(&reference.name)) {
            (Naming::Conductor, Some(wire)) => wires.contains(wire),
            _ => reference.names_part(name),
        })
        .map(|reference| reference.entry.to_string())
        .collect();
    users.extend(setups_with_position(&source, name).into_iter().map(|setup| Entry::Setup(setup).to_string()));
    if !users.is_empty() {
        return Err(EditError::in_use("part", name, users));
    }
    let text = wires.iter().rev().try_fold(text.to_owned(), |text, &index| lists::remove(&text, "wires", index))?;
    fields::remove(&text, &["parts", name])
}

/// Gives a part another name wherever the file has it.
pub(super) fn rename(text: &str, from: &str, to: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    check_part(&source, from)?;
    if from == to {
        return Ok(text.to_owned());
    }
    check_name(to)?;
    if source.place(&["parts", to]).is_some() {
        return Err(EditError::NameTaken { what: "part", name: to.into() });
    }
    let labels = wire_labels(&source);
    let splices = references(&source)
        .into_iter()
        .filter(|reference| reference.names_part(from))
        .filter(|reference| reference.naming != Naming::Conductor || !labels.contains_key(&reference.name))
        .map(|reference| (reference.span.clone(), quoted(&reference.renamed(from, to))))
        .collect();
    let renamed = spliced(text, splices);
    let renamed = setups_with_position(&source, from)
        .iter()
        .try_fold(renamed, |text, setup| fields::rename(&text, &["setups", setup, "positions"], from, to))?;
    fields::rename(&renamed, &["parts"], from, to)
}

fn check_part(source: &Source<'_>, name: &str) -> Result<(), EditError> {
    if source.place(&["parts", name]).is_some() {
        return Ok(());
    }
    Err(EditError::no_such("part", name, &names(source, "parts")))
}

/// Names of parts have no points and no blanks, and `frame` is taken.
fn check_name(name: &str) -> Result<(), EditError> {
    if name == "frame" {
        return Err(EditError::NameTaken { what: "part", name: name.into() });
    }
    if name.is_empty() || name.contains(|c: char| c == '.' || c == '~' || c.is_whitespace() || c.is_control()) {
        return Err(EditError::BadName { what: "part", name: name.into() });
    }
    Ok(())
}

/// A part's kind and fields as they would be typed, for a form; empty text for a value of the wrong form.
///
/// # Errors
/// [`EditError::NotToml`], [`EditError::NoSuch`].
pub fn part_fields(text: &str, name: &str) -> Result<(String, Vec<(String, String)>), EditError> {
    let text = super::without_mark(text).1;
    let source = Source::read(text)?;
    check_part(&source, name)?;
    let at = |field: &str| {
        let path: Vec<&str> = ["parts", name].into_iter().chain(split_field(field)).collect();
        source.place(&path)
    };
    let kind = at("kind").and_then(|place| place.text().map(|(kind, _)| kind.to_owned())).unwrap_or_default();
    let mut typed = Vec::new();
    for field in find_kind(&kind).map(|entry| entry.fields.as_slice()).unwrap_or_default() {
        let Some(place) = at(&field.name) else { continue };
        let value = match place.node {
            Node::Value(value) => typed_value(value),
            _ => place.names().iter().map(|position| typed_line(&source, name, &field.name, position)).collect(),
        };
        typed.push((field.name.clone(), value));
    }
    Ok((kind, typed))
}

fn typed_value(value: &Value) -> String {
    match value {
        Value::String(text) => text.value().clone(),
        Value::Array(names) => names.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(", "),
        number => number.to_string().trim().to_owned(),
    }
}

/// `high: line to high` or `secondary: a 12 b`, and a newline.
fn typed_line(source: &Source<'_>, part: &str, table: &str, name: &str) -> String {
    let row = match source.place(&["parts", part, table, name]).map(|place| place.node) {
        Some(Node::Value(value)) => typed_row(value),
        _ => String::new(),
    };
    format!("{name}: {}\n", if row.is_empty() { "none" } else { &row })
}

fn typed_row(value: &Value) -> String {
    let Some(items) = value.as_array() else { return typed_value(value) };
    let pair = |pair: &Array| pair.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(" to ");
    let pairs: Vec<String> = items.iter().filter_map(Value::as_array).map(pair).collect();
    match pairs[..] {
        [] => items.iter().map(typed_value).collect::<Vec<_>>().join(" "),
        _ => pairs.join(", "),
    }
}
