//! Heat runs against published and recomputed figures; the sources stand beside each.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::heated::{Heated, WINDING_AND_FRAME, between, to_room, winding_and_frame};
use common::{assert_digits, assert_near};
use machine::copper::resistance_ratio;
use machine::heat::{
    HeatLink, HeatNetwork, Regime, RunError, Side, SurfaceToAir, TURBULENT_EXPONENT, air_stream_watts_per_kelvin, run,
};

fn constant(watts: &[f64], watts_per_kelvin: &[f64], room: f64) -> Regime {
    Regime { watts: watts.to_vec(), watts_per_kelvin: watts_per_kelvin.to_vec(), fixed_celsius: vec![room] }
}

/// Two equal masses of 15 J/K joined by 10 W/K, from 373.15 and 273.15 K (Modelica Standard Library,
/// Thermal.HeatTransfer.Examples.TwoMasses): the difference falls with `exp(-4t/3)`, both end at 323.15 K.
#[test]
fn two_masses_of_the_modelica_example() {
    let network = HeatNetwork { capacities: vec![15.0, 15.0], links: vec![between(0, 1)] };
    let mut plant = Heated::new(|_, _: &[f64], _: &_| constant(&[0.0, 0.0], &[10.0], 20.0));
    // Nothing here knows where zero is; these are kelvins.
    let outcome = plant.run(&network, &[373.15, 273.15], 100.0, 1.0, 0.01);
    for (seconds, hot, cold) in
        [(1.0, "336.32986", "309.97014"), (2.0, "326.62417", "319.67583"), (5.0, "323.21363", "323.08637")]
    {
        let moment = plant.at(seconds);
        assert_digits(moment.celsius[0], hot);
        assert_digits(moment.celsius[1], cold);
    }
    outcome.celsius.iter().for_each(|kelvin| assert_digits(*kelvin, "323.15000000"));
}

/// One node that warms by 60 K with a time constant of 30 min: `60 (1 - exp(-t/30))`, by hand.
#[test]
fn one_node() {
    let network = HeatNetwork { capacities: vec![1800.0], links: vec![to_room(0)] };
    let mut plant = Heated::new(|_, _: &[f64], _: &_| constant(&[60.0], &[1.0], 22.0));
    plant.run(&network, &[22.0], 7200.0, 900.0, 0.01);
    for (minutes, rise) in
        [(15.0, "23.60816"), (30.0, "37.92723"), (60.0, "51.87988"), (90.0, "57.01278"), (120.0, "58.90106")]
    {
        assert_digits(plant.at(60.0 * minutes).celsius[0] - 22.0, rise);
    }
}

/// Winding and frame with 45 W in the winding: figures recomputed with a matrix exponential elsewhere; the time
/// constants are 36.1529 and 663.847 s.
#[test]
fn winding_and_frame_at_constant_heat() {
    let mut plant = Heated::new(|_, _: &[f64], _: &_| constant(&[45.0, 0.0], &WINDING_AND_FRAME, 25.0));
    plant.run(&winding_and_frame(), &[25.0, 25.0], 3600.0, 60.0, 0.01);
    for (seconds, winding, frame) in [
        (60.0, "24.1002", "2.0140"),
        (300.0, "42.7640", "14.7127"),
        (600.0, "54.4885", "25.7244"),
        (1800.0, "71.6353", "41.8380"),
        (3600.0, "74.7765", "44.7899"),
    ] {
        assert_digits(plant.at(seconds).celsius[0] - 25.0, winding);
        assert_digits(plant.at(seconds).celsius[1] - 25.0, frame);
    }
    let rest = winding_and_frame().equilibrium(&constant(&[45.0, 0.0], &WINDING_AND_FRAME, 25.0)).unwrap();
    assert_digits(rest[0], "100.0000000");
    assert_digits(rest[1], "70.0000000");
}

