//! The unit on the bench is not the faulty thing: the supply, wires put on wrongly, a part that does not belong there. Units
//! and readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::newly_fitted::Blame;
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job, Measure, Meter, observe_values};
use common::job;
use diagnosis::verdict::verdict;
use diagnosis::words::verdict_lines;
use diagnosis::{Diagnosis, diagnose};

fn text_of(found: &Diagnosis<'_>) -> String {
    verdict_lines(found, &verdict(found), None).join("\n")
}

/// Probability that this is to blame and not the unit.
fn blamed(found: &Diagnosis<'_>, wanted: Blame) -> f64 {
    verdict(found).blame.iter().find(|(blame, _)| *blame == wanted).map_or(0.0, |(_, probability)| *probability)
}

/// A fan and an element on one outlet; `motor` and `heater` are further fields of theirs.
fn unit(motor: &str, heater: &str, readings: &str) -> String {
    format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "M1.run" }},
  {{ from = "M1.start", to = "C1.a" }},
  {{ from = "C1.b", to = "M1.run" }},
  {{ from = "M1.common", to = "cord.neutral" }},
  {{ from = "cord.hot", to = "H1.a" }},
  {{ from = "H1.b", to = "cord.neutral" }},
  {{ from = "cord.earth", to = "frame" }},
]
readings = [{readings}]
[unit]
name = "Fan heater"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 120
hertz = 60
[parts.cord]
kind = "cord"
[parts.M1]
kind = "capacitor-run-motor"
plate = {{ volts = 120, hertz = 60, amps = 0.9, rpm = 1580, poles = 4, microfarads = 6 }}
{motor}
[parts.C1]
kind = "run-capacitor"
microfarads = 6
[parts.H1]
kind = "heater"
volts = 120
watts = 600
{heater}
[setups.on]
supply = "on"
[setups.off]
supply = "off"
lifted = ["M1.common", "M1.run", "M1.start", "H1.a", "H1.b"]
"#
    )
}

/// The job with readings as a fault of a given size makes them, every other value at its median.
fn shown_by(motor: &str, heater: &str, label: &str, size: Option<f64>, asked: &[&str]) -> Job {
    let with = |values: &[f64]| -> String {
        let filled = asked.iter().zip(values).map(|(reading, value)| reading.replace('#', &format!("{value:.2}")));
        unit(motor, heater, &filled.collect::<Vec<_>>().join(", "))
    };
    let bare = job(&with(&vec![1.0; asked.len()]));
    let faults = FaultSet(vec![bare.unit.find_fault(label).unwrap_or_else(|| panic!("no {label}"))]);
    let mut deviations = vec![0.0; unknown_count(&bare.unit, &faults)];
    if let Some(size) = size {
        let severity = bare.unit.faults()[faults.0[0]].mode.severity.clone().unwrap();
        deviations[severity_unknown(&bare.unit, &faults, 0).unwrap()] = severity.deviation(size).unwrap();
    }
    let value = |reading: &bench::Reading| {
        let ask = |seen: &mut bench::Observed<'_>| seen.value(reading.measure, &Meter::handheld()).unwrap();
        observe_values(&bare.unit, &bare.setups[reading.setup], &faults, &deviations, ask).unwrap()
    };
    let values: Vec<f64> = bare.readings.iter().map(value).collect();
    assert!(values.iter().all(|value| value.is_finite()));
    job(&with(&values))
}

const AMPS: &str = "{ setup = \"on\", amps = #, through = \"H1.a\" }";
const MOTOR_AMPS: &str = "{ setup = \"on\", amps = #, through = \"M1.common\" }";
const RPM: &str = "{ setup = \"on\", rpm = #, of = \"M1\" }";
const AT_OUTLET: &str = "{ setup = \"on\", volts = #, between = [\"supply.hot\", \"supply.neutral\"] }";
const MAIN: &str = "{ setup = \"off\", ohms = #, between = [\"M1.common\", \"M1.run\"] }";
const ELEMENT: &str = "{ setup = \"off\", ohms = #, between = [\"H1.a\", \"H1.b\"] }";
const SECOND: &str = "{ setup = \"off\", ohms = #, between = [\"M1.common\", \"M1.start\"] }";

