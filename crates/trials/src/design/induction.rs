//! Small single-phase induction motors.
//!
//! Per-unit values are of rated volts over rated main amps. Ranges: engineering judgement about what textbooks give for
//! fractional-horsepower motors (main ohms 0.06 to 0.25, leakages 0.06 to 0.2, magnetising 1.2 to 5).

use super::{RUN_MICROFARADS, START_MICROFARADS, near, nearest, rounded};
use crate::random::Random;
use crate::truth::Saturation;
use crate::truth::machine::{Coil, Iron, Load, Machine, Role};
use crate::truth::network::{Network, Source};
use crate::truth::parts::{Make, TrueInduction, TrueSection};
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, PI};

/// What a motor drives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drive {
    /// A fan.
    Fan,
    /// A pump.
    Pump,
    /// Nothing.
    Free,
}

/// What is wished of a type.
#[derive(Debug, Clone)]
pub struct Wish {
    /// How it is made.
    pub make: Make,
    /// Whether it has a start capacitor.
    pub starts_on_capacitor: bool,
    /// Rated volts.
    pub volts: f64,
    /// Hertz.
    pub hertz: f64,
    /// Poles.
    pub poles: u32,
    /// Amps about which it is drawn.
    pub amps: f64,
    /// Names of its taps, fastest first.
    pub taps: Vec<String>,
    /// What it drives.
    pub drive: Drive,
}

/// What its maker puts on the plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Volts.
    pub volts: f64,
    /// Hertz.
    pub hertz: f64,
    /// Poles.
    pub poles: u32,
    /// Full-load amps.
    pub amps: f64,
    /// Full-load speed, revolutions per minute.
    pub rpm: f64,
    /// Capacitor, microfarads; start or run as the make has it.
    pub microfarads: Option<f64>,
}

impl Plate {
    /// As a job file has it.
    pub fn text(&self) -> String {
        let microfarads = self.microfarads.map_or(String::new(), |value| format!(", microfarads = {value}"));
        let Plate { volts, hertz, poles, amps, rpm, .. } = self;
        format!(
            "plate = {{ volts = {volts}, hertz = {hertz}, amps = {amps}, rpm = {rpm}, poles = {poles}{microfarads} }}"
        )
    }
}

/// Draws a type and its plate.
pub fn type_of(random: &mut Random, wish: &Wish) -> (TrueInduction, Plate) {
    loop {
        let (mut motor, farads) = draw(random, wish);
        let slip = match wish.make {
            Make::ShadedPole => random.between(0.1, 0.19),
            Make::Split => random.between(0.028, 0.06),
            Make::CapacitorRun | Make::Reversible => random.between(0.05, 0.12),
        };
        let synchronous = 120.0 * wish.hertz / f64::from(wish.poles);
        let rpm = ((1.0 - slip) * synchronous / 10.0).round() * 10.0;
        motor.rated_ratio = rpm / synchronous;
        let runs_on_second = motor.make != Make::Split;
        let Some(rated) = performance(&motor, wish, farads, motor.rated_ratio, runs_on_second) else { continue };
        let shaft = rated.torque * 2.0 * PI * rpm / 60.0;
        let least = if wish.make == Make::ShadedPole { 0.08 } else { 0.25 };
        if rated.torque <= 0.0 || shaft < least * rated.watts {
            continue;
        }
        motor.saturation.reference = rated.magnetised;
        motor.rated_torque = rated.torque;
        motor.friction = random.between(0.02, 0.05) * rated.torque;
        let share = if wish.drive == Drive::Free { random.between(0.06, 0.16) } else { 1.0 };
        motor.load_torque = share * (rated.torque - motor.friction);
        let Some(rest) = performance(&motor, wish, farads, 0.0, true) else { continue };
        if rest.torque < 3.0 * motor.friction || !comes_up(&motor, wish, farads) {
            continue;
        }
        let plate = Plate {
            volts: wish.volts,
            hertz: wish.hertz,
            poles: wish.poles,
            amps: rounded(rated.amps),
            rpm,
            microfarads: farads.map(|farads| rounded(1e6 * farads)),
        };
        return (motor, plate);
    }
}

