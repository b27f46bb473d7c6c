//! Switching at temperatures: none missed, in order, cycles as calculated by hand, and what cannot be run is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::assert_near;
use common::heated::{Heated, Heating, WINDING_AND_FRAME, between, to_room, winding_and_frame};
use machine::heat::{HeatLink, HeatNetwork, NetworkError, Regime, RegimeError, RunError, Side, Threshold, Trend, run};

fn one_node() -> HeatNetwork {
    HeatNetwork { capacities: vec![200.0], links: vec![to_room(0)] }
}

/// 200 W into 200 J/K with 1 W/K to the room, while the first cutout is closed.
fn heater(room: f64) -> impl FnMut(f64, &[f64], &Heating) -> Regime {
    move |_, _, heating| Regime {
        watts: vec![if heating.open[0] { 0.0 } else { 200.0 }],
        watts_per_kelvin: vec![1.0],
        fixed_celsius: vec![room],
    }
}

/// Seconds from one temperature to another on the way to a third, with a time constant of 200 s (by hand).
fn seconds_on_the_way(from: f64, to: f64, towards: f64) -> f64 {
    200.0 * ((towards - from) / (towards - to)).ln()
}

#[test]
fn a_cutout_cycles_as_calculated() {
    let mut plant = Heated::new(heater(20.0)).with_cutout(0, 90.0, 60.0);
    let outcome = plant.run(&one_node(), &[20.0], 3600.0, 30.0, 0.05);
    let (closed, open) = (seconds_on_the_way(60.0, 90.0, 220.0), seconds_on_the_way(90.0, 60.0, 20.0));
    let Trend::Cycling(cycle) = outcome.trend(1e-3) else { panic!("{:?}", outcome.trend(1e-3)) };
    assert_near(cycle.period_seconds, closed + open, 1e-4);
    assert_near(cycle.duty, closed / (closed + open), 1e-4);
    assert_eq!(cycle.index, 0);
    let first = seconds_on_the_way(20.0, 90.0, 220.0);
    assert_near(outcome.crossing_seconds(0)[0], first, 1e-4);
    assert_eq!(cycle.cycles, ((3600.0 - first) / (closed + open)).floor() as usize);
    assert_eq!(outcome.crossings.len(), plant.log.windows(2).filter(|pair| pair[0].seconds == pair[1].seconds).count());
    // Every switching was recorded with the heat before and after.
    for seconds in outcome.crossing_seconds(0) {
        let watts: Vec<f64> =
            plant.log.iter().filter(|moment| moment.seconds == seconds).map(|moment| moment.regime.watts[0]).collect();
        assert!(watts == [200.0, 0.0] || watts == [0.0, 200.0], "{watts:?}");
    }
}

/// A plant may say that nothing more is to be followed: the run ends at that very moment, calculated by hand.
#[test]
fn a_run_ends_where_its_plant_is_over() {
    let mut plant = Heated::new(heater(20.0)).with_cutout(0, 90.0, 60.0);
    plant.ends_when_open = true;
    let outcome = plant.run(&one_node(), &[20.0], 3600.0, 30.0, 0.05);
    assert_near(outcome.seconds, seconds_on_the_way(20.0, 90.0, 220.0), 1e-4);
    assert_near(outcome.celsius[0], 90.0, 1e-4);
    assert!(plant.log.iter().all(|moment| moment.seconds <= outcome.seconds));
}

/// While the frame still warms, cycles are not alike: what is said is the last whole one, and one is enough.
#[test]
fn the_period_is_that_of_the_last_whole_cycle() {
    let regime = |_: f64, _: &[f64], heating: &Heating| Regime {
        watts: vec![if heating.open[0] { 0.0 } else { 90.0 }, 0.0],
        watts_per_kelvin: WINDING_AND_FRAME.to_vec(),
        fixed_celsius: vec![20.0],
    };
    let go = |until: f64| {
        let mut plant = Heated::new(regime).with_cutout(0, 70.0, 45.0);
        plant.run(&winding_and_frame(), &[20.0, 20.0], until, 30.0, 0.05)
    };
    let outcome = go(1200.0);
    let moments = outcome.crossing_seconds(0);
    let [first, closes, second, ..] = moments[..] else { panic!("{moments:?}") };
    let Trend::Cycling(cycle) = go(second + 1.0).trend(1e-3) else { panic!("two openings are cycling") };
    assert_eq!((cycle.cycles, cycle.previous_seconds), (1, None));
    assert_near(cycle.period_seconds, second - first, 1e-6);
    assert_near(cycle.duty, (second - closes) / (second - first), 1e-6);
    // Openings and closings follow each other.
    let opens: Vec<f64> = moments.iter().step_by(2).copied().collect();
    let [.., a, b, c] = opens[..] else { panic!("{opens:?}") };
    let cycle = outcome.cycle(0).unwrap();
    assert_near(cycle.period_seconds, c - b, 1e-9);
    assert_near(cycle.previous_seconds.unwrap(), b - a, 1e-9);
    assert!((second - first) / cycle.period_seconds < 0.9, "{opens:?}");
}

