//! Motors with two windings in quadrature, held to published capacitor-run and two-phase examples.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::Complex64;
use common::inductance_form::{EXAMPLE_9_5, OMEGA, VOLTS, capacitor_ohms};
use common::textbook::Cage;
use common::{Motor, Point, Winding, assert_digits, assert_near, degrees, phasor, rotor};
use std::f64::consts::FRAC_PI_2;

const I: Complex64 = Complex64::I;

/// Slip and speeds come to millionths only, which leaves this much of the printed digits.
const DIGITS: f64 = 3e-5;

const MICROFARADS: f64 = 35.0;
const RATED_RATIO: f64 = 3500.0 / 3600.0;

fn example_at(microfarads: f64, ratio: f64) -> Point {
    EXAMPLE_9_5.motor(EXAMPLE_9_5.usual_referral(), microfarads).at(ratio)
}

/// Line current; the auxiliary current is counted against the reversed source.
fn line(point: &Point) -> Complex64 {
    point.currents[0] - point.currents[1]
}

fn assert_phasor(value: Complex64, size: f64, angle: f64) {
    assert_near(value.norm(), size, DIGITS);
    // Thousandths of a degree are printed.
    assert!((degrees(value) - angle).abs() < 1.5e-3, "{} degrees, not {angle}", degrees(value));
}

#[test]
fn fitzgerald_example_9_5_recomputed() {
    let point = example_at(MICROFARADS, RATED_RATIO);
    assert_phasor(point.currents[0], 15.8768, -37.605);
    assert_phasor(point.currents[1], 5.1958, -150.763);
    assert_phasor(line(&point), 18.5460, -22.678);
    assert_phasor(-I * capacitor_ohms(MICROFARADS) * point.currents[1], 393.780, 119.237);
    assert_near(point.torque, 9.74589, DIGITS);
    assert_near(point.forward_power, 3686.36, DIGITS);
    assert_near(point.backward_power, 12.25, 4e-4);
    assert_near(point.converted, 3572.05, DIGITS);
    assert_near(point.input.re, 3935.78, DIGITS);
    assert_near(point.copper_loss, 237.180, DIGITS);
    assert_near(point.rotor_loss, 126.550, DIGITS);
    // Rotational and core loss of 153 W come off the converted power.
    assert_near(point.converted - 153.0, 3419.05, DIGITS);
    assert_near((point.converted - 153.0) / point.input.re, 0.86871, DIGITS);
}

/// The book's own answers, to the digits it prints.
#[test]
fn fitzgerald_example_9_5_as_printed() {
    let point = example_at(MICROFARADS, RATED_RATIO);
    let capacitor_volts = -I * capacitor_ohms(MICROFARADS) * point.currents[1];
    assert_digits(point.currents[0].norm(), "15.9");
    assert_digits(degrees(point.currents[0]), "-37.6");
    assert_digits(point.currents[1].norm(), "5.20");
    assert_digits(line(&point).norm(), "18.5");
    assert_digits(degrees(line(&point)), "-22.7");
    assert_digits(capacitor_volts.norm(), "394");
    // The book goes on from rounded currents.
    assert!((degrees(point.currents[1]) + 150.7).abs() < 0.1);
    assert!((degrees(capacitor_volts) - 119.3).abs() < 0.1);
    assert_near(point.torque, 9.74, 1e-3);
    assert!(capacitor_volts.norm() > VOLTS, "a run capacitor must stand more than the line");
}

/// Other capacitors at 3500 rev/min, recomputed: main, auxiliary and line amperes, capacitor volts, torque.
#[test]
fn weak_capacitors_weaken_the_motor() {
    for (microfarads, main, auxiliary, total, volts, torque) in [
        (33.25, 16.1703, 4.8917, 18.5683, 390.248, 9.64006),
        (31.5, 16.4636, 4.5929, 18.6096, 386.766, 9.53616),
        (28.0, 17.0485, 4.0106, 18.7444, 379.948, 9.33397),
        (17.5, 18.7651, 2.3791, 19.4878, 360.621, 8.77010),
        (38.5, 15.2920, 5.8201, 18.5626, 400.995, 9.96341),
    ] {
        let point = example_at(microfarads, RATED_RATIO);
        assert_near(point.currents[0].norm(), main, DIGITS);
        assert_near(point.currents[1].norm(), auxiliary, DIGITS);
        assert_near(line(&point).norm(), total, DIGITS);
        assert_near(capacitor_ohms(microfarads) * point.currents[1].norm(), volts, DIGITS);
        assert_near(point.torque, torque, DIGITS);
    }
}

