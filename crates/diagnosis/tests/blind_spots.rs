//! How small a fault readings can see, by hand.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::job;
use diagnosis::blind_spots::{Seen, blind_spots};
use diagnosis::diagnose;
use diagnosis::foresight::{Foresight, foresight_lines, foresights};

fn heater(readings: &str) -> bench::Job {
    job(&format!(
        "wires = [{{ from = \"supply.hot\", to = \"H1.a\" }}, {{ from = \"H1.b\", to = \"supply.neutral\" }}]\n\
         readings = [{readings}]\n[unit]\nname = \"heater\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 1500\n\
         [setups.off]\nsupply = \"off\"\nlifted = [\"H1.a\", \"H1.b\"]\n"
    ))
}

fn seen(job: &bench::Job, label: &str) -> Seen {
    let fault = job.unit.find_fault(label).unwrap();
    let found = diagnose(job).unwrap();
    blind_spots(&found).into_iter().find(|spot| spot.fault == fault).unwrap().seen
}

#[test]
fn a_joint_shows_from_the_ohms_that_meter_and_tolerance_leave_in_doubt() {
    // 230 V, 1500 W: 35.27 ohm. Meter (0.9 % + 2 counts)/sqrt 3 = 0.299, model 2 % = 0.705 and 0.15, tolerance 5 % = 1.763:
    // together 1.928 ohm. 1.645 of them on each side, for 95 % both ways: 6.34 ohm. Found by halving, to about 2 %.
    let job = heater("{ setup = \"off\", ohms = 35.3, between = [\"H1.a\", \"H1.b\"] }");
    let Seen::From(ohms) = seen(&job, "H1 bad-joint") else { panic!("{:?}", seen(&job, "H1 bad-joint")) };
    assert!((ohms / 6.34 - 1.0).abs() < 0.03, "{ohms}");
    // Nothing was read to the frame.
    assert_eq!(seen(&job, "H1 to-frame"), Seen::Never);
    assert_eq!(seen(&job, "supply low-volts"), Seen::Never);
}

#[test]
fn two_readings_alike_see_no_more_than_one() {
    // Taken again with the same meter at the same place, a reading brings no new ohms.
    let one = "{ setup = \"off\", ohms = 35.3, between = [\"H1.a\", \"H1.b\"] }";
    let (once, twice) = (heater(one), heater(&format!("{one}, {one}")));
    assert_eq!(seen(&once, "H1 bad-joint"), seen(&twice, "H1 bad-joint"));
}

#[test]
fn a_weak_capacitor_shows_from_the_share_that_meter_and_mark_leave_in_doubt() {
    // 6 uF: meter (2 % + 4 counts of 0.01)/sqrt 3 = 0.0924, model 2 % = 0.12 and 0.02, mark 4 % = 0.24: together 0.2845 uF.
    // 1.645 of them on each side: 0.936 uF, which is 0.156 of it. Found by halving, to about 2 %.
    let job = job("wires = [{ from = \"supply.hot\", to = \"C1.a\" }, { from = \"C1.b\", to = \"supply.neutral\" }]\n\
         readings = [{ setup = \"off\", microfarads = 6.0, between = [\"C1.a\", \"C1.b\"] }]\n\
         [unit]\nname = \"capacitor\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.C1]\nkind = \"run-capacitor\"\nmicrofarads = 6\n\
         [setups.off]\nsupply = \"off\"\nlifted = [\"C1.a\", \"C1.b\"]\n");
    let Seen::From(share) = seen(&job, "C1 low") else { panic!("{:?}", seen(&job, "C1 low")) };
    assert!((share / 0.156 - 1.0).abs() < 0.03, "{share}");
    // A leak does not change what is shown.
    assert_eq!(seen(&job, "C1 leaky"), Seen::Never);
}

/// What the readings and the best available check see of a fault.
fn foreseen(job: &bench::Job, label: &str) -> Foresight {
    let fault = job.unit.find_fault(label).unwrap();
    let found = diagnose(job).unwrap();
    foresights(&found).into_iter().find(|foresight| foresight.taken.fault == fault).unwrap()
}

fn refusing(mut job: bench::Job, words: &[&str]) -> bench::Job {
    job.refused = words.iter().map(|text| job.find_refusal(text).unwrap()).collect();
    job
}

#[test]
fn the_check_to_come_sees_what_the_same_reading_would_have_seen() {
    // As by hand above: ohms of the heater see a joint from 6.34 ohm on.
    let job = refusing(heater(""), &["energised"]);
    let foresight = foreseen(&job, "H1 bad-joint");
    assert_eq!(foresight.taken.seen, Seen::Never);
    let best = foresight.available.unwrap();
    let Seen::From(ohms) = best.seen else { panic!("{best:?}") };
    assert!((ohms / 6.34 - 1.0).abs() < 0.03, "{ohms}");
    assert!(!best.setup.energised && matches!(best.measure, bench::Measure::Ohms(..)));
    let lines = foresight_lines(&diagnose(&job).unwrap(), &[foreseen(&job, "H1 bad-joint")]);
    assert!(
        lines[0].starts_with("H1 bad-joint: not at any size; from about 6.") && lines[0].contains("measure ohms"),
        "{lines:?}"
    );
    // To the frame nothing was read, and a meter there sees a path.
    let frame = foreseen(&job, "H1 to-frame").available.unwrap();
    assert_ne!(frame.seen, Seen::Never);
    // And once it shows open there, no path of few ohms can be: insulation spreads by factors, so its own spread hides none.
    let open = "{ setup = \"off\", ohms = \"open\", between = [\"H1.a\", \"frame\"] }";
    assert_ne!(seen(&heater(open), "H1 to-frame"), Seen::Never);
}

#[test]
fn once_taken_the_best_check_has_nothing_to_add() {
    let taken = heater("{ setup = \"off\", ohms = 35.3, between = [\"H1.a\", \"H1.b\"] }");
    let foresight = foreseen(&refusing(taken, &["energised"]), "H1 bad-joint");
    assert!(matches!(foresight.taken.seen, Seen::From(_)) && foresight.available.is_none(), "{foresight:?}");
}

#[test]
fn what_is_refused_sees_nothing() {
    let job = refusing(heater(""), &["energised", "ohms", "microfarads"]);
    let found = diagnose(&job).unwrap();
    let list = foresights(&found);
    assert!(!list.is_empty() && list.iter().all(|foresight| foresight.available.is_none()));
    let lines = foresight_lines(&found, &list);
    assert!(lines.len() == 1 && lines[0].starts_with("no available check sees these at any size: "), "{lines:?}");
}
