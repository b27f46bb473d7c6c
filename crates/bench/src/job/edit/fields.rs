//! Sets, removes and renames single fields and whole tables, in whatever form they stand.

use super::EditError;
use super::source::{
    Block, Container, Member, Node, Place, Source, after_remarks, comma_in, line_end, line_start, spliced,
};
use super::toml_text::{dotted_key, inline_table, key};
use std::ops::Range;
use toml_edit::{Key, Value};

/// Sets the field at a path to a value written as TOML. What already says the same is left alone.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::Form`] if something on the way is no table.
pub(super) fn set(text: &str, path: &[&str], value: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    if let Some(place) = source.place(path) {
        let found = match place.node {
            Node::Value(found) => found.span().map(|span| (same(found, value), span)),
            Node::Inline(table) if !table.is_dotted() => table.span().map(|span| (false, span)),
            _ => None,
        };
        return match found {
            Some((true, _)) => Ok(text.to_owned()),
            Some((false, span)) => Ok(spliced(text, vec![(span, value.to_owned())])),
            None => Err(form(path, "a single value")),
        };
    }
    // The longest part of the path that is there takes the rest as a table in braces.
    let depth = (0..path.len()).rev().find(|&depth| source.place(&path[..depth]).is_some()).unwrap_or(0);
    let Some(place) = source.place(&path[..depth]).filter(Place::is_table) else {
        return Err(form(&path[..depth], "a table"));
    };
    let Some((name, inner)) = path[depth..].split_first() else { return Err(form(path, "a single value")) };
    let wrap = |value: String, name: &&str| inline_table(&[((*name).to_owned(), value)]);
    let value = inner.iter().rev().fold(value.to_owned(), wrap);
    Ok(spliced(text, vec![source.insertion(&path[..depth], &place, name, &value)]))
}

/// Sets some fields of the table at a path and removes others.
pub(super) fn update(text: &str, path: &[&str], fields: &[(&str, Option<String>)]) -> Result<String, EditError> {
    fields.iter().try_fold(text.to_owned(), |text, (name, value)| {
        let path = [path, &[*name]].concat();
        match value {
            Some(value) => set(&text, &path, value),
            None => remove(&text, &path),
        }
    })
}

/// Removes what stands at a path, if anything does: a field, or a table with all its headings.
///
/// # Errors
/// [`EditError::NotToml`].
pub(super) fn remove(text: &str, path: &[&str]) -> Result<String, EditError> {
    let mut text = text.to_owned();
    // A table may be written in several places: under headings, and field by field in a container.
    while let Some(rest) = without_one_form(&Source::read(&text)?, path) {
        text = rest;
    }
    Ok(text)
}

/// The text without one of the forms in which something stands at a path; `None` if nothing is left there.
fn without_one_form(source: &Source<'_>, path: &[&str]) -> Option<String> {
    let text = source.text;
    let blocks = source.blocks(path);
    if !blocks.is_empty() {
        let cut = |text: String, block: &Block| without_lines(&text, block.lines.clone());
        return Some(blocks.iter().rev().fold(text.to_owned(), cut));
    }
    let (name, parent) = path.split_last()?;
    let place = source.place(parent).filter(|place| place.is_table() && source.place(path).is_some())?;
    let own = [place.prefix.clone(), vec![(*name).to_owned()]].concat();
    let members = source.members(place.container);
    let index = members.iter().position(|member| member.is_under(&own))?;
    Some(match place.container {
        Container::Lines(_) => {
            let lines = |member: &Member| line_start(text, member.key.start)..line_end(text, member.value.end);
            let fields = members.iter().filter(|member| member.is_under(&own));
            spliced(text, fields.map(|member| (lines(member), String::new())).collect())
        }
        Container::Braces(table) => {
            let entries: Vec<Range<usize>> = members.iter().map(|member| member.key.start..member.value.end).collect();
            without_entry(text, table.span().unwrap_or_default(), &entries, index)
        }
    })
}

/// Changes a name in the table at a path, in every heading and field that carries it.
///
/// # Errors
/// [`EditError::NotToml`].
pub(super) fn rename(text: &str, path: &[&str], from: &str, to: &str) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let mut splices = Vec::new();
    for block in source.blocks(&[path, &[from]].concat()) {
        let heading = &text[block.heading.clone()];
        let brackets = if heading.starts_with("[[") { 2 } else { 1 };
        let names = block.heading.start + brackets..block.heading.end - brackets;
        splices.push((names.clone(), renamed_key(&text[names], path.len(), to)));
    }
    if let Some(place) = source.place(path) {
        let own = [place.prefix.clone(), vec![from.to_owned()]].concat();
        for member in source.members(place.container).into_iter().filter(|member| member.is_under(&own)) {
            splices.push((member.key.clone(), renamed_key(&text[member.key], place.prefix.len(), to)));
        }
    }
    Ok(spliced(text, splices))
}

