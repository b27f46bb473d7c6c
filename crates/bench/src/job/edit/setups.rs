//! Adds, changes and removes setups; names the unit.

use super::references::{Naming, names, references};
use super::source::Source;
use super::toml_text::{inline_table, list, number, pairs, quoted};
use super::{EditError, fields, parts};

/// A setup as typed.
pub(super) struct SetupFields<'e> {
    pub(super) supply_on: bool,
    pub(super) positions: &'e [(String, String)],
    pub(super) lifted: &'e [String],
    pub(super) jumpers: &'e [(String, String)],
    pub(super) held: &'e [String],
    pub(super) pushed: &'e [String],
    pub(super) winding_celsius: Option<f64>,
}

/// Adds a setup, or makes one that is there say just this; what else it says, such as `hertz`, stays.
pub(super) fn set(text: &str, name: &str, setup: &SetupFields<'_>) -> Result<String, EditError> {
    if setup.winding_celsius.is_some_and(|celsius| !celsius.is_finite()) {
        let words = "the temperature is not a finite number; write one such as 60".to_owned();
        return Err(EditError::BadValue { field: "winding_celsius".into(), words });
    }
    let mut positions: Vec<(String, String)> = Vec::new();
    for (part, position) in setup.positions {
        if positions.iter().any(|(known, _)| known == part) {
            let words = format!("'{part}' is given two positions; keep one");
            return Err(EditError::BadValue { field: "positions".into(), words });
        }
        positions.push((part.clone(), quoted(position)));
    }
    let texts = |items: &[String]| (!items.is_empty()).then(|| list(items));
    let supply = Some(quoted(if setup.supply_on { "on" } else { "off" }));
    let plain = [
        ("lifted", texts(setup.lifted)),
        ("jumpers", (!setup.jumpers.is_empty()).then(|| pairs(setup.jumpers))),
        ("held", texts(setup.held)),
        ("pushed", texts(setup.pushed)),
        ("winding_celsius", setup.winding_celsius.map(number)),
    ];
    if Source::read(text)?.place(&["setups", name]).is_none() {
        if name.trim().is_empty() || name.contains(char::is_control) {
            return Err(EditError::BadName { what: "setup", name: name.into() });
        }
        let positions = (!positions.is_empty()).then(|| inline_table(&positions));
        let all = [("supply", supply), ("positions", positions)].into_iter().chain(plain);
        let lines: Vec<_> = all.filter_map(|(name, value)| Some((name.to_owned(), value?))).collect();
        return fields::add_table(text, &["setups", name], &lines, &["setups", "parts", "unit"]);
    }
    let path = ["setups", name];
    let text = fields::update(text, &path, &[("supply", supply)])?;
    let place = ["setups", name, "positions"];
    let text = if positions.is_empty() {
        fields::remove(&text, &place)?
    } else {
        parts::set_table(&text, &place, &positions)?
    };
    fields::update(&text, &path, &plain)
}

/// Removes a setup in which nothing was read or noticed.
pub(super) fn remove(text: &str, name: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    if source.place(&["setups", name]).is_none() {
        return Err(EditError::no_such("setup", name, &names(&source, "setups")));
    }
    let users: Vec<String> = references(&source)
        .into_iter()
        .filter(|reference| reference.naming == Naming::Setup && reference.name == name)
        .map(|reference| reference.entry.to_string())
        .collect();
    if !users.is_empty() {
        return Err(EditError::in_use("setup", name, users));
    }
    fields::remove(text, &["setups", name])
}

/// Names the unit and sets or removes its note.
pub(super) fn set_unit(text: &str, name: &str, note: Option<&str>) -> Result<String, EditError> {
    let note = note.filter(|note| !note.trim().is_empty()).map(quoted);
    let source = Source::read(text)?;
    if source.place(&["unit"]).is_some() {
        return fields::update(text, &["unit"], &[("name", Some(quoted(name))), ("note", note)]);
    }
    let mut lines = vec![("name".to_owned(), quoted(name))];
    lines.extend(note.map(|note| ("note".to_owned(), note)));
    fields::add_table(text, &["unit"], &lines, &[])
}
