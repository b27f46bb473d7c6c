//! The store in SQL: one text of every statement, for all databases.

use std::sync::{Mutex, PoisonError};

use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::connection::{Connection, Row, Statement, Value};
use crate::{Change, Entry, JobId, NewJob, Photo, PhotoEntry, PhotoId, Revision, Store, StoreError, Summary, Trouble};
use crate::{rows, search};

/// How many jobs one statement asks for; PostgreSQL takes 65535 values, SQLite 32766.
const JOBS_AT_ONCE: usize = 500;

/// A store on one connection, which threads use in turn.
pub(crate) struct SqlStore<C> {
    connection: Mutex<C>,
    /// As a person names it, for errors.
    place: String,
}

/// A statement with its values in order.
macro_rules! statement {
    ($sql:expr $(, $value:expr)* $(,)?) => {
        Statement::new($sql, [$(Value::from($value)),*])
    };
}

impl<C: Connection> SqlStore<C> {
    pub(crate) fn new(connection: C, place: String) -> Self {
        Self { connection: Mutex::new(connection), place }
    }

    fn trouble(&self, trouble: Trouble) -> StoreError {
        StoreError::Place { place: self.place.clone(), trouble }
    }

    /// Rows of a statement, each made into a `T`.
    fn read<T>(
        &self,
        statement: &Statement,
        of_row: impl Fn(&mut Row) -> Result<T, Trouble>,
    ) -> Result<Vec<T>, StoreError> {
        let mut connection = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        let rows = connection.read(statement).map_err(|trouble| self.trouble(trouble))?;
        drop(connection);
        rows.into_iter()
            .map(|mut row| of_row(&mut row))
            .collect::<Result<_, _>>()
            .map_err(|trouble| self.trouble(trouble))
    }

    /// As [`Self::read`], for a statement that gives one row or none.
    fn read_one<T>(
        &self,
        statement: &Statement,
        of_row: impl Fn(&mut Row) -> Result<T, Trouble>,
    ) -> Result<Option<T>, StoreError> {
        Ok(self.read(statement, of_row)?.pop())
    }

    /// See [`Connection::write`].
    fn write(&self, statements: &[Statement]) -> Result<bool, StoreError> {
        let mut connection = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        connection.write(statements).map_err(|trouble| self.trouble(trouble))
    }

    fn head_number(&self, job: &JobId) -> Result<i64, StoreError> {
        self.read_one(&statement!("SELECT head FROM jobs WHERE id = ?1", job.as_str()), Row::integer)?
            .ok_or_else(|| StoreError::NoSuchJob(job.clone()))
    }

    fn set_removed(&self, job: &JobId, removed: i64) -> Result<(), StoreError> {
        match self.write(&[statement!("UPDATE jobs SET removed = ?1 WHERE id = ?2", removed, job.as_str())])? {
            true => Ok(()),
            false => Err(StoreError::NoSuchJob(job.clone())),
        }
    }
}

impl<C: Connection> Store for SqlStore<C> {
    fn create(&self, new: &NewJob) -> Result<JobId, StoreError> {
        no_nul([
            ("title", &new.title),
            ("list of parts", &new.parts),
            ("job file", &new.text),
            ("name", &new.who),
            ("note of what was done", &new.what),
        ])?;
        let job = JobId::new();
        let at = new.at.as_microsecond();
        self.write(&[
            statement!(
                "INSERT INTO jobs (id, head, title, parts, title_words, findings, findings_words, findings_revision, \
                 who, created, changed, removed) VALUES (?1, 1, ?2, ?3, ?4, '', '', 0, ?5, ?6, ?6, 0)",
                job.as_str(),
                new.title.as_str(),
                new.parts.as_str(),
                title_words(&new.title, &new.parts),
                new.who.as_str(),
                at,
            ),
            insert_revision(&job, 1, [&new.title, &new.text, &new.who, &new.what], at),
        ])?;
        Ok(job)
    }

    fn append(&self, job: &JobId, base: i64, change: &Change) -> Result<i64, StoreError> {
        no_nul([
            ("title", &change.title),
            ("list of parts", &change.parts),
            ("job file", &change.text),
            ("name", &change.who),
            ("note of what was done", &change.what),
        ])?;
        let number = base.saturating_add(1);
        let at = change.at.as_microsecond();
        // Of all that append to the same base, the first one's update makes those of the others find no row.
        let written = self.write(&[
            statement!(
                "UPDATE jobs SET head = ?1, title = ?2, parts = ?3, title_words = ?4, who = ?5, changed = ?6 \
                 WHERE id = ?7 AND head = ?8",
                number,
                change.title.as_str(),
                change.parts.as_str(),
                title_words(&change.title, &change.parts),
                change.who.as_str(),
                at,
                job.as_str(),
                base,
            ),
            insert_revision(job, number, [&change.title, &change.text, &change.who, &change.what], at),
        ])?;
        if written { Ok(number) } else { Err(StoreError::Conflict { head: self.head_number(job)? }) }
    }

