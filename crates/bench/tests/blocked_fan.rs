//! A fan whose air is held up is another load: lighter for a blower wheel, heavier for a propeller. Sources beside
//! `DrivenLoad::blocked_change`: hvacrfundamentals.blogspot.com, hvacrschool.com.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Measure, Meter, observe};
use common::{Bench, ONE_FAN, POLISHER, THREE_PHASE_FAN, job, part, setup, terminal};

fn with_air(text: &str) -> String {
    format!("{text}\n[[heat.streams]]\nfan = \"M1\"\npasses = [\"M1\"]\n")
}

fn with_load(load: &str) -> String {
    with_air(&ONE_FAN.replacen(
        "kind = \"capacitor-run-motor\"",
        &format!("kind = \"capacitor-run-motor\"\nload = \"{load}\""),
        1,
    ))
}

/// Speed, and watts that the motor takes, sound and with nine tenths of its air held up.
fn sound_and_blocked(text: &str, in_setup: &str) -> [(f64, f64); 2] {
    let job = job(text);
    let look = |bench: &Bench<'_>| {
        let watts = bench.look(in_setup, |observed| observed.watts(part(&job.unit, "M1")));
        (bench.rpm(in_setup, "M1"), watts)
    };
    [look(&Bench::sound(&job)), look(&Bench::with(&job, &["M1 air-blocked"]).sized(0.9))]
}

#[test]
fn a_blocked_blower_speeds_up_and_takes_less() {
    for (text, in_setup) in [
        (with_air(ONE_FAN), "on"),
        (with_load("fan"), "on"),
        (with_air(THREE_PHASE_FAN), "on"),
        (with_air(POLISHER), "high"),
    ] {
        let [sound, blocked] = sound_and_blocked(&text, in_setup);
        assert!(blocked.0 > 1.005 * sound.0, "{in_setup}: {blocked:?} and {sound:?}");
        assert!(blocked.1 < 0.95 * sound.1, "{in_setup}: {blocked:?} and {sound:?}");
    }
}

#[test]
fn a_blocked_propeller_slows_down_and_takes_more() {
    let [sound, blocked] = sound_and_blocked(&with_load("propeller"), "on");
    assert!(blocked.0 < 0.995 * sound.0 && blocked.1 > 1.05 * sound.1, "{blocked:?} and {sound:?}");
    // With free air the two are one load.
    assert_eq!(sound, sound_and_blocked(&with_load("fan"), "on")[0]);
}

/// What is no fan has no air to lose, and a loose fan hardly notices.
#[test]
fn other_loads_do_not_change() {
    let [sound, blocked] = sound_and_blocked(&with_load("constant"), "on");
    assert_eq!(sound, blocked);
    let job = job(&with_load("propeller"));
    let loose = Bench::with(&job, &["M1 fan-loose"]).rpm("on", "M1");
    assert!(loose > Bench::sound(&job).rpm("on", "M1"));
}

#[test]
fn its_share_carries_its_derivative() {
    for load in ["fan", "propeller"] {
        let job = job(&with_load(load));
        let faults = FaultSet(vec![job.unit.find_fault("M1 air-blocked").unwrap()]);
        let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
        let measure = Measure::AmpsAtTerminal(terminal(&job.unit, "M1.common"));
        let meter = Meter::handheld();
        let at = |deviations: &[f64]| {
            observe(&job.unit, setup(&job, "on"), &faults, deviations, |observed| {
                observed.measure(measure, &meter).unwrap()
            })
            .unwrap()
        };
        let unknown = severity_unknown(&job.unit, &faults, 0).unwrap();
        let moved = |step: f64| {
            let mut moved = deviations.clone();
            moved[unknown] += step;
            at(&moved).value
        };
        let (slope, difference) = (at(&deviations).gradient[unknown], (moved(1e-4) - moved(-1e-4)) / 2e-4);
        assert!(slope.abs() > 1e-3 && (slope - difference).abs() < 1e-6, "{load}: {slope} and {difference}");
    }
}
