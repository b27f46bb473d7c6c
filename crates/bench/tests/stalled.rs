//! How fast a winding warms that is stalled, and how soon what protects it opens.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::heat::words::end_words;
use bench::heat::{Case, End, HeatScales, Logged, Timeline, What, all_quantities, simulate};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Meter};
use common::{job, terminal};

const EXTRACTOR: &str = include_str!("../../../demos/extractor.toml");
const POLISHER: &str = include_str!("../../../demos/polisher.toml");
const COMPRESSOR: &str = include_str!("../../../demos/workshop-compressor.toml");
const GREENHOUSE: &str = include_str!("../../../demos/greenhouse-heater.toml");

/// A demo with a run of its live setup.
fn with_run(text: &str, setup: &str, minutes: f64) -> Job {
    job(&format!("{text}\n[runs.cold]\nminutes = {minutes}\nsteps = [{{ minute = 0, setup = \"{setup}\" }}]\n"))
}

/// The run with amps at a terminal.
fn taken(job: &Job, faults: &[&str], at: &str, seconds: &[f64]) -> Timeline<f64> {
    let faults = FaultSet(faults.iter().map(|label| job.unit.find_fault(label).unwrap()).collect());
    let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    let scales = HeatScales::medians(&job.unit);
    let run = &job.runs[job.find_run("cold").unwrap()];
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let measure = Measure::AmpsAtTerminal(terminal(&job.unit, at));
    simulate(case, seconds, |observed| observed.value(measure, &Meter::handheld()).unwrap()).unwrap()
}

/// Kelvins per second of a motor's winding in its first two seconds.
fn first_rate(job: &Job, timeline: &Timeline<f64>) -> f64 {
    let motor = job.unit.find_part("M1").unwrap();
    let node = timeline.node(motor, job.unit.winding_of(motor).unwrap()).unwrap();
    (timeline.samples[1].celsius[node] - timeline.samples[0].celsius[node]) / 2.0
}

/// Copper that keeps its heat warms by `rho J^2 / (c d)`: textbook figures at 20 degrees, and the densities of the trade. Of a
/// seized three-phase motor: between 3 and 10 K/s (common practice, from memory).
#[test]
fn seized_windings_warm_as_copper_does_that_keeps_its_heat() {
    let adiabatic =
        |amps_per_square_millimetre: f64| 1.724e-8 * (amps_per_square_millimetre * 1e6).powi(2) / (385.0 * 8960.0);
    let extractor = with_run(EXTRACTOR, "on", 10.0);
    let cases =
        [(extractor, "M1.u", 3.6, [4.0, 7.0]), (with_run(POLISHER, "running", 10.0), "M1.field-1-a", 4.6, [8.0, 12.0])];
    for (job, at, rated_amps, densities) in cases {
        let timeline = taken(&job, &["M1 seized"], at, &[0.0, 2.0]);
        let rate = first_rate(&job, &timeline);
        let times = timeline.samples[0].look / rated_amps;
        let [least, most] = densities.map(|density| adiabatic(times * density));
        assert!(rate > least && rate < most, "{rate} K/s at {times} times rated, expected {least} to {most}");
    }
}

/// When a part's contact first opens, seconds.
fn opens(job: &Job, timeline: &Timeline<f64>, part: &str) -> Option<f64> {
    let opened = What::Opened(job.unit.find_part(part).unwrap());
    timeline.events.iter().find(|event| event.what == opened).map(|event| event.seconds)
}

/// Within seconds to some tens of seconds, and to and fro ever after, less often as the shell warms; a sound one runs on (common
/// practice, no source).
#[test]
fn the_overload_inside_a_stalled_compressor_opens_soon() {
    let job = with_run(COMPRESSOR, "running", 60.0);
    let stalled = taken(&job, &["M1 seized"], "M1.common", &[0.0, 2.0]);
    let seconds = opens(&job, &stalled, "M1").expect("it trips");
    assert!((3.0..60.0).contains(&seconds), "{seconds} s");
    let End::Cycling { period_seconds, .. } = stalled.end else { panic!("{:?}", stalled.end) };
    assert!(period_seconds > 2.0 * seconds, "{period_seconds} s");
    let words = end_words(&job.unit, stalled.end);
    assert!(words.starts_with("It never settles: M1 opens every "), "{words}");
    assert!(opens(&job, &taken(&job, &[], "M1.common", &[0.0]), "M1").is_none());
    // Its own warmth makes up for its lag, some ten seconds of 4 K/s: the winding is still within class B.
    let at_trip = taken(&job, &["M1 seized"], "M1.common", &[seconds]);
    let motor = job.unit.find_part("M1").unwrap();
    let winding = at_trip.samples[0].celsius[at_trip.node(motor, job.unit.winding_of(motor).unwrap()).unwrap()];
    assert!(winding < 130.0, "{winding} degrees");
    // Without amps on the plate those that it amounts to count.
    let bare = with_run(&COMPRESSOR.replace("amps = 5.2, ", "").replace(", run_microfarads = 25", ""), "running", 60.0);
    let seconds = opens(&bare, &taken(&bare, &["M1 seized"], "M1.common", &[0.0]), "M1").expect("it trips");
    let motor = bare.unit.find_part("M1").unwrap();
    let at_trip = taken(&bare, &["M1 seized"], "M1.common", &[seconds]);
    let winding = at_trip.samples[0].celsius[at_trip.node(motor, bare.unit.winding_of(motor).unwrap()).unwrap()];
    assert!((3.0..60.0).contains(&seconds) && winding < 130.0, "{seconds} s, {winding} degrees");
}

/// A cutout of 80 degrees in a fan heater whose fan stands opens within minutes, and what the element still holds carries it
/// some tens of kelvins further, not a hundred (common practice, no source).
#[test]
fn a_cutout_does_not_run_far_beyond_its_temperature() {
    let job = with_run(GREENHOUSE, "warm air", 60.0);
    let every: Vec<f64> = (0..=360).map(|step| f64::from(step) * 10.0).collect();
    let timeline = taken(&job, &["M1 seized"], "M1.common", &every);
    let seconds = opens(&job, &timeline, "K1").expect("it opens");
    let node = timeline.node(job.unit.find_part("K1").unwrap(), 0).unwrap();
    let hottest = timeline.samples.iter().map(|sample| sample.celsius[node]).fold(0.0, f64::max);
    assert!(seconds < 600.0 && hottest > 85.0 && hottest < 130.0, "{seconds} s, {hottest} degrees");
}

/// 2 kW into 45 litres of air a second: 1206 J/(m^3 K) times 0.045 m^3/s carry 54.3 W/K, so 36.8 K (by hand); motor and heater
/// are within some per cent of their ratings.
#[test]
fn the_air_of_a_stream_is_logged_behind_the_part_that_warms_it() {
    let job = with_run(GREENHOUSE, "warm air", 60.0);
    let [before, behind] = ["M1", "H1"].map(|part| job.unit.find_part(part).unwrap());
    let timeline = taken(&job, &[], "M1.common", &[3600.0]);
    let celsius = |part: usize| timeline.samples[0].celsius[timeline.air[part].unwrap()];
    let rise = celsius(behind) - celsius(before);
    assert!((rise - 2000.0 / 54.27).abs() < 0.04 * rise, "{rise} K");
    let of_air = |logged: &Logged| logged.celsius_place(&job.unit).filter(|place| place.ends_with(".air"));
    let places: Vec<String> = all_quantities(&job.unit).iter().filter_map(of_air).collect();
    assert_eq!(places, ["K1.air", "H1.air", "M1.air"]);
}
