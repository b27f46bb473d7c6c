//! Starters are sound job files: they load without a word, every setup is solved, and a running motor does what its
//! plate says.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::job::{Starter, starters};
use bench::{Job, Measure, Meter, Setup, TerminalId};
use common::Bench;

fn job(starter: &Starter) -> Job {
    let job = bench::job::read(starter.name, starter.text).unwrap_or_else(|problems| panic!("{problems}"));
    assert!(job.warnings.0.is_empty(), "{}", job.warnings);
    job
}

fn document(starter: &Starter) -> toml::Table {
    toml::from_str(starter.text).unwrap()
}

/// A figure of a motor's plate, read from the file and not through our own types.
fn plate(starter: &Starter, motor: &str, field: &str) -> f64 {
    let figure = &document(starter)["parts"][motor]["plate"][field];
    figure.as_float().or(figure.as_integer().map(|whole| whole as f64)).unwrap()
}

fn motors(job: &Job) -> Vec<(usize, String)> {
    let hertz = job.unit.hertz();
    let turns = |part: usize| job.unit.parts()[part].kind.synchronous_rpm(hertz).is_some();
    (0..job.unit.parts().len())
        .filter(|&part| turns(part))
        .map(|part| (part, job.unit.parts()[part].name.clone()))
        .collect()
}

#[test]
fn starters_hold_a_unit_and_setups_and_nothing_that_was_read() {
    let names: Vec<&str> = starters().iter().map(|starter| starter.name).collect();
    assert_eq!(names, ["tapped-blower", "twin-blower", "heater-cabinet", "capacitor-start-pump", "compressor"]);
    for starter in starters() {
        let job = job(starter);
        let first = starter.text.lines().next().unwrap();
        assert!(first.starts_with("# A starter: change the nameplates to those of your unit."), "{first}");
        assert!(first.ends_with("of no real machine."), "{first}");
        assert_eq!((job.readings.len(), job.symptoms.len()), (0, 0), "{}", starter.name);
        assert!(!document(starter).contains_key("readings") && !document(starter).contains_key("symptoms"));
        assert_eq!(job.unit.name, starter.title);
        assert!(job.find_setup("unplugged").is_some(), "{}", starter.name);
        assert!(job.unit.wires().iter().all(|wire| wire.colour.is_some()), "{}", starter.name);
    }
    let files = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../../starters")).unwrap();
    assert_eq!(files.count(), starters().len(), "a file in starters/ is not in the list");
}

/// Every measure that can be taken in a setup.
fn measures(job: &Job, setup: &Setup) -> Vec<Measure> {
    let terminals = || (0..job.unit.terminal_count()).map(TerminalId);
    if !setup.energised {
        let pairs = terminals().flat_map(|a| terminals().filter(move |b| a.0 < b.0).map(move |b| Measure::Ohms(a, b)));
        return pairs.collect();
    }
    let neutral = job.unit.find_terminal("cord.neutral").unwrap();
    let mut all: Vec<Measure> = terminals().filter(|&a| a != neutral).map(|a| Measure::Volts(a, neutral)).collect();
    all.extend(terminals().map(Measure::AmpsAtTerminal));
    all.extend((0..job.unit.wires().len()).map(Measure::AmpsInWire));
    all.extend((0..job.unit.parts().len()).map(Measure::Watts));
    let cord = job.unit.find_part("cord").unwrap();
    all.extend([Measure::LeakageMilliamps(cord), Measure::TouchMilliamps(job.unit.frame())]);
    all.extend(motors(job).into_iter().flat_map(|(part, _)| [Measure::Rpm(part), Measure::RunDown(part)]));
    all
}

#[test]
fn every_setup_is_solved_and_every_reading_in_it_is_a_sensible_number() {
    for starter in starters() {
        let job = job(starter);
        for setup in &job.setups {
            Bench::sound(&job).look(&setup.name, |observed| {
                assert!(!observed.breaker_opened(), "{} {}", starter.name, setup.name);
                for measure in measures(&job, setup) {
                    let value = observed.value(measure, &Meter::handheld()).unwrap();
                    let place = format!("{} {} {}", starter.name, setup.name, bench::words::place(&job.unit, measure));
                    let most = match measure {
                        // Open is infinite.
                        Measure::Ohms(..) | Measure::Microfarads(..) => f64::INFINITY,
                        // A run capacitor lifts the start lead above the supply.
                        Measure::Volts(..) => 2.5 * if job.unit.hertz() == 60.0 { 120.0 } else { 230.0 },
                        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => 15.0,
                        Measure::Watts(_) => 2000.0,
                        Measure::Rpm(_) => 3600.0,
                        // What portable appliances of class I may leak (IEC 60335-1 13.2).
                        Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => 0.75,
                        Measure::RunDown(_) => 120.0,
                        Measure::Bars(..) => f64::INFINITY,
                    };
                    assert!(!value.is_nan() && value <= most, "{place}: {value}");
                    assert!(value >= -1e-6, "{place}: {value}");
                }
            });
        }
    }
}

