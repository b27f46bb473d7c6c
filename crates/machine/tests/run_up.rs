//! Motors switched on: where they settle, which of them stay at rest, and the laws that hold wherever they are.
//!
//! Speeds are held to a search of its own on the textbook solution of the same windings, see `common/textbook.rs`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, Solution, SolveError};
use common::fan_motor::{FanMotor, Supply, Unit, unit};
use common::textbook::{self, Cage, Loop, crossing};
use common::{Motor, Winding, assert_near, driven};
use machine::nameplate::{Medians, Nameplate, Scheme};
use machine::{LoadLaw, Motion, Start, Steady};
use proptest::prelude::*;
use std::f64::consts::PI;

/// A fan motor's plate as it might be: four poles, one ampere.
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

/// Share of synchronous speed on the plate.
const RATED_RATIO: f64 = 1650.0 / 1800.0;

fn stiff_supply() -> Supply {
    Supply::stiff(&PLATE)
}

fn soft_supply(resistance: f64) -> Supply {
    Supply { resistance, ..stiff_supply() }
}

fn capacitor_run() -> FanMotor {
    FanMotor::of_plate(&PLATE, Scheme::CapacitorRun)
}

fn shaded_pole() -> FanMotor {
    FanMotor::of_plate(&PLATE, Scheme::ShadedPole)
}

fn with_friction(motor: FanMotor, friction_torque: f64) -> FanMotor {
    FanMotor { values: Medians { friction_torque, ..motor.values }, ..motor }
}

/// The loops of all motors and their currents at given speeds, by the textbook; slips of zero have no place in it.
fn textbook_currents(motors: &[FanMotor], supply: &Supply, ratios: &[f64]) -> (Vec<Loop>, Vec<Complex64>) {
    let loops: Vec<Loop> = motors.iter().enumerate().flat_map(|(index, motor)| motor.loops(supply, index)).collect();
    let cages: Vec<Cage> = motors.iter().map(FanMotor::cage).collect();
    let slips: Vec<f64> = ratios.iter().map(|ratio| 1.0 - ratio).collect();
    let currents = textbook::currents(&loops, supply.resistance.into(), &cages, &slips);
    (loops, currents)
}

/// Amperes that one motor takes from a stiff supply at standstill.
fn textbook_locked_amps(motor: FanMotor) -> f64 {
    let (loops, currents) = textbook_currents(&[motor], &stiff_supply(), &[0.0]);
    let supplied = loops.iter().zip(&currents).filter(|(each, _)| each.volts.is_some());
    supplied.map(|(_, current)| current).sum::<Complex64>().norm()
}

/// Electrical torque of every motor at given speeds.
fn textbook_torques(motors: &[FanMotor], supply: &Supply, ratios: &[f64]) -> Vec<f64> {
    let (loops, currents) = textbook_currents(motors, supply, ratios);
    (motors.iter().enumerate())
        .map(|(index, motor)| {
            let synchronous_speed = motor.synchronous_speed(supply.hertz);
            textbook::torque(&loops, &currents, index, &motor.cage(), 1.0 - ratios[index], synchronous_speed)
        })
        .collect()
}

fn textbook_standstill_torque(motor: &FanMotor) -> f64 {
    textbook_torques(&[*motor], &stiff_supply(), &[0.0])[0]
}

/// First speed above `start` at which torque falls below load.
fn textbook_crossing(motor: &FanMotor, start: f64) -> f64 {
    let supply = stiff_supply();
    let net = |ratio: f64| textbook_torques(&[*motor], &supply, &[ratio])[0] - motor.load_torque(ratio);
    let step = 1e-3;
    let mut low = start;
    while net(low + step) > 0.0 {
        low += step;
        assert!(low < 1.0, "a loaded motor stays below synchronous speed");
    }
    crossing(low, low + step, net)
}

