//! Units with a small part in series with its load. Every figure in them is invented.

#![allow(dead_code)]

/// A heater behind an inrush limiter, and a lamp that hardly warms one.
pub const INRUSH: &str = r#"
wires = [
  { from = "cord.hot", to = "N1.a" },
  { from = "N1.b", to = "H1.a" },
  { from = "cord.hot", to = "N2.a" },
  { from = "N2.b", to = "L1.a" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "L1.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Soldering station"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
source_ohms = 0.4
[parts.cord]
kind = "cord"
[parts.N1]
kind = "inrush-limiter"
ohms = 10
[parts.N2]
kind = "inrush-limiter"
ohms = 10
[parts.H1]
kind = "heater"
volts = 230
watts = 460
[parts.L1]
kind = "indicator-lamp"
volts = 230
watts = 2
[setups.on]
supply = "on"
[setups."off its wires"]
supply = "off"
lifted = ["N1.a", "N2.a"]
[setups.unplugged]
supply = "off"
"#;

/// A blow dryer: a heater and a motor behind a diode that the switch bridges on high, a heater beside them. Its motor takes
/// a good part of what the supply can give.
pub const DRYER: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.line" },
  { from = "switch.low", to = "D1.a" },
  { from = "switch.high", to = "D1.b" },
  { from = "D1.b", to = "H1.a" },
  { from = "D1.b", to = "M1.field-a" },
  { from = "M1.field-b", to = "M1.brush-1" },
  { from = "switch.lamp", to = "H2.a" },
  { from = "H1.b", to = "cord.neutral", label = "heater return" },
  { from = "M1.brush-2", to = "cord.neutral" },
  { from = "H2.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Blow dryer"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
source_ohms = 1.5
[parts.cord]
kind = "cord"
[parts.switch]
kind = "switch"
positions.off = []
positions.low = [["line", "low"], ["line", "lamp"]]
positions.high = [["line", "high"], ["line", "lamp"]]
[parts.D1]
kind = "half-wave-diode"
amps = 6
[parts.H1]
kind = "heater"
volts = 230
watts = 400
[parts.H2]
kind = "heater"
volts = 230
watts = 200
[parts.M1]
kind = "universal-motor"
plate = { volts = 230, hertz = 50, amps = 1.2, rpm = 12000 }
[setups.low]
supply = "on"
positions = { switch = "low" }
[setups.high]
supply = "on"
positions = { switch = "high" }
[setups.held]
supply = "on"
positions = { switch = "low" }
held = ["M1"]
[setups.unplugged]
supply = "off"
[setups.bare]
supply = "off"
lifted = ["D1.a", "D1.b"]
"#;

/// A fan whose iron saturates.
pub const SATURATING: &str = r#"
wires = [
  { from = "supply.hot", to = "M1.run" },
  { from = "M1.start", to = "C1.a" },
  { from = "C1.b", to = "M1.run" },
  { from = "M1.common", to = "supply.neutral" },
]
[unit]
name = "Fan"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.M1]
kind = "capacitor-run-motor"
iron = "saturates"
plate = { volts = 230, hertz = 50, amps = 0.6, rpm = 1380, poles = 4, microfarads = 3 }
[parts.C1]
kind = "run-capacitor"
microfarads = 3
[setups.on]
supply = "on"
winding_celsius = 20
[setups.pushed]
supply = "on"
pushed = ["M1"]
winding_celsius = 20
"#;
