//! What the tests of repairs share.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
// Every test program compiles this by itself, and uses what it needs.
#![allow(dead_code)]

use bench::{FaultSet, Job, Place};
use diagnosis::{Diagnosis, Suspect};

pub fn job(text: &str) -> Job {
    bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"))
}

pub fn part(job: &Job, name: &str) -> usize {
    job.unit.parts().iter().position(|part| part.name == name).unwrap()
}

/// The likeliest fitted suspect.
pub fn leader<'f>(found: &'f Diagnosis<'_>) -> &'f Suspect {
    likeliest(found, |_| true)
}

/// The likeliest fitted suspect of one fault, at this part.
pub fn suspect_at<'f>(found: &'f Diagnosis<'_>, part: usize) -> &'f Suspect {
    let unit = &found.evidence.job.unit;
    likeliest(found, |set| set.0.len() == 1 && unit.faults()[set.0[0]].place == Place::Part(part))
}

/// The fitted suspect of this one fault.
pub fn suspect_of<'f>(found: &'f Diagnosis<'_>, label: &str) -> &'f Suspect {
    let fault = found.evidence.job.unit.find_fault(label).expect("a fault");
    likeliest(found, |set| set.0 == [fault])
}

fn likeliest<'f>(found: &'f Diagnosis<'_>, is_it: impl Fn(&FaultSet) -> bool) -> &'f Suspect {
    let mut fitted = found.suspects.iter().filter(|suspect| suspect.fit.is_some());
    fitted.find(|suspect| suspect.faults.as_ref().is_some_and(&is_it)).expect("a suspect")
}
