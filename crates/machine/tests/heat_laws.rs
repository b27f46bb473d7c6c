//! What must hold of any heat run: energy balance, rest where every node's heat is carried off, errors that follow the
//! tolerance, and how much work a run may be.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::assert_near;
use common::heated::{Heated, Heating, Moment, WINDING_AND_FRAME, between, to_room, winding_and_frame};
use machine::copper::resistance_ratio;
use machine::heat::{HeatLink, HeatNetwork, Regime, RunError, Side, run};
use proptest::prelude::*;

/// Two motors in one housing: winding, core, frame and housing share of each, a stiff cutout body beside one winding.
fn two_motors() -> HeatNetwork {
    HeatNetwork {
        // Windings, cores, frames, cutout body, housing.
        capacities: vec![120.0, 90.0, 900.0, 700.0, 1500.0, 1200.0, 5.0, 2500.0],
        links: vec![
            between(0, 2),
            between(1, 3),
            between(2, 4),
            between(3, 5),
            between(0, 6),
            between(4, 7),
            between(5, 7),
            to_room(4),
            to_room(5),
            to_room(7),
        ],
    }
}

/// Copper at constant current in both windings, core losses, fans that lose a little speed as their winding warms.
fn two_motors_running(_: f64, celsius: &[f64], _: &Heating) -> Regime {
    let copper = |watts: f64, node: usize| watts * resistance_ratio(celsius[node], 25.0);
    let fan = |node: usize| 1.0 + 1.2 * (1.0 - 0.001 * (celsius[node] - 25.0)).powf(0.8);
    Regime {
        watts: vec![copper(38.0, 0), copper(31.0, 1), 9.0, 7.0, 0.0, 0.0, 0.0, 0.0],
        watts_per_kelvin: vec![2.4, 2.0, 8.0, 7.0, 0.8, 0.5, 0.5, fan(0), fan(1), 1.4],
        fixed_celsius: vec![25.0],
    }
}

/// One hour of eight nodes at 0.05 K must stay cheap, and right: against a run at a hundredth of the tolerance.
#[test]
fn an_hour_of_two_motors_needs_few_electrical_solutions() {
    let network = two_motors();
    let hour = |tolerance: f64| {
        let mut plant = Heated::new(two_motors_running);
        let outcome = plant.run(&network, &[25.0; 8], 3600.0, 60.0, tolerance);
        (outcome, plant.log)
    };
    let (outcome, log) = hour(0.05);
    let (_, fine) = hour(0.0005);
    assert_eq!(log.len(), 61);
    let worst = log.iter().zip(&fine).map(|(a, b)| {
        assert_eq!(a.seconds, b.seconds);
        a.celsius.iter().zip(&b.celsius).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    });
    let worst = worst.fold(0.0, f64::max);
    assert!(outcome.regime_calls < 150, "{} electrical solutions", outcome.regime_calls);
    assert!(worst < 0.05, "{worst} K off");
}

/// Every three halvings of the tolerance bring the temperatures nearer to those of a much finer run, nine of them by at
/// least ten times, and none is further off than its tolerance.
#[test]
fn errors_follow_the_tolerance() {
    let network = two_motors();
    let log = |tolerance: f64| {
        let mut plant = Heated::new(two_motors_running);
        plant.run(&network, &[25.0; 8], 1800.0, 60.0, tolerance);
        plant.log
    };
    let finest = log(1e-6);
    let worst = |tolerance: f64| {
        let pairs = log(tolerance).into_iter().zip(&finest);
        let all = pairs.flat_map(|(a, b)| a.celsius.into_iter().zip(b.celsius.clone()));
        all.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    };
    let tolerances = [0.4, 0.05, 0.00625, 0.00078125];
    let errors = tolerances.map(worst);
    assert!(errors.windows(2).all(|pair| pair[1] < pair[0]), "{errors:?}");
    assert!(errors[3] < errors[0] / 10.0, "{errors:?}");
    assert!(errors.iter().zip(tolerances).all(|(error, tolerance)| *error < tolerance), "{errors:?}");
}

