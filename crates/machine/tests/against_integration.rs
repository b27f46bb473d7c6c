//! Phasor solutions of single-phase motors against `reference/time_domain.py`, which integrates their differential
//! equations over time and knows neither phasors nor slip.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::Complex64;
use common::inductance_form::{EXAMPLE_9_5, VOLTS, capacitor_ohms};
use common::textbook::Cage;
use common::{Motor, Point, Winding};
use serde_json::Value;

/// Largest difference, as a share of the largest value of its sort; the integration itself is good to about this.
const TOLERANCE: f64 = 1e-7;

fn stored() -> Value {
    serde_json::from_str(include_str!("data/time_domain.json")).unwrap()
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no number {key}"))
}

fn phasor(value: &Value, key: &str) -> Complex64 {
    Complex64::new(value[key][0].as_f64().unwrap(), value[key][1].as_f64().unwrap())
}

fn share(found: Complex64, expected: Complex64) -> f64 {
    (found - expected).norm() / expected.norm()
}

/// What both motors are compared by: watts and torque, the torque as a share of what the gap power could make.
fn worst_of_powers(point: &Point, expected: &Value, synchronous_speed: f64) -> f64 {
    let watts = number(expected, "watts");
    let torque_scale = (point.forward_power + point.backward_power) / synchronous_speed;
    [
        (point.input.re - watts) / watts,
        (point.rotor_loss - number(expected, "rotor_watts")) / watts,
        (point.torque - number(expected, "torque")) / torque_scale,
    ]
    .into_iter()
    .fold(0.0, |worst, off| worst.max(off.abs()))
}

#[test]
fn a_capacitor_run_motor_at_rest_and_at_speed() {
    let stored = stored();
    let described = &stored["capacitor_run"]["motor"];
    let inductances = [
        ("main_ohms", EXAMPLE_9_5.main.0),
        ("main_henries", EXAMPLE_9_5.main.1),
        ("auxiliary_ohms", EXAMPLE_9_5.auxiliary.0),
        ("auxiliary_henries", EXAMPLE_9_5.auxiliary.1),
        ("rotor_ohms", EXAMPLE_9_5.rotor.0),
        ("rotor_henries", EXAMPLE_9_5.rotor.1),
        ("main_mutual", EXAMPLE_9_5.main_mutual),
        ("auxiliary_mutual", EXAMPLE_9_5.auxiliary_mutual),
        ("volts", VOLTS),
    ];
    for (name, value) in inductances {
        assert_eq!(number(described, name), value, "{name}");
    }
    let microfarads = number(described, "microfarads");
    let motor = EXAMPLE_9_5.motor(EXAMPLE_9_5.usual_referral(), microfarads);
    let points = stored["capacitor_run"]["points"].as_array().unwrap();
    assert_eq!(points.len(), 4);
    let mut overall: f64 = 0.0;
    for expected in points {
        let ratio = number(expected, "ratio");
        let point = motor.at(ratio);
        let capacitor = -Complex64::I * capacitor_ohms(microfarads) * point.currents[1];
        let main_watts = (VOLTS * point.currents[0].conj()).re;
        let auxiliary_watts = (-VOLTS * point.currents[1].conj()).re;
        let watts = number(expected, "watts");
        let worst = [
            share(point.currents[0], phasor(expected, "main")),
            share(point.currents[1], phasor(expected, "auxiliary")),
            share(capacitor, phasor(expected, "capacitor")),
            (main_watts - number(expected, "main_watts")).abs() / watts,
            (auxiliary_watts - number(expected, "auxiliary_watts")).abs() / watts,
            worst_of_powers(&point, expected, motor.synchronous_speed()),
        ]
        .into_iter()
        .fold(0.0, f64::max);
        assert!(worst < TOLERANCE, "at {ratio} of synchronous speed: {worst:e}");
        overall = overall.max(worst);
    }
    eprintln!("worst relative difference {overall:e}");
}

#[test]
fn a_motor_on_its_main_winding_alone() {
    let stored = stored();
    let described = &stored["main_alone"]["motor"];
    let main = Winding {
        volts: number(described, "volts").into(),
        outside: Complex64::ZERO,
        turns: 1.0,
        angle: 0.0,
        impedance: Complex64::new(number(described, "r1"), number(described, "x1")),
    };
    let cage = Cage {
        resistance: number(described, "r2"),
        leakage: number(described, "x2"),
        magnetising: number(described, "xm"),
    };
    let (hertz, poles) = (number(described, "hertz"), number(described, "poles"));
    let motor = Motor { windings: vec![main], cage, hertz, poles };
    let points = stored["main_alone"]["points"].as_array().unwrap();
    assert_eq!(points.len(), 3);
    let mut overall: f64 = 0.0;
    for expected in points {
        let ratio = number(expected, "ratio");
        let point = motor.at(ratio);
        let worst = share(point.currents[0], phasor(expected, "main")).max(worst_of_powers(
            &point,
            expected,
            motor.synchronous_speed(),
        ));
        assert!(worst < TOLERANCE, "at {ratio} of synchronous speed: {worst:e}");
        overall = overall.max(worst);
    }
    eprintln!("worst relative difference {overall:e}");
}
