//! Facts that a bench technician takes for granted, asked of the model: if one of them fails, no diagnosis is to be
//! trusted.
//!
//! Every unit here is made up for its test. Each fact is common practice without a source, unless its test names one.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::Job;
use bench::wiring::unknown_count;
use bench::{
    FaultSet, Measure, Meter, Observed, Place, PredictError, TerminalId, Unit, Unknown, observe, observe_values,
};
use machine::Motion;

/// Rated volts of every supply here.
const LINE_VOLTS: f64 = 230.0;

/// A job that must be read without so much as a warning.
fn job(text: &str) -> Job {
    let job = bench::job::read("trade-facts.toml", text).unwrap_or_else(|problems| panic!("{problems}"));
    assert!(job.warnings.0.is_empty(), "{}", job.warnings);
    job
}

fn terminal(unit: &Unit, name: &str) -> TerminalId {
    unit.find_terminal(name).unwrap_or_else(|| panic!("no terminal {name}"))
}

fn part(unit: &Unit, name: &str) -> usize {
    unit.find_part(name).unwrap_or_else(|| panic!("no part {name}"))
}

/// Faults with their deviations: zero, or what gives the size that stands behind a fault.
fn faults(unit: &Unit, wanted: &[(&str, Option<f64>)]) -> (FaultSet, Vec<f64>) {
    let index = |label: &str| unit.find_fault(label).unwrap_or_else(|| panic!("no fault {label}"));
    let set = FaultSet(wanted.iter().map(|(label, _)| index(label)).collect());
    let mut deviations = vec![0.0; unknown_count(unit, &set)];
    // These are facts of windings; what leaks beside them would cost digits.
    for (unknown, deviation) in unit.unknowns().iter().zip(&mut deviations) {
        if unknown.words.starts_with("insulation ohms") {
            *deviation = 30.0;
        }
    }
    for (position, (label, size)) in wanted.iter().enumerate() {
        if let Some(size) = size {
            let unknown = bench::wiring::severity_unknown(unit, &set, position).expect("the fault has a size");
            let severity = unit.faults()[index(label)].mode.severity.as_ref().expect("the fault has a size");
            deviations[unknown] = severity.deviation(*size).expect("the size is possible");
        }
    }
    (set, deviations)
}

/// Looks at the unit in a setup with faults in it.
fn look<R>(job: &Job, setup: &str, wanted: &[(&str, Option<f64>)], look: impl FnOnce(&mut Observed<'_>) -> R) -> R {
    let setup = &job.setups[job.find_setup(setup).unwrap_or_else(|| panic!("no setup {setup}"))];
    let (set, deviations) = faults(&job.unit, wanted);
    observe_values(&job.unit, setup, &set, &deviations, look).unwrap()
}

/// What a meter shows; the way with derivatives and the way without must agree.
fn shown(job: &Job, setup: &str, wanted: &[(&str, Option<f64>)], measure: Measure, meter: &Meter) -> f64 {
    let plain = look(job, setup, wanted, |observed| observed.value(measure, meter).unwrap());
    let place = &job.setups[job.find_setup(setup).unwrap()];
    let (set, deviations) = faults(&job.unit, wanted);
    let full = observe(&job.unit, place, &set, &deviations, |observed| observed.measure(measure, meter).unwrap());
    let full = full.unwrap().value;
    assert!(full == plain || (full - plain).abs() <= 1e-6 * plain.abs().max(1e-3), "{measure:?}: {full} and {plain}");
    plain
}

fn ohms(job: &Job, setup: &str, wanted: &[(&str, Option<f64>)], a: &str, b: &str) -> f64 {
    let measure = Measure::Ohms(terminal(&job.unit, a), terminal(&job.unit, b));
    let ohms = shown(job, setup, wanted, measure, &Meter::handheld());
    if ohms > Meter::handheld().ohms_limit { f64::INFINITY } else { ohms }
}

fn volts(job: &Job, setup: &str, wanted: &[(&str, Option<f64>)], a: &str, b: &str) -> f64 {
    let measure = Measure::Volts(terminal(&job.unit, a), terminal(&job.unit, b));
    shown(job, setup, wanted, measure, &Meter::handheld())
}

fn amps(job: &Job, setup: &str, wanted: &[(&str, Option<f64>)], at: &str) -> f64 {
    shown(job, setup, wanted, Measure::AmpsAtTerminal(terminal(&job.unit, at)), &Meter::handheld())
}

#[track_caller]
fn assert_near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} instead of {expected} +- {tolerance}");
}

