//! How each job's wiring was laid out last, so that parts stay where they are when a wire is added.

use bench::Unit;
use draw::wiring::{Layout, layout, layout_like};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use store::JobId;

/// Layouts remembered.
const KEPT: usize = 64;

struct Entry {
    job: JobId,
    revision: i64,
    layout: Arc<Layout>,
}

/// Layouts by job, the last used first.
#[derive(Default)]
pub struct Layouts(Mutex<VecDeque<Entry>>);

impl Layouts {
    /// The layout of a revision: like that of the revision shown before it, if there was one.
    pub fn of(&self, job: &JobId, revision: i64, unit: &Unit) -> Arc<Layout> {
        let before = {
            let entries = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            entries.iter().find(|entry| entry.job == *job).map(|entry| (entry.revision, entry.layout.clone()))
        };
        let layout = match before {
            Some((same, layout)) if same == revision => return layout,
            Some((_, before)) => layout_like(unit, &before),
            None => layout(unit),
        };
        let layout = Arc::new(layout);
        let mut entries = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        entries.retain(|entry| entry.job != *job);
        entries.truncate(KEPT - 1);
        entries.push_front(Entry { job: job.clone(), revision, layout: layout.clone() });
        layout
    }
}
