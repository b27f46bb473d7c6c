//! The text of a job file, and where everything stands in it.
//!
//! The parser of `toml_edit` says where each value and heading lies; edits cut and paste there and nowhere else, so
//! whatever they do not concern stays byte for byte, line endings too.

use super::EditError;
use std::ops::Range;
use toml_edit::{ArrayOfTables, Document, InlineTable, Item, Table, Value};

/// A text that is TOML.
pub(super) struct Source<'t> {
    pub(super) text: &'t str,
    document: Document<&'t str>,
}

/// What fields are written in.
#[derive(Clone, Copy)]
pub(super) enum Container<'d> {
    /// Lines of their own: under a heading, or at the top of the file.
    Lines(&'d Table),
    /// `{ ... }`.
    Braces(&'d InlineTable),
}

/// What stands at a path.
#[derive(Clone, Copy)]
pub(super) enum Node<'d> {
    Table(&'d Table),
    Inline(&'d InlineTable),
    Tables(&'d ArrayOfTables),
    Value(&'d Value),
}

/// What stands at a path, and in which container its fields are written.
pub(super) struct Place<'d> {
    pub(super) node: Node<'d>,
    pub(super) container: Container<'d>,
    /// Names that its fields carry in the container, as in `plate.volts = 230`.
    pub(super) prefix: Vec<String>,
}

/// A field as written in its container.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Member {
    /// Names of its key, without those of the container.
    pub(super) path: Vec<String>,
    /// Its key in the text.
    pub(super) key: Range<usize>,
    /// Its value in the text.
    pub(super) value: Range<usize>,
}

impl Member {
    pub(super) fn is_under(&self, path: &[String]) -> bool {
        self.path.starts_with(path)
    }
}

/// A heading with the lines under it.
#[derive(Debug, Clone)]
pub(super) struct Block {
    /// The heading with its brackets.
    pub(super) heading: Range<usize>,
    /// From the start of the heading's line to the end of the last field's line.
    pub(super) lines: Range<usize>,
}

impl<'t> Source<'t> {
    /// # Errors
    /// [`EditError::NotToml`].
    pub(super) fn read(text: &'t str) -> Result<Self, EditError> {
        if text.starts_with('\u{feff}') {
            return Err(EditError::NotToml { line: 1, message: "there are two marks ahead of the text".into() });
        }
        match Document::parse(text) {
            Ok(document) => Ok(Source { text, document }),
            Err(error) => {
                let at = error.span().map_or(0, |span| span.start.min(text.len()));
                let line = text.bytes().take(at).filter(|&byte| byte == b'\n').count() + 1;
                let message = error.message().lines().next().unwrap_or_default().replace('`', "'");
                Err(EditError::NotToml { line, message })
            }
        }
    }

    pub(super) fn root(&self) -> &Table {
        self.document.as_table()
    }

    /// What stands at a path; in lists the names are numbers, counted from 0.
    pub(super) fn place(&self, path: &[&str]) -> Option<Place<'_>> {
        let root = self.root();
        let start = Place { node: Node::Table(root), container: Container::Lines(root), prefix: Vec::new() };
        path.iter().try_fold(start, |place, name| place.step(name))
    }

    /// The fields in a container, in the order of the text.
    pub(super) fn members(&self, container: Container<'_>) -> Vec<Member> {
        let mut members = Vec::new();
        match container {
            Container::Lines(table) => members_of_table(table, &mut Vec::new(), &mut members),
            Container::Braces(table) => members_of_inline(table, &mut Vec::new(), &mut members),
        }
        members.sort_by_key(|member| member.value.start);
        let mut free_from = match container {
            Container::Braces(table) => table.span().map_or(0, |span| span.start + 1),
            Container::Lines(_) => 0,
        };
        for member in &mut members {
            // So far the key is its last name only; the dotted ones before it stand on the same line.
            let from = match container {
                Container::Lines(_) => line_start(self.text, member.key.start),
                Container::Braces(_) => free_from,
            };
            member.key.start = skip_gap(self.text, from).min(member.key.start);
            free_from = member.value.end;
        }
        members
    }

    /// All headings at a path and under it, with their lines.
    pub(super) fn blocks(&self, path: &[&str]) -> Vec<Block> {
        let mut blocks = Vec::new();
        match self.place(path).map(|place| place.node) {
            Some(Node::Table(table)) => self.blocks_of_table(table, &mut blocks),
            Some(Node::Tables(tables)) => tables.iter().for_each(|table| self.blocks_of_table(table, &mut blocks)),
            _ => (),
        }
        blocks.sort_by_key(|block| block.heading.start);
        blocks
    }

    fn blocks_of_table(&self, table: &Table, blocks: &mut Vec<Block>) {
        if let Some(heading) = self.heading(table) {
            let last = self.members(Container::Lines(table)).last().map_or(heading.end, |member| member.value.end);
            let lines = line_start(self.text, heading.start)..line_end(self.text, last);
            blocks.push(Block { heading, lines });
        }
        for (_, item) in table.iter() {
            match item {
                Item::Table(table) => self.blocks_of_table(table, blocks),
                Item::ArrayOfTables(tables) => tables.iter().for_each(|table| self.blocks_of_table(table, blocks)),
                _ => (),
            }
        }
    }

    /// The heading of a table with its brackets; a table that only dotted names make has none.
    pub(super) fn heading(&self, table: &Table) -> Option<Range<usize>> {
        table.span().filter(|span| self.text[span.clone()].starts_with('['))
    }

    /// What ends a line in this text.
    pub(super) fn newline(&self) -> &'static str {
        match self.text.find('\n') {
            Some(at) if self.text[..at].ends_with('\r') => "\r\n",
            _ => "\n",
        }
    }
}

