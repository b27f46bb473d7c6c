//! Coils on one stationary core: transformers, autotransformers and taps, held to published examples.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{BranchId, Complex64, Factored, NetId, Network, Quantity, Solution};
use common::{assert_digits, assert_near, branch, coil, phasor};
use machine::Coil;
use machine::coil_group::add_on_core;

/// Winding impedance of an all but ideal transformer, ohms; exactly none would close a loop without impedance.
const HARDLY_ANY: Complex64 = Complex64::new(1e-7, 0.0);
/// Magnetising reactance of an all but ideal transformer, ohms.
const ALMOST_OPEN: f64 = 1e9;

/// Solves branches and the coils of one core at 60 Hz; the answers come out of `ask` with the branches of the coils.
fn solve<T>(
    nets: usize,
    branches: &[circuit::Branch],
    coils: &[Coil],
    magnetising: f64,
    ask: impl Fn(&Solution<'_>, &[BranchId]) -> T,
) -> T {
    let mut network = Network::new(60.0, nets);
    for each in branches {
        network.add_branch(each.clone());
    }
    let (coil_branches, core) = add_on_core(&mut network, coils, Quantity::constant(magnetising));
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[Complex64::new(0.0, core.magnetising.value())]).unwrap();
    // Ampere-turns must add up to the magnetising current alone, here that of one turn.
    let ampere_turns: Complex64 =
        coils.iter().zip(&coil_branches).map(|(coil, &id)| coil.turns.value() * solution.current(id)).sum();
    let magnetising_current = solution.field(core.field) / Complex64::new(0.0, magnetising);
    let most_turns = coils.iter().map(|coil| coil.turns.value()).fold(0.0, f64::max);
    let most_amps = coil_branches.iter().map(|&id| solution.current(id).norm()).fold(0.0, f64::max);
    assert!((ampere_turns - magnetising_current).norm() < 1e-6 * most_turns * (1.0 + most_amps));
    ask(&solution, &coil_branches)
}

fn ideal(from: usize, to: usize, turns: f64) -> Coil {
    coil(from, to, turns, 0.0, HARDLY_ANY)
}

fn load(from: usize, to: usize, impedance: Complex64) -> circuit::Branch {
    branch(from, to, impedance, 0.0)
}

fn supply(to: usize, volts: f64) -> circuit::Branch {
    branch(0, to, Complex64::ZERO, volts)
}

/// B.Sc. text, example 7-41: star autotransformer 550/440 V, 400 kW at power factor 0.8; one phase of three. 656 A at the
/// load, 525 A from the supply, 131 A in the common part; 80 kW are transformed and 320 kW conducted (recomputed digits).
#[test]
fn autotransformer_550_to_440_volts() {
    let (high, low): (f64, f64) = (550.0 / 3f64.sqrt(), 440.0 / 3f64.sqrt());
    let amps = 400e3 / 3.0 / (low * 0.8);
    let loads = [supply(1, high), load(2, 0, phasor(low / amps, 0.8f64.acos().to_degrees()))];
    let coils = [ideal(1, 2, 0.2), ideal(2, 0, 0.8)];
    solve(3, &loads, &coils, ALMOST_OPEN, |solution, coils| {
        let (series, common) = (solution.current(coils[0]), solution.current(coils[1]));
        let volts = solution.potential(NetId(2));
        let delivered = series - common;
        assert_near(volts.norm(), low, 1e-6);
        assert_digits(delivered.norm(), "656.080");
        assert_digits(series.norm(), "524.864");
        assert_digits(common.norm(), "131.216");
        // The common part carries what the load takes beyond the supply, by transformer action.
        let transformed = 3.0 * (volts * (-common).conj()).re;
        let conducted = 3.0 * (volts * series.conj()).re;
        assert_digits(1e-3 * transformed, "80.000");
        assert_digits(1e-3 * conducted, "320.000");
        assert_near(transformed / (transformed + conducted), 1.0 - low / high, 1e-6);
        assert_near(0.2 * series.norm(), 0.8 * common.norm(), 1e-6);
    });
}

/// Chapman, Electric Machinery Fundamentals, example 2-7: a 100 VA, 120/12 V transformer steps 120 V up to 132 V and passes
/// 1100 VA, eleven times its rating.
#[test]
fn small_transformer_stepping_up() {
    let loads = [supply(1, 120.0), load(2, 0, Complex64::from(132.0 / (100.0 / 12.0)))];
    // The 12 V winding on top of the 120 V one.
    let coils = [ideal(2, 1, 12.0), ideal(1, 0, 120.0)];
    solve(3, &loads, &coils, ALMOST_OPEN, |solution, coils| {
        let (series, common) = (solution.current(coils[0]).norm(), solution.current(coils[1]).norm());
        let volts = solution.potential(NetId(2)).norm();
        let source = solution.current(BranchId(0)).norm();
        assert_near(volts, 132.0, 1e-6);
        assert_digits(series, "8.333");
        assert_digits(source, "9.1667");
        assert_digits(common, "0.8333");
        assert_near(volts * series, 1100.0, 1e-6);
        assert_near(volts * series / 100.0, 11.0, 1e-6);
    });
}

