//! Laws of coils around one rotor: mutual impedances, turned axes, sectioned windings, three phases, and the derivatives of
//! the field impedance.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, Factored, NetId, Network, Quantity};
use common::textbook::{self, Cage};
use common::{Motor, Winding, assert_near, branch, coil, no_load, rotor};
use machine::coil_group::{add_around_rotor, turn_axis};
use machine::{Assembly, Coil, Conversion, Machine, Start};
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

fn any_cage() -> impl Strategy<Value = Cage> {
    (0.5..40.0, 0.5..20.0, 20.0..300.0).prop_map(|(resistance, leakage, magnetising)| Cage {
        resistance,
        leakage,
        magnetising,
    })
}

fn any_winding() -> impl Strategy<Value = Winding> {
    (-250.0..250.0, -40.0..40.0, 0.4..2.0, -PI..PI, 1.0..20.0, 1.0..20.0).prop_map(
        |(volts, outside, turns, angle, resistance, leakage)| Winding {
            volts: Complex64::from(volts),
            outside: Complex64::new(0.0, outside),
            turns,
            angle,
            impedance: Complex64::new(resistance, leakage),
        },
    )
}

fn any_motor() -> impl Strategy<Value = Motor> {
    (prop::collection::vec(any_winding(), 1..5), any_cage()).prop_map(|(windings, cage)| Motor {
        windings,
        cage,
        hertz: 50.0,
        poles: 6.0,
    })
}

/// A speed ratio in whole millionths, other than synchronous speed, where the textbook divides by zero.
fn any_ratio() -> impl Strategy<Value = f64> {
    (-1_500_000..1_500_000i32).prop_filter("synchronous", |m| m.abs() != 1_000_000).prop_map(|m| f64::from(m) / 1e6)
}

fn largest(currents: &[Complex64]) -> f64 {
    currents.iter().map(|current| current.norm()).fold(0.0, f64::max)
}

proptest! {
    /// Currents and torque of any windings at any speed are those of the mutual-impedance matrix.
    #[test]
    fn agrees_with_mutual_impedances(motor in any_motor(), ratio in any_ratio()) {
        let (loops, slip) = (motor.loops(), 1.0 - ratio);
        let expected = textbook::currents(&loops, Complex64::ZERO, &[motor.cage], &[slip]);
        let point = motor.at(ratio);
        for (ours, theirs) in point.currents.iter().zip(&expected) {
            prop_assert!((ours - theirs).norm() < 1e-9 * largest(&expected));
        }
        let torque = textbook::torque(&loops, &expected, 0, &motor.cage, slip, motor.synchronous_speed());
        let scale = (point.forward_power.abs() + point.backward_power.abs()) / motor.synchronous_speed();
        prop_assert!((point.torque - torque).abs() < 1e-9 * scale);
    }

    /// Only angles between axes matter, not where they are counted from.
    #[test]
    fn turning_all_axes_changes_nothing(motor in any_motor(), ratio in any_ratio(), turn in -PI..PI) {
        let mut turned = motor.clone();
        turned.windings.iter_mut().for_each(|winding| winding.angle += turn);
        let (before, after) = (motor.at(ratio), turned.at(ratio));
        for (a, b) in before.currents.iter().zip(&after.currents) {
            prop_assert!((a - b).norm() < 1e-9 * largest(&before.currents));
        }
        let scale = (before.forward_power.abs() + before.backward_power.abs()) / motor.synchronous_speed();
        prop_assert!((before.torque - after.torque).abs() < 1e-9 * scale);
    }

    /// A winding turned half round with its ends swapped is the winding it was.
    #[test]
    fn half_a_turn_is_a_change_of_sign(motor in any_motor(), ratio in any_ratio()) {
        let mut swapped = motor.clone();
        swapped.windings[0].angle += PI;
        swapped.windings[0].volts *= -1.0;
        let (before, after) = (motor.at(ratio), swapped.at(ratio));
        prop_assert!((before.currents[0] + after.currents[0]).norm() < 1e-9 * largest(&before.currents));
        let scale = (before.forward_power.abs() + before.backward_power.abs()) / motor.synchronous_speed();
        prop_assert!((before.torque - after.torque).abs() < 1e-9 * scale);
    }

    /// Referring all windings to another number of turns leaves volts, amps and torque as they are.
    #[test]
    fn referring_to_other_turns_changes_nothing(motor in any_motor(), ratio in any_ratio(), factor in 0.2..5.0f64) {
        let mut referred = motor.clone();
        referred.windings.iter_mut().for_each(|winding| winding.turns *= factor);
        let square = factor * factor;
        referred.cage = Cage {
            resistance: motor.cage.resistance / square,
            leakage: motor.cage.leakage / square,
            magnetising: motor.cage.magnetising / square,
        };
        let (before, after) = (motor.at(ratio), referred.at(ratio));
        let scale = (before.forward_power.abs() + before.backward_power.abs()) / motor.synchronous_speed();
        prop_assert!((before.torque - after.torque).abs() < 1e-9 * scale);
        prop_assert!((before.input - after.input).norm() < 1e-9 * before.input.norm().max(scale));
    }

    /// Derivatives of the field impedance against five-point differences, on both sides of synchronous speed.
    #[test]
    fn field_impedance_derivatives(cage in any_cage(), slip in -0.5..2.5f64) {
        let here = rotor(&cage).field_impedance(slip);
        // Compared per unit of `scale`, which is the size over which the impedance bends.
        let compare = |analytic: Complex64, scale: f64, at: &dyn Fn(f64) -> Complex64| -> Result<(), TestCaseError> {
            let step = 1e-3;
            let [a, b, c, d] = [-2.0, -1.0, 1.0, 2.0].map(|share| at(share * step * scale));
            let numeric = (8.0 * (c - b) - (d - a)) / (12.0 * step);
            prop_assert!((analytic * scale - numeric).norm() < 1e-9 * here.value.norm());
            Ok(())
        };
        let knee = cage.resistance / (cage.leakage + cage.magnetising);
        compare(here.by_slip, knee, &|change| rotor(&cage).field_impedance(slip + change).value)?;
        let changed = |resistance: f64, leakage: f64, magnetising: f64| {
            let cage = Cage {
                resistance: cage.resistance + resistance,
                leakage: cage.leakage + leakage,
                magnetising: cage.magnetising + magnetising,
            };
            rotor(&cage).field_impedance(slip).value
        };
        compare(here.by_resistance, cage.resistance, &|change| changed(change, 0.0, 0.0))?;
        compare(here.by_leakage, cage.leakage, &|change| changed(0.0, change, 0.0))?;
        compare(here.by_magnetising, cage.magnetising, &|change| changed(0.0, 0.0, change))?;
    }

    /// The value itself, in the textbook's form with R2/s.
    #[test]
    fn field_impedance_is_half_the_cage_beside_the_iron(cage in any_cage(), slip in 1e-3..2.0f64) {
        let (ours, theirs) = (rotor(&cage).field_impedance(slip).value, 0.5 * cage.reflected(slip));
        prop_assert!((ours - theirs).norm() < 1e-13 * theirs.norm());
    }
}

