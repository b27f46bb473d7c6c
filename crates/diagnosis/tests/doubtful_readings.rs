//! Slips that are named at a doubtful reading, and what taking a reading again does. Units and readings are invented;
//! predictions by Ohm's law.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Measure};
use common::job;
use diagnosis::checks::Action;
use diagnosis::misreadings::{Misreading, misreadings};
use diagnosis::{Diagnosis, diagnose, next_checks};

/// Two elements of 52.9 and 105.8 ohm (230 V, 1000 and 500 W) with a switch that puts the second one in, and many good
/// readings beside the one in question, which comes first.
fn cabinet(reading: &str) -> Job {
    job(&format!(
        "wires = [{{ from = \"supply.hot\", to = \"H1.a\" }}, {{ from = \"H1.b\", to = \"supply.neutral\" }},\n\
         {{ from = \"supply.hot\", to = \"S.in\" }}, {{ from = \"S.out\", to = \"H2.a\" }},\n\
         {{ from = \"H2.b\", to = \"supply.neutral\" }}]\n\
         readings = [{reading},\n\
         {{ setup = \"low\", amps = 4.33, through = \"H1.a\" }}, {{ setup = \"high\", amps = 2.16, through = \"H2.a\" }},\n\
         {{ setup = \"high\", volts = 229, between = [\"H1.a\", \"H1.b\"] }},\n\
         {{ setup = \"high\", volts = 229, between = [\"H2.a\", \"H2.b\"] }}]\n\
         symptoms = [{{ setup = \"high\", part = \"H1\", word = \"normal\" }}, {{ setup = \"high\", part = \"H2\", word = \"normal\" }}]\n\
         [unit]\nname = \"cabinet\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.S]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"in\", \"out\"]]\n\
         [parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 1000\n[parts.H2]\nkind = \"heater\"\nvolts = 230\nwatts = 500\n\
         [setups.low]\nsupply = \"on\"\n[setups.high]\nsupply = \"on\"\npositions = {{ S = \"on\" }}\n\
         [setups.off]\nsupply = \"off\"\nlifted = [\"H1.a\", \"H1.b\"]\n"
    ))
}

/// The first reading is doubted, and these slips are named at it.
fn slips(found: &Diagnosis<'_>) -> Vec<Misreading> {
    let doubted = found.questionable_readings().iter().any(|&(reading, _)| reading == 0);
    assert!(doubted, "{:?}", found.reading_doubt);
    misreadings(found, 0)
}

#[test]
fn a_decimal_point_is_seen_to_have_slipped() {
    let job = cabinet("{ setup = \"off\", ohms = 529, between = [\"H1.a\", \"H1.b\"] }");
    let found = diagnose(&job).unwrap();
    assert_eq!(slips(&found)[0], Misreading::Factor(10.0));
    let lines = diagnosis::words::doubt_words(&found, 0, found.reading_doubt[0]);
    assert!(lines.contains("52.90 ohm would fit"), "{lines}");
}

#[test]
fn a_reading_of_another_setup_is_recognised() {
    // Through the supply: 4.33 A with one element, 6.5 A with both.
    let off = "{ setup = \"low\", volts = 0.0, between = [\"H2.a\", \"H2.b\"] }";
    let job = cabinet(&format!("{{ setup = \"low\", amps = 6.5, through = \"supply.hot\" }}, {off}"));
    let found = diagnose(&job).unwrap();
    let high = job.find_setup("high").unwrap();
    assert!(slips(&found).contains(&Misreading::OtherSetup(high)), "{:?}", slips(&found));
}

#[test]
fn open_on_a_sound_element_was_a_probe_without_contact() {
    let job = cabinet("{ setup = \"off\", ohms = \"open\", between = [\"H1.a\", \"H1.b\"] }");
    let found = diagnose(&job).unwrap();
    assert_eq!(slips(&found), [Misreading::NoContact]);
}

#[test]
fn a_right_reading_has_no_slip() {
    let job = cabinet("{ setup = \"off\", ohms = 52.9, between = [\"H1.a\", \"H1.b\"] }");
    let found = diagnose(&job).unwrap();
    assert!(found.questionable_readings().is_empty());
}

#[test]
fn taken_again_and_found_alike_a_reading_is_trusted_more_and_counts_once() {
    // An element that reads 20 % high: misread, or another one is fitted. The same figure again speaks against misread.
    let reading = "{ setup = \"off\", ohms = 75, between = [\"H1.a\", \"H1.b\"] }";
    let (once, twice) = (cabinet(reading), cabinet(&format!("{reading}, {reading}")));
    let (once, twice) = (diagnose(&once).unwrap(), diagnose(&twice).unwrap());
    assert_eq!(
        (once.evidence.data.len() + 1, once.evidence.data.len()),
        (twice.evidence.job.readings.len(), twice.evidence.data.len())
    );
    // Both must be misread alike, which is as much rarer as a misreading is: once in 33 (3 %).
    let odds = |found: &Diagnosis<'_>| found.reading_doubt[0] / (1.0 - found.reading_doubt[0]);
    let rarer = odds(&once) / odds(&twice);
    assert!((25.0..45.0).contains(&rarer), "{rarer}");
}

#[test]
fn what_was_read_and_is_not_doubted_is_not_asked_for_again() {
    let job = cabinet("{ setup = \"off\", ohms = 52.9, between = [\"H1.a\", \"H1.b\"] }");
    let found = diagnose(&job).unwrap();
    let taken: Vec<Measure> = job.readings.iter().map(|reading| reading.measure).collect();
    for check in next_checks(&found, 50).checks {
        let Action::Read(measure) = check.action else { continue };
        let again = job.readings.iter().any(|reading| {
            reading.measure.is_of_one_place(measure) && job.setups[reading.setup].name == check.setup.name
        });
        assert!(!again, "{measure:?} in {} again, of {taken:?}", check.setup.name);
    }
}
