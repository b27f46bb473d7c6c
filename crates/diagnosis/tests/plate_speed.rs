//! A fan motor that turns far below the speed on its plate: no spread of sound motors explains that away.
//!
//! That a slow capacitor-run fan is first of all its capacitor is common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::job;
use diagnosis::{Diagnosis, diagnose};

/// A two-speed fan, invented, that shows `readings` in its setups `high`, `low` and `apart`.
fn fan(readings: &str) -> String {
    format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "switch.line" }},
  {{ from = "switch.high", to = "M1.high" }},
  {{ from = "switch.low", to = "M1.low" }},
  {{ from = "M1.start", to = "C1.a" }},
  {{ from = "C1.b", to = "M1.high" }},
  {{ from = "M1.common", to = "cord.neutral" }},
  {{ from = "cord.earth", to = "frame" }},
]
readings = [{readings}]
[unit]
name = "Fan of a drying room"
note = "Invented for a test; no real machine."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
metres = 2
square_millimetres = 0.75
[parts.switch]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.high = [["line", "high"]]
[parts.M1]
kind = "capacitor-run-motor"
taps = ["high", "low"]
plate = {{ volts = 230, hertz = 50, amps = 0.45, rpm = 1350, poles = 4, microfarads = 2.5 }}
[parts.C1]
kind = "run-capacitor"
microfarads = 2.5
volts = 450
[setups.high]
supply = "on"
positions = {{ switch = "high" }}
winding_celsius = 50
[setups.low]
supply = "on"
positions = {{ switch = "low" }}
winding_celsius = 50
[setups.apart]
supply = "off"
lifted = ["C1.a"]
"#
    )
}

/// Probability of 'nothing is wrong', and the label of the leading suspect's first fault.
fn nothing_and_leader(found: &Diagnosis<'_>) -> (f64, String) {
    let is_none = |set: &bench::FaultSet| set.0.is_empty();
    let nothing = found.suspects.iter().filter(|suspect| suspect.faults.as_ref().is_some_and(is_none));
    let leader = found.suspects[0].faults.as_ref().and_then(|set| set.0.first());
    let leader = leader.map(|&fault| found.evidence.job.unit.faults()[fault].label()).unwrap_or_default();
    (nothing.map(|suspect| suspect.probability).sum(), leader)
}

#[test]
fn a_motor_far_below_the_speed_of_its_plate_is_not_sound() {
    for rpm in [1050, 880, 700] {
        let readings = format!(
            r#"{{ setup = "high", rpm = {rpm}, of = "M1" }},
               {{ setup = "high", volts = 230, between = ["M1.high", "M1.common"] }},
               {{ setup = "high", amps = 0.5, through = "cord.hot" }}"#
        );
        let text = fan(&readings);
        let job = job(&text);
        let (nothing, leader) = nothing_and_leader(&diagnose(&job).unwrap());
        assert!(nothing < 0.2 && !leader.is_empty(), "{rpm} rpm: nothing is wrong {nothing}, {leader} leads");
    }
}

#[test]
fn a_slow_fan_whose_ohms_are_sound_is_first_of_all_its_capacitor() {
    let text = fan(r#"{ setup = "high", rpm = 880, of = "M1" },
           { setup = "high", volts = 230, between = ["M1.high", "M1.common"] },
           { setup = "high", amps = 0.5, through = "cord.hot" },
           { setup = "apart", ohms = 106.4, between = ["M1.common", "M1.high"] },
           { setup = "apart", ohms = 166, between = ["M1.common", "M1.start"] }"#);
    let job = job(&text);
    let (_, leader) = nothing_and_leader(&diagnose(&job).unwrap());
    assert_eq!(leader, "C1 low");
}

#[test]
fn a_motor_at_about_the_speed_of_its_plate_is_sound() {
    for rpm in [1370, 1350, 1310] {
        let readings = format!(
            r#"{{ setup = "high", rpm = {rpm}, of = "M1" }},
               {{ setup = "high", volts = 230, between = ["M1.high", "M1.common"] }},
               {{ setup = "high", amps = 0.46, through = "cord.hot" }}"#
        );
        let text = fan(&readings);
        let job = job(&text);
        let (nothing, leader) = nothing_and_leader(&diagnose(&job).unwrap());
        assert!(leader.is_empty(), "{rpm} rpm: nothing is wrong {nothing}, {leader} leads");
    }
}
