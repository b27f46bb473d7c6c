//! Checks potentials, currents and 0 Hz resistances of random networks against `reference/networks.py`, which solves
//! them in NumPy as one dense sparse-tableau system and by the pseudoinverse of the Laplacian.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{BranchId, Complex64, Coupling, DirectNetwork, Factored, FieldId, NetId, Network};
use common::{branch, link_to_rotor};
use serde_json::Value;

const TOLERANCE: f64 = 1e-9;

fn stored() -> Value {
    serde_json::from_str(include_str!("data/networks.json")).unwrap()
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().unwrap_or_else(|| panic!("no list {key}"))
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no number {key}"))
}

fn whole(value: &Value, key: &str) -> usize {
    usize::try_from(value[key].as_u64().unwrap_or_else(|| panic!("no whole number {key}"))).unwrap()
}

fn phasors(value: &Value, key: &str) -> Vec<Complex64> {
    list(value, key).iter().map(|pair| Complex64::new(pair[0].as_f64().unwrap(), pair[1].as_f64().unwrap())).collect()
}

fn coupling(values: &Value) -> Coupling {
    match values["coupling"].as_str() {
        Some("mutual") => Coupling::Mutual,
        Some("drives") => Coupling::Drives,
        Some("feels") => Coupling::Feels,
        other => panic!("coupling {other:?}"),
    }
}

fn phasor_network(described: &Value) -> Network {
    let mut network = Network::new(number(described, "hertz"), whole(described, "net_count"));
    let coupled = !list(described, "field_impedances_ohms").is_empty();
    let forward = coupled.then(|| {
        let forward = network.add_field();
        network.add_field();
        forward
    });
    for values in list(described, "branches") {
        let id = network.add_branch(branch(
            whole(values, "from"),
            whole(values, "to"),
            number(values, "resistance_ohms"),
            number(values, "reactance_ohms"),
            number(values, "source_volts"),
        ));
        let turns = number(values, "turns");
        if turns != 0.0 {
            let (angle, coupling) = (number(values, "angle_radians"), coupling(values));
            link_to_rotor(&mut network, id, forward.unwrap(), &turns.into(), angle, coupling);
        }
    }
    network
}

/// Largest difference, relative to the largest expected phasor.
fn worst(found: impl Iterator<Item = Complex64>, expected: &[Complex64]) -> f64 {
    let largest = expected.iter().map(|phasor| phasor.norm()).fold(0.0, f64::max);
    found.zip(expected).map(|(a, b)| (a - b).norm() / largest).fold(0.0, f64::max)
}

#[test]
fn potentials_and_currents_agree_with_the_tableau() {
    let stored = stored();
    let networks = list(&stored, "phasor");
    assert_eq!(networks.len(), 40);
    assert_eq!(networks.iter().filter(|n| !list(n, "field_impedances_ohms").is_empty()).count(), 20);
    let one_way = |network: &&Value| list(network, "branches").iter().any(|b| coupling(b) != Coupling::Mutual);
    assert_eq!(networks.iter().filter(one_way).count(), 10);
    let mut overall: f64 = 0.0;
    for (index, described) in networks.iter().enumerate() {
        let network = phasor_network(described);
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&phasors(described, "field_impedances_ohms")).unwrap();
        let potentials = phasors(described, "potentials_volts");
        let currents = phasors(described, "currents_amperes");
        assert_eq!(potentials.len(), network.net_count());
        assert_eq!(currents.len(), network.branches().len());
        let volts = worst((0..potentials.len()).map(|net| solution.potential(NetId(net))), &potentials);
        let amperes = worst((0..currents.len()).map(|branch| solution.current(BranchId(branch))), &currents);
        assert!(volts < TOLERANCE, "network {index}: potentials differ by {volts:e} of the largest");
        assert!(amperes < TOLERANCE, "network {index}: currents differ by {amperes:e} of the largest");
        overall = overall.max(volts).max(amperes);
    }
    eprintln!("worst relative difference {overall:e}");
}

#[test]
fn field_values_agree_with_the_drives_of_the_tableau_currents() {
    let stored = stored();
    let mut compared = 0;
    for (index, described) in list(&stored, "phasor").iter().enumerate() {
        let field_impedances = phasors(described, "field_impedances_ohms");
        if field_impedances.is_empty() {
            continue;
        }
        let network = phasor_network(described);
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&field_impedances).unwrap();
        // The definition of a drive, applied to the currents that NumPy found.
        let currents = phasors(described, "currents_amperes");
        let drives: Vec<Complex64> = [1.0, -1.0]
            .iter()
            .map(|sense| {
                let branches = list(described, "branches").iter().zip(&currents);
                branches
                    .filter(|(values, _)| coupling(values) != Coupling::Feels)
                    .map(|(values, current)| {
                        let angle = sense * number(values, "angle_radians");
                        Complex64::from_polar(number(values, "turns"), angle) * current
                    })
                    .sum()
            })
            .collect();
        let fields: Vec<Complex64> = drives.iter().zip(&field_impedances).map(|(f, z)| f * z).collect();
        let by_drive = worst((0..2).map(|field| solution.drive(FieldId(field))), &drives);
        let by_field = worst((0..2).map(|field| solution.field(FieldId(field))), &fields);
        let alone = worst(factored.drives(&field_impedances).unwrap().drives.into_iter(), &drives);
        let found = by_drive.max(by_field).max(alone);
        assert!(found < TOLERANCE, "network {index}: fields differ by {found:e}");
        compared += 1;
    }
    assert_eq!(compared, 20);
}

#[test]
fn pair_resistances_agree_with_the_pseudoinverse() {
    let stored = stored();
    let networks = list(&stored, "direct");
    assert_eq!(networks.len(), 15);
    let (mut finite, mut infinite, mut overall) = (0, 0, 0f64);
    for (index, described) in networks.iter().enumerate() {
        let mut network = Network::new(50.0, whole(described, "net_count"));
        for values in list(described, "branches") {
            let (from, to) = (whole(values, "from"), whole(values, "to"));
            network.add_branch(branch(from, to, number(values, "resistance_ohms"), 0.0, 0.0));
        }
        // Pair by pair, and from the table of all pairs.
        let (one, all) = (DirectNetwork::new(&network).unwrap(), DirectNetwork::new(&network).unwrap());
        all.prepare();
        for pair in list(described, "pairs") {
            let (plus, minus) = (whole(pair, "plus"), whole(pair, "minus"));
            for ohms in [&one, &all].map(|direct| direct.ohms(NetId(plus), NetId(minus))) {
                match pair["ohms"].as_f64() {
                    Some(expected) => {
                        let off = (ohms - expected).abs() / expected;
                        assert!(off < TOLERANCE, "network {index}, nets {plus} and {minus}: {ohms} is not {expected}");
                        overall = overall.max(off);
                        finite += 1;
                    }
                    None => {
                        assert_eq!(ohms, f64::INFINITY, "network {index}, nets {plus} and {minus}");
                        infinite += 1;
                    }
                }
            }
        }
    }
    assert!(finite > 200 && infinite > 20, "{finite} finite and {infinite} infinite resistances compared");
    eprintln!("worst relative difference {overall:e}");
}