fn with_open_auxiliary() -> Motor {
    let mut motor = EXAMPLE_9_5.motor(EXAMPLE_9_5.usual_referral(), MICROFARADS);
    motor.windings.truncate(1);
    motor
}

#[test]
fn open_auxiliary_winding_recomputed() {
    let point = with_open_auxiliary().at(RATED_RATIO);
    assert_near(point.currents[0].norm(), 21.4175, DIGITS);
    assert!((degrees(point.currents[0]) + 46.31).abs() < 6e-3);
    assert_near(point.torque, 7.95760, DIGITS);
    assert_near(point.input.re, 3402.85, DIGITS);
    let standstill = with_open_auxiliary().at(0.0);
    assert!(standstill.torque.abs() < 1e-12 * standstill.forward_power / OMEGA);
}

/// Line amperes, their angle and torque at other speeds, recomputed.
#[test]
fn other_speeds_recomputed() {
    for (rpm, amps, angle, torque) in [(3400.0, 32.1284, -26.92, 15.47374), (3550.0, 10.6164, -27.08, 5.35321)] {
        let point = example_at(MICROFARADS, rpm / 3600.0);
        assert_near(line(&point).norm(), amps, DIGITS);
        assert!((degrees(line(&point)) - angle).abs() < 6e-3);
        assert_near(point.torque, torque, DIGITS);
    }
}

#[test]
fn standstill_recomputed() {
    let point = example_at(MICROFARADS, 0.0);
    assert_digits(point.currents[0].norm(), "79.0296");
    assert_digits(point.currents[1].norm(), "3.3669");
    assert_digits(point.torque, "0.59622");
}

/// Referred or not, and whatever the referral, it is the same motor: compared with the book's equations over all speeds.
#[test]
fn referral_does_not_change_the_motor() {
    for share in [0.9, 1.0, 1.07] {
        let motor = EXAMPLE_9_5.motor(share * EXAMPLE_9_5.usual_referral(), MICROFARADS);
        for ratio in [-0.5, 0.0, 0.25, 0.7, 0.95, 0.999, 1.0, 1.1] {
            let point = motor.at(ratio);
            let (main, auxiliary, torque) = EXAMPLE_9_5.book_solution(MICROFARADS, 1.0 - ratio);
            assert!((point.currents[0] - main).norm() < 1e-9 * main.norm());
            assert!((point.currents[1] - auxiliary).norm() < 1e-9 * main.norm());
            assert!((point.torque - torque).abs() < 1e-9 * point.forward_power.abs().max(1.0) / OMEGA);
        }
    }
}

/// Fitzgerald, Kingsley and Umans, chapter 9 problem: a balanced motor known by its measured currents only.
///
/// 120 V, 60 Hz, 500 W out, 41.3 uF, 4.89 A at -55.8 degrees in the main winding, 3.32 A at +34.2 degrees in the other;
/// the windings differ only in turns. Without a backward field it does not matter how the measured impedance is shared
/// between stator and rotor, so two different shares must give the same answers.
#[test]
fn balanced_motor_measured_by_its_currents() {
    let volts = 120.0;
    let (main, auxiliary) = (phasor(4.89, -55.8), phasor(3.32, 34.2));
    let main_impedance = volts / main;
    let capacitor = -I * capacitor_ohms(41.3);
    // Ratio of turns from the volts of the two windings, recomputed 1.47129.
    let turns = 1.47129;
    for stator in [Complex64::new(2.0, 3.0), Complex64::new(6.0, 1.0)] {
        let winding = |turns: f64, angle: f64, outside: Complex64| Winding {
            volts: volts.into(),
            outside,
            turns,
            angle,
            impedance: turns * turns * stator,
        };
        // Slip 0.05 is as good as any: only R2/s shows.
        let slip = 0.05;
        let cage = cage_that_reflects(main_impedance - stator, 1.5, slip);
        let windings = vec![winding(1.0, 0.0, Complex64::ZERO), winding(turns, -FRAC_PI_2, capacitor)];
        let point = Motor { windings, cage, hertz: 60.0, poles: 4.0 }.at(1.0 - slip);
        // The currents are measured to three digits.
        assert!((point.currents[0] - main).norm() < 2e-3 * main.norm());
        assert!((point.currents[1] - auxiliary).norm() < 2e-3 * auxiliary.norm());
        assert!(point.backward_drive.norm() < 2e-3 * point.forward_drive.norm());
        assert_near(point.input.re, 659.339, 2e-3);
        assert_near(point.input.re / point.input.norm(), 0.92961, 2e-3);
        assert_near(500.0 / point.input.re, 0.75833, 2e-3);
        let capacitor_volts = capacitor * point.currents[1];
        assert_near(capacitor_volts.norm(), 213.234, 2e-3);
        let auxiliary_volts = volts - capacitor_volts;
        assert_near(auxiliary_volts.norm(), 176.362, 2e-3);
        assert!((degrees(auxiliary_volts) - 89.95).abs() < 0.1);
        // Impedances of the windings as they run, and their ampere-turns with 180 turns per pole on the main one.
        assert_near((volts / point.currents[0]).norm(), 24.5399, 2e-3);
        assert_near((auxiliary_volts / point.currents[1]).norm(), 53.1211, 2e-3);
        assert!((degrees(auxiliary_volts / point.currents[1]) - 55.75).abs() < 0.1);
        assert_near(180.0 * point.currents[0].norm(), 880.2, 2e-3);
        assert_near(264.8 * point.currents[1].norm(), 879.2, 2e-3);
    }
}