impl<'d> Place<'d> {
    pub(super) fn step(self, name: &str) -> Option<Place<'d>> {
        match self.node {
            Node::Table(table) => match table.get(name)? {
                Item::None => None,
                Item::Value(value) => Some(self.value(value, name)),
                Item::Table(table) if table.is_dotted() => {
                    let prefix = [self.prefix, vec![name.to_owned()]].concat();
                    Some(Place { node: Node::Table(table), container: self.container, prefix })
                }
                Item::Table(table) => Some(Place::of_lines(table)),
                Item::ArrayOfTables(tables) => {
                    Some(Place { node: Node::Tables(tables), container: self.container, prefix: Vec::new() })
                }
            },
            Node::Inline(table) => {
                let value = table.get(name)?;
                Some(self.value(value, name))
            }
            Node::Tables(tables) => tables.get(name.parse().ok()?).map(Place::of_lines),
            Node::Value(Value::Array(array)) => {
                let value = array.get(name.parse().ok()?)?;
                Some(self.value(value, name))
            }
            Node::Value(_) => None,
        }
    }

    fn of_lines(table: &'d Table) -> Self {
        Place { node: Node::Table(table), container: Container::Lines(table), prefix: Vec::new() }
    }

    fn value(self, value: &'d Value, name: &str) -> Self {
        let prefix = [self.prefix, vec![name.to_owned()]].concat();
        match value {
            Value::InlineTable(table) if table.is_dotted() => {
                Place { node: Node::Inline(table), container: self.container, prefix }
            }
            Value::InlineTable(table) => {
                Place { node: Node::Inline(table), container: Container::Braces(table), prefix: Vec::new() }
            }
            other => Place { node: Node::Value(other), container: self.container, prefix },
        }
    }

    pub(super) fn is_table(&self) -> bool {
        matches!(self.node, Node::Table(_) | Node::Inline(_))
    }

    /// Names of its fields.
    pub(super) fn names(&self) -> Vec<String> {
        match self.node {
            Node::Table(table) => table.iter().map(|(name, _)| name.to_owned()).collect(),
            Node::Inline(table) => table.iter().map(|(name, _)| name.to_owned()).collect(),
            _ => Vec::new(),
        }
    }

    /// Number of entries, if it is a list.
    pub(super) fn entry_count(&self) -> Option<usize> {
        match self.node {
            Node::Tables(tables) => Some(tables.len()),
            Node::Value(Value::Array(array)) => Some(array.len()),
            _ => None,
        }
    }

    /// The text it is, and where.
    pub(super) fn text(&self) -> Option<(&'d str, Range<usize>)> {
        match self.node {
            Node::Value(value) => Some((value.as_str()?, value.span()?)),
            _ => None,
        }
    }
}

fn members_of_table(table: &Table, path: &mut Vec<String>, members: &mut Vec<Member>) {
    for (name, item) in table.iter() {
        path.push(name.to_owned());
        match item {
            Item::Value(value) => push_member(path, table.key(name), value, members),
            Item::Table(table) if table.is_dotted() => members_of_table(table, path, members),
            _ => (),
        }
        path.pop();
    }
}

fn members_of_inline(table: &InlineTable, path: &mut Vec<String>, members: &mut Vec<Member>) {
    for (name, value) in table.iter() {
        path.push(name.to_owned());
        match value {
            Value::InlineTable(table) if table.is_dotted() => members_of_inline(table, path, members),
            value => push_member(path, table.key(name), value, members),
        }
        path.pop();
    }
}

fn push_member(path: &[String], key: Option<&toml_edit::Key>, value: &Value, members: &mut Vec<Member>) {
    if let (Some(key), Some(value)) = (key.and_then(toml_edit::Key::span), value.span()) {
        members.push(Member { path: path.to_vec(), key, value });
    }
}

/// Where the line of a byte starts.
pub(super) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |newline| newline + 1)
}

/// Where the line of a byte ends, its newline included.
pub(super) fn line_end(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |newline| at + newline + 1)
}

/// The end of the remarks that stand right under a line and lead up to nothing else; `at` is the line's end.
pub(super) fn after_remarks(text: &str, at: usize) -> usize {
    let mut end = at;
    while text[end..].trim_start_matches([' ', '\t']).starts_with('#') {
        end = line_end(text, end);
    }
    if text[end..].lines().next().is_none_or(|line| line.trim().is_empty()) { end } else { at }
}

/// The first byte from here on that is neither blank nor comma nor comment.
pub(super) fn skip_gap(text: &str, mut at: usize) -> usize {
    while let Some(c) = text[at..].chars().next() {
        match c {
            '#' => at = line_end(text, at),
            ' ' | '\t' | '\r' | '\n' | ',' => at += 1,
            _ => break,
        }
    }
    at
}

/// The comma in a gap between two entries, if there is one.
pub(super) fn comma_in(text: &str, gap: Range<usize>) -> Option<usize> {
    let mut at = gap.start;
    while at < gap.end {
        match text.as_bytes()[at] {
            b',' => return Some(at),
            b'#' => at = line_end(text, at),
            _ => at += 1,
        }
    }
    None
}

/// The text with some places replaced.
pub(super) fn spliced(text: &str, mut splices: Vec<(Range<usize>, String)>) -> String {
    splices.sort_by_key(|(range, _)| range.start);
    let (mut out, mut done) = (String::with_capacity(text.len() + 128), 0);
    for (range, new) in splices {
        // Two splices in one place would be a slip of ours; the first one stands.
        if range.start >= done {
            out.push_str(&text[done..range.start]);
            out.push_str(&new);
            done = range.end;
        }
    }
    out.push_str(&text[done..]);
    out
}
