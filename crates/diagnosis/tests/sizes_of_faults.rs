//! How large a fault is, is said where something was read that tells of it, and nowhere else: a figure would be the prior's.
//!
//! An element of 230 V and 1000 W has 230^2 / 1000 = 52.9 ohm; what is read beyond is the joint's, or the element is another
//! one. Readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Job;
use common::{faults, job};
use diagnosis::diagnose;
use diagnosis::words::suspect_words;

fn heater(readings: &str) -> Job {
    job(&format!(
        "wires = [{{ from = \"supply.hot\", to = \"H1.a\" }}, {{ from = \"H1.b\", to = \"supply.neutral\" }}]\n\
         readings = [{readings}]\n\
         [unit]\nname = \"heater\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 1000\n\
         [setups.apart]\nsupply = \"off\"\nlifted = [\"H1.a\"]\n"
    ))
}

/// Size and words of a suspect.
fn told(job: &Job, label: &str) -> (Option<f64>, String) {
    let found = diagnose(job).unwrap();
    let set = faults(job, &[label]);
    let suspect = found.suspects.iter().find(|suspect| suspect.faults.as_ref() == Some(&set)).unwrap();
    (found.severities(suspect)[0], suspect_words(&found, suspect))
}

#[test]
fn a_size_that_was_read_is_said() {
    let job = heater("{ setup = \"apart\", ohms = 84.6, between = [\"H1.a\", \"H1.b\"] }");
    let (joint, words) = told(&job, "H1 bad-joint");
    // The element may have a twentieth more or less than its rating says.
    assert!((joint.unwrap() - (84.6 - 52.9)).abs() < 5.0, "{joint:?}");
    assert!(words.starts_with("H1 bad-joint (about 3"), "{words}");
    let (rating, words) = told(&job, "H1 wrong-rating");
    assert!((rating.unwrap() - 84.6 / 52.9).abs() < 0.1, "{rating:?}");
    assert!(words.starts_with("H1 wrong-rating (about 1."), "{words}");
}

#[test]
fn a_size_that_nothing_tells_of_is_not() {
    // Of an element that nobody measured; and of a joint in the wire, with only the element measured.
    for label in ["H1 bad-joint", "H1 wrong-rating"] {
        assert_eq!(told(&heater(""), label), (None, label.to_owned()));
    }
    let job = heater("{ setup = \"apart\", ohms = 52.6, between = [\"H1.a\", \"H1.b\"] }");
    let wire = "supply.hot~H1.a bad-joint";
    assert_eq!(told(&job, wire), (None, wire.to_owned()));
}
