//! The tables, made step by step by the numbered files in `migrations/`.

use std::error::Error;

use refinery::error::Kind;

use crate::Trouble;

/// Where the steps that were done are written down.
pub(crate) const HISTORY_TABLE: &str = "refinery_schema_history";

mod embedded {
    refinery::embed_migrations!("migrations");
}

/// All steps known here, to be run together or not at all.
pub(crate) fn runner() -> refinery::Runner {
    embedded::migrations::runner().set_grouped(true)
}

/// Number of the newest step known here.
fn newest_known() -> i64 {
    runner().get_migrations().iter().map(|migration| i64::from(migration.version())).max().unwrap_or(0)
}

/// Whether steps are missing in a database whose newest step is `found` (`None`: no tables yet).
pub(crate) fn is_behind(found: Option<i64>) -> Result<bool, Trouble> {
    let known = newest_known();
    match found {
        Some(found) if found > known => Err(Trouble::Newer { found, known }),
        Some(found) => Ok(found < known),
        None => Ok(true),
    }
}

/// What a failed step means; `native` reads the database's own error.
pub(crate) fn trouble<E: Error + 'static>(error: &refinery::Error, native: impl Fn(&E) -> Trouble) -> Trouble {
    match error.kind() {
        Kind::Connection(_, source) => match source.downcast_ref::<E>() {
            Some(source) => native(source),
            None => Trouble::Unexpected(error.to_string()),
        },
        _ => Trouble::Damaged(error.to_string()),
    }
}
