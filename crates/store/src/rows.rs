//! Rows of the tables made into what the store gives out; a column that holds anything else is damage.

use jiff::Timestamp;

use crate::connection::Row;
use crate::{Entry, JobId, PhotoEntry, PhotoId, Revision, Summary, Trouble};

/// Columns id, head, title, parts, findings, who, created, changed.
pub(crate) fn summary(row: &mut Row) -> Result<Summary, Trouble> {
    Ok(Summary {
        job: job_id(row)?,
        head: row.integer()?,
        title: row.text()?,
        parts: row.text()?,
        findings: row.text()?,
        who: row.text()?,
        created: timestamp(row)?,
        changed: timestamp(row)?,
    })
}

/// Columns number, title, text, who, what, at.
pub(crate) fn revision(row: &mut Row, job: &JobId) -> Result<Revision, Trouble> {
    Ok(Revision {
        job: job.clone(),
        number: row.integer()?,
        title: row.text()?,
        text: row.text()?,
        who: row.text()?,
        what: row.text()?,
        at: timestamp(row)?,
    })
}

pub(crate) fn job_id(row: &mut Row) -> Result<JobId, Trouble> {
    JobId::parse(&row.text()?).map_err(|error| Trouble::Damaged(error.to_string()))
}

fn timestamp(row: &mut Row) -> Result<Timestamp, Trouble> {
    Timestamp::from_microsecond(row.integer()?).map_err(|error| Trouble::Damaged(error.to_string()))
}

pub(crate) fn pixels(row: &mut Row) -> Result<u32, Trouble> {
    u32::try_from(row.integer()?).map_err(|error| Trouble::Damaged(error.to_string()))
}

/// Columns number, title, who, what, at.
pub(crate) fn entry(row: &mut Row) -> Result<Entry, Trouble> {
    Ok(Entry { number: row.integer()?, title: row.text()?, who: row.text()?, what: row.text()?, at: timestamp(row)? })
}

/// Columns id, name, width, height, bytes, at.
pub(crate) fn photo_entry(row: &mut Row) -> Result<PhotoEntry, Trouble> {
    Ok(PhotoEntry {
        id: PhotoId::parse(&row.text()?).map_err(|error| Trouble::Damaged(error.to_string()))?,
        name: row.text()?,
        width: pixels(row)?,
        height: pixels(row)?,
        bytes: row.integer()?,
        at: timestamp(row)?,
    })
}
