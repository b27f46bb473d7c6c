//! Derivatives of everything that can be read, by every value, against differences of complete solutions: the network is
//! built again, factorised again, and every motor finds its speed again.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Branch, BranchId, Complex64, Factored, NetId, Network, Probe, Quantity, UnknownId};
use common::fan_motor::{FanMotor, LINE, Supply, unit};
use common::{branch, driven};
use machine::coil_group::{add_around_rotor, add_on_core};
use machine::commutator::{add_commutator, shorted_coil};
use machine::nameplate::{Medians, Nameplate, Scheme};
use machine::{ArmaturePath, Assembly, Coil, Conversion, Load, LoadLaw, Machine, Motion, Rotor, Start, Steady};
use std::f64::consts::PI;

const PLATE: Nameplate = Nameplate {
    volts: 120.0,
    hertz: 60.0,
    amps: Some(1.0),
    rpm: Some(1650.0),
    poles: None,
    microfarads: None,
    watts: None,
    main_ohms: None,
    second_ohms: None,
};

const SUPPLY: Supply = Supply { volts: 120.0, hertz: 60.0, resistance: 4.0 };

/// What is left of two torques or currents that cancel, over the step of a difference.
const ROUNDING: f64 = 1e-11;

type Value = dyn Fn(&Assembly, &Steady<'_>) -> f64;
type Gradient = dyn Fn(&mut Steady<'_>) -> Vec<f64>;
/// An assembly with its values off their medians.
type Build = dyn Fn(&[f64]) -> Assembly;

/// What is read off a settled unit, and the crate's gradient of it.
struct Reading {
    name: String,
    value: Box<Value>,
    gradient: Box<Gradient>,
}

fn reading(
    name: impl Into<String>,
    value: impl Fn(&Assembly, &Steady<'_>) -> f64 + 'static,
    gradient: impl Fn(&mut Steady<'_>) -> Vec<f64> + 'static,
) -> Reading {
    Reading { name: name.into(), value: Box::new(value), gradient: Box::new(gradient) }
}

/// The size of a linear form, as a meter shows it.
fn magnitude(name: &str, probe: Probe) -> Reading {
    let form = probe.clone();
    reading(
        name,
        move |_, steady| form.value(steady.solution()).norm(),
        move |steady| {
            let weights = Probe::magnitude_weights(probe.value(steady.solution()));
            steady.gradient(&probe.clone().scaled(weights)).unwrap()
        },
    )
}

fn amps(name: &str, branch: BranchId) -> Reading {
    magnitude(name, Probe::currents(vec![(branch, Complex64::ONE)]))
}

fn volts(name: &str, plus: NetId, minus: NetId) -> Reading {
    magnitude(name, Probe::voltage(plus, minus))
}

/// The real part alone, which is what a gradient is defined of.
fn volts_in_phase(name: &str, plus: NetId, minus: NetId) -> Reading {
    reading(
        name,
        move |_, steady| Probe::voltage(plus, minus).value(steady.solution()).re,
        move |steady| steady.gradient(&Probe::voltage(plus, minus)).unwrap(),
    )
}

fn watts(name: &str, branch: BranchId) -> Reading {
    reading(
        name,
        move |_, steady| steady.solution().power(branch).re,
        move |steady| {
            let probe = Probe::power(steady.solution(), branch);
            steady.gradient(&probe).unwrap()
        },
    )
}

fn speed(machine: usize) -> Reading {
    reading(
        format!("speed {machine}"),
        move |_, steady| steady.speed_ratio(machine),
        move |steady| steady.speed_gradient(machine).unwrap().to_vec(),
    )
}

fn torque(machine: usize) -> Reading {
    reading(
        format!("torque {machine}"),
        move |_, steady| steady.torque(machine),
        move |steady| steady.torque_gradient(machine).unwrap(),
    )
}

/// Volts on a meter that loads the circuit but does not slow the motors.
fn volts_on_a_meter(name: &str, plus: NetId, minus: NetId, meter_ohms: f64) -> Reading {
    reading(
        name,
        move |assembly, steady| {
            let mut network = assembly.network.clone();
            network.add_branch(branch(plus.0, minus.0, meter_ohms.into(), 0.0));
            let mut fields = vec![Complex64::ZERO; network.field_count()];
            for (m, machine) in assembly.machines.iter().enumerate() {
                let ratio = steady.speed_ratio(m);
                match &machine.conversion {
                    Conversion::Induction { field, rotor } => {
                        fields[field.forward.0] = rotor.field_impedance(1.0 - ratio).value;
                        fields[field.backward.0] = rotor.field_impedance(1.0 + ratio).value;
                    }
                    Conversion::Commutator(commutator) => {
                        fields[commutator.excitation.0] = (ratio * commutator.speed_ohms.value()).into();
                    }
                }
            }
            for core in &assembly.cores {
                fields[core.field.0] = Complex64::new(0.0, core.magnetising.value());
            }
            let factored = Factored::new(&network).unwrap();
            let solution = factored.solve(&fields).unwrap();
            (solution.potential(plus) - solution.potential(minus)).norm()
        },
        move |steady| {
            let admittance = 1.0 / meter_ohms;
            let thevenin = steady.solution().impedance_between(plus, minus).unwrap();
            let loaded = steady.solution().loaded(plus, minus, admittance).unwrap();
            let probe = Probe::voltage(plus, minus);
            let factor = Probe::magnitude_weights(probe.value(&loaded)) / (1.0 + thevenin * admittance);
            steady.gradient_of_loaded(&loaded, &probe, factor).unwrap()
        },
    )
}

/// A unit that can be built again, what its motors do, and what is read off it.
struct Plan {
    build: Box<Build>,
    unknowns: Vec<String>,
    motions: Vec<Motion>,
    readings: Vec<Reading>,
}

impl Plan {
    fn values(&self, deviations: &[f64]) -> Vec<f64> {
        let assembly = (self.build)(deviations);
        let factored = assembly.factor().unwrap();
        let steady = assembly.settle(&factored).unwrap();
        assert!(steady.settled());
        let motions: Vec<Motion> = (0..self.motions.len()).map(|m| steady.motion(m)).collect();
        assert_eq!(motions, self.motions);
        self.readings.iter().map(|reading| (reading.value)(&assembly, &steady)).collect()
    }

    /// Holds every gradient to differences, and returns them.
    fn check(&self) -> Vec<Vec<f64>> {
        // Off the medians, so that a derivative taken there would show.
        let here: Vec<f64> = (0..self.unknowns.len()).map(|index| 0.03 * (index as f64).sin()).collect();
        let moved = |index: usize, by: f64| {
            let mut there = here.clone();
            there[index] += by;
            self.values(&there)
        };
        // Five-point differences: an error of step^4, and rounding of the speed search over the step.
        let step = 3e-4;
        let differences: Vec<Vec<f64>> = (0..self.unknowns.len())
            .map(|index| {
                let at = [-2.0, -1.0, 1.0, 2.0].map(|share| moved(index, share * step));
                (0..self.readings.len())
                    .map(|k| (8.0 * (at[2][k] - at[1][k]) - (at[3][k] - at[0][k])) / (12.0 * step))
                    .collect()
            })
            .collect();
        let assembly = (self.build)(&here);
        let factored = assembly.factor().unwrap();
        let mut steady = assembly.settle(&factored).unwrap();
        let gradients: Vec<Vec<f64>> = self.readings.iter().map(|reading| (reading.gradient)(&mut steady)).collect();
        for (k, (reading, gradient)) in self.readings.iter().zip(&gradients).enumerate() {
            let scale = (reading.value)(&assembly, &steady).abs().max(largest(gradient));
            for (index, unknown) in self.unknowns.iter().enumerate() {
                let (ours, theirs) = (gradient[index], differences[index][k]);
                assert!(
                    (ours - theirs).abs() <= 1e-7 * scale + ROUNDING,
                    "{} by {unknown}: {ours}, differences say {theirs}",
                    reading.name
                );
            }
        }
        gradients
    }
}

fn largest(values: &[f64]) -> f64 {
    values.iter().map(|value| value.abs()).fold(0.0, f64::max)
}

fn fan_motor(scheme: Scheme) -> FanMotor {
    FanMotor::of_plate(&PLATE, scheme)
}

fn with_friction(motor: FanMotor, friction_torque: f64) -> FanMotor {
    FanMotor { values: Medians { friction_torque, ..motor.values }, ..motor }
}

/// Fan motors on one soft supply with everything read that can be read.
fn plan(motors: Vec<FanMotor>, motions: Vec<Motion>) -> Plan {
    let example = unit(&SUPPLY, &motors, &[]);
    let mut readings = vec![
        amps("line amps", example.supply),
        watts("source watts", example.supply),
        volts("line volts", LINE, NetId::REFERENCE),
        volts_in_phase("line volts in phase", LINE, NetId::REFERENCE),
        volts_on_a_meter("line volts on a poor meter", LINE, NetId::REFERENCE, 500.0),
    ];
    for (m, parts) in example.motors.iter().enumerate() {
        readings.push(speed(m));
        readings.push(torque(m));
        readings.push(amps("main amps", parts.main));
        readings.push(amps("second amps", parts.second));
        readings.push(watts("main watts", parts.main));
        readings.push(watts("core watts", parts.core_loss));
        readings.push(amps("core amps", parts.core_loss));
        if let Some(capacitor) = parts.capacitor {
            readings.push(amps("capacitor amps", capacitor));
            readings.push(volts("capacitor volts", LINE, parts.second_end));
            readings.push(volts_on_a_meter("second volts on a poor meter", parts.second_end, NetId::REFERENCE, 300.0));
        }
    }
    let unknowns = example.unknowns;
    Plan { build: Box::new(move |deviations| unit(&SUPPLY, &motors, deviations).assembly), unknowns, motions, readings }
}

/// Every value must move something, or a derivative of zero has been compared with a difference of zero.
fn assert_all_matter(plan: &Plan, gradients: &[Vec<f64>], except: &[&str]) {
    for (index, unknown) in plan.unknowns.iter().enumerate() {
        let moves = gradients.iter().any(|gradient| gradient[index].abs() > 1e-4 * largest(gradient));
        assert_eq!(moves, !except.iter().any(|name| unknown.ends_with(name)), "{unknown}");
    }
}

#[test]
fn one_running_capacitor_motor() {
    let plan = plan(vec![fan_motor(Scheme::CapacitorRun)], vec![Motion::Running]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &[]);
}

#[test]
fn one_running_shaded_pole_motor() {
    let plan = plan(vec![fan_motor(Scheme::ShadedPole)], vec![Motion::Running]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &[]);
}

#[test]
fn one_motor_running_backward() {
    let motor = FanMotor { reversed: true, ..fan_motor(Scheme::CapacitorRun) };
    let plan = plan(vec![motor], vec![Motion::Running]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &[]);
}

#[test]
fn two_running_motors_move_each_other() {
    let motors = vec![fan_motor(Scheme::CapacitorRun), fan_motor(Scheme::ShadedPole)];
    let plan = plan(motors, vec![Motion::Running, Motion::Running]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &[]);
    // One motor's fan is felt by the other through the common resistance.
    let fan = plan.unknowns.iter().position(|name| name == "motor 0 load torque").unwrap();
    let other_speed = plan.readings.iter().position(|reading| reading.name == "speed 1").unwrap();
    assert!(gradients[other_speed][fan] < -1e-4);
}

#[test]
fn every_load_law_in_both_directions() {
    for law in [LoadLaw::Square, LoadLaw::Linear, LoadLaw::Constant, LoadLaw::LevelPressure] {
        for reversed in [false, true] {
            let mut motor = FanMotor { law, reversed, ..fan_motor(Scheme::CapacitorRun) };
            if law == LoadLaw::Constant {
                // Few fan motors start against their whole rated torque.
                motor.values.load_torque *= 0.1;
            }
            let plan = plan(vec![motor], vec![Motion::Running]);
            let gradients = plan.check();
            assert_all_matter(&plan, &gradients, &[]);
        }
    }
}

#[test]
fn a_motor_held_at_rest_by_its_friction() {
    let motor = fan_motor(Scheme::CapacitorRun);
    let stuck = with_friction(motor, motor.values.load_torque);
    let plan = plan(vec![stuck], vec![Motion::AtRest]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &["load torque", "friction"]);
    let still = plan.readings.iter().position(|reading| reading.name == "speed 0").unwrap();
    assert_eq!(largest(&gradients[still]), 0.0);
}

#[test]
fn a_motor_at_rest_beside_one_that_runs() {
    let stuck = FanMotor { capacitor: false, ..fan_motor(Scheme::CapacitorRun) };
    plan(vec![stuck, fan_motor(Scheme::CapacitorRun)], vec![Motion::AtRest, Motion::Running]).check();
}

#[test]
fn a_pushed_motor_on_its_main_winding() {
    let pushed = FanMotor { capacitor: false, start: Start::Pushed, ..fan_motor(Scheme::CapacitorRun) };
    plan(vec![pushed], vec![Motion::Running]).check();
}

#[test]
fn held_and_driven_motors() {
    let held = FanMotor { start: Start::Held, ..fan_motor(Scheme::ShadedPole) };
    let driven = FanMotor { start: driven(0.7), ..fan_motor(Scheme::CapacitorRun) };
    let plan = plan(vec![held, driven], vec![Motion::Kept, Motion::Kept]);
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &["load torque", "friction"]);
}

/// A motor on the tap of an autotransformer: a core and a rotor in one network.
#[test]
fn a_motor_on_an_autotransformer() {
    let names =
        ["series turns", "common turns", "magnetising of the core", "volts", "capacitor", "load torque", "cage"];
    let (tap, second_end) = (NetId(2), NetId(3));
    let build = move |deviations: &[f64]| {
        let quantity = |index: usize, median: f64| Quantity::log_unknown(median, UnknownId(index), deviations[index]);
        let mut network = Network::new(60.0, 4);
        let winding = |from: NetId, to: NetId, turns: Quantity, angle: f64, ohms: f64, leakage: f64| Coil {
            from,
            to,
            turns,
            angle,
            resistance: ohms.into(),
            leakage: leakage.into(),
        };
        network.add_branch(Branch { source: quantity(3, 240.0), ..branch(0, LINE.0, Complex64::ZERO, 0.0) });
        network
            .add_branch(Branch { reactance: quantity(4, -240.0), ..branch(tap.0, second_end.0, Complex64::ZERO, 0.0) });
        let sections = [
            winding(LINE, tap, quantity(0, 0.5), 0.0, 1.0, 0.8),
            winding(tap, NetId::REFERENCE, quantity(1, 0.5), 0.0, 1.2, 0.8),
        ];
        let (_, core) = add_on_core(&mut network, &sections, quantity(2, 600.0));
        let coils = [
            winding(tap, NetId::REFERENCE, 1.0.into(), 0.0, 16.0, 14.0),
            winding(second_end, NetId::REFERENCE, 1.0.into(), -0.5 * PI, 26.0, 14.0),
        ];
        let (coils, field) = add_around_rotor(&mut network, &coils);
        let machine = Machine {
            conversion: Conversion::Induction {
                field,
                rotor: Rotor { magnetising: 190.0.into(), resistance: quantity(6, 10.0), leakage: 14.0.into() },
            },
            coils,
            reference_speed: 60.0 * PI,
            load: Load {
                law: LoadLaw::Square,
                torque: quantity(5, 0.5),
                reference_ratio: 0.9,
                friction_torque: 0.02.into(),
            },
            start: Start::Rest,
        };
        Assembly { network, machines: vec![machine], cores: vec![core], unknown_count: names.len() }
    };
    let source = BranchId(0);
    let plan = Plan {
        build: Box::new(build),
        unknowns: names.map(String::from).to_vec(),
        motions: vec![Motion::Running],
        readings: vec![
            amps("line amps", source),
            watts("source watts", source),
            volts("tap volts", tap, NetId::REFERENCE),
            volts_on_a_meter("capacitor volts on a poor meter", tap, second_end, 400.0),
            speed(0),
            torque(0),
        ],
    };
    let gradients = plan.check();
    assert_all_matter(&plan, &gradients, &[]);
}

/// A commutator motor with shorted field turns and a shorted armature coil, on a soft supply; `reversed` turns it backward.
fn commutator_plan(reversed: bool, friction: f64, motion: Motion) -> Plan {
    let names = [
        "volts",
        "source",
        "field ohms",
        "field leakage",
        "shorted share",
        "magnetising",
        "path ohms",
        "path reactance",
        "path share",
        "other path ohms",
        "speed volts",
        "shorted coil",
        "loop ohms",
        "fan torque",
        "friction",
    ];
    let (line, middle) = (NetId(1), NetId(2));
    let build = move |deviations: &[f64]| {
        let quantity = |index: usize, median: f64| Quantity::log_unknown(median, UnknownId(index), deviations[index]);
        let mut network = Network::new(60.0, 3);
        network.add_branch(Branch {
            source: quantity(0, 120.0),
            resistance: quantity(1, 0.4),
            ..branch(0, line.0, Complex64::ZERO, 0.0)
        });
        let (from, to) = if reversed { (middle, line) } else { (line, middle) };
        let shorted = quantity(4, 0.1);
        let left = &(&shorted * -1.0) + 1.0;
        let winding = |from, to, turns: &Quantity, ohms: Quantity| Coil {
            from,
            to,
            turns: turns.clone(),
            angle: 0.0,
            resistance: ohms,
            leakage: &quantity(3, 0.4) * &(turns * turns),
        };
        let (magnetising, speed_ohms) = (quantity(5, 3.5), quantity(10, 12.0));
        let loop_ohms = quantity(12, 0.5);
        let (turns, shorted_ohms) = shorted_coil(&speed_ohms, &magnetising, 24.0, 0.4, &loop_ohms);
        let coils = [
            winding(from, to, &left, &quantity(2, 1.5) * &left),
            winding(line, line, &shorted, &quantity(2, 1.5) * &shorted),
            winding(line, line, &turns, loop_ohms),
        ];
        let path = |share: Quantity, ohms: Quantity| ArmaturePath {
            from: middle,
            to: NetId::REFERENCE,
            share,
            resistance: ohms,
            reactance: quantity(7, 6.0),
        };
        let paths = [path(quantity(8, 0.95), quantity(6, 4.0)), path(1.0.into(), quantity(9, 4.4))];
        let shorted_ohms = &shorted_ohms * &quantity(11, 1.0);
        let (coils, core, commutator) =
            add_commutator(&mut network, &coils, magnetising, &paths, (speed_ohms, shorted_ohms));
        let machine = Machine {
            conversion: Conversion::Commutator(commutator),
            coils,
            reference_speed: 1000.0,
            load: Load {
                torque: quantity(13, 0.4),
                law: LoadLaw::Square,
                reference_ratio: 1.0,
                friction_torque: quantity(14, friction),
            },
            start: Start::Rest,
        };
        Assembly { network, machines: vec![machine], cores: vec![core], unknown_count: names.len() }
    };
    Plan {
        build: Box::new(build),
        unknowns: names.map(String::from).to_vec(),
        motions: vec![motion],
        readings: vec![
            amps("line amps", BranchId(0)),
            watts("source watts", BranchId(0)),
            volts("field volts", line, middle),
            volts("armature volts", middle, NetId::REFERENCE),
            volts_in_phase("armature volts in phase", middle, NetId::REFERENCE),
            volts_on_a_meter("armature volts on a poor meter", middle, NetId::REFERENCE, 200.0),
            watts("path watts", BranchId(4)),
            amps("other path amps", BranchId(5)),
            speed(0),
            torque(0),
        ],
    }
}

#[test]
fn a_commutator_motor_either_way_round() {
    for reversed in [false, true] {
        let plan = commutator_plan(reversed, 0.03, Motion::Running);
        let gradients = plan.check();
        assert_all_matter(&plan, &gradients, &[]);
    }
}

#[test]
fn a_commutator_motor_that_its_friction_holds() {
    let plan = commutator_plan(false, 5.0, Motion::AtRest);
    let gradients = plan.check();
    // At rest its shorted coil is a transformer winding only.
    assert_all_matter(&plan, &gradients, &["fan torque", "friction", "shorted coil"]);
}
