//! Checks that networks without a usable answer are refused, with the offending part named, and that unusual but
//! solvable ones are solved; expected values are worked by hand.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{
    Branch, BranchId, Complex64, Coupling, DirectNetwork, Factored, FieldId, Link, NetId, Network, Probe, Quantity,
    SolveError, UnknownId,
};
use common::{branch, network};

/// A source and two resistors in a loop, all of them sound.
fn sound() -> Vec<Branch> {
    vec![branch(0, 1, 0.5, 0.0, 230.0), branch(1, 2, 10.0, 0.0, 0.0), branch(2, 0, 20.0, 3.0, 0.0)]
}

/// The sound loop with its middle branch on one field.
fn with_link(turns: f64, angle: f64) -> Network {
    let mut network = network(3, &sound());
    let field = network.add_field();
    network.add_link(Link { branch: BranchId(1), field, turns: turns.into(), angle, coupling: Coupling::Mutual });
    network
}

fn refusal(network: &Network) -> SolveError {
    Factored::new(network).map(|_| ()).expect_err("the network should be refused")
}

fn unknown(error: &SolveError) -> &str {
    match error {
        SolveError::Singular { unknown } => unknown,
        other => panic!("not singular but: {other}"),
    }
}

#[test]
fn the_sound_loop_is_solved() {
    // So that every refusal below is due to the one thing that was changed.
    let network = network(3, &sound());
    let current = Factored::new(&network).unwrap().solve(&[]).unwrap().current(BranchId(0));
    assert!((current - 230.0 / Complex64::new(30.5, 3.0)).norm() < 1e-12);
}

#[test]
fn values_that_are_not_finite_are_named() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        for index in 0..3 {
            let spoiled: [fn(&mut Branch, f64); 3] = [
                |branch, bad| branch.resistance = bad.into(),
                |branch, bad| branch.reactance = bad.into(),
                |branch, bad| branch.source = bad.into(),
            ];
            for spoil in spoiled {
                let mut branches = sound();
                spoil(&mut branches[index], bad);
                assert_eq!(refusal(&network(3, &branches)), SolveError::NotFinite { branch: index });
            }
        }
    }
}

#[test]
fn links_that_are_not_finite_are_named() {
    for bad in [f64::NAN, f64::INFINITY] {
        assert_eq!(refusal(&with_link(bad, 0.0)), SolveError::NotFinite { branch: 1 });
        assert_eq!(refusal(&with_link(1.0, bad)), SolveError::NotFinite { branch: 1 });
    }
}

#[test]
fn field_impedances_that_are_not_finite_are_refused() {
    let network = with_link(1.0, 0.3);
    let factored = Factored::new(&network).unwrap();
    assert!(factored.solve(&[Complex64::ONE]).is_ok());
    for bad in [f64::NAN, f64::INFINITY] {
        for impedance in [Complex64::new(bad, 0.0), Complex64::new(1.0, bad)] {
            assert_eq!(unknown(&factored.drives(&[impedance]).unwrap_err()), "field 0");
            assert_eq!(unknown(&factored.solve(&[impedance]).unwrap_err()), "field 0");
        }
    }
}

#[test]
fn a_field_impedance_that_cancels_the_loop_has_no_solution() {
    // One turn in a loop of one ohm: 1 V = (1 + Zf) I has none at Zf = -1.
    let mut network = network(2, &[branch(0, 1, 0.5, 0.0, 1.0), branch(1, 0, 0.5, 0.0, 0.0)]);
    let field = network.add_field();
    network.add_link(Link { branch: BranchId(1), field, turns: 1.0.into(), angle: 0.0, coupling: Coupling::Mutual });
    let factored = Factored::new(&network).unwrap();
    assert_eq!(unknown(&factored.drives(&[-Complex64::ONE]).unwrap_err()), "field 0");
    let drive = factored.drives(&[Complex64::ONE]).unwrap().drives[0];
    assert!((drive - 0.5).norm() < 1e-15);
}

#[test]
fn a_field_without_impedance_changes_nothing_but_has_a_slope() {
    // 230 V across Z: I = U / (Z + n^2 Zf), so dI/dZf = -n^2 U / Z^2 at Zf = 0.
    let network = with_link(2.0, 0.7);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[Complex64::ZERO]).unwrap();
    let impedance = Complex64::new(30.5, 3.0);
    assert!((solution.current(BranchId(1)) - 230.0 / impedance).norm() < 1e-12);
    let probe = Probe::currents(vec![(BranchId(1), Complex64::ONE)]);
    let slope = solution.field_impedance_slope(&solution.adjoint(&probe).unwrap(), FieldId(0));
    assert!((slope + 4.0 * 230.0 / (impedance * impedance)).norm() < 1e-12, "slope {slope}");
}

