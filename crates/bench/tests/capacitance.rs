//! Capacitance as a meter reads it: against closed forms by hand, and against volts and amps on the same capacitor. Units
//! are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Measure, Meter, PredictError};
use common::{Bench, job, terminal};

/// A capacitor straight across the supply: `microfarads` on `hertz`, with more lines of its own.
fn across(kind: &str, microfarads: f64, hertz: f64, more: &str) -> Job {
    job(&format!(
        "wires = [{{ from = \"supply.hot\", to = \"C1.a\" }}, {{ from = \"C1.b\", to = \"supply.neutral\" }}]\n\
         [unit]\nname = \"capacitor\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 120\nhertz = {hertz}\nbreaker_amps = 30\n\
         [parts.C1]\nkind = \"{kind}\"\nmicrofarads = {microfarads}\n{more}\n\
         [setups.on]\nsupply = \"on\"\n[setups.connected]\nsupply = \"off\"\n\
         [setups.off]\nsupply = \"off\"\nlifted = [\"C1.a\", \"C1.b\"]\n\
         [setups.\"one end off\"]\nsupply = \"off\"\nlifted = [\"C1.b\"]\n\
         [setups.bridged]\nsupply = \"off\"\nlifted = [\"C1.b\"]\njumpers = [[\"C1.b\", \"supply.neutral\"]]\n"
    ))
}

fn read(bench: &Bench<'_>, setup: &str, ends: [&str; 2]) -> Result<f64, PredictError> {
    let [a, b] = ends.map(|end| terminal(&bench.job.unit, end));
    bench.value_by(setup, Measure::Microfarads(a, b), &Meter::handheld())
}

fn shown(bench: &Bench<'_>) -> f64 {
    read(bench, "off", ["C1.a", "C1.b"]).unwrap()
}

#[track_caller]
fn close(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found}, expected {expected}");
}

#[test]
fn a_sound_capacitor_shows_its_microfarads_whatever_bleeds_it() {
    // Z = (0.002 - j) X, so Im(Y) = 1 / (X (1 + 0.002^2)): 12 uF shows 11.99995.
    let run = across("run-capacitor", 12.0, 50.0, "");
    close(shown(&Bench::sound(&run)), 12.0 / (1.0 + 4e-6), 1e-12);
    // A start capacitor has its mark and a tenth, and loses 0.08: 1.1 * 130 / 1.0064 = 142.0906, with 15 kilohms across or
    // without; a resistor has no imaginary part.
    for more in ["", "bleed_ohms = \"15k\""] {
        let start = across("start-capacitor", 130.0, 60.0, more);
        close(shown(&Bench::sound(&start)), 142.090_620, 1e-8);
    }
}

#[test]
fn either_way_round_and_with_one_end_off_it_shows_the_same() {
    let job = across("run-capacitor", 12.0, 50.0, "");
    let bench = Bench::sound(&job);
    let value = shown(&bench);
    for (setup, ends) in
        [("off", ["C1.b", "C1.a"]), ("one end off", ["C1.a", "C1.b"]), ("one end off", ["C1.b", "C1.a"])]
    {
        assert_eq!(read(&bench, setup, ends), Ok(value), "{setup}");
    }
    for setup in ["on", "connected", "bridged"] {
        assert!(read(&bench, setup, ["C1.a", "C1.b"]).is_err(), "{setup}");
    }
    assert!(read(&bench, "off", ["C1.a", "supply.hot"]).is_err());
}

#[test]
fn faults_show_as_on_a_bench() {
    let job = across("run-capacitor", 12.0, 50.0, "");
    let sound = shown(&Bench::sound(&job));
    assert_eq!(shown(&Bench::with(&job, &["C1 open"])), 0.0);
    // That handheld meters show over range across a short: published manual of a handheld multimeter.
    assert_eq!(shown(&Bench::with(&job, &["C1 shorted"])), f64::INFINITY);
    close(shown(&Bench::with(&job, &["C1 low"]).sized(0.35)), 0.65 * sound, 1e-12);
    close(shown(&Bench::with(&job, &["C1 wrong-value"]).sized(0.5)), 0.5 * sound, 1e-12);
    assert_eq!(shown(&Bench::with(&job, &["C1 leaky"]).sized(20e3)), sound);
    let bled = across("start-capacitor", 130.0, 60.0, "bleed_ohms = \"15k\"");
    assert_eq!(shown(&Bench::with(&bled, &["C1 open"])), 0.0);
}

#[test]
fn volts_and_amps_give_the_same_by_the_published_rule() {
    // Published service rules: uF = 2652 A / V at 60 Hz, 3183 at 50 Hz (1e6 / (2 pi f), to four figures).
    for (hertz, factor) in [(60.0, 2652.0), (50.0, 3183.0)] {
        for microfarads in [2.0, 12.0, 45.0] {
            let job = across("run-capacitor", microfarads, hertz, "");
            for labels in [&[][..], &["C1 low"]] {
                let bench = Bench::with(&job, labels);
                let running = factor * bench.amps("on", "C1.a") / bench.volts("on", "C1.a", "C1.b");
                close(shown(&bench), running, 3e-4);
            }
        }
    }
}

#[test]
fn a_handheld_meter_promises_what_its_manual_does() {
    // Published manual of a handheld multimeter: +-(2 % + 4 counts) of 10 nF in the 40 uF range: 0.28 uF at 12 uF.
    let job = across("run-capacitor", 12.0, 50.0, "");
    let [a, b] = ["C1.a", "C1.b"].map(|end| terminal(&job.unit, end));
    let (meter, measure) = (Meter::handheld(), Measure::Microfarads(a, b));
    close(meter.accuracy(measure).half_width(12.0), 0.28, 1e-12);
    assert_eq!(meter.limit(measure), 4000.0);
}
