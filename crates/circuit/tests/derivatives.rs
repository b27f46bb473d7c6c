//! Checks every exact derivative and rank-one change against whole new solutions: central differences of sixth order
//! for gradients, and networks in which the meter's resistor or the test source really is a branch.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use circuit::{
    Adjoint, Branch, BranchId, Complex64, Coupling, DirectNetwork, Factored, FieldId, Link, NetId, Network, Probe,
    Quantity, Solution, UnknownId,
};
use common::{Plan, branch, config, network, plans, plans_of_any_coupling};
use proptest::prelude::*;
use std::array;
use std::f64::consts::FRAC_PI_4;

/// Step of the differences, on the log scale of the values; rounding and the sixth-order rest are both small there.
const STEP: f64 = 1e-3;
/// Where a difference of sixth order looks, in steps.
const AROUND: [f64; 6] = [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0];
/// Difference allowed between a derivative and its central difference, relative to the size of either.
const TOLERANCE: f64 = 1e-7;
/// Difference allowed between two exact ways to the same solution, relative to the largest value.
const ROUNDING: f64 = 1e-9;

/// Central differences of sixth and of fourth order from values at [`AROUND`].
fn slopes(values: [Complex64; 6]) -> [Complex64; 2] {
    let [near, middle, far] = [values[3] - values[2], values[4] - values[1], values[5] - values[0]];
    [(45.0 * near - 9.0 * middle + far) / (60.0 * STEP), (8.0 * near - middle) / (12.0 * STEP)]
}

/// A numeric slope and how far it may be off.
#[derive(Debug, Clone, Copy)]
struct Numeric {
    slope: f64,
    allowed: f64,
}

impl Numeric {
    /// Allowed are a share of the value and its slope, what the sixth order corrected the fourth order by (close to
    /// a resonance a network is anything but straight), and the rounding of the solutions (times the ratio of
    /// the largest impedance to the smallest, where a stiff part of a network hangs on a weak branch) divided by the step.
    fn new(values: [f64; 6], size: f64) -> Self {
        let [slope, coarse] = slopes(values.map(Complex64::from)).map(|slope| slope.re);
        let allowed = TOLERANCE * (values[2].abs() + slope.abs()) + (slope - coarse).abs() + 1e-7 * size;
        Numeric { slope, allowed }
    }

    fn agrees_with(self, exact: f64) -> bool {
        (exact - self.slope).abs() <= self.allowed
    }
}

/// What a probe can ask of a solution.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Asked {
    Voltage(usize),
    Current(usize),
    Drive(usize),
    Power(usize),
}

/// One real figure of a solution: the magnitude or the real part of what is asked.
#[derive(Debug, Clone, Copy)]
struct Figure {
    asked: Asked,
    magnitude: bool,
}

impl Asked {
    fn value(self, solution: &Solution<'_>) -> Complex64 {
        match self {
            Asked::Voltage(branch) => solution.voltage(BranchId(branch)),
            Asked::Current(branch) => solution.current(BranchId(branch)),
            Asked::Drive(field) => solution.drive(FieldId(field)),
            Asked::Power(branch) => solution.power(BranchId(branch)),
        }
    }

    /// The size that rounding is relative to, also where the value itself is zero: the largest source or potential,
    /// and the currents that a difference of such potentials would drive.
    fn size(self, plan: &Plan, solution: &Solution<'_>) -> f64 {
        let sources = plan.branches.iter().map(|branch| branch.source.abs());
        let potentials = (0..plan.net_count).map(|net| solution.potential(NetId(net)).norm());
        let volts = potentials.chain(sources).fold(0.0, f64::max);
        let amperes = (0..plan.branches.len()).map(|id| solution.current(BranchId(id)).norm()).fold(0.0, f64::max);
        let through = |branch: usize| {
            let impedance = plan.branches[branch].resistance.hypot(plan.branches[branch].reactance);
            if impedance > 0.0 { amperes + volts / impedance } else { amperes }
        };
        match self {
            Asked::Voltage(_) => volts,
            Asked::Current(branch) => through(branch),
            Asked::Power(branch) => volts * through(branch),
            Asked::Drive(field) => {
                let windings = plan.windings.iter().filter(|winding| winding.rotor == field / 2);
                windings.map(|winding| winding.turns * through(winding.branch)).sum()
            }
        }
    }
}