#[test]
fn every_position_of_every_switch_is_solved() {
    for starter in starters() {
        let job = job(starter);
        let live: Vec<&Setup> = job.setups.iter().filter(|setup| setup.energised).collect();
        for (part, entry) in job.unit.parts().iter().enumerate() {
            for position in entry.kind.positions() {
                for setup in &live {
                    let mut other = (*setup).clone();
                    other.positions.insert(part, position.clone());
                    let bench = Bench::sound(&job);
                    bench::observe(&job.unit, &other, &bench.faults, &bench.deviations, |observed| {
                        assert!(!observed.breaker_opened(), "{} {} at {position}", starter.name, entry.name);
                        assert!(observed.watts(job.unit.supply()).is_finite());
                    })
                    .unwrap_or_else(|error| panic!("{}: {error}", starter.name));
                }
            }
        }
    }
}

/// The setup with everything on, what else than motors takes current in it, in watts, and the volts of the supply.
const FULL: [(&str, &str, f64, f64); 5] = [
    ("tapped-blower", "high", 0.0, 230.0),
    ("twin-blower", "high", 0.0, 120.0),
    ("heater-cabinet", "heating", 1000.3, 120.0),
    ("capacitor-start-pump", "running", 0.0, 230.0),
    ("compressor", "cooling", 0.0, 120.0),
];

#[test]
fn at_full_speed_motors_turn_and_draw_as_their_plates_say() {
    for ((name, setup, heat_watts, volts), starter) in FULL.into_iter().zip(starters()) {
        assert_eq!(name, starter.name);
        let job = job(starter);
        let bench = Bench::sound(&job);
        let mut expected_amps = heat_watts / volts;
        for (_, motor) in motors(&job) {
            let (rpm, rated) = (bench.rpm(setup, &motor), plate(starter, &motor, "rpm"));
            assert!((rpm / rated - 1.0).abs() < 0.03, "{name} {motor}: {rpm} rpm, plate {rated}");
            let amps = bench.amps(setup, &format!("{motor}.common"));
            let rated = plate(starter, &motor, "amps");
            assert!((amps / rated - 1.0).abs() < 0.08, "{name} {motor}: {amps} A, plate {rated}");
            expected_amps += rated;
        }
        let amps = bench.amps(setup, "cord.hot");
        // Currents of heaters and motors do not quite add up: they are not in step.
        assert!((amps / expected_amps - 1.0).abs() < 0.08, "{name}: {amps} A, plates together {expected_amps}");
        assert!(bench.frame_volts(setup) < 1.0, "{name}");
    }
}

#[test]
fn slower_taps_turn_slower_and_open_protectors_stop_everything() {
    let find = |name: &str| job(starters().iter().find(|starter| starter.name == name).unwrap());
    let blower = find("tapped-blower");
    let rpm = |setup: &str| Bench::sound(&blower).rpm(setup, "M1");
    assert!(rpm("high") > 1.1 * rpm("medium") && rpm("medium") > 1.1 * rpm("low") && rpm("low") > 500.0);
    let twin = find("twin-blower");
    let rpm = |setup: &str| Bench::sound(&twin).rpm(setup, "M1");
    assert!(rpm("high") > 1.1 * rpm("low"));
    let cabinet = find("heater-cabinet");
    let amps = |setup: &str| Bench::sound(&cabinet).amps(setup, "H1.a");
    assert!(amps("heating") > 8.0 && amps("up to heat") < 0.01 && amps("fan only") < 0.01);
    let compressor = find("compressor");
    for setup in ["not calling", "overload open"] {
        assert!(Bench::sound(&compressor).amps(setup, "cord.hot") < 0.01, "{setup}");
    }
}

#[test]
fn the_start_capacitor_of_the_pump_matters_at_rest_only() {
    let starter = starters().iter().find(|starter| starter.name == "capacitor-start-pump").unwrap();
    let job = job(starter);
    let amps = |faults: &[&str], setup: &str| Bench::with(&job, faults).amps(setup, "M1.start");
    let (sound, open) = (amps(&[], "held still"), amps(&["C2 open"], "held still"));
    assert!(sound > 2.0 * open, "{sound} A with the start capacitor, {open} A without");
    assert!((amps(&[], "running") - amps(&["C2 open"], "running")).abs() < 1e-3);
}