fn draw(random: &mut Random, wish: &Wish) -> (TrueInduction, Option<f64>) {
    let base = wish.volts / wish.amps;
    let (ohms, leakage, magnetising, rotor, core) = match wish.make {
        Make::ShadedPole => (0.21, 0.16, 1.3, 0.3, 0.05),
        Make::Split => (0.075, 0.095, 2.6, 0.11, 0.06),
        Make::CapacitorRun | Make::Reversible => (0.13, 0.115, 1.65, 0.1, 0.05),
    };
    let main_ohms = base * random.about(ohms, 0.2);
    let main_leakage = base * random.about(leakage, 0.2);
    let omega = 2.0 * PI * wish.hertz;
    let (turns, second_ohms, second_leakage, angle) = match wish.make {
        Make::ShadedPole => {
            let turns = random.between(0.25, 0.35);
            let leakage = main_leakage * turns * turns * random.between(0.2, 0.5);
            (turns, base * random.about(0.08, 0.25), leakage, random.between(33.0, 47.0).to_radians())
        }
        Make::Split => {
            let (low, high) = if wish.starts_on_capacitor { (1.0, 1.35) } else { (0.65, 0.95) };
            let turns = random.between(low, high);
            let leakage = main_leakage * turns * turns * random.between(0.85, 1.15);
            (turns, main_ohms * random.between(2.8, 5.0), leakage, -FRAC_PI_2)
        }
        Make::CapacitorRun => {
            let turns = random.between(0.9, 1.4);
            let leakage = main_leakage * turns * turns * random.between(0.9, 1.1);
            (turns, main_ohms * random.between(1.1, 2.1), leakage, -FRAC_PI_2)
        }
        Make::Reversible => (1.0, main_ohms, main_leakage, -FRAC_PI_2),
    };
    let farads = match wish.make {
        Make::ShadedPole => None,
        Make::Split if !wish.starts_on_capacitor => None,
        Make::Split => Some(1e-6 * nearest(&START_MICROFARADS, 1e6 / (omega * base * random.between(0.4, 0.75)))),
        Make::CapacitorRun | Make::Reversible => {
            // About what balances the two windings, mostly somewhat less.
            let balance = base * (1.0 + turns * turns) / if wish.make == Make::Reversible { 1.3 } else { 1.0 };
            Some(1e-6 * nearest(&RUN_MICROFARADS, 1e6 * random.between(0.65, 1.0) / (omega * balance)))
        }
    };
    let section = |random: &mut Random| {
        let turns = random.between(0.14, 0.28);
        TrueSection {
            turns,
            ohms: main_ohms * turns * random.between(1.4, 2.6),
            leakage: main_leakage * turns * turns * random.between(0.8, 1.2),
        }
    };
    let sections = wish.taps.iter().skip(1).map(|_| section(random)).collect();
    let motor = TrueInduction {
        make: wish.make,
        taps: wish.taps.clone(),
        poles: wish.poles,
        main_ohms,
        main_leakage,
        second: TrueSection { turns, ohms: second_ohms, leakage: second_leakage },
        second_angle: angle,
        sections,
        magnetising: base * random.about(magnetising, 0.15),
        quadrature: random.between(0.97, 1.03),
        rotor_ohms: base * random.about(rotor, 0.2),
        rotor_leakage: base * random.about(leakage, 0.2),
        core_loss: base / random.about(core, 0.3),
        saturation: Saturation { strength: random.between(0.03, 0.15), reference: wish.volts },
        load_torque: 0.0,
        load_exponent: if wish.drive == Drive::Pump { 1.0 } else { 2.0 },
        load_fault: match wish.drive {
            Drive::Fan => "fan-loose",
            Drive::Pump => "pump-loose",
            Drive::Free => "",
        },
        friction: 0.0,
        rated_torque: 0.0,
        rated_ratio: 0.0,
        weak_at: random.between(0.1, 0.9),
        centrifugal: match wish.make {
            Make::Split => (random.between(0.7, 0.8), random.between(0.35, 0.5), random.between(0.005, 0.03)),
            _ => (0.0, 0.0, 0.0),
        },
        has_run_capacitor: false,
    };
    (motor, farads)
}