/// Speeds at which two motors on one supply both meet their loads, found by moving one after the other.
fn textbook_crossings(motors: [FanMotor; 2], supply: &Supply) -> [f64; 2] {
    let mut ratios = [0.9, 0.9];
    for round in 0..60 {
        let m = round % 2;
        let net = |ratio: f64| {
            let mut tried = ratios;
            tried[m] = ratio;
            textbook_torques(&motors, supply, &tried)[m] - motors[m].load_torque(ratio)
        };
        ratios[m] = crossing(0.8, 0.9999, net);
    }
    ratios
}

/// What one motor does when it is switched on.
struct Run {
    ratio: f64,
    motion: Motion,
    amps: f64,
    torque: f64,
    settled: bool,
    steps: usize,
}

fn run(motor: FanMotor) -> Run {
    let unit = unit(&stiff_supply(), &[motor], &[]);
    let factored = unit.assembly.factor().unwrap();
    let steady = unit.assembly.settle(&factored).unwrap();
    Run {
        ratio: steady.speed_ratio(0),
        motion: steady.motion(0),
        amps: steady.solution().current(unit.supply).norm(),
        torque: steady.torque(0),
        settled: steady.settled(),
        steps: steady.steps(),
    }
}

fn copper_watts(solution: &Solution<'_>, unit: &Unit) -> f64 {
    let branches = unit.assembly.network.branches();
    let heat = |id: circuit::BranchId| branches[id.0].resistance.value() * solution.current(id).norm_sqr();
    heat(unit.supply) + unit.motors.iter().map(|parts| heat(parts.main) + heat(parts.second)).sum::<f64>()
}

/// Power from the source must be found again as heat in copper, iron and cage, and as mechanical power.
fn power_balance_error(steady: &Steady<'_>, unit: &Unit) -> f64 {
    let solution = steady.solution();
    let branches = unit.assembly.network.branches();
    let source = &branches[unit.supply.0];
    let input = source.source.value() * solution.current(unit.supply).re;
    let core: f64 = unit.motors.iter().map(|parts| solution.power(parts.core_loss).re).sum();
    let machines = 0..unit.motors.len();
    let rotors: f64 = machines.clone().map(|m| steady.rotor_loss(m) + steady.converted_power(m)).sum();
    (input - copper_watts(solution, unit) - core - rotors) / input
}

#[test]
fn a_plate_run_from_rest_shows_its_speed_and_amps() {
    for motor in [capacitor_run(), shaded_pole()] {
        let found = run(motor);
        assert!(found.settled);
        assert_eq!(found.motion, Motion::Running);
        assert_near(found.ratio, RATED_RATIO, 1e-5);
        assert_near(found.amps, 1.0, 1e-5);
        assert_near(found.torque, motor.load_torque(found.ratio), 1e-9);
        assert_near(found.ratio, textbook_crossing(&motor, 0.0), 1e-10);
    }
}

/// Work counter of the inner loop behind every prediction; 18 and 17 steps when this was written.
#[test]
fn an_ordinary_start_takes_few_steps() {
    for motor in [capacitor_run(), shaded_pole()] {
        let steps = run(motor).steps;
        assert!(steps <= 25, "{steps} steps");
    }
}

#[test]
fn without_its_capacitor_a_motor_hums_at_rest_and_runs_once_pushed() {
    let broken = FanMotor { capacitor: false, ..capacitor_run() };
    let humming = run(broken);
    assert!(humming.settled);
    assert_eq!(humming.motion, Motion::AtRest);
    assert_eq!(humming.ratio, 0.0);
    assert_near(humming.amps, textbook_locked_amps(broken), 1e-9);
    assert!(humming.amps > 2.0, "a locked rotor draws far more than its rated ampere, not {}", humming.amps);

    let pushed = run(FanMotor { start: Start::Pushed, ..broken });
    assert_eq!(pushed.motion, Motion::Running);
    assert_near(pushed.ratio, textbook_crossing(&broken, 0.25), 1e-10);
    assert!(pushed.ratio < RATED_RATIO, "one winding runs slower under the same fan");
}

