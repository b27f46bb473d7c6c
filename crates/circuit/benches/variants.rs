//! Measures how many readings of variants one core evaluates in a second, on networks of 24 and of 60 nets in which every
//! pair of changes is tried, beside solving every variant from the start with this crate and with nalgebra, and beside
//! NumPy where `FAULTWRIGHT_PYTHON` names an interpreter that has it. Only the ratios mean something elsewhere.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use circuit::variants::{Change, Compiled, Evaluated, Reading, Variant};
use circuit::{Branch, BranchId, Complex64, Factored, NetId, Network};
use criterion::{BatchSize, Criterion};
use nalgebra::{DMatrix, DVector};
use serde_json::json;
use std::hint::black_box;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

/// A supply that feeds banks of heaters and motor windings through contacts, every net insulated from the frame.
struct Unit {
    network: Network,
    readings: Vec<Reading>,
    changes: Vec<Change>,
    variants: Vec<Variant>,
}

fn branch(from: usize, to: usize, impedance: Complex64, source: f64) -> Branch {
    Branch {
        from: NetId(from),
        to: NetId(to),
        resistance: impedance.re.into(),
        reactance: impedance.im.into(),
        source: source.into(),
        source_angle: 0.0,
        passes_direct_current: impedance.im >= 0.0,
    }
}

impl Unit {
    fn new(nets: usize) -> Self {
        let mut network = Network::new(50.0, nets);
        let mut changes = Vec::new();
        network.add_branch(branch(0, 1, Complex64::new(0.4, 0.2), 230.0));
        let mut change = |network: &mut Network, from, to, impedance: Complex64, changed: &[f64]| {
            let id = network.add_branch(branch(from, to, impedance, 0.0));
            changes.push(Change::Open(id));
            changes.extend(changed.iter().map(|ohms| Change::Impedance(id, (*ohms).into())));
        };
        // Rungs of a contact, a coil or heater and the return of three nets each.
        for rung in 0..(nets - 2) / 2 {
            let (contact, back) = (2 + 2 * rung, 3 + 2 * rung);
            if back < nets {
                let load = Complex64::new(40.0 + 7.0 * rung as f64, if rung % 3 == 0 { 30.0 } else { 0.0 });
                change(&mut network, 1, contact, 0.02.into(), &[5.0]);
                change(&mut network, contact, back, load, &[0.01, load.re * 0.5]);
                change(&mut network, back, 0, 0.03.into(), &[]);
                network.add_branch(branch(contact, 0, 2e7.into(), 0.0));
                if rung > 0 {
                    network.add_branch(branch(back - 2, back, 8e3.into(), 0.0));
                }
            }
        }
        let readings = (0..12).map(|place| Reading::Volts(NetId(1 + place * (nets - 2) / 12), NetId(0))).collect();
        let pairs = |first| (first + 1..changes.len()).map(move |second| Variant::Two(first, second));
        let is_pair = |variant: &Variant| match *variant {
            Variant::Two(first, second) => place(&changes[first]) != place(&changes[second]),
            Variant::One(_) => true,
        };
        let variants = (0..changes.len()).flat_map(pairs).filter(is_pair).collect();
        Unit { network, readings, changes, variants }
    }

    fn changed(&self, variant: Variant) -> Network {
        let Variant::Two(first, second) = variant else { panic!("a pair") };
        let mut branches = self.network.branches().to_vec();
        for change in [self.changes[first], self.changes[second]] {
            let branch = &mut branches[place(&change).0];
            branch.resistance = ohms(&change).into();
            branch.reactance = 0.0.into();
        }
        let mut network = Network::new(50.0, self.network.net_count());
        for branch in branches {
            network.add_branch(branch);
        }
        network
    }
}

fn place(change: &Change) -> BranchId {
    match *change {
        Change::Open(branch) | Change::Impedance(branch, _) => branch,
        _ => panic!("not used here"),
    }
}

/// For solvers that know no opens, one of an exaohm.
fn ohms(change: &Change) -> f64 {
    if let Change::Impedance(_, impedance) = change { impedance.re } else { 1e18 }
}

/// Nodal equations with sources as currents, for general solvers.
fn nodal(network: &Network) -> (DMatrix<Complex64>, DVector<Complex64>) {
    let size = network.net_count() - 1;
    let (mut matrix, mut injected) = (DMatrix::zeros(size, size), DVector::zeros(size));
    for branch in network.branches() {
        let admittance = Complex64::new(branch.resistance.value(), branch.reactance.value()).inv();
        let ends = [(branch.from.0, Complex64::ONE), (branch.to.0, -Complex64::ONE)];
        for (a, sign_a) in ends.into_iter().filter(|(net, _)| *net > 0) {
            injected[a - 1] -= sign_a * admittance * branch.source.value();
            for (b, sign_b) in ends.into_iter().filter(|(net, _)| *net > 0) {
                matrix[(a - 1, b - 1)] += sign_a * sign_b * admittance;
            }
        }
    }
    (matrix, injected)
}

fn net(reading: &Reading) -> usize {
    if let Reading::Volts(net, _) = reading { net.0 } else { panic!("not used here") }
}

