//! A SQLite file as a [`Connection`].
//!
//! The file is in WAL mode with `synchronous=FULL`: a commit that returned is in the log and the log is on the disk
//! (<https://sqlite.org/pragma.html#pragma_synchronous>). A file is ours when it says so in its header
//! (`PRAGMA application_id`); that is looked at before anything could change it.

use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::types::{ToSql, ToSqlOutput, ValueRef};
use rusqlite::{OpenFlags, OptionalExtension, TransactionBehavior, params_from_iter};

use crate::connection::{Connection, Row, Statement, Value};
use crate::{Trouble, migrate, sqlite_trouble};

/// "FWBN" in ASCII: marks a SQLite file as ours. Ours alone, not from any list.
const APPLICATION_ID: i64 = 0x4657_424E;

/// How long to wait for another program that holds the file.
const PATIENCE: Duration = Duration::from_secs(5);

/// How long to wait before trying again to open a file that another program is making just now.
const PAUSE: Duration = Duration::from_millis(20);

/// Files up to this size are checked for damage when they are opened; a larger one would keep its user waiting.
const MOST_CHECKED_BYTES: u64 = 64 << 20;

/// An open SQLite database.
pub(crate) struct SqliteConnection {
    connection: rusqlite::Connection,
    path: Option<PathBuf>,
}

impl SqliteConnection {
    /// A new database that is gone when dropped.
    pub(crate) fn in_memory() -> Result<Self, Trouble> {
        let connection = rusqlite::Connection::open_in_memory().map_err(|error| sqlite_trouble::of(&error, None))?;
        Self { connection, path: None }.prepared()
    }

    /// Opens a file, or makes it in an existing folder.
    pub(crate) fn open(path: &Path) -> Result<Self, Trouble> {
        if path.file_name().is_none() || (path.exists() && !path.is_file()) {
            return Err(Trouble::NotAFile);
        }
        // With a folder in front, no name is one of SQLite's special ones (":memory:").
        let path = if path.is_relative() { Path::new(".").join(path) } else { path.to_owned() };
        if !path.parent().is_some_and(Path::is_dir) {
            return Err(Trouble::FolderMissing);
        }
        let begun = Instant::now();
        loop {
            match Self::open_once(&path) {
                // Two programs may make the same file at the same time; the slower one fails in its migrations, or
                // while changing to WAL, which SQLite does not wait for.
                Err(Trouble::Locked | Trouble::Unexpected(_)) if begun.elapsed() < PATIENCE => {
                    std::thread::sleep(PAUSE)
                }
                result => return result,
            }
        }
    }

