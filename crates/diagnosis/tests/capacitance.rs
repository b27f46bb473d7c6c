//! A capacitance among the readings: when it is asked for, and what it says. Units and readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Measure, Reading, Setup, Value};
use common::{DOUGH_PROOFER, faults, job, labels, probability_of, shown, true_value};
use diagnosis::checks::{Action, Hazard};
use diagnosis::misreadings::{Misreading, misreading_words, misreadings};
use diagnosis::{Diagnosis, diagnose, next_checks};

/// The proofer with one more setup, in which the wires of C1 are off.
fn proofer() -> Job {
    job(&format!("{DOUGH_PROOFER}\n[setups.\"wires off C1\"]\nsupply = \"off\"\nlifted = [\"C1.a\", \"C1.b\"]\n"))
}

fn capacitance(job: &Job) -> Measure {
    let [a, b] = ["C1.a", "C1.b"].map(|end| job.unit.find_terminal(end).unwrap());
    Measure::Microfarads(a, b)
}

fn reading(job: &Job, value: Value) -> Reading {
    let setup = job.find_setup("wires off C1").unwrap();
    Reading { setup, measure: capacitance(job), value, meter: 0, line: 0, round: Vec::new() }
}

/// What the capacitor has left of its microfarads in the invented fault.
const LEFT: f64 = 0.45;

/// The same unit with a capacitor that has lost more than half: the live readings of the demo anew, none that decides.
fn weak() -> Job {
    let mut job = proofer();
    let set = faults(&job, &["C1 low"]);
    let mut deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &set)];
    let size = bench::wiring::severity_unknown(&job.unit, &set, 0).unwrap();
    let severity = job.unit.faults()[set.0[0]].mode.severity.clone().unwrap();
    deviations[size] = severity.deviation(1.0 - LEFT).unwrap();
    let live = job.find_setup("proofing").unwrap();
    let templates: Vec<Reading> = job.readings.iter().filter(|reading| reading.setup == live).cloned().collect();
    job.readings =
        templates.iter().map(|template| shown(&job, template, true_value(&job, template, &set, &deviations))).collect();
    job.symptoms.clear();
    job
}

fn leading(found: &Diagnosis<'_>) -> String {
    labels(found.evidence.job, found.suspects[0].faults.as_ref().unwrap())
}

#[test]
fn it_is_asked_for_where_a_capacitor_is_suspected() {
    let job = weak();
    let found = diagnose(&job).unwrap();
    let plan = next_checks(&found, 5);
    let list: Vec<String> = plan.checks.iter().map(|check| diagnosis::words::action_words(&found, check)).collect();
    let check = plan.checks.iter().find(|check| check.action == Action::Read(capacitance(&job)));
    let check = check.unwrap_or_else(|| panic!("{} {list:#?}", leading(&found)));
    assert_eq!(diagnosis::words::action_words(&found, check), "measure microfarads C1.a to C1.b");
    assert_eq!(check.hazard, Hazard::Isolated);
    // The rest is taking two wires off.
    assert!((check.cost.own - 1.0).abs() < 1e-9 && check.minutes > 2.0, "{:?}", check.cost);
    assert!(check.cautions.iter().any(|caution| caution.contains("Discharge every capacitor")), "{:?}", check.cautions);
    let total: f64 = check.outcomes.iter().map(|outcome| outcome.probability).sum();
    assert!((total - 1.0).abs() < 1e-6, "{total}");
}

#[test]
fn it_is_never_asked_for_through_windings() {
    let job = weak();
    let found = diagnose(&job).unwrap();
    for check in next_checks(&found, 50).checks {
        if let Action::Read(Measure::Microfarads(a, b)) = check.action {
            let Setup { lifted, energised, .. } = &check.setup;
            assert!(!energised && (lifted.contains(&a) || lifted.contains(&b)), "{}", check.setup.name);
        }
    }
}

#[test]
fn what_it_shows_decides() {
    let mut job = weak();
    job.readings.push(reading(&job, Value::Number((6.0 * LEFT * 100.0).round() / 100.0)));
    let found = diagnose(&job).unwrap();
    let says = probability_of(&found, "C1 low") + probability_of(&found, "C1 wrong-value");
    assert!(says > 0.95, "{says}: {}", leading(&found));

    // The demo's own readings leave its leads in question; nothing at all across the capacitor leaves none.
    let mut open = proofer();
    open.readings.push(reading(&open, Value::Number(0.0)));
    let found = diagnose(&open).unwrap();
    assert!(probability_of(&found, "C1 open") > 0.95, "{}", leading(&found));

    // And its full microfarads send to the leads.
    let mut sound = proofer();
    sound.readings.push(reading(&sound, Value::Number(6.02)));
    let found = diagnose(&sound).unwrap();
    let leads = probability_of(&found, "start lead broken") + probability_of(&found, "C1.b~M1.run broken");
    assert!(probability_of(&found, "C1 open") < 0.05 && leads > 0.8, "{leads}: {}", leading(&found));

    // Over range is a short, alone with no other reading.
    let mut shorted = proofer();
    shorted.readings = vec![reading(&shorted, Value::Open)];
    shorted.symptoms.clear();
    let found = diagnose(&shorted).unwrap();
    assert_eq!(leading(&found), "C1 shorted");
}

#[test]
fn slips_at_a_capacitance_are_named() {
    // Sound readings about it, so that 6 nF where 6 uF belong is the one that is doubted.
    let mut job = proofer();
    let set = bench::FaultSet::none();
    let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &set)];
    let templates = job.readings.clone();
    job.readings =
        templates.iter().map(|reading| shown(&job, reading, true_value(&job, reading, &set, &deviations))).collect();
    job.symptoms.clear();
    let setup = job.find_setup("proofing").unwrap();
    let word = |part: &str, word| bench::Symptom { setup, part: job.unit.find_part(part).unwrap(), word, line: 0 };
    job.symptoms = vec![word("M1", bench::Word::Normal)];
    for (value, slip, words) in [
        (Value::Number(0.006), Misreading::Factor(0.001), "nanofarads taken for microfarads"),
        (Value::Number(60.0), Misreading::Factor(10.0), "a slip of the decimal point"),
        (Value::Open, Misreading::Charged, "a charge that was left in it"),
    ] {
        job.readings.truncate(templates.len());
        job.readings.push(reading(&job, value));
        let last = job.readings.len() - 1;
        let found = diagnose(&job).unwrap();
        assert!(found.questionable_readings().iter().any(|&(index, _)| index == last), "{value:?}");
        assert_eq!(misreadings(&found, last).first(), Some(&slip), "{value:?}");
        let text = misreading_words(&found, last, &slip);
        assert!(text.contains(words), "{text}");
    }
}
