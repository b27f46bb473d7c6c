//! Stages of heat and of speed: invented for the tests.

/// An element that a control brings on through a sequencer.
pub const STAGE: &str = r#"
wires = [
  { from = "cord.hot", to = "control.in" },
  { from = "control.out", to = "E1.heater-a" },
  { from = "E1.heater-b", to = "cord.neutral" },
  { from = "cord.hot", to = "E1.a" },
  { from = "E1.b", to = "H1.a" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "One stage of an air heater"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50
source_ohms = 0.001

[parts.cord]
kind = "cord"
square_millimetres = 6

[parts.control]
kind = "switch"
positions.satisfied = []
positions.calling = [["in", "out"]]

[parts.E1]
kind = "sequencer"
volts = 230
watts = 10
closes_after_seconds = 40
opens_after_seconds = 70

[parts.H1]
kind = "heater"
volts = 230
watts = 2000

[setups.calling]
supply = "on"
positions = { control = "calling" }

[setups.satisfied]
supply = "on"
positions = { control = "satisfied" }

[setups.unplugged]
supply = "off"
positions = { control = "satisfied" }

[runs.called]
minutes = 30
steps = [{ minute = 0, setup = "calling" }, { minute = 20, setup = "satisfied" }]
"#;

/// A fan of three speeds whose intermediate winding lies with the auxiliary, its capacitor at the slowest tap.
pub const WALL_FAN: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.line" },
  { from = "switch.high", to = "M1.high" },
  { from = "switch.medium", to = "M1.medium" },
  { from = "switch.low", to = "M1.low" },
  { from = "M1.low", to = "C1.a" },
  { from = "C1.b", to = "M1.start" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "Wall fan"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"

[parts.switch]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.medium = [["line", "medium"]]
positions.high = [["line", "high"]]

[parts.M1]
kind = "capacitor-run-motor"
taps = ["high", "medium", "low"]
sections_in = "auxiliary"
plate = { volts = 230, hertz = 50, amps = 0.45, rpm = 1350, poles = 4, microfarads = 2.5 }

[parts.C1]
kind = "run-capacitor"
microfarads = 2.5

[setups.high]
supply = "on"
positions = { switch = "high" }

[setups.medium]
supply = "on"
positions = { switch = "medium" }

[setups.low]
supply = "on"
positions = { switch = "low" }

[setups.cold]
supply = "off"
lifted = ["C1.a"]

[setups.unplugged]
supply = "off"
"#;