/// At synchronous speed the cage carries no current and only the iron is left.
#[test]
fn synchronous_speed_is_an_ordinary_point() {
    let cage = Cage { resistance: 4.12, leakage: 2.12, magnetising: 66.8 };
    assert_eq!(rotor(&cage).field_impedance(0.0).value, Complex64::new(0.0, 33.4));
}

/// Currents of coils between nets at one slip, with a 120 V supply on net 1.
fn currents_between(nets: usize, coils: &[Coil], slip: f64) -> (Vec<Complex64>, Vec<Complex64>) {
    let cage = rotor(&Cage { resistance: 4.12, leakage: 2.12, magnetising: 66.8 });
    let mut network = Network::new(60.0, nets);
    network.add_branch(branch(0, 1, Complex64::ZERO, 120.0));
    let (branches, _) = add_around_rotor(&mut network, coils);
    let factored = Factored::new(&network).unwrap();
    let fields = [cage.field_impedance(slip).value, cage.field_impedance(2.0 - slip).value];
    let solution = factored.solve(&fields).unwrap();
    let currents = branches.iter().map(|&id| solution.current(id)).collect();
    (currents, (0..nets).map(|net| solution.potential(NetId(net))).collect())
}

/// A tapped winding, its sections in series on one axis, is the whole winding.
#[test]
fn sections_in_series_are_one_winding() {
    let (first, second) = (Complex64::new(1.1, 1.4), Complex64::new(0.9, 1.3));
    for slip in [1.0, 0.3, 0.05] {
        let (whole, _) = currents_between(2, &[coil(1, 0, 1.0, 0.3, first + second)], slip);
        let sections = [coil(1, 2, 0.6, 0.3, first), coil(2, 0, 0.4, 0.3, second)];
        let (in_series, _) = currents_between(3, &sections, slip);
        for current in in_series {
            assert!((current - whole[0]).norm() < 1e-12 * whole[0].norm());
        }
    }
}

/// An open section of a winding is the secondary of a transformer: it shows its share of the volts that the field
/// induces. A tap left unused by the speed switch is therefore live.
#[test]
fn an_open_section_shows_its_share_of_the_induced_volts() {
    let fed = Complex64::new(2.02, 2.79);
    for slip in [1.0, 0.05] {
        let coils = [coil(1, 0, 1.0, 0.0, fed), coil(2, 0, 0.7, 0.0, fed)];
        let (currents, potentials) = currents_between(3, &coils, slip);
        assert!(currents[1].norm() < 1e-12);
        let induced = 120.0 - fed * currents[0];
        assert!((potentials[2] - 0.7 * induced).norm() < 1e-10);
    }
}

