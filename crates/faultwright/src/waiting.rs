//! Long work says on the error stream how far it is, if somebody sits there.

use bench::Job;
use diagnosis::{Diagnosis, DiagnosisError, Watch, diagnose_watched};
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

/// Nothing is said of work that takes no longer.
const PATIENCE: Duration = Duration::from_secs(3);
/// Between two looks at it.
const PAUSE: Duration = Duration::from_millis(500);

/// Ranks the suspects of a job.
///
/// # Errors
/// If the sound unit cannot be solved.
pub fn diagnosed(job: &Job) -> Result<Diagnosis<'_>, DiagnosisError> {
    let watch = Watch::new();
    if !io::stderr().is_terminal() {
        return diagnose_watched(job, &watch);
    }
    let (working, done) = channel::<()>();
    std::thread::scope(|threads| {
        let seen = &watch;
        threads.spawn(move || tell(&done, seen, &mut io::stderr(), PATIENCE));
        let found = diagnose_watched(job, &watch);
        drop(working);
        found
    })
}

/// Says how far the work is until the sender is gone, and then wipes that away.
fn tell(done: &Receiver<()>, watch: &Watch, screen: &mut impl Write, patience: Duration) {
    let mut pause = patience;
    // Who cannot be told anything needs not be: the work goes on.
    while done.recv_timeout(pause) == Err(RecvTimeoutError::Timeout) {
        let (steps, planned) = watch.progress();
        let _ = write!(screen, "\rweighing suspects: {steps} of {planned} steps so far\x1b[K")
            .and_then(|()| screen.flush());
        pause = PAUSE;
    }
    if pause != patience {
        let _ = write!(screen, "\r\x1b[K").and_then(|()| screen.flush());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(patience: Duration, work: Duration) -> String {
        let (working, done) = channel::<()>();
        let mut said = Vec::new();
        std::thread::scope(|threads| {
            let screen = &mut said;
            threads.spawn(move || tell(&done, &Watch::new(), screen, patience));
            std::thread::sleep(work);
            drop(working);
        });
        String::from_utf8_lossy(&said).into_owned()
    }

    #[test]
    fn only_long_work_is_talked_about_and_nothing_of_it_stays() {
        let long = told(Duration::from_millis(1), Duration::from_millis(300));
        assert!(long.contains("0 of 0 steps") && long.ends_with("\r\x1b[K"), "{long:?}");
        assert_eq!(told(Duration::from_secs(60), Duration::ZERO), "");
    }
}