impl Figure {
    /// Real parts and magnitudes of all branch voltages, branch currents and drives, and all real powers.
    fn all(plan: &Plan) -> Vec<Figure> {
        let branches = 0..plan.branches.len();
        let voltages = branches.clone().map(Asked::Voltage);
        let currents = branches.clone().map(Asked::Current);
        let drives = (0..plan.field_impedances.len()).map(Asked::Drive);
        let linear = voltages.chain(currents).chain(drives);
        let both = linear.flat_map(|asked| [false, true].map(|magnitude| Figure { asked, magnitude }));
        both.chain(branches.map(|branch| Figure { asked: Asked::Power(branch), magnitude: false })).collect()
    }

    fn read(self, solution: &Solution<'_>) -> Complex64 {
        self.asked.value(solution)
    }

    /// The form whose real part is the differential of the figure.
    fn probe(self, plan: &Plan, solution: &Solution<'_>) -> Probe {
        let linear = match self.asked {
            Asked::Voltage(branch) => {
                Probe::voltage(NetId(plan.branches[branch].from), NetId(plan.branches[branch].to))
            }
            Asked::Current(branch) => Probe::currents(vec![(BranchId(branch), Complex64::ONE)]),
            Asked::Drive(field) => Probe::drives(vec![(FieldId(field), Complex64::ONE)]),
            Asked::Power(branch) => Probe::power(solution, BranchId(branch)),
        };
        if self.magnitude { linear.scaled(Probe::magnitude_weights(self.read(solution))) } else { linear }
    }

    /// Slope of the figure from six readings, unless it is a magnitude that comes too near to zero, where it has a
    /// kink that no difference follows.
    fn slope(self, readings: [Complex64; 6], size: f64) -> Option<Numeric> {
        if !self.magnitude {
            return Some(Numeric::new(readings.map(|reading| reading.re), size));
        }
        let smallest = readings.iter().map(|reading| reading.norm()).fold(f64::INFINITY, f64::min);
        let smooth = smallest > 1e-6 * size && (readings[4] - readings[1]).norm() <= 0.02 * smallest;
        smooth.then(|| Numeric::new(readings.map(|reading| reading.norm()), size))
    }
}

/// Figures of a solution with their adjoints, ready to be compared with readings of other solutions.
struct Prepared {
    figures: Vec<PreparedFigure>,
}

struct PreparedFigure {
    figure: Figure,
    probe: Probe,
    adjoint: Adjoint,
    value: Complex64,
    size: f64,
}

impl Prepared {
    fn new(plan: &Plan, solution: &Solution<'_>) -> Self {
        let prepare = |figure: Figure| {
            let probe = figure.probe(plan, solution);
            let adjoint = solution.adjoint(&probe).unwrap();
            let size = figure.asked.size(plan, solution);
            PreparedFigure { figure, probe, adjoint, value: figure.read(solution), size }
        };
        Prepared { figures: Figure::all(plan).into_iter().map(prepare).collect() }
    }

    fn readings(&self, solution: &Solution<'_>) -> Vec<Complex64> {
        self.figures.iter().map(|prepared| prepared.figure.read(solution)).collect()
    }

