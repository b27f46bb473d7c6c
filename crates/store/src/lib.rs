//! Jobs kept safe: every revision of every job, photos, search, settings and sessions, in SQLite or in PostgreSQL.
//!
//! A job is one text (a job file). The store never reads that text: it knows nothing of parts, physics or screens. What
//! search needs of it (title, words) is handed in beside it.
//!
//! - [`Place`] says where; [`open`] gives a [`Store`] there; everything else is a method of [`Store`].
//! - A revision is never changed. [`Store::append`] names the revision it was made from; when another one came first, it
//!   is a [`StoreError::Conflict`] and nothing is written.
//! - A write that returned `Ok` is on the disk: SQLite syncs its log at every commit, PostgreSQL commits synchronously.
//! - One schema (`migrations/`) and one text of every statement serve both databases (`sql_store.rs`); what differs is
//!   behind one small trait (`connection.rs`).
//!
//! All methods block: call (and drop) a store on a thread that may block, never on one that drives async tasks.

mod connection;
mod error;
mod id;
mod job;
mod migrate;
mod photo;
mod place;
mod postgresql;
mod postgresql_trouble;
mod rows;
mod search;
mod sql_store;
mod sqlite;
mod sqlite_trouble;
mod store;

pub use error::{StoreError, Trouble};
pub use id::{JobId, NotAnId, PhotoId};
pub use job::{Change, Entry, NewJob, Revision, Summary};
pub use photo::{LONGEST_SIDE, MOST_PIXELS, MOST_UPLOAD_BYTES, Photo, PhotoEntry, PhotoError};
pub use place::Place;
pub use search::MOST_WORDS;
pub use store::Store;

use connection::Connection;
use sql_store::SqlStore;

/// Opens the store at `place`, making or updating its tables where needed.
///
/// A new SQLite file is made in an existing folder; a PostgreSQL database must exist, its tables are made in a schema of
/// their own (`faultwright`).
///
/// # Errors
/// [`StoreError::Place`] with what is wrong there. A file or database that is not ours is never changed.
pub fn open(place: &Place) -> Result<Box<dyn Store>, StoreError> {
    fn boxed(connection: impl Connection + 'static, place: &Place) -> Box<dyn Store> {
        Box::new(SqlStore::new(connection, place.to_string()))
    }
    let opened = match place {
        Place::Memory => sqlite::SqliteConnection::in_memory().map(|connection| boxed(connection, place)),
        Place::File(path) => sqlite::SqliteConnection::open(path).map(|connection| boxed(connection, place)),
        Place::PostgreSql(url) => postgresql::PostgresConnection::open(url).map(|connection| boxed(connection, place)),
    };
    opened.map_err(|trouble| StoreError::Place { place: place.to_string(), trouble })
}
