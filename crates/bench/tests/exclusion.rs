//! Which faults of one part exclude each other, and that every two which do not can be laid out and solved together.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::exclusion::exclude_each_other;
use bench::wiring::unknown_count;
use bench::{FaultMode, FaultSet, Measure, Place, TerminalId, observe_values};
use std::collections::BTreeMap;

fn exclude(a: &str, b: &str) -> bool {
    let mode = |name: &str| FaultMode::new(name, "", 0.01, "replace {}");
    let (one, other) = (exclude_each_other(&mode(a), &mode(b)), exclude_each_other(&mode(b), &mode(a)));
    assert_eq!(one, other, "{a}, {b}: the order does not count");
    one
}

#[test]
fn an_element_has_one_state_and_two_elements_have_two() {
    for (a, b, why) in [
        ("open", "shorted", "one capacitor"),
        ("shorted", "leaky", "a short leaves nothing to leak"),
        ("low", "wrong-value", "one figure"),
        ("in-out-stuck-open", "in-out-welded", "one contact"),
        ("in-out-stuck-open", "in-out-burnt", "a contact that does not close has no face"),
        ("hot-open", "hot-bad-joint", "one conductor"),
        ("broken", "bad-joint", "one wire"),
        ("main-open", "main-shorted-turns", "one winding"),
        ("low-volts", "high-volts", "one supply"),
        ("wrong-winding", "wrong-poles-6", "one motor was fitted"),
        ("broken-a-to-frame", "to-frame", "whole or broken"),
        ("broken-a-to-frame", "open", "the same break"),
    ] {
        assert!(exclude(a, b), "{a}, {b}: {why}");
    }
    for (a, b, why) in [
        ("in1-out1-stuck-open", "in2-out2-stuck-open", "two contacts"),
        ("in1-out1-stuck-open", "in2-out2-welded", "two contacts"),
        ("in-out-welded", "in-out-burnt", "a burnt face may weld"),
        ("hot-open", "neutral-open", "two conductors"),
        ("low", "leaky", "an aged capacitor does both"),
        ("p1-p2-open", "s1-s2-open", "two windings"),
        ("main-open", "main-to-frame", "broken where it touches"),
        ("main-shorted-turns", "main-to-frame", "burnt insulation does both"),
        ("field-1-open", "field-2-open", "two coils"),
        ("brush-1-worn", "brush-2-worn", "two brushes"),
        ("broken-a-to-frame", "broken-b-to-frame", "two pieces"),
        ("open", "insulation-low", "the path and its insulation"),
        ("earth-open", "hot-neutral-interchanged", "an outlet wired by an amateur"),
    ] {
        assert!(!exclude(a, b), "{a}, {b}: {why}");
    }
}

#[test]
fn whatever_does_not_exclude_itself_can_be_solved_together() {
    let mut pairs = 0;
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../../demos")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|end| end != "toml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let job = bench::job::read("demo", &text).unwrap();
        let unit = &job.unit;
        let cold = bench::Setup::unplugged("cold");
        let mut by_place: BTreeMap<Place, Vec<usize>> = BTreeMap::new();
        for (index, fault) in unit.faults().iter().enumerate() {
            by_place.entry(fault.place).or_default().push(index);
        }
        for faults in by_place.values() {
            for (at, &a) in faults.iter().enumerate() {
                for &b in &faults[at + 1..] {
                    if exclude_each_other(&unit.faults()[a].mode, &unit.faults()[b].mode) {
                        continue;
                    }
                    pairs += 1;
                    let set = FaultSet(vec![a, b]);
                    let medians = vec![0.0; unknown_count(unit, &set)];
                    let measure = Measure::Ohms(TerminalId(0), unit.frame());
                    let ohms = observe_values(unit, &cold, &set, &medians, |seen| {
                        seen.value(measure, job.meter_for(measure)).unwrap()
                    });
                    let label = |fault: usize| unit.faults()[fault].label();
                    assert!(ohms.is_ok_and(|ohms| ohms >= 0.0), "{}: {}, {}", path.display(), label(a), label(b));
                }
            }
        }
    }
    assert!(pairs > 500, "{pairs}");
}

#[test]
fn a_winding_broken_where_it_touches_shows_both() {
    // The primary of the transformer and the main winding of the motor, each open and through to the frame.
    let text = r#"
wires = [
  { from = "cord.hot", to = "T1.p1" },
  { from = "T1.p2", to = "cord.neutral" },
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "M1.start", to = "C1.a" },
  { from = "C1.b", to = "cord.hot" },
]
[unit]
name = "Both wound parts"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.T1]
kind = "transformer"
volt_amperes = 50
windings.primary = ["p1", 230, "p2"]
windings.secondary = ["s1", 12, "s2"]
[parts.M1]
kind = "capacitor-run-motor"
taps = ["run"]
plate = { volts = 230, hertz = 50, amps = 0.45, rpm = 1350, poles = 4, microfarads = 2.5 }
[parts.C1]
kind = "run-capacitor"
microfarads = 2.5
volts = 450
[setups.on]
supply = "on"
"#;
    let job = bench::job::read("test", text).unwrap();
    let unit = &job.unit;
    let terminal = |name: &str| unit.find_terminal(name).unwrap();
    for (open, to_frame, first, second) in [
        ("T1 p1-p2-open", "T1 primary-to-frame", "T1.p1", "T1.p2"),
        ("M1 main-open", "M1 main-to-frame", "M1.run", "M1.common"),
    ] {
        let mut apart = bench::Setup::unplugged("apart");
        apart.lifted = [first, second].into_iter().chain(["M1.start"]).map(&terminal).collect();
        let ohms = |faults: &[&str], a: &str, b: &str| {
            let mut set = FaultSet(faults.iter().map(|label| unit.find_fault(label).unwrap()).collect());
            set.0.sort_unstable();
            let medians = vec![0.0; unknown_count(unit, &set)];
            let measure = Measure::Ohms(terminal(a), terminal(b));
            observe_values(unit, &apart, &set, &medians, |seen| seen.value(measure, job.meter_for(measure)).unwrap())
                .unwrap()
        };
        let both = [open, to_frame];
        // The path to the frame has 2000 ohms at its median; from the piece that touches nothing is added.
        let touching = ohms(&both, first, "frame");
        assert!((touching - 2000.0).abs() < 1.0, "{open}: {touching}");
        assert!(ohms(&both, first, second) > 1e6 && ohms(&both, second, "frame") > 1e6, "{open}");
        // Broken alone it does not touch.
        assert!(ohms(&[open], first, "frame") > 1e6, "{open}");
    }
}
