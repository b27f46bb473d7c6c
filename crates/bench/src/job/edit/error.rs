//! Why an edit cannot be made.

use super::words::short;
use crate::job::names::mend;

/// Why an edit cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum EditError {
    /// The text is not TOML.
    #[error("line {line} of the file is not in order: {message}; mend it in the text first")]
    NotToml {
        /// Line, counted from 1.
        line: usize,
        /// What the reader of TOML says.
        message: String,
    },
    /// No entry of this number.
    #[error("there is no entry {number} in {list}, which has {count}; read the page again, it may have changed")]
    NoSuchEntry {
        /// The list.
        list: &'static str,
        /// Counted from 1.
        number: usize,
        /// Entries there are.
        count: usize,
    },
    /// No part or setup of this name.
    #[error("there is no {what} '{}'; {mend}", short(name))]
    NoSuch {
        /// `part` or `setup`.
        what: &'static str,
        /// As typed.
        name: String,
        /// The nearest names.
        mend: String,
    },
    /// The name is that of another part.
    #[error("there is a {what} '{}' already; choose another name", short(name))]
    NameTaken {
        /// `part`.
        what: &'static str,
        /// As typed.
        name: String,
    },
    /// The name cannot be one.
    #[error("'{}' cannot be the name of a {what}; write letters and digits, such as M1", short(name))]
    BadName {
        /// `part` or `setup`.
        what: &'static str,
        /// As typed.
        name: String,
    },
    /// Other entries name what is to be removed.
    #[error("the {what} '{}' is still named in {}; remove or change these first", short(name), users.join(", "))]
    InUse {
        /// `part` or `setup`.
        what: &'static str,
        /// Its name.
        name: String,
        /// `reading 3`, `setup cold`, each once.
        users: Vec<String>,
    },
    /// No kind of this name.
    #[error("there is no kind of part '{}'; {mend}", short(kind))]
    UnknownKind {
        /// As typed.
        kind: String,
        /// The nearest names, or all.
        mend: String,
    },
    /// The kind has no such field.
    #[error("a {kind} has no field '{}'; {mend}", short(field))]
    UnknownField {
        /// The kind.
        kind: &'static str,
        /// As typed.
        field: String,
        /// The nearest names, or all.
        mend: String,
    },
    /// The value cannot be the field's.
    #[error("{field}: {words}")]
    BadValue {
        /// The field.
        field: String,
        /// What is wrong and how to write it instead.
        words: String,
    },
    /// Something in the file is not what its name says.
    #[error("'{}' in the file is not {expected}; mend it in the text first", short(name))]
    Form {
        /// Its name.
        name: String,
        /// What it should be.
        expected: &'static str,
    },
    /// The file is written in a form that this edit cannot follow.
    #[error("the file is written in an unusual form that this edit cannot follow; change it in the text")]
    Unusual,
}

impl EditError {
    pub(super) fn no_such(what: &'static str, name: &str, known: &[String]) -> Self {
        let mend = mend(name, known).unwrap_or_else(|| "check the name".into());
        EditError::NoSuch { what, name: name.into(), mend }
    }

    pub(super) fn in_use(what: &'static str, name: &str, users: Vec<String>) -> Self {
        let mut once: Vec<String> = Vec::new();
        for user in users {
            if !once.contains(&user) {
                once.push(user);
            }
        }
        EditError::InUse { what, name: name.into(), users: once }
    }
}
