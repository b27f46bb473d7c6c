//! Safety tests in the text of a job.

use super::section::{self, Holds};
use super::toml_text::quoted;
use super::typed::with_point;
use super::{EditError, SafetyTestText, given, lists, typed_text};

const SECTION: &str = "safety";
/// Fields of the section, and what they hold.
const FIELDS: [(&str, Holds); 7] = [
    ("region", Holds::Text),
    ("class", Holds::Text),
    ("use", Holds::Text),
    ("heating_watts", Holds::Number),
    ("cord_metres", Holds::Number),
    ("cord_square_millimetres", Holds::Number),
    ("unearthed_metal", Holds::Flag),
];
const TESTS: [&str; 2] = [SECTION, "tests"];

/// Sets fields; an empty one is removed.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a field that is not known or a number that is none.
pub(super) fn set(text: &str, typed: &[(String, String)]) -> Result<String, EditError> {
    section::set(text, SECTION, &FIELDS, typed)
}

/// Adds a test at the end.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::Form`] if `safety` is no table or its tests are no list.
pub(super) fn add_test(text: &str, test: &SafetyTestText) -> Result<String, EditError> {
    let fields = vec![
        ("test", Some(quoted(test.test.trim()))),
        ("value", Some(quoted(&with_point(test.value.trim())))),
        ("at", typed_text(&test.at)),
        ("date", typed_text(&test.date)),
        ("instrument", typed_text(&test.instrument)),
        ("note", typed_text(&test.note)),
    ];
    lists::push_at(&section::made(text, SECTION)?, &TESTS, &given(fields))
}

/// Removes the test of an index.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuchEntry`].
pub(super) fn remove_test(text: &str, index: usize) -> Result<String, EditError> {
    lists::remove_at(text, &TESTS, "safety tests", index)
}
