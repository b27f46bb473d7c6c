//! The job of the moment, and changes to it, one after the other.

use crate::app::App;
use crate::live::News;
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use bench::{Job, job};
use jiff::Timestamp;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::{Change, JobId, NewJob, Revision, StoreError};

/// A revision of a job, read.
pub struct Sheet {
    /// As stored.
    pub revision: Revision,
    /// As read.
    pub job: Job,
}

/// A changed job text and what was done to it, in a line.
pub struct Edited {
    pub text: String,
    pub what: String,
}

/// Sheets lately looked at.
#[derive(Default)]
pub struct Desk(Mutex<VecDeque<Arc<Sheet>>>);

const LAID_OUT: usize = 64;
/// Others may be faster this many times in a row before a change gives up.
const TRIES: usize = 20;

impl Desk {
    fn find(&self, revision: &Revision) -> Option<Arc<Sheet>> {
        let sheets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let fits = |sheet: &&Arc<Sheet>| sheet.revision.job == revision.job && sheet.revision.number == revision.number;
        sheets.iter().find(fits).cloned()
    }

    fn lay(&self, sheet: Arc<Sheet>) {
        let mut sheets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sheets.truncate(LAID_OUT - 1);
        sheets.push_front(sheet);
    }
}

impl App {
    /// The newest revision of a job.
    ///
    /// # Errors
    /// If there is no such job, or its text cannot be read.
    pub async fn sheet(&self, id: &JobId) -> Result<Arc<Sheet>, Trouble> {
        let asked = id.clone();
        let revision = self.ask(move |store| store.head(&asked)).await?;
        self.read(revision)
    }

    /// A certain revision of a job.
    pub async fn sheet_at(&self, id: &JobId, number: i64) -> Result<Arc<Sheet>, Trouble> {
        let asked = id.clone();
        let revision = self.ask(move |store| store.revision(&asked, number)).await?;
        self.read(revision)
    }

    fn read(&self, revision: Revision) -> Result<Arc<Sheet>, Trouble> {
        if let Some(sheet) = self.desk.find(&revision) {
            return Ok(sheet);
        }
        let job = read_text(&revision.text)?;
        let sheet = Arc::new(Sheet { revision, job });
        self.desk.lay(sheet.clone());
        Ok(sheet)
    }

    /// Changes a job: `edit` is asked anew whenever someone else was faster, and refuses what no longer fits.
    ///
    /// # Errors
    /// What `edit` says; a text that cannot be read is refused with its problems; trouble with the store.
    pub async fn change(
        &self,
        id: &JobId,
        visitor: &Visitor,
        edit: impl Fn(&Sheet) -> Result<Edited, Trouble>,
    ) -> Result<Arc<Sheet>, Trouble> {
        for _ in 0..TRIES {
            let sheet = self.sheet(id).await?;
            let Edited { text, what } = edit(&sheet)?;
            let job = read_text(&text)?;
            let base = sheet.revision.number;
            let change = Change {
                title: job.unit.name.clone(),
                parts: search_words(&job),
                text: text.clone(),
                who: visitor.who.clone(),
                what: what.clone(),
                at: Timestamp::now(),
            };
            let (asked, made) = (id.clone(), change.clone());
            let appended = {
                let store = self.store.clone();
                let append = move || store.append(&asked, base, &made);
                tokio::task::spawn_blocking(append).await.map_err(|_| Trouble::internal())?
            };
            let number = match appended {
                Ok(number) => number,
                Err(StoreError::Conflict { .. }) => continue,
                Err(error) => return Err(error.into()),
            };
            self.live.tell(id, News { revision: number, who: change.who.clone(), what });
            let Change { title, who, what, at, .. } = change;
            let revision = Revision { job: id.clone(), number, title, text, who, what, at };
            let sheet = Arc::new(Sheet { revision, job });
            self.desk.lay(sheet.clone());
            return Ok(sheet);
        }
        Err(Trouble::conflict("Others are changing this job without pause.").mend("Try again."))
    }

    /// Keeps a new job.
    ///
    /// # Errors
    /// A text that cannot be read is refused with its problems; trouble with the store.
    pub async fn begin(&self, visitor: &Visitor, text: String, what: &str) -> Result<JobId, Trouble> {
        let job = read_text(&text)?;
        let new = NewJob {
            title: job.unit.name.clone(),
            parts: search_words(&job),
            text,
            who: visitor.who.clone(),
            what: what.to_owned(),
            at: Timestamp::now(),
        };
        self.ask(move |store| store.create(&new)).await
    }
}

/// Reads a job text; what is called a file there is called the job text here.
pub(crate) fn read_text(text: &str) -> Result<Job, Trouble> {
    job::read_bytes("job text", text.as_bytes())
        .map_err(|problems| Trouble::problems("The job would not hold together:", &problems))
}

/// What a search finds a job by, besides its title: names, kinds, makes and ratings of its parts.
fn search_words(job: &Job) -> String {
    let words = job.unit.parts().iter().map(|part| {
        let make = part.provenance.make.as_deref().unwrap_or_default();
        format!("{} {} {} {make}", part.name, part.kind.name().replace('-', " "), part.kind.describe())
    });
    words.collect::<Vec<_>>().join("; ")
}
