//! Units of parts from the whole catalogue, wired at random, against a dense solution by `reference/units.py`.
//!
//! `data/units.json` holds the laid-out networks of the units, with slips and rotor values of their machines at the speeds
//! that they settle at; `data/units_solved.json` what NumPy makes of them. This test builds the units anew, holds them to
//! the first file, and their solutions to the second.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::edit::{Edit, apply};
use bench::kinds::KIND_NAMES;
use bench::kinds::catalogue::catalogue;
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Observed, Unit, observe};
use circuit::{BranchId, Complex64, Coupling, NetId};
use machine::conversion::Conversion;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

const UNITS: usize = 48;
/// Parts of a unit besides supply and cord.
const PARTS: usize = 6;
/// Set this variable to write the networks anew after a change of parts; then run `reference/units.py`.
const UPDATE: &str = "UPDATE_UNITS";
/// Of the networks against the stored ones: libraries differ in the last digits of their functions.
const SAME_NETWORK: f64 = 1e-9;
/// Of solutions, as a share of the largest of their sort.
const TOLERANCE: f64 = 1e-9;

/// Torques below this, newton metres, turn nothing; they are held to this scale.
const LEAST_TORQUE: f64 = 1e-3;

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014): numbers that are the same everywhere.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    fn chance(&mut self, share: f64) -> bool {
        self.share() < share
    }
}

/// A supply with its cord, and the ends of the cord inside the unit.
const SUPPLIES: [(&str, &str, &[&str]); 3] = [
    ("supply", "volts = 230", &["hot", "neutral", "earth"]),
    ("two-leg-supply", "volts = 240", &["leg-1", "leg-2", "neutral", "earth"]),
    ("three-phase-supply", "volts = 400", &["line-1", "line-2", "line-3", "neutral", "earth"]),
];

/// Kinds that are little but conductors: across the supply they would only open its breaker.
const CONDUCTORS: [&str; 12] = [
    "switch",
    "splice",
    "fuse",
    "thermal-fuse",
    "thermal-cutout",
    "manual-reset-cutout",
    "overload-relay",
    "thermostat",
    "relay",
    "sequencer",
    "current-relay",
    "potential-relay",
];

/// Kinds that hang between conductors.
fn kinds() -> Vec<&'static str> {
    KIND_NAMES.iter().copied().filter(|kind| *kind != "cord" && !kind.ends_with("supply")).collect()
}

/// The text of a job with parts of these kinds, their fields those of the catalogue's examples, all or the least.
fn parts_text(random: &mut Random, supply: usize, wanted: &[&str]) -> String {
    let (supply_kind, volts, conductors) = SUPPLIES[supply];
    let mut text = format!(
        "[unit]\nname = \"x\"\n[parts.mains]\nkind = \"{supply_kind}\"\n{volts}\nhertz = 50\nbreaker_amps = 63\n\
         [parts.cord]\nkind = \"cord\"\nconductors = {conductors:?}\n"
    );
    for (index, kind) in wanted.iter().enumerate() {
        let entry = catalogue().into_iter().find(|entry| entry.kind == *kind).unwrap();
        let whole = random.chance(0.7);
        let fields = entry.fields.iter().filter(|field| field.name != "make" && (whole || field.is_required));
        let fields = fields.map(|field| (field.name.clone(), field.example.to_owned())).collect();
        let edit = Edit::SetPart { name: format!("X{index}"), kind: (*kind).into(), fields };
        text = apply(&text, &edit).unwrap_or_else(|error| panic!("{kind}: {error}"));
    }
    text
}

