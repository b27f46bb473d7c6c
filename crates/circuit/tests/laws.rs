//! Checks solutions of random networks against the general laws of linear networks: Kirchhoff, Tellegen,
//! superposition, reciprocity, Rayleigh's monotonicity law and Foster's sum of resistances.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{BranchId, Complex64, Coupling, DirectNetwork, Factored, FieldId, NetId, Network, Probe, Solution};
use common::{Plan, WindingPlan, branch, config, link_to_rotor, network, plans, plans_of_any_coupling};
use proptest::prelude::*;

/// Rounding allowed, relative to the largest quantity of the same kind in the network.
const TOLERANCE: f64 = 1e-9;

fn branch_ids(network: &Network) -> impl Iterator<Item = BranchId> + use<> {
    (0..network.branches().len()).map(BranchId)
}

fn largest_current(solution: &Solution<'_>, network: &Network) -> f64 {
    branch_ids(network).map(|id| solution.current(id).norm()).fold(0.0, f64::max)
}

/// All potentials and currents in one list.
fn state(plan: &Plan) -> Vec<Complex64> {
    let network = plan.build();
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&plan.field_impedances).unwrap();
    let potentials = (0..plan.net_count).map(|net| solution.potential(NetId(net)));
    potentials.chain(branch_ids(&network).map(|id| solution.current(id))).collect()
}

/// Current in branch `at` when branch `from` holds the network's only source, of one volt.
fn transfer(plan: &Plan, from: usize, at: usize) -> Complex64 {
    let mut plan = plan.with_sources(|index| if index == from { 1.0 } else { 0.0 });
    plan.branches[from].source_angle = 0.0;
    let network = plan.build();
    let factored = Factored::new(&network).unwrap();
    factored.solve(&plan.field_impedances).unwrap().current(BranchId(at))
}

/// Two transfer admittances that should be equal, compared on the scale of the two branches' own admittances. Branches
/// that lie in no loop have none but rounding, far below the smallest admittance here of some 2e-4 siemens.
fn transfers_agree(plan: &Plan, transposed: &Plan, a: usize, b: usize) -> Result<(), TestCaseError> {
    let (there, back) = (transfer(plan, a, b), transfer(transposed, b, a));
    let scale = transfer(plan, a, a).norm() + transfer(plan, b, b).norm();
    prop_assert!((there - back).norm() <= TOLERANCE * scale + 1e-12, "{there} there, {back} back, scale {scale}");
    Ok(())
}

/// Power in volt-amperes that is rounding where a source drives no current: a millionth of a millionth of what the
/// largest voltage would drive through one ohm.
fn rounding_power(plan: &Plan) -> f64 {
    1e-12 * plan.branches.iter().map(|branch| branch.source * branch.source).fold(0.0, f64::max)
}

/// The plan's resistors only; what an ohmmeter sees, without contacts of exactly no resistance.
fn resistors(plan: &Plan) -> Plan {
    let mut plan = plan.with_sources(|_| 0.0);
    for branch in &mut plan.branches {
        branch.reactance = 0.0;
        branch.resistance = branch.resistance.max(0.1);
    }
    plan
}

fn any_two(of: usize, pick: (prop::sample::Index, prop::sample::Index)) -> (usize, usize) {
    let first = pick.0.index(of);
    (first, (first + 1 + pick.1.index(of - 1)) % of)
}