/// One capacitor-run fan with three speeds, earthed frame.
const ONE_FAN: &str = r#"
wires = [
  { from = "cord.hot", to = "fan.high" },
  { from = "fan.high", to = "cap.b" },
  { from = "cap.a", to = "fan.start" },
  { from = "fan.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame", label = "earth wire" },
]
[unit]
name = "Cellar fan"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
breaker_amps = 16
[parts.cord]
kind = "cord"
[parts.fan]
kind = "capacitor-run-motor"
taps = ["high", "medium", "low"]
plate = { volts = 230, hertz = 50, amps = 0.9, rpm = 1350, poles = 4, microfarads = 4 }
[parts.cap]
kind = "run-capacitor"
microfarads = 4
[setups.on]
supply = "on"
[setups.pushed]
supply = "on"
pushed = ["fan"]
[setups.cold]
supply = "off"
lifted = ["fan.common", "fan.high", "fan.start"]
[setups.hot]
supply = "off"
lifted = ["fan.common", "fan.high", "fan.start"]
winding_celsius = 95
[setups.cap-off]
supply = "off"
lifted = ["cap.a"]
[setups.wired]
supply = "off"
"#;

/// Two fans of one make, taps tied tap to tap, each common to neutral; the right one can be cut off.
const TWIN_FANS: &str = r#"
wires = [
  { from = "cord.hot", to = "left.high" },
  { from = "left.high", to = "right.high" },
  { from = "left.medium", to = "right.medium" },
  { from = "left.low", to = "right.low" },
  { from = "left.start", to = "left-cap.a" },
  { from = "left-cap.b", to = "left.high" },
  { from = "right.start", to = "right-cap.a" },
  { from = "right-cap.b", to = "right.high" },
  { from = "left.common", to = "cord.neutral" },
  { from = "right.common", to = "cord.neutral" },
]
[unit]
name = "Twin fan"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.left]
kind = "capacitor-run-motor"
make = "twin"
taps = ["high", "medium", "low"]
plate = { volts = 230, hertz = 50, amps = 0.7, rpm = 1320, poles = 4, microfarads = 3 }
[parts.right]
kind = "capacitor-run-motor"
make = "twin"
taps = ["high", "medium", "low"]
plate = { volts = 230, hertz = 50, amps = 0.7, rpm = 1320, poles = 4, microfarads = 3 }
[parts.left-cap]
kind = "run-capacitor"
microfarads = 3
[parts.right-cap]
kind = "run-capacitor"
microfarads = 3
[setups.tied]
supply = "on"
[setups.unplugged]
supply = "off"
[setups.cut-dead]
supply = "off"
lifted = ["right.high", "right.medium", "right.low", "right.start", "right.common"]
[setups.cut]
supply = "on"
lifted = ["right.high", "right.medium", "right.low", "right.start", "right.common"]
"#;

/// A heater behind a switch and a thermostat, with an earthed metal case.
const HEATER: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.in" },
  { from = "switch.out", to = "stat.a", label = "middle wire" },
  { from = "stat.b", to = "element.a" },
  { from = "element.b", to = "cord.neutral", label = "return" },
  { from = "cord.earth", to = "frame", label = "earth wire" },
]
[unit]
name = "Plate warmer"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
breaker_amps = 10
[parts.cord]
kind = "cord"
[parts.switch]
kind = "switch"
positions.off = []
positions.on = [["in", "out"]]
[parts.stat]
kind = "thermostat"
[parts.element]
kind = "heater"
volts = 230
watts = 800
[setups.heating]
supply = "on"
positions = { switch = "on" }
[setups.both-open]
supply = "on"
positions = { switch = "off", stat = "open" }
[setups.unplugged]
supply = "off"
[meters.lowz]
volts_input_ohms = "10k"
"#;