/// These parts wired at random, and a setup with positions at random; `None` if it is no job, such as a dead short.
fn random_job(random: &mut Random, supply: usize, wanted: &[&str], parts: &str, unit: &Unit) -> Option<Job> {
    let conductors = SUPPLIES[supply].2;
    let mut text = parts.to_owned();
    let live: Vec<String> = conductors[..conductors.len() - 2].iter().map(|name| format!("cord.{name}")).collect();
    let part_ends = |index: usize| {
        let part = unit.find_part(&format!("X{index}")).unwrap();
        unit.terminals_of(part).map(|terminal| unit.terminal_name(bench::TerminalId(terminal)))
    };
    let mut wires = BTreeSet::new();
    let mut before: Vec<String> = Vec::new();
    for (index, kind) in wanted.iter().enumerate() {
        let is_conductor = CONDUCTORS.contains(kind);
        for (place, end) in part_ends(index).enumerate() {
            let other = match random.share() {
                share if share < 0.4 && !(is_conductor && place > 0) => live[random.below(live.len())].clone(),
                share if share < 0.75 && !is_conductor => "cord.neutral".to_owned(),
                share if share < 0.95 && !before.is_empty() => before[random.below(before.len())].clone(),
                share if share < 0.97 => "frame".to_owned(),
                _ => continue,
            };
            wires.insert((end, other));
        }
        before.extend(part_ends(index));
    }
    for (from, to) in &wires {
        text += &format!("[[wires]]\nfrom = \"{from}\"\nto = \"{to}\"\n");
    }
    if random.chance(0.7) {
        text += "[[wires]]\nfrom = \"cord.earth\"\nto = \"frame\"\n";
    }
    text += "[setups.on]\nsupply = \"on\"\n";
    text += &format!("winding_celsius = {}\n", 20 + random.below(60));
    text += "[setups.on.positions]\n";
    for part in unit.parts() {
        let positions = part.kind.positions();
        if !positions.is_empty() && random.chance(0.7) {
            text += &format!("{} = \"{}\"\n", part.name, positions[random.below(positions.len())]);
        }
    }
    bench::job::read("job.toml", &text).ok()
}

/// A complex number as JSON.
fn pair(value: Complex64) -> Value {
    json!([value.re, value.im])
}

/// The network of a solved unit, and what its fields are made of.
fn described(observed: &Observed<'_>, kinds: &[&str]) -> Value {
    let (assembly, steady) = (&observed.wired().assembly, observed.steady().unwrap());
    let branches = assembly.network.branches().iter().map(|branch| {
        let source = Complex64::from_polar(branch.source.value(), branch.source_angle);
        json!([branch.from.0, branch.to.0, branch.resistance.value(), branch.reactance.value(), source.re, source.im])
    });
    let links = assembly.network.links().iter().map(|link| {
        let coupling = match link.coupling {
            Coupling::Mutual => "mutual",
            Coupling::Drives => "drives",
            Coupling::Feels => "feels",
        };
        json!([link.branch.0, link.field.0, link.turns.value(), link.angle, coupling])
    });
    let machines = assembly.machines.iter().zip(steady.speed_ratios()).map(|(machine, ratio)| {
        let mut described = match &machine.conversion {
            Conversion::Induction { field, rotor } => json!({
                "forward": field.forward.0,
                "backward": field.backward.0,
                "magnetising": rotor.magnetising.value(),
                "resistance": rotor.resistance.value(),
                "leakage": rotor.leakage.value(),
            }),
            Conversion::Commutator(commutator) => json!({
                "excitation": commutator.excitation.0,
                "armature": commutator.armature.0,
                "speed_ohms": commutator.speed_ohms.value(),
                "shorted_ohms": commutator.shorted_ohms.value(),
            }),
        };
        described["ratio"] = json!(ratio);
        described["reference_speed"] = json!(machine.reference_speed);
        described
    });
    let cores = assembly.cores.iter().map(|core| json!([core.field.0, core.magnetising.value()]));
    json!({
        "kinds": kinds,
        "nets": assembly.network.net_count(),
        "branches": branches.collect::<Vec<_>>(),
        "links": links.collect::<Vec<_>>(),
        "fields": assembly.network.field_count(),
        "machines": machines.collect::<Vec<_>>(),
        "cores": cores.collect::<Vec<_>>(),
    })
}