/// The same set starting with the frame where each of its two modes alone would decay: the time constants.
#[test]
fn time_constants_of_winding_and_frame() {
    for (constant_seconds, digits) in [(36.1529, "36.1529"), (663.847, "663.847")] {
        // Of a mode, the frame's share follows from the winding's equation: (G - C/tau) / G.
        let frame = 1.0 - 60.0 / constant_seconds / 1.5;
        let mut plant = Heated::new(|_, _: &[f64], _: &_| constant(&[0.0, 0.0], &WINDING_AND_FRAME, 0.0));
        let outcome = plant.run(&winding_and_frame(), &[50.0, 50.0 * frame], 30.0, 30.0, 0.001);
        assert_digits(-30.0 / (outcome.celsius[0] / 50.0).ln(), digits);
    }
}

/// Copper at constant current: rise `P R / (1 - alpha P R)` with 30 W at 20 degrees, alpha = 1/254.5, R = 1/1.5 + 1/1.
#[test]
fn copper_at_constant_current_settles() {
    let copper = |_: f64, celsius: &[f64], _: &_| {
        constant(&[30.0 * resistance_ratio(celsius[0], 20.0), 0.0], &WINDING_AND_FRAME, 20.0)
    };
    let mut plant = Heated::new(copper);
    let outcome = plant.run(&winding_and_frame(), &[20.0, 20.0], 60_000.0, 600.0, 0.01);
    assert_digits(outcome.celsius[0] - 20.0, "62.22494");
    assert_digits(outcome.celsius[1] - 20.0, "37.33496");
    assert_digits(plant.log.last().unwrap().regime.watts[0], "37.33496");
}

/// The same above `1 / (alpha R)` = 152.7 W has no balance; below it has one, however hot.
#[test]
fn copper_at_constant_current_runs_away() {
    let after = |watts: f64| {
        let copper = move |_: f64, celsius: &[f64], _: &_| {
            constant(&[watts * resistance_ratio(celsius[0], 20.0), 0.0], &WINDING_AND_FRAME, 20.0)
        };
        run(&winding_and_frame(), &[20.0, 20.0], 1e6, 1e5, 0.05, &mut Heated::new(copper))
    };
    let burnt = after(153.5).unwrap_err();
    assert!(matches!(burnt, RunError::Runaway { node: 0, .. }), "{burnt}");
    // 254.5 P / (152.7 - P) is 1916.6 K at 134.8 W.
    assert_near(after(134.8).unwrap().celsius[0] - 20.0, 254.5 * 134.8 / (152.7 - 134.8), 1e-5);
}

/// A stream of air through two heaters: each adds its watts over what the stream carries per kelvin, and the first does
/// not feel the second (balance of each node by hand).
#[test]
fn a_stream_of_air_carries_heat_one_way() {
    let stream = air_stream_watts_per_kelvin(0.02);
    // 0.02 m^3/s of air at 1.2 kg/m^3 and 1005 J/(kg K).
    assert_digits(stream, "24.12");
    let blown = |a, b| HeatLink { a, b, one_way: true };
    let network = HeatNetwork {
        capacities: vec![10.0, 10.0],
        links: vec![blown(Side::Fixed(0), Side::Node(0)), blown(Side::Node(0), Side::Node(1))],
    };
    for second in [0.0, 482.4] {
        let mut plant = Heated::new(move |_, _: &[f64], _: &_| constant(&[241.2, second], &[stream, stream], 20.0));
        let outcome = plant.run(&network, &[20.0, 20.0], 600.0, 60.0, 0.01);
        assert_digits(outcome.celsius[0], "30.00000");
        assert_digits(outcome.celsius[1], if second > 0.0 { "50.00000" } else { "30.00000" });
    }
}

/// `G0 + G1 (n / n_ref)^0.8`: half speed leaves 57.435 % of what the fan adds (2^-0.8, by hand).
#[test]
fn a_fan_cools_with_a_power_of_its_speed() {
    let surface = SurfaceToAir {
        still_watts_per_kelvin: 0.4,
        fanned_watts_per_kelvin: 2.0,
        reference_speed: 1500.0,
        exponent: TURBULENT_EXPONENT,
    };
    assert_digits(surface.watts_per_kelvin(1500.0), "2.4");
    assert_digits(surface.watts_per_kelvin(750.0), "1.5487");
    assert_digits(surface.watts_per_kelvin(-750.0), "1.5487");
    assert_digits(surface.watts_per_kelvin(0.0), "0.4");
}
