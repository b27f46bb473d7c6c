//! What goes into the store and what comes out.
//!
//! Times are kept to the microsecond; finer digits are dropped.

use jiff::Timestamp;

use crate::JobId;

/// A job to be kept from now on.
#[derive(Debug, Clone, PartialEq)]
pub struct NewJob {
    /// The unit and its trouble, in a line; for lists and search.
    pub title: String,
    /// Parts, makes, models: words to be found by search.
    pub parts: String,
    /// The job file, kept letter for letter.
    pub text: String,
    /// Who made it.
    pub who: String,
    /// What was done: `"job begun"`.
    pub what: String,
    /// When.
    pub at: Timestamp,
}

/// The next revision of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// The title from now on.
    pub title: String,
    /// The words for search from now on.
    pub parts: String,
    /// The whole job file as it is now, kept letter for letter.
    pub text: String,
    /// Who changed it.
    pub who: String,
    /// What was changed: `"reading added: 181.9 V"`.
    pub what: String,
    /// When.
    pub at: Timestamp,
}

/// A job as it was at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Revision {
    /// Which job.
    pub job: JobId,
    /// 1 for the first, then 2, 3 ... without gaps.
    pub number: i64,
    /// The title then.
    pub title: String,
    /// The job file then.
    pub text: String,
    /// Who made this revision.
    pub who: String,
    /// What was done.
    pub what: String,
    /// When.
    pub at: Timestamp,
}

/// One line of a job's history: a revision without its text.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// 1 for the first, then 2, 3 ... without gaps.
    pub number: i64,
    /// The title then.
    pub title: String,
    /// Who made this revision.
    pub who: String,
    /// What was done.
    pub what: String,
    /// When.
    pub at: Timestamp,
}

/// One line of the list of jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary {
    /// Which job.
    pub job: JobId,
    /// Number of its newest revision.
    pub head: i64,
    /// Its title.
    pub title: String,
    /// Parts, makes, models.
    pub parts: String,
    /// Leading suspects in words; empty when none were noted yet.
    pub findings: String,
    /// Who changed it last.
    pub who: String,
    /// When it was begun.
    pub created: Timestamp,
    /// When it was changed last.
    pub changed: Timestamp,
}