    /// Compares derivatives with the differences of moved readings; says how many could be compared.
    fn agree(
        &self,
        moved: &[Vec<Complex64>; 6],
        exact: impl Fn(usize) -> f64,
        what: &str,
    ) -> Result<usize, TestCaseError> {
        let mut compared = 0;
        for (index, prepared) in self.figures.iter().enumerate() {
            let readings = array::from_fn(|step| moved[step][index]);
            let Some(numeric) = prepared.figure.slope(readings, prepared.size) else {
                continue;
            };
            compared += 1;
            let found = exact(index);
            prop_assert!(
                numeric.agrees_with(found),
                "{:?} by {what}: {found} exact, {numeric:?}, value {}",
                prepared.figure,
                prepared.value
            );
        }
        Ok(compared)
    }
}

/// Solves a plan moved along one unknown by the steps of [`AROUND`] and hands each solution to `read`.
fn along<T>(plan: &Plan, unknown: usize, read: impl Fn(&Solution<'_>) -> T) -> [T; 6] {
    AROUND.map(|steps| {
        let mut deviations = vec![0.0; plan.unknown_count()];
        deviations[unknown] = steps * STEP;
        let network = plan.build_at(&deviations);
        let factored = Factored::new(&network).unwrap();
        read(&factored.solve(&plan.field_impedances).unwrap())
    })
}

fn gradient(plan: &Plan, solution: &Solution<'_>, probe: &Probe, adjoint: &Adjoint) -> Vec<f64> {
    let mut gradient = vec![0.0; plan.unknown_count()];
    solution.add_gradient(probe, adjoint, &mut gradient);
    gradient
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn gradients_agree_with_central_differences(plan in plans_of_any_coupling(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let prepared = Prepared::new(&plan, &solution);
        let mut by_unknown = vec![Vec::new(); plan.unknown_count()];
        for prepared in &prepared.figures {
            let exact = gradient(&plan, &solution, &prepared.probe, &prepared.adjoint);
            by_unknown.iter_mut().zip(exact).for_each(|(figures, exact)| figures.push(exact));
        }
        for (unknown, exact) in by_unknown.iter().enumerate() {
            let moved = along(&plan, unknown, |solution| prepared.readings(solution));
            let compared = prepared.agree(&moved, |figure| exact[figure], &format!("unknown {unknown}"))?;
            // Real parts are never left out, so at least half of all figures take part.
            prop_assert!(2 * compared >= prepared.figures.len());
        }
    }

    #[test]
    fn field_impedance_slopes_agree_with_central_differences(plan in plans_of_any_coupling(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let prepared = Prepared::new(&plan, &solution);
        for field in 0..plan.field_impedances.len() {
            // Magnitudes and powers are no analytic functions, so several directions of the plane are tried.
            for angle in [0.0, 1.5, 2.5] {
                let change = Complex64::from_polar(plan.field_impedances[field].norm(), angle);
                let moved = AROUND.map(|steps| {
                    let mut impedances = plan.field_impedances.clone();
                    impedances[field] += change * steps * STEP;
                    prepared.readings(&factored.solve(&impedances).unwrap())
                });
                let exact = |figure: usize| {
                    (solution.field_impedance_slope(&prepared.figures[figure].adjoint, FieldId(field)) * change).re
                };
                prepared.agree(&moved, exact, &format!("field {field}"))?;
            }
        }
    }

    #[test]
    fn drives_and_their_slopes_agree_with_whole_solutions(plan in plans_of_any_coupling(2)) {
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let found = factored.drives(&plan.field_impedances).unwrap();
        let count = plan.field_impedances.len();
        let solve = |impedances: &[Complex64]| {
            let solution = factored.solve(impedances).unwrap();
            (0..count).map(|field| solution.drive(FieldId(field))).collect::<Vec<_>>()
        };
        let whole = solve(&plan.field_impedances);
        let largest = whole.iter().map(|drive| drive.norm()).fold(0.0, f64::max);
        prop_assert_eq!(found.drives.len(), count);
        for e in 0..count {
            prop_assert!((found.drives[e] - whole[e]).norm() <= ROUNDING * largest);
            let size = plan.field_impedances[e].norm();
            // A drive is an analytic function of each field impedance, so Cauchy's integral over a circle gives its
            // slope. Close to a resonance, where differences are too coarse, the integral still holds.
            let around: [Complex64; 8] = array::from_fn(|eighth| Complex64::from_polar(1.0, eighth as f64 * FRAC_PI_4));
            let moved = around.map(|direction| {
                let mut impedances = plan.field_impedances.clone();
                impedances[e] += direction * size * STEP;
                solve(&impedances)
            });
            for f in (0..count).map(FieldId) {
                let turned = around.iter().zip(&moved).map(|(direction, drives)| drives[f.0] / direction);
                let numeric = turned.sum::<Complex64>() / (8.0 * STEP);
                let exact = found.slope(f, FieldId(e)) * size;
                prop_assert!(
                    (exact - numeric).norm() <= TOLERANCE * largest,
                    "drive {} by field {e}: {exact} exact, {numeric} numeric",
                    f.0
                );
            }
        }
    }

    #[test]
    fn a_voltmeter_loads_like_a_real_resistor(plan in plans_of_any_coupling(2), pick in any::<[prop::sample::Index; 2]>(), decade in 0.0..7.0) {
        let ohms = 10f64.powf(decade);
        let p = pick[0].index(plan.net_count);
        let q = (p + 1 + pick[1].index(plan.net_count - 1)) % plan.net_count;
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let loaded = solution.loaded(NetId(p), NetId(q), ohms.recip()).unwrap();

        let real_plan = plan.with_resistor(p, q, ohms);
        let real_network = real_plan.build();
        let real_factored = Factored::new(&real_network).unwrap();
        let real = real_factored.solve(&plan.field_impedances).unwrap();

        let branches = 0..plan.branches.len();
        let voltages = branches.clone().map(Asked::Voltage);
        let drives = (0..plan.field_impedances.len()).map(Asked::Drive);
        for asked in voltages.chain(branches.map(Asked::Current)).chain(drives) {
            let (found, expected) = (asked.value(&loaded), asked.value(&real));
            prop_assert!(
                (found - expected).norm() <= ROUNDING * asked.size(&plan, &real),
                "{asked:?}: {found} by the rank-one change, {expected} with the resistor"
            );
        }
        for (field, impedance) in plan.field_impedances.iter().enumerate() {
            prop_assert_eq!(loaded.field(FieldId(field)), impedance * loaded.drive(FieldId(field)));
        }
    }

    #[test]
    fn a_loaded_reading_has_the_gradient_of_the_network_with_the_resistor(
        plan in plans_of_any_coupling(1), pick in any::<[prop::sample::Index; 2]>(), decade in 0.0..6.0,
    ) {
        let ohms = 10f64.powf(decade);
        let p = pick[0].index(plan.net_count);
        let q = (p + 1 + pick[1].index(plan.net_count - 1)) % plan.net_count;
        let (plus, minus) = (NetId(p), NetId(q));
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let loaded = solution.loaded(plus, minus, ohms.recip()).unwrap();
        let reading = loaded.potential(plus) - loaded.potential(minus);

        // The adjoint of the loaded network is that of the unloaded one, divided down as the reading itself is.
        let probe = Probe::voltage(plus, minus).scaled(Probe::magnitude_weights(reading));
        let divider = (1.0 + solution.impedance_between(plus, minus).unwrap() / ohms).inv();
        let adjoint = loaded.adjoint(&probe).unwrap().scaled(divider);
        let exact = gradient(&plan, &loaded, &probe, &adjoint);

        let size = Asked::Voltage(0).size(&plan, &loaded);
        let figure = Figure { asked: Asked::Voltage(0), magnitude: true };
        let real_plan = plan.with_resistor(p, q, ohms);
        let volts = |solution: &Solution<'_>| solution.potential(plus) - solution.potential(minus);
        for (unknown, &found) in exact.iter().enumerate() {
            // The added resistor has unknowns of its own, after those of the plan's branches.
            let shifted = if unknown < 3 * plan.branches.len() { unknown } else { unknown + 3 };
            let values = along(&real_plan, shifted, volts);
            if let Some(numeric) = figure.slope(values, size) {
                prop_assert!(
                    numeric.agrees_with(found),
                    "unknown {unknown}: {found} exact, {numeric:?}, reading {reading}"
                );
            }
        }
        for field in 0..plan.field_impedances.len() {
            let change = Complex64::from_polar(plan.field_impedances[field].norm(), 1.2);
            let real_network = real_plan.build();
            let real_factored = Factored::new(&real_network).unwrap();
            let values = AROUND.map(|steps| {
                let mut impedances = plan.field_impedances.clone();
                impedances[field] += change * steps * STEP;
                volts(&real_factored.solve(&impedances).unwrap())
            });
            if let Some(numeric) = figure.slope(values, size) {
                let found = (loaded.field_impedance_slope(&adjoint, FieldId(field)) * change).re;
                prop_assert!(numeric.agrees_with(found), "field {field}: {found} exact, {numeric:?}");
            }
        }
    }

    #[test]
    fn thevenin_impedance_is_what_an_injected_current_meets(plan in plans_of_any_coupling(2), pick in any::<[prop::sample::Index; 2]>()) {
        let p = pick[0].index(plan.net_count);
        let q = (p + 1 + pick[1].index(plan.net_count - 1)) % plan.net_count;
        let (plus, minus) = (NetId(p), NetId(q));
        let network = plan.build();
        let factored = Factored::new(&network).unwrap();
        let solution = factored.solve(&plan.field_impedances).unwrap();
        let found = solution.impedance_between(plus, minus).unwrap();

        // All sources at rest but one, which drives a current into `plus` and takes it out of `minus`.
        let mut driven = plan.with_sources(|_| 0.0).build();
        let source = driven.add_branch(branch(q, p, 10.0, 0.0, 100.0));
        let driven_factored = Factored::new(&driven).unwrap();
        let answer = driven_factored.solve(&plan.field_impedances).unwrap();
        let volts = answer.potential(plus) - answer.potential(minus);
        let met = volts / answer.current(source);
        prop_assert!((found - met).norm() <= ROUNDING * (10.0 + met.norm()), "{found} found, {met} met");

        // The adjoint's own potentials say the same.
        let adjoint = solution.adjoint(&Probe::voltage(plus, minus)).unwrap();
        let between = adjoint.between(plus, minus);
        prop_assert!((between - found).norm() <= ROUNDING * (10.0 + met.norm()), "{found} found, {between} by adjoint");
    }

    #[test]
    fn direct_resistance_gradients_agree_with_central_differences(plan in plans(0), pick in any::<[prop::sample::Index; 2]>()) {
        let p = pick[0].index(plan.net_count);
        let q = (p + 1 + pick[1].index(plan.net_count - 1)) % plan.net_count;
        let (plus, minus) = (NetId(p), NetId(q));
        let network = plan.build();
        let found = DirectNetwork::new(&network).unwrap().resistance(plus, minus, plan.unknown_count());
        prop_assert_eq!(found.gradient.len(), plan.unknown_count());
        for (unknown, &exact) in found.gradient.iter().enumerate() {
            let values = AROUND.map(|steps| {
                let mut deviations = vec![0.0; plan.unknown_count()];
                deviations[unknown] = steps * STEP;
                DirectNetwork::new(&plan.build_at(&deviations)).unwrap().ohms(plus, minus)
            });
            if found.ohms.is_finite() {
                let numeric = Numeric::new(values, 1.0);
                prop_assert!(numeric.agrees_with(exact), "unknown {unknown}: {exact} exact, {numeric:?}");
            } else {
                prop_assert_eq!(exact, 0.0);
                prop_assert!(values.iter().all(|ohms| *ohms == f64::INFINITY));
            }
        }
    }
}

/// A split-phase motor in small: supply, two windings in quadrature, a capacitor, a leak to the frame.
fn small_motor() -> Plan {
    let source =
        common::BranchPlan { from: 0, to: 1, resistance: 0.4, reactance: 0.1, source: 230.0, source_angle: 0.7 };
    let values = [
        (1, 2, 0.02, 0.0),
        (2, 0, 12.0, 9.0),
        (2, 3, 1.5, -90.0),
        (3, 0, 25.0, 14.0),
        (3, 4, 4e4, 0.0),
        (4, 0, 3e3, 0.0),
    ];
    let passive = values.map(|(from, to, resistance, reactance)| common::BranchPlan {
        from,
        to,
        resistance,
        reactance,
        source: 0.0,
        source_angle: 0.0,
    });
    let windings = [(2, 1.0, 0.0), (4, 1.4, 1.571)].map(|(branch, turns, angle)| common::WindingPlan {
        branch,
        rotor: 0,
        turns,
        angle,
        coupling: Coupling::Mutual,
    });
    Plan {
        net_count: 5,
        branches: std::iter::once(source).chain(passive).collect(),
        windings: windings.to_vec(),
        field_impedances: vec![Complex64::new(60.0, 45.0), Complex64::new(4.0, 6.0)],
    }
}

#[test]
fn every_gradient_of_a_small_motor_agrees_with_central_differences() {
    // No case is left out here: none of these figures is near zero. Both kinds of branch are among them, since the
    // source and the windings have current unknowns of their own and the others have none.
    let plan = small_motor();
    let network = plan.build();
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&plan.field_impedances).unwrap();
    let mut worst: f64 = 0.0;
    for figure in Figure::all(&plan) {
        let probe = figure.probe(&plan, &solution);
        let exact = gradient(&plan, &solution, &probe, &solution.adjoint(&probe).unwrap());
        let size = figure.read(&solution).norm();
        for (unknown, &found) in exact.iter().enumerate() {
            let numeric = figure.slope(along(&plan, unknown, |solution| figure.read(solution)), size).unwrap();
            let off = (found - numeric.slope).abs() / size;
            assert!(off < 1e-8, "{figure:?} by unknown {unknown}: {found} exact, {numeric:?}");
            worst = worst.max(off);
        }
    }
    eprintln!("worst difference {worst:e} of the value");
}

#[test]
fn a_probe_of_several_weights_has_the_gradient_of_the_weighted_sum() {
    // Currents of both kinds of branch together, one of them named twice, and drives of both fields.
    let plan = small_motor();
    let network = plan.build();
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&plan.field_impedances).unwrap();
    let weights = [(1, 1.0, 2.0), (2, -0.5, 0.3), (1, 0.25, 0.0), (6, 3.0, -1.0)]
        .map(|(branch, re, im)| (BranchId(branch), Complex64::new(re, im)));
    let drive_weights = [(0, 0.7, 0.1), (1, -1.2, 0.4)].map(|(field, re, im)| (FieldId(field), Complex64::new(re, im)));
    for probe in [Probe::currents(weights.to_vec()), Probe::drives(drive_weights.to_vec())] {
        let exact = gradient(&plan, &solution, &probe, &solution.adjoint(&probe).unwrap());
        let size = probe.value(&solution).norm();
        for (unknown, &found) in exact.iter().enumerate() {
            let numeric = slopes(along(&plan, unknown, |solution| probe.value(solution)))[0].re;
            assert!((found - numeric).abs() < 1e-9 * size, "unknown {unknown}: {found} exact, {numeric} numeric");
        }
    }
}

#[test]
fn unloading_by_no_admittance_changes_nothing() {
    let plan = small_motor();
    let network = plan.build();
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&plan.field_impedances).unwrap();
    let loaded = solution.loaded(NetId(3), NetId(1), 0.0).unwrap();
    for net in 0..plan.net_count {
        assert_eq!(loaded.potential(NetId(net)), solution.potential(NetId(net)));
    }
}