/// A cage of the given leakage that reflects the given impedance at a slip: solves the parallel of two branches.
fn cage_that_reflects(impedance: Complex64, leakage: f64, slip: f64) -> Cage {
    let admittance = impedance.inv();
    // The real part of 1/(r + jx) is g: r^2 - r/g + x^2 = 0, of which the larger root is the running cage.
    let per_slip = 0.5 / admittance.re + ((0.5 / admittance.re).powi(2) - leakage * leakage).sqrt();
    let iron = admittance - Complex64::new(per_slip, leakage).inv();
    Cage { resistance: per_slip * slip, leakage, magnetising: -1.0 / iron.im }
}

/// Fitzgerald, Kingsley and Umans, chapter 9: 5 hp, 220 V, four poles, as a two-phase motor on unbalanced volts of
/// 230 V and 210 V at 80 degrees, recomputed.
#[test]
fn unbalanced_two_phase_motor() {
    let slip = 0.05;
    let cage = Cage { resistance: 0.956, leakage: 2.96, magnetising: 70.1 };
    let stator = Complex64::new(0.534, 2.45);
    let winding = |volts: Complex64, angle: f64| Winding {
        volts,
        outside: Complex64::ZERO,
        turns: 1.0,
        angle,
        impedance: stator,
    };
    let (main_volts, other_volts) = (Complex64::from(230.0), phasor(210.0, 80.0));
    let motor = Motor {
        // The book's forward field turns from the leading phase, here the second, to the other.
        windings: vec![winding(main_volts, 0.0), winding(other_volts, -FRAC_PI_2)],
        cage,
        hertz: 60.0,
        poles: 4.0,
    };
    let values = rotor(&cage);
    let (forward, backward) =
        (2.0 * values.field_impedance(slip).value, 2.0 * values.field_impedance(2.0 - slip).value);
    assert_digits(forward.re, "16.47384");
    assert_digits(forward.im, "7.15132");
    assert_digits(backward.re, "0.45132");
    assert_digits(backward.im, "2.84311");

    let (currents, forward_drive, backward_drive) = motor.superposed(1.0 - slip);
    // Two equal windings drive each field with twice its symmetrical component.
    let (forward_current, backward_current) = (0.5 * forward_drive, 0.5 * backward_drive);
    for (value, size, angle) in [
        ((stator + forward) * forward_current, "219.1646", "-4.772"),
        ((stator + backward) * backward_current, "21.6077", "57.546"),
        (forward_current, "11.2215", "-34.218"),
        (backward_current, "4.0133", "-21.909"),
        (currents[0], "15.1667", "-30.984"),
        (currents[1], "7.3504", "49.098"),
    ] {
        assert_digits(value.norm(), size);
        assert_digits(degrees(value), angle);
    }
    let forward_power = forward_drive.norm_sqr() * 0.5 * forward.re;
    let backward_power = backward_drive.norm_sqr() * 0.5 * backward.re;
    assert_digits(forward_power, "4148.829");
    assert_digits(backward_power, "14.538");
    assert_digits((1.0 - slip) * (forward_power - backward_power), "3927.58");
}