/// Common practice, no source.
#[test]
fn section_ohms_add_along_a_winding() {
    let job = job(ONE_FAN);
    let read = |a: &str, b: &str| ohms(&job, "cold", &[], &format!("fan.{a}"), &format!("fan.{b}"));
    for (a, middle, b) in [
        ("common", "high", "medium"),
        ("common", "medium", "low"),
        ("high", "medium", "low"),
        ("start", "common", "high"),
    ] {
        let whole = read(a, b);
        assert!(whole.is_finite() && read(a, middle) > 1.0 && read(middle, b) > 1.0, "{a} {middle} {b}");
        assert_near(read(a, middle) + read(middle, b), whole, 1e-6 * whole);
    }
}

/// Common practice, no source.
#[test]
fn an_open_common_reads_open_to_every_tap_and_normal_from_tap_to_tap() {
    let job = job(ONE_FAN);
    let fault = [("fan common-open", None)];
    for tap in ["fan.high", "fan.medium", "fan.low", "fan.start"] {
        assert!(ohms(&job, "cold", &[], "fan.common", tap).is_finite(), "sound, {tap}");
        assert_eq!(ohms(&job, "cold", &fault, "fan.common", tap), f64::INFINITY, "{tap}");
    }
    for (a, b) in [("fan.high", "fan.medium"), ("fan.medium", "fan.low"), ("fan.high", "fan.start")] {
        let sound = ohms(&job, "cold", &[], a, b);
        assert_near(ohms(&job, "cold", &fault, a, b), sound, 1e-6 * sound);
    }
}

/// Common practice, no source.
#[test]
fn the_twin_of_a_motor_with_an_open_common_takes_more_than_its_share() {
    let job = job(TWIN_FANS);
    let fault = [("right common-open", None)];
    let (sound_twin, sound_whole) = (amps(&job, "tied", &[], "left.common"), amps(&job, "tied", &[], "cord.hot"));
    // But for stray currents of some microamperes.
    assert_near(sound_twin / sound_whole, 0.5, 1e-4);
    let (left, whole) = (amps(&job, "tied", &fault, "left.common"), amps(&job, "tied", &fault, "cord.hot"));
    assert!(left > 1.05 * sound_twin, "{left} A, with a sound twin {sound_twin} A");
    assert_near(left, whole, 0.01 * whole);
    assert_near(amps(&job, "tied", &fault, "right.common"), 0.0, 1e-3);
    // Its taps stay live all the same: it is fed back through them.
    assert!(amps(&job, "tied", &fault, "right.low") > 0.02, "{}", amps(&job, "tied", &fault, "right.low"));
    // Off its wires the broken motor takes nothing from its twin.
    let alone = amps(&job, "cut", &fault, "left.common");
    assert_near(alone, sound_twin, 0.02 * sound_twin);
}

/// Common practice, no source: which is why a motor is measured off its wires.
#[test]
fn an_open_common_hides_behind_the_twin_that_is_wired_across_it() {
    let job = job(TWIN_FANS);
    let fault = [("right common-open", None)];
    for tap in ["right.high", "right.medium", "right.low"] {
        let pair = ohms(&job, "unplugged", &[], "right.common", tap);
        let lone = ohms(&job, "unplugged", &fault, "right.common", tap);
        assert!(lone.is_finite() && lone > 1.2 * pair, "{tap}: {lone} ohm, both sound {pair} ohm");
        assert_eq!(ohms(&job, "cut-dead", &fault, "right.common", tap), f64::INFINITY, "{tap}");
    }
    // From common to the fastest tap only the sound winding is left of two equal ones side by side.
    let read = |faults: &[(&str, Option<f64>)]| ohms(&job, "unplugged", faults, "right.common", "right.high");
    assert_near(read(&fault) / read(&[]), 2.0, 1e-6);
}

