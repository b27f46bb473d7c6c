//! Readings after a repair: what agrees, what tells, and what speaks against it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::diagnose;
use repair::after;

const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");

/// The demo with readings after the repair: the first live amps again, with a value.
fn judged(values: &[(&str, f64)]) -> Vec<repair::AfterReading> {
    let lines: Vec<String> = values.iter().map(|(line, value)| line.replace('@', &value.to_string())).collect();
    let text = format!("{DOUGH_PROOFER}\n[repaired]\nwork = \"made new\"\nreadings = [{}]\n", lines.join(","));
    let job = bench::job::read("test", &text).unwrap_or_else(|problems| panic!("{problems}"));
    let found = diagnose(&job).unwrap();
    let suspect = found.suspects.iter().find(|suspect| suspect.fit.is_some()).unwrap();
    after(&found, suspect).unwrap()
}

/// Every reading of the demo, as a line to be taken again.
fn lines() -> Vec<String> {
    let readings = DOUGH_PROOFER.lines().skip_while(|line| !line.starts_with("readings")).skip(1);
    readings
        .take_while(|line| !line.starts_with(']'))
        .map(|line| line.trim().trim_end_matches(',').to_owned())
        .collect()
}

#[test]
fn what_was_read_with_the_fault_does_not_prove_the_repair() {
    // The very readings that convicted the part, taken over as if after the repair.
    let text = format!("{DOUGH_PROOFER}\n[repaired]\nwork = \"made new\"\nreadings = [{}]\n", lines().join(","));
    let job = bench::job::read("test", &text).unwrap_or_else(|problems| panic!("{problems}"));
    let found = diagnose(&job).unwrap();
    let suspect = found.suspects.iter().find(|suspect| suspect.fit.is_some()).unwrap();
    let judged = after(&found, suspect).unwrap();
    assert_eq!(judged.len(), job.readings.len());
    assert!(judged.iter().any(|reading| reading.tells), "something must have told of the fault");
    assert!(judged.iter().filter(|reading| reading.tells).any(|reading| !reading.agrees));
    for reading in judged.iter().filter(|reading| !reading.tells) {
        assert!(reading.agrees, "what the fault does not move stays as it was: {reading:?}");
    }
}

#[test]
fn what_the_repaired_unit_should_show_agrees_and_a_tenth_of_it_does_not() {
    let Some(line) = lines().into_iter().find(|line| line.contains("amps")) else { panic!("no amps in the demo") };
    let (head, tail) = line.split_once("amps = ").unwrap();
    let (_, rest) = tail.split_once(',').unwrap();
    let line = format!("{head}amps = @,{rest}");
    let expected = judged(&[(&line, 1.0)])[0].predicted;
    let found = judged(&[(&line, (100.0 * expected).round() / 100.0), (&line, expected / 10.0)]);
    assert!(found[0].agrees, "{:?}", found[0]);
    assert!(!found[1].agrees, "{:?}", found[1]);
}