/// A key with one of its names changed.
fn renamed_key(written: &str, index: usize, to: &str) -> String {
    let Ok(names) = Key::parse(written.trim()) else { return written.to_owned() };
    let name = |(at, name): (usize, &Key)| if at == index { key(to) } else { name.display_repr().into_owned() };
    names.iter().enumerate().map(name).collect::<Vec<_>>().join(".")
}

/// Adds a table to a section: under a heading of its own, or in braces if the section is written so.
///
/// The heading comes after the last one of the first section in `after` that has any, else at the end.
///
/// # Errors
/// [`EditError::NotToml`], [`EditError::Form`].
pub(super) fn add_table(
    text: &str,
    path: &[&str],
    fields: &[(String, String)],
    after: &[&str],
) -> Result<String, EditError> {
    let source = Source::read(text)?;
    let in_braces =
        path.len() > 1 && source.place(&path[..1]).is_some_and(|place| !matches!(place.node, Node::Table(_)));
    if in_braces {
        return set(text, path, &inline_table(fields));
    }
    let at = after
        .iter()
        .find_map(|section| source.blocks(&[section]).last().map(|block| after_remarks(text, block.lines.end)))
        .unwrap_or(text.len());
    let newline = source.newline();
    let mut block = format!("[{}]{newline}", dotted_key(path.iter().copied()));
    for (name, value) in fields {
        block += &format!("{} = {value}{newline}", key(name));
    }
    Ok(spliced(text, vec![(at..at, source.set_off(at, &block))]))
}

impl Source<'_> {
    /// A block of lines to put at the start of a line, with a blank line before it.
    pub(super) fn set_off(&self, at: usize, block: &str) -> String {
        let newline = self.newline();
        let before = &self.text[..at];
        let needs_end = !before.is_empty() && !before.ends_with('\n');
        let is_blank_before = before.lines().next_back().is_none_or(|line| line.trim().is_empty());
        let mut out = String::new();
        if needs_end {
            out += newline;
        }
        if !is_blank_before {
            out += newline;
        }
        out + block
    }

    /// Where a new field of a table goes and what to write there.
    fn insertion(&self, path: &[&str], place: &Place<'_>, name: &str, value: &str) -> (Range<usize>, String) {
        let members = self.members(place.container);
        let written = dotted_key(place.prefix.iter().map(String::as_str).chain([name]));
        let anchor = members.iter().rfind(|member| member.is_under(&place.prefix)).or(members.last());
        match place.container {
            Container::Braces(table) => match anchor {
                Some(member) => (member.value.end..member.value.end, format!(", {written} = {value}")),
                None => {
                    let open = table.span().map_or(0, |span| span.start + 1);
                    let blank = if self.text[open..].starts_with('}') { " " } else { "" };
                    (open..open, format!(" {written} = {value}{blank}"))
                }
            },
            Container::Lines(table) => {
                let newline = self.newline();
                let line = format!("{written} = {value}{newline}");
                let heading = self.heading(table);
                match (anchor, heading) {
                    (Some(member), _) => {
                        let indent = &self.text[line_start(self.text, member.key.start)..member.key.start];
                        self.line_after(member.value.end, &format!("{indent}{line}"))
                    }
                    (None, Some(heading)) => self.line_after(heading.end, &line),
                    (None, None) if path.is_empty() => {
                        let at = self.top();
                        (at..at, line)
                    }
                    // A table that only its inner ones make: it gets a heading of its own.
                    (None, None) => {
                        let at = self.text.len();
                        let block = format!("[{}]{newline}{line}", dotted_key(path.iter().copied()));
                        (at..at, self.set_off(at, &block))
                    }
                }
            }
        }
    }

    /// A whole line after the one that a byte is on.
    fn line_after(&self, at: usize, line: &str) -> (Range<usize>, String) {
        let end = line_end(self.text, at);
        let is_open = !self.text[..end].ends_with('\n');
        (end..end, if is_open { format!("{}{line}", self.newline()) } else { line.to_owned() })
    }

    /// Where a field at the top of the file goes that has none before it: ahead of the first heading and the remarks
    /// right above that.
    fn top(&self) -> usize {
        let Some(first) = self.blocks(&[]).first().map(|block| block.lines.start) else { return self.text.len() };
        let mut at = first;
        while at > 0 {
            let above = line_start(self.text, at - 1);
            if !self.text[above..at].trim_start().starts_with('#') {
                break;
            }
            at = above;
        }
        at
    }

    /// The last field at the top of the file.
    fn last_at_top(&self) -> Option<Member> {
        self.members(Container::Lines(self.root())).pop()
    }

    /// Where a whole list at the top of the file goes, set off by blank lines, and what to write there.
    pub(super) fn list_at_top(&self, list: &str) -> (Range<usize>, String) {
        if let Some(last) = self.last_at_top() {
            let at = line_end(self.text, last.value.end);
            return (at..at, self.set_off(at, list));
        }
        let at = self.top();
        let gap = if self.text[at..].trim().is_empty() { "" } else { self.newline() };
        (at..at, self.set_off(at, list) + gap)
    }
}

