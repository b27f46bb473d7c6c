//! What was done, and what was read afterwards, in the text of a job.

use super::section::{self, Holds};
use super::source::Source;
use super::{EditError, Fields, given, lists};

const SECTION: &str = "repaired";
/// The field without which there is no repair.
const WORK: &str = "work";
/// Fields of the section, and what they hold.
const FIELDS: [(&str, Holds); 8] = [
    (WORK, Holds::Text),
    ("faults", Holds::Texts),
    ("date", Holds::Text),
    ("by", Holds::Text),
    ("customer", Holds::Text),
    ("minutes_with_fault", Holds::Number),
    ("insulation_class", Holds::Text),
    ("looked_at", Holds::Texts),
];
const READINGS: [&str; 2] = [SECTION, "readings"];

/// Sets fields; an empty one is removed.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a field that is not known, a number that is none, or no work.
pub(super) fn set(text: &str, typed: &[(String, String)]) -> Result<String, EditError> {
    let noted = typed.iter().find(|(name, _)| name == WORK).map(|(_, work)| !work.trim().is_empty());
    if !noted.unwrap_or(is_noted(text)?) {
        return Err(nothing_done("say in a few words what was done"));
    }
    section::set(text, SECTION, &FIELDS, typed)
}

/// Adds a reading taken after the repair.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] while nothing is noted as done.
pub(super) fn add_reading(text: &str, reading: Fields) -> Result<String, EditError> {
    if !is_noted(text)? {
        return Err(nothing_done("first note what was done: a reading after a repair needs a repair"));
    }
    lists::push_at(text, &READINGS, &given(reading))
}

/// Removes the reading of an index.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuchEntry`].
pub(super) fn remove_reading(text: &str, index: usize) -> Result<String, EditError> {
    lists::remove_at(text, &READINGS, "readings after the repair", index)
}

/// Whether anything is noted as done.
///
/// # Errors
/// [`EditError::NotToml`].
pub(super) fn is_noted(text: &str) -> Result<bool, EditError> {
    Ok(Source::read(text)?.place(&[SECTION]).is_some())
}

/// Why there is no proof without a repair.
pub(super) fn nothing_done(words: &str) -> EditError {
    EditError::BadValue { field: WORK.into(), words: words.into() }
}
