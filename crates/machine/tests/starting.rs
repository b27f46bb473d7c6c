//! Motors at standstill: split-phase and capacitor starting, held to published examples.
//!
//! At standstill both fields meet the same impedance, so windings in quadrature do not couple and each shows a plain
//! impedance. The books give that impedance; how it is shared between winding and rotor is chosen here, in two ways that
//! must give the same answers.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, Factored, Network};
use common::textbook::{Cage, crossing};
use common::{Motor, Point, Winding, assert_digits, assert_near, branch, coil, degrees, phasor};
use machine::coil_group::add_around_rotor;
use std::f64::consts::{FRAC_PI_2, PI};

/// Rotors that take different shares of the impedances below.
const CAGES: [Cage; 2] = [
    Cage { resistance: 1.0, leakage: 0.5, magnetising: 20.0 },
    Cage { resistance: 2.5, leakage: 1.2, magnetising: 60.0 },
];

/// Ratio of auxiliary to main turns where the book does not use one; the share of the rotor follows.
const TURNS: f64 = 1.2;

/// A motor whose windings show the given impedances at standstill.
fn motor(volts: f64, main: Complex64, auxiliary: Complex64, outside: Complex64, cage: Cage) -> Motor {
    let winding = |turns: f64, angle: f64, impedance: Complex64, outside: Complex64| Winding {
        volts: volts.into(),
        outside,
        turns,
        angle,
        impedance: impedance - turns * turns * cage.reflected(1.0),
    };
    Motor {
        windings: vec![winding(1.0, 0.0, main, Complex64::ZERO), winding(TURNS, -FRAC_PI_2, auxiliary, outside)],
        cage,
        hertz: 60.0,
        poles: 4.0,
    }
}

fn capacitor(microfarads: f64) -> Complex64 {
    Complex64::new(0.0, -1e6 / (2.0 * PI * 60.0 * microfarads))
}

fn degrees_between(point: &Point) -> f64 {
    degrees(point.currents[1] / point.currents[0])
}

/// The capacitor that puts the currents a quarter period apart; a larger one brings them closer together.
fn quadrature_microfarads(main: Complex64, auxiliary: Complex64, cage: Cage) -> f64 {
    let excess =
        |microfarads: f64| degrees_between(&motor(120.0, main, auxiliary, capacitor(microfarads), cage).at(0.0)) - 90.0;
    crossing(100.0, 300.0, excess)
}

/// Kosow, Electric Machinery and Transformers, examples 10-1 and 10-2: 1/4 hp at 110 V, 4 A at -15 degrees in the start
/// winding, 6 A at -40 degrees in the run winding.
#[test]
fn split_phase_motor_of_kosow() {
    for cage in CAGES {
        let point = motor(110.0, 110.0 / phasor(6.0, -40.0), 110.0 / phasor(4.0, -15.0), Complex64::ZERO, cage).at(0.0);
        let total = point.currents[0] + point.currents[1];
        assert_digits(total.norm(), "9.7726");
        assert_digits(degrees(total), "-30.039");
        assert_digits(point.currents[1].re, "3.86");
        let (run_watts, start_watts) = (110.0 * point.currents[0].re, 110.0 * point.currents[1].re);
        assert_digits(start_watts, "425.007");
        assert_digits(run_watts, "505.589");
        assert_digits(point.input.re, "930.597");
        // Printed power factor and the output of 1/4 hp over the run winding's watts.
        assert_digits(point.input.re / point.input.norm(), "0.866");
        assert_digits(100.0 * 0.25 * 746.0 / run_watts, "36.888");
    }
}

/// Fitzgerald, Kingsley and Umans, example 9.1: 176 uF (recomputed 176.204) for a quarter period between the currents.
#[test]
fn starting_capacitor_of_fitzgerald_example_9_1() {
    let (main, auxiliary) = (Complex64::new(4.5, 3.7), Complex64::new(9.5, 3.5));
    for cage in CAGES {
        let microfarads = quadrature_microfarads(main, auxiliary, cage);
        assert_digits(microfarads, "176.204");
        assert_digits(-capacitor(microfarads).im, "15.0541");
    }
}

/// Fitzgerald, Kingsley and Umans, chapter 9 problem: 120 V, recomputed.
#[test]
fn starting_capacitor_of_a_fitzgerald_problem() {
    let (main, auxiliary) = (Complex64::new(4.82, 7.25), Complex64::new(7.95, 9.21));
    for cage in CAGES {
        let without = motor(120.0, main, auxiliary, Complex64::ZERO, cage).at(0.0);
        assert_digits(without.currents[0].norm(), "13.7836");
        assert_digits(degrees(without.currents[0]), "-56.383");
        assert_digits(without.currents[1].norm(), "9.8631");
        assert_digits(degrees(without.currents[1]), "-49.199");
        assert_digits(quadrature_microfarads(main, auxiliary, cage), "182.995");
        let with = motor(120.0, main, auxiliary, capacitor(182.995), cage).at(0.0);
        assert_digits(with.currents[1].norm(), "12.5699");
        assert_digits(degrees(with.currents[1]), "33.617");
        assert!((with.currents[0] - without.currents[0]).norm() < 1e-12, "the main winding does not notice");
    }
}

