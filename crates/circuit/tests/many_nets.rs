//! Networks of many nets, as of large units, against nalgebra's LU of their nodal equations.
//!
//! A chain of loads whose every net has some capacitance to the reference and to one live conductor, so that the order in
//! which nets are eliminated matters.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, DirectNetwork, Factored, NetId, Network};
use common::branch;
use nalgebra::DMatrix;

const NETS: usize = 48;
const LIVE: usize = 1;

/// `(from, to, ohms, reactance)`; capacitances have no ohms.
fn branches() -> Vec<(usize, usize, f64, f64)> {
    let mut all = vec![(LIVE, 0, 0.4, 0.2)];
    for net in 2..NETS {
        let ohms = 3.0 + 17.0 * ((net * 37 % 23) as f64);
        // Chains of three loads from the live conductor to the reference.
        let (from, to) = match net % 3 {
            2 => (LIVE, net),
            _ => (net - 1, net),
        };
        all.push((from, to, ohms, if net % 4 == 0 { 60.0 } else { 0.0 }));
        if net % 3 == 1 {
            all.push((net, 0, ohms + 11.0, 0.0));
        }
        all.push((net, 0, 0.0, -5.3e7));
        all.push((net, LIVE, 0.0, -4.1e7));
    }
    all
}

fn network() -> Network {
    let mut network = Network::new(50.0, NETS);
    for (from, to, ohms, reactance) in branches() {
        network.add_branch(branch(from, to, ohms, reactance, 0.0));
    }
    network
}

/// Impedances between nets by the inverse of the nodal admittances, the reference left out.
fn by_nodes(admittance: impl Fn(f64, f64) -> Complex64) -> impl Fn(usize, usize) -> Complex64 {
    let mut matrix = DMatrix::<Complex64>::zeros(NETS, NETS);
    for (from, to, ohms, reactance) in branches() {
        let value = admittance(ohms, reactance);
        for (row, column, sign) in [(from, from, 1.0), (to, to, 1.0), (from, to, -1.0), (to, from, -1.0)] {
            matrix[(row, column)] += sign * value;
        }
    }
    let inverse = matrix.view((1, 1), (NETS - 1, NETS - 1)).into_owned().try_inverse().unwrap();
    let entry = move |a: usize, b: usize| if a == 0 || b == 0 { Complex64::ZERO } else { inverse[(a - 1, b - 1)] };
    move |a, b| entry(a, a) + entry(b, b) - entry(a, b) - entry(b, a)
}

#[test]
fn impedances_between_nets_are_those_of_the_nodal_equations() {
    let expected = by_nodes(|ohms, reactance| Complex64::new(ohms, reactance).inv());
    let network = network();
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[]).unwrap();
    for (a, b) in (0..NETS).flat_map(|a| (a + 1..NETS).map(move |b| (a, b))) {
        let [there, back] = [(a, b), (b, a)].map(|(a, b)| solution.impedance_between(NetId(a), NetId(b)).unwrap());
        let (wanted, off) = (expected(a, b), (there - expected(a, b)).norm());
        assert!(off < 1e-9 * wanted.norm(), "nets {a} and {b}: {there} is not {wanted}");
        assert!((there - back).norm() < 1e-9 * wanted.norm(), "nets {a} and {b} are not reciprocal");
    }
}

#[test]
fn resistances_between_nets_are_those_of_the_nodal_equations() {
    let expected = by_nodes(|ohms, _| if ohms > 0.0 { Complex64::from(1.0 / ohms) } else { Complex64::ZERO });
    let mut network = Network::new(50.0, NETS);
    for (from, to, ohms, _) in branches().into_iter().filter(|(.., ohms, _)| *ohms > 0.0) {
        network.add_branch(branch(from, to, ohms, 0.0, 0.0));
    }
    let (one, all) = (DirectNetwork::new(&network).unwrap(), DirectNetwork::new(&network).unwrap());
    all.prepare();
    for (a, b) in (0..NETS).flat_map(|a| (a + 1..NETS).map(move |b| (a, b))) {
        let wanted = expected(a, b).re;
        for found in [&one, &all].map(|direct| direct.ohms(NetId(a), NetId(b))) {
            assert!((found - wanted).abs() < 1e-9 * wanted, "nets {a} and {b}: {found} is not {wanted}");
        }
    }
}
