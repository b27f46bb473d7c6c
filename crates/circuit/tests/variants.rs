//! Checks variants of compiled networks against `reference/variants.py`, which solves every variant from the start in
//! extended precision, and counts the work.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::variants::{Change, Compiled, Evaluated, Reading, TOLERANCE, Trouble, Variant, Work};
use circuit::{BranchId, Complex64, Coupling, FieldId, NetId, Network, SolveError};
use common::{branch, link_to_rotor, network};
use serde_json::Value;

fn stored() -> Vec<Value> {
    serde_json::from_str(include_str!("data/variants.json")).unwrap()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn whole(value: &Value) -> usize {
    usize::try_from(value.as_u64().unwrap()).unwrap()
}

fn phasor(value: &Value, from: usize) -> Complex64 {
    Complex64::new(number(&value[from]), number(&value[from + 1]))
}

fn described_network(described: &Value) -> (Network, Vec<Complex64>) {
    let mut network = Network::new(50.0, whole(&described["nets"]));
    let fields: Vec<Complex64> = list(&described["fields"]).iter().map(|pair| phasor(pair, 0)).collect();
    let first = fields.iter().map(|_| network.add_field()).collect::<Vec<_>>().first().copied();
    for values in list(&described["branches"]) {
        let at = |place: usize| number(&values[place]);
        let id = network.add_branch(branch(whole(&values[0]), whole(&values[1]), at(2), at(3), at(4)));
        if let (Some(first), true) = (first, at(5) != 0.0) {
            link_to_rotor(&mut network, id, first, &at(5).into(), at(6), Coupling::Mutual);
        }
    }
    (network, fields)
}

fn reading(described: &Value) -> Reading {
    let net = |place: usize| NetId(whole(&described[place]));
    match described[0].as_str().unwrap() {
        "volts" => Reading::Volts(net(1), net(2)),
        "ohms" => Reading::Ohms(net(1), net(2)),
        "amperes" => Reading::Amperes(BranchId(whole(&described[1]))),
        other => panic!("reading {other}"),
    }
}

fn change(described: &Value) -> Change {
    let place = whole(&described[1]);
    match described[0].as_str().unwrap() {
        "open" => Change::Open(BranchId(place)),
        "short" => Change::Short(BranchId(place)),
        "impedance" => Change::Impedance(BranchId(place), phasor(described, 2)),
        "field" => Change::Field(FieldId(place), phasor(described, 2)),
        other => panic!("change {other}"),
    }
}

fn variant(described: &Value) -> Variant {
    match list(described) {
        [one] => Variant::One(whole(one)),
        [first, second] => Variant::Two(whole(first), whole(second)),
        other => panic!("variant {other:?}"),
    }
}

#[test]
fn every_variant_agrees_with_a_solution_from_the_start() {
    let stored = stored();
    assert_eq!(stored.len(), 1000);
    let (mut work, mut compared, mut infinite, mut unsolvable, mut uncertain) = (Work::default(), 0, 0, 0, 0);
    let mut worst: f64 = 0.0;
    for (index, described) in stored.iter().enumerate() {
        let (network, fields) = described_network(described);
        let readings: Vec<Reading> = list(&described["readings"]).iter().map(reading).collect();
        let changes: Vec<Change> = list(&described["changes"]).iter().map(change).collect();
        let variants: Vec<Variant> = list(&described["variants"]).iter().map(variant).collect();
        let compiled = if described["direct"].as_bool().unwrap() {
            Compiled::direct(&network, &readings, &changes).unwrap()
        } else {
            Compiled::phasor(&network, &fields, &readings, &changes).unwrap()
        };
        let mut evaluated = Evaluated::default();
        compiled.evaluate(&variants, &mut evaluated);
        work += evaluated.work;
        for (place, solved) in list(&described["solved"]).iter().enumerate() {
            let named = format!("network {index}, variant {:?}", variants[place]);
            if solved.is_null() {
                let trouble = evaluated.values(place).expect_err(&named);
                assert!(matches!(trouble, Trouble::Unsolvable(SolveError::Singular { .. })), "{named}: {trouble}");
                unsolvable += 1;
                continue;
            }
            let values = match evaluated.values(place) {
                Ok(values) => values,
                // Said, not silent.
                Err(Trouble::Uncertain) => {
                    uncertain += 1;
                    continue;
                }
                Err(trouble) => panic!("{named}: {trouble}"),
            };
            for ((reading, value), expected) in readings.iter().zip(values).zip(list(&solved["values"])) {
                if expected.is_null() {
                    assert_eq!(value.re, f64::INFINITY, "{named}: {reading:?}");
                    infinite += 1;
                    continue;
                }
                let expected = phasor(expected, 0);
                let scale = match reading {
                    Reading::Volts(..) => number(&solved["volts"]),
                    Reading::Amperes(_) => number(&solved["amperes"]),
                    Reading::Ohms(..) => expected.norm().max(1e-6),
                };
                // With the source out of the way everything is exactly zero.
                let off = if *value == expected { 0.0 } else { (value - expected).norm() / scale };
                assert!(off < TOLERANCE, "{named}: {reading:?} is {value}, not {expected}: off by {off:e}");
                worst = worst.max(off);
                compared += 1;
            }
        }
    }
    eprintln!(
        "{compared} values compared, worst {worst:e}; {infinite} infinite, {unsolvable} unsolvable, {uncertain} uncertain"
    );
    assert!(compared > 17_000 && infinite > 100 && unsolvable > 100);
    // Microamperes around a ring of contacts of milliohms at hundreds of volts: no double can hold them.
    assert_eq!(uncertain, 3);
    assert_eq!(work, Work { factorisations: 1009, updates: 3991, fallbacks: 1009 });
}

/// A supply of 230 V and 0.2 ohm, a contact, a heater of 50 ohm, insulation of a gigohm from its two ends to a frame
/// that a contact earths.
fn heater() -> Network {
    network(
        5,
        &[
            branch(0, 1, 0.2, 0.0, 230.0),
            branch(1, 2, 1e-3, 0.0, 0.0),
            branch(2, 0, 50.0, 0.0, 0.0),
            branch(2, 3, 1e9, 0.0, 0.0),
            branch(3, 4, 1e-3, 0.0, 0.0),
            branch(4, 0, 1e9, 0.0, 0.0),
        ],
    )
}

fn evaluated(network: &Network, readings: &[Reading], changes: &[Change], variants: &[Variant]) -> Evaluated {
    let compiled = Compiled::phasor(network, &[], readings, changes).unwrap();
    let mut evaluated = Evaluated::default();
    compiled.evaluate(variants, &mut evaluated);
    evaluated
}

#[test]
fn a_heater_and_its_insulation_are_worked_by_hand() {
    let readings = [
        Reading::Volts(NetId(2), NetId(0)),
        Reading::Volts(NetId(3), NetId(0)),
        Reading::Amperes(BranchId(4)),
        Reading::Ohms(NetId(2), NetId(0)),
    ];
    let changes = [
        Change::Open(BranchId(1)),
        Change::Impedance(BranchId(3), 1e-9.into()),
        Change::Short(BranchId(5)),
        Change::Impedance(BranchId(2), 100.0.into()),
    ];
    let variants = [Variant::One(0), Variant::One(1), Variant::One(2), Variant::Two(1, 2), Variant::Two(0, 3)];
    let evaluated = evaluated(&heater(), &readings, &changes, &variants);
    let parallel = |a: f64, b: f64| a * b / (a + b);
    let chain = 2e9 + 1e-3;
    let live = |ohms: f64| 230.0 * ohms / (ohms + 0.201);
    let expected = |load: f64, upper: f64, lower: f64| {
        let ohms = parallel(load, upper + 1e-3 + lower);
        let volts = live(ohms);
        let amperes = volts / (upper + 1e-3 + lower);
        [volts, volts - amperes * upper, amperes, parallel(ohms, 0.201)]
    };
    let by_hand = [
        [0.0, 0.0, 0.0, parallel(50.0, chain)],
        expected(50.0, 1e-9, 1e9),
        expected(50.0, 1e9, 0.0),
        expected(50.0, 1e-9, 0.0),
        [0.0, 0.0, 0.0, parallel(100.0, chain)],
    ];
    for (place, by_hand) in by_hand.iter().enumerate() {
        let values = evaluated.values(place).unwrap();
        for (reading, (value, by_hand)) in values.iter().zip(by_hand).enumerate() {
            let scale = if reading == 3 { *by_hand } else { 230.0 };
            let off = (value - by_hand).norm() / scale;
            assert!(off < TOLERANCE, "variant {place}, reading {reading}: {value}, not {by_hand}: off by {off:e}");
        }
    }
}

#[test]
fn a_net_that_floats_is_named() {
    let mut branches = heater().branches()[..3].to_vec();
    branches.push(branch(2, 3, 10.0, 0.0, 0.0));
    branches.push(branch(2, 3, 10.0, 0.0, 0.0));
    let network = network(4, &branches);
    let changes = [Change::Open(BranchId(3)), Change::Open(BranchId(4))];
    let readings = [Reading::Volts(NetId(2), NetId(0))];
    let evaluated = evaluated(&network, &readings, &changes, &[Variant::One(0), Variant::Two(0, 1)]);
    assert!((evaluated.values(0).unwrap()[0] - 230.0 * 50.0 / 50.201).norm() < 1e-8);
    let trouble = evaluated.values(1).unwrap_err();
    assert_eq!(trouble.to_string(), "the network has no unique solution (net 3 has no path to the rest)");
    assert_eq!(evaluated.work, Work { factorisations: 1, updates: 1, fallbacks: 1 });
}

#[test]
fn at_0_hz_what_is_cut_off_is_infinitely_far() {
    let network = heater();
    let compiled = Compiled::direct(
        &network,
        &[Reading::Ohms(NetId(3), NetId(4)), Reading::Ohms(NetId(1), NetId(4))],
        &[Change::Open(BranchId(4)), Change::Open(BranchId(5)), Change::Short(BranchId(3))],
    )
    .unwrap();
    let mut evaluated = Evaluated::default();
    compiled.evaluate(&[Variant::One(0), Variant::Two(0, 1), Variant::Two(1, 2)], &mut evaluated);
    let ohms = |variant: usize| evaluated.values(variant).unwrap().iter().map(|ohms| ohms.re).collect::<Vec<_>>();
    let loop_ohms = 1.0 / (1.0 / 0.201 + 1.0 / 50.0);
    let close = |a: f64, b: f64| a == b || (a - b).abs() < TOLERANCE * b;
    assert!(close(ohms(0)[0], 2e9 + loop_ohms), "{:?}", ohms(0));
    assert_eq!(ohms(1), [f64::INFINITY; 2]);
    // From the supply to the shorted insulation: its contact beside the rest of the loop, and the frame's contact.
    let there = 1.0 / (1.0 / 1e-3 + 1.0 / 50.2);
    assert!(close(ohms(2)[0], 1e-3) && close(ohms(2)[1], there + 1e-3), "{:?}", ohms(2));
}

#[test]
fn all_cores_find_what_one_finds() {
    let stored = stored();
    let described = &stored[21];
    let (network, fields) = described_network(described);
    let readings: Vec<Reading> = list(&described["readings"]).iter().map(reading).collect();
    let changes: Vec<Change> = (0..network.branches().len()).map(|index| Change::Open(BranchId(index))).collect();
    let pairs = |first| (0..changes.len()).map(move |second| Variant::Two(first, second));
    let variants: Vec<Variant> = (0..40).flat_map(|_| (0..changes.len()).flat_map(pairs)).collect();
    let compiled = Compiled::phasor(&network, &fields, &readings, &changes).unwrap();
    let (mut one, mut all) = (Evaluated::default(), Evaluated::default());
    compiled.evaluate(&variants, &mut one);
    compiled.evaluate_on_all_cores(&variants, &mut all);
    assert_eq!(one.work, all.work);
    assert!(one.work.updates > 1000 && one.work.fallbacks > 0);
    for place in 0..variants.len() {
        assert_eq!(one.values(place), all.values(place));
    }
}

#[test]
fn what_cannot_be_compiled_is_refused() {
    let network = heater();
    let volts = [Reading::Volts(NetId(2), NetId(0))];
    assert_eq!(Compiled::direct(&network, &volts, &[]).unwrap_err(), SolveError::Frequency { hertz: 0.0 });
    let mut spoiled = heater().branches().to_vec();
    spoiled[2].resistance = f64::NAN.into();
    let spoiled = common::network(5, &spoiled);
    assert_eq!(Compiled::phasor(&spoiled, &[], &volts, &[]).unwrap_err(), SolveError::NotFinite { branch: 2 });
    // A change that is not a number is no value, however it is asked.
    let changes = [Change::Impedance(BranchId(2), f64::NAN.into())];
    let evaluated = evaluated(&network, &volts, &changes, &[Variant::One(0)]);
    assert_eq!(evaluated.values(0), Err(&Trouble::Unsolvable(SolveError::NotFinite { branch: 2 })));
}