#[test]
fn a_push_against_too_much_friction_ends_at_rest() {
    let broken = FanMotor { capacitor: false, start: Start::Pushed, ..capacitor_run() };
    let free_fan = with_friction(broken, 0.0);
    let spare_torque = textbook_torques(&[broken], &stiff_supply(), &[0.25])[0] - free_fan.load_torque(0.25);
    // The second slows down so gently at first that it stops late in the search.
    for friction in [2.0 * spare_torque, (1.0 + 1e-7) * spare_torque] {
        let stuck = run(with_friction(broken, friction));
        assert!(stuck.settled);
        assert_eq!(stuck.motion, Motion::AtRest);
        assert_eq!(stuck.ratio, 0.0);
    }
}

#[test]
fn a_held_rotor_stays_and_draws_locked_rotor_current() {
    let held = run(FanMotor { start: Start::Held, ..capacitor_run() });
    assert_eq!(held.motion, Motion::Kept);
    assert_eq!(held.ratio, 0.0);
    assert_eq!(held.steps, 0);
    assert_near(held.torque, textbook_standstill_torque(&capacitor_run()), 1e-9);
    assert_near(held.amps, textbook_locked_amps(capacitor_run()), 1e-9);
}

#[test]
fn friction_decides_at_standstill_whether_a_motor_starts() {
    let motor = capacitor_run();
    let starting_torque = textbook_standstill_torque(&motor);
    let stuck = run(with_friction(motor, 1.001 * starting_torque));
    let held = run(FanMotor { start: Start::Held, ..motor });
    assert_eq!(stuck.motion, Motion::AtRest);
    assert_eq!(stuck.ratio, 0.0);
    assert_eq!(stuck.amps, held.amps);
    // The torque that pulls at the bearing is still there.
    assert_near(stuck.torque, starting_torque, 1e-9);

    let freed = with_friction(motor, 0.999 * starting_torque);
    let running = run(freed);
    assert_eq!(running.motion, Motion::Running);
    assert_near(running.ratio, textbook_crossing(&freed, 0.0), 1e-9);
}

#[test]
fn swapped_ends_of_the_second_winding_turn_the_motor_backward() {
    let (forward, backward) = (run(capacitor_run()), run(FanMotor { reversed: true, ..capacitor_run() }));
    assert_eq!(backward.motion, Motion::Running);
    assert_near(backward.ratio, -forward.ratio, 1e-12);
    assert_near(backward.amps, forward.amps, 1e-12);
    assert_near(backward.torque, -forward.torque, 1e-9);
}

/// Swapping the ends of a coil that is closed on itself changes nothing: the shaded part of the pole stays where it is.
#[test]
fn swapped_ends_of_a_shading_coil_change_nothing() {
    let (usual, swapped) = (run(shaded_pole()), run(FanMotor { reversed: true, ..shaded_pole() }));
    assert_near(swapped.ratio, usual.ratio, 1e-12);
    assert_near(swapped.amps, usual.amps, 1e-12);
}

#[test]
fn a_driven_rotor_keeps_its_speed() {
    let unit = unit(&stiff_supply(), &[FanMotor { start: driven(1.08), ..capacitor_run() }], &[]);
    let factored = unit.assembly.factor().unwrap();
    let steady = unit.assembly.settle(&factored).unwrap();
    assert_eq!(steady.motion(0), Motion::Kept);
    assert_eq!(steady.speed_ratio(0), 1.08);
    // Above synchronous speed the machine brakes: it generates.
    assert!(steady.torque(0) < 0.0);
    assert_near(steady.torque(0), textbook_torques(&[capacitor_run()], &stiff_supply(), &[1.08])[0], 1e-9);
}

