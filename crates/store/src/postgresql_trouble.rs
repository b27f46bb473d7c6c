//! What PostgreSQL's error codes (<https://www.postgresql.org/docs/current/errcodes-appendix.html>) mean to a person.

use std::error::Error as _;
use std::io;

use postgres::Error;
use postgres::error::SqlState;

use crate::Trouble;

/// The trouble behind an error of a server that was reached.
pub(crate) fn of(error: &Error) -> Trouble {
    let detail = with_causes(error);
    let Some(code) = error.code() else {
        return match is_lost(error) {
            true => Trouble::ConnectionLost(detail),
            false => Trouble::Unexpected(detail),
        };
    };
    match *code {
        SqlState::INVALID_PASSWORD | SqlState::INVALID_AUTHORIZATION_SPECIFICATION => Trouble::WrongPassword(detail),
        SqlState::INVALID_CATALOG_NAME => Trouble::NoSuchDatabase(detail),
        SqlState::INSUFFICIENT_PRIVILEGE => Trouble::NotAllowed(detail),
        SqlState::READ_ONLY_SQL_TRANSACTION => Trouble::ReadOnly,
        SqlState::DISK_FULL => Trouble::Full,
        SqlState::IO_ERROR => Trouble::Disk(detail),
        SqlState::DATA_CORRUPTED | SqlState::INDEX_CORRUPTED => Trouble::Damaged(detail),
        SqlState::LOCK_NOT_AVAILABLE | SqlState::T_R_DEADLOCK_DETECTED => Trouble::Locked,
        _ if is_lost(error) => Trouble::ConnectionLost(detail),
        _ => Trouble::Unexpected(detail),
    }
}

/// The trouble behind a connection that did not come about.
pub(crate) fn of_connecting(error: &Error) -> Trouble {
    let detail = with_causes(error);
    match error.code() {
        Some(&SqlState::CANNOT_CONNECT_NOW | &SqlState::TOO_MANY_CONNECTIONS) => Trouble::Unreachable(detail),
        Some(_) => match of(error) {
            Trouble::ConnectionLost(detail) => Trouble::Unreachable(detail),
            trouble => trouble,
        },
        // The client itself says so when the server asks for a password and the URL has none; it has no code for that.
        None if detail.contains("password") => Trouble::WrongPassword(detail),
        None => Trouble::Unreachable(detail),
    }
}

/// Whether it was the connection that failed, not the statement.
pub(crate) fn is_lost(error: &Error) -> bool {
    match error.code() {
        // Class 08 is "connection exception".
        Some(code) => {
            matches!(*code, SqlState::ADMIN_SHUTDOWN | SqlState::CRASH_SHUTDOWN | SqlState::CANNOT_CONNECT_NOW)
                || code.code().starts_with("08")
        }
        None => error.is_closed() || error.source().is_some_and(|cause| cause.is::<io::Error>()),
    }
}

/// An error with all its causes on one line; the first alone says "db error".
pub(crate) fn with_causes(error: &Error) -> String {
    let mut text = match error.as_db_error() {
        Some(error) => return error.message().to_owned(),
        None => error.to_string(),
    };
    let mut cause = error.source();
    while let Some(error) = cause {
        text.push_str(": ");
        text.push_str(&error.to_string());
        cause = error.source();
    }
    text
}