/// Common practice, no source.
#[test]
fn the_broken_twin_stands_still_and_the_sound_one_runs_slower() {
    let job = job(TWIN_FANS);
    let fault = [("right common-open", None)];
    let state = |name: &str, faults: &[(&str, Option<f64>)]| {
        let motor = part(&job.unit, name);
        look(&job, "tied", faults, |observed| (observed.motion(motor).unwrap(), observed.speed_ratio(motor).unwrap()))
    };
    let ((motion, sound), (_, right)) = (state("left", &[]), state("right", &[]));
    assert_eq!(motion, Motion::Running);
    assert_near(right, sound, 1e-6);
    let (motion, slowed) = state("left", &fault);
    assert_eq!(motion, Motion::Running);
    assert!(slowed < sound - 0.002 && slowed > 0.7, "{slowed} of synchronous speed, sound {sound}");
    assert_eq!(state("right", &fault), (Motion::AtRest, 0.0));
}

/// Common practice, no source.
#[test]
fn a_leak_of_megohms_to_the_frame_leaves_the_motor_as_it_was() {
    let job = job(ONE_FAN);
    let fan = part(&job.unit, "fan");
    let leak = [("fan main-to-frame", Some(5e6))];
    let speed =
        |faults: &[(&str, Option<f64>)]| look(&job, "on", faults, |observed| observed.speed_ratio(fan).unwrap());
    assert_near(speed(&leak), speed(&[]), 1e-4);
    assert_near(amps(&job, "on", &leak, "cord.hot"), amps(&job, "on", &[], "cord.hot"), 1e-3);
    let sound = ohms(&job, "cold", &[], "fan.common", "fan.high");
    assert_near(ohms(&job, "cold", &leak, "fan.common", "fan.high"), sound, 1e-6 * sound);
    // An insulation tester finds it all the same.
    assert_near(ohms(&job, "cold", &leak, "fan.common", "frame"), 5e6, 1e3);
    assert_eq!(ohms(&job, "cold", &[], "fan.common", "frame"), f64::INFINITY);
}

/// Common practice, no source.
#[test]
fn sections_of_the_sound_motor_feed_those_of_its_broken_twin() {
    let job = job(TWIN_FANS);
    let fault = [("right common-open", None)];
    let watts = |faults: &[(&str, Option<f64>)], motor: &str, section: &str| {
        let place = Place::Part(part(&job.unit, motor));
        look(&job, "tied", faults, |observed| {
            let flows = observed.element_flows();
            flows.iter().find(|flow| flow.place == place && flow.label == section).expect("a section").watts
        })
    };
    for section in ["section high-medium", "section medium-low"] {
        let (giving, taking) = (watts(&fault, "left", section), watts(&fault, "right", section));
        assert!(giving < -0.5, "{section} of the sound motor: {giving} W");
        assert!(taking > 0.5, "{section} of the broken motor: {taking} W");
        // Two sound twins have nothing to give each other.
        let (left, right) = (watts(&[], "left", section), watts(&[], "right", section));
        assert_near(left, right, 1e-6);
        assert!(left.abs() < 0.1 * giving.abs(), "{section} with a sound twin: {left} W");
    }
}

/// Common practice, no source.
#[test]
fn idle_taps_sag_when_a_broken_twin_hangs_on_them() {
    let job = job(TWIN_FANS);
    let fault = [("right common-open", None)];
    for tap in ["left.medium", "left.low"] {
        let read = |setup, faults: &[(&str, Option<f64>)]| volts(&job, setup, faults, tap, "cord.neutral");
        let (tied, cut) = (read("tied", &fault), read("cut", &fault));
        // Idle taps stand above line volts by transformer action.
        assert!(cut > LINE_VOLTS + 10.0, "{tap}: {cut} V with the ties cut");
        assert!(tied < cut - 2.0, "{tap}: {tied} V tied, {cut} V cut");
        // A sound twin does not pull them down.
        assert_near(read("tied", &[]), read("cut", &[]), 1.0);
    }
}

