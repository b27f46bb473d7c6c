//! The demo jobs: the right verdict, the right next check, and an explanation that comes out of the solved circuit.
//!
//! The data of the demos are invented with one fault in mind each; what is held here is that the program finds it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::{FaultSet, Job, Measure, Value, observe_values};
use diagnosis::checks::{Action, Hazard};
use diagnosis::flows::consequences;
use diagnosis::setup_table::setup_table;
use diagnosis::{Diagnosis, diagnose, next_checks};

fn job(text: &str) -> Job {
    bench::job::read("demo", text).unwrap()
}

fn air_curtain() -> Job {
    job(include_str!("../../../demos/air-curtain.toml"))
}

/// The air curtain as it was before anybody unplugged it.
fn air_curtain_energised_only() -> Job {
    let mut job = air_curtain();
    job.readings.retain(|reading| job.setups[reading.setup].energised);
    assert_eq!(job.readings.len(), 7);
    job
}

fn leading_faults(found: &Diagnosis<'_>) -> Vec<String> {
    let faults = found.suspects[0].faults.as_ref().unwrap();
    faults.0.iter().map(|&fault| found.evidence.job.unit.faults()[fault].label()).collect()
}

fn repair_share(found: &Diagnosis<'_>, repair: &str) -> f64 {
    found.repairs.iter().find(|share| share.repair == repair).map_or(0.0, |share| share.probability)
}

#[test]
fn each_demo_convicts_the_part_its_data_were_made_with() {
    for (text, fault, least) in [
        (include_str!("../../../demos/air-curtain.toml"), "M2 common-open", 0.9),
        (include_str!("../../../demos/dough-proofer.toml"), "C1 open", 0.5),
        (include_str!("../../../demos/drying-cabinet.toml"), "F1 blown", 0.8),
    ] {
        let job = job(text);
        let found = diagnose(&job).unwrap();
        assert_eq!(leading_faults(&found), [fault]);
        assert!(found.suspects[0].probability > least, "{fault}: {}", found.suspects[0].probability);
        assert!(found.questionable_readings().is_empty());
    }
}

#[test]
fn the_open_common_leads_on_the_energised_readings_alone() {
    let job = air_curtain_energised_only();
    let found = diagnose(&job).unwrap();
    assert_eq!(leading_faults(&found), ["M2 common-open"]);
    // Its own return wire, broken, would read the same: the program must not claim more than that.
    assert!(found.suspects[0].probability < 0.9);
}

#[test]
fn the_first_ohms_check_then_settles_it() {
    let mut job = air_curtain_energised_only();
    let truth = FaultSet(vec![job.unit.find_fault("M2 common-open").unwrap()]);
    let (measure, setup, shown) = {
        let found = diagnose(&job).unwrap();
        let plan = next_checks(&found, 1);
        let check = &plan.checks[0];
        assert_eq!(check.hazard, Hazard::Isolated);
        let Action::Read(measure @ Measure::Ohms(..)) = check.action else { panic!("{:?}", check.action) };
        let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &truth)];
        let shown = observe_values(&job.unit, &check.setup, &truth, &medians, |observed| {
            observed.value(measure, &job.meters[0]).unwrap()
        })
        .unwrap();
        (measure, check.setup.clone(), shown)
    };
    let before = repair_share(&diagnose(&job).unwrap(), "replace the motor M2");
    job.setups.push(setup);
    let value = if shown.is_finite() { Value::Number(shown) } else { Value::Open };
    let setup = job.setups.len() - 1;
    job.readings.push(bench::Reading { setup, measure, value, meter: 0, line: 0 });
    let found = diagnose(&job).unwrap();
    let after = repair_share(&found, "replace the motor M2");
    assert_eq!(leading_faults(&found), ["M2 common-open"]);
    assert!(after > before, "{before} to {after}");
    // The wire is out of the question; what is left are companions of the open common.
    let wire = job.unit.find_fault("M2.common~cord.neutral broken").unwrap();
    let with_wire: f64 = found
        .suspects
        .iter()
        .filter(|suspect| suspect.faults.as_ref().is_some_and(|faults| faults.0.contains(&wire)))
        .map(|suspect| suspect.probability)
        .sum();
    assert!(with_wire < 0.02, "{with_wire}");
    let with_motor: f64 = found
        .suspects
        .iter()
        .filter(|suspect| suspect.repair.contains("replace the motor M2"))
        .map(|suspect| suspect.probability)
        .sum();
    assert!(with_motor > 0.95, "{with_motor}");
}

#[test]
fn the_sound_twin_is_found_to_feed_the_broken_one() {
    let job = air_curtain();
    let found = diagnose(&job).unwrap();
    let what = consequences(&found, &found.suspects[0]).unwrap();
    let (m1, m2) = (job.unit.find_part("M1").unwrap(), job.unit.find_part("M2").unwrap());
    let fed = &what.fed_backwards[0];
    assert_eq!((fed.giver, fed.taker.as_ref().unwrap().0), (m1, m2));
    assert!(fed.watts > 1.0 && fed.sound_watts.abs() < 0.5);
    assert!(what.runs_hotter.iter().any(|hot| hot.part == m1 && hot.heat > 1.25 * hot.sound_heat));
    // Nothing of the kind is said of the sound unit.
    let sound = found.suspects.iter().find(|s| s.faults.as_ref().is_some_and(|faults| faults.0.is_empty())).unwrap();
    assert!(consequences(&found, sound).unwrap().fed_backwards.is_empty());
}

