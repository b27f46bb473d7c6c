//! Saturating iron against root-finding by SciPy (`reference/saturation.py`), and what a bench knows of it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/series.rs"]
mod series;
#[path = "common/starting.rs"]
#[allow(dead_code)]
mod starting;

use bench::{FaultSet, Job, Measure, Meter, observe, observe_values};
use common::{THREE_PHASE_FAN, job, part, setup, terminal};
use serde_json::Value;
use series::SATURATING;

fn reference() -> Value {
    serde_json::from_str(include_str!("data/saturation.json")).unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no number {key}"))
}

/// Deviations that give unknowns by their words the values wanted.
fn deviations(job: &Job, wanted: &[(&str, f64)]) -> Vec<f64> {
    let mut deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &FaultSet::none())];
    for (words, value) in wanted {
        let index = job.unit.unknowns().iter().position(|unknown| unknown.words == *words);
        let index = index.unwrap_or_else(|| panic!("no {words}"));
        deviations[index] = (value / job.unit.unknowns()[index].median).ln();
    }
    deviations
}

const SHARE: &str = "ampere-turns of the iron over the air gap's";

/// The main winding alone, pushed: its auxiliary lead is off.
fn main_alone() -> Job {
    let text = SATURATING
        .replace("{ from = \"M1.start\", to = \"C1.a\" },", "")
        .replace("{ from = \"C1.b\", to = \"M1.run\" },", "{ from = \"C1.b\", to = \"C1.a\" },");
    bench::job::read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn volts_of_the_air_gap_amps_watts_and_speed_agree_with_root_finding() {
    let (reference, job) = (reference(), main_alone());
    let motor = &reference["motor"];
    let saturation = job.unit.parts()[part(&job.unit, "M1")].kind.saturation().unwrap();
    let gap = number(motor, "rated_gap_volts");
    assert!((saturation.rated_gap_volts / gap - 1.0).abs() < 1e-9, "{}", saturation.rated_gap_volts);
    for case in reference["cases"].as_array().unwrap() {
        let deviations = deviations(
            &job,
            &[
                ("supply volts", number(case, "volts")),
                ("supply source ohms", number(motor, "source_ohms") / 2.0),
                ("main winding ohms", number(motor, "main_ohms")),
                ("leakage reactance", number(motor, "leakage")),
                ("magnetising reactance", number(motor, "magnetising")),
                ("rotor resistance", number(motor, "rotor_ohms")),
                ("core loss", number(motor, "core_loss")),
                ("fan torque", number(motor, "load_torque")),
                ("bearing friction", number(motor, "friction_torque")),
                (SHARE, number(case, "share")),
            ],
        );
        observe_values(&job.unit, setup(&job, "pushed"), &FaultSet::none(), &deviations, |observed| {
            assert!(observed.settled());
            let steady = observed.steady().unwrap();
            let line = observed.value(Measure::AmpsAtTerminal(terminal(&job.unit, "M1.common")), &Meter::handheld());
            for (key, found) in [
                ("gap_volts", steady.gap_volts(0)),
                ("ratio", observed.speed_ratio(part(&job.unit, "M1")).unwrap()),
                ("amps", line.unwrap()),
                ("watts", observed.watts(part(&job.unit, "M1"))),
            ] {
                let expected = number(case, key);
                // Some 4 microamps of stray capacitances are left.
                assert!((found / expected - 1.0).abs() < 2e-5, "{key}: {found}, by root-finding {expected}, {case}");
            }
        })
        .unwrap();
    }
}

#[test]
fn at_plate_volts_all_is_nearly_as_without_and_above_them_amps_rise_faster() {
    let with = job(SATURATING);
    let without = job(&SATURATING.replace("iron = \"saturates\"", "iron = \"linear\""));
    let amps = |job: &Job, volts: f64| {
        let deviations = deviations(job, &[("supply volts", volts), ("supply source ohms", 1e-6)]);
        observe(&job.unit, setup(job, "on"), &FaultSet::none(), &deviations, |observed| {
            observed.value(Measure::AmpsAtTerminal(terminal(&job.unit, "M1.common")), &Meter::handheld()).unwrap()
        })
        .unwrap()
    };
    let (plate, linear) = (amps(&with, 230.0), amps(&without, 230.0));
    assert!((plate / linear - 1.0).abs() < 0.01, "{plate} and {linear} A");
    let (high, linear_high) = (amps(&with, 265.0), amps(&without, 265.0));
    assert!(
        high > 1.03 * linear_high && high / plate > linear_high / linear,
        "{plate} {high}, {linear} {linear_high} A"
    );
}

/// Motors that start with a switch, reversible ones, compressors and three-phase motors: at plate volts the iron changes next
/// to nothing; a seventh above them the air gap has fewer volts than with linear iron, and the motor takes more amps, unless
/// it has a capacitor whose leading current makes up for them.
#[test]
fn every_induction_motor_may_have_iron_that_saturates() {
    let plates = [
        (starting::GRINDER, "kind = \"split-phase-motor\"", "on", true),
        (starting::DRUM, "kind = \"reversible-motor\"", "forward", false),
        (starting::PTC, "kind = \"compressor\"", "on", true),
        (THREE_PHASE_FAN, "kind = \"three-phase-motor\"", "on", true),
    ];
    for (text, kind, in_setup, lags) in plates {
        // A grinder that runs free has more volts in its air gap than at its plate.
        let text = &text.replace("load = \"none\"", "load = \"fan\"");
        let with = job(&text.replacen(kind, &format!("{kind}\niron = \"saturates\""), 1));
        let without = job(text);
        let rated = without.unit.unknowns().iter().find(|unknown| unknown.words.starts_with("supply volts"));
        let rated = rated.map_or_else(|| panic!("no supply volts in {kind}"), |unknown| unknown.median);
        let amps_and_gap = |job: &Job, times: f64| {
            let deviations = deviations(job, &[("supply volts", times * rated)]);
            observe(&job.unit, setup(job, in_setup), &FaultSet::none(), &deviations, |observed| {
                assert!(observed.settled(), "{kind}");
                let motor = bench::TerminalId(job.unit.terminals_of(part(&job.unit, "M1")).start);
                let amps = observed.value(Measure::AmpsAtTerminal(motor), &Meter::handheld()).unwrap();
                (amps, observed.steady().unwrap().gap_volts(0))
            })
            .unwrap()
        };
        let (plate, linear) = (amps_and_gap(&with, 1.0), amps_and_gap(&without, 1.0));
        assert!((plate.0 / linear.0 - 1.0).abs() < 0.03, "{kind}: {plate:?} and {linear:?} at plate volts");
        let (high, linear_high) = (amps_and_gap(&with, 1.15), amps_and_gap(&without, 1.15));
        assert!(high.1 < 0.995 * linear_high.1, "{kind}: {high:?} and {linear_high:?} a seventh above");
        assert!(!lags || high.0 > 1.03 * linear_high.0, "{kind}: {high:?} and {linear_high:?} a seventh above");
    }
}

/// The volts that the air gap of a three-phase motor induces at its plate, by the plate and by the solution.
#[test]
fn a_three_phase_plate_knows_the_volts_of_its_air_gap() {
    let job = job(&THREE_PHASE_FAN.replacen(
        "kind = \"three-phase-motor\"",
        "kind = \"three-phase-motor\"\niron = \"saturates\"",
        1,
    ));
    let rated = job.unit.parts()[part(&job.unit, "M1")].kind.saturation().unwrap().rated_gap_volts;
    let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &FaultSet::none())];
    let found = observe(&job.unit, setup(&job, "on"), &FaultSet::none(), &deviations, |observed| {
        observed.steady().unwrap().gap_volts(0)
    })
    .unwrap();
    assert!((found / rated - 1.0).abs() < 0.03, "{found} V in the unit, {rated} V by the plate");
}