/// B.Sc. text, example 7-11: 44 kVA, 2200/220 V, 50 secondary turns: 500 primary turns, 20 A and 200 A.
#[test]
fn transformer_2200_to_220_volts() {
    let loads = [supply(1, 2200.0), load(2, 0, Complex64::from(220.0 * 220.0 / 44e3))];
    let coils = [ideal(1, 0, 500.0), ideal(2, 0, 50.0)];
    // Referred to one turn: this still is 2.5e6 ohms seen from the primary.
    solve(3, &loads, &coils, 10.0, |solution, coils| {
        assert_near(solution.potential(NetId(2)).norm(), 220.0, 1e-6);
        assert_near(solution.current(coils[0]).norm(), 20.0, 1e-6);
        assert_near(solution.current(coils[1]).norm(), 200.0, 1e-6);
    });
}

/// Kosow, Electric Machinery and Transformers, example 14-32: 10 VA, 115 V, secondaries of 6.3 V and 0.2 ohms, 5.0 V and
/// 0.15 ohms. In series aiding they are good for 0.885 A (recomputed 0.88496).
fn two_secondaries(ends: [(usize, usize); 2]) -> [Coil; 3] {
    let secondary =
        |(from, to): (usize, usize), volts: f64, ohms: f64| coil(from, to, volts / 115.0, 0.0, Complex64::from(ohms));
    [ideal(1, 0, 1.0), secondary(ends[0], 6.3, 0.2), secondary(ends[1], 5.0, 0.15)]
}

#[test]
fn secondaries_in_series_add_and_opposed_subtract() {
    let open_volts = |ends: [(usize, usize); 2]| {
        solve(4, &[supply(1, 115.0)], &two_secondaries(ends), ALMOST_OPEN, |solution, _| {
            solution.potential(NetId(3)).norm()
        })
    };
    let aiding = open_volts([(2, 0), (3, 2)]);
    assert_near(aiding, 11.3, 1e-6);
    assert_digits(10.0 / aiding, "0.88496");
    assert_near(open_volts([(2, 0), (2, 3)]), 1.3, 1e-6);
}

/// The same two in parallel by mistake: 3.71 A circulate, 420 % of rated (recomputed 3.71429 A, 419.71 %).
#[test]
fn unlike_secondaries_in_parallel_drive_a_current_round() {
    solve(3, &[supply(1, 115.0)], &two_secondaries([(2, 0), (2, 0)]), ALMOST_OPEN, |solution, coils| {
        let (stronger, weaker) = (solution.current(coils[1]), solution.current(coils[2]));
        assert!((stronger + weaker).norm() < 1e-9, "one loop, one current");
        assert_digits(weaker.norm(), "3.71429");
        assert_digits(100.0 * weaker.norm() / 0.88496, "419.71");
        // The loop's heat comes through the primary.
        assert_near(115.0 * solution.current(coils[0]).re, 3.71429f64.powi(2) * 0.35, 1e-5);
    });
}

/// Open-circuit volts of a tap are the line's volts times its share of the turns, wherever it sits.
#[test]
fn tap_volts_are_the_share_of_turns() {
    let turns = [37.0, 12.0, 5.0, 46.0];
    let coils: Vec<Coil> = (0..4).map(|k| ideal(k + 1, if k == 3 { 0 } else { k + 2 }, turns[k])).collect();
    solve(5, &[supply(1, 120.0)], &coils, ALMOST_OPEN, |solution, _| {
        for (net, below) in [(2, 63.0), (3, 51.0), (4, 46.0)] {
            assert_near(solution.potential(NetId(net)).norm(), 120.0 * below / 100.0, 1e-9);
        }
    });
}

/// A tap can also be fed: the whole winding then stands above the line, which is how back-fed taps do harm.
#[test]
fn a_fed_tap_steps_up_to_the_open_end() {
    let coils = [ideal(2, 1, 40.0), ideal(1, 0, 60.0)];
    solve(3, &[supply(1, 120.0)], &coils, ALMOST_OPEN, |solution, _| {
        assert_near(solution.potential(NetId(2)).norm(), 200.0, 1e-9);
    });
}

/// A load on a tap draws its own current less the share of turns from the line.
#[test]
fn a_load_on_a_tap_is_referred_by_the_square_of_the_turns() {
    let coils = [ideal(1, 2, 0.75), ideal(2, 0, 0.25)];
    solve(3, &[supply(1, 240.0), load(2, 0, Complex64::from(6.0))], &coils, ALMOST_OPEN, |solution, coils| {
        assert_near(solution.current(BranchId(1)).norm(), 10.0, 1e-6);
        assert_near(solution.current(coils[0]).norm(), 2.5, 1e-6);
        assert_near(solution.current(coils[1]).norm(), 7.5, 1e-6);
        assert_near((240.0 / solution.current(coils[0])).norm(), 6.0 * 16.0, 1e-6);
    });
}

/// With real leakage, resistance and magnetising reactance the input impedance is that of the T circuit.
#[test]
fn a_real_transformer_is_its_t_circuit() {
    let (primary, secondary) = (Complex64::new(1.3, 2.1), Complex64::new(0.02, 0.05));
    let (ratio, magnetising, burden) = (0.12, 180.0, Complex64::new(0.5, 0.3));
    let loads = [supply(1, 230.0), load(2, 0, burden)];
    let coils = [coil(1, 0, 1.0, 0.0, primary), coil(2, 0, ratio, 0.0, secondary)];
    let referred = (secondary + burden) / (ratio * ratio);
    let iron = Complex64::new(0.0, magnetising);
    let expected = primary + iron * referred / (iron + referred);
    solve(3, &loads, &coils, magnetising, |solution, coils| {
        let shown = 230.0 / solution.current(coils[0]);
        assert!((shown - expected).norm() < 1e-12 * expected.norm());
    });
}