/// Common practice, no source.
#[test]
fn a_shorted_capacitor_is_not_an_open_one_in_amps_or_in_ohms() {
    let job = job(ONE_FAN);
    let (open, shorted) = ([("cap open", None)], [("cap shorted", Some(0.5))]);
    assert_eq!(ohms(&job, "cap-off", &open, "cap.a", "cap.b"), f64::INFINITY);
    assert_eq!(ohms(&job, "cap-off", &[], "cap.a", "cap.b"), f64::INFINITY);
    assert_near(ohms(&job, "cap-off", &shorted, "cap.a", "cap.b"), 0.5, 1e-6);
    // In circuit the start lead is at the tap when the capacitor is shorted, and behind a winding when it is not.
    assert_near(ohms(&job, "wired", &shorted, "fan.start", "fan.high"), 0.5, 0.1);
    let through_windings = ohms(&job, "wired", &open, "fan.start", "fan.high");
    assert_near(through_windings, ohms(&job, "wired", &[], "fan.start", "fan.high"), 1e-6);
    assert!(through_windings > 10.0, "{through_windings}");
    let sound = amps(&job, "on", &[], "fan.start");
    let short = amps(&job, "on", &shorted, "fan.start");
    assert!(amps(&job, "on", &open, "fan.start") < 1e-3);
    assert!(sound > 0.05 && short > 1.5 * sound, "start lead: {sound} A sound, {short} A with the capacitor shorted");
    assert!(amps(&job, "on", &shorted, "cord.hot") > 1.2 * amps(&job, "on", &[], "cord.hot"));
}

/// Common practice, no source.
#[test]
fn a_capacitor_run_motor_without_its_capacitor_runs_only_when_pushed() {
    let job = job(ONE_FAN);
    let fan = part(&job.unit, "fan");
    let open = [("cap open", None)];
    let state = |setup, faults: &[(&str, Option<f64>)]| {
        look(&job, setup, faults, |observed| (observed.motion(fan).unwrap(), observed.speed_ratio(fan).unwrap()))
    };
    assert_eq!(state("on", &open), (Motion::AtRest, 0.0));
    let (motion, ratio) = state("pushed", &open);
    assert_eq!(motion, Motion::Running);
    assert!((0.3..1.0).contains(&ratio), "{ratio}");
    let (motion, sound_ratio) = state("on", &[]);
    assert_eq!(motion, Motion::Running);
    assert!(ratio < sound_ratio && sound_ratio < 1.0, "{ratio} pushed, {sound_ratio} sound");
    // At rest it hums: it takes more current than when it runs.
    let (stuck, sound) = (amps(&job, "on", &open, "cord.hot"), amps(&job, "on", &[], "cord.hot"));
    assert!(stuck > 1.2 * sound, "{stuck} A at rest, {sound} A running");
}

/// Common practice, no source.
#[test]
fn interchanged_tap_leads_interchange_the_ohms() {
    let job = job(ONE_FAN);
    let fault = [("fan high-medium-interchanged", None)];
    let read = |faults: &[(&str, Option<f64>)], tap: &str| ohms(&job, "cold", faults, "fan.common", tap);
    let (high, medium, low) = (read(&[], "fan.high"), read(&[], "fan.medium"), read(&[], "fan.low"));
    assert!(high < 0.9 * medium && medium < 0.9 * low, "{high} {medium} {low}");
    assert_near(read(&fault, "fan.high"), medium, 1e-6 * medium);
    assert_near(read(&fault, "fan.medium"), high, 1e-6 * high);
    assert_near(read(&fault, "fan.low"), low, 1e-6 * low);
    let (high_low, medium_low) = (low - high, low - medium);
    assert_near(ohms(&job, "cold", &fault, "fan.high", "fan.low"), medium_low, 1e-6 * low);
    assert_near(ohms(&job, "cold", &fault, "fan.medium", "fan.low"), high_low, 1e-6 * low);
}

/// Source: change-of-resistance method of US product standards for copper windings, K = 234.5.
#[test]
fn copper_windings_rise_with_temperature() {
    let job = job(ONE_FAN);
    let expected = (234.5 + 95.0) / (234.5 + 20.0);
    for (a, b) in [("fan.common", "fan.high"), ("fan.medium", "fan.low"), ("fan.common", "fan.start")] {
        assert_near(ohms(&job, "hot", &[], a, b) / ohms(&job, "cold", &[], a, b), expected, 1e-9);
    }
}