/// What the crates make of it: potentials, currents, torques.
fn solved(observed: &Observed<'_>) -> Value {
    let (network, steady) = (&observed.wired().assembly.network, observed.steady().unwrap());
    let solution = steady.solution();
    json!({
        "potentials": (0..network.net_count()).map(|net| pair(solution.potential(NetId(net)))).collect::<Vec<_>>(),
        "currents": (0..network.branches().len()).map(|id| pair(solution.current(BranchId(id)))).collect::<Vec<_>>(),
        "torques": (0..observed.wired().assembly.machines.len()).map(|m| steady.torque(m)).collect::<Vec<_>>(),
    })
}

/// Whether there is something to compare: a settled unit that takes current, with its breaker closed.
fn is_of_use(observed: &Observed<'_>) -> bool {
    let lives = observed.wired().assembly.network.branches().iter().any(|branch| branch.source.value() != 0.0);
    let carries = (0..observed.wired().assembly.network.branches().len())
        .any(|branch| observed.steady().unwrap().solution().current(BranchId(branch)).norm() > 0.05);
    observed.settled() && !observed.breaker_opened() && lives && carries
}

/// The units, always the same ones: each network with its solution.
fn random_units() -> Vec<(Value, Value)> {
    let mut random = Random(2028);
    let all = kinds();
    let mut units = Vec::new();
    let mut rest: Vec<&str> = Vec::new();
    while units.len() < UNITS {
        // Kinds are drawn without return until all have had their turn.
        while rest.len() < PARTS {
            let mut more = all.clone();
            while !more.is_empty() {
                rest.push(more.swap_remove(random.below(more.len())));
            }
        }
        let wanted = &rest[..PARTS];
        let supply = units.len() % SUPPLIES.len();
        let text = parts_text(&mut random, supply, wanted);
        let unit = bench::job::read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}")).unit;
        let mut used = vec![SUPPLIES[supply].0, "cord"];
        used.extend(wanted);
        let found = (0..5000).find_map(|_| {
            let job = random_job(&mut random, supply, wanted, &text, &unit);
            solve_at_random(&mut random, &job?, &used)
        });
        units.push(found.unwrap_or_else(|| panic!("none of 5000 wirings of {used:?} is of use")));
        rest.drain(..PARTS);
    }
    units
}

/// A unit with values off their medians and perhaps a fault; `None` if there is nothing to compare.
fn solve_at_random(random: &mut Random, job: &Job, kinds: &[&str]) -> Option<(Value, Value)> {
    let labels = if random.chance(0.5) { vec![random.below(job.unit.faults().len())] } else { Vec::new() };
    let faults = FaultSet(labels);
    let deviations: Vec<f64> = (0..unknown_count(&job.unit, &faults))
        .map(|index| {
            let spread = job.unit.unknowns().get(index).map_or(0.5, |unknown| unknown.log_spread);
            spread * (random.share() + random.share() - 1.0)
        })
        .collect();
    observe(&job.unit, &job.setups[0], &faults, &deviations, |observed| {
        is_of_use(observed).then(|| (described(observed, kinds), solved(observed)))
    })
    .unwrap()
}

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn stored(name: &str) -> Vec<Value> {
    serde_json::from_str(&std::fs::read_to_string(data(name)).unwrap()).unwrap()
}

/// Where two trees differ by more than a share of a number.
fn difference(a: &Value, b: &Value) -> Option<String> {
    match (a, b) {
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            a.iter().zip(b).enumerate().find_map(|(i, (a, b))| Some(format!("[{i}]{}", difference(a, b)?)))
        }
        (Value::Object(a), Value::Object(b)) if a.len() == b.len() => {
            a.iter().find_map(|(name, a)| Some(format!(".{name}{}", difference(a, b.get(name)?)?)))
        }
        (Value::Number(x), Value::Number(y)) => {
            let (x, y) = (x.as_f64().unwrap(), y.as_f64().unwrap());
            let near = (x - y).abs() <= SAME_NETWORK * x.abs().max(y.abs()).max(1e-6);
            (!near).then(|| format!(": {x} and {y}"))
        }
        _ => (a != b).then(|| format!(": {a} and {b}")),
    }
}

