//! Readings that cannot be.

use super::*;

const NO_NUMBER: &str = "for over range of ohms write \"open\", of microfarads \"OL\"";

#[test]
fn ohms_in_a_live_setup() {
    check(
        "[[readings]]\nsetup = \"bare\"",
        "^[[readings]]\nsetup = \"live\"",
        "ohms in setup 'live', where the supply is on",
        "a setup with supply = \"off\"",
        "an ohmmeter on a live circuit reads nonsense and can be destroyed",
    );
}

#[test]
fn a_negative_reading() {
    check("ohms = 27.1", "ohms = ^-27.1", "a reading cannot be -27.1", A_SHOWN, "write the size without its sign");
}

#[test]
fn an_infinite_reading() {
    check("ohms = 27.1", "ohms = ^inf", "a reading cannot be inf", A_SHOWN, NO_NUMBER);
    // Volts have no over range, so they are not told to write it.
    check("volts = 229", "volts = ^nan", "a reading cannot be NaN", A_SHOWN, NO_NUMBER);
}

#[test]
fn more_than_any_meter_shows() {
    let mend = "look at the decimal point and the unit";
    check("volts = 229", "volts = ^1e308", "volts that no meter shows", "at most 1e5", mend);
    check("ohms = 27.1", "ohms = ^2.71e16", "ohms that no meter shows", "at most 1e15", mend);
    // Very much, and believed to have been written down so.
    assert!(read("job.toml", &SOUND.replace("volts = 229", "volts = 99000")).is_ok());
}

#[test]
fn both_probes_on_one_point() {
    check(
        "[\"M1.common\", \"M1.run\"]",
        "[\"M1.common\", ^\"M1.common\"]",
        "both probes at M1.common",
        "two different terminals",
        "correct one of them",
    );
}

#[test]
fn three_probes() {
    check(
        "between = [\"M1.common\", \"M1.run\"]",
        "between = ^[\"M1.common\", \"M1.run\", \"M1.start\"]",
        "3 names where two belong",
        "a pair such as [\"one\", \"other\"]",
        "",
    );
}

#[test]
fn no_probes() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "^[[readings]]\nsetup = \"bare\"\nohms = 27.1",
        "ohms without two points",
        "between = [\"part.terminal\", \"part.terminal\"]",
        "say where the two probes were",
    );
}

#[test]
fn two_values() {
    check(
        "[[readings]]\nsetup = \"bare\"",
        "^[[readings]]\nsetup = \"bare\"\nvolts = 3",
        "a reading with two values",
        "exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch_milliamps, leakage_milliamps",
        "write one reading per line",
    );
}

#[test]
fn leakage_of_a_part_that_feeds_nothing() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "[[readings]]\nsetup = \"live\"\nleakage_milliamps = 2.1\nof = ^\"M1\"",
        "'M1' does not feed the unit",
        "the cord or the supply",
        "name what the clamp was around",
    );
}

#[test]
fn touch_current_without_a_point() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "^[[readings]]\nsetup = \"live\"\ntouch_milliamps = 2.1",
        "touch_milliamps without a point",
        "at = \"frame\" or another terminal",
        "say what was touched",
    );
}

#[test]
fn no_value() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1",
        "^[[readings]]\nsetup = \"bare\"",
        "a reading without a value",
        "exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch_milliamps, leakage_milliamps",
        "write one reading per line",
    );
}

#[test]
fn volts_that_are_open() {
    check(
        "volts = 229",
        "volts = ^\"open\"",
        "volts cannot be open",
        "a number",
        "for no volts or no current write \"dead\"",
    );
}

/// A reading of microfarads in place of the one of ohms, and the wires of C1 lifted or not.
const BARE: &str = "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]";

#[test]
fn microfarads_of_a_capacitor_that_is_connected() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"bare\"\nmicrofarads = 2.9\nbetween = [\"C1.a\", \"C1.b\"]",
        "microfarads in setup 'bare', where C1 is connected",
        "a setup with supply = \"off\" and the capacitor's wires lifted",
        "lift the wires of C1 in this setup, lifted = [\"C1.a\", \"C1.b\"], or name one in which they are off: a capacitance \
         meter cannot see a capacitor through windings",
    );
}

#[test]
fn microfarads_with_the_supply_on() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"live\"\nmicrofarads = 2.9\nbetween = [\"C1.a\", \"C1.b\"]",
        "microfarads in setup 'live', where the supply is on",
        "a setup with supply = \"off\" and the capacitor's wires lifted",
        "unplug, discharge C1, and name a setup in which its wires are off",
    );
}

#[test]
fn microfarads_of_a_winding() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"bare\"\nmicrofarads = 2.9\nbetween = [\"M1.common\", \"M1.run\"]",
        "M1.common and M1.run are not the terminals of one capacitor",
        "the two terminals of a capacitor",
        "there is C1.a and C1.b",
    );
}

#[test]
fn microfarads_that_are_open() {
    // An open capacitor shows nothing, a shorted one over range: the opposite of each other.
    for word in ["open", "dead"] {
        check(
            BARE,
            &format!("[[readings]]\nsetup = \"bare\"\nmicrofarads = ^\"{word}\"\nbetween = [\"C1.a\", \"C1.b\"]"),
            "microfarads are a number, or over range",
            "a number such as 11.8, or \"OL\" for over range",
            "for a capacitor that is open inside write 0; if the meter showed OL, as it does across a short, \"OL\"",
        );
    }
}

#[test]
fn ohms_that_are_dead() {
    // Zero ohms or no path? The opposite of each other.
    check(
        "ohms = 27.1",
        "ohms = ^\"dead\"",
        "ohms cannot be dead",
        "a number or \"open\"",
        "for no connection write \"open\", for a dead short 0",
    );
}

#[test]
fn a_place_that_the_reading_makes_no_use_of_is_a_warning() {
    let (text, line, column) = marked(&spoilt("ohms = 27.1", "ohms = 27.1\nof = ^\"M1\""));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.line, warning.column), (line, column));
    assert_eq!(warning.message, "ohms makes no use of 'of'");
    assert_eq!(warning.mend.as_deref(), Some("leave it out, or write another reading"));
}

#[test]
fn a_symptom_in_a_dead_setup_is_a_warning() {
    let (text, line, column) = marked(&spoilt("setup = \"live\"\npart", "setup = ^\"bare\"\npart"));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.line, warning.column), (line, column));
    assert_eq!(warning.message, "a symptom in a setup where the supply is off says nothing");
    assert_eq!(warning.mend.as_deref(), Some("name a setup with supply = \"on\""));
}

#[test]
fn a_meter_of_the_known_name_is_described_anew() {
    let text = SOUND.to_owned() + "\n[meters.handheld]\nvolts_input_ohms = \"3k\"\n";
    let job = read("job.toml", &text).unwrap();
    assert_eq!(job.meters[job.readings[1].meter].volts_input_ohms, 3000.0);
}
