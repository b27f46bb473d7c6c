//! From bytes to a text, from a text to a document, from a document to entries; what is wrong is noted where it stands.
//!
//! Job files and other files of ours are read alike.

use super::load::LARGEST_FILE_BYTES;
use super::names;
use super::problem::{Collector, Problem, Problems};
use super::wording::{self, Words};
use serde::Deserialize;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue, ValueDeserializer};

/// The text of a file; `file` is what to call it.
///
/// # Errors
/// The problem of a file that is too large or no text in UTF-8.
pub fn text_of<'b>(file: &str, bytes: &'b [u8]) -> Result<&'b str, Problems> {
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        let mut collector = Collector::new(file, "", 0);
        let megabytes = LARGEST_FILE_BYTES / 1_000_000;
        collector
            .error(0..0, format!("the file is larger than {megabytes} MB"))
            .expected(format!("a job file of at most {megabytes} MB"))
            .mend("check that this is the file you meant; long logs do not belong in a job file");
        return Err(collector.sorted());
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let sound = String::from_utf8_lossy(&bytes[..error.valid_up_to()]).into_owned();
        let mut collector = Collector::new(file, &sound, 0);
        collector
            .error(sound.len()..sound.len(), "the text is not UTF-8 from here on")
            .expected("text in UTF-8")
            .mend("save it as UTF-8 in the editor; check that it is a text file");
        collector.sorted()
    })
}

/// What is wrong with a text without a single entry.
pub fn nothing_in(text: &str) -> &'static str {
    if text.trim().is_empty() { "the file is empty" } else { "there is nothing in the file but comments" }
}

impl<'t> Collector<'t> {
    /// The document in a text, as far as it is TOML; nothing if there is no entry in it and nothing wrong either.
    pub fn document(&mut self, text: &'t str) -> Option<DeTable<'t>> {
        let (document, errors) = DeTable::parse_recoverable(text);
        let document = document.into_inner();
        if document.is_empty() && errors.is_empty() {
            return None;
        }
        self.syntax_problems(text, errors);
        Some(document)
    }

    /// Notes what is no TOML, one problem per line: the first slip in a line mostly causes the others.
    fn syntax_problems(&mut self, text: &str, mut errors: Vec<toml::de::Error>) {
        let start = |error: &toml::de::Error| error.span().map_or(0, |span| span.start);
        errors.sort_by_key(start);
        let mut last_line = 0;
        for error in errors {
            let span = error.span().unwrap_or(0..0);
            if self.line(span.start) <= last_line || self.is_enough() {
                continue;
            }
            let line = self.bytes_of_line(span.start);
            last_line = self.line(span.start);
            if error.message().contains("duplicate key") {
                let name = text.get(span.clone()).unwrap_or_default().trim();
                self.error(span, format!("the name '{name}' is given twice"))
                    .expected("each name once")
                    .mend("rename one of them, or remove the copy");
                if text[line.clone()].trim_start().starts_with('[') {
                    // What stands under the second heading would be mixed with what stands under the first.
                    let section_end = text[line.end..].find("\n[").map_or(text.len(), |next| line.end + next);
                    last_line = self.line(section_end);
                    self.hide(line.end..section_end);
                }
            } else {
                let (place, words) = match wording::without_quotes(text, line.clone(), span.start) {
                    Some((place, words)) => (place, words),
                    None => (span, wording::of_syntax(error.message())),
                };
                put_words(self.error(place, ""), words);
            }
            self.hide(line);
        }
    }

    /// Notes sections that are not among the known ones.
    pub fn unknown_sections(&mut self, document: &DeTable<'t>, known: &[&str]) {
        for (key, _) in document.iter() {
            if !known.contains(&key.get_ref().as_ref()) {
                let names: Vec<String> = known.iter().map(|&name| name.to_owned()).collect();
                let problem = self.error(key.span(), format!("unknown section '{}'", key.get_ref()));
                problem.expected(format!("one of {}", known.join(", "))).mend = names::mend(key.get_ref(), &names);
            }
        }
    }

    /// Reads one entry; a problem is noted where it stands.
    pub fn entry<T: for<'de> Deserialize<'de>>(&mut self, value: Spanned<DeValue<'t>>) -> Option<T> {
        let span = value.span();
        T::deserialize(ValueDeserializer::from(value))
            .map_err(|error| {
                let place = error.span().filter(|place| !place.is_empty()).unwrap_or(span);
                self.entry_problem(place, &error);
            })
            .ok()
    }

    pub(super) fn entry_problem(&mut self, place: Range<usize>, error: &toml::de::Error) {
        put_words(self.error(place, ""), wording::of_value(error.message()));
    }

    pub(super) fn too_many(&mut self, span: Range<usize>, count: usize, what: &str, most: usize) {
        let problem = self.error(span, format!("{count} {what}"));
        problem.expected(format!("at most {most}")).mend("leave out what has no part in the trouble");
    }

    /// Reads the entries of an array one by one, so that one bad entry does not hide the others.
    pub fn array<T: for<'de> Deserialize<'de>>(
        &mut self,
        value: Option<Spanned<DeValue<'t>>>,
        name: &str,
        most: usize,
    ) -> Vec<(T, Range<usize>)> {
        let Some(value) = value else { return Vec::new() };
        let span = value.span();
        let DeValue::Array(array) = value.into_inner() else {
            self.error(span, format!("'{name}' is not a list")).expected(format!("{name} = [ {{ ... }}, ... ]"));
            return Vec::new();
        };
        if array.len() > most {
            self.too_many(span, array.len(), name, most);
            return Vec::new();
        }
        let mut entries = Vec::new();
        for value in array {
            let span = value.span();
            if self.is_enough() {
                break;
            }
            if let Some(entry) = self.entry(value) {
                entries.push((entry, span));
            }
        }
        entries
    }
}

fn put_words(problem: &mut Problem, (message, expected, mend): Words) {
    problem.message = message;
    problem.expected = expected;
    problem.mend = mend;
}
