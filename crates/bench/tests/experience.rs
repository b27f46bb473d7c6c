//! What a shop learns from its closed jobs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::Experience;
use bench::experience::{ExperienceError, PRIOR_PARTS};
use bench::job::read;

const DEMO: &str = include_str!("../../../demos/dough-proofer.toml");

fn closed(fault: &str) -> bench::Job {
    read("test", &format!("{DEMO}\n[repaired]\nwork = \"made new\"\nfaults = [\"{fault}\"]\n")).unwrap()
}

#[test]
fn a_fault_confirmed_often_gains_and_the_others_of_its_kind_lose() {
    let mut experience = Experience::default();
    for _ in 0..30 {
        assert!(experience.add(&closed("C1 open")));
    }
    let mut job = read("test", DEMO).unwrap();
    let moved = job.learn(&experience);
    for one in &moved {
        let fault = &job.unit.faults()[one.fault];
        assert_eq!(fault.mode.odds, one.learnt);
        if fault.label() == "C1 open" {
            // By hand: (50 o + 30) / (50 + 30).
            assert_eq!((one.confirmed, one.parts), (30, 30));
            assert!((one.learnt - (PRIOR_PARTS * one.listed + 30.0) / (PRIOR_PARTS + 30.0)).abs() < 1e-12);
            assert!(one.learnt > one.listed);
        } else {
            assert!(one.learnt < one.listed, "{}", fault.label());
        }
    }
    assert_eq!(moved.len(), job.unit.faults().len(), "every kind of this unit was seen");
}

#[test]
fn a_job_without_a_confirmed_cause_teaches_nothing() {
    let mut experience = Experience::default();
    assert!(!experience.add(&read("test", DEMO).unwrap()));
    assert!(experience.is_empty());
    let mut job = read("test", DEMO).unwrap();
    assert!(job.learn(&experience).is_empty());
}

#[test]
fn a_table_comes_back_as_it_went() {
    let mut experience = Experience::default();
    experience.add(&closed("C1 open"));
    experience.add(&closed("M1 bearing-drag"));
    let table = experience.to_csv();
    assert_eq!(Experience::from_csv(&table).unwrap(), experience);
    assert_eq!(Experience::from_csv(&format!("\u{feff}{}", table.replace('\n', "\r\n"))).unwrap(), experience);
}

#[test]
fn tables_that_cannot_be_name_their_line() {
    let header = "kind,fault,confirmed,parts seen\n";
    assert_eq!(Experience::from_csv("").unwrap_err(), ExperienceError::NoHeader);
    assert_eq!(Experience::from_csv("a,b\n").unwrap_err(), ExperienceError::NoHeader);
    let row = |text: &str| Experience::from_csv(&format!("{header}{text}")).unwrap_err();
    assert!(matches!(row("heater,open,three,4"), ExperienceError::Row { line: 2, .. }));
    assert!(matches!(row("heater,open,3"), ExperienceError::Row { line: 2, .. }));
    assert!(matches!(row("heater,open,-1,4"), ExperienceError::Row { line: 2, .. }));
    assert!(matches!(row("heater,open,5,4"), ExperienceError::Counts { line: 2, confirmed: 5, parts: 4 }));
    assert!(matches!(row("heater,open,1,4\nheater,open,1,4"), ExperienceError::Twice { line: 3, .. }));
    assert!(matches!(row("heater,open,1,4\nheater,shorted,1,5"), ExperienceError::Twice { line: 3, .. }));
    match row("resistance-heater,open,1,4\nheatr,open,1,4") {
        ExperienceError::Kind { line: 2, kind, .. } => assert_eq!(kind, "resistance-heater"),
        other => panic!("{other}"),
    }
    let slip = row("heatr,open,1,4").to_string();
    assert!(slip.contains("line 2: there is no kind 'heatr'; did you mean heater"), "{slip}");
}

#[test]
fn faults_that_no_part_of_a_unit_has_are_named() {
    let table =
        "kind,fault,confirmed,parts seen\nrun-capacitor,opne,1,4\nrun-capacitor,open,1,4\ntransformer,burnt,1,2\n";
    let job = read("test", DEMO).unwrap();
    // The proofer has no transformer: what is said of those does not concern it.
    assert_eq!(Experience::from_csv(table).unwrap().not_in(&job.unit), ["run-capacitor opne"]);
}