#[test]
fn two_motors_behind_one_resistance_both_meet_their_loads() {
    let motors = [capacitor_run(), shaded_pole()];
    let supply = soft_supply(8.0);
    let unit = unit(&supply, &motors, &[]);
    let factored = unit.assembly.factor().unwrap();
    let steady = unit.assembly.settle(&factored).unwrap();
    assert!(steady.settled());
    let expected = textbook_crossings(motors, &supply);
    for (m, motor) in motors.iter().enumerate() {
        assert_eq!(steady.motion(m), Motion::Running);
        let ratio = steady.speed_ratio(m);
        assert_near(steady.torque(m), motor.load_torque(ratio), 1e-9);
        assert_near(ratio, expected[m], 1e-10);
        assert!(ratio < RATED_RATIO, "the common resistance takes its share of the volts");
    }
    assert!(power_balance_error(&steady, &unit).abs() < 1e-9);
}

/// While the first motor starts, its current pulls the second one's voltage below what its friction needs; it must
/// follow once the first is up to speed, and only then.
#[test]
fn a_motor_that_starts_late_still_starts() {
    let supply = soft_supply(5.0);
    let large = Nameplate { amps: Some(4.0), ..PLATE };
    let (mut first, second) = (FanMotor::of_plate(&large, Scheme::CapacitorRun), capacitor_run());
    // A light fan: the first motor gets up to speed in spite of the soft supply.
    first.values.load_torque *= 0.3;
    check_late_start(first, second, &supply);
    // With friction that barely lets it go, the first motor itself takes its time.
    let starting_torque = textbook_torques(&[first, second], &supply, &[0.0, 0.0])[0];
    check_late_start(with_friction(first, 0.9999 * starting_torque), second, &supply);
}

/// Holds the second motor to starting exactly where the first one's settling lets it.
fn check_late_start(first: FanMotor, second: FanMotor, supply: &Supply) {
    let torques = |ratio_of_first: f64| textbook_torques(&[first, second], supply, &[ratio_of_first, 0.0]);
    let up_to_speed = crossing(0.7, 0.999, |ratio| torques(ratio)[0] - first.load_torque(ratio));
    let (while_starting, once_up) = (torques(0.0)[1], torques(up_to_speed)[1]);
    assert!(once_up > 1.1 * while_starting, "{while_starting} then {once_up} at {up_to_speed}");
    for (friction, motion) in [
        (0.5 * (while_starting + once_up), Motion::Running),
        (0.999 * once_up, Motion::Running),
        // The first motor passes its crossing by up to one step of the search, which lends the second a little torque.
        (1.08 * once_up, Motion::AtRest),
    ] {
        let motors = [first, with_friction(second, friction)];
        let unit = unit(supply, &motors, &[]);
        let factored = unit.assembly.factor().unwrap();
        let steady = unit.assembly.settle(&factored).unwrap();
        assert!(steady.settled());
        assert_eq!(steady.motion(0), Motion::Running);
        assert_eq!(steady.motion(1), motion, "friction {friction}");
        for (m, motor) in motors.iter().enumerate().filter(|&(m, _)| steady.motion(m) == Motion::Running) {
            assert_near(steady.torque(m), motor.load_torque(steady.speed_ratio(m)), 1e-9);
        }
    }
}

