//! Rankings and plans, each computed once however many wait for it, and stopped when nobody does.

use crate::app::App;
use crate::assessment::Assessment;
use crate::desk::{Sheet, read_text};
use crate::plan_view::PlanView;
use crate::trouble::Trouble;
use axum::http::StatusCode;
use bench::Job;
use bench::experience::Moved;
use diagnosis::{DiagnosisError, Watch};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::JobId;
use tokio::sync::OnceCell;

/// Results kept.
const KEPT: usize = 128;

type Answer<T> = Result<Arc<T>, Trouble>;
/// Makes a result of a job, some of whose odds the shop's experience may have moved.
type Work<T> = fn(&Job, Option<&[Moved]>, &Watch) -> Result<T, DiagnosisError>;

struct Slot<T> {
    job: JobId,
    revision: i64,
    watch: Mutex<Watch>,
    answer: OnceCell<Answer<T>>,
}

/// Results of one sort made and being made, by job and revision.
pub struct LongWork<T> {
    slots: Mutex<VecDeque<Arc<Slot<T>>>>,
}

impl<T> Default for LongWork<T> {
    fn default() -> Self {
        LongWork { slots: Mutex::default() }
    }
}

/// Cancels the work when dropped before it is done.
struct Patience(Watch);

impl Drop for Patience {
    fn drop(&mut self) {
        self.0.cancel();
    }
}

impl<T> LongWork<T> {
    fn slot(&self, job: &JobId, revision: i64) -> Arc<Slot<T>> {
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(slot) = slots.iter().find(|slot| slot.job == *job && slot.revision == revision) {
            return slot.clone();
        }
        let slot = Arc::new(Slot { job: job.clone(), revision, watch: Mutex::default(), answer: OnceCell::new() });
        slots.truncate(KEPT - 1);
        slots.push_front(slot.clone());
        slot
    }

    /// Forgets all results: what they were made from is no longer so.
    pub fn forget(&self) {
        self.slots.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// A result if it has been made.
    pub fn ready(&self, job: &JobId, revision: i64) -> Option<Arc<T>> {
        let slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        let slot = slots.iter().find(|slot| slot.job == *job && slot.revision == revision)?;
        slot.answer.get()?.as_ref().ok().cloned()
    }

    /// How far a result is: steps done and planned; `None` if it is not under way.
    pub fn progress(&self, job: &JobId, revision: i64) -> Option<(usize, usize)> {
        let slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        let slot = slots.iter().find(|slot| slot.job == *job && slot.revision == revision)?;
        if slot.answer.initialized() {
            return None;
        }
        let watch = slot.watch.lock().unwrap_or_else(PoisonError::into_inner);
        Some(watch.progress())
    }
}

impl App {
    /// The ranking of a revision. Dropping the future when nobody else waits stops the work.
    ///
    /// # Errors
    /// If the unit cannot be solved.
    pub async fn weigh(&self, sheet: &Arc<Sheet>) -> Answer<Assessment> {
        let (job, number) = (&sheet.revision.job, sheet.revision.number);
        let slot = self.weighing.slot(job, number);
        // Whoever comes first does the work; if they leave, the next who waits begins anew.
        let weigh = async || {
            let assessment = self.compute(sheet, &slot, Assessment::new).await?;
            let (asked, line) = (job.clone(), assessment.in_a_line());
            self.ask(move |store| store.set_findings(&asked, number, &line)).await?;
            Ok(assessment)
        };
        slot.answer.get_or_init(weigh).await.clone()
    }

    /// The plan of a revision. Dropping the future when nobody else waits stops the work.
    ///
    /// # Errors
    /// If the unit cannot be solved.
    pub async fn plan(&self, sheet: &Arc<Sheet>) -> Answer<PlanView> {
        let slot = self.planning.slot(&sheet.revision.job, sheet.revision.number);
        slot.answer.get_or_init(|| self.compute(sheet, &slot, PlanView::new)).await.clone()
    }

    async fn compute<T: Send + 'static>(&self, sheet: &Arc<Sheet>, slot: &Slot<T>, work: Work<T>) -> Answer<T> {
        let Ok(_turn) = self.turn.acquire().await else { return Err(Trouble::internal()) };
        let watch = Watch::new();
        *slot.watch.lock().unwrap_or_else(PoisonError::into_inner) = watch.clone();
        let patience = Patience(watch.clone());
        let learnt = match self.experience_for(sheet) {
            None => None,
            Some(table) => {
                let mut job = read_text(&sheet.revision.text)?;
                let moved = job.learn(&table);
                Some((job, moved))
            }
        };
        let sheet = sheet.clone();
        let work = move || match &learnt {
            None => work(&sheet.job, None, &watch),
            Some((job, moved)) => work(job, Some(moved), &watch),
        };
        let done = tokio::task::spawn_blocking(work).await;
        drop(patience);
        match done.map_err(|_| Trouble::internal())? {
            Ok(result) => Ok(Arc::new(result)),
            Err(error @ DiagnosisError::Predict(_)) => {
                Err(Trouble::refused(format!("The readings cannot be weighed: {error}."))
                    .mend("Look at the wiring: every circuit needs a way from hot to neutral or to another live conductor, and no short across the supply."))
            }
            Err(DiagnosisError::Cancelled) => Err(Trouble::new(StatusCode::GONE, "The weighing was stopped.")),
        }
    }
}