/// An open winding in quadrature has no volts at standstill, for the two fields cancel in it, but at speed it has.
#[test]
fn an_open_winding_in_quadrature_is_dead_at_standstill_only() {
    let fed = Complex64::new(2.02, 2.79);
    let volts = |slip: f64| {
        let coils = [coil(1, 0, 1.0, 0.0, fed), coil(2, 0, 1.3, FRAC_PI_2, fed)];
        currents_between(3, &coils, slip).1[2].norm()
    };
    assert!(volts(1.0) < 1e-10);
    // 1.3 times the difference of the halves of Fitzgerald, Kingsley and Umans example 9.2 (31.86285 + j40.14966 and
    // 1.98297 + j2.11558 ohms), times the current 120 V drive: 3.60486 A at 110 V.
    let halves = 0.5 * Complex64::new(31.86285 - 1.98297, 40.14966 - 2.11558);
    assert_near(volts(0.05), 1.3 * halves.norm() * 3.60486 * 120.0 / 110.0, 1e-5);
}

/// Three balanced phases at 120 degrees make one field; with magnetising, cage resistance and leakage taken as two thirds of
/// the per-phase values, each phase shows the usual equivalent circuit and three times its gap power makes the torque.
#[test]
fn three_phases_are_three_times_the_per_phase_circuit() {
    let (stator, resistance, leakage, magnetising) = (Complex64::new(0.6, 1.1), 0.4, 0.9, 30.0);
    let third = 2.0 * PI / 3.0;
    let motor = Motor {
        windings: (0..3)
            .map(|phase| Winding {
                volts: Complex64::from_polar(127.0, -third * f64::from(phase)),
                outside: Complex64::ZERO,
                turns: 1.0,
                angle: third * f64::from(phase),
                impedance: stator,
            })
            .collect(),
        cage: Cage {
            resistance: 2.0 / 3.0 * resistance,
            leakage: 2.0 / 3.0 * leakage,
            magnetising: 2.0 / 3.0 * magnetising,
        },
        hertz: 60.0,
        poles: 4.0,
    };
    for slip in [1.0, 0.2, 0.03] {
        let per_phase = Cage { resistance, leakage, magnetising }.reflected(slip);
        let expected = 127.0 / (stator + per_phase);
        let (currents, forward_drive, backward_drive) = motor.superposed(1.0 - slip);
        assert!((currents[0] - expected).norm() < 1e-10 * expected.norm());
        assert!((currents[1].norm() - expected.norm()).abs() < 1e-10 * expected.norm());
        assert!(backward_drive.norm() < 1e-10 * forward_drive.norm());
        let gap_power = forward_drive.norm_sqr() * rotor(&motor.cage).field_impedance(slip).value.re;
        assert_near(gap_power, 3.0 * expected.norm_sqr() * per_phase.re, 1e-10);
    }
}

/// At rest both fields are equal, so an open winding at right angles to the main one shows nothing, and one that is turned by
/// a small angle its sine of what the main one induces (double revolving field theory, by hand).
#[test]
fn a_winding_off_its_right_angle_shows_volts_of_the_other() {
    let cage = Cage { resistance: 12.0, leakage: 9.0, magnetising: 180.0 };
    let impedance = Complex64::new(8.0, 9.5);
    for angle in [-0.02, 0.0, 0.005, 0.02] {
        let mut network = Network::new(50.0, 3);
        let source = network.add_branch(branch(0, 1, Complex64::ZERO, 230.0));
        let across = network.add_branch(branch(2, 0, Complex64::from(1e9), 0.0));
        let coils = [coil(1, 0, 1.0, 0.0, impedance), coil(2, 0, 1.3, -FRAC_PI_2, impedance)];
        let (branches, field) = add_around_rotor(&mut network, &coils);
        turn_axis(&mut network, (branches[1], field), &coils[1], &Quantity::constant(angle));
        let machine = Machine {
            conversion: Conversion::Induction { field, rotor: rotor(&cage) },
            coils: branches,
            reference_speed: 100.0 * PI,
            load: no_load(),
            start: Start::Held,
        };
        let assembly = Assembly { network, machines: vec![machine], cores: Vec::new(), unknown_count: 0 };
        let factored: Factored<'_> = assembly.factor().unwrap();
        let steady = assembly.settle(&factored).unwrap();
        let main = 230.0 / (impedance + cage.reflected(1.0));
        assert!((steady.solution().current(source) - main).norm() < 1e-6 * main.norm());
        let induced = main * cage.reflected(1.0);
        let shown = 1e9 * steady.solution().current(across);
        let expected = 1.3 * f64::sin(angle) * induced;
        // The sine of an angle is the angle to its third power over six.
        assert!(
            (shown.norm() - expected.norm()).abs() < 1e-4 * expected.norm() + 1e-5,
            "{angle}: {shown} and {expected}"
        );
    }
}
