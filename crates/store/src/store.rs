//! Everything that can be asked of a store.

use crate::{Change, Entry, JobId, NewJob, Photo, PhotoEntry, PhotoId, Revision, StoreError, Summary};

/// Jobs with all their revisions and photos, settings and sessions, in one database.
///
/// Any number of threads may share one store, and any number of stores (benches) one database.
///
/// # Errors
/// Every method may fail with [`StoreError::Place`] (disk, server, damage) and, where text goes in, with
/// [`StoreError::NulCharacter`]. Methods that name a job give [`StoreError::NoSuchJob`] where there is none.
pub trait Store: Send + Sync {
    /// Keeps a new job; its first revision is number 1.
    fn create(&self, new: &NewJob) -> Result<JobId, StoreError>;

    /// Adds a revision made from revision `base`, and gives its number, `base + 1`.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when `base` is not the newest revision; nothing is written then.
    fn append(&self, job: &JobId, base: i64, change: &Change) -> Result<i64, StoreError>;

    /// The newest revision.
    fn head(&self, job: &JobId) -> Result<Revision, StoreError>;

    /// One revision by its number, counted from 1.
    ///
    /// # Errors
    /// [`StoreError::NoSuchRevision`].
    fn revision(&self, job: &JobId, number: i64) -> Result<Revision, StoreError>;

    /// All revisions without their texts, newest first.
    fn history(&self, job: &JobId) -> Result<Vec<Entry>, StoreError>;

    /// The numbers of the newest revisions of many jobs; jobs that are not here are left out, the order is free.
    fn heads(&self, jobs: &[JobId]) -> Result<Vec<(JobId, i64)>, StoreError>;

    /// Jobs that are not removed, changed last first, `limit` at most.
    ///
    /// Every one of the `words` (parted by white space; none: all jobs) must occur somewhere in title, parts or findings,
    /// within a longer word too, with small and capital letters alike in every script that has them. `from` and `to` are
    /// days, `yyyy-mm-dd`, both included, of the last change, in this machine's time zone.
    ///
    /// # Errors
    /// [`StoreError::NotADate`], [`StoreError::TooManyWords`].
    fn search(&self, words: &str, from: Option<&str>, to: Option<&str>, limit: i64)
    -> Result<Vec<Summary>, StoreError>;

    /// Notes the leading suspects of a revision, in words, for search and lists. Does nothing when those of a later
    /// revision are noted already.
    ///
    /// # Errors
    /// [`StoreError::NoSuchRevision`].
    fn set_findings(&self, job: &JobId, revision: i64, findings: &str) -> Result<(), StoreError>;

    /// Hides a job from search. Nothing is destroyed: it can still be read, changed, and brought back.
    fn remove(&self, job: &JobId) -> Result<(), StoreError>;

    /// Brings a removed job back.
    fn unremove(&self, job: &JobId) -> Result<(), StoreError>;

    /// Removed jobs, changed last first, `limit` at most.
    fn removed(&self, limit: i64) -> Result<Vec<Summary>, StoreError>;

    /// Keeps a photo with a job. Its time is now.
    fn add_photo(&self, job: &JobId, photo: &Photo) -> Result<PhotoId, StoreError>;

    /// All photos of a job without their pictures, oldest first.
    fn photos(&self, job: &JobId) -> Result<Vec<PhotoEntry>, StoreError>;

    /// One photo.
    ///
    /// # Errors
    /// [`StoreError::NoSuchPhoto`], also when it belongs to another job.
    fn photo(&self, job: &JobId, id: &PhotoId) -> Result<Photo, StoreError>;

    /// Destroys a photo.
    ///
    /// # Errors
    /// [`StoreError::NoSuchPhoto`], also when it belongs to another job.
    fn remove_photo(&self, job: &JobId, id: &PhotoId) -> Result<(), StoreError>;

    /// A setting, if it was ever set.
    fn setting(&self, key: &str) -> Result<Option<String>, StoreError>;

    /// Sets a setting, over the old one if there is one.
    fn set_setting(&self, key: &str, value: &str) -> Result<(), StoreError>;

    /// Sets a setting unless it is there already. Says whether it did: of several that try at once, one does.
    fn set_setting_once(&self, key: &str, value: &str) -> Result<bool, StoreError>;

    /// Keeps a session under the hash of its token until `expires`, in seconds since 1970-01-01 00:00 UTC. Over an older
    /// one with the same hash.
    fn add_session(&self, token_hash: &str, expires: i64) -> Result<(), StoreError>;

    /// When a session expires, in seconds since 1970-01-01 00:00 UTC, if there is such a session. Whether that time has
    /// passed is for the caller to see.
    fn session_expires(&self, token_hash: &str) -> Result<Option<i64>, StoreError>;

    /// Ends a session; none with that hash is fine too.
    fn remove_session(&self, token_hash: &str) -> Result<(), StoreError>;

    /// Ends all sessions that expire at `now` or before, in seconds since 1970-01-01 00:00 UTC.
    fn purge_sessions(&self, now: i64) -> Result<(), StoreError>;
}
