//! What the shop has learnt: counted from its closed jobs, and, if the shop wants that, moving the odds of rankings.
//!
//! The table in use is kept in the store as it was when somebody chose to use it, so that a ranking does not move because
//! another job was closed meanwhile.

use crate::app::App;
use crate::desk::{Sheet, read_text};
use crate::trouble::Trouble;
use bench::experience::listed_odds;
use bench::{Experience, Job};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, PoisonError, RwLock};
use store::{Store, StoreError};

/// The setting that holds the table in use; empty for none.
const SETTING: &str = "experience";
/// The setting that holds the jobs that are to teach no longer, parted by blanks.
const FORGOTTEN: &str = "experience-forgotten";
/// More jobs than any shop has.
const MOST_JOBS: i64 = 1_000_000;

/// The table in use.
#[derive(Default)]
pub struct InUse(RwLock<Option<Arc<Experience>>>);

impl InUse {
    /// As the store has it. Blocks.
    ///
    /// # Errors
    /// If the store cannot be read.
    pub fn kept(store: &dyn Store) -> Result<Self, StoreError> {
        let table = store.setting(SETTING)?.and_then(|table| Experience::from_csv(&table).ok());
        Ok(InUse(RwLock::new(table.map(Arc::new))))
    }

    /// The table, if one is in use.
    pub fn table(&self) -> Option<Arc<Experience>> {
        self.0.read().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// What the closed jobs of a shop say.
#[derive(Default)]
pub struct Counted {
    /// Times each fault was confirmed.
    pub experience: Experience,
    /// Closed jobs with a confirmed cause.
    pub taught: usize,
    /// Jobs without one.
    pub silent: usize,
    /// Closed jobs that somebody had forgotten.
    pub forgotten: usize,
    /// Lowest and highest listed odds of each fault of each kind of part.
    pub listed: BTreeMap<(String, String), (f64, f64)>,
}

impl Counted {
    fn add(&mut self, job: &Job) {
        if !self.experience.add(job) {
            self.silent += 1;
            return;
        }
        self.taught += 1;
        for (kind, fault, odds) in listed_odds(&job.unit) {
            let known = self.listed.entry((kind, fault)).or_insert((odds, odds));
            *known = (known.0.min(odds), known.1.max(odds));
        }
    }
}

/// Whether a job has a confirmed cause, and so is one of those that teach.
fn teaches(job: &Job) -> bool {
    job.repaired.as_ref().is_some_and(|repaired| !repaired.faults.0.is_empty())
}

impl App {
    /// Counts the confirmed causes of all jobs on the list.
    ///
    /// # Errors
    /// Trouble with the store.
    pub async fn count_experience(&self) -> Result<Counted, Trouble> {
        self.ask(|store| {
            let mut counted = Counted::default();
            let forgotten = store.setting(FORGOTTEN)?.unwrap_or_default();
            let forgotten: BTreeSet<&str> = forgotten.split(' ').collect();
            for found in store.search("", None, None, MOST_JOBS)? {
                if forgotten.contains(found.job.as_str()) {
                    counted.forgotten += 1;
                    continue;
                }
                // A text that can no longer be read teaches nothing.
                match read_text(&store.head(&found.job)?.text) {
                    Ok(job) => counted.add(&job),
                    Err(_) => counted.silent += 1,
                }
            }
            Ok(counted)
        })
        .await
    }

    /// Forgets what the jobs on the list have taught so far: they do not count any more, and no table is in use. Those that are
    /// closed later count.
    ///
    /// # Errors
    /// Trouble with the store.
    pub async fn forget_experience(&self) -> Result<(), Trouble> {
        self.ask(|store| {
            let known = store.setting(FORGOTTEN)?.unwrap_or_default();
            let mut forgotten: BTreeSet<String> = known.split(' ').map(str::to_owned).collect();
            for found in store.search("", None, None, MOST_JOBS)? {
                if read_text(&store.head(&found.job)?.text).is_ok_and(|job| teaches(&job)) {
                    forgotten.insert(found.job.as_str().to_owned());
                }
            }
            store.set_setting(FORGOTTEN, forgotten.into_iter().collect::<Vec<_>>().join(" ").trim())
        })
        .await?;
        self.use_experience(None).await
    }

    /// Has the forgotten jobs count again.
    ///
    /// # Errors
    /// Trouble with the store.
    pub async fn recall_experience(&self) -> Result<(), Trouble> {
        self.ask(|store| store.set_setting(FORGOTTEN, "")).await
    }

    /// Has all rankings use a table from now on, or none.
    ///
    /// # Errors
    /// Trouble with the store; the old table then stays in use.
    pub async fn use_experience(&self, table: Option<Experience>) -> Result<(), Trouble> {
        let kept = table.as_ref().map(Experience::to_csv).unwrap_or_default();
        self.ask(move |store| store.set_setting(SETTING, &kept)).await?;
        *self.experience.0.write().unwrap_or_else(PoisonError::into_inner) = table.map(Arc::new);
        self.weighing.forget();
        self.planning.forget();
        Ok(())
    }

    /// The table that moves the odds of a job. A job that is in the table itself is not moved by its own cause.
    pub(crate) fn experience_for(&self, sheet: &Sheet) -> Option<Arc<Experience>> {
        self.experience.table().filter(|_| !teaches(&sheet.job))
    }
}
