//! Motors for the tests, built from the crate's own parts, and how figures are held to their printed digits.

// Every test file compiles this module for itself and uses its own part of it.
#![allow(dead_code)]

pub mod fan_motor;
pub mod heated;
pub mod textbook;

use circuit::{Branch, BranchId, Complex64, NetId, Network, Quantity};
use machine::coil_group::add_around_rotor;
use machine::{Assembly, Coil, Conversion, Load, LoadLaw, Machine, Rotor, RotorField, Start};
use std::f64::consts::PI;
use textbook::{Cage, Loop, Wound};

/// Holds a value to every printed digit of a figure.
pub fn assert_digits(value: f64, printed: &str) {
    let decimals = printed.split_once('.').map_or(0, |(_, digits)| digits.len());
    let expected: f64 = printed.parse().unwrap();
    // Half a unit of the last digit is the rounding of the figure itself.
    let allowed = 0.501 * 10f64.powi(-(decimals as i32));
    assert!((value - expected).abs() <= allowed, "{value} is not {printed}");
}

/// Holds a value to a figure within a share of the figure.
pub fn assert_near(value: f64, expected: f64, share: f64) {
    assert!((value - expected).abs() <= share * expected.abs(), "{value} is not {expected} within {share}");
}

pub fn degrees(phasor: Complex64) -> f64 {
    phasor.arg().to_degrees()
}

pub fn phasor(size: f64, degrees: f64) -> Complex64 {
    Complex64::from_polar(size, degrees.to_radians())
}

/// A branch of constant values.
pub fn branch(from: usize, to: usize, impedance: Complex64, source: f64) -> Branch {
    Branch {
        from: NetId(from),
        to: NetId(to),
        resistance: impedance.re.into(),
        reactance: impedance.im.into(),
        source: source.into(),
        source_angle: 0.0,
        passes_direct_current: impedance.im >= 0.0,
    }
}

/// A coil of constant values.
pub fn coil(from: usize, to: usize, turns: f64, angle: f64, impedance: Complex64) -> Coil {
    Coil {
        from: NetId(from),
        to: NetId(to),
        turns: turns.into(),
        angle,
        resistance: impedance.re.into(),
        leakage: impedance.im.into(),
    }
}

pub fn rotor(cage: &Cage) -> Rotor {
    Rotor { magnetising: cage.magnetising.into(), resistance: cage.resistance.into(), leakage: cage.leakage.into() }
}

pub fn no_load() -> Load {
    Load {
        law: LoadLaw::Square,
        torque: Quantity::constant(0.0),
        reference_ratio: 1.0,
        friction_torque: Quantity::constant(0.0),
    }
}

/// The fields of an induction motor.
pub fn rotor_field(machine: &Machine) -> RotorField {
    match &machine.conversion {
        Conversion::Induction { field, .. } => *field,
        Conversion::Commutator(_) => panic!("no induction motor"),
    }
}

/// Kept at a share of synchronous speed, to the millionth that [`Start::Driven`] can express.
pub fn driven(ratio: f64) -> Start {
    Start::Driven((ratio * 1e6).round() as i32)
}

/// One winding fed by a source of its own through an impedance outside the motor.
#[derive(Debug, Clone, Copy)]
pub struct Winding {
    pub volts: Complex64,
    pub outside: Complex64,
    pub turns: f64,
    pub angle: f64,
    pub impedance: Complex64,
}

/// Windings around one rotor.
#[derive(Debug, Clone)]
pub struct Motor {
    pub windings: Vec<Winding>,
    pub cage: Cage,
    pub hertz: f64,
    pub poles: f64,
}

/// What a motor does at one speed.
#[derive(Debug, Clone)]
pub struct Point {
    pub currents: Vec<Complex64>,
    pub forward_drive: Complex64,
    pub backward_drive: Complex64,
    /// Power taken from all sources.
    pub input: Complex64,
    pub copper_loss: f64,
    pub forward_power: f64,
    pub backward_power: f64,
    pub rotor_loss: f64,
    pub converted: f64,
    pub torque: f64,
}

