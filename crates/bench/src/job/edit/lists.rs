//! Adds and removes entries of lists such as `wires`, `readings` and `safety.tests`, in whatever form the list stands.

use super::EditError;
use super::fields::{self, without_entry, without_lines};
use super::source::{Node, Source, after_remarks, comma_in, line_start, spliced};
use super::toml_text::{dotted_key, inline_table, key};
use std::ops::Range;
use toml_edit::{Array, Value};

/// Adds an entry at the end of a list; makes the list if it is not there.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::Form`] if the name stands for something that is no list.
pub(super) fn push(text: &str, list: &str, fields: &[(String, String)]) -> Result<String, EditError> {
    push_at(text, &[list], fields)
}

/// As [`push`], to the list at a path.
///
/// # Errors
/// As [`push`].
pub(super) fn push_at(text: &str, path: &[&str], fields: &[(String, String)]) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let newline = source.newline();
    let splices = match source.place(path).map(|place| place.node) {
        Some(Node::Tables(_)) => {
            let at = source.blocks(path).last().map_or(text.len(), |block| after_remarks(text, block.lines.end));
            let mut block = format!("[[{}]]{newline}", dotted_key(path.iter().copied()));
            for (name, value) in fields {
                block += &format!("{} = {value}{newline}", key(name));
            }
            vec![(at..at, source.set_off(at, &block))]
        }
        _ => return push_value_at(text, path, &inline_table(fields)),
    };
    Ok(spliced(text, splices))
}

/// Adds a value at the end of a list in brackets; makes the list if it is not there.
///
/// # Errors
/// As [`push`].
pub(super) fn push_value(text: &str, list: &str, value: &str) -> Result<String, EditError> {
    push_value_at(text, &[list], value)
}

/// As [`push_value`], to the list at a path.
///
/// # Errors
/// As [`push`].
pub(super) fn push_value_at(text: &str, path: &[&str], value: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let newline = source.newline();
    let splices = match source.place(path).map(|place| place.node) {
        None => {
            let whole = format!("[{newline}  {value},{newline}]");
            match path {
                [list] => vec![source.list_at_top(&format!("{list} = {whole}{newline}"))],
                _ => return fields::set(text, path, &whole),
            }
        }
        Some(Node::Value(Value::Array(array))) => in_brackets(&source, array, value),
        Some(_) => return Err(EditError::Form { name: path.join("."), expected: "a list" }),
    };
    Ok(spliced(text, splices))
}

/// A new last entry on a line of its own.
fn in_brackets(source: &Source<'_>, array: &Array, entry: &str) -> Vec<(Range<usize>, String)> {
    let (text, newline) = (source.text, source.newline());
    let close = array.span().map_or(0, |span| span.end - 1);
    let last = array.iter().last().and_then(Value::span);
    let mut splices = Vec::new();
    let mut indent = "  ";
    if let Some(last) = &last {
        let start = line_start(text, last.start);
        if text[start..last.start].trim().is_empty() && last.start > start {
            indent = &text[start..last.start];
        }
        if comma_in(text, last.end..close).is_none() {
            splices.push((last.end..last.end, ",".to_owned()));
        }
    }
    let free_from = last.map_or_else(|| array.span().map_or(0, |span| span.start + 1), |last| last.end);
    let line = line_start(text, close);
    if line > free_from && text[line..close].trim().is_empty() {
        splices.push((line..line, format!("{indent}{entry},{newline}")));
    } else {
        let blanks = text[free_from..close].len() - text[free_from..close].trim_end_matches([' ', '\t']).len();
        splices.push((close - blanks..close, format!("{newline}{indent}{entry},{newline}")));
    }
    splices
}

/// Removes the entry of an index.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuchEntry`].
pub(super) fn remove(text: &str, list: &'static str, index: usize) -> Result<String, EditError> {
    remove_at(text, &[list], list, index)
}

/// As [`remove`], from the list at a path, by the name that people know it by.
///
/// # Errors
/// As [`remove`].
pub(super) fn remove_at(text: &str, path: &[&str], list: &'static str, index: usize) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let count = source.place(path).and_then(|place| place.entry_count()).unwrap_or(0);
    if index >= count {
        return Err(EditError::NoSuchEntry { list, number: index.saturating_add(1), count });
    }
    Ok(match source.place(path).map(|place| place.node) {
        Some(Node::Value(Value::Array(array))) => {
            let entries: Vec<Range<usize>> = array.iter().filter_map(Value::span).collect();
            without_entry(text, array.span().unwrap_or_default(), &entries, index)
        }
        Some(Node::Tables(_)) => {
            // Tables under an entry have headings of their own.
            let index = index.to_string();
            let blocks = source.blocks(&[path, &[index.as_str()]].concat());
            blocks.iter().rev().fold(text.to_owned(), |text, block| without_lines(&text, block.lines.clone()))
        }
        _ => text.to_owned(),
    })
}

/// # Errors
/// [`EditError::NoSuchEntry`].
pub(super) fn check_index(source: &Source<'_>, list: &'static str, index: usize) -> Result<(), EditError> {
    let count = source.place(&[list]).and_then(|place| place.entry_count()).unwrap_or(0);
    if index < count { Ok(()) } else { Err(EditError::NoSuchEntry { list, number: index.saturating_add(1), count }) }
}