/// In a warm room a cutout opens sooner but stays open longer; a drifting room shows it within one run. A motor on a
/// cutout that closes well above the room cycles faster the warmer it stands (common practice, no source): so it is while
/// heat is short, where the time to open makes up the cycle.
#[test]
fn a_rising_room_shortens_the_cycle() {
    // 75 W: 75 K over the room at most, so that the way up is long.
    let weak = |_: f64, _: &[f64], heating: &Heating, room: f64| Regime {
        watts: vec![if heating.open[0] { 0.0 } else { 75.0 }],
        watts_per_kelvin: vec![1.0],
        fixed_celsius: vec![room],
    };
    let period = |room: f64| {
        let mut plant = Heated::new(|t: f64, c: &[f64], h: &Heating| weak(t, c, h, room)).with_cutout(0, 90.0, 75.0);
        let outcome = plant.run(&one_node(), &[room], 7200.0, 60.0, 0.05);
        outcome.cycle(0).unwrap().period_seconds
    };
    let periods = [18.0, 22.0, 26.0, 30.0].map(period);
    assert!(periods.windows(2).all(|pair| pair[1] < pair[0]), "{periods:?}");
    // A room that warms by 10 K in two hours: each cycle is shorter than the one before.
    let mut plant =
        Heated::new(|t: f64, c: &[f64], h: &Heating| weak(t, c, h, 18.0 + t / 720.0)).with_cutout(0, 90.0, 75.0);
    let outcome = plant.run(&one_node(), &[18.0], 7200.0, 60.0, 0.05);
    let rises: Vec<f64> = outcome
        .crossings
        .iter()
        .filter(|crossing| crossing.threshold.rising)
        .map(|crossing| crossing.seconds)
        .collect();
    let lengths: Vec<f64> = rises.windows(2).map(|pair| pair[1] - pair[0]).collect();
    assert!(lengths.len() > 5 && lengths.windows(2).all(|pair| pair[1] < pair[0]), "{lengths:?}");
}

/// Two bodies, one hot: the other warms to a peak and cools again, all within one step of a regime that never changes.
#[test]
fn a_crossing_that_goes_and_returns_within_a_step_is_found() {
    let network = HeatNetwork { capacities: vec![20.0, 500.0], links: vec![between(0, 1), to_room(1)] };
    let still = |_: f64, _: &[f64], _: &Heating| Regime {
        watts: vec![0.0, 0.0],
        watts_per_kelvin: vec![2.0, 3.0],
        fixed_celsius: vec![20.0],
    };
    let start = [400.0, 20.0];
    let mut free = Heated::new(still);
    free.run(&network, &start, 3600.0, 0.05, 0.05);
    let (peak, peak_seconds) = free
        .log
        .iter()
        .map(|moment| (moment.celsius[1], moment.seconds))
        .fold((0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a });
    let crossed = |celsius: f64| {
        let mut plant = Heated::new(still).with_cutout(1, celsius, -300.0);
        plant.run(&network, &start, 3600.0, 600.0, 0.05).crossing_seconds(0)
    };
    let found = crossed(peak - 0.002);
    assert_eq!(found.len(), 1);
    assert!(found[0] < peak_seconds && found[0] > peak_seconds - 5.0, "{found:?} before {peak_seconds}");
    assert!(crossed(peak + 0.002).is_empty());
}

