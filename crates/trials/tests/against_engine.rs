//! Two formulations of one unit: with everything that the engine leaves out switched off, the dense nodal matrix with
//! cross-field motors must show what the engine's nets and revolving fields show, for every fault of every family.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::kinds::Insulation;
use bench::wiring::unknown_count;
use bench::{FaultSet, Measure, Meter, Setup, TerminalId, Unit, Unknown, observe_values, sees_capacitor};
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, PI};
use trials::families::{Drawn, FAMILIES};
use trials::random::Random;
use trials::truth::parts::{Make, TruePart, TrueSection};
use trials::truth::{Leak, Put, Saturation, Shown, State, Surroundings, World};

/// A sound conductor, ohms: not so little that its current is lost in rounding. What conductors amount to is taken off by
/// going to twice as much and back in a straight line.
const CONDUCTOR: f64 = 1e-5;

/// Unknown values that the drawn parts have in another way, by the beginning of their words: an angle that is the usual one, ohms
/// of a lamp that is not lit and that no meter in these setups sees.
const APART: [&str; 4] = ["insulation", "inertia", "angle", "ohms while not lit"];

/// Medians of the unknown values of a part, but for those.
fn medians(unit: &Unit, part: usize) -> Vec<f64> {
    let is_own =
        |unknown: &&Unknown| unknown.part == part && !APART.iter().any(|apart| unknown.words.starts_with(apart));
    unit.unknowns().iter().filter(is_own).map(|unknown| unknown.median).collect()
}

/// A drawn part with the engine's median values in place of its own, and nothing that the engine leaves out.
fn plain(unit: &Unit, part: usize, drawn: &TruePart, conductor: f64) -> TruePart {
    let m = medians(unit, part);
    match drawn.clone() {
        TruePart::Supply(mut supply) => {
            let figures = unit.parts()[unit.supply()].kind.supply().unwrap();
            if let [(_, volts)] = &mut supply.live[..] {
                *volts = m[0].into();
            } else {
                for (index, (_, volts)) in supply.live.iter_mut().enumerate() {
                    *volts = Complex64::from_polar(m[0] / 2.0 * m[2 + index], PI * index as f64);
                }
            }
            supply.impedance = m[1].into();
            supply.earth_ohms = conductor;
            supply.trips_amps = 5.0 * figures.breaker_amps;
            TruePart::Supply(supply)
        }
        TruePart::Cord(ohms) => TruePart::Cord(vec![m[0]; ohms.len()]),
        TruePart::Switch(table, ordinary, _) => TruePart::Switch(table, ordinary, conductor),
        TruePart::Contact(_) => TruePart::Contact(conductor),
        TruePart::Heater { .. } => TruePart::Heater { cold_ohms: m[0], hot_ratio: 1.0, weak_at: 0.5 },
        // Without cold ohms of its own it is a glow lamp, which is open to a meter.
        TruePart::Lamp { .. } => TruePart::Lamp { ohms: m[0], cold_ratio: m.get(1).copied().unwrap_or(f64::INFINITY) },
        TruePart::Capacitor { .. } => {
            let starts = unit.parts()[part].kind.name() == "start-capacitor";
            TruePart::Capacitor { farads: 1e-6 * m[0], loss: if starts { 0.08 } else { 0.002 } }
        }
        TruePart::Relay(mut relay) => {
            let volts = medians(unit, unit.supply())[0];
            (relay.pulls_in, relay.lets_go) = (0.8 * volts, 0.4 * volts);
            (relay.ohms, relay.reactance, relay.contact_ohms) = (m[0], m[1], conductor);
            TruePart::Relay(relay)
        }
        TruePart::Splice(_) => TruePart::Splice(conductor),
        TruePart::Induction(mut motor) => {
            let leak_share = if motor.make == Make::ShadedPole { 0.33 } else { 1.0 };
            motor.main_ohms = m[0];
            motor.main_leakage = m[1];
            let second_ohms = if motor.make == Make::Reversible { m[0] * m[3] } else { m[3] };
            motor.second = TrueSection { turns: m[2], ohms: second_ohms, leakage: leak_share * m[2] * m[2] * m[1] };
            motor.second_angle = if motor.make == Make::ShadedPole { 40f64.to_radians() } else { -FRAC_PI_2 };
            motor.magnetising = m[4];
            motor.quadrature = 1.0;
            motor.rotor_ohms = m[5];
            motor.rotor_leakage = m[1];
            motor.core_loss = m[6];
            motor.saturation = Saturation::NONE;
            motor.load_torque = m[7];
            motor.load_exponent = motor.load_exponent.round();
            motor.friction = m[8];
            // One that runs free carries a tenth of its rated load.
            motor.rated_torque = if motor.load_fault.is_empty() { 10.0 * m[7] } else { m[7] } + m[8];
            motor.sections = m[9..]
                .chunks(2)
                .map(|own| TrueSection { turns: own[0], ohms: own[1], leakage: own[0] * own[0] * m[1] })
                .collect();
            motor.weak_at = 0.5;
            if motor.centrifugal.0 > 0.0 {
                motor.centrifugal = (0.75, 0.45, conductor);
            }
            TruePart::Induction(motor)
        }
        TruePart::Commutator(mut motor) => {
            (motor.field_ohms, motor.field_leakage, motor.magnetising) = (m[0], m[1], m[2]);
            (motor.armature_ohms, motor.armature_reactance) = (m[3], m[4]);
            motor.brush_ohms = [m[5]; 2];
            (motor.speed_ohms, motor.fan_torque, motor.friction) = (m[6], m[7], m[8]);
            motor.sections = vec![TrueSection { turns: m[9], ohms: m[10], leakage: m[9] * m[9] * m[1] }];
            motor.saturation = Saturation::NONE;
            motor.weak_at = 0.5;
            TruePart::Commutator(motor)
        }
        TruePart::Transformer(mut transformer) => {
            (transformer.magnetising, transformer.core_loss) = (m[0], m[1]);
            let turns = m[3];
            transformer.sections[0].values = TrueSection { turns: 1.0, ohms: m[4], leakage: m[2] };
            transformer.sections[1].values = TrueSection { turns, ohms: m[5], leakage: m[2] * turns * turns };
            transformer.saturation = Saturation::NONE;
            transformer.weak_at = 0.5;
            TruePart::Transformer(transformer)
        }
    }
}

