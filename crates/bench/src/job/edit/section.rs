//! Fields of a section that a form sets as a whole.

use super::source::Source;
use super::toml_text::list;
use super::typed::field_toml;
use super::{EditError, fields};
use crate::kinds::catalogue::FieldType;

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// Text.
    Text,
    /// A number.
    Number,
    /// True, or not given.
    Flag,
    /// Texts, typed with commas between.
    Texts,
}

/// Sets fields of a section, which is made at the end if there is none; an empty field is removed.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::BadValue`] for a field that is not known or a value that it cannot hold.
pub(super) fn set(
    text: &str,
    section: &str,
    known: &[(&str, Holds)],
    typed: &[(String, String)],
) -> Result<String, EditError> {
    let mut values = Vec::new();
    for (name, typed) in typed {
        let bad = |words: String| EditError::BadValue { field: name.clone(), words };
        let typed = typed.trim();
        let not_here = || bad(format!("'{typed}' cannot be set here"));
        let holds = known.iter().find(|(field, _)| field == name).map(|&(_, holds)| holds).ok_or_else(not_here)?;
        let value = match (holds, typed) {
            (_, "") => None,
            (Holds::Text, _) => Some(field_toml(FieldType::Text, typed).map_err(bad)?),
            (Holds::Number, _) => Some(field_toml(FieldType::Number, typed).map_err(bad)?),
            (Holds::Flag, "true" | "false") => Some(typed.to_owned()),
            (Holds::Flag, _) => return Err(not_here()),
            (Holds::Texts, _) => {
                let texts: Vec<String> =
                    typed.split(',').map(|text| text.trim().to_owned()).filter(|text| !text.is_empty()).collect();
                (!texts.is_empty()).then(|| list(&texts))
            }
        };
        values.push((name.as_str(), value));
    }
    fields::update(&made(text, section)?, &[section], &values)
}

/// The text with a section of this name, at the end if it had none.
pub(super) fn made(text: &str, section: &str) -> Result<String, EditError> {
    match Source::read(text)?.place(&[section]) {
        Some(_) => Ok(text.to_owned()),
        None => fields::add_table(text, &[section], &[], &[]),
    }
}