#[test]
fn a_source_that_happens_to_be_zero_still_has_a_gradient() {
    // The source is x - y with x = y, so its branch has no current unknown. By hand: dI/dx = x / R with R = 40 ohms.
    let source = |x: f64| {
        let x = Quantity::log_unknown(12.0, UnknownId(0), x);
        &x - &Quantity::constant(12.0)
    };
    let build = |x: f64| {
        network(2, &[Branch { source: source(x), ..branch(0, 1, 30.0, 0.0, 0.0) }, branch(1, 0, 10.0, 0.0, 0.0)])
    };
    let network = build(0.0);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&[]).unwrap();
    for (id, voltage) in [(0, -3.0), (1, 3.0)] {
        let probe = Probe::currents(vec![(BranchId(id), Complex64::ONE)]);
        let mut current = [0.0];
        solution.add_gradient(&probe, &solution.adjoint(&probe).unwrap(), &mut current);
        assert!((current[0] - 12.0 / 40.0).abs() < 1e-14, "branch {id}: {}", current[0]);
        let ends = &network.branches()[id];
        let probe = Probe::voltage(ends.from, ends.to);
        let mut volts = [0.0];
        solution.add_gradient(&probe, &solution.adjoint(&probe).unwrap(), &mut volts);
        assert!((volts[0] - voltage).abs() < 1e-14, "branch {id}: {} volts", volts[0]);
    }
}