/// Best of several passes, in values per second.
fn fastest(values: usize, mut pass: impl FnMut()) -> f64 {
    let began = Instant::now();
    let mut best = f64::INFINITY;
    while began.elapsed().as_secs_f64() < 2.0 {
        let start = Instant::now();
        pass();
        best = best.min(start.elapsed().as_secs_f64());
    }
    values as f64 / best
}

fn report(unit: &Unit, compiled: &Compiled<'_>) {
    let mut evaluated = Evaluated::default();
    let count = unit.variants.len() * unit.readings.len();
    let own = fastest(count, || compiled.evaluate(black_box(&unit.variants), &mut evaluated));
    println!(
        "{} nets, {} pairs of {} changes, {:?}",
        unit.network.net_count(),
        unit.variants.len(),
        unit.changes.len(),
        evaluated.work
    );
    println!("  {own:12.0} values/s on this core: kept columns");
    // Fewer of them where each is a whole solution.
    let sample: Vec<(usize, Network)> =
        (0..unit.variants.len()).step_by(37).map(|place| (place, unit.changed(unit.variants[place]))).collect();
    let sampled = sample.len() * unit.readings.len();
    let mut worst: f64 = 0.0;
    let factored = fastest(sampled, || {
        for (place, network) in &sample {
            let factored = Factored::new(network).unwrap();
            let solution = factored.solve(&[]).unwrap();
            for (reading, value) in unit.readings.iter().zip(evaluated.values(*place).unwrap()) {
                worst = worst.max((solution.potential(NetId(net(reading))) - value).norm() / 230.0);
            }
        }
    });
    println!("  {factored:12.0} values/s: factorised anew ({:.0} times slower), off by {worst:.1e}", own / factored);
    assert!(worst < 1e-9, "speed is only worth something between equal answers");
    let systems: Vec<_> = sample.iter().map(|(_, network)| nodal(network)).collect();
    let dense = fastest(sampled, || {
        for (matrix, injected) in &systems {
            let solved = matrix.clone().lu().solve(injected).unwrap();
            for reading in &unit.readings {
                black_box(solved[net(reading) - 1]);
            }
        }
    });
    println!(
        "  {dense:12.0} values/s: nalgebra's LU of nodal equations laid out before ({:.0} times slower)",
        own / dense
    );
    numpy(unit, own, &evaluated);
}

fn numpy(unit: &Unit, own: f64, evaluated: &Evaluated) {
    let Ok(python) = std::env::var("FAULTWRIGHT_PYTHON") else { return };
    let (matrix, injected) = nodal(&unit.network);
    let pair = |phasor: Complex64| json!([phasor.re, phasor.im]);
    let branch = |change: &Change| &unit.network.branches()[place(change).0];
    let size = |change: &Change| {
        let branch = branch(change);
        pair((1.0 / ohms(change)) - Complex64::new(branch.resistance.value(), branch.reactance.value()).inv())
    };
    let given = json!({
        "matrix": matrix.row_iter().map(|row| row.iter().copied().map(pair).collect()).collect::<Vec<Vec<_>>>(),
        "injected": injected.iter().copied().map(pair).collect::<Vec<_>>(),
        "readings": unit.readings.iter().map(|reading| [net(reading), 0]).collect::<Vec<_>>(),
        "branches": unit.changes.iter().map(|change| [branch(change).from.0, branch(change).to.0]).collect::<Vec<_>>(),
        "sizes": unit.changes.iter().map(size).collect::<Vec<_>>(),
        "pairs": unit.variants.iter().map(|variant| match *variant {
            Variant::Two(first, second) => [first, second],
            Variant::One(change) => [change, change],
        }).collect::<Vec<_>>(),
    });
    let program = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/variants_speed.py");
    let mut child = Command::new(python)
        .arg(program)
        .env("OPENBLAS_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(given.to_string().as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    let said: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rate = |name: &str| said[name].as_f64().unwrap();
    let first = Complex64::new(said["first"][0].as_f64().unwrap(), said["first"][1].as_f64().unwrap());
    let off = (first - evaluated.values(0).unwrap()[0]).norm() / 230.0;
    assert!(off < 1e-6, "NumPy finds something else: {off:e}");
    for (name, what) in
        [("dense_per_second", "batched dense solutions"), ("updates_per_second", "batched rank-2 updates, unguarded")]
    {
        println!("  {:12.0} values/s: NumPy, {what} ({:.1} times slower)", rate(name), own / rate(name));
    }
}

fn main() {
    let units = [Unit::new(24), Unit::new(60)];
    let mut criterion = Criterion::default().configure_from_args().sample_size(20);
    for unit in &units {
        let compile = || Compiled::phasor(&unit.network, &[], &unit.readings, &unit.changes).unwrap();
        let compiled = compile();
        let mut group = criterion.benchmark_group(format!("{} nets", unit.network.net_count()));
        group.bench_function("compile", |bencher| bencher.iter_batched(|| (), |()| compile(), BatchSize::SmallInput));
        let mut evaluated = Evaluated::default();
        group.bench_function("all pairs, 12 readings", |bencher| {
            bencher.iter(|| compiled.evaluate(black_box(&unit.variants), &mut evaluated));
        });
        group.finish();
        if std::env::args().any(|argument| argument == "--bench") {
            report(unit, &compiled);
        }
    }
    criterion.final_summary();
}
