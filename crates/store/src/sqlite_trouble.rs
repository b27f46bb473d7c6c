//! What SQLite's result codes (<https://sqlite.org/rescode.html>) mean to a person.

use std::fs::OpenOptions;
use std::io::ErrorKind;
use std::path::Path;

use rusqlite::{Error, ErrorCode};

use crate::Trouble;

/// The trouble behind an error of SQLite with the file at `path` (`None`: in memory).
pub(crate) fn of(error: &Error, path: Option<&Path>) -> Trouble {
    let detail = error.to_string();
    match error {
        Error::SqliteFailure(failure, _) => match (failure.code, path) {
            (ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt, _) => Trouble::Damaged(detail),
            (ErrorCode::DiskFull, _) => Trouble::Full,
            (ErrorCode::SystemIoFailure, _) => Trouble::Disk(detail),
            (ErrorCode::ReadOnly, _) => Trouble::ReadOnly,
            (ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked | ErrorCode::FileLockingProtocolFailed, _) => {
                Trouble::Locked
            }
            (ErrorCode::CannotOpen | ErrorCode::PermissionDenied, Some(path)) => cannot_open(path, detail),
            (ErrorCode::CannotOpen | ErrorCode::PermissionDenied, None) => Trouble::CannotOpen(detail),
            _ => Trouble::Unexpected(detail),
        },
        // A column holds what no statement of ours ever put there.
        Error::FromSqlConversionFailure(..)
        | Error::IntegralValueOutOfRange(..)
        | Error::Utf8Error(..)
        | Error::InvalidColumnType(..) => Trouble::Damaged(detail),
        _ => Trouble::Unexpected(detail),
    }
}

/// SQLite says only that it could not open the file; the system says why.
fn cannot_open(path: &Path, detail: String) -> Trouble {
    if path.is_dir() {
        return Trouble::NotAFile;
    }
    let attempt = if path.exists() {
        OpenOptions::new().read(true).open(path)
    } else {
        let attempt = OpenOptions::new().write(true).create_new(true).open(path);
        if attempt.is_ok() {
            // Nobody misses the empty file that proved that one can be made.
            let _ = std::fs::remove_file(path);
        }
        attempt
    };
    match attempt {
        Err(error) if matches!(error.kind(), ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem) => {
            if path.exists() { Trouble::CannotOpen(error.to_string()) } else { Trouble::ReadOnly }
        }
        Err(error) => Trouble::CannotOpen(error.to_string()),
        // The file itself opens: it is the log beside it that cannot be made.
        Ok(_) if path.exists() => Trouble::ReadOnly,
        Ok(_) => Trouble::CannotOpen(detail),
    }
}