fn leak(insulation: Insulation) -> Leak {
    Leak { ends: insulation.terminals, ohms: insulation.ohms, farads: insulation.farads }
}

fn plain_world<'u>(unit: &'u Unit, drawn: &Drawn, (conductor, farads): (f64, f64), faults: Vec<Put>) -> World<'u> {
    let of = |(index, part): (usize, &bench::Part)| {
        drawn.parts.get(&part.name).map(|own| plain(unit, index, own, conductor))
    };
    World {
        unit,
        parts: unit.parts().iter().enumerate().map(of).collect(),
        surroundings: Surroundings {
            joint_ohms: vec![conductor; unit.terminal_count()],
            wire_ohms: vec![conductor; unit.wires().len()],
            strays: vec![(farads, farads); unit.terminal_count()],
            leaks: unit.parts().iter().map(|part| part.kind.insulation().map(leak)).collect(),
            warmer: 0.0,
        },
        faults,
        hertz: drawn.hertz,
    }
}

fn places(unit: &Unit, setup: &Setup) -> Vec<Measure> {
    let mut list = Vec::new();
    for a in (0..unit.terminal_count()).map(TerminalId) {
        let next = TerminalId((a.0 + 1) % unit.terminal_count());
        if !setup.energised {
            list.extend([Measure::Ohms(a, next), Measure::Ohms(a, unit.frame())]);
            if sees_capacitor(unit, setup, [a, next]).is_ok() {
                list.push(Measure::Microfarads(a, next));
            }
        } else if unit.part_of(a) == unit.part_of(next) {
            list.push(Measure::Volts(a, next));
        }
        if setup.energised {
            list.push(Measure::AmpsAtTerminal(a));
        }
    }
    if setup.energised {
        list.extend((0..unit.parts().len()).filter(|&part| unit.is_motor(part)).map(Measure::Rpm));
        list.push(Measure::Watts(unit.supply()));
    }
    list
}

/// How far the two may be apart: a part in a million, and what a few sound conductors and strays amount to.
fn tolerance(measure: Measure, value: f64) -> f64 {
    let floor = match measure {
        Measure::Ohms(..) | Measure::Microfarads(..) => 1e-6,
        // In a coil whose neutral is open goes what strays and insulation carry, which differ by some microamperes.
        Measure::Volts(..) => 2e-3,
        // The engine's strays carry some 20 microamperes that are not here.
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => 1e-4,
        Measure::Watts(_) => 2e-3,
        Measure::Rpm(_) => 1e-4,
        Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => 0.1,
        Measure::RunDown(_) | Measure::Bars(..) => 0.0,
    };
    floor + 1e-6 * value.abs()
}

