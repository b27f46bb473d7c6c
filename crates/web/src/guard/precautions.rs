//! Who has confirmed that the precautions of a live setup are in place. It must be said again after half an hour, after a
//! change to the setup, and after the program was started anew.

use bench::Setup;
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use store::JobId;

const LASTS: Duration = Duration::from_secs(30 * 60);

/// Session, job, and name of the setup.
type Question = (String, JobId, String);

/// Confirmations, each with the setup as it was.
#[derive(Default)]
pub struct Precautions {
    confirmed: Mutex<HashMap<Question, (Setup, Instant)>>,
}

impl Precautions {
    /// Notes that a session has confirmed them.
    pub fn confirm(&self, session: &str, job: &JobId, setup: &Setup, now: Instant) {
        let mut confirmed = self.confirmed.lock().unwrap_or_else(PoisonError::into_inner);
        confirmed.retain(|_, (_, at)| now.saturating_duration_since(*at) < LASTS);
        confirmed.insert((session.to_owned(), job.clone(), setup.name.clone()), (setup.clone(), now));
    }

    /// Whether a session need not be asked.
    pub fn are_confirmed(&self, session: &str, job: &JobId, setup: &Setup, now: Instant) -> bool {
        if !setup.energised {
            return true;
        }
        let confirmed = self.confirmed.lock().unwrap_or_else(PoisonError::into_inner);
        confirmed
            .get(&(session.to_owned(), job.clone(), setup.name.clone()))
            .is_some_and(|(as_it_was, at)| as_it_was == setup && now.saturating_duration_since(*at) < LASTS)
    }
}