    fn open_once(path: &Path) -> Result<Self, Trouble> {
        let native = |error| sqlite_trouble::of(&error, Some(path));
        let is_new = !std::fs::metadata(path).is_ok_and(|file| file.len() > 0);
        if !is_new && !says_it_is_ours(path) && application_id(path)? != APPLICATION_ID {
            return Err(Trouble::Foreign);
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = rusqlite::Connection::open_with_flags(path, flags).map_err(native)?;
        if connection.is_readonly("main").map_err(native)? {
            return Err(Trouble::ReadOnly);
        }
        Self { connection, path: Some(path.to_owned()) }.prepared()
    }

    /// Settings, the mark, the check for damage, the tables.
    fn prepared(mut self) -> Result<Self, Trouble> {
        self.connection.busy_timeout(PATIENCE).map_err(|error| self.trouble(&error))?;
        self.mark_as_ours()?;
        self.check()?;
        self.settings().map_err(|error| self.trouble(&error))?;
        self.migrate()?;
        Ok(self)
    }

    /// Marks a new file; the mark is in the file itself, not in a log, before there is anything else.
    fn mark_as_ours(&mut self) -> Result<(), Trouble> {
        let path = self.path.clone();
        let native = |error| sqlite_trouble::of(&error, path.as_deref());
        let id = |connection: &rusqlite::Connection| {
            connection.query_row("PRAGMA application_id", [], |row| row.get::<_, i64>(0)).map_err(native)
        };
        if id(&self.connection)? == APPLICATION_ID {
            return Ok(());
        }
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(native)?;
        let tables: i64 =
            transaction.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0)).map_err(native)?;
        match (id(&transaction)?, tables) {
            (APPLICATION_ID, _) => Ok(()),
            (0, 0) => {
                transaction.pragma_update(None, "application_id", APPLICATION_ID).map_err(native)?;
                transaction.commit().map_err(native)
            }
            _ => Err(Trouble::Foreign),
        }
    }

    /// Looks for damage in a file that is not too large for that.
    fn check(&self) -> Result<(), Trouble> {
        let large = |path: &PathBuf| std::fs::metadata(path).is_ok_and(|file| file.len() > MOST_CHECKED_BYTES);
        if self.path.as_ref().is_some_and(large) {
            return Ok(());
        }
        let found: String = self
            .connection
            .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
            .map_err(|error| self.trouble(&error))?;
        if found == "ok" { Ok(()) } else { Err(Trouble::Damaged(found.replace('\n', " "))) }
    }

    fn settings(&self) -> rusqlite::Result<()> {
        // Answers with the mode that it is in then; SQLite is as safe, only slower, where a file system has no WAL.
        self.connection.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
        for (name, value) in [
            ("synchronous", "FULL"),
            // Apple's fsync leaves data in the drive's cache.
            ("fullfsync", "ON"),
            ("foreign_keys", "ON"),
            // Nothing in a file that came from elsewhere is trusted to run.
            ("trusted_schema", "OFF"),
            ("cell_size_check", "ON"),
        ] {
            self.connection.pragma_update(None, name, value)?;
        }
        Ok(())
    }

    fn migrate(&mut self) -> Result<(), Trouble> {
        if migrate::is_behind(self.newest_migration()?)? {
            self.connection.set_transaction_behavior(TransactionBehavior::Immediate);
            let path = self.path.clone();
            migrate::runner()
                .run(&mut self.connection)
                .map_err(|error| migrate::trouble(&error, |error| sqlite_trouble::of(error, path.as_deref())))?;
        }
        Ok(())
    }

    /// Number of the newest migration in this file; `None` when it has no tables yet.
    fn newest_migration(&self) -> Result<Option<i64>, Trouble> {
        let native = |error| self.trouble(&error);
        let history = self
            .connection
            .query_row("SELECT 1 FROM sqlite_schema WHERE name = ?1", [migrate::HISTORY_TABLE], |_| Ok(()))
            .optional()
            .map_err(native)?;
        if history.is_none() {
            return Ok(None);
        }
        let newest = format!("SELECT max(version) FROM {}", migrate::HISTORY_TABLE);
        self.connection.query_row(&newest, [], |row| row.get(0)).map_err(native)
    }

    fn trouble(&self, error: &rusqlite::Error) -> Trouble {
        sqlite_trouble::of(error, self.path.as_deref())
    }

    fn read_native(&self, statement: &Statement) -> rusqlite::Result<Vec<Row>> {
        let mut prepared = self.connection.prepare_cached(&statement.sql)?;
        let columns = prepared.column_count();
        let mut rows = prepared.query(params_from_iter(&statement.values))?;
        let mut result = Vec::new();
        while let Some(row) = rows.next()? {
            let value = |column| match row.get_ref(column)? {
                ValueRef::Integer(number) => Ok(Value::Integer(number)),
                _ => row.get(column).map(Value::Text),
            };
            result.push(Row::new((0..columns).map(value).collect::<rusqlite::Result<_>>()?));
        }
        Ok(result)
    }

    fn write_native(&mut self, statements: &[Statement]) -> rusqlite::Result<bool> {
        // Taking the write lock at once: a transaction that begins as a reader could not wait for it later.
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        for (index, statement) in statements.iter().enumerate() {
            let changed = transaction.prepare_cached(&statement.sql)?.execute(params_from_iter(&statement.values))?;
            if index == 0 && changed == 0 {
                return Ok(false);
            }
        }
        transaction.commit()?;
        Ok(true)
    }
}

impl Connection for SqliteConnection {
    fn read(&mut self, statement: &Statement) -> Result<Vec<Row>, Trouble> {
        self.read_native(statement).map_err(|error| self.trouble(&error))
    }

    fn write(&mut self, statements: &[Statement]) -> Result<bool, Trouble> {
        self.write_native(statements).map_err(|error| self.trouble(&error))
    }
}

impl ToSql for Value {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(ToSqlOutput::Borrowed(match self {
            Value::Text(text) => ValueRef::Text(text.as_bytes()),
            Value::Integer(number) => ValueRef::Integer(*number),
        }))
    }
}

/// Whether the header of a file has our mark (<https://sqlite.org/fileformat2.html#the_database_header>), whatever state
/// the rest is in: after a kill within a checkpoint, file and log make sense only together.
fn says_it_is_ours(path: &Path) -> bool {
    let mut header = [0; 72];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut header));
    let mark = u32::try_from(APPLICATION_ID).map(u32::to_be_bytes);
    read.is_ok() && header.starts_with(b"SQLite format 3\0") && mark.is_ok_and(|mark| header[68..] == mark)
}

