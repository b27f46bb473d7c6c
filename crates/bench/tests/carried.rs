//! What contacts and windings carry, with derivatives: against amps at terminals, and against differences.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::observe::Carried;
use bench::{FaultSet, Job, Measure, Meter, Observed, observe, observe_values};

/// A switch whose two contacts feed a heater each, and a transformer with a tapped winding that feeds two more.
const UNIT: &str = r#"
wires = [
  { from = "cord.hot", to = "S1.line" },
  { from = "S1.a", to = "H1.a" },
  { from = "S1.b", to = "T1.0" },
  { from = "T1.230", to = "cord.neutral" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "T1.x", to = "H2.a" },
  { from = "H2.b", to = "T1.y" },
  { from = "T1.y", to = "H3.a" },
  { from = "H3.b", to = "T1.z" },
]
[unit]
name = "x"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.S1]
kind = "switch"
positions.off = []
positions.on = [["line", "a"], ["line", "b"]]
[parts.T1]
kind = "transformer"
volt_amperes = 100
windings.primary = ["0", 230, "230"]
windings.secondary = ["x", 12, "y", 24, "z"]
[parts.H1]
kind = "heater"
volts = 230
watts = 500
[parts.H2]
kind = "heater"
volts = 12
watts = 40
[parts.H3]
kind = "heater"
volts = 24
watts = 30
[setups.on]
supply = "on"
positions = { S1 = "on" }
"#;

fn job() -> Job {
    bench::job::read("test", UNIT).unwrap_or_else(|problems| panic!("{problems}"))
}

fn carried(job: &Job, part: usize, observed: &Observed<'_>) -> Carried {
    match job.unit.parts()[part].kind.rated_output() {
        Some(rated) => observed.output(part, &rated).unwrap(),
        None => observed.busiest_contact(part).unwrap(),
    }
}

fn value(job: &Job, part: usize, deviations: &[f64]) -> f64 {
    let faults = FaultSet(Vec::new());
    observe_values(&job.unit, &job.setups[0], &faults, deviations, |seen| seen.carried(&carried(job, part, seen)))
        .unwrap()
}

fn slopes(job: &Job, part: usize, deviations: &[f64]) -> (f64, Vec<f64>) {
    let faults = FaultSet(Vec::new());
    observe(&job.unit, &job.setups[0], &faults, deviations, |seen| {
        let carried = carried(job, part, seen);
        let prediction = seen.carried_with_slopes(&carried).unwrap();
        (prediction.value, prediction.gradient)
    })
    .unwrap()
}

#[test]
fn derivatives_are_those_of_differences() {
    let job = job();
    let count = bench::wiring::unknown_count(&job.unit, &FaultSet(Vec::new()));
    for name in ["S1", "T1"] {
        let part = job.unit.find_part(name).unwrap();
        let (at, gradient) = slopes(&job, part, &vec![0.0; count]);
        assert!((at - value(&job, part, &vec![0.0; count])).abs() < 1e-12 * at);
        for unknown in 0..count {
            let moved = |by: f64| {
                let mut deviations = vec![0.0; count];
                deviations[unknown] = by;
                value(&job, part, &deviations)
            };
            let difference = (moved(1e-5) - moved(-1e-5)) / 2e-5;
            let slope = gradient[unknown];
            assert!((slope - difference).abs() < 1e-5 * at, "{name} {unknown}: {slope}, by differences {difference}");
        }
        assert!(gradient.iter().any(|slope| slope.abs() > 0.1 * at), "{name} depends on something");
    }
}

/// A contact with a terminal of its own carries what flows in there; a winding's sections, what flows at its ends.
#[test]
fn what_is_carried_is_what_a_clamp_shows() {
    let job = job();
    let faults = FaultSet(Vec::new());
    let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &faults)];
    observe_values(&job.unit, &job.setups[0], &faults, &deviations, |seen| {
        let amps = |name: &str| {
            let terminal = job.unit.find_terminal(name).unwrap();
            seen.value(Measure::AmpsAtTerminal(terminal), &Meter::handheld()).unwrap()
        };
        let switch = job.unit.find_part("S1").unwrap();
        let busiest = seen.carried(&seen.busiest_contact(switch).unwrap());
        assert!((busiest - amps("S1.a").max(amps("S1.b"))).abs() < 1e-9, "{busiest}");
        assert!(busiest < 0.95 * amps("S1.line"));
        let transformer = job.unit.find_part("T1").unwrap();
        let rated = job.unit.parts()[transformer].kind.rated_output().unwrap();
        let output = seen.carried(&seen.output(transformer, &rated).unwrap());
        let expected = 12.0 * amps("T1.x") + 24.0 * amps("T1.z");
        assert!((output / expected - 1.0).abs() < 1e-4, "{output}, expected {expected}");
        let opened = seen.busiest_contact(job.unit.find_part("H1").unwrap());
        assert!(opened.is_none(), "a heater has no contact");
    })
    .unwrap();
}
