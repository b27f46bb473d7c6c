//! Conductors that hang in the air: joined by milliohms, tied to the rest by stray capacitance alone.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{Complex64, Factored, NetId, Network};
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
