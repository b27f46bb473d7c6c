//! Adds and removes entries of `wires`, `readings` and `symptoms`, in whatever form the list stands.

use super::EditError;
use super::fields::{without_entry, without_lines};
use super::source::{Node, Source, after_remarks, comma_in, line_start, spliced};
use super::toml_text::{inline_table, key};
use std::ops::Range;
use toml_edit::{Array, Value};

/// Adds an entry at the end of a list; makes the list if it is not there.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::Form`] if the name stands for something that is no list.
pub(super) fn push(text: &str, list: &str, fields: &[(String, String)]) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let newline = source.newline();
    let splices = match source.place(&[list]).map(|place| place.node) {
        Some(Node::Tables(_)) => {
            let at = source.blocks(&[list]).last().map_or(text.len(), |block| after_remarks(text, block.lines.end));
            let mut block = format!("[[{list}]]{newline}");
            for (name, value) in fields {
                block += &format!("{} = {value}{newline}", key(name));
            }
            vec![(at..at, source.set_off(at, &block))]
        }
        _ => return push_value(text, list, &inline_table(fields)),
    };
    Ok(spliced(text, splices))
}

/// Adds a value at the end of a list in brackets; makes the list if it is not there.
///
/// # Errors
/// As [`push`].
pub(super) fn push_value(text: &str, list: &str, value: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let newline = source.newline();
    let splices = match source.place(&[list]).map(|place| place.node) {
        None => vec![source.list_at_top(&format!("{list} = [{newline}  {value},{newline}]{newline}"))],
        Some(Node::Value(Value::Array(array))) => in_brackets(&source, array, value),
        Some(_) => return Err(EditError::Form { name: list.into(), expected: "a list" }),
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
    let source = Source::read(text)?;
    check_index(&source, list, index)?;
    Ok(match source.place(&[list]).map(|place| place.node) {
        Some(Node::Value(Value::Array(array))) => {
            let entries: Vec<Range<usize>> = array.iter().filter_map(Value::span).collect();
            without_entry(text, array.span().unwrap_or_default(), &entries, index)
        }
        Some(Node::Tables(_)) => {
            // Tables under an entry have headings of their own.
            let blocks = source.blocks(&[list, &index.to_string()]);
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