    fn head(&self, job: &JobId) -> Result<Revision, StoreError> {
        let newest = statement!(
            "SELECT r.number, r.title, r.text, r.who, r.what, r.at FROM jobs j \
             JOIN revisions r ON r.job = j.id AND r.number = j.head WHERE j.id = ?1",
            job.as_str(),
        );
        self.read_one(&newest, |row| rows::revision(row, job))?.ok_or_else(|| StoreError::NoSuchJob(job.clone()))
    }

    fn revision(&self, job: &JobId, number: i64) -> Result<Revision, StoreError> {
        let wanted = statement!(
            "SELECT number, title, text, who, what, at FROM revisions WHERE job = ?1 AND number = ?2",
            job.as_str(),
            number,
        );
        match self.read_one(&wanted, |row| rows::revision(row, job))? {
            Some(revision) => Ok(revision),
            None => self.head_number(job).and(Err(StoreError::NoSuchRevision { number })),
        }
    }

    fn history(&self, job: &JobId) -> Result<Vec<Entry>, StoreError> {
        let all = statement!(
            "SELECT number, title, who, what, at FROM revisions WHERE job = ?1 ORDER BY number DESC",
            job.as_str(),
        );
        let entries = self.read(&all, rows::entry)?;
        if entries.is_empty() { Err(StoreError::NoSuchJob(job.clone())) } else { Ok(entries) }
    }

    fn heads(&self, jobs: &[JobId]) -> Result<Vec<(JobId, i64)>, StoreError> {
        let mut heads = Vec::with_capacity(jobs.len());
        for jobs in jobs.chunks(JOBS_AT_ONCE) {
            let places: Vec<String> = (1..=jobs.len()).map(|place| format!("?{place}")).collect();
            let sql = format!("SELECT id, head FROM jobs WHERE id IN ({})", places.join(", "));
            let values: Vec<Value> = jobs.iter().map(|job| job.as_str().into()).collect();
            heads.extend(self.read(&Statement::new(&sql, values), |row| Ok((rows::job_id(row)?, row.integer()?)))?);
        }
        Ok(heads)
    }

    fn search(
        &self,
        words: &str,
        from: Option<&str>,
        to: Option<&str>,
        limit: i64,
    ) -> Result<Vec<Summary>, StoreError> {
        no_nul([("search", words)])?;
        let words = search::words(words)?;
        let (first, end) = search::bounds(from, to, &TimeZone::system())?;
        let mut values = vec![first.into(), end.into(), limit.max(0).into()];
        let mut conditions = String::from("removed = 0 AND changed >= ?1 AND changed < ?2");
        for word in words {
            values.push(word.into());
            let place = values.len();
            // A text that taking the word out changes is one that holds it. Unlike LIKE, this has no wildcards, and is
            // the same in all databases.
            conditions.push_str(&format!(
                " AND (replace(title_words, ?{place}, '') <> title_words \
                 OR replace(findings_words, ?{place}, '') <> findings_words)"
            ));
        }
        self.read(&Statement::new(&summaries(&conditions, 3), values), rows::summary)
    }

    fn set_findings(&self, job: &JobId, revision: i64, findings: &str) -> Result<(), StoreError> {
        no_nul([("list of suspects", findings)])?;
        let noted = self.write(&[statement!(
            "UPDATE jobs SET findings = ?1, findings_words = ?2, findings_revision = ?3 \
             WHERE id = ?4 AND ?3 >= 1 AND ?3 <= head AND findings_revision <= ?3",
            findings,
            search::small(findings),
            revision,
            job.as_str(),
        )])?;
        if !noted && !(1..=self.head_number(job)?).contains(&revision) {
            return Err(StoreError::NoSuchRevision { number: revision });
        }
        Ok(())
    }

    fn remove(&self, job: &JobId) -> Result<(), StoreError> {
        self.set_removed(job, 1)
    }

    fn unremove(&self, job: &JobId) -> Result<(), StoreError> {
        self.set_removed(job, 0)
    }

    fn removed(&self, limit: i64) -> Result<Vec<Summary>, StoreError> {
        self.read(&statement!(&summaries("removed = 1", 1), limit.max(0)), rows::summary)
    }

    fn add_photo(&self, job: &JobId, photo: &Photo) -> Result<PhotoId, StoreError> {
        let id = PhotoId::new();
        let added = self.write(&[statement!(
            "INSERT INTO photos (id, job, name, width, height, bytes, at, jpeg) \
             SELECT ?1, id, ?2, ?3, ?4, ?5, ?6, ?7 FROM jobs WHERE id = ?8",
            id.as_str(),
            photo.name(),
            i64::from(photo.width()),
            i64::from(photo.height()),
            i64::try_from(photo.jpeg().len()).unwrap_or(i64::MAX),
            Timestamp::now().as_microsecond(),
            BASE64.encode(photo.jpeg()),
            job.as_str(),
        )])?;
        if added { Ok(id) } else { Err(StoreError::NoSuchJob(job.clone())) }
    }

