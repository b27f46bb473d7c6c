//! A hand on long work: how far it is, and a way to stop it.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Shared between whoever waits for a diagnosis and the diagnosis itself; clones are the same watch.
#[derive(Debug, Clone, Default)]
pub struct Watch(Arc<State>);

#[derive(Debug, Default)]
struct State {
    cancelled: AtomicBool,
    done: AtomicUsize,
    planned: AtomicUsize,
}

impl Watch {
    /// A watch that nobody has cancelled.
    pub fn new() -> Self {
        Watch::default()
    }

    /// Asks the work to stop soon; it then gives no result.
    pub fn cancel(&self) {
        self.0.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether the work was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.0.cancelled.load(Ordering::Relaxed)
    }

    /// Steps done and steps known of so far: single faults, pairs, setups of checks.
    pub fn progress(&self) -> (usize, usize) {
        (self.0.done.load(Ordering::Relaxed), self.0.planned.load(Ordering::Relaxed))
    }

    pub(crate) fn plan(&self, steps: usize) {
        self.0.planned.fetch_add(steps, Ordering::Relaxed);
    }

    /// Notes a step begun; `false` if it is not to be taken.
    pub(crate) fn step(&self) -> bool {
        self.0.done.fetch_add(1, Ordering::Relaxed);
        !self.is_cancelled()
    }
}