/// A pair met by chance among random ones: while the second motor crosses its breakdown speed, a straight line through the
/// torques of both points far back, and a search that follows it goes to and fro for ever.
#[test]
fn a_motor_crossing_its_breakdown_speed_beside_another_one_settles() {
    let motor = |values: [f64; 13]| {
        let [
            main_ohms,
            main_leakage_ohms,
            second_turns,
            second_ohms,
            second_leakage_ohms,
            magnetising_ohms,
            rotor_ohms,
            rotor_leakage_ohms,
            core_loss_ohms,
            microfarads,
            load_torque,
            friction_torque,
            rated_ratio,
        ] = values;
        let values = Medians {
            poles: 4,
            main_ohms,
            main_leakage_ohms,
            second_turns,
            second_ohms,
            second_leakage_ohms,
            magnetising_ohms,
            rotor_ohms,
            rotor_leakage_ohms,
            core_loss_ohms,
            microfarads,
            load_torque,
            friction_torque,
            rated_ratio,
        };
        FanMotor { values, ..capacitor_run() }
    };
    let motors = [
        motor([41.107, 3.6, 0.5, 110.215, 0.9, 241.274, 15.2935, 3.6, 2400.0, 6.16794, 0.0882059, 0.0, 0.9]),
        motor([
            3.6, 29.9473, 0.801432, 1.8, 19.235, 165.218, 32.7831, 18.7017, 2400.0, 8.27372, 0.0902034, 0.0371102, 0.9,
        ]),
    ];
    let unit = unit(&soft_supply(28.7748), &motors, &[]);
    let factored = unit.assembly.factor().unwrap();
    let steady = unit.assembly.settle(&factored).unwrap();
    assert!(steady.settled());
    for (m, motor) in motors.iter().enumerate() {
        assert_eq!(steady.motion(m), Motion::Running);
        assert_near(steady.torque(m), motor.load_torque(steady.speed_ratio(m)), 1e-9);
    }
}

#[test]
fn every_load_law_is_met_where_the_textbook_torque_crosses_it() {
    for law in [LoadLaw::Square, LoadLaw::Linear, LoadLaw::Constant, LoadLaw::LevelPressure] {
        for reversed in [false, true] {
            let mut motor = FanMotor { law, reversed, ..capacitor_run() };
            // Less than the starting torque, so that even the constant load is overcome.
            motor.values.load_torque = 0.6 * textbook_standstill_torque(&motor).abs();
            let unit = unit(&soft_supply(0.0), &[motor], &[]);
            let factored = unit.assembly.factor().unwrap();
            let steady = unit.assembly.settle(&factored).unwrap();
            assert!(steady.settled() && steady.motion(0) == Motion::Running, "{law:?}");
            let ratio = steady.speed_ratio(0);
            assert_eq!(ratio < 0.0, reversed);
            assert_near(steady.torque(0).abs(), motor.load_torque(ratio.abs()), 1e-9);
        }
    }
}

#[test]
fn a_constant_load_must_be_overcome_to_start() {
    let mut motor = FanMotor { law: LoadLaw::Constant, ..capacitor_run() };
    motor.values.friction_torque = 0.0;
    let standstill = textbook_standstill_torque(&motor).abs();
    for (share, motion) in [(1.001, Motion::AtRest), (0.999, Motion::Running)] {
        motor.values.load_torque = share * standstill;
        let unit = unit(&soft_supply(0.0), &[motor], &[]);
        let factored = unit.assembly.factor().unwrap();
        let steady = unit.assembly.settle(&factored).unwrap();
        assert_eq!(steady.motion(0), motion, "{share}");
        assert!(steady.settled());
    }
    // Once it turns, the same load is carried: what it cannot start it can keep going.
    motor.values.load_torque = 1.001 * standstill;
    let unit = unit(&soft_supply(0.0), &[motor], &[]);
    let factored = unit.assembly.factor().unwrap();
    let steady = unit.assembly.settle_from(&factored, vec![0.6], |_| Ok(false)).unwrap();
    assert_eq!(steady.motion(0), Motion::Running);
}