/// Whose file this is, found out without locks, without a log beside it, without any change
/// (<https://sqlite.org/uri.html#uriimmutable>).
fn application_id(path: &Path) -> Result<i64, Trouble> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let native = |error| sqlite_trouble::of(&error, Some(path));
    let connection = rusqlite::Connection::open_with_flags(immutable_uri(path), flags).map_err(native)?;
    let number = |pragma: &str| connection.query_row(pragma, [], |row| row.get::<_, i64>(0)).map_err(native);
    // SQLite takes a file that is shorter than any database for an empty one.
    if number("PRAGMA page_count")? == 0 {
        return Err(Trouble::Damaged("too short for a database".to_owned()));
    }
    number("PRAGMA application_id")
}

fn immutable_uri(path: &Path) -> String {
    let mut uri = String::from("file:");
    if path.is_absolute() {
        uri.push_str(if cfg!(windows) { "///" } else { "//" });
    }
    for &byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'\\' if cfg!(windows) => uri.push('/'),
            b'/' | b'.' | b'-' | b'_' => uri.push(char::from(byte)),
            _ if byte.is_ascii_alphanumeric() => uri.push(char::from(byte)),
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri.push_str("?immutable=1");
    uri
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sql_store::SqlStore;
    use crate::{Change, NewJob, Store, StoreError};
    use jiff::Timestamp;

    #[test]
    fn commits_are_synced_and_keys_checked() {
        let folder = tempfile::tempdir().unwrap();
        let opened = SqliteConnection::open(&folder.path().join("bench.sqlite")).unwrap();
        let pragma = |name: &str| -> String {
            opened
                .connection
                .query_row(&format!("SELECT CAST({name} AS TEXT) FROM pragma_{name}"), [], |row| row.get(0))
                .unwrap()
        };
        assert_eq!(pragma("journal_mode"), "wal");
        // 2 is FULL: https://sqlite.org/pragma.html#pragma_synchronous
        assert_eq!(pragma("synchronous"), "2");
        assert_eq!(pragma("foreign_keys"), "1");
        let timeout: i64 = opened.connection.query_row("PRAGMA busy_timeout", [], |row| row.get(0)).unwrap();
        assert_eq!(timeout, 5_000);
    }

    /// SQLite's own limit on pages gives the same answer as a full disk, SQLITE_FULL.
    #[test]
    fn a_full_disk_is_told_and_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("bench.sqlite");
        let opened = SqliteConnection::open(&path).unwrap();
        let pages: i64 = opened.connection.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
        opened.connection.query_row(&format!("PRAGMA max_page_count = {}", pages + 40), [], |_| Ok(())).unwrap();
        let store = SqlStore::new(opened, path.display().to_string());

        let [title, parts, who, what] = ["Fan", "", "A", "begun"].map(str::to_owned);
        let at = Timestamp::UNIX_EPOCH;
        let text = "x".repeat(10_000);
        let new = NewJob { title, parts, text, who, what, at };
        let job = store.create(&new).unwrap();
        let change = Change {
            title: new.title.clone(),
            parts: String::new(),
            text: new.text.clone(),
            who: new.who.clone(),
            what: "more".to_owned(),
            at,
        };
        let mut head = 1;
        let error = loop {
            match store.append(&job, head, &change) {
                Ok(number) => head = number,
                Err(error) => break error,
            }
            assert!(head < 100, "the disk was never full");
        };
        assert!(matches!(error, StoreError::Place { trouble: Trouble::Full, .. }), "{error}");
        assert!(error.to_string().contains("free some room"));
        assert!(head > 1);

        // What was acknowledged is there, what was not is not; and the file is sound.
        assert_eq!(store.head(&job).unwrap().number, head);
        assert_eq!(store.history(&job).unwrap().len() as i64, head);
        drop(store);
        let store = SqlStore::new(SqliteConnection::open(&path).unwrap(), String::new());
        assert_eq!(store.append(&job, head, &change).unwrap(), head + 1);
    }

    #[test]
    fn odd_names_are_found_again() {
        let folder = tempfile::tempdir().unwrap();
        for name in
            ["a b.sqlite", "a?mode=ro", "a#b", "100%25.sqlite", "Lüfter 风扇.sqlite", ":memory:", "a&immutable=0"]
        {
            let path = folder.path().join(name);
            drop(SqliteConnection::open(&path).unwrap());
            assert!(path.is_file(), "{name}");
            assert_eq!(application_id(&path).unwrap(), APPLICATION_ID, "{name}");
        }
    }
}