/// The text without some whole lines, and without a blank line that they leave doubled.
pub(super) fn without_lines(text: &str, lines: Range<usize>) -> String {
    let (before, after) = (&text[..lines.start], &text[lines.end..]);
    let last_line = before.strip_suffix('\n').map(|rest| &rest[line_start(rest, rest.len())..]);
    let is_blank_before = last_line.is_none_or(|line| line.trim().is_empty());
    let blank_after = after.starts_with('\n').then_some(1).or(after.starts_with("\r\n").then_some(2));
    match (is_blank_before, blank_after) {
        (true, Some(length)) => format!("{before}{}", &after[length..]),
        (true, None) if after.is_empty() && !before.is_empty() => {
            let end = before.len() - 1;
            before[..line_start(before, end)].to_owned()
        }
        _ => format!("{before}{after}"),
    }
}

/// The text without one entry of a list in brackets or of a table in braces, and without its comma.
///
/// `whole` is the list with its brackets, `entries` are all its entries in order.
pub(super) fn without_entry(text: &str, whole: Range<usize>, entries: &[Range<usize>], index: usize) -> String {
    let entry = entries[index].clone();
    let before = if index == 0 { whole.start + 1 } else { entries[index - 1].end }..entry.start;
    let after = entry.end..entries.get(index + 1).map_or(whole.end - 1, |next| next.start);
    let is_blank = |range: Range<usize>| text[range].bytes().all(|byte| byte == b' ' || byte == b'\t');
    let comma = comma_in(text, after.clone());
    let start = line_start(text, entry.start);
    let close_comma = comma.filter(|&comma| is_blank(entry.end..comma));
    let rest = close_comma.map_or(entry.end, |comma| comma + 1);
    let end = line_end(text, rest);
    let tail = text[rest..end].trim();
    let stands_alone = start >= before.start
        && is_blank(start..entry.start)
        && end <= after.end
        && (tail.is_empty() || tail.starts_with('#'));
    let mut cuts = Vec::new();
    if stands_alone {
        cuts.push((start..end, String::new()));
    } else if close_comma.is_some() {
        let blanks = text[rest..].len() - text[rest..].trim_start_matches([' ', '\t']).len();
        cuts.push((entry.start..rest + blanks, String::new()));
    } else if let (None, Some(comma)) = (comma, comma_in(text, before.clone())) {
        let from = if text[comma + 1..entry.start].trim().is_empty() { comma } else { entry.start };
        cuts.push((from..entry.end, String::new()));
    } else {
        let blanks = text[entry.end..].len() - text[entry.end..].trim_start_matches([' ', '\t']).len();
        cuts.push((entry.start..entry.end + blanks, String::new()));
    }
    if let (Some(comma), None) = (comma, close_comma) {
        cuts.push((comma..comma + 1, String::new()));
    }
    spliced(text, cuts)
}

/// Whether a value says what the TOML text `new` says.
fn same(old: &Value, new: &str) -> bool {
    fn equal(a: &Value, b: &Value) -> bool {
        let float = |value: &Value| value.as_float().or(value.as_integer().map(|whole| whole as f64));
        match (a, b) {
            (Value::String(a), Value::String(b)) => a.value() == b.value(),
            (Value::Boolean(a), Value::Boolean(b)) => a.value() == b.value(),
            (Value::Array(a), Value::Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| equal(a, b)),
            _ => float(a).is_some() && float(a) == float(b),
        }
    }
    new.parse::<Value>().is_ok_and(|new| equal(old, &new))
}

fn form(path: &[&str], expected: &'static str) -> EditError {
    let name = if path.is_empty() { "the file".to_owned() } else { path.join(".") };
    EditError::Form { name, expected }
}
