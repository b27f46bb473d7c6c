//! Units whose motors have to be started: invented for the tests.

/// A split-phase grinder that runs free.
pub const GRINDER: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.line" },
  { from = "switch.motor", to = "M1.run" },
  { from = "switch.motor", to = "M1.start", label = "start lead" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Grinder"
[parts.supply]
kind = "supply"
volts = 120
hertz = 60
[parts.cord]
kind = "cord"
[parts.switch]
kind = "switch"
positions.off = []
positions.on = [["line", "motor"]]
[parts.M1]
kind = "split-phase-motor"
load = "none"
plate = { volts = 120, hertz = 60, amps = 4.2, rpm = 1725 }
[setups.on]
supply = "on"
positions = { switch = "on" }
[setups."after a push"]
supply = "on"
positions = { switch = "on" }
pushed = ["M1"]
[setups.held]
supply = "on"
positions = { switch = "on" }
held = ["M1"]
[setups.unplugged]
supply = "off"
"#;

/// A pump with a start and a run capacitor.
pub const TWO_CAPACITORS: &str = r#"
wires = [
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.run", to = "C2.a" },
  { from = "C2.b", to = "M1.start" },
  { from = "M1.run", to = "C1.a" },
  { from = "C1.b", to = "M1.run-capacitor" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Pump"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.M1]
kind = "split-phase-motor"
load = "pump"
plate = { volts = 230, hertz = 50, amps = 2.6, rpm = 2800, microfarads = 40, run_microfarads = 12 }
[parts.C1]
kind = "run-capacitor"
microfarads = 12
[parts.C2]
kind = "start-capacitor"
microfarads = 40
bleed_ohms = 15e3
[setups.on]
supply = "on"
[setups."after a push"]
supply = "on"
pushed = ["M1"]
[setups.held]
supply = "on"
held = ["M1"]
[setups.unplugged]
supply = "off"
"#;

/// A compressor with a potential relay and both capacitors.
pub const COMPRESSOR: &str = r#"
wires = [
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.run", to = "C1.a" },
  { from = "C1.b", to = "M1.start", label = "start lead" },
  { from = "M1.run", to = "C2.a" },
  { from = "C2.b", to = "K1.capacitor" },
  { from = "K1.start", to = "M1.start" },
  { from = "K1.common", to = "M1.common" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Compressor"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
breaker_amps = 16
[parts.cord]
kind = "cord"
square_millimetres = 1.5
[parts.M1]
kind = "compressor"
plate = { volts = 230, hertz = 50, amps = 4.6, rpm = 2850, microfarads = 60, run_microfarads = 20 }
[parts.C1]
kind = "run-capacitor"
microfarads = 20
[parts.C2]
kind = "start-capacitor"
microfarads = 60
[parts.K1]
kind = "potential-relay"
pickup_volts = 350
[setups.on]
supply = "on"
[setups.held]
supply = "on"
held = ["M1"]
[setups."overload open"]
supply = "on"
positions = { M1 = "open" }
[setups.unplugged]
supply = "off"
[setups."off its wires"]
supply = "off"
lifted = ["M1.common", "M1.run", "M1.start"]
"#;

/// A refrigerator with a current relay and a start capacitor.
pub const CURRENT_RELAY: &str = r#"
wires = [
  { from = "cord.hot", to = "K1.line" },
  { from = "K1.run", to = "M1.run" },
  { from = "K1.start", to = "C1.a" },
  { from = "C1.b", to = "M1.start" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Refrigerator"
[parts.supply]
kind = "supply"
volts = 120
hertz = 60
[parts.cord]
kind = "cord"
[parts.M1]
kind = "compressor"
plate = { volts = 120, hertz = 60, amps = 3.6, rpm = 3450, microfarads = 90 }
[parts.C1]
kind = "start-capacitor"
microfarads = 90
[parts.K1]
kind = "current-relay"
pickup_amps = 9
[setups.on]
supply = "on"
[setups.unplugged]
supply = "off"
"#;

/// A refrigerator with a PTC starter.
pub const PTC: &str = r#"
wires = [
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.run", to = "R1.a" },
  { from = "R1.b", to = "M1.start" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Refrigerator"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.M1]
kind = "compressor"
plate = { volts = 230, hertz = 50, amps = 1.2, rpm = 2850 }
[parts.R1]
kind = "ptc-starter"
ohms = 15
[setups.on]
supply = "on"
[setups.held]
supply = "on"
held = ["M1"]
[setups."off its wires"]
supply = "off"
lifted = ["R1.a"]
[setups.unplugged]
supply = "off"
"#;

/// A reversible drum motor on a change-over switch.
pub const DRUM: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.line" },
  { from = "switch.forward", to = "M1.forward" },
  { from = "switch.backward", to = "M1.backward" },
  { from = "M1.forward", to = "C1.a" },
  { from = "C1.b", to = "M1.backward" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Drum"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.switch]
kind = "switch"
positions.off = []
positions.forward = [["line", "forward"]]
positions.backward = [["line", "backward"]]
[parts.M1]
kind = "reversible-motor"
plate = { volts = 230, hertz = 50, amps = 0.55, rpm = 1300, microfarads = 4 }
[parts.C1]
kind = "run-capacitor"
microfarads = 4
[setups.forward]
supply = "on"
positions = { switch = "forward" }
[setups.backward]
supply = "on"
positions = { switch = "backward" }
[setups.unplugged]
supply = "off"
"#;

/// A contactor with a holding contact, two heaters and a lamp on its resting contact.
pub const CONTACTOR: &str = r#"
wires = [
  { from = "cord.hot", to = "button.a" },
  { from = "button.b", to = "K1.coil-a" },
  { from = "K1.coil-b", to = "cord.neutral" },
  { from = "cord.hot", to = "K1.in" },
  { from = "K1.out", to = "H1.a" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "K1.rest", to = "L1.a" },
  { from = "L1.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
[unit]
name = "Contactor"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.button]
kind = "switch"
positions.off = []
positions.on = [["a", "b"]]
[parts.K1]
kind = "relay"
volts = 230
contacts.released = [["in", "rest"]]
contacts.pulled-in = [["in", "out"]]
[parts.H1]
kind = "heater"
volts = 230
watts = 1000
[parts.L1]
kind = "indicator-lamp"
volts = 230
[setups.on]
supply = "on"
positions = { button = "on" }
[setups.off]
supply = "on"
[setups.unplugged]
supply = "off"
"#;