/// Several devices on one node open in the order of their temperatures; equal ones at the same moment; what is beyond
/// its temperature from the beginning switches at once.
#[test]
fn crossings_come_in_order() {
    let mut plant = Heated::new(heater(20.0));
    for opens in [150.0, 80.0, 80.0, 110.0, 10.0] {
        plant = plant.with_cutout(0, opens, -300.0);
    }
    let outcome = plant.run(&one_node(), &[20.0], 3600.0, 3600.0, 0.05);
    let order: Vec<usize> = outcome.crossings.iter().map(|crossing| crossing.index).collect();
    assert_eq!(order, [4, 1, 2, 3, 0]);
    assert_eq!(outcome.crossing_seconds(4), [0.0]);
    assert_eq!(outcome.crossing_seconds(1), outcome.crossing_seconds(2));
    assert!(plant.log.windows(2).all(|pair| pair[0].seconds <= pair[1].seconds));
    assert_eq!(outcome.trend(1e-3), Trend::Settled);
}

/// A change of the run comes at its moment, and the temperatures follow both regimes exactly.
#[test]
fn changes_come_at_their_moment() {
    let mut plant = Heated::new(|_, _: &[f64], heating: &Heating| Regime {
        watts: vec![[100.0, 0.0, 50.0][heating.changed]],
        watts_per_kelvin: vec![1.0],
        fixed_celsius: vec![20.0],
    });
    plant.changes = vec![300.0, 500.5];
    let outcome = plant.run(&one_node(), &[20.0], 600.0, 100.0, 0.05);
    let towards = |from: f64, to: f64, seconds: f64| to + (from - to) * (-seconds / 200.0f64).exp();
    let first = towards(20.0, 120.0, 300.0);
    let second = towards(first, 20.0, 200.5);
    assert_near(outcome.celsius[0], towards(second, 70.0, 99.5), 1e-9);
    let seconds: Vec<f64> = plant.log.iter().map(|moment| moment.seconds).collect();
    assert_eq!(seconds, [0.0, 100.0, 200.0, 300.0, 300.0, 400.0, 500.0, 500.5, 500.5, 600.0]);
    assert!(matches!(outcome.trend(1e-3), Trend::Moving { node: 0, kelvin_per_second } if kelvin_per_second > 0.0));
}

/// A device that closes above where it opens switches without end, and is named.
#[test]
fn a_device_inside_out_is_refused() {
    let mut plant = Heated::new(heater(20.0)).with_cutout(0, 50.0, 60.0);
    let error = run(&one_node(), &[20.0], 3600.0, 60.0, 0.05, &mut plant).unwrap_err();
    assert!(matches!(error, RunError::Chatter { index: 0, .. }), "{error}");
    assert!(error.to_string().contains("to and fro"));
}

fn refused(network: &HeatNetwork, start: &[f64], settings: [f64; 3], regime: Regime) -> RunError<String> {
    let mut plant = Heated::new(|_, _: &[f64], _: &_| regime.clone());
    run(network, start, settings[0], settings[1], settings[2], &mut plant).unwrap_err()
}

fn fair() -> Regime {
    Regime { watts: vec![45.0, 0.0], watts_per_kelvin: WINDING_AND_FRAME.to_vec(), fixed_celsius: vec![25.0] }
}

#[test]
fn settings_and_networks_that_cannot_be_are_refused() {
    let (network, start) = (winding_and_frame(), [25.0, 25.0]);
    for value in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        for place in 0..3 {
            let mut settings = [60.0, 10.0, 0.05];
            settings[place] = value;
            assert!(matches!(refused(&network, &start, settings, fair()), RunError::Setting { .. }));
        }
        if value.is_nan() || value <= 0.0 {
            let broken = HeatNetwork { capacities: vec![value, 600.0], ..network.clone() };
            let error = refused(&broken, &start, [60.0, 10.0, 0.05], fair());
            assert!(matches!(error, RunError::Network(NetworkError::Capacity { node: 0, .. })), "{error}");
        }
    }
    let good = [60.0, 10.0, 0.05];
    assert!(matches!(refused(&network, &start, [1e9, 1.0, 0.05], fair()), RunError::TooManyOutputs { .. }));
    assert_eq!(refused(&network, &[25.0], good, fair()), RunError::Start { given: 1, nodes: 2 });
    assert_eq!(refused(&network, &[25.0, f64::NAN], good, fair()), RunError::Start { given: 1, nodes: 2 });
    let empty = HeatNetwork { capacities: Vec::new(), links: Vec::new() };
    assert_eq!(refused(&empty, &[], good, fair()), RunError::Network(NetworkError::Empty));
    let astray = HeatNetwork { links: vec![between(0, 2), to_room(1)], ..network.clone() };
    let error = refused(&astray, &start, good, fair());
    assert_eq!(error, RunError::Network(NetworkError::NoSuchNode { link: 0, node: 2, nodes: 2 }));
    let to_itself = HeatNetwork { links: vec![between(0, 1), between(1, 1)], ..network };
    assert_eq!(refused(&to_itself, &start, good, fair()), RunError::Network(NetworkError::ToItself { link: 1 }));
}

