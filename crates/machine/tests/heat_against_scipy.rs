//! Random thermal networks with a cutout, a change of setup, streams of air, copper and a drifting room, against SciPy's
//! Radau integrator at a relative tolerance of 1e-10 (`reference/heat.py`).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::heated::{Heated, Heating};
use machine::copper::resistance_ratio;
use machine::heat::{HeatLink, HeatNetwork, Regime, Side};
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn networks() -> Vec<Value> {
    let file: Value = serde_json::from_str(include_str!("data/heat.json")).unwrap();
    file["networks"].as_array().unwrap().clone()
}

/// The room is -1, the yard -2.
fn side(value: &Value) -> Side {
    match value.as_i64().unwrap() {
        -1 => Side::Fixed(0),
        -2 => Side::Fixed(1),
        node => Side::Node(usize::try_from(node).unwrap()),
    }
}

fn network(case: &Value) -> HeatNetwork {
    let link = |link: &Value| HeatLink {
        a: side(&link["a"]),
        b: side(&link["b"]),
        one_way: link["one_way"].as_bool().unwrap(),
    };
    let links = case["links"].as_array().unwrap().iter().map(link).collect();
    HeatNetwork { capacities: numbers(&case["capacities"]), links }
}

fn regime(case: &Value, seconds: f64, celsius: &[f64], heating: &Heating) -> Regime {
    let when = |place: bool, value: &Value| if place { number(value) } else { 1.0 };
    let (open, changed) = (heating.open[0], heating.changed > 0);
    let watts = case["heat"].as_array().unwrap().iter().zip(celsius).map(|(heat, &celsius)| {
        let share = when(open, &heat["when_open"]) * when(changed, &heat["when_changed"]);
        number(&heat["watts"]) * share * resistance_ratio(celsius, 25.0).powf(number(&heat["power"]))
    });
    let conductance = |link: &Value| {
        let node = match (side(&link["a"]), side(&link["b"])) {
            (Side::Node(node), _) | (_, Side::Node(node)) => node,
            _ => panic!("a link joins a node"),
        };
        let warm = 1.0 + number(&link["per_kelvin"]) * (celsius[node] - 20.0);
        number(&link["watts_per_kelvin"]) * warm * when(open, &link["when_open"])
    };
    let room = number(&case["room"][0]) + number(&case["room"][1]) * seconds;
    Regime {
        watts: watts.collect(),
        watts_per_kelvin: case["links"].as_array().unwrap().iter().map(conductance).collect(),
        fixed_celsius: vec![room, number(&case["yard"][0])],
    }
}

/// Largest error of a temperature, K, and of a crossing, as kelvins at the speed with which its node crosses, K.
fn errors(case: &Value, tolerance: f64) -> (f64, f64) {
    let heat = |seconds: f64, celsius: &[f64], heating: &Heating| regime(case, seconds, celsius, heating);
    let cutout = &case["cutout"];
    let node = cutout["node"].as_u64().unwrap() as usize;
    let mut plant = Heated::new(heat).with_cutout(node, number(&cutout["opens"]), number(&cutout["closes"]));
    plant.changes.extend(case["change_seconds"].as_f64());
    let (until, every) = (number(&case["until_seconds"]), number(&case["every_seconds"]));
    let network = network(case);
    let outcome = plant.run(&network, &numbers(&case["start_celsius"]), until, every, tolerance);
    let mut worst: f64 = 0.0;
    for (place, row) in case["celsius"].as_array().unwrap().iter().enumerate() {
        let moment = plant.at(every * (place + 1) as f64);
        for (ours, theirs) in moment.celsius.iter().zip(numbers(row)) {
            worst = worst.max((ours - theirs).abs());
        }
    }
    let crossings = numbers(&case["crossing_seconds"]);
    let ours = outcome.crossing_seconds(0);
    assert_eq!(ours.len(), crossings.len(), "{ours:?} are not {crossings:?}");
    let mut worst_crossing: f64 = 0.0;
    for (ours, theirs) in ours.iter().zip(crossings) {
        // The first record of the moment has what held before the switching.
        let before = plant.log.iter().find(|moment| moment.seconds == *ours).unwrap();
        let speed = network.rates(&before.regime, &before.celsius)[node].abs();
        worst_crossing = worst_crossing.max((ours - theirs).abs() * speed);
    }
    (worst, worst_crossing)
}

/// At a tolerance of 0.05 K per step nothing is more than a few tolerances off after an hour with up to 38 switchings,
/// each of which is a little early or late and passes that on to the next.
#[test]
fn everyday_tolerance() {
    for (place, case) in networks().iter().enumerate() {
        let (celsius, crossing) = errors(case, 0.05);
        assert!(celsius < 0.25, "network {place}: {celsius} K off");
        assert!(crossing < 0.1, "network {place}: crosses {crossing} K off");
    }
}

/// At a fine tolerance all ten agree with SciPy to a few millikelvins; crossings are sought to 0.1 mK.
#[test]
fn fine_tolerance() {
    for (place, case) in networks().iter().enumerate() {
        let (celsius, crossing) = errors(case, 0.0002);
        assert!(celsius < 0.005, "network {place}: {celsius} K off");
        assert!(crossing < 0.003, "network {place}: crosses {crossing} K off");
    }
}