/// A body of 0.01 J/K held at 100 W/K follows its neighbour within 0.1 ms; it must cost no steps.
#[test]
fn a_tiny_body_does_not_shorten_the_steps() {
    let steps = |tiny: f64| {
        let network =
            HeatNetwork { capacities: vec![60.0, 600.0, tiny], links: vec![between(0, 1), to_room(1), between(0, 2)] };
        let copper = |_: f64, celsius: &[f64], _: &Heating| Regime {
            watts: vec![30.0 * resistance_ratio(celsius[0], 20.0), 0.0, 0.0],
            watts_per_kelvin: vec![1.5, 1.0, 100.0],
            fixed_celsius: vec![20.0],
        };
        let mut plant = Heated::new(copper);
        let outcome = plant.run(&network, &[20.0; 3], 3600.0, 600.0, 0.05);
        assert!((outcome.celsius[2] - outcome.celsius[0]).abs() < 1e-3);
        outcome.steps
    };
    let (tiny, small) = (steps(0.01), steps(10.0));
    assert!(tiny <= small + 3, "{tiny} steps instead of {small}");
}

/// A starter whose heat falls from 100 to 10 W over a few kelvins settles where heat and loss are equal (by bisection).
#[test]
fn a_steep_fall_of_heat_settles() {
    let watts = |celsius: f64| 10.0 + 90.0 / (1.0 + ((celsius - 120.0) / 1.5).exp());
    let network = HeatNetwork { capacities: vec![10.0], links: vec![to_room(0)] };
    let mut plant = Heated::new(move |_, celsius: &[f64], _: &_| Regime {
        watts: vec![watts(celsius[0])],
        watts_per_kelvin: vec![0.3],
        fixed_celsius: vec![20.0],
    });
    let outcome = plant.run(&network, &[20.0], 3600.0, 60.0, 0.05);
    let (mut low, mut high) = (20.0, 300.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if watts(middle) > 0.3 * (middle - 20.0) { low = middle } else { high = middle }
    }
    assert!((outcome.celsius[0] - low).abs() < 1e-3, "{} is not {low}", outcome.celsius[0]);
    assert!(outcome.regime_calls < 200, "{} calls", outcome.regime_calls);
}

/// Heat that jumps at a temperature nobody announced (a rotor that drops out) is passed over, not stumbled upon.
#[test]
fn an_unannounced_jump_of_heat() {
    let network = HeatNetwork { capacities: vec![100.0], links: vec![to_room(0)] };
    let mut plant = Heated::new(|_, celsius: &[f64], _: &_| Regime {
        watts: vec![if celsius[0] < 60.0 { 50.0 } else { 300.0 }],
        watts_per_kelvin: vec![1.0],
        fixed_celsius: vec![20.0],
    });
    plant.run(&network, &[20.0], 300.0, 1.0, 0.05);
    // Both parts are exponentials: 50 K and 300 K over the room, tau 100 s, joined at 40 K over it.
    let jump = 100.0 * (50.0f64 / 10.0).ln();
    for seconds in [100.0, 160.0, 162.0, 200.0, 300.0] {
        let exact = match seconds < jump {
            true => 70.0 - 50.0 * (-seconds / 100.0f64).exp(),
            false => 320.0 - 260.0 * ((jump - seconds) / 100.0).exp(),
        };
        let ours = plant.at(seconds).celsius[0];
        assert!((ours - exact).abs() < 0.15, "after {seconds} s {ours} instead of {exact}");
    }
}

/// Watts from outside into each node, link by link.
fn net_watts(network: &HeatNetwork, moment: &Moment) -> Vec<f64> {
    let at = |side: Side| match side {
        Side::Node(node) => moment.celsius[node],
        Side::Fixed(place) => moment.regime.fixed_celsius[place],
    };
    let into = |node: usize| {
        let flows = network.links.iter().zip(&moment.regime.watts_per_kelvin).map(|(link, conductance)| {
            let into_b = if link.b == Side::Node(node) { at(link.a) - at(link.b) } else { 0.0 };
            let into_a = if link.a == Side::Node(node) && !link.one_way { at(link.b) - at(link.a) } else { 0.0 };
            conductance * (into_a + into_b)
        });
        moment.regime.watts[node] + flows.sum::<f64>()
    };
    (0..network.capacities.len()).map(into).collect()
}

