//! Safety tests in the text of a job.

use super::source::Source;
use super::toml_text::quoted;
use super::typed::{field_toml, with_point};
use super::{EditError, SafetyTestText, fields, given, lists, typed_text};
use crate::kinds::catalogue::FieldType;

/// Fields of the section, and what they hold.
const FIELDS: [(&str, FieldType); 6] = [
    ("region", FieldType::Text),
    ("class", FieldType::Text),
    ("use", FieldType::Text),
    ("heating_watts", FieldType::Number),
    ("cord_metres", FieldType::Number),
    ("cord_square_millimetres", FieldType::Number),
];
/// The one that is true or not given.
const UNEARTHED_METAL: &str = "unearthed_metal";
const TESTS: [&str; 2] = ["safety", "tests"];

/// Sets fields; an empty one is removed.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a field that is not known or a number that is none.
pub(super) fn set(text: &str, typed: &[(String, String)]) -> Result<String, EditError> {
    let mut values = Vec::new();
    for (name, typed) in typed {
        let bad = |words: String| EditError::BadValue { field: name.clone(), words };
        let typed = typed.trim();
        let holds = FIELDS.iter().find(|(field, _)| field == name).map(|&(_, holds)| holds);
        let value = match (holds, typed) {
            (_, "") if holds.is_some() || name == UNEARTHED_METAL => None,
            (Some(holds), _) => Some(field_toml(holds, typed).map_err(bad)?),
            (None, "true" | "false") if name == UNEARTHED_METAL => Some(typed.to_owned()),
            (None, _) => return Err(bad(format!("'{typed}' cannot be set here"))),
        };
        values.push((name.as_str(), value));
    }
    fields::update(&with_section(text)?, &["safety"], &values)
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
    lists::push_at(&with_section(text)?, &TESTS, &given(fields))
}

/// Removes the test of an index.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuchEntry`].
pub(super) fn remove_test(text: &str, index: usize) -> Result<String, EditError> {
    lists::remove_at(text, &TESTS, "safety tests", index)
}

/// The text with a section `safety`, at the end if it had none.
fn with_section(text: &str) -> Result<String, EditError> {
    match Source::read(text)?.place(&["safety"]) {
        Some(_) => Ok(text.to_owned()),
        None => fields::add_table(text, &["safety"], &[], &[]),
    }
}