#[test]
fn unknowns_shared_by_several_values_add_up() {
    // One unknown in a resistance, a reactance and the turns at once: the gradient is the total derivative.
    let build = |deviation: f64| {
        let shared = Quantity::log_unknown(1.0, UnknownId(0), deviation);
        let mut network = Network::new(50.0, 3);
        network.add_branch(branch(0, 1, 0.5, 0.0, 100.0));
        let coil =
            Branch { resistance: &shared * 8.0, reactance: &(&shared * &shared) * 5.0, ..branch(1, 2, 8.0, 5.0, 0.0) };
        let wound = network.add_branch(coil);
        network.add_branch(Branch { resistance: &shared * 3.0, ..branch(2, 0, 3.0, 0.0, 0.0) });
        let field = network.add_field();
        network.add_link(Link { branch: wound, field, turns: shared, angle: 0.6, coupling: Coupling::Mutual });
        network
    };
    let field_impedance = [Complex64::new(7.0, 20.0)];
    let current = |deviation: f64| {
        let network = build(deviation);
        let factored = Factored::new(&network).unwrap();
        factored.solve(&field_impedance).unwrap().current(BranchId(1)).norm()
    };
    let network = build(0.0);
    let factored = Factored::new(&network).unwrap();
    let solution = factored.solve(&field_impedance).unwrap();
    let value = solution.current(BranchId(1));
    let probe = Probe::currents(vec![(BranchId(1), Complex64::ONE)]).scaled(Probe::magnitude_weights(value));
    let mut exact = [0.0];
    solution.add_gradient(&probe, &solution.adjoint(&probe).unwrap(), &mut exact);
    let numeric = slopes(AROUND.map(|steps| current(steps * STEP).into()))[0].re;
    assert!((exact[0] - numeric).abs() < 1e-9 * value.norm(), "{} exact, {numeric} numeric", exact[0]);
}

#[test]
fn a_magnitude_of_exactly_zero_has_no_direction() {
    assert_eq!(Probe::magnitude_weights(Complex64::ZERO), Complex64::ZERO);
    let weight = Probe::magnitude_weights(Complex64::new(3.0, -4.0));
    assert!((weight - Complex64::new(0.6, 0.8)).norm() < 1e-15);
}