/// Common practice, no source. Above 50 V is the usual limit of safe touch for alternating current.
#[test]
fn a_winding_through_to_an_unearthed_frame_makes_the_frame_live() {
    let job = job(ONE_FAN);
    let frame = |faults: &[(&str, Option<f64>)]| {
        let potential = look(&job, "on", faults, |observed| observed.frame_volts());
        let read = volts(&job, "on", faults, "frame", "supply.earth");
        (potential, read)
    };
    for no_earth in ["cord earth-open", "earth wire broken", "supply earth-open"] {
        let (potential, read) = frame(&[("fan main-to-frame", Some(2000.0)), (no_earth, None)]);
        assert!(potential > 50.0 && potential < LINE_VOLTS, "{no_earth}: {potential} V");
        if no_earth != "supply earth-open" {
            assert_near(read, potential, 1.0);
        }
    }
    // A sound earth holds it down, and so does sound insulation.
    let (potential, read) = frame(&[("fan main-to-frame", Some(2000.0))]);
    assert!(potential < 1.0 && read < 1.0, "{potential} V");
    let (potential, _) = frame(&[]);
    assert!(potential < 1.0, "{potential} V");
}

/// Common practice, no source.
#[test]
fn a_dead_breakdown_to_an_earthed_frame_opens_the_breaker_or_drives_earth_current() {
    let fan = job(ONE_FAN);
    let heater = job(HEATER);
    for (job, setup, fault) in [(&fan, "on", "fan main-to-frame"), (&heater, "heating", "element to-frame")] {
        let earth = Measure::AmpsInWire(job.unit.find_wire("earth wire").unwrap());
        let read = |faults: &[(&str, Option<f64>)]| {
            let opened = look(job, setup, faults, |observed| observed.breaker_opened());
            (opened, shown(job, setup, faults, earth, &Meter::handheld()))
        };
        let (opened, leak) = read(&[(fault, Some(0.5))]);
        assert!(opened || leak > 1.0, "{fault}: {leak} A to earth and the breaker stays closed");
        let (opened, leak) = read(&[]);
        assert!(!opened && leak < 1e-3, "sound: {leak} A to earth");
        // Without earth nothing gives the fault away but a shock.
        let (opened, leak) = read(&[(fault, Some(0.5)), ("cord earth-open", None)]);
        assert!(!opened && leak < 1e-3, "unearthed: {leak} A to earth");
    }
}

/// Common practice, no source.
#[test]
fn a_dead_short_opens_the_breaker_and_leaves_everything_dead() {
    let job = job(HEATER);
    let short = [("element wrong-rating", Some(0.02))];
    let opened = |faults: &[(&str, Option<f64>)]| look(&job, "heating", faults, |observed| observed.breaker_opened());
    assert!(opened(&short));
    assert_near(volts(&job, "heating", &short, "switch.in", "cord.neutral"), 0.0, 0.1);
    assert_near(amps(&job, "heating", &short, "cord.hot"), 0.0, 1e-3);
    // Half the rated ohms are too much for the maker's plate, not for the breaker.
    assert!(!opened(&[("element wrong-rating", Some(0.5))]) && !opened(&[]));
}

/// Common practice, no source.
#[test]
fn a_sound_heater_without_neutral_has_line_volts_at_both_ends_and_none_across() {
    let job = job(HEATER);
    for fault in ["return broken", "cord neutral-open", "supply neutral-open"] {
        let fault = [(fault, None)];
        for end in ["element.a", "element.b"] {
            assert_near(volts(&job, "heating", &fault, end, "supply.earth"), LINE_VOLTS, 1.0);
        }
        assert_near(volts(&job, "heating", &fault, "element.a", "element.b"), 0.0, 0.1);
        assert_near(amps(&job, "heating", &fault, "cord.hot"), 0.0, 1e-3);
    }
    // With its neutral the cold end is near earth.
    assert!(volts(&job, "heating", &[], "element.b", "supply.earth") < 2.0);
}