#[test]
fn an_outlet_with_too_few_volts_is_not_the_units_fault() {
    let job = shown_by("", "", "supply low-volts", Some(0.2), &[AT_OUTLET, AMPS, RPM]);
    let found = diagnose(&job).unwrap();
    assert!(blamed(&found, Blame::Supply) > 0.8, "{}", text_of(&found));
    assert!(text_of(&found).contains("The unit itself is sound"), "{}", text_of(&found));
    // With the volts as they should be nobody says so.
    let job = shown_by("", "", "H1 open", None, &[AT_OUTLET, AMPS, RPM]);
    let found = diagnose(&job).unwrap();
    assert!(blamed(&found, Blame::Supply) < 0.05 && !text_of(&found).contains("The unit itself is sound"));
}

/// One pole of the breaker has no contact: what is fed from leg to leg is dead. The sound leg feeds the dead one backwards
/// through it, so that both have their volts to neutral, and which of them it is these readings cannot tell.
#[test]
fn a_dead_leg_is_a_breaker_pole_or_the_line_and_not_the_unit() {
    let text = r#"
wires = [
  { from = "supply.leg-1", to = "H1.a" }, { from = "H1.b", to = "supply.leg-2" },
  { from = "supply.leg-1", to = "L1.a" }, { from = "L1.b", to = "supply.neutral" },
  { from = "supply.leg-2", to = "L2.a" }, { from = "L2.b", to = "supply.neutral" },
  { from = "supply.earth", to = "frame" },
]
readings = [
  { setup = "on", volts = 120, between = ["supply.leg-1", "supply.neutral"] },
  { setup = "on", amps = 0.0, through = "H1.a" },
  { setup = "on", volts = 0.5, between = ["H1.a", "H1.b"] },
]
symptoms = [{ setup = "on", part = "L1", word = "normal" }]
[unit]
name = "Kiln"
note = "Invented data."
[parts.supply]
kind = "two-leg-supply"
volts = 240
hertz = 60
[parts.H1]
kind = "heater"
volts = 240
watts = 2000
[parts.L1]
kind = "indicator-lamp"
volts = 120
[parts.L2]
kind = "indicator-lamp"
volts = 120
[setups.on]
supply = "on"
"#;
    let job = job(text);
    let found = diagnose(&job).unwrap();
    let dead = ["leg-1", "leg-2"].map(|leg| job.unit.find_fault(&format!("supply {leg}-dead")).unwrap());
    let is_dead = |suspect: &diagnosis::Suspect| dead.iter().any(|&leg| suspect.faults == Some(FaultSet(vec![leg])));
    assert!(found.suspects.iter().take(2).all(is_dead), "{}", text_of(&found));
    assert!(blamed(&found, Blame::Supply) > 0.6 && text_of(&found).contains("breaker pole"), "{}", text_of(&found));
}

#[test]
fn wires_put_on_wrongly_after_a_motor_was_changed_are_found_as_that() {
    let label = "M1 run-start-wires-interchanged";
    // The element is read too: it may be broken in more ways than one.
    let asked = [MOTOR_AMPS, RPM, AT_OUTLET, MAIN, SECOND, AMPS];
    let job = shown_by("fitted = \"new\"", "", label, None, &asked);
    let found = diagnose(&job).unwrap();
    assert!(blamed(&found, Blame::HookUp) > 0.5, "{}", text_of(&found));
    assert_eq!(found.repairs[0].repair, "put the leads of M1 on the right terminals");
    let text = text_of(&found);
    assert!(
        text.contains("No part has failed") && text.contains("M1 is new and the fault is most likely at it"),
        "{text}"
    );
    assert!(!text.contains("convicts no other part"), "{text}");
}