/// The specimen on the bench: its type, a few per cent off in everything.
pub fn specimen(random: &mut Random, motor: &TrueInduction) -> TrueInduction {
    let near_section = |random: &mut Random, section: &TrueSection| TrueSection {
        turns: near(random, section.turns, 0.005),
        ohms: near(random, section.ohms, 0.02),
        leakage: near(random, section.leakage, 0.04),
    };
    let second = near_section(random, &motor.second);
    let sections = motor.sections.iter().map(|section| near_section(random, section)).collect();
    let askew = random.normal().to_radians();
    TrueInduction {
        main_ohms: near(random, motor.main_ohms, 0.02),
        main_leakage: near(random, motor.main_leakage, 0.04),
        second,
        second_angle: motor.second_angle + askew,
        sections,
        magnetising: near(random, motor.magnetising, 0.04),
        rotor_ohms: near(random, motor.rotor_ohms, 0.04),
        rotor_leakage: near(random, motor.rotor_leakage, 0.04),
        core_loss: near(random, motor.core_loss, 0.1),
        load_torque: near(random, motor.load_torque, 0.06),
        load_exponent: motor.load_exponent * random.between(0.95, 1.05),
        friction: near(random, motor.friction, 0.3),
        weak_at: random.between(0.1, 0.9),
        ..motor.clone()
    }
}

struct Performance {
    amps: f64,
    watts: f64,
    torque: f64,
    magnetised: f64,
}

/// A motor alone on its rated volts at a given speed, iron as at rated load.
fn performance(
    motor: &TrueInduction,
    wish: &Wish,
    farads: Option<f64>,
    ratio: f64,
    second: bool,
) -> Option<Performance> {
    let mut network = Network { nodes: 3, ..Network::default() };
    network.sources.push(Source { a: 0, b: 1, volts: wish.volts.into(), impedance: 1e-3.into() });
    network.resistor(1, 0, motor.core_loss);
    // Windings are warm when a plate is made.
    let warm = 1.15;
    let coil = |from, to, section: TrueSection, angle: f64| Coil {
        from,
        to,
        ohms: section.ohms * warm,
        leakage: section.leakage,
        machine: 0,
        role: Role::Wound { d: section.turns * angle.cos(), q: section.turns * angle.sin() },
    };
    let main = TrueSection { turns: 1.0, ohms: motor.main_ohms, leakage: motor.main_leakage };
    network.coils.push(coil(1, 0, main, 0.0));
    let angle = motor.second_angle;
    if second {
        let ends = match (motor.make, farads) {
            (Make::ShadedPole, _) => (0, 0),
            (_, None) => (1, 0),
            (_, Some(farads)) => {
                network.passive(1, 2, Complex64::new(0.0, -1.0 / (2.0 * PI * wish.hertz * farads)), false);
                (2, 0)
            }
        };
        network.coils.push(coil(ends.0, ends.1, motor.second, angle));
    }
    // Keeps the node of a capacitor that is not used.
    network.resistor(2, 0, 1e9);
    let iron = Iron::Cage {
        magnetising: motor.magnetising,
        quadrature: motor.quadrature,
        rotor_ohms: motor.rotor_ohms,
        rotor_leakage: motor.rotor_leakage,
    };
    network.machines.push(Machine {
        part: 0,
        iron,
        saturation: Saturation::NONE,
        reference_speed: 4.0 * PI * wish.hertz / f64::from(wish.poles),
        load: Load { torque: 0.0, exponent: 2.0, reference_ratio: 1.0, friction: 0.0 },
        is_held: true,
        fastest: 1.0,
    });
    let solved = network.solve(&[ratio], &[1.0])?;
    let line = (wish.volts - solved.potentials[1]) / 1e-3;
    Some(Performance {
        amps: line.norm(),
        watts: wish.volts * line.re,
        torque: network.torque(0, &solved.currents, ratio, 1.0),
        magnetised: network.magnetised(0, &solved.currents, 1.0),
    })
}

/// Whether the type comes up to its plate speed on its load.
fn comes_up(motor: &TrueInduction, wish: &Wish, farads: Option<f64>) -> bool {
    let exponent = motor.load_exponent;
    (1..20).all(|step| {
        let ratio = 0.05 * f64::from(step);
        if ratio > 0.97 * motor.rated_ratio {
            return true;
        }
        let second = motor.make != Make::Split || ratio < motor.centrifugal.0;
        let load = motor.load_torque * (ratio / motor.rated_ratio).powf(exponent) + motor.friction;
        performance(motor, wish, farads, ratio, second).is_some_and(|at| at.torque > 1.15 * load)
    })
}