    fn photos(&self, job: &JobId) -> Result<Vec<PhotoEntry>, StoreError> {
        let all = statement!(
            "SELECT id, name, width, height, bytes, at FROM photos WHERE job = ?1 ORDER BY at, id",
            job.as_str(),
        );
        let photos = self.read(&all, rows::photo_entry)?;
        if photos.is_empty() {
            self.head_number(job)?;
        }
        Ok(photos)
    }

    fn photo(&self, job: &JobId, id: &PhotoId) -> Result<Photo, StoreError> {
        let wanted = statement!(
            "SELECT name, width, height, jpeg FROM photos WHERE id = ?1 AND job = ?2",
            id.as_str(),
            job.as_str(),
        );
        let photo = self.read_one(&wanted, |row| {
            let (name, width, height) = (row.text()?, rows::pixels(row)?, rows::pixels(row)?);
            let jpeg = BASE64.decode(row.text()?).map_err(|error| Trouble::Damaged(format!("a photo: {error}")))?;
            Ok(Photo::kept(name, width, height, jpeg))
        })?;
        match photo {
            Some(photo) => Ok(photo),
            None => self.head_number(job).and(Err(StoreError::NoSuchPhoto(id.clone()))),
        }
    }

    fn remove_photo(&self, job: &JobId, id: &PhotoId) -> Result<(), StoreError> {
        let sql = "DELETE FROM photos WHERE id = ?1 AND job = ?2";
        match self.write(&[statement!(sql, id.as_str(), job.as_str())])? {
            true => Ok(()),
            false => self.head_number(job).and(Err(StoreError::NoSuchPhoto(id.clone()))),
        }
    }

    fn setting(&self, key: &str) -> Result<Option<String>, StoreError> {
        no_nul([("name of the setting", key)])?;
        self.read_one(&statement!("SELECT value FROM settings WHERE key = ?1", key), Row::text)
    }

    fn set_setting(&self, key: &str, value: &str) -> Result<(), StoreError> {
        no_nul([("name of the setting", key), ("setting", value)])?;
        let sql =
            "INSERT INTO settings (key, value) VALUES (?1, ?2) ON CONFLICT (key) DO UPDATE SET value = excluded.value";
        self.write(&[statement!(sql, key, value)]).map(drop)
    }

    fn set_setting_once(&self, key: &str, value: &str) -> Result<bool, StoreError> {
        no_nul([("name of the setting", key), ("setting", value)])?;
        let sql = "INSERT INTO settings (key, value) VALUES (?1, ?2) ON CONFLICT (key) DO NOTHING";
        self.write(&[statement!(sql, key, value)])
    }

    fn add_session(&self, token_hash: &str, expires: i64) -> Result<(), StoreError> {
        no_nul([("session", token_hash)])?;
        let sql = "INSERT INTO sessions (token_hash, expires) VALUES (?1, ?2) \
                   ON CONFLICT (token_hash) DO UPDATE SET expires = excluded.expires";
        self.write(&[statement!(sql, token_hash, expires)]).map(drop)
    }

    fn session_expires(&self, token_hash: &str) -> Result<Option<i64>, StoreError> {
        no_nul([("session", token_hash)])?;
        self.read_one(&statement!("SELECT expires FROM sessions WHERE token_hash = ?1", token_hash), Row::integer)
    }

    fn remove_session(&self, token_hash: &str) -> Result<(), StoreError> {
        no_nul([("session", token_hash)])?;
        self.write(&[statement!("DELETE FROM sessions WHERE token_hash = ?1", token_hash)]).map(drop)
    }

    fn purge_sessions(&self, now: i64) -> Result<(), StoreError> {
        self.write(&[statement!("DELETE FROM sessions WHERE expires <= ?1", now)]).map(drop)
    }
}

/// SQLite would keep a NUL, PostgreSQL would not; both stores take the same texts.
fn no_nul<const N: usize>(fields: [(&'static str, &str); N]) -> Result<(), StoreError> {
    match fields.into_iter().find(|(_, text)| text.contains('\0')) {
        Some((field, _)) => Err(StoreError::NulCharacter { field }),
        None => Ok(()),
    }
}

/// What is searched of title and parts; no word of a search spans the line break.
fn title_words(title: &str, parts: &str) -> String {
    search::small(&format!("{title}\n{parts}"))
}

fn insert_revision(job: &JobId, number: i64, [title, text, who, what]: [&str; 4], at: i64) -> Statement {
    statement!(
        "INSERT INTO revisions (job, number, title, text, who, what, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        job.as_str(),
        number,
        title,
        text,
        who,
        what,
        at,
    )
}

fn summaries(conditions: &str, limit_place: usize) -> String {
    format!(
        "SELECT id, head, title, parts, findings, who, created, changed FROM jobs WHERE {conditions} \
         ORDER BY changed DESC, created DESC, id LIMIT ?{limit_place}"
    )
}
