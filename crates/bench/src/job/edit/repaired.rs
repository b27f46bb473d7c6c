//! What was done, and what was read afterwards, in the text of a job.

use super::source::Source;
use super::toml_text::{list, quoted};
use super::typed::field_toml;
use super::{EditError, Fields, fields, given, lists};
use crate::kinds::catalogue::FieldType;

/// Fields of the section, and what they hold; `faults` is a list with commas between.
const FIELDS: [(&str, FieldType); 6] = [
    ("work", FieldType::Text),
    ("date", FieldType::Text),
    ("by", FieldType::Text),
    ("customer", FieldType::Text),
    ("minutes_with_fault", FieldType::Number),
    ("insulation_class", FieldType::Text),
];
const FAULTS: &str = "faults";
const READINGS: [&str; 2] = ["repaired", "readings"];

/// Sets fields; an empty one is removed. Without any work noted there is no section to write into.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a field that is not known, a number that is none, or no work.
pub(super) fn set(text: &str, typed: &[(String, String)]) -> Result<String, EditError> {
    let mut values = Vec::new();
    for (name, typed) in typed {
        let bad = |words: String| EditError::BadValue { field: name.clone(), words };
        let typed = typed.trim();
        let holds = FIELDS.iter().find(|(field, _)| field == name).map(|&(_, holds)| holds);
        let value = match holds {
            None if name == FAULTS => {
                let labels: Vec<String> =
                    typed.split(',').map(|label| label.trim().to_owned()).filter(|label| !label.is_empty()).collect();
                (!labels.is_empty()).then(|| list(&labels))
            }
            None => return Err(bad(format!("'{typed}' cannot be set here"))),
            Some(_) if typed.is_empty() && name == "work" => {
                return Err(bad("say in a few words what was done".into()));
            }
            Some(_) if typed.is_empty() => None,
            Some(holds) => Some(field_toml(holds, typed).map_err(bad)?),
        };
        values.push((name.as_str(), value));
    }
    fields::update(&with_section(text)?, &["repaired"], &values)
}

/// Adds a reading taken after the repair.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] while nothing is noted as done.
pub(super) fn add_reading(text: &str, reading: Fields) -> Result<String, EditError> {
    if Source::read(text)?.place(&["repaired"]).is_none() {
        let words = "first note what was done: a reading after a repair needs a repair".into();
        return Err(EditError::BadValue { field: "work".into(), words });
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

/// The text with a section `repaired`, at the end if it had none.
fn with_section(text: &str) -> Result<String, EditError> {
    match Source::read(text)?.place(&["repaired"]) {
        Some(_) => Ok(text.to_owned()),
        None => fields::add_table(text, &["repaired"], &[("work".to_owned(), quoted(""))], &[]),
    }
}