fn pick_two() -> impl Strategy<Value = (prop::sample::Index, prop::sample::Index)> {
    (any::<prop::sample::Index>(), any::<prop::sample::Index>())
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn currents_into_every_net_sum_to_zero(plan in plans_of_any_coupling(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let mut sums = vec![Complex64::ZERO; plan.net_count];
        for (id, branch) in branch_ids(&network).zip(&plan.branches) {
            sums[branch.from] += solution.current(id);
            sums[branch.to] -= solution.current(id);
        }
        let largest = largest_current(&solution, &network);
        for (net, sum) in sums.iter().enumerate() {
            prop_assert!(sum.norm() <= TOLERANCE * largest, "net {net} misses by {}", sum.norm());
        }
        // The crate's own measure is the same figure.
        let own = solution.kirchhoff_residual();
        let ours = sums[1..].iter().map(|sum| sum.norm()).fold(0.0, f64::max);
        prop_assert!((own - ours).abs() <= 1e-14 * largest, "{own} reported, {ours} found");
    }

    #[test]
    fn every_branch_obeys_its_own_equation(plan in plans_of_any_coupling(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        for (index, branch) in plan.branches.iter().enumerate() {
            let current = solution.current(BranchId(index));
            let (from, to) = (solution.potential(NetId(branch.from)), solution.potential(NetId(branch.to)));
            let drop = Complex64::new(branch.resistance, branch.reactance) * current;
            let mut sides = from - to + branch.phasor() - drop;
            let mut size = from.norm() + to.norm() + branch.source.abs() + drop.norm();
            let feels = |winding: &&WindingPlan| winding.branch == index && winding.coupling != Coupling::Drives;
            for winding in plan.windings.iter().filter(feels) {
                for (field, sense) in [(2 * winding.rotor, -1.0), (2 * winding.rotor + 1, 1.0)] {
                    let axis = Complex64::from_polar(winding.turns, sense * winding.angle);
                    let induced = axis * solution.field(FieldId(field));
                    sides -= induced;
                    size += induced.norm();
                }
            }
            let largest = (0..plan.net_count).map(|net| solution.potential(NetId(net)).norm()).fold(size, f64::max);
            prop_assert!(sides.norm() <= TOLERANCE * largest, "branch {index} misses by {}", sides.norm());
            prop_assert_eq!(solution.voltage(BranchId(index)), from - to);
        }
    }

    #[test]
    fn complex_power_of_all_branches_sums_to_zero(plan in plans_of_any_coupling(2)) {
        // Tellegen, "A general network theorem, with applications", Philips Research Reports 7 (1952).
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let sum: Complex64 = branch_ids(&network).map(|id| solution.power(id)).sum();
        let apparent = |id: BranchId| {
            let volts = solution.voltage(id).norm() + plan.branches[id.0].source.abs();
            volts * solution.current(id).norm()
        };
        let size: f64 = branch_ids(&network).map(apparent).sum();
        prop_assert!(sum.norm() <= TOLERANCE * size + rounding_power(&plan), "{sum} of {size}");
    }

    #[test]
    fn sources_deliver_what_impedances_and_fields_take_in(plan in plans(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let (mut delivered, mut taken, mut size) = (Complex64::ZERO, Complex64::ZERO, 0.0);
        for (id, branch) in branch_ids(&network).zip(&plan.branches) {
            let current = solution.current(id);
            delivered += branch.phasor() * current.conj();
            taken += Complex64::new(branch.resistance, branch.reactance) * current.norm_sqr();
            size += branch.source.abs() * current.norm();
        }
        let allowed = TOLERANCE * size + rounding_power(&plan);
        for (field, impedance) in plan.field_impedances.iter().enumerate() {
            taken += impedance * solution.drive(FieldId(field)).norm_sqr();
        }
        prop_assert!((delivered - taken).norm() <= allowed, "{delivered} delivered, {taken} taken in");
        // Nothing in these networks is active but the sources.
        prop_assert!(taken.re >= -allowed);
    }

    #[test]
    fn solutions_superpose(plan in plans_of_any_coupling(2), share in prop::collection::vec(any::<bool>(), 40)) {
        let source = |index: usize| plan.branches[index].source;
        let whole = state(&plan);
        let one = state(&plan.with_sources(|index| if share[index] { source(index) } else { 0.0 }));
        let other = state(&plan.with_sources(|index| if share[index] { 0.0 } else { source(index) }));
        let nets = plan.net_count;
        let kinds = [0..nets, nets..whole.len()];
        for kind in kinds {
            let largest = kind.clone().map(|i| whole[i].norm() + one[i].norm()).fold(0.0, f64::max);
            for i in kind {
                let off = (one[i] + other[i] - whole[i]).norm();
                prop_assert!(off <= TOLERANCE * largest, "value {i} is off by {off}");
            }
        }
    }

    #[test]
    fn networks_without_windings_are_reciprocal(plan in plans(0), pick in pick_two()) {
        let (a, b) = any_two(plan.branches.len(), pick);
        transfers_agree(&plan, &plan, a, b)?;
    }

    #[test]
    fn windings_on_one_axis_are_reciprocal(plan in plans(2), pick in pick_two()) {
        let mut plan = plan;
        for winding in &mut plan.windings {
            winding.angle = 0.0;
        }
        let (a, b) = any_two(plan.branches.len(), pick);
        transfers_agree(&plan, &plan, a, b)?;
    }

    #[test]
    fn exchanging_forward_and_backward_fields_transposes_the_network(plan in plans(2), pick in pick_two()) {
        // A mutual impedance n_i n_j (Zf e^{-j(a_i-a_j)} + Zb e^{j(a_i-a_j)}) becomes its transpose when Zf and Zb
        // change places, and so does the inverse of the whole.
        let mut transposed = plan.clone();
        for pair in transposed.field_impedances.chunks_exact_mut(2) {
            pair.swap(0, 1);
        }
        let (a, b) = any_two(plan.branches.len(), pick);
        transfers_agree(&plan, &transposed, a, b)?;
    }

    #[test]
    fn thevenin_impedance_of_resistors_is_their_resistance_at_0_hz(plan in plans(0), pick in pick_two()) {
        // Two solvers that share no code: complex LU of the phasor equations, Cholesky of the conductances.
        let plan = resistors(&plan);
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let (p, q) = any_two(plan.net_count, pick);
        let (p, q) = (NetId(p), NetId(q));
        let impedance = factored.solve(&[]).unwrap().impedance_between(p, q).unwrap();
        let ohms = DirectNetwork::new(&network).unwrap().ohms(p, q);
        prop_assert!((impedance - ohms).norm() <= TOLERANCE * ohms, "{impedance} against {ohms}");
    }

    #[test]
    fn resistance_is_a_distance(plan in plans(0)) {
        // Klein and Randic, "Resistance distance", J. Math. Chem. 12 (1993).
        let network = resistors(&plan).build();
        let direct = DirectNetwork::new(&network).unwrap();
        let ohms = |p: usize, q: usize| direct.ohms(NetId(p), NetId(q));
        for p in 0..plan.net_count {
            prop_assert_eq!(ohms(p, p), 0.0);
            for q in (0..plan.net_count).filter(|&q| q != p) {
                prop_assert!(ohms(p, q) > 0.0);
                prop_assert_eq!(ohms(p, q), ohms(q, p));
                for r in 0..plan.net_count {
                    let around = ohms(p, r) + ohms(r, q);
                    prop_assert!(ohms(p, q) <= around * (1.0 + TOLERANCE), "{p} to {q} by {r}: {around}");
                }
            }
        }
    }

    #[test]
    fn resistances_over_all_branches_sum_to_the_number_of_independent_nets(plan in plans(0)) {
        // Foster, "The average impedance of an electrical network" (1949): sum of R_between / R_branch = nets - 1.
        let plan = resistors(&plan);
        let network = plan.build();
        let direct = DirectNetwork::new(&network).unwrap();
        let sum: f64 = plan
            .branches
            .iter()
            .map(|branch| direct.ohms(NetId(branch.from), NetId(branch.to)) / branch.resistance)
            .sum();
        let expected = (plan.net_count - 1) as f64;
        prop_assert!((sum - expected).abs() <= TOLERANCE * expected, "{sum} instead of {expected}");
    }

    #[test]
    fn no_resistance_rises_when_a_branch_is_added(plan in plans(0), pick in pick_two(), decade in -1.0..4.0) {
        // Doyle and Snell, "Random Walks and Electric Networks" (1984), chapter 4. Capacitors leave islands here, so
        // the added branch may also make a path where there was none.
        let before = plan.build();
        let (a, b) = any_two(plan.net_count, pick);
        let after = plan.with_resistor(a, b, 10f64.powf(decade)).build();
        let (before, after) = (DirectNetwork::new(&before).unwrap(), DirectNetwork::new(&after).unwrap());
        for p in (0..plan.net_count).map(NetId) {
            for q in (0..plan.net_count).map(NetId) {
                let (old, new) = (before.ohms(p, q), after.ohms(p, q));
                // Two nets in contact are a microohm apart, which is the difference of two large numbers.
                prop_assert!(new <= old * (1.0 + TOLERANCE) + 1e-9, "{old} became {new}");
            }
        }
        prop_assert!(after.ohms(NetId(a), NetId(b)) <= 10f64.powf(decade) * (1.0 + TOLERANCE));
    }

    #[test]
    fn capacitors_change_no_resistance(plan in plans(0), pick in pick_two()) {
        let (a, b) = any_two(plan.net_count, pick);
        let mut with_capacitor = plan.build();
        with_capacitor.add_branch(branch(a, b, 1.0, -50.0, 0.0));
        let without = plan.build();
        let (with_capacitor, without) =
            (DirectNetwork::new(&with_capacitor).unwrap(), DirectNetwork::new(&without).unwrap());
        for p in (0..plan.net_count).map(NetId) {
            for q in (0..plan.net_count).map(NetId) {
                prop_assert_eq!(with_capacitor.ohms(p, q), without.ohms(p, q));
            }
        }
    }
}

#[test]
fn a_turning_rotor_is_not_reciprocal() {
    // Keeps the reciprocity tests honest: two windings in quadrature with unlike fields must fail theirs. By hand,
    // with Z12 = -Z21 = -j (Zf - Zb) across resistors R: I2/U1 = -Z21 / det, I1/U2 = -Z12 / det.
    let (forward, backward) = (Complex64::new(10.0, 30.0), Complex64::new(4.0, 6.0));
    let current = |from: usize, at: usize| {
        let source = |branch: usize| if branch == from { 1.0 } else { 0.0 };
        let mut network = network(
            3,
            &[
                branch(0, 1, 5.0, 0.0, source(0)),
                branch(0, 2, 5.0, 0.0, source(1)),
                branch(1, 0, 0.0, 0.0, 0.0),
                branch(2, 0, 0.0, 0.0, 0.0),
            ],
        );
        let first = network.add_field();
        network.add_field();
        for (id, angle) in [(0, std::f64::consts::FRAC_PI_2), (1, 0.0)] {
            link_to_rotor(&mut network, BranchId(id), first, &1.0.into(), angle, Coupling::Mutual);
        }
        let factored = Factored::new(&network).unwrap();
        factored.solve(&[forward, backward]).unwrap().current(BranchId(at))
    };
    let own = 5.0 + forward + backward;
    let mutual = -Complex64::I * (forward - backward);
    let determinant = own * own + mutual * mutual;
    assert!((current(0, 1) - mutual / determinant).norm() < 1e-14);
    assert!((current(1, 0) + mutual / determinant).norm() < 1e-14);
    assert!((current(0, 0) - own / determinant).norm() < 1e-14);
}

#[test]
fn a_probe_reports_what_the_solution_reports() {
    let mut network =
        network(3, &[branch(0, 1, 1.0, 0.0, 230.0), branch(1, 2, 20.0, 5.0, 0.0), branch(2, 0, 40.0, -10.0, 0.0)]);
    let first = network.add_field();
    network.add_field();
    link_to_rotor(&mut network, BranchId(1), first, &1.5.into(), 0.4, Coupling::Mutual);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[Complex64::new(3.0, 9.0), Complex64::new(2.0, 4.0)]).unwrap();
    let twice = Complex64::new(0.0, 2.0);
    let voltage = Probe::voltage(NetId(1), NetId(2)).scaled(twice).value(&solution);
    assert_eq!(voltage, twice * (solution.potential(NetId(1)) - solution.potential(NetId(2))));
    let currents = Probe::currents(vec![(BranchId(0), Complex64::ONE), (BranchId(2), twice)]).value(&solution);
    assert_eq!(currents, solution.current(BranchId(0)) + twice * solution.current(BranchId(2)));
    let drive = Probe::drives(vec![(FieldId(1), twice)]).value(&solution);
    assert_eq!(drive, twice * solution.drive(FieldId(1)));
    // Power is quadratic, so its differential taken along the solution itself is twice the power.
    let power = Probe::power(&solution, BranchId(2)).value(&solution);
    assert!((power.re - 2.0 * solution.power(BranchId(2)).re).abs() < 1e-12 * power.norm());
}
