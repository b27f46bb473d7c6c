//! Ohms through insulation: what they may be when two elements are open, and how little a few per cent of them say. The
//! unit and its readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::job;
use diagnosis::repairs::UNKNOWN_REPAIR;
use diagnosis::{Diagnosis, diagnose};

/// Two hot plates side by side, each behind its own contact.
fn plates(readings: &str, symptoms: &str) -> String {
    format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "S1.in" }},
  {{ from = "S1.left", to = "H1.a" }},
  {{ from = "S1.right", to = "H2.a" }},
  {{ from = "H1.b", to = "K1.a" }},
  {{ from = "H2.b", to = "K1.a" }},
  {{ from = "K1.b", to = "cord.neutral" }},
  {{ from = "cord.earth", to = "frame" }},
]
readings = [{readings}]
symptoms = [{symptoms}]
[unit]
name = "Two hot plates"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.S1]
kind = "switch"
positions.off = []
positions.one = [["in", "left"]]
positions.both = [["in", "left"], ["in", "right"]]
[parts.K1]
kind = "thermal-cutout"
[parts.H1]
kind = "heater"
make = "alike"
volts = 230
watts = 800
[parts.H2]
kind = "heater"
make = "alike"
volts = 230
watts = 800
[setups.live]
supply = "on"
positions = {{ S1 = "both" }}
[setups.both]
supply = "off"
positions = {{ S1 = "both" }}
[setups.one]
supply = "off"
positions = {{ S1 = "one" }}
[setups.off]
supply = "off"
positions = {{ S1 = "off" }}
"#
    )
}

fn needed(found: &Diagnosis<'_>, repair: &str) -> f64 {
    found.needed.iter().find(|share| share.repair == repair).map_or(0.0, |share| share.probability)
}

/// Probability that it is a known fault.
fn known_share(found: &Diagnosis<'_>) -> f64 {
    1.0 - needed(found, UNKNOWN_REPAIR)
}

#[test]
fn megohms_where_two_elements_side_by_side_are_open() {
    // Either alone leaves the ohms of the other; what both leave is insulation, the same twice within its own few per cent.
    let readings = r#"{ setup = "both", ohms = 34.2e6, between = ["cord.hot", "cord.neutral"] },
        { setup = "both", ohms = 34.6e6, between = ["cord.hot", "cord.neutral"] },"#;
    let symptoms = r#"{ setup = "live", part = "H1", word = "dead" }, { setup = "live", part = "H2", word = "dead" }"#;
    let job = job(&plates(readings, symptoms));
    let found = diagnose(&job).unwrap();
    let known = found.repairs.iter().find(|share| share.repair != UNKNOWN_REPAIR).unwrap();
    assert_eq!(known.repair, "replace the heater H1; replace the heater H2", "{:?}", found.repairs);
    let probability = known.probability / known_share(&found);
    assert!(probability > 0.5, "of what is known: {probability}, {:?}", found.repairs);
}

#[test]
fn a_few_per_cent_of_megohms_convict_nobody() {
    // An open element splits what leaks to the frame: with the switch off only the end of H1 at the cutout is left.
    let reading = |setup: &str, from: &str, megohms: f64| {
        format!(r#"{{ setup = "{setup}", ohms = {megohms}e6, between = ["{from}", "cord.plug-earth"] }},"#)
    };
    let mut readings = r#"{ setup = "off", ohms = "open", between = ["H1.a", "H1.b"] },
        { setup = "both", ohms = 66.4, between = ["cord.hot", "cord.neutral"] },
        { setup = "both", ohms = 0, between = ["H1.a", "H2.a"] },
        { setup = "one", ohms = "open", between = ["cord.hot", "cord.neutral"] },"#
        .to_owned();
    for (setup, from, megohms) in [
        ("off", "cord.plug-neutral", 22.7),
        ("both", "cord.plug-hot", 21.5),
        ("both", "cord.hot", 21.6),
        ("both", "cord.plug-neutral", 21.4),
        ("both", "cord.neutral", 21.5),
        ("one", "cord.plug-neutral", 22.6),
        ("one", "cord.neutral", 22.5),
        ("off", "cord.neutral", 22.6),
    ] {
        readings += &reading(setup, from, megohms);
    }
    let job = job(&plates(&readings, r#"{ setup = "live", part = "H1", word = "dead" }"#));
    let found = diagnose(&job).unwrap();
    let h1 = needed(&found, "replace the heater H1");
    assert!(h1 > 0.9, "H1 open explains every reading but for 5 % of some megohms: {h1}, {:?}", found.repairs);
    assert!(found.questionable_readings().is_empty(), "{:?}", found.reading_doubt);
}