/// 600 W for 240 V where 600 W for 120 V belong: four times the ohms, a quarter of the watts.
#[test]
fn an_element_of_the_right_power_for_other_volts_is_a_wrong_part() {
    let job = shown_by("", "fitted = \"new\"", "H1 wrong-rating", Some(4.0), &[AMPS, AT_OUTLET, MOTOR_AMPS, ELEMENT]);
    let shown = |place: usize| match job.readings[place].value {
        bench::Value::Number(value) => value,
        bench::Value::Open => panic!(),
    };
    assert!(matches!(job.readings[0].measure, Measure::AmpsAtTerminal(_)));
    // 600 W / 120 V = 5 A; a quarter of them.
    assert!((shown(0) / 1.25 - 1.0).abs() < 0.03, "{}", shown(0));
    let found = diagnose(&job).unwrap();
    assert!(blamed(&found, Blame::WrongPart) > 0.5, "{}", text_of(&found));
    assert!(text_of(&found).contains("one is fitted that does not belong there"), "{}", text_of(&found));
}

#[test]
fn a_motor_of_the_right_power_for_other_volts_is_a_wrong_part() {
    let asked = [MOTOR_AMPS, RPM, AT_OUTLET, MAIN, SECOND, AMPS];
    let job = shown_by("fitted = \"new\"", "", "M1 wrong-winding", Some(3.7), &asked);
    let found = diagnose(&job).unwrap();
    assert!(blamed(&found, Blame::WrongPart) > 0.5, "{}", text_of(&found));
    let words = "replace the motor M1 with one that is wound for the volts of the unit";
    assert_eq!(found.repairs[0].repair, words);
    // The same readings of a motor that nobody changed are none of a wrong motor.
    let old = shown_by("", "", "M1 main-open", None, &[MOTOR_AMPS, RPM]);
    assert!(old.unit.find_fault("M1 wrong-winding").is_none());
}

/// Half the speed of the field behind a fan, and twice that speed of a motor that runs free: speedometer and clamp convict
/// it, and no ohms need to be read. Behind a fan one with half the poles does not come up to speed at all, as many do.
#[test]
fn a_motor_of_the_right_power_with_other_poles_is_a_wrong_part() {
    for (other, load, speed) in [(8, "fan", "half"), (2, "none", "twice")] {
        let label = format!("M1 wrong-poles-{other}");
        let motor = format!("fitted = \"new\"\nload = \"{load}\"");
        let job = shown_by(&motor, "", &label, None, &[MOTOR_AMPS, RPM, AT_OUTLET]);
        let found = diagnose(&job).unwrap();
        assert!(blamed(&found, Blame::WrongPart) > 0.5, "{speed} the speed: {}", text_of(&found));
        assert_eq!(found.repairs[0].repair, "replace the motor M1 with one that has the speed on the plate");
        let leader = found.suspects[0].faults.as_ref().unwrap();
        assert_eq!(leader.0, [job.unit.find_fault(&label).unwrap()], "{speed} the speed");
        assert!(text_of(&found).contains("one is fitted that does not belong there"), "{}", text_of(&found));
    }
}

#[test]
fn a_unit_that_reads_as_a_sound_one_is_none_if_something_else_was_seen_of_it() {
    let with = |word: &str| {
        let readings = format!(
            "{{ setup = \"on\", amps = 5.9, through = \"cord.hot\" }}, {{ setup = \"on\", rpm = 1580, of = \"M1\" }}]\n\
            symptoms = [{{ setup = \"on\", part = \"M1\", word = \"{word}\" }}"
        );
        let job = job(&unit("fitted = \"new\"", "", &readings));
        let found = diagnose(&job).unwrap();
        let first = found.suspects[0].faults.as_ref().unwrap().0.is_empty();
        (first, text_of(&found))
    };
    let (is_sound, said) = with("normal");
    assert!(is_sound && said.contains("reads as a sound one"), "{said}");
    let (is_sound, said) = with("vibrates");
    assert!(!is_sound || said.contains("not what was seen of it: M1 vibrates in setup on"), "{said}");
    assert!(!said.contains("reads as a sound one"), "{said}");
}