#[test]
fn frequencies_that_are_not_positive_and_finite_are_refused() {
    for hertz in [0.0, -50.0, f64::INFINITY, f64::NEG_INFINITY] {
        let network = Network::new(hertz, 1);
        assert_eq!(refusal(&network), SolveError::Frequency { hertz });
        assert_eq!(network.hertz(), hertz);
    }
    assert!(matches!(refusal(&Network::new(f64::NAN, 1)), SolveError::Frequency { hertz } if hertz.is_nan()));
    assert_eq!(refusal(&Network::new(0.0, 1)).to_string(), "a phasor solution needs a positive frequency, not 0 Hz");
}

#[test]
fn a_net_without_branches_is_named() {
    for floating in 1..4 {
        let mut branches = sound();
        for branch in &mut branches {
            for end in [&mut branch.from, &mut branch.to] {
                if end.0 >= floating {
                    *end = NetId(end.0 + 1);
                }
            }
        }
        let error = refusal(&network(4, &branches));
        assert_eq!(unknown(&error), format!("net {floating} has no path to the rest"));
        assert!(error.to_string().contains(&format!("net {floating}")));
    }
}

#[test]
fn an_island_is_named_by_one_of_its_nets() {
    // Joined by an impedance, by a source and by a contact: each is kept in another way among the equations.
    for join in [branch(3, 4, 47.0, 12.0, 0.0), branch(3, 4, 47.0, 0.0, 9.0), branch(3, 4, 0.0, 0.0, 0.0)] {
        let mut branches = sound();
        branches.push(join);
        let error = refusal(&network(5, &branches));
        let named = unknown(&error);
        assert!(named.starts_with("net 3 ") || named.starts_with("net 4 "), "{named}");
    }
}

#[test]
fn an_island_of_unlike_impedances_is_still_found() {
    // What is left of the last pivot is rounding, of the size of the largest admittance.
    for (small, large) in [(0.01, 1e6), (0.002, 3.3e4), (1.0, 7e7)] {
        let mut branches = sound();
        branches.extend([
            branch(3, 4, small, 0.0, 0.0),
            branch(4, 5, large, 0.0, 0.0),
            branch(5, 6, small, 0.0, 0.0),
            branch(6, 3, large / 3.0, 0.0, 0.0),
        ]);
        let error = refusal(&network(7, &branches));
        assert!(unknown(&error).starts_with("net "), "{error}");
    }
}

#[test]
fn a_loop_of_sources_without_impedance_is_named() {
    let parallel = [branch(0, 1, 0.0, 0.0, 230.0), branch(1, 0, 25.0, 0.0, 0.0), branch(0, 1, 0.0, 0.0, 231.0)];
    assert_eq!(unknown(&refusal(&network(2, &parallel))), "branch 2 closes a loop without impedance");
    let triangle = [
        branch(0, 1, 0.0, 0.0, 100.0),
        branch(1, 2, 0.0, 0.0, 100.0),
        branch(2, 1, 25.0, 0.0, 0.0),
        branch(2, 0, 0.0, 0.0, 30.0),
    ];
    assert_eq!(unknown(&refusal(&network(3, &triangle))), "branch 3 closes a loop without impedance");
    let on_itself = [branch(0, 1, 5.0, 0.0, 1.0), branch(1, 1, 0.0, 0.0, 9.0)];
    assert_eq!(unknown(&refusal(&network(2, &on_itself))), "branch 1 closes a loop without impedance");
}

#[test]
fn sources_without_impedance_that_close_no_loop_are_solved() {
    let chain = [branch(0, 1, 0.0, 0.0, 100.0), branch(1, 2, 0.0, 0.0, 30.0), branch(2, 0, 26.0, 0.0, 0.0)];
    let network = network(3, &chain);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[]).unwrap();
    assert!((solution.potential(NetId(2)) - 130.0).norm() < 1e-12);
    assert!((solution.current(BranchId(0)) - 5.0).norm() < 1e-12);
}

#[test]
fn a_branch_from_a_net_to_itself_carries_only_its_own_source() {
    let mut branches = sound();
    branches.extend([branch(2, 2, 3.0, 4.0, 10.0), branch(1, 1, 7.0, 0.0, 0.0)]);
    let looped = network(3, &branches);
    let factored = Factored::new(&looped).unwrap();
    let solution = factored.solve(&[]).unwrap();
    assert!((solution.current(BranchId(3)) - Complex64::new(1.2, -1.6)).norm() < 1e-12);
    assert_eq!(solution.current(BranchId(4)), Complex64::ZERO);
    assert!((solution.current(BranchId(0)) - 230.0 / Complex64::new(30.5, 3.0)).norm() < 1e-12);
    let direct = DirectNetwork::new(&looped).unwrap();
    assert!((direct.ohms(NetId(1), NetId(2)) - 10.0 * 20.5 / 30.5).abs() < 1e-12);
}

