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