/// A network in which every node reaches the room: capacities, links with conductances, and watts.
fn any_network() -> impl Strategy<Value = (HeatNetwork, Vec<f64>, Vec<f64>)> {
    (2usize..7).prop_flat_map(|nodes| {
        let capacities = prop::collection::vec(5.0f64..8.0, nodes);
        let tree = prop::collection::vec((any::<prop::sample::Index>(), 0.1f64..10.0), nodes - 1);
        let more = prop::collection::vec((0..nodes, 0..nodes, any::<bool>(), 0.05f64..3.0), 0..nodes);
        let watts = prop::collection::vec(0.0f64..80.0, nodes);
        (capacities, tree, more, watts, 0.5f64..2.0).prop_map(|(logs, tree, more, watts, to_the_room)| {
            let tree_links =
                tree.iter().enumerate().map(|(place, (to, value))| (between(to.index(place + 1), place + 1), *value));
            let further = more.iter().filter(|(a, b, ..)| a != b);
            let further = further.map(|&(a, b, one_way, value)| (HeatLink { one_way, ..between(a, b) }, value));
            let all = std::iter::once((to_room(0), to_the_room)).chain(tree_links).chain(further);
            let (links, conductances) = all.unzip();
            let capacities = logs.into_iter().map(f64::exp).collect();
            (HeatNetwork { capacities, links }, conductances, watts)
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Heat made and carried in from outside, summed over the records, is what the capacities hold at the end, with
    /// copper, a drifting room and a cutout.
    #[test]
    fn heat_in_is_heat_stored_and_lost((network, conductances, watts) in any_network(), opens in 30.0f64..60.0) {
        let mut plant = Heated::new(|seconds: f64, celsius: &[f64], heating: &Heating| {
            let on = if heating.open[0] { 0.2 } else { 1.0 };
            Regime {
                watts: watts.iter().zip(celsius).map(|(watts, celsius)| on * watts * resistance_ratio(*celsius, 20.0)).collect(),
                watts_per_kelvin: conductances.clone(),
                fixed_celsius: vec![20.0 + 0.002 * seconds],
            }
        }).with_cutout(0, opens, opens - 6.0);
        let start = vec![20.0; network.capacities.len()];
        let outcome = plant.run(&network, &start, 900.0, 0.25, 0.005);
        for (node, capacity) in network.capacities.iter().enumerate() {
            let (mut entered, mut moved) = (0.0, 0.0);
            for pair in plant.log.windows(2) {
                let (a, b) = (net_watts(&network, &pair[0])[node], net_watts(&network, &pair[1])[node]);
                entered += 0.5 * (a + b) * (pair[1].seconds - pair[0].seconds);
                moved += 0.5 * (a.abs() + b.abs()) * (pair[1].seconds - pair[0].seconds);
            }
            let stored = capacity * (outcome.celsius[node] - 20.0);
            // The trapezoids err by a share of what moved; a step by its tolerance.
            let allowed = 2e-3 * moved + 0.1 * capacity;
            prop_assert!((entered - stored).abs() < allowed, "node {}: {} J entered, {} J stored", node, entered, stored);
        }
    }

    /// After long enough nothing moves, no node gains or loses heat, and the linear solution says the same; where that is
    /// hotter than any machine can be, the run says so instead.
    #[test]
    fn a_long_run_ends_at_equilibrium((network, conductances, watts) in any_network(), room in -10.0f64..40.0) {
        let regime = Regime { watts, watts_per_kelvin: conductances, fixed_celsius: vec![room] };
        let rest = network.equilibrium(&regime).unwrap();
        let mut plant = Heated::new(|_, _: &[f64], _: &_| regime.clone());
        let outcome = run(&network, &vec![20.0; network.capacities.len()], 3e6, 1e6, 0.05, &mut plant);
        if rest.iter().any(|&celsius| celsius > 3000.0) {
            prop_assert!(matches!(outcome, Err(RunError::Runaway { celsius, .. }) if celsius > 3000.0), "{outcome:?}");
            return Ok(());
        }
        let outcome = outcome.unwrap();
        let moment = Moment { seconds: 0.0, celsius: outcome.celsius.clone(), regime: regime.clone() };
        for watts in net_watts(&network, &moment) {
            prop_assert!(watts.abs() < 1e-6, "{} W unbalanced", watts);
        }
        for (run, rest) in outcome.celsius.iter().zip(rest) {
            prop_assert!((run - rest).abs() < 1e-6, "{} is not {}", run, rest);
        }
    }
}

/// Without any way to the outside there is no rest to speak of.
#[test]
fn no_equilibrium_without_a_room() {
    let network = HeatNetwork { capacities: vec![1.0, 1.0], links: vec![between(0, 1)] };
    let regime = Regime { watts: vec![1.0, 0.0], watts_per_kelvin: vec![1.0], fixed_celsius: Vec::new() };
    assert_eq!(network.equilibrium(&regime), None);
    let regime =
        Regime { watts: vec![45.0, 0.0], watts_per_kelvin: WINDING_AND_FRAME.to_vec(), fixed_celsius: vec![25.0] };
    assert_near(winding_and_frame().equilibrium(&regime).unwrap()[0], 100.0, 1e-12);
}