/// Common practice, no source.
#[test]
fn an_open_heater_reads_full_volts_across_it() {
    let job = job(HEATER);
    let fault = [("element open", None)];
    assert_near(volts(&job, "heating", &fault, "element.a", "element.b"), LINE_VOLTS, 0.1);
    assert_near(amps(&job, "heating", &fault, "cord.hot"), 0.0, 1e-3);
    assert_eq!(ohms(&job, "unplugged", &fault, "element.a", "element.b"), f64::INFINITY);
    // A sound one takes its amps and pulls the line down a little: P = U^2/R, R = 230^2/800.
    let sound = amps(&job, "heating", &[], "cord.hot");
    assert_near(sound, 800.0 / LINE_VOLTS, 0.05);
    let across = volts(&job, "heating", &[], "element.a", "element.b");
    assert!((LINE_VOLTS - 5.0..LINE_VOLTS - 0.5).contains(&across), "{across} V");
}

/// Common practice, no source.
#[test]
fn a_ghost_voltage_collapses_on_a_low_impedance_meter() {
    let job = job(HEATER);
    let lowz = job.meters.iter().find(|meter| meter.name == "lowz").unwrap();
    let read = |at: &str, meter: &Meter| {
        let measure = Measure::Volts(terminal(&job.unit, at), terminal(&job.unit, "cord.neutral"));
        shown(&job, "both-open", &[], measure, meter)
    };
    assert_eq!(Meter::handheld().volts_input_ohms, 10e6);
    for floating in ["switch.out", "stat.a"] {
        let (ghost, collapsed) = (read(floating, &Meter::handheld()), read(floating, lowz));
        assert!(ghost > 10.0 && ghost < LINE_VOLTS / 2.0, "{floating}: {ghost} V");
        assert!(collapsed < 1.0, "{floating}: {collapsed} V");
    }
    // What is really live stays so, and what is really at neutral stays dead.
    assert_near(read("switch.in", lowz), LINE_VOLTS, 0.5);
    assert_near(read("switch.in", &Meter::handheld()), LINE_VOLTS, 0.5);
    assert_near(read("stat.b", &Meter::handheld()), 0.0, 0.1);
}

/// Common practice, no source: motors of one make agree closely, motors of two makes only by their plates.
#[test]
fn parts_of_one_make_share_their_unknowns() {
    let (before, after) = TWIN_FANS.split_once("[parts.right]").unwrap();
    let text = format!("{before}[parts.right]{}", after.replacen("make = \"twin\"", "make = \"another\"", 1));
    assert_ne!(text, TWIN_FANS);
    let sisters = |unit: &Unit, name: &str| -> Vec<Option<usize>> {
        let index = part(unit, name);
        // How dry a part is it does not share.
        let shared = |unknown: &&Unknown| unknown.part == index && !unknown.words.starts_with("insulation");
        unit.unknowns().iter().filter(shared).map(|unknown| unknown.sisters).collect()
    };
    let alike = job(TWIN_FANS).unit;
    let (left, right) = (sisters(&alike, "left"), sisters(&alike, "right"));
    assert!(left.len() > 5 && left.iter().all(Option::is_some), "{left:?}");
    assert_eq!(left, right);
    let mut each = left.clone();
    each.sort_unstable();
    each.dedup();
    assert_eq!(each.len(), left.len(), "two unknowns of one part share a number: {left:?}");
    // Parts of no make have no sisters.
    assert_eq!(sisters(&alike, "left-cap"), [None]);
    let unlike = job(&text).unit;
    let (left, right) = (sisters(&unlike, "left"), sisters(&unlike, "right"));
    assert!(left.iter().all(|number| !right.contains(number)), "{left:?} {right:?}");
}

/// Common practice, no source.
#[test]
fn an_ohmmeter_is_refused_on_a_live_unit() {
    let job = job(HEATER);
    let measure = Measure::Ohms(terminal(&job.unit, "element.a"), terminal(&job.unit, "element.b"));
    let meter = Meter::handheld();
    for live in ["heating", "both-open"] {
        let answers = look(&job, live, &[], |observed| {
            [observed.value(measure, &meter), observed.measure(measure, &meter).map(|prediction| prediction.value)]
        });
        for answer in answers {
            match answer {
                Err(PredictError::Measure { setup, .. }) => assert_eq!(setup, live),
                other => panic!("{live}: {other:?}"),
            }
        }
    }
    assert_near(ohms(&job, "unplugged", &[], "element.a", "element.b"), LINE_VOLTS * LINE_VOLTS / 800.0, 1e-6);
}
