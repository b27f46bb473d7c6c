//! Two faults that look alike one by one are still looked at together.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::diagnose;

/// Two alike heaters straight across the outlet, and nothing flows.
const TWIN_HEATERS: &str = r#"
wires = [
  { from = "outlet.hot", to = "H1.a" },
  { from = "outlet.hot", to = "H2.a" },
  { from = "H1.b", to = "outlet.neutral" },
  { from = "H2.b", to = "outlet.neutral" },
]
readings = [
  { setup = "on", volts = 230, between = ["H1.a", "H1.b"] },
  { setup = "on", volts = 230, between = ["H2.a", "H2.b"] },
  { setup = "on", amps = 0.0, through = "H1.a" },
  { setup = "on", amps = 0.0, through = "H2.a" },
  { setup = "on", watts = 0.0, of = "outlet" },
]
[unit]
name = "Twin heaters"
[parts.outlet]
kind = "supply"
volts = 230
hertz = 50
[parts.H1]
kind = "heater"
volts = 230
watts = 800
[parts.H2]
kind = "heater"
volts = 230
watts = 800
[setups.on]
supply = "on"
"#;

#[test]
fn both_twins_open_lead_when_nothing_flows_although_both_have_volts() {
    let job = bench::job::read("twins", TWIN_HEATERS).unwrap();
    let found = diagnose(&job).unwrap();
    let fault = |label: &str| job.unit.find_fault(label).unwrap();
    let mut both = vec![fault("H1 open"), fault("H2 open")];
    both.sort_unstable();
    assert_eq!(found.suspects[0].faults.as_ref().unwrap().0, both);
    assert!(found.suspects[0].probability > 0.5, "{}", found.suspects[0].probability);
}