#[test]
fn a_network_of_the_reference_alone_has_an_empty_solution() {
    for asked in [0, 1] {
        let network = Network::new(50.0, asked);
        assert_eq!(network.net_count(), 1);
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&[]).unwrap();
        assert_eq!(solution.potential(NetId::REFERENCE), Complex64::ZERO);
        assert_eq!(solution.kirchhoff_residual(), 0.0);
        assert!(factored.drives(&[]).unwrap().drives.is_empty());
        assert_eq!(DirectNetwork::new(&network).unwrap().ohms(NetId(0), NetId(0)), 0.0);
    }
}

#[test]
fn direct_resistances_refuse_only_what_direct_current_meets() {
    let mut branches = sound();
    branches[1].resistance = f64::NAN.into();
    assert_eq!(DirectNetwork::new(&network(3, &branches)).unwrap_err(), SolveError::NotFinite { branch: 1 });
    branches[1].resistance = f64::INFINITY.into();
    assert_eq!(DirectNetwork::new(&network(3, &branches)).unwrap_err(), SolveError::NotFinite { branch: 1 });
    // A capacitor is open at 0 Hz whatever its values.
    branches[1].passes_direct_current = false;
    let network = network(3, &branches);
    let direct = DirectNetwork::new(&network).unwrap();
    assert!((direct.ohms(NetId(1), NetId(2)) - 20.5).abs() < 1e-12);
}

#[test]
fn direct_resistances_between_islands_are_infinite_without_a_gradient() {
    let resistance = Quantity::log_unknown(5.0, UnknownId(0), 0.0);
    let joined = Branch { resistance, ..branch(1, 2, 5.0, 0.0, 0.0) };
    let network = network(4, &[joined, branch(2, 0, 1.0, -1.0, 0.0)]);
    let direct = DirectNetwork::new(&network).unwrap();
    for (p, q) in [(0, 1), (2, 0), (3, 0), (1, 3)] {
        let pair = direct.resistance(NetId(p), NetId(q), 1);
        assert_eq!((pair.ohms, pair.gradient.as_slice()), (f64::INFINITY, [0.0].as_slice()));
    }
    let pair = direct.resistance(NetId(1), NetId(2), 1);
    assert!((pair.ohms - 5.0).abs() < 1e-14 && (pair.gradient[0] - 5.0).abs() < 1e-13);
}

#[test]
fn insulation_and_winding_keep_their_digits_beside_each_other() {
    // A series chain, so its resistances are sums; a contact counts as one microohm. A diagonal of conductances would lose
    // a gigohm beside a contact, an inverse the milliohms beside a gigohm.
    for insulation in [1e6, 1e9, 1e10, 1e12] {
        for wire in [0.01, 10.0] {
            let chain = [branch(1, 2, 0.0, 0.0, 0.0), branch(2, 3, wire, 0.0, 0.0), branch(1, 0, insulation, 0.0, 0.0)];
            let network = network(4, &chain);
            let direct = DirectNetwork::new(&network).unwrap();
            let through = direct.ohms(NetId(3), NetId(0));
            assert!((through / (insulation + wire + 1e-6) - 1.0).abs() < 1e-14, "{through} for {insulation}");
            let winding = direct.ohms(NetId(3), NetId(1));
            assert!((winding / (wire + 1e-6) - 1.0).abs() < 1e-11, "{winding} beside {insulation}");
        }
    }
}

#[test]
fn two_windings_on_one_insulated_frame_keep_their_digits() {
    // Each winding is 10 milliohms between nets that leak to the frame (net 0) on both sides, so the exact figure is the
    // parallel of 10 milliohms with twice the insulation. Between the windings lie both
    // insulations, each a pair in parallel but for 10 milliohms.
    for insulation in [1e8, 1e10] {
        let mut branches = Vec::new();
        for (a, b) in [(1, 2), (3, 4)] {
            branches.push(branch(a, b, 0.01, 0.0, 0.0));
            branches.push(branch(a, 0, insulation, 0.0, 0.0));
            branches.push(branch(b, 0, insulation, 0.0, 0.0));
        }
        let network = network(5, &branches);
        let direct = DirectNetwork::new(&network).unwrap();
        for (a, b) in [(1, 2), (3, 4)] {
            let pair = direct.resistance(NetId(a), NetId(b), 1);
            let exact = 0.01 * (2.0 * insulation / (2.0 * insulation + 0.01));
            assert!((pair.ohms / exact - 1.0).abs() < 1e-13, "{} beside {insulation}", pair.ohms);
        }
        let across = direct.ohms(NetId(1), NetId(4));
        assert!((across / insulation - 1.0).abs() < 1e-10, "{across} for {insulation}");
    }
}

#[test]
#[should_panic(expected = "net out of range")]
fn a_branch_to_a_net_that_does_not_exist_panics() {
    network(2, &[branch(0, 2, 1.0, 0.0, 0.0)]);
}

#[test]
#[should_panic(expected = "link out of range")]
fn a_link_to_a_field_that_does_not_exist_panics() {
    let mut network = network(3, &sound());
    network.add_link(Link {
        branch: BranchId(0),
        field: FieldId(0),
        turns: 1.0.into(),
        angle: 0.0,
        coupling: Coupling::Mutual,
    });
}
