//! Cancelled work gives no result, and soon; work left alone counts every step it planned.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{AIR_CURTAIN, job};
use diagnosis::{DiagnosisError, Watch, diagnose_watched, next_checks};

#[test]
fn cancelled_work_gives_no_result() {
    let job = job(AIR_CURTAIN);
    let watch = Watch::new();
    watch.cancel();
    assert_eq!(diagnose_watched(&job, &watch).err(), Some(DiagnosisError::Cancelled));
    let (done, planned) = watch.progress();
    assert!(done <= planned);
}

#[test]
fn progress_ends_where_it_was_planned_to() {
    let job = job(AIR_CURTAIN);
    let watch = Watch::new();
    let found = diagnose_watched(&job, &watch).unwrap();
    next_checks(&found, 3);
    let (done, planned) = watch.progress();
    assert_eq!(done, planned);
    assert!(planned > found.work.pairs);
}

#[test]
fn work_that_is_cancelled_midway_stops_there() {
    let job = job(AIR_CURTAIN);
    let whole = {
        let watch = Watch::new();
        diagnose_watched(&job, &watch).unwrap();
        watch.progress().0
    };
    // As soon as a tenth is done, and then further into the pairs.
    for after in [whole / 10, whole / 4] {
        let watch = Watch::new();
        let (ended, done) = std::thread::scope(|threads| {
            let work = threads.spawn(|| diagnose_watched(&job, &watch).err());
            while watch.progress().0 <= after && !work.is_finished() {
                std::thread::yield_now();
            }
            watch.cancel();
            (work.join().unwrap(), watch.progress().0)
        });
        assert_eq!(ended, Some(DiagnosisError::Cancelled), "cancelled after {after} of {whole}");
        assert!(done > after, "{done} of {whole}");
    }
}