#[test]
fn regimes_that_cannot_be_are_refused() {
    let cause = |regime: Regime| match refused(&winding_and_frame(), &[25.0, 25.0], [60.0, 10.0, 0.05], regime) {
        RunError::Regime { cause, .. } => cause,
        other => panic!("{other}"),
    };
    assert_eq!(cause(Regime { watts: vec![f64::NAN, 0.0], ..fair() }), RegimeError::Watts { node: 0 });
    assert!(matches!(cause(Regime { watts: vec![1.0], ..fair() }), RegimeError::Length { expected: 2, given: 1, .. }));
    let negative = cause(Regime { watts_per_kelvin: vec![1.5, -1.0], ..fair() });
    assert_eq!(negative, RegimeError::Conductance { link: 1, watts_per_kelvin: -1.0 });
    let unfixed = cause(Regime { fixed_celsius: Vec::new(), ..fair() });
    assert!(matches!(unfixed, RegimeError::Length { expected: 1, given: 0, .. }));
    assert_eq!(cause(Regime { fixed_celsius: vec![f64::NAN], ..fair() }), RegimeError::FixedCelsius { place: 0 });
}

/// A plant that fails, names no node, or sets its changes in the past.
#[test]
fn plants_that_cannot_be_are_refused() {
    struct Broken {
        threshold: Threshold,
        next: Option<f64>,
        fails_after: f64,
    }
    impl machine::heat::Plant for Broken {
        type Error = String;
        fn regime(&mut self, seconds: f64, _: &[f64]) -> Result<Regime, String> {
            if seconds > self.fails_after { Err("no balance of torque".into()) } else { Ok(fair()) }
        }
        fn thresholds(&self) -> Vec<Threshold> {
            vec![self.threshold]
        }
        fn crossed(&mut self, _: f64, _: usize) {}
        fn next_change(&self, _: f64) -> Option<f64> {
            self.next
        }
        fn change(&mut self, _: f64) {}
        fn record(&mut self, _: f64, _: &[f64], _: &Regime) {}
    }
    let never = Threshold { node: 0, celsius: f64::INFINITY, rising: true };
    let sound = || Broken { threshold: never, next: None, fails_after: f64::INFINITY };
    let go = |mut plant: Broken| run(&winding_and_frame(), &[25.0, 25.0], 600.0, 60.0, 0.05, &mut plant);
    assert_eq!(go(sound()).unwrap().crossings, []);
    let failed = go(Broken { fails_after: 10.0, ..sound() }).unwrap_err();
    assert!(failed.to_string().ends_with("no balance of torque"), "{failed}");
    assert!(matches!(failed, RunError::Plant { .. }));
    for threshold in [Threshold { node: 2, ..never }, Threshold { celsius: f64::NAN, ..never }] {
        assert!(matches!(go(Broken { threshold, ..sound() }).unwrap_err(), RunError::Threshold { index: 0, .. }));
    }
    for next in [-5.0, 0.0, f64::NAN] {
        assert!(matches!(go(Broken { next: Some(next), ..sound() }).unwrap_err(), RunError::ChangeNotLater { .. }));
    }
    // A change that stays where it was.
    assert!(matches!(go(Broken { next: Some(60.0), ..sound() }).unwrap_err(), RunError::ChangeNotLater { .. }));
}

/// An air stream from the room is no link to itself, and a one-way link to something fixed changes nothing.
#[test]
fn a_one_way_link_into_the_room_carries_nothing_off() {
    let links = vec![HeatLink { a: Side::Node(0), b: Side::Fixed(0), one_way: true }];
    let network = HeatNetwork { capacities: vec![100.0], links };
    let regime = Regime { watts: vec![10.0], watts_per_kelvin: vec![5.0], fixed_celsius: vec![20.0] };
    let mut plant = Heated::new(|_, _: &[f64], _: &_| regime.clone());
    let outcome = plant.run(&network, &[20.0], 100.0, 10.0, 0.05);
    // 10 W for 100 s into 100 J/K.
    assert_near(outcome.celsius[0], 30.0, 1e-12);
}
