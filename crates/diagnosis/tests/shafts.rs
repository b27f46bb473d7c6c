//! What a hand, a stop-watch and an eye tell of a motor, and what may stand behind one that failed before. Effects and
//! directions: common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Setup};
use common::{EXTRACTOR, POLISHER, job};
use diagnosis::checks::{Action, Hazard};
use diagnosis::recurrence::{Standing, recurrence};
use diagnosis::setup_table::expected;
use diagnosis::words::recurrence_lines;
use diagnosis::{Diagnosis, diagnose, next_checks};

/// A demo's unit with an unplugged setup more, and only these readings and symptoms.
fn unit(text: &str, readings: &str, symptoms: &str) -> Job {
    let list = |name: &str| {
        let list = &text[text.find(&format!("{name} = [")).unwrap()..];
        &list[..list.find("\n]").unwrap() + 2]
    };
    let parts = &text[text.find("[unit]").unwrap()..];
    let bare = "[setups.bare]\nsupply = \"off\"\n";
    let wires = list("wires");
    job(&format!("readings = [{readings}]\nsymptoms = [{symptoms}]\n{wires}\n{parts}\n{bare}"))
}

/// Odds of a single fault against nothing being wrong.
fn odds(found: &Diagnosis<'_>, label: &str) -> f64 {
    let unit = &found.evidence.job.unit;
    let set = Some(FaultSet(vec![unit.find_fault(label).unwrap_or_else(|| panic!("no fault {label}"))]));
    let probability = |set: &Option<FaultSet>| {
        found.suspects.iter().find(|suspect| &suspect.faults == set).map_or(0.0, |suspect| suspect.probability)
    };
    probability(&set) / probability(&Some(FaultSet::none()))
}

#[test]
fn words_about_a_shaft_point_where_they_should() {
    let bare = diagnose_of(&unit(POLISHER, "", ""));
    for (setup, word, label) in [
        ("bare", "stiff", "M1 bearing-drag"),
        ("bare", "does-not-turn", "M1 seized"),
        ("bare", "wobbles", "M1 bearing-worn"),
        ("running", "vibrates", "M1 out-of-balance"),
        ("running", "runs-backwards", "M1 brush-leads-interchanged"),
    ] {
        let job = unit(POLISHER, "", &format!("{{ setup = \"{setup}\", part = \"M1\", word = \"{word}\" }}"));
        let (before, after) = (bare[label], odds(&diagnose(&job).unwrap(), label));
        assert!(after > 3.0 * before, "{word}: {label} from {before} to {after}");
    }
    let job = unit(POLISHER, "", "{ setup = \"bare\", part = \"M1\", word = \"turns-freely\" }");
    let found = diagnose(&job).unwrap();
    for label in ["M1 bearing-drag", "M1 seized"] {
        let (before, after) = (bare[label], odds(&found, label));
        assert!(after < 0.7 * before, "turns freely: {label} from {before} to {after}");
    }
}

/// Odds of the faults of a shaft by label.
fn diagnose_of(job: &Job) -> std::collections::BTreeMap<&'static str, f64> {
    let found = diagnose(job).unwrap();
    let labels = [
        "M1 bearing-drag",
        "M1 seized",
        "M1 bearing-worn",
        "M1 out-of-balance",
        "M1 brush-leads-interchanged",
        "M1 drive-slips",
    ];
    labels.into_iter().map(|label| (label, odds(&found, label))).collect()
}

#[test]
fn a_fan_that_runs_backwards_has_two_lines_or_leads_interchanged() {
    let word = "{ setup = \"on\", part = \"M1\", word = \"runs-backwards\" }";
    let job = unit(EXTRACTOR, "", word);
    let found = diagnose(&job).unwrap();
    let interchanged = |label: &str| odds(&found, label);
    assert!(interchanged("M1 leads-interchanged") > 0.02 && interchanged("supply lines-interchanged") > 0.04);
    let leader = found.suspects.iter().find(|suspect| suspect.faults.as_ref().is_some_and(|set| !set.0.is_empty()));
    let first = leader.unwrap().faults.as_ref().unwrap().0[0];
    let name = &job.unit.faults()[first].mode.name;
    assert!(name.contains("interchanged"), "{name}");
}

/// What a sound motor's run-down would be, seconds.
fn usual_run_down(job: &Job, setup: &str, motor: &str) -> f64 {
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(&job.unit, &none)];
    let measure = Measure::RunDown(job.unit.find_part(motor).unwrap());
    expected(job, job.find_setup(setup).unwrap(), measure, &none, &medians).unwrap().value.unwrap()
}

#[test]
fn a_short_run_down_speaks_for_drag_and_a_long_one_for_a_lost_load() {
    let usual = usual_run_down(&unit(POLISHER, "", ""), "running", "M1");
    let of = |share: f64| {
        let reading = format!("{{ setup = \"running\", run_down_seconds = {}, of = \"M1\" }}", share * usual);
        diagnose_of(&unit(POLISHER, &reading, ""))
    };
    let (short, usual, long) = (of(0.2), of(1.0), of(2.5));
    assert!(short["M1 bearing-drag"] > 3.0 * usual["M1 bearing-drag"], "{short:?} {usual:?}");
    // How much there is to turn is known roughly, so a long one tells less.
    assert!(long["M1 drive-slips"] > 1.5 * usual["M1 drive-slips"], "{long:?} {usual:?}");
    assert!(short["M1 drive-slips"] < usual["M1 drive-slips"] && long["M1 bearing-drag"] < usual["M1 bearing-drag"]);
}

