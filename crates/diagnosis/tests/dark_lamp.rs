//! A glow lamp does not tie a wire that hangs in the air to mains volts: volts found there say nothing against the lamp.
//! The unit and its readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::job;
use diagnosis::diagnose;

/// A drying cabinet without its neutral, the thermostat open: by way of nothing but the lamp and insulation is the heater's
/// far end at the line.
const CABINET: &str = r#"
wires = [
  { from = "cord.hot", to = "S1.in" },
  { from = "S1.out", to = "T1.a" },
  { from = "T1.b", to = "H1.a" },
  { from = "S1.out", to = "L1.a" },
  { from = "L1.b", to = "H1.b" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
readings = [
  { setup = "cold", ohms = 52.7, between = ["cord.hot", "cord.neutral"] },
  { setup = "cold", ohms = "open", between = ["cord.plug-hot", "cord.plug-neutral"] },
  { setup = "cold", ohms = 0.1, between = ["cord.plug-hot", "cord.hot"] },
  { setup = "cold", ohms = 53.1, between = ["L1.a", "L1.b"] },
  { setup = "on", volts = 231, between = ["cord.plug-hot", "cord.plug-earth"] },
  { setup = "warm", volts = 47, between = ["T1.a", "T1.b"] },
  { setup = "warm", volts = 48, between = ["cord.hot", "cord.neutral"] },
]
symptoms = [
  { setup = "on", part = "H1", word = "dead" },
  { setup = "on", part = "L1", word = "dead" },
]
[unit]
name = "Drying cabinet"
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
positions.on = [["in", "out"]]
[parts.T1]
kind = "thermostat"
[parts.H1]
kind = "heater"
volts = 230
watts = 1000
[parts.L1]
kind = "indicator-lamp"
volts = 230
[setups.on]
supply = "on"
positions = { S1 = "on" }
[setups.warm]
supply = "on"
positions = { S1 = "on", T1 = "open" }
[setups.cold]
supply = "off"
positions = { S1 = "on" }
"#;

#[test]
fn a_lamp_in_the_dark_is_not_convicted() {
    let job = job(CABINET);
    let found = diagnose(&job).unwrap();
    let needed = |word: &str| {
        let repairs = found.needed.iter().filter(|share| share.repair.contains(word));
        repairs.map(|share| share.probability).sum::<f64>()
    };
    assert!(needed("cord") > 0.9, "{:?}", &found.repairs[..3]);
    assert!(needed("indicator lamp") < 0.1, "{:?}", &found.repairs[..3]);
}
