//! No two windings lie at exactly a right angle, so that in a motor at rest one shows a little of the other's volts.
//!
//! The unit and its readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{job, probability_of};
use diagnosis::diagnose;

/// A fan that hums, with an open capacitor, and so many volts across its start winding.
fn fan(volts: f64) -> String {
    format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "M1.run" }},
  {{ from = "cord.hot", to = "C1.a" }},
  {{ from = "C1.b", to = "M1.start" }},
  {{ from = "M1.common", to = "cord.neutral" }},
  {{ from = "cord.earth", to = "frame" }},
]
readings = [
  {{ setup = "apart", microfarads = 0.0, between = ["C1.a", "C1.b"] }},
  {{ setup = "running", volts = 229.5, between = ["M1.run", "M1.common"] }},
  {{ setup = "running", volts = {volts}, between = ["M1.start", "M1.common"] }},
]
[unit]
name = "Fan"
note = "Invented for a test; no real machine."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
metres = 2
square_millimetres = 0.75
[parts.M1]
kind = "capacitor-run-motor"
plate = {{ volts = 230, hertz = 50, amps = 0.45, rpm = 1350, poles = 4, microfarads = 2.5 }}
[parts.C1]
kind = "run-capacitor"
microfarads = 2.5
volts = 450
[setups.running]
supply = "on"
winding_celsius = 50
[setups.apart]
supply = "off"
lifted = ["C1.a", "C1.b"]
"#
    )
}

#[test]
fn a_few_volts_across_an_idle_winding_convict_nothing() {
    // One degree off a right angle: 1.7 % of what is induced in a winding of about as many turns.
    for volts in [0.0, 2.2, 4.0] {
        let text = fan(volts);
        let job = job(&text);
        let found = diagnose(&job).unwrap();
        let (capacitor, joint) = (probability_of(&found, "C1 open"), probability_of(&found, "M1 common-bad-joint"));
        assert!(capacitor > 0.9 && joint < 0.1, "{volts} V: C1 open {capacitor}, M1 common-bad-joint {joint}");
    }
    // Twelve times as much is no angle.
    let text = fan(50.0);
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    assert!(found.reading_doubt[2] > 0.1 || probability_of(&found, "C1 open") < 0.9, "{:?}", found.reading_doubt);
}
