//! Three faults at once are found where two of them are not enough.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::job;
use diagnosis::diagnose;
use std::fmt::Write;

/// An invented wall of four heaters in parallel, each measured with its wire off.
fn wall(ohms: [&str; 4], amps: f64) -> String {
    let mut text = String::from("wires = [\n");
    for heater in 1..=4 {
        writeln!(
            text,
            "{{ from = \"cord.hot\", to = \"H{heater}.a\" }}, {{ from = \"H{heater}.b\", to = \"cord.neutral\" }},"
        )
        .unwrap();
    }
    write!(text, "]\nreadings = [\n{{ setup = \"on\", amps = {amps}, through = \"cord.hot\" }},\n").unwrap();
    for (place, ohms) in ohms.iter().enumerate() {
        let heater = place + 1;
        writeln!(text, "{{ setup = \"H{heater} off\", ohms = {ohms}, between = [\"H{heater}.a\", \"H{heater}.b\"] }},")
            .unwrap();
    }
    text += "]\n[unit]\nname = \"Wall of heaters\"\nnote = \"Invented for a test.\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.cord]\nkind = \"cord\"\n[setups.on]\nsupply = \"on\"\n";
    for heater in 1..=4 {
        write!(
            text,
            "[parts.H{heater}]\nkind = \"heater\"\nvolts = 230\nwatts = 500\n[setups.\"H{heater} off\"]\nsupply = \"off\"\nlifted = [\"H{heater}.a\"]\n"
        )
        .unwrap();
    }
    text
}

#[test]
fn three_open_elements_are_three_open_elements() {
    let job = job(&wall(["\"open\"", "\"open\"", "\"open\"", "105.8"], 2.17));
    let found = diagnose(&job).unwrap();
    let open: Vec<usize> =
        ["H1 open", "H2 open", "H3 open"].iter().map(|label| job.unit.find_fault(label).unwrap()).collect();
    let first = &found.suspects[0];
    let faults = first.faults.as_ref().unwrap();
    assert!(open.iter().all(|fault| faults.0.contains(fault)), "{:?} {}", faults, first.probability);
    assert!(found.work.triple_fits > 0, "{:?}", found.work);
    for place in 1..=3 {
        let share = found.needed.iter().find(|share| share.repair.contains(&format!("H{place}"))).unwrap();
        assert!(share.probability > 0.9, "{share:?}");
    }
}

#[test]
fn two_open_elements_stay_two() {
    let job = job(&wall(["\"open\"", "\"open\"", "105.6", "105.8"], 4.34));
    let found = diagnose(&job).unwrap();
    assert_eq!(found.suspects[0].faults.as_ref().unwrap().0.len(), 2);
    let three: f64 = found
        .suspects
        .iter()
        .filter(|suspect| suspect.faults.as_ref().is_some_and(|faults| faults.0.len() > 2))
        .map(|suspect| suspect.probability)
        .sum();
    assert!(three < 0.2, "{three}");
}