fn phasors(value: &Value) -> Vec<Complex64> {
    let number = |value: &Value| value.as_f64().unwrap();
    value.as_array().unwrap().iter().map(|pair| Complex64::new(number(&pair[0]), number(&pair[1]))).collect()
}

/// Largest difference of two lists of phasors, as a share of the largest.
fn worst(found: &Value, expected: &Value) -> f64 {
    let (found, expected) = (phasors(found), phasors(expected));
    assert_eq!(found.len(), expected.len());
    let largest = expected.iter().map(|phasor| phasor.norm()).fold(0.0, f64::max);
    found.iter().zip(&expected).map(|(a, b)| (a - b).norm() / largest).fold(0.0, f64::max)
}

#[test]
fn random_units_of_all_kinds_agree_with_a_dense_solution() {
    let units = random_units();
    if std::env::var_os(UPDATE).is_some() {
        let lines: Vec<String> = units.iter().map(|(network, _)| network.to_string()).collect();
        std::fs::write(data("units.json"), format!("[\n{}\n]\n", lines.join(",\n"))).unwrap();
    }
    let (networks, solutions) = (stored("units.json"), stored("units_solved.json"));
    assert_eq!((networks.len(), solutions.len()), (UNITS, UNITS));
    let (mut kinds, mut running) = (BTreeSet::new(), 0);
    let mut overall = [0.0f64; 3];
    for (index, (network, solution)) in units.iter().enumerate() {
        if let Some(place) = difference(network, &networks[index]) {
            panic!("unit {index}{place}: run this test with {UPDATE}=1, then reference/units.py");
        }
        kinds.extend(network["kinds"].as_array().unwrap().iter().map(|kind| kind.as_str().unwrap().to_owned()));
        let expected = &solutions[index];
        let volts = worst(&solution["potentials"], &expected["potentials"]);
        let amps = worst(&solution["currents"], &expected["currents"]);
        let mut torque: f64 = 0.0;
        let (found, torques) = (solution["torques"].as_array().unwrap(), expected["torques"].as_array().unwrap());
        assert_eq!(found.len(), torques.len());
        for (m, (found, expected)) in found.iter().zip(torques).enumerate() {
            // Of the two torques that oppose each other. One that is reached by leakage alone has micronewton metres, from
            // volts that are small differences of large ones; either program knows them to some eight digits.
            let (found, net, scale) =
                (found.as_f64().unwrap(), expected[0].as_f64().unwrap(), expected[1].as_f64().unwrap());
            torque = torque.max((found - net).abs() / scale.max(LEAST_TORQUE));
            running += usize::from(network["machines"][m]["ratio"] != json!(0.0));
        }
        assert!(volts < TOLERANCE, "unit {index}: potentials differ by {volts:e} of the largest");
        assert!(amps < TOLERANCE, "unit {index}: currents differ by {amps:e} of the largest");
        assert!(torque < TOLERANCE, "unit {index}: torques differ by {torque:e}");
        overall = [overall[0].max(volts), overall[1].max(amps), overall[2].max(torque)];
    }
    let known: BTreeSet<String> = KIND_NAMES.iter().map(|kind| (*kind).to_owned()).collect();
    assert_eq!(kinds, known, "a kind in no unit");
    assert!(running >= 8, "only {running} motors turn");
    eprintln!(
        "worst: volts {:e}, amperes {:e}, torque {:e}; {running} motors turn",
        overall[0], overall[1], overall[2]
    );
}
