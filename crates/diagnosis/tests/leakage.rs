//! Findings that rest on what leaks. The units and their readings are invented; what is checked against is the trade's
//! experience (common practice, no source): a heater that trips the earth-leakage trip and reads kilohms to its sheath is
//! damp or broken through; good insulation accuses nobody; stray volts on unearthed metal are no leak, a tingle is.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Measure};
use common::job;
use diagnosis::{Diagnosis, diagnose, next_checks};

/// A warm-air unit; `extra` lists come first.
fn unit(extra: &str, earth: bool) -> Job {
    let earth = if earth { "{ from = \"cord.earth\", to = \"frame\", label = \"earth\" }," } else { "" };
    job(&format!(
        r#"{extra}
wires = [
  {{ from = "cord.hot", to = "S.in" }},
  {{ from = "S.out", to = "H1.a" }},
  {{ from = "S.out", to = "M1.run" }},
  {{ from = "H1.b", to = "cord.neutral" }},
  {{ from = "M1.common", to = "cord.neutral" }},
  {earth}
]

[unit]
name = "Warm-air unit"
note = "Invented data."

[parts.supply]
kind = "supply"
volts = 230
hertz = 50
residual_trip_milliamps = 30

[parts.cord]
kind = "cord"

[parts.S]
kind = "switch"
positions.off = []
positions.on = [["in", "out"]]

[parts.H1]
kind = "heater"
volts = 230
watts = 1500

[parts.M1]
kind = "shaded-pole-motor"
plate = {{ volts = 230, hertz = 50, amps = 0.3, rpm = 1300 }}

[setups.on]
supply = "on"
positions = {{ S = "on" }}

[setups.unplugged]
supply = "off"

[setups."heater off its wires"]
supply = "off"
lifted = ["H1.a", "H1.b"]

[setups."fan off its wires"]
supply = "off"
lifted = ["M1.run", "M1.common"]

[meters.tester]
ohms = {{ percent = 3, counts = 5, count = "10k" }}
ohms_limit = "1000M"
"#
    ))
}

/// Probability of all suspects with a fault of that part among theirs.
fn of_part(found: &Diagnosis<'_>, part: &str) -> f64 {
    let unit = &found.evidence.job.unit;
    let names_it = |&fault: &usize| unit.faults()[fault].place_name == part;
    let has_it = |faults: &Option<bench::FaultSet>| faults.as_ref().is_some_and(|faults| faults.0.iter().any(names_it));
    found.suspects.iter().filter(|suspect| has_it(&suspect.faults)).map(|suspect| suspect.probability).sum()
}

/// Probability of all suspects whose faults have one of these names.
fn of_faults(found: &Diagnosis<'_>, names: &[&str]) -> f64 {
    let unit = &found.evidence.job.unit;
    let is_one = |&fault: &usize| names.contains(&unit.faults()[fault].mode.name.as_str());
    let has_it = |faults: &Option<bench::FaultSet>| faults.as_ref().is_some_and(|faults| faults.0.iter().any(is_one));
    found.suspects.iter().filter(|suspect| has_it(&suspect.faults)).map(|suspect| suspect.probability).sum()
}

/// A probability over that of a sound unit: what is ruled out elsewhere makes neither of them likelier.
fn against_sound(found: &Diagnosis<'_>, probability: f64) -> f64 {
    let sound = |faults: &Option<bench::FaultSet>| faults.as_ref().is_some_and(|faults| faults.0.is_empty());
    let sound: f64 = found.suspects.iter().filter(|suspect| sound(&suspect.faults)).map(|s| s.probability).sum();
    probability / sound
}

/// The neutral piece of a broken element leaks too: milliamperes by the few volts that the neutral stands off earth.
const LEAKS: [&str; 5] = ["insulation-low", "to-frame", "main-to-frame", "broken-a-to-frame", "broken-b-to-frame"];

#[test]
fn a_heater_that_trips_and_reads_kilohms_to_its_sheath_is_found() {
    let job = unit(
        r#"symptoms = [ { setup = "on", part = "supply", word = "trips" } ]
readings = [
  { setup = "heater off its wires", ohms = "3.1k", between = ["H1.a", "frame"] },
  { setup = "heater off its wires", ohms = 35.4, between = ["H1.a", "H1.b"] },
  { setup = "fan off its wires", ohms = "open", between = ["M1.run", "frame"] },
]"#,
        true,
    );
    let found = diagnose(&job).unwrap();
    let leaky = of_part(&found, "H1").min(of_faults(&found, &LEAKS));
    assert!(leaky > 0.97, "{leaky}");
    // It would open the trip in the setup that was complained of, and says so.
    let first = &found.suspects[0];
    let what = diagnosis::flows::consequences(&found, first).unwrap();
    assert!(what.cuts_off.iter().any(|cut| cut.residual_trip && !cut.breaker), "{what:?}");
}