#[test]
fn a_run_up_stops_when_told_and_goes_on_to_the_same_end() {
    let unit = unit(&soft_supply(4.0), &[capacitor_run()], &[]);
    let factored = unit.assembly.factor().unwrap();
    let whole = unit.assembly.settle(&factored).unwrap();
    let first = unit.assembly.first_ratios();
    let at_once = unit.assembly.settle_from(&factored, first.clone(), |_| Ok(true)).unwrap();
    assert_eq!((at_once.speed_ratio(0), at_once.settled(), at_once.steps()), (0.0, false, 0));
    let half = unit.assembly.settle_from(&factored, first, |ratios| Ok(ratios[0] > 0.4)).unwrap();
    assert!(half.speed_ratio(0) > 0.4 && half.speed_ratio(0) < 0.5 && !half.settled());
    let on = unit.assembly.settle_from(&factored, half.speed_ratios().to_vec(), |_| Ok(false)).unwrap();
    assert!(on.settled());
    assert_near(on.speed_ratio(0), whole.speed_ratio(0), 1e-11);
    // An error in the watcher comes out as it is.
    let failed = unit.assembly.settle_from(&factored, vec![0.0], |_| Err(SolveError::NotFinite { branch: 7 }));
    assert!(matches!(failed, Err(SolveError::NotFinite { branch: 7 })));
}

/// Capacitor-run motors of very different build, with friction from none to more than the starting torque.
fn any_motor() -> impl Strategy<Value = FanMotor> {
    let windings = (0.03..0.4, 0.03..0.3, 0.5..1.6, 0.5..3.0);
    let rotor = (0.7..4.0, 0.01..0.6, 0.03..0.3);
    // Motors that barely start are the hard ones.
    let friction_share = prop_oneof![0.0..1.3f64, (0.5..5.0f64).prop_map(|digits| 1.0 - 10f64.powf(-digits))];
    let load = (0.001..1.0f64, friction_share);
    (windings, rotor, load, 0.3..6.0, any::<bool>()).prop_map(|(windings, rotor, load, capacitor_ohms, reversed)| {
        let base = PLATE.volts / PLATE.amps.unwrap();
        let (main_ohms, leakage, second_turns, second_ohms) = windings;
        let (magnetising, rotor_ohms, rotor_leakage) = rotor;
        let values = Medians {
            poles: 4,
            main_ohms: main_ohms * base,
            main_leakage_ohms: leakage * base,
            second_turns,
            second_ohms: second_ohms * main_ohms * base,
            second_leakage_ohms: leakage * second_turns * second_turns * base,
            magnetising_ohms: magnetising * base,
            rotor_ohms: rotor_ohms * base,
            rotor_leakage_ohms: rotor_leakage * base,
            core_loss_ohms: 20.0 * base,
            microfarads: 1e6 / (2.0 * PI * PLATE.hertz * capacitor_ohms * base),
            load_torque: load.0.powi(2),
            friction_torque: 0.0,
            rated_ratio: 0.9,
        };
        let motor = FanMotor {
            scheme: Scheme::CapacitorRun,
            values,
            capacitor: true,
            reversed,
            start: Start::Rest,
            law: LoadLaw::Square,
        };
        with_friction(motor, load.1 * textbook_standstill_torque(&motor).abs())
    })
}

/// Any windings around one rotor, each on its own source.
fn any_windings(axes: impl Strategy<Value = f64> + Clone) -> impl Strategy<Value = Motor> {
    let winding = (50.0..250.0, -40.0..40.0, 0.4..2.0, axes, 1.0..20.0, 1.0..20.0);
    let winding = winding.prop_map(|(volts, outside, turns, angle, resistance, leakage)| Winding {
        volts: Complex64::from(volts),
        outside: Complex64::new(0.0, outside),
        turns,
        angle,
        impedance: Complex64::new(resistance, leakage),
    });
    let cage = (0.5..40.0, 0.5..20.0, 20.0..300.0);
    let cage = cage.prop_map(|(resistance, leakage, magnetising)| Cage { resistance, leakage, magnetising });
    (prop::collection::vec(winding, 1..4), cage).prop_map(|(windings, cage)| Motor {
        windings,
        cage,
        hertz: 60.0,
        poles: 4.0,
    })
}

