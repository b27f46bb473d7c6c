//! Rankings, each computed once however many wait for it, and stopped when nobody does.

use crate::app::App;
use crate::assessment::Assessment;
use crate::desk::Sheet;
use crate::trouble::Trouble;
use axum::http::StatusCode;
use diagnosis::{DiagnosisError, Watch};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::JobId;
use tokio::sync::{OnceCell, Semaphore};

/// Rankings kept.
const KEPT: usize = 128;

type Answer = Result<Arc<Assessment>, Trouble>;

struct Slot {
    job: JobId,
    revision: i64,
    watch: Mutex<Watch>,
    answer: OnceCell<Answer>,
}

/// Rankings made and being made.
pub struct Weighing {
    slots: Mutex<VecDeque<Arc<Slot>>>,
    /// One ranking at a time: each uses all processors by itself.
    turn: Semaphore,
}

impl Default for Weighing {
    fn default() -> Self {
        Weighing { slots: Mutex::default(), turn: Semaphore::new(1) }
    }
}

/// Cancels the work when dropped before it is done.
struct Patience(Watch);

impl Drop for Patience {
    fn drop(&mut self) {
        self.0.cancel();
    }
}

impl Weighing {
    fn slot(&self, job: &JobId, revision: i64) -> Arc<Slot> {
        let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(slot) = slots.iter().find(|slot| slot.job == *job && slot.revision == revision) {
            return slot.clone();
        }
        let slot = Arc::new(Slot { job: job.clone(), revision, watch: Mutex::default(), answer: OnceCell::new() });
        slots.truncate(KEPT - 1);
        slots.push_front(slot.clone());
        slot
    }

    /// A ranking if it has been made.
    pub fn ready(&self, job: &JobId, revision: i64) -> Option<Arc<Assessment>> {
        let slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
        let slot = slots.iter().find(|slot| slot.job == *job && slot.revision == revision)?;
        slot.answer.get()?.as_ref().ok().cloned()
    }

    /// How far a ranking is: steps done and planned; `None` if it is not under way.
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
    pub async fn weigh(&self, sheet: &Arc<Sheet>) -> Answer {
        let slot = self.weighing.slot(&sheet.revision.job, sheet.revision.number);
        // Whoever comes first does the work; if they leave, the next who waits begins anew.
        slot.answer.get_or_init(|| self.compute(sheet.clone(), &slot)).await.clone()
    }

    async fn compute(&self, sheet: Arc<Sheet>, slot: &Slot) -> Answer {
        let Ok(_turn) = self.weighing.turn.acquire().await else { return Err(Trouble::internal()) };
        let watch = Watch::new();
        *slot.watch.lock().unwrap_or_else(PoisonError::into_inner) = watch.clone();
        let patience = Patience(watch.clone());
        let (asked, number) = (sheet.revision.job.clone(), sheet.revision.number);
        let weighed = tokio::task::spawn_blocking(move || Assessment::new(&sheet.job, &watch)).await;
        drop(patience);
        let assessment = match weighed.map_err(|_| Trouble::internal())? {
            Ok(assessment) => Arc::new(assessment),
            Err(error @ DiagnosisError::Predict(_)) => {
                return Err(Trouble::refused(format!("The readings cannot be weighed: {error}."))
                    .mend("Look at the wiring: every circuit needs a way from hot to neutral or to another live conductor, and no short across the supply."));
            }
            Err(DiagnosisError::Cancelled) => return Err(Trouble::new(StatusCode::GONE, "The weighing was stopped.")),
        };
        let line = assessment.in_a_line();
        self.ask(move |store| store.set_findings(&asked, number, &line)).await?;
        Ok(assessment)
    }
}