/// Compares everything in every setup for a fault; returns how many figures were compared.
fn compare(family: &str, unit: &Unit, setups: &[Setup], drawn: &Drawn, fault: Option<usize>) -> usize {
    let put = |index: usize| {
        let fault = &unit.faults()[index];
        let size = fault.mode.severity.as_ref().map(|severity| severity.value(0.0));
        Put { index, place: fault.place, name: fault.mode.name.clone(), size }
    };
    let faults: Vec<Put> = fault.map(put).into_iter().collect();
    let label = fault.map_or("sound".into(), |fault| unit.faults()[fault].label());
    let set = FaultSet(fault.into_iter().collect());
    let deviations = vec![0.0; unknown_count(unit, &set)];
    let meter = Meter::handheld();
    let mut count = 0;
    for setup in setups {
        let [world, doubled, windy] = [(1.0, 3e-11), (2.0, 3e-11), (1.0, 1e-9)]
            .map(|(times, farads)| plain_world(unit, drawn, (times * CONDUCTOR, farads), faults.clone()));
        let [state, twice, other] = [&world, &doubled, &windy].map(|world| {
            State::of(world, setup).unwrap_or_else(|| panic!("{family}, {label}, {}: no solution", setup.name))
        });
        let measures = places(unit, setup);
        let ours: Vec<f64> = observe_values(unit, setup, &set, &deviations, |observed| {
            assert_eq!(observed.breaker_opened(), state.breaker_open, "{family}, {label}, {}: breaker", setup.name);
            measures.iter().map(|&measure| observed.value(measure, &meter).unwrap()).collect()
        })
        .unwrap();
        for (&measure, ours) in measures.iter().zip(ours) {
            let number = |state: &State<'_>| match state.measure(measure).unwrap() {
                Shown::Number(value) => value,
                Shown::Open => f64::INFINITY,
            };
            let (first, second, with_more_stray) = (number(&state), number(&twice), number(&other));
            // A ghost voltage is a matter of strays, which the two do not share, and in a net that hangs on nothing else
            // rounding shows.
            let is_volts = matches!(measure, Measure::Volts(..));
            if (first - with_more_stray).abs() > 10.0 * tolerance(measure, first)
                || is_volts && (first - second).abs() > tolerance(measure, first)
            {
                continue;
            }
            let theirs = if first.is_finite() { 2.0 * first - second } else { first };
            let agrees = theirs == ours || (theirs - ours).abs() <= tolerance(measure, ours);
            assert!(agrees, "{family}, {label}, {}: {measure:?} engine {ours}, trials {theirs}", setup.name);
            count += 1;
        }
    }
    count
}

fn family(name: &str) {
    let family = FAMILIES.iter().find(|family| family.name == name).unwrap();
    let (drawn, job) = (1..)
        .find_map(|number| {
            let drawn = (family.draw)(&mut Random::new(7, number));
            let job = bench::job::read(name, &drawn.text).ok()?;
            Some((drawn, job))
        })
        .unwrap();
    let mut setups = job.setups.clone();
    let live = job.find_setup(drawn.live_setups[0]).unwrap();
    setups.push(Setup { energised: false, ..setups[live].clone() });
    if let Some(motor) = job.unit.find_part("M1") {
        setups.push(Setup { held: vec![motor], name: "held".into(), ..setups[live].clone() });
        setups.push(Setup { pushed: vec![motor], name: "pushed".into(), ..setups[live].clone() });
    }
    let lifted = |(part, entry): (usize, &bench::Part)| {
        let ends = entry.kind.is_capacitor().then(|| job.unit.terminals_of(part).map(TerminalId).collect())?;
        Some(Setup { lifted: ends, ..Setup::unplugged(format!("wires off {}", entry.name)) })
    };
    setups.extend(job.unit.parts().iter().enumerate().filter_map(lifted));
    let mut count = compare(name, &job.unit, &setups, &drawn, None);
    for fault in 0..job.unit.faults().len() {
        count += compare(name, &job.unit, &setups, &drawn, Some(fault));
    }
    assert!(count > 1000, "{name}: only {count} figures compared");
}

macro_rules! families {
    ($($test:ident: $name:literal,)*) => { $(#[test] fn $test() { family($name); })* };
}

families! {
    heater_cabinet: "heater cabinet",
    two_elements: "two elements of one make",
    cabinet_on_two_legs: "cabinet on two legs",
    fan_heater: "fan heater",
    relay_heater: "relay-switched heater",
    transformer_fed: "transformer-fed heater",
    blower: "blower, one speed",
    three_speed_blower: "blower, three speeds",
    two_motors: "two motors of one make",
    reversible: "reversible motor",
    grinder: "split-phase grinder",
    pump: "capacitor-start pump",
    polisher: "polisher, two speeds",
}