/// The rule behind both: X_C = X_a + R_a R_m / X_m puts the currents a quarter period apart.
#[test]
fn quadrature_rule() {
    for (main, auxiliary) in
        [(Complex64::new(4.5, 3.7), Complex64::new(9.5, 3.5)), (Complex64::new(2.0, 9.0), Complex64::new(30.0, 12.0))]
    {
        let outside = Complex64::new(0.0, -(auxiliary.im + auxiliary.re * main.re / main.im));
        let point = motor(230.0, main, auxiliary, outside, CAGES[0]).at(0.0);
        assert!((degrees_between(&point) - 90.0).abs() < 1e-9);
    }
}

/// Starting torque goes with turns, both currents and the sine between them: the difference of the squares of the two
/// drives `I_m + a I_a e^{+-j90}` is `4 a I_m I_a sin(between)`, each on half the cage's reflected resistance.
#[test]
fn starting_torque_goes_with_the_sine_between_the_currents() {
    let (main, auxiliary) = (Complex64::new(4.82, 7.25), Complex64::new(7.95, 9.21));
    for outside in [Complex64::ZERO, capacitor(400.0), capacitor(183.0), capacitor(80.0)] {
        for cage in CAGES {
            let motor = motor(120.0, main, auxiliary, outside, cage);
            let point = motor.at(0.0);
            let product = point.currents[0].norm() * point.currents[1].norm();
            let between = (point.currents[1] / point.currents[0]).arg();
            let expected = 2.0 * TURNS * product * between.sin() * cage.reflected(1.0).re / motor.synchronous_speed();
            assert_near(point.torque, expected, 1e-10);
        }
    }
}

/// Kothari and Nagrath, Electric Machines, example 10.3: 80 and 100 turns with 15 A and 7.5 A at 45 degrees make fields of
/// 427.115 and 904.888 ampere-turns, recomputed; a field's amplitude is half of its drive.
#[test]
fn forward_and_backward_ampere_turns() {
    let mut network = Network::new(50.0, 3);
    // Fields without impedance leave the currents to source volts and coil ohms.
    let coils = [
        coil(1, 0, 80.0, 0.0, Complex64::ONE),
        coil(2, 0, 100.0, FRAC_PI_2, Complex64::from_polar(1.0, -45f64.to_radians())),
    ];
    network.add_branch(branch(0, 1, Complex64::ZERO, 15.0));
    network.add_branch(branch(0, 2, Complex64::ZERO, 7.5));
    let (branches, field) = add_around_rotor(&mut network, &coils);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[Complex64::ZERO; 2]).unwrap();
    assert_near(solution.current(branches[0]).norm(), 15.0, 1e-12);
    assert!((solution.current(branches[1]) - phasor(7.5, 45.0)).norm() < 1e-12);
    assert_digits(0.5 * solution.drive(field.forward).norm(), "427.115");
    assert_digits(0.5 * solution.drive(field.backward).norm(), "904.888");
}

/// Kothari and Nagrath, example 10.2: no load 215 V, 3.9 A, 185 W; locked 85 V, 9.8 A, 390 W; winding 1.6 ohms.
///
/// The book's circuit has the magnetising reactance, 2 V0 / I0 = 110.256 ohms, across the terminals. Beside it a coil around
/// a locked rotor without magnetising current, R2 3.0829 ohms and both leakages together 8.0513 ohms, must draw the
/// locked-rotor current and watts again.
#[test]
fn locked_rotor_test_of_kothari_and_nagrath() {
    let (winding_ohms, rotor_ohms, leakages, magnetising) = (1.6, 3.0829, 8.0513, 110.256);
    assert_digits(2.0 * 215.0 / 3.9, "110.256");
    assert_digits(winding_ohms + rotor_ohms, "4.6829");
    let winding = Winding {
        volts: 85.0.into(),
        outside: Complex64::ZERO,
        turns: 1.0,
        angle: 0.0,
        impedance: Complex64::new(winding_ohms, 0.5 * leakages),
    };
    let cage = Cage { resistance: rotor_ohms, leakage: 0.5 * leakages, magnetising: 1e9 };
    let point = Motor { windings: vec![winding], cage, hertz: 50.0, poles: 4.0 }.at(0.0);
    let total = point.currents[0] + 85.0 / Complex64::new(0.0, magnetising);
    assert_near(total.norm(), 9.8, 1e-4);
    assert_near(85.0 * total.re, 390.0, 1e-4);
    assert!((degrees(total) + 62.083).abs() < 2e-3);
}