impl Motor {
    pub fn synchronous_speed(&self) -> f64 {
        4.0 * PI * self.hertz / self.poles
    }

    /// The motor with real source voltages `volts`, and the branch of each source.
    fn assembly(&self, volts: &[f64], start: Start) -> (Assembly, Vec<BranchId>) {
        let mut network = Network::new(self.hertz, 1 + self.windings.len());
        let sources = (self.windings.iter().zip(volts).enumerate())
            .map(|(index, (winding, &volts))| network.add_branch(branch(0, index + 1, winding.outside, volts)))
            .collect();
        let coils: Vec<Coil> = (self.windings.iter().enumerate())
            .map(|(index, winding)| coil(index + 1, 0, winding.turns, winding.angle, winding.impedance))
            .collect();
        let (coils, field) = add_around_rotor(&mut network, &coils);
        let machine = Machine {
            conversion: Conversion::Induction { field, rotor: rotor(&self.cage) },
            coils,
            reference_speed: self.synchronous_speed(),
            load: no_load(),
            start,
        };
        let assembly = Assembly { network, machines: vec![machine], cores: Vec::new(), unknown_count: 0 };
        (assembly, sources)
    }

    /// The motor kept at a share of synchronous speed; its sources must have phase zero or 180 degrees.
    pub fn at(&self, ratio: f64) -> Point {
        let volts: Vec<f64> = self.windings.iter().map(|winding| winding.volts.re).collect();
        assert!(self.windings.iter().all(|winding| winding.volts.im == 0.0));
        let (assembly, sources) = self.assembly(&volts, driven(ratio));
        let factored = assembly.factor().unwrap();
        let steady = assembly.settle(&factored).unwrap();
        let solution = steady.solution();
        let currents: Vec<Complex64> = sources.iter().map(|&source| solution.current(source)).collect();
        let (forward_power, backward_power) = steady.gap_powers(0);
        let field = rotor_field(&assembly.machines[0]);
        Point {
            input: volts.iter().zip(&currents).map(|(volts, current)| volts * current.conj()).sum(),
            copper_loss: self.copper_loss(&currents),
            currents,
            forward_drive: solution.drive(field.forward),
            backward_drive: solution.drive(field.backward),
            forward_power,
            backward_power,
            rotor_loss: steady.rotor_loss(0),
            converted: steady.converted_power(0),
            torque: steady.torque(0),
        }
    }

    /// Winding currents and both field drives with sources of any phase, as the sum of the motor on the real parts
    /// and of the motor on the imaginary parts: at a given speed the network is linear.
    pub fn superposed(&self, ratio: f64) -> (Vec<Complex64>, Complex64, Complex64) {
        let part = |of: fn(Complex64) -> f64| {
            let mut motor = self.clone();
            motor.windings.iter_mut().for_each(|winding| winding.volts = of(winding.volts).into());
            motor.at(ratio)
        };
        let (real, imaginary) = (part(|volts| volts.re), part(|volts| volts.im));
        let sum = |a: Complex64, b: Complex64| a + Complex64::I * b;
        (
            real.currents.iter().zip(&imaginary.currents).map(|(&a, &b)| sum(a, b)).collect(),
            sum(real.forward_drive, imaginary.forward_drive),
            sum(real.backward_drive, imaginary.backward_drive),
        )
    }

    /// Copper loss of windings and of what is outside them.
    fn copper_loss(&self, currents: &[Complex64]) -> f64 {
        let heat = |(winding, current): (&Winding, &Complex64)| {
            (winding.impedance.re + winding.outside.re) * current.norm_sqr()
        };
        self.windings.iter().zip(currents).map(heat).sum()
    }

    pub fn loops(&self) -> Vec<Loop> {
        let as_loop = |winding: &Winding| Loop {
            volts: Some(winding.volts),
            impedance: winding.outside + winding.impedance,
            wound: Some(Wound { rotor: 0, turns: winding.turns, angle: winding.angle }),
        };
        self.windings.iter().map(as_loop).collect()
    }
}
