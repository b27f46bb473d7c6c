//! Units that several test files use, and short ways to ask them. Every figure in them is invented.

// Each test file uses its own part of this one.
#![allow(dead_code)]

use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job, Measure, Meter, Observed, PredictError, Setup, TerminalId, Unit, observe};

/// Two alike three-speed blowers, tapped motors paralleled tap to tap on one selector.
pub const TWO_BLOWERS: &str = r#"
wires = [
  { from = "cord.hot", to = "selector.line" },
  { from = "selector.high", to = "M1.high", label = "feed 1" },
  { from = "selector.high", to = "M2.high", label = "feed 2" },
  { from = "selector.medium", to = "M1.medium" },
  { from = "selector.medium", to = "M2.medium" },
  { from = "selector.low", to = "M1.low" },
  { from = "selector.low", to = "M2.low" },
  { from = "M1.start", to = "C1.a" },
  { from = "C1.b", to = "M1.high" },
  { from = "M2.start", to = "C2.a" },
  { from = "C2.b", to = "M2.high" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "M2.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "Two blowers"

[parts.supply]
kind = "supply"
volts = 120
hertz = 60

[parts.cord]
kind = "cord"
gauge = 16
metres = 2

[parts.selector]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.medium = [["line", "medium"]]
positions.high = [["line", "high"]]

[parts.M1]
kind = "capacitor-run-motor"
make = "left and right alike"
taps = ["high", "medium", "low"]
plate = { volts = 120, hertz = 60, amps = 1.2, rpm = 1580, poles = 4, microfarads = 7 }

[parts.M2]
kind = "capacitor-run-motor"
make = "left and right alike"
taps = ["high", "medium", "low"]
plate = { volts = 120, hertz = 60, amps = 1.2, rpm = 1580, poles = 4, microfarads = 7 }

[parts.C1]
kind = "run-capacitor"
microfarads = 7

[parts.C2]
kind = "run-capacitor"
microfarads = 7

[setups.high]
supply = "on"
positions = { selector = "high" }

[setups.medium]
supply = "on"
positions = { selector = "medium" }

[setups.low]
supply = "on"
positions = { selector = "low" }

[setups."high, tie cut"]
supply = "on"
positions = { selector = "high" }
lifted = ["M2.medium", "M2.low"]

[setups.unplugged]
supply = "off"

[setups.bare]
supply = "off"
lifted = ["M1.common", "M1.high", "M1.medium", "M1.low", "M1.start"]

[setups."bare, hot"]
supply = "off"
lifted = ["M1.common", "M1.high", "M1.medium", "M1.low", "M1.start"]
winding_celsius = 80
"#;

/// A warm-air unit: heater behind thermostat and cutout, shaded-pole fan, a lamp.
pub const WARM_AIR: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.in" },
  { from = "switch.out", to = "K1.a" },
  { from = "K1.b", to = "T1.a", label = "cutout to thermostat" },
  { from = "T1.b", to = "H1.a" },
  { from = "H1.b", to = "joint.a", label = "heater return" },
  { from = "M1.common", to = "joint.b" },
  { from = "L1.b", to = "joint.c" },
  { from = "joint.d", to = "cord.neutral", label = "neutral" },
  { from = "switch.out", to = "M1.run" },
  { from = "switch.out", to = "L1.a" },
  { from = "cord.earth", to = "frame", label = "earth" },
]

[unit]
name = "Warm-air unit"

[parts.supply]
kind = "supply"
volts = 120
hertz = 60

[parts.cord]
kind = "cord"

[parts.switch]
kind = "switch"
positions.off = []
positions.on = [["in", "out"]]

[parts.K1]
kind = "thermal-cutout"

[parts.T1]
kind = "thermostat"

[parts.H1]
kind = "heater"
volts = 120
watts = 800

[parts.M1]
kind = "shaded-pole-motor"
plate = { volts = 120, hertz = 60, amps = 0.7, rpm = 1500, poles = 4 }

[parts.L1]
kind = "indicator-lamp"
volts = 120

[parts.joint]
kind = "splice"
legs = ["a", "b", "c", "d"]

[setups.on]
supply = "on"
positions = { switch = "on" }

[setups."not calling"]
supply = "on"
positions = { switch = "on", T1 = "open" }

[setups.unplugged]
supply = "off"
positions = { switch = "on" }
"#;

/// A single-speed fan with its run capacitor.
pub const ONE_FAN: &str = r#"
wires = [
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.run", to = "C1.a" },
  { from = "C1.b", to = "M1.start" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "One fan"

[parts.supply]
kind = "supply"
volts = 120
hertz = 60
breaker_amps = 15

[parts.cord]
kind = "cord"

[parts.M1]
kind = "capacitor-run-motor"
plate = { volts = 120, hertz = 60, amps = 1.1, rpm = 1600, poles = 4, microfarads = 6 }

[parts.C1]
kind = "run-capacitor"
microfarads = 6

[setups.on]
supply = "on"

[setups.pushed]
supply = "on"
pushed = ["M1"]

[setups.unplugged]
supply = "off"
"#;

/// A control box: a transformer with a primary in two halves and a centre-tapped secondary, loaded unevenly.
pub const CONTROL_BOX: &str = r#"
wires = [
  { from = "cord.hot", to = "T1.0" },
  { from = "T1.240", to = "cord.neutral", label = "return" },
  { from = "T1.a", to = "H1.a" },
  { from = "H1.b", to = "T1.centre", label = "centre" },
  { from = "T1.b", to = "H2.a" },
  { from = "H2.b", to = "T1.centre" },
  { from = "T1.centre", to = "frame" },
  { from = "cord.earth", to = "frame", label = "earth" },
]

[unit]
name = "Control box"

[parts.supply]
kind = "supply"
volts = 240
hertz = 50

[parts.cord]
kind = "cord"

[parts.T1]
kind = "transformer"
volt_amperes = 100
hertz = 50
windings.primary = ["0", 120, "120", 120, "240"]
windings.secondary = ["a", 12, "centre", 12, "b"]
thermal_link = "primary"

[parts.H1]
kind = "heater"
volts = 12
watts = 45

[parts.H2]
kind = "heater"
volts = 12
watts = 20

[setups.on]
supply = "on"
winding_celsius = 60

[setups.unplugged]
supply = "off"
"#;

/// A steam generator's supply side: filter, fuse and cutout ahead of a heater and a valve.
pub const STEAM: &str = r#"
wires = [
  { from = "cord.hot", to = "Z1.hot" },
  { from = "cord.neutral", to = "Z1.neutral" },
  { from = "Z1.earth", to = "frame", label = "filter earth" },
  { from = "Z1.load-hot", to = "F1.a" },
  { from = "F1.b", to = "K1.a" },
  { from = "K1.b", to = "H1.a" },
  { from = "H1.b", to = "Z1.load-neutral", label = "heater return" },
  { from = "F1.b", to = "Y1.a" },
  { from = "Y1.b", to = "Z1.load-neutral", label = "valve return" },
  { from = "cord.earth", to = "frame", label = "earth" },
]

[unit]
name = "Steam generator"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50
breaker_amps = 40

[parts.cord]
kind = "cord"

[parts.Z1]
kind = "interference-filter"
across_microfarads = 0.1
earth_nanofarads = 4.7
bleed_ohms = "1M"

[parts.F1]
kind = "fuse"
amps = 8

[parts.K1]
kind = "manual-reset-cutout"
opens_celsius = 160

[parts.H1]
kind = "heater"
volts = 230
watts = 1200

[parts.Y1]
kind = "solenoid-valve"
volts = 230
hertz = 50
watts = 9
amps = 0.065

[setups.on]
supply = "on"

[setups."cutout open"]
supply = "on"
positions = { K1 = "open" }

[setups.unplugged]
supply = "off"

[setups."fuse bridged"]
supply = "on"
jumpers = [["F1.a", "F1.b"]]
"#;

/// A range on two legs: two loads to neutral, one from leg to leg.
pub const RANGE: &str = r#"
wires = [
  { from = "cord.leg-1", to = "H1.a" },
  { from = "H1.b", to = "joint.a" },
  { from = "cord.leg-2", to = "H2.a" },
  { from = "H2.b", to = "joint.b" },
  { from = "joint.c", to = "cord.neutral", label = "neutral" },
  { from = "cord.leg-1", to = "H3.a", label = "leg 1 to H3" },
  { from = "cord.leg-2", to = "H3.b" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "Range"

[parts.supply]
kind = "two-leg-supply"
volts = 240
hertz = 60

[parts.cord]
kind = "cord"
conductors = ["leg-1", "leg-2", "neutral", "earth"]
square_millimetres = 6

[parts.joint]
kind = "splice"
legs = ["a", "b", "c"]

[parts.H1]
kind = "heater"
volts = 120
watts = 300

[parts.H2]
kind = "heater"
volts = 120
watts = 1200

[parts.H3]
kind = "heater"
volts = 240
watts = 2000

[setups.on]
supply = "on"

[setups."H3 off its wires"]
supply = "on"
lifted = ["H3.a"]

[setups.unplugged]
supply = "off"
"#;

/// A three-phase fan in star behind a three-pole switch.
pub const THREE_PHASE_FAN: &str = r#"
wires = [
  { from = "cord.line-1", to = "S1.1" },
  { from = "cord.line-2", to = "S1.3" },
  { from = "cord.line-3", to = "S1.5" },
  { from = "S1.2", to = "M1.u", label = "U" },
  { from = "S1.4", to = "M1.v", label = "V" },
  { from = "S1.6", to = "M1.w", label = "W" },
  { from = "cord.earth", to = "frame", label = "earth" },
]

[unit]
name = "Three-phase fan"

[parts.supply]
kind = "three-phase-supply"
volts = 400
hertz = 50

[parts.cord]
kind = "cord"
conductors = ["line-1", "line-2", "line-3", "earth"]

[parts.S1]
kind = "switch"
positions.off = []
positions.on = [["1", "2"], ["3", "4"], ["5", "6"]]

[parts.M1]
kind = "three-phase-motor"
connection = "star"
plate = { volts = 400, hertz = 50, amps = 1.1, rpm = 1370, poles = 4, shaft_watts = 370, power_factor = 0.74 }

[setups.on]
supply = "on"
positions = { S1 = "on" }

[setups.pushed]
supply = "on"
positions = { S1 = "on" }
pushed = ["M1"]

[setups.unplugged]
supply = "off"
positions = { S1 = "on" }

[setups.bare]
supply = "off"
lifted = ["M1.u", "M1.v", "M1.w"]
"#;

/// A floor polisher: a universal motor with two field coils and a slow tap; a timer.
pub const POLISHER: &str = r#"
wires = [
  { from = "cord.hot", to = "selector.line" },
  { from = "selector.high", to = "M1.high" },
  { from = "selector.low", to = "M1.low" },
  { from = "selector.high", to = "W1.a" },
  { from = "M1.field-1-a", to = "M1.brush-2", label = "field to brush" },
  { from = "M1.brush-1", to = "M1.field-2-b" },
  { from = "M1.field-2-a", to = "cord.neutral", label = "return" },
  { from = "W1.b", to = "cord.neutral" },
  { from = "cord.earth", to = "frame", label = "earth" },
]

[unit]
name = "Polisher"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"
square_millimetres = 1.0
metres = 4

[parts.selector]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.high = [["line", "high"]]

[parts.M1]
kind = "universal-motor"
plate = { volts = 230, hertz = 50, amps = 3.4, watts = 700, rpm = 11000 }
taps = ["high", "low"]
field_coils = 2
bars = 22

[parts.W1]
kind = "timer-motor"
volts = 230
hertz = 50

[setups.high]
supply = "on"
positions = { selector = "high" }

[setups.low]
supply = "on"
positions = { selector = "low" }

[setups.held]
supply = "on"
positions = { selector = "high" }
held = ["M1"]

[setups.unplugged]
supply = "off"
lifted = ["W1.a"]

[setups.lowest]
supply = "off"
lifted = ["W1.a"]
positions = { M1 = "lowest-ohms" }

[setups.highest]
supply = "off"
lifted = ["W1.a"]
positions = { M1 = "highest-ohms" }
"#;

/// Reads a job that has nothing wrong with it.
pub fn job(text: &str) -> Job {
    let job = bench::job::read("job.toml", text).unwrap_or_else(|problems| panic!("{problems}"));
    assert!(job.warnings.0.is_empty(), "{}", job.warnings);
    job
}

/// Reads a job that is usable, whatever it is warned about.
pub fn doubtful_job(text: &str) -> Job {
    bench::job::read("job.toml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

pub fn setup<'j>(job: &'j Job, name: &str) -> &'j Setup {
    &job.setups[job.find_setup(name).expect("a setup of this name")]
}

pub fn terminal(unit: &Unit, name: &str) -> TerminalId {
    unit.find_terminal(name).unwrap_or_else(|| panic!("no terminal {name}"))
}

pub fn part(unit: &Unit, name: &str) -> usize {
    unit.find_part(name).unwrap_or_else(|| panic!("no part {name}"))
}

/// Faults by their labels, such as `M2 common-open`.
pub fn faults(unit: &Unit, labels: &[&str]) -> FaultSet {
    FaultSet(labels.iter().map(|label| unit.find_fault(label).unwrap_or_else(|| panic!("no fault {label}"))).collect())
}

/// Makes the insulation of sound parts so good that not a digit of what is measured beside it changes.
pub fn take_insulation_away(unit: &Unit, deviations: &mut [f64]) {
    for (unknown, deviation) in unit.unknowns().iter().zip(deviations) {
        if unknown.words.starts_with("insulation ohms") {
            *deviation = 30.0;
        }
    }
}

/// A unit with something wrong in it, every value at its median but the severities that are given.
pub struct Bench<'j> {
    pub job: &'j Job,
    pub faults: FaultSet,
    pub deviations: Vec<f64>,
}

impl<'j> Bench<'j> {
    pub fn sound(job: &'j Job) -> Self {
        Self::with(job, &[])
    }

    pub fn with(job: &'j Job, labels: &[&str]) -> Self {
        let faults = faults(&job.unit, labels);
        let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
        Bench { job, faults, deviations }
    }

    /// The first fault at a given size.
    pub fn sized(mut self, size: f64) -> Self {
        let unknown = severity_unknown(&self.job.unit, &self.faults, 0).expect("a fault with a size");
        let severity = self.job.unit.faults()[self.faults.0[0]].mode.severity.clone().unwrap();
        self.deviations[unknown] = severity.deviation(size).expect("a size that this fault can have");
        self
    }

    /// A value of a part away from its median, by a natural logarithm.
    pub fn deviate(&mut self, of: &str, words: &str, by: f64) {
        let of = part(&self.job.unit, of);
        let is_it = |unknown: &bench::Unknown| unknown.part == of && unknown.words == words;
        let place = self.job.unit.unknowns().iter().position(is_it).unwrap_or_else(|| panic!("no {words}"));
        self.deviations[place] = by;
    }

    pub fn look<R>(&self, in_setup: &str, look: impl FnOnce(&mut Observed<'_>) -> R) -> R {
        observe(&self.job.unit, setup(self.job, in_setup), &self.faults, &self.deviations, look)
            .unwrap_or_else(|error| panic!("{error}"))
    }

    pub fn value_by(&self, in_setup: &str, measure: Measure, meter: &Meter) -> Result<f64, PredictError> {
        self.look(in_setup, |observed| observed.value(measure, meter))
    }

    fn value(&self, in_setup: &str, measure: Measure) -> f64 {
        self.value_by(in_setup, measure, &Meter::handheld()).unwrap()
    }

    /// What an ohmmeter shows of conductors and windings: no path through insulation beside them, over range is infinite.
    pub fn ohms(&self, in_setup: &str, a: &str, b: &str) -> f64 {
        let unit = &self.job.unit;
        let mut deviations = self.deviations.clone();
        take_insulation_away(unit, &mut deviations);
        let measure = Measure::Ohms(terminal(unit, a), terminal(unit, b));
        let meter = Meter::handheld();
        let value = observe(unit, setup(self.job, in_setup), &self.faults, &deviations, |observed| {
            observed.value(measure, &meter).unwrap()
        });
        let value = value.unwrap_or_else(|error| panic!("{error}"));
        if value > meter.ohms_limit { f64::INFINITY } else { value }
    }

    pub fn volts(&self, in_setup: &str, a: &str, b: &str) -> f64 {
        let unit = &self.job.unit;
        self.value(in_setup, Measure::Volts(terminal(unit, a), terminal(unit, b)))
    }

    pub fn amps(&self, in_setup: &str, at: &str) -> f64 {
        self.value(in_setup, Measure::AmpsAtTerminal(terminal(&self.job.unit, at)))
    }

    pub fn rpm(&self, in_setup: &str, motor: &str) -> f64 {
        self.value(in_setup, Measure::Rpm(part(&self.job.unit, motor)))
    }

    pub fn run_down(&self, in_setup: &str, motor: &str) -> f64 {
        self.value_by(in_setup, Measure::RunDown(part(&self.job.unit, motor)), &Meter::handheld()).unwrap()
    }

    pub fn frame_volts(&self, in_setup: &str) -> f64 {
        self.look(in_setup, |observed| observed.frame_volts())
    }

    pub fn breaker_opened(&self, in_setup: &str) -> bool {
        self.look(in_setup, |observed| observed.breaker_opened())
    }

    /// Real power that an element of a part takes, watts.
    pub fn element_watts(&self, in_setup: &str, of: &str, label: &str) -> f64 {
        let place = bench::Place::Part(part(&self.job.unit, of));
        let flows = self.look(in_setup, |observed| observed.element_flows());
        let mut found = flows.iter().filter(|flow| flow.place == place && flow.label == label);
        let flow = found.next().unwrap_or_else(|| panic!("no element {label} in {of}: {flows:?}"));
        assert!(found.next().is_none(), "two elements {label} in {of}");
        flow.watts
    }
}
