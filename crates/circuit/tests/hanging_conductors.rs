//! Conductors that hang in the air: joined by milliohms, tied to the rest by stray capacitance alone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, Coupling, Factored, Link, NetId, Network};
use common::branch;

const LIVE_VOLTS: f64 = 120.0;

#[test]
fn a_conductor_in_the_air_is_where_its_capacitances_put_it() {
    // By the divider of two capacitances, alike at every piece, so that no current flows between the pieces. To the matrix
    // they are a billionth of the joints.
    let (to_earth, to_live, joint, pieces) = (-5.3e7, -4.3e7, 0.047, 12);
    let mut network = Network::new(60.0, 2 + pieces);
    network.add_branch(branch(0, 1, 0.0, 0.0, LIVE_VOLTS));
    for piece in 2..2 + pieces {
        network.add_branch(branch(piece, 0, 0.0, to_earth, 0.0));
        network.add_branch(branch(piece, 1, 0.0, to_live, 0.0));
        if piece > 2 {
            network.add_branch(branch(piece - 1, piece, joint, 0.0, 0.0));
        }
    }
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[]).unwrap();
    let live = solution.potential(NetId(1));
    assert!((live.norm() - LIVE_VOLTS).abs() < 1e-12, "{live}");
    let by_hand: Complex64 = live * to_earth / (to_earth + to_live);
    for piece in 2..2 + pieces {
        let off = (solution.potential(NetId(piece)) - by_hand).norm() / by_hand.norm();
        assert!(off < 1e-13, "conductor {piece} off by {off:e}");
    }
}

#[test]
fn what_a_winding_in_the_air_loses_at_one_end_comes_back_at_the_other() {
    // The second winding of a transformer, at each end a row of conductors with some capacitance to earth. Kirchhoff's
    // current law for all of them together, whatever flows between them.
    let (joint, pieces) = (0.047, 12);
    let last = 4 + 2 * pieces;
    let mut network = Network::new(60.0, last);
    network.add_branch(branch(0, 1, 0.0, 0.0, LIVE_VOLTS));
    let windings = [(branch(1, 0, 2.0, 1.0, 0.0), 1.0), (branch(2, 3, 0.5, 0.2, 0.0), 0.4)];
    let field = network.add_field();
    for (winding, turns) in windings {
        let branch = network.add_branch(winding);
        network.add_link(Link { branch, field, turns: turns.into(), angle: 0.0, coupling: Coupling::Mutual });
    }
    let to_earth = |net: usize| if net.is_multiple_of(2) { -5.3e7 } else { -2.1e7 };
    for net in 4..last {
        network.add_branch(branch(net - 2, net, joint, 0.0, 0.0));
        network.add_branch(branch(net, 0, 0.0, to_earth(net), 0.0));
    }
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[Complex64::new(20.0, 400.0)]).unwrap();
    let lost = |net: usize| solution.potential(NetId(net)) / to_earth(net);
    let (sum, size) =
        (4..last).fold((Complex64::ZERO, 0.0), |(sum, size), net| (sum + lost(net), size + lost(net).norm()));
    assert!(size > 1e-6, "{size} A");
    assert!(sum.norm() < 1e-12 * size, "{:e} of it", sum.norm() / size);
}