/// Without any reading the word alone puts leaks ahead of what they were, and asks for ohms to the frame.
#[test]
fn a_trip_alone_points_at_leaks_and_asks_for_insulation() {
    let silent = unit("", true);
    let tripped = unit(r#"symptoms = [ { setup = "on", part = "supply", word = "trips" } ]"#, true);
    let (before, after) = (diagnose(&silent).unwrap(), diagnose(&tripped).unwrap());
    let (was, is) = (of_faults(&before, &LEAKS), of_faults(&after, &LEAKS));
    assert!(is > 2.0 * was, "{was} before, {is} after");
    let plan = next_checks(&after, 6);
    let first = plan.checks[0].action;
    let diagnosis::checks::Action::Read(measure @ Measure::Ohms(a, b)) = first else { panic!("{first:?}") };
    let ends = [a, b].map(|end| tripped.unit.terminal_name(end));
    // At the plug it is as good as at the part, and quicker.
    assert!(ends.iter().any(|end| end == "frame" || end.ends_with("earth")), "{ends:?}");
    assert!(tripped.meter_for(measure).tests_insulation());
}

/// The tester's 'over range' and a good number both leave the sound motor where it was, or further from suspicion.
#[test]
fn good_insulation_accuses_nobody() {
    let reading = |shows: &str| {
        format!(
            "readings = [ {{ setup = \"fan off its wires\", ohms = {shows}, between = [\"M1.run\", \"frame\"], \
             meter = \"tester\" }} ]"
        )
    };
    let silent = unit("", true);
    let before = diagnose(&silent).unwrap();
    for shows in ["\"open\"", "\"400M\"", "\"60M\""] {
        let job = unit(&reading(shows), true);
        let found = diagnose(&job).unwrap();
        // More than the whole winding's insulation should have is what a part of it has, the rest being cut off: a little
        // likelier then. An ordinary figure is of all of it.
        let parts: &[&str] = if shows == "\"60M\"" { &["M1", "H1", "cord"] } else { &["H1", "cord"] };
        for part in parts {
            let odds = |found: &Diagnosis<'_>| against_sound(found, of_part(found, part));
            let (was, is) = (odds(&before), odds(&found));
            assert!(is < 1.05 * was, "{part} after {shows}: {was} and {is}");
        }
        let leaks = |found: &Diagnosis<'_>| against_sound(found, of_faults(found, &LEAKS));
        assert!(leaks(&found) < leaks(&before));
    }
    let low = unit(&reading("\"400k\""), true);
    let found = diagnose(&low).unwrap();
    // One reading may be misread, so it does not convict alone.
    assert!(of_part(&found, "M1") > 0.5, "{}", of_part(&found, "M1"));
}

/// Metal without earth has stray volts in a sound unit, and they are not felt; a leak is.
#[test]
fn stray_volts_are_no_leak_and_a_shock_is() {
    let silent = unit("", false);
    let stray = unit(
        r#"symptoms = [ { setup = "on", part = "M1", word = "normal" } ]
readings = [ { setup = "on", volts = 108, between = ["frame", "cord.neutral"] } ]"#,
        false,
    );
    let touched = unit(r#"readings = [ { setup = "on", touch_milliamps = 0.08, at = "frame" } ]"#, false);
    let leaks = |job: &Job| {
        let found = diagnose(job).unwrap();
        against_sound(&found, of_faults(&found, &LEAKS))
    };
    let before = leaks(&silent);
    for job in [&stray, &touched] {
        let leaks = leaks(job);
        assert!(leaks < before, "{before} before, {leaks} after");
    }
    let shocks = unit(r#"symptoms = [ { setup = "on", part = "frame", word = "shocks" } ]"#, false);
    let after = leaks(&shocks);
    assert!(after > 3.0 * before, "{before} before, {after} after a shock");
    let felt = unit(
        r#"symptoms = [ { setup = "on", part = "frame", word = "shocks" } ]
readings = [ { setup = "on", touch_milliamps = 7.5, at = "frame" } ]"#,
        false,
    );
    let leaks = of_faults(&diagnose(&felt).unwrap(), &LEAKS);
    assert!(leaks > 0.7, "{leaks}");
}

/// A leak of milliamperes through the earth conductor that opens nothing: the clamp around the cord tells it.
#[test]
fn leakage_of_the_cord_tells_a_leak_that_does_not_trip() {
    let reading = |shows: f64| {
        let reading = |of: &str| format!("{{ setup = \"on\", leakage_milliamps = {shows}, of = \"{of}\" }},");
        unit(&format!("readings = [ {} {} ]", reading("cord"), reading("supply")), true)
    };
    let (sound, leaking) = (reading(0.09), reading(6.4));
    let leaks = of_faults(&diagnose(&leaking).unwrap(), &LEAKS);
    assert!(leaks > 0.9, "{leaks}");
    assert!(of_faults(&diagnose(&sound).unwrap(), &LEAKS) < 0.05);
}
