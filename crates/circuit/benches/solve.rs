//! Measures the solution of a motor-like network of 24 nets against nalgebra's dense complex LU of the same equations,
//! and the inner step of a speed search against a whole solution. Only the ratios mean something.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use circuit::{Branch, Complex64, Coupling, Factored, FieldId, Link, NetId, Network, Quantity};
use criterion::Criterion;
use nalgebra::{DMatrix, DVector};
use std::hint::black_box;

const NETS: usize = 24;
const FIELD_IMPEDANCES: [Complex64; 2] = [Complex64::new(60.0, 45.0), Complex64::new(4.0, 6.0)];

/// A capacitor-run motor with tapped windings, leads, contacts, insulation to an earthed frame and a few neighbours.
struct Motor {
    network: Network,
    fields: [FieldId; 2],
}

impl Motor {
    fn new() -> Self {
        let mut network = Network::new(50.0, NETS);
        let fields = [network.add_field(), network.add_field()];
        let mut motor = Motor { network, fields };
        let neutral = 0;
        motor.add(neutral, 1, 0.4, 0.2, 230.0);
        for (from, to, resistance) in [(1, 2, 0.05), (2, 3, 0.01), (3, 4, 0.1)] {
            motor.add(from, to, resistance, 0.0, 0.0);
        }
        let main: Vec<usize> = (4..12).chain([neutral]).collect();
        motor.wind(&main, 1.5, 2.0, 0.13, 0.0);
        motor.add(4, 12, 1.0, -80.0, 0.0);
        motor.add(12, 13, 0.02, 0.0, 0.0);
        let auxiliary: Vec<usize> = (13..20).chain([neutral]).collect();
        motor.wind(&auxiliary, 3.0, 2.5, 0.2, std::f64::consts::FRAC_PI_2);
        let frame = 20;
        for winding_net in [4, 6, 8, 10, 13, 15, 17, 19] {
            motor.add(winding_net, frame, 2e6, 0.0, 0.0);
        }
        motor.add(frame, neutral, 0.3, 0.0, 0.0);
        for (from, to, resistance, reactance) in [
            (3, 21, 800.0, 400.0),
            (21, 22, 0.02, 0.0),
            (22, neutral, 5.0, 0.0),
            (3, 23, 3e4, 0.0),
            (23, neutral, 1e4, 0.0),
        ] {
            motor.add(from, to, resistance, reactance, 0.0);
        }
        motor
    }

    fn add(&mut self, from: usize, to: usize, resistance: f64, reactance: f64, source: f64) -> circuit::BranchId {
        self.network.add_branch(Branch {
            from: NetId(from),
            to: NetId(to),
            resistance: resistance.into(),
            reactance: reactance.into(),
            source: source.into(),
            source_angle: 0.0,
            passes_direct_current: reactance >= 0.0,
        })
    }

    /// Sections between consecutive nets, all on one axis.
    fn wind(&mut self, nets: &[usize], resistance: f64, reactance: f64, turns: f64, angle: f64) {
        for ends in nets.windows(2) {
            let branch = self.add(ends[0], ends[1], resistance, reactance, 0.0);
            for (field, angle) in self.fields.into_iter().zip([angle, -angle]) {
                self.network.add_link(Link {
                    branch,
                    field,
                    turns: Quantity::constant(turns),
                    angle,
                    coupling: Coupling::Mutual,
                });
            }
        }
    }
}

/// The whole modified nodal equations with the fields among the unknowns, for a general dense solver.
fn dense_equations(network: &Network) -> (DMatrix<Complex64>, DVector<Complex64>) {
    let nets = network.net_count() - 1;
    let linked = |index: usize| network.links().iter().any(|link| link.branch.0 == index);
    let own: Vec<usize> = (0..network.branches().len())
        .filter(|&index| linked(index) || network.branches()[index].source.value() != 0.0)
        .collect();
    let size = nets + own.len() + network.field_count();
    let mut matrix = DMatrix::from_element(size, size, Complex64::ZERO);
    let mut right = DVector::from_element(size, Complex64::ZERO);
    for (index, branch) in network.branches().iter().enumerate() {
        let impedance = Complex64::new(branch.resistance.value(), branch.reactance.value());
        let ends = [(branch.from.0, Complex64::ONE), (branch.to.0, -Complex64::ONE)];
        let ends = ends.into_iter().filter(|(net, _)| *net > 0).map(|(net, sign)| (net - 1, sign));
        if let Some(place) = own.iter().position(|&other| other == index) {
            let row = nets + place;
            for (net, sign) in ends {
                matrix[(net, row)] += sign;
                matrix[(row, net)] += sign;
            }
            matrix[(row, row)] -= impedance;
            right[row] -= branch.source.value();
        } else {
            for (a, sign_a) in ends.clone() {
                for (b, sign_b) in ends.clone() {
                    matrix[(a, b)] += sign_a * sign_b / impedance;
                }
            }
        }
    }
    for link in network.links() {
        let row = nets + own.iter().position(|&index| index == link.branch.0).unwrap();
        let field = nets + own.len() + link.field.0;
        let axis = Complex64::from_polar(link.turns.value(), link.angle);
        matrix[(row, field)] -= axis.conj();
        matrix[(field, row)] += axis;
    }
    for (field, impedance) in FIELD_IMPEDANCES.iter().enumerate() {
        let place = nets + own.len() + field;
        matrix[(place, place)] -= impedance.inv();
    }
    (matrix, right)
}

fn main() {
    let motor = Motor::new();
    let network = &motor.network;
    let (matrix, right) = dense_equations(network);

    // A comparison of speed is only worth making between equal answers.
    let factored = Factored::new(network).unwrap();
    let solution = factored.solve(&FIELD_IMPEDANCES).unwrap();
    let reference = matrix.clone().lu().solve(&right).unwrap();
    for net in 1..NETS {
        let off = (solution.potential(NetId(net)) - reference[net - 1]).norm();
        assert!(off < 1e-9 * 230.0, "net {net} is off by {off} volts");
    }
    assert!(solution.current(circuit::BranchId(0)).norm() > 0.1, "the motor draws no current");

    let mut criterion = Criterion::default().configure_from_args();
    let mut group = criterion.benchmark_group("motor of 24 nets");
    group.bench_function("this crate, assembled and solved", |bencher| {
        bencher.iter(|| {
            let factored = Factored::new(black_box(network)).unwrap();
            let solution = factored.solve(black_box(&FIELD_IMPEDANCES)).unwrap();
            solution.potential(NetId(4))
        });
    });
    group.bench_function("nalgebra's LU of the assembled equations", |bencher| {
        bencher.iter(|| black_box(&matrix).clone().lu().solve(black_box(&right)).unwrap()[3]);
    });
    group.bench_function("field drives of the factorised network", |bencher| {
        bencher.iter(|| factored.drives(black_box(&FIELD_IMPEDANCES)).unwrap());
    });
    group.bench_function("whole solution of the factorised network", |bencher| {
        bencher.iter(|| factored.solve(black_box(&FIELD_IMPEDANCES)).unwrap().potential(NetId(4)));
    });
    group.finish();
    criterion.final_summary();
}