/// The size of the opposing torques, against which a torque counts as nothing.
fn torque_scale(motor: &Motor, ratio: f64) -> f64 {
    let point = motor.at(ratio);
    (point.forward_power.abs() + point.backward_power.abs()) / motor.synchronous_speed()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// From rest a motor takes the first stable crossing of torque and load, or stays if friction holds it.
    #[test]
    fn a_motor_settles_where_an_independent_search_says(motor in any_motor()) {
        let standstill = textbook_standstill_torque(&motor);
        // Closer than this, rounding may decide.
        prop_assume!((standstill.abs() - motor.values.friction_torque).abs() > 1e-6);
        let found = run(motor);
        prop_assert!(found.settled);
        if standstill.abs() < motor.values.friction_torque {
            prop_assert_eq!(found.motion, Motion::AtRest);
            prop_assert_eq!(found.ratio, 0.0);
        } else {
            // A motor that starts backward is its own mirror image with the second winding's ends swapped.
            let mirrored = standstill < 0.0;
            let forward = FanMotor { reversed: motor.reversed != mirrored, ..motor };
            let expected = textbook_crossing(&forward, 0.0);
            let expected = if mirrored { -expected } else { expected };
            prop_assert_eq!(found.motion, Motion::Running);
            prop_assert!((found.ratio - expected).abs() < 1e-8, "{} is not {expected}", found.ratio);
        }
    }

    /// Rounding alone must not turn a motor on its main winding, even without friction.
    #[test]
    fn one_winding_without_friction_stays_at_rest(motor in any_motor()) {
        let found = run(with_friction(FanMotor { capacitor: false, ..motor }, 0.0));
        prop_assert_eq!(found.motion, Motion::AtRest);
    }

    /// Whatever two motors on one soft supply come to, each either meets its load or is held by its friction.
    #[test]
    fn two_motors_settle_in_balance(motors in [any_motor(), any_motor()], resistance in 0.0..30.0) {
        let unit = unit(&soft_supply(resistance), &motors, &[]);
        let factored = unit.assembly.factor().unwrap();
        let steady = unit.assembly.settle(&factored).unwrap();
        prop_assert!(steady.settled());
        for (m, motor) in motors.iter().enumerate() {
            let (torque, ratio) = (steady.torque(m), steady.speed_ratio(m));
            let load = ratio.signum() * motor.load_torque(ratio);
            match steady.motion(m) {
                Motion::Running => prop_assert!((torque - load).abs() < 1e-9, "motor {m}: {torque} against {load}"),
                Motion::AtRest => prop_assert!(torque.abs() < motor.values.friction_torque + 1e-9),
                Motion::Kept => prop_assert!(false, "motor {m} is free"),
            }
        }
    }

    /// Energy is conserved at every speed, turning either way and above synchronous speed.
    #[test]
    fn input_is_found_again_as_heat_and_motion(motor in any_motor(), ratio in -1.3..1.3f64, resistance in 0.0..30.0) {
        let unit = unit(&soft_supply(resistance), &[FanMotor { start: driven(ratio), ..motor }], &[]);
        let factored = unit.assembly.factor().unwrap();
        let steady = unit.assembly.settle(&factored).unwrap();
        prop_assert!(power_balance_error(&steady, &unit).abs() < 1e-9);
    }

    /// Windings on one axis, however many, make two equal and opposite fields at standstill.
    #[test]
    fn windings_on_one_axis_have_no_starting_torque(motor in any_windings(Just(0.7))) {
        prop_assert!(motor.at(0.0).torque.abs() < 1e-12 * torque_scale(&motor, 0.0));
    }

    /// A single winding does not know forward from backward: T(2 - s) = -T(s).
    #[test]
    fn torque_of_one_axis_is_odd_in_speed(motor in any_windings(Just(-0.4)), ratio in 0.0..1.3f64) {
        let (forward, backward) = (motor.at(ratio), motor.at(-ratio));
        prop_assert!((forward.torque + backward.torque).abs() < 1e-12 * torque_scale(&motor, ratio));
    }
}
