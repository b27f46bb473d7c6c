//! What becomes of jobs that ask too much: very many readings, none, contradictory ones, all wrong, far too many parts.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{DOUGH_PROOFER, Random, job};
use diagnosis::next::words::standing_words;
use diagnosis::plan::words::summary_lines;
use diagnosis::plan::{Limits, Next, plan as plan_of};
use diagnosis::repairs::UNKNOWN_REPAIR;
use diagnosis::verdict::verdict;
use diagnosis::words::verdict_lines;
use diagnosis::{Diagnosis, diagnose, next_checks};
use std::fmt::Write;

/// An invented heater with a cutout, with these readings.
fn heater(readings: &str) -> String {
    format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "K1.a" }},
  {{ from = "K1.b", to = "H1.a" }},
  {{ from = "H1.b", to = "cord.neutral" }},
]
readings = [{readings}]
[unit]
name = "Heater"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.K1]
kind = "thermal-cutout"
opens_celsius = 110
[parts.H1]
kind = "heater"
volts = 230
watts = 2000
[setups.on]
supply = "on"
[setups.off]
supply = "off"
"#
    )
}

fn sums_to_one(found: &Diagnosis<'_>) {
    let sum: f64 = found.suspects.iter().map(|suspect| suspect.probability).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    assert!(found.suspects.iter().all(|suspect| suspect.probability.is_finite()));
    assert!(found.reading_doubt.iter().all(|doubt| (0.0..=1.0).contains(doubt)));
}

#[test]
fn five_hundred_readings_are_weighed_and_agree_with_what_they_say() {
    // Element of 26.45 ohm; ohms of a tenth around it, watts of the whole around 2000, all as a meter would scatter.
    let mut random = Random(11);
    let mut readings = String::new();
    for place in 0..250 {
        let ohms = 26.5 + 0.4 * random.normal() + 1e-4 * f64::from(place);
        let amps = 8.65 + 0.1 * random.normal() + 1e-4 * f64::from(place);
        write!(
            readings,
            "{{ setup = \"off\", ohms = {ohms:.4}, between = [\"H1.a\", \"H1.b\"] }}, \
             {{ setup = \"on\", amps = {amps:.4}, through = \"H1.a\" }}, "
        )
        .unwrap();
    }
    let job = job(&heater(&readings));
    assert_eq!(job.readings.len(), 500);
    let found = diagnose(&job).unwrap();
    sums_to_one(&found);
    let open = job.unit.find_fault("H1 open").unwrap();
    let convicted: f64 = found
        .suspects
        .iter()
        .filter(|suspect| suspect.faults.as_ref().is_some_and(|set| set.0.contains(&open)))
        .map(|suspect| suspect.probability)
        .sum();
    assert!(convicted < 1e-6, "an element of 26 ohms that draws its amps is not open: {convicted}");
}

#[test]
fn readings_that_contradict_each_other_are_doubted_not_believed() {
    let job = job(&heater(
        r#"{ setup = "off", ohms = 26.5, between = ["H1.a", "H1.b"] }, { setup = "off", ohms = "open", between = ["H1.a", "H1.b"] }"#,
    ));
    let found = diagnose(&job).unwrap();
    sums_to_one(&found);
    let doubt: f64 = found.reading_doubt.iter().sum();
    assert!((0.9..1.5).contains(&doubt), "one of the two must be wrong: {:?}", found.reading_doubt);
}

#[test]
fn where_all_readings_are_nonsense_no_part_is_convicted() {
    let job = job(&heater(
        r#"{ setup = "off", ohms = 3.1, between = ["H1.a", "H1.b"] }, { setup = "on", volts = 71, between = ["H1.a", "H1.b"] },
           { setup = "on", amps = 0.4, through = "H1.a" }, { setup = "on", watts = 5000, of = "cord" },
           { setup = "off", ohms = 900, between = ["K1.a", "H1.b"] }"#,
    ));
    let found = diagnose(&job).unwrap();
    sums_to_one(&found);
    // What is left is to look again: none of the known faults.
    let unknown = found.suspects.iter().find(|suspect| suspect.faults.is_none()).unwrap();
    assert!(unknown.probability > 0.5, "{}", unknown.probability);
    // That ends nothing: they cannot all be right, so they are taken again before anything is repaired or proved.
    assert_eq!(found.repairs[0].repair, UNKNOWN_REPAIR);
    assert!(found.settled().is_none(), "{:?}", found.settled());
    let verdict = verdict(&found);
    let again = &verdict.unexplained.as_ref().unwrap().again;
    // What is taken again can be taken with the supply off first.
    let live = |&reading: &usize| job.setups[found.evidence.taken[reading].setup].energised;
    assert!(again.len() >= 3 && again.is_sorted_by_key(live) && !live(&again[0]), "{again:?}");
    let plan = next_checks(&found, 3);
    assert!(plan.unexplained && plan.settled.is_none());
    let said = verdict_lines(&found, &verdict, Some(&plan)).join("\n") + standing_words(&plan).unwrap();
    assert!(said.contains("cannot all be right") && said.contains("Take again first: line"), "{said}");
    for end in ["is done", "prove the repair", "prove it by"] {
        assert!(!said.contains(end), "{said}");
    }
    let whole = plan_of(&found, Limits::default()).unwrap();
    assert!(!matches!(whole.root.next, Next::Settled { .. }), "{:?}", whole.root);
    let said = summary_lines(&found, &whole).join("\n");
    assert!(said.contains("cannot all be right"), "{said}");
}

#[test]
fn without_any_reading_there_are_priors_and_a_safe_first_check() {
    let mut bare = job(DOUGH_PROOFER);
    bare.readings.clear();
    bare.symptoms.clear();
    let found = diagnose(&bare).unwrap();
    sums_to_one(&found);
    let plan = next_checks(&found, 1);
    assert!(!plan.checks[0].setup.energised, "{:?}", plan.checks[0]);
}

#[test]
fn a_unit_of_a_thousand_parts_is_refused_in_words() {
    let mut parts = String::new();
    for number in 0..1000 {
        writeln!(parts, "[parts.H{number}]\nkind = \"heater\"\nvolts = 230\nwatts = 20").unwrap();
    }
    let text = format!(
        "wires = []\n[unit]\nname = \"Wall of heaters\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.cord]\nkind = \"cord\"\n{parts}"
    );
    let problems = bench::job::read("test", &text).unwrap_err();
    let said = problems.to_string();
    assert!(said.contains("600"), "{}", said.lines().next().unwrap_or_default());
}