#[test]
fn a_reading_that_nothing_explains_is_named_and_convicts_nobody() {
    let mut job = job(include_str!("../../../demos/drying-cabinet.toml"));
    // 226.8 V at the switched side of the fuse becomes 5 V: no fault of the unit leaves it there.
    let line = job.readings.iter().position(|reading| reading.value == Value::Number(226.8)).unwrap();
    job.readings[line].value = Value::Number(5.0);
    let found = diagnose(&job).unwrap();
    assert_eq!(found.questionable_readings().first().map(|&(reading, _)| reading), Some(line));
    assert_eq!(leading_faults(&found), ["F1 blown"]);
}

#[test]
fn readings_that_all_defy_every_fault_raise_the_unknown() {
    let mut job = job(include_str!("../../../demos/dough-proofer.toml"));
    for reading in &mut job.readings {
        reading.value = match reading.measure {
            Measure::Ohms(..) => Value::Number(90_000.0),
            Measure::Volts(..) => Value::Number(61.0),
            Measure::Rpm(_) => Value::Number(3333.0),
            _ => Value::Number(27.0),
        };
    }
    let found = diagnose(&job).unwrap();
    let unknown = found.suspects.iter().find(|suspect| suspect.faults.is_none()).unwrap();
    assert!(unknown.probability > 0.5, "{}", unknown.probability);
    assert!(found.suspects.iter().all(|suspect| suspect.probability.is_finite()));
}

#[test]
fn without_readings_the_odds_are_all_there_is() {
    let mut job = air_curtain();
    job.readings.clear();
    job.symptoms.clear();
    let found = diagnose(&job).unwrap();
    let chance = |label: &str| {
        let fault = job.unit.find_fault(label).unwrap();
        let is = |suspect: &&diagnosis::Suspect| suspect.faults.as_ref().is_some_and(|faults| faults.0 == [fault]);
        found.suspects.iter().find(is).unwrap().probability
    };
    let odds = |label: &str| job.unit.faults()[job.unit.find_fault(label).unwrap()].mode.odds;
    // Every fault is silent: single probabilities stand as the odds do, but for what may hide beside each.
    let (a, b) = ("C1 low", "M1 common-open");
    let ratio = chance(a) / chance(b);
    assert!((ratio / (odds(a) / odds(b)) - 1.0).abs() < 0.1, "{ratio}");
    assert!(!next_checks(&found, 1).checks.is_empty());
}

#[test]
fn every_check_carries_its_cautions() {
    for text in [
        include_str!("../../../demos/air-curtain.toml"),
        include_str!("../../../demos/dough-proofer.toml"),
        include_str!("../../../demos/drying-cabinet.toml"),
    ] {
        let mut job = job(text);
        job.readings.truncate(2);
        let found = diagnose(&job).unwrap();
        let plan = next_checks(&found, 40);
        assert!(plan.checks.len() > 3);
        for check in &plan.checks {
            let first = &check.cautions[0];
            let right = if check.setup.energised { first.starts_with("LIVE") } else { first.contains("prove dead") };
            assert!(right, "{first}");
            assert_eq!(check.hazard == Hazard::Isolated, !check.setup.energised);
            let bridged =
                check.setup.jumpers.iter().any(|&(a, _)| job.unit.parts()[job.unit.part_of(a)].kind.is_protector());
            assert_eq!(bridged, check.cautions.iter().any(|caution| caution.contains("protector is bridged")));
        }
    }
}

#[test]
fn an_energised_check_never_goes_before_an_isolated_one_that_tells_nearly_as_much() {
    let job = air_curtain_energised_only();
    let found = diagnose(&job).unwrap();
    let plan = next_checks(&found, 40);
    let first = &plan.checks[0];
    let best_isolated =
        plan.checks.iter().filter(|check| check.hazard == Hazard::Isolated).map(|check| check.bits).fold(0.0, f64::max);
    assert!(first.hazard == Hazard::Isolated || best_isolated < 0.8 * first.bits);
}

#[test]
fn spreads_of_a_setup_are_finite_and_sound_twins_alike() {
    let job = air_curtain();
    let none = FaultSet::none();
    let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &none)];
    for setup in 0..job.setups.len() {
        let table = setup_table(&job, setup, &none, &medians).unwrap();
        assert!(table.terminals.iter().all(|row| row.volts.spread.is_finite()));
        assert!(table.elements.iter().all(|row| row.watts.spread.is_finite() && row.amps.spread.is_finite()));
        assert!(table.ohms.iter().all(|row| row.ohms.spread.is_finite()));
        if let [first, second] = &table.motors[..] {
            assert!((first.rpm.value.unwrap() - second.rpm.value.unwrap()).abs() < 1e-6);
            assert!(first.rpm.spread > 1.0, "a nameplate leaves the speed uncertain");
        }
    }
}