/// Two fans of one make on one cord.
const SISTERS: &str = r#"
wires = [
  { from = "cord.hot", to = "M1.run" },
  { from = "cord.hot", to = "M2.run" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "M2.common", to = "cord.neutral" },
]
[unit]
name = "Two fans"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.M1]
kind = "shaded-pole-motor"
make = "alike"
plate = { volts = 230, hertz = 50, amps = 0.3, rpm = 1300, poles = 4 }
[parts.M2]
kind = "shaded-pole-motor"
make = "alike"
plate = { volts = 230, hertz = 50, amps = 0.3, rpm = 1300, poles = 4 }
[setups.on]
supply = "on"
"#;

/// One run-down by itself may be that of a light fan; beside its sister's it cannot.
#[test]
fn between_sisters_the_ratio_of_the_run_downs_tells() {
    let usual = usual_run_down(&job(SISTERS), "on", "M1");
    let reading = |motor: &str, share: f64| {
        format!("{{ setup = \"on\", run_down_seconds = {}, of = \"{motor}\" }}", share * usual)
    };
    let drag = |readings: &str| {
        let job = job(&format!("readings = [{readings}]\n{SISTERS}"));
        odds(&diagnose(&job).unwrap(), "M2 bearing-drag")
    };
    let (alone, beside) = (drag(&reading("M2", 0.4)), drag(&format!("{}, {}", reading("M1", 1.0), reading("M2", 0.4))));
    assert!(beside > 3.0 * alone, "{alone} alone, {beside} beside its sister");
}

#[test]
fn turning_the_shaft_by_hand_is_proposed_for_a_slow_motor() {
    let job = unit(POLISHER, "", "{ setup = \"running\", part = \"M1\", word = \"slow\" }");
    let plan = next_checks(&diagnose(&job).unwrap(), 200);
    let spin = plan.checks.iter().find(|check| check.action == Action::Spin(job.unit.find_part("M1").unwrap()));
    let spin = spin.unwrap_or_else(|| panic!("{:?}", plan.checks.iter().map(|check| check.action).collect::<Vec<_>>()));
    assert_eq!((spin.hazard, &spin.setup), (Hazard::Isolated, &Setup::unplugged("unplugged")));
    assert_eq!(spin.outcomes.len(), 2);
}

/// A fan heater whose thermal fuse has gone, for the second time.
fn fused_heater(times: u32, symptoms: &str) -> Job {
    common::job(&format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "F1.a" }},
  {{ from = "F1.b", to = "H1.a" }},
  {{ from = "H1.b", to = "cord.neutral" }},
  {{ from = "cord.hot", to = "M1.run" }},
  {{ from = "M1.common", to = "cord.neutral" }},
]
readings = [{{ setup = "off", ohms = "open", between = ["F1.a", "F1.b"] }}]
symptoms = [{symptoms}]
[unit]
name = "Fan heater"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.F1]
kind = "thermal-fuse"
opens_celsius = 120
replaced_before = {times}
[parts.H1]
kind = "heater"
volts = 230
watts = 1500
[parts.M1]
kind = "shaded-pole-motor"
plate = {{ volts = 230, hertz = 50, amps = 0.3, rpm = 1300, poles = 4 }}
[heat]
streams = [{{ fan = "M1", passes = ["H1", "F1"] }}]
[setups.on]
supply = "on"
[setups.off]
supply = "off"
lifted = ["F1.a"]
"#
    ))
}

#[test]
fn a_part_that_failed_before_is_asked_for_its_reason() {
    let job = fused_heater(1, "");
    let found = diagnose(&job).unwrap();
    let again = recurrence(&found).expect("F1 has failed before");
    assert_eq!((again.place, again.times), (bench::Place::Part(job.unit.find_part("F1").unwrap()), 1));
    let standing = |again: &diagnosis::recurrence::Recurrence, words: &str| {
        again.conditions.iter().find(|(condition, _)| condition.words.contains(words)).map(|&(_, standing)| standing)
    };
    for words in ["the air that its fan moves", "hotter than the room", "too few volts", "too many volts", "heat of H1"]
    {
        assert_eq!(standing(&again, words), Some(Standing::Open), "{words}");
    }
    assert_eq!(standing(&again, "M1: the bearings drag"), Some(Standing::Open));
    let lines = recurrence_lines(&found);
    assert!(lines[0].contains("F1 has been replaced once before") && lines[1..].iter().all(|line| line.contains("; ")));
    // What a hand has felt excludes the bearings.
    let felt = "{ setup = \"off\", part = \"M1\", word = \"turns-freely\" }";
    let job = fused_heater(2, felt);
    let found = diagnose(&job).unwrap();
    assert_eq!(standing(&recurrence(&found).unwrap(), "M1: the bearings drag"), Some(Standing::Excluded));
    assert!(recurrence_lines(&found)[0].contains("2 times"));
    // One that has not failed before is not asked.
    assert!(recurrence_lines(&diagnose(&fused_heater(0, "")).unwrap()).is_empty());
}

#[test]
fn the_odds_of_what_acts_on_a_part_that_failed_before_are_raised_once() {
    let odds = |times: u32, label: &str| {
        let job = fused_heater(times, "");
        job.unit.faults()[job.unit.find_fault(label).unwrap()].mode.odds
    };
    for label in ["M1 air-blocked", "frame hot-surroundings", "supply low-volts", "M1 bearing-drag"] {
        for times in [1, 2] {
            let ratio = odds(times, label) / odds(0, label);
            assert!((ratio - bench::recurrence::RAISED_ODDS).abs() < 1e-12, "{label}: {ratio}");
        }
    }
    assert_eq!(odds(1, "F1 blown"), odds(0, "F1 blown"));
}
