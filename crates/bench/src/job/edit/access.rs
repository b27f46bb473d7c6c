//! Refusals and open housings in the text of a job.

use super::source::Source;
use super::toml_text::quoted;
use super::{EditError, fields, lists};

/// Adds a refusal; the text stays as it is if it is there.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::Form`] if `refused` is no list.
pub(super) fn refuse(text: &str, what: &str) -> Result<String, EditError> {
    match position(text, what)? {
        Some(_) => Ok(text.to_owned()),
        None => lists::push_value(text, "refused", &quoted(what)),
    }
}

/// Takes a refusal back.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuch`].
pub(super) fn allow(text: &str, what: &str) -> Result<String, EditError> {
    match position(text, what)? {
        Some(index) => lists::remove(text, "refused", index),
        None => Err(EditError::no_such("refusal", what, &texts(&Source::read(text)?, "refused", None))),
    }
}

/// Says whether a housing stands open.
///
/// # Errors
/// [`EditError::NotToml`]; [`EditError::NoSuch`].
pub(super) fn set_open(text: &str, name: &str, open: bool) -> Result<String, EditError> {
    let names = texts(&Source::read(text)?, "housings", Some("name"));
    let Some(index) = names.iter().position(|known| known == name) else {
        return Err(EditError::no_such("housing", name, &names));
    };
    fields::update(text, &["housings", &index.to_string()], &[("open", Some(open.to_string()))])
}

fn position(text: &str, what: &str) -> Result<Option<usize>, EditError> {
    Ok(texts(&Source::read(text)?, "refused", None).iter().position(|known| known == what))
}

/// The texts of a list, or of one field of its entries.
fn texts(source: &Source<'_>, list: &str, field: Option<&str>) -> Vec<String> {
    let count = source.place(&[list]).and_then(|place| place.entry_count()).unwrap_or(0);
    (0..count)
        .map(|index| {
            let index = index.to_string();
            let path: Vec<&str> = [list, &index].into_iter().chain(field).collect();
            source.place(&path).and_then(|place| place.text().map(|(text, _)| text.to_owned())).unwrap_or_default()
        })
        .collect()
}
