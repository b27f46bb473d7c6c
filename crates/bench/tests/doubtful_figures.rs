//! Jobs that can be used and are warned of: figures that are hardly a real part's, parts without a path, connections that
//! would burn. Every unit is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::{Job, read};
use bench::{FaultSet, Measure, Meter, observe};

/// A unit on 230 V, 50 Hz with parts and wires, live in setup `on`.
fn text(parts: &str, wires: &[(&str, &str)]) -> String {
    let wires: Vec<String> = wires.iter().map(|(from, to)| format!("{{ from = \"{from}\", to = \"{to}\" }}")).collect();
    format!(
        "wires = [{}]\n[unit]\nname = \"Invented\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n{parts}\n\
         [setups.on]\nsupply = \"on\"\n",
        wires.join(", ")
    )
}

/// A motor `M1` between hot and neutral.
fn motor(kind: &str, plate: &str) -> String {
    let run = if kind == "capacitor-run-motor" || kind == "shaded-pole-motor" { "M1.run" } else { "M1.a" };
    text(
        &format!("[parts.M1]\nkind = \"{kind}\"\nplate = {{ hertz = 50, {plate} }}"),
        &[("supply.hot", run), ("M1.common", "supply.neutral")],
    )
}

fn job(text: &str) -> Job {
    read("job.toml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

fn warnings(text: &str) -> Vec<String> {
    job(text).warnings.0.iter().map(ToString::to_string).collect()
}

fn assert_warned(text: &str, words: &[&str]) {
    let warnings = warnings(text);
    assert!(
        warnings.iter().any(|warning| words.iter().all(|words| warning.contains(words))),
        "{words:?}: {warnings:?}"
    );
}

fn watts(job: &Job) -> f64 {
    let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &FaultSet::none())];
    let measure = Measure::Watts(job.unit.supply());
    observe(&job.unit, &job.setups[0], &FaultSet::none(), &medians, |observed| {
        observed.value(measure, &Meter::handheld())
    })
    .unwrap()
    .unwrap()
}

#[test]
fn plate_watts_are_met_or_said_not_to_be() {
    let plate =
        |watts: f64| motor("shaded-pole-motor", &format!("volts = 230, amps = 0.38, rpm = 1250, watts = {watts}"));
    for met in [45.0, 52.0, 68.0, 82.0] {
        assert_eq!(warnings(&plate(met)), Vec::<String>::new());
        assert!((watts(&job(&plate(met))) / met - 1.0).abs() < 0.02, "{met}: {}", watts(&job(&plate(met))));
    }
    assert_warned(
        &plate(12.0),
        &["'M1'", "plate watts of 12 W cannot be met", "leave watts out if the plate means shaft"],
    );
    let spread = |text: &str, words: &str| {
        let job = job(text);
        job.unit.unknowns().iter().find(|unknown| unknown.words == words).unwrap().log_spread
    };
    for words in ["magnetising reactance", "main winding ohms", "core loss"] {
        assert!(spread(&plate(12.0), words) > spread(&plate(68.0), words), "{words}");
    }
}

#[test]
fn figures_of_no_real_part() {
    assert_warned(
        &motor("shaded-pole-motor", "volts = 230, amps = 0.38, rpm = 1250, main_ohms = 0.01"),
        &["main_ohms of 0.01 ohm are hardly those of such a motor", "expected about"],
    );
    let parts = "[parts.C1]\nkind = \"run-capacitor\"\nmicrofarads = 0.0025\n[parts.H]\nkind = \"heater\"\nvolts = 230\nwatts = 100";
    assert_warned(
        &text(
            parts,
            &[("supply.hot", "H.a"), ("H.b", "supply.neutral"), ("supply.hot", "C1.a"), ("C1.b", "supply.neutral")],
        ),
        &["'C1'", "0.0025 uF is hardly the mark", "write microfarads"],
    );
    let parts = "[parts.T]\nkind = \"transformer\"\nvolt_amperes = 40\nwindings.p = [\"a\", 230, \"b\"]\n\
                 windings.s = [\"c\", 24, \"d\"]\nwinding_ohms = { s = 3000 }";
    // 40 VA at 24 V are 1.67 A: 7.2 ohm drop half of the volts.
    assert_warned(
        &text(parts, &[("supply.hot", "T.a"), ("T.b", "supply.neutral")]),
        &["3000 ohm are too many for winding 's'", "at most 7.20 ohm"],
    );
}

#[test]
fn a_part_without_a_path_is_named() {
    let parts = "[parts.M1]\nkind = \"shaded-pole-motor\"\nplate = { volts = 230, hertz = 50, amps = 0.38, rpm = 1250 }\n\
                 [parts.H]\nkind = \"heater\"\nvolts = 230\nwatts = 100";
    let whole =
        [("supply.hot", "M1.run"), ("M1.common", "supply.neutral"), ("supply.hot", "H.a"), ("H.b", "supply.neutral")];
    assert_eq!(warnings(&text(parts, &whole)), Vec::<String>::new());
    for (left_out, name) in [(1, "M1"), (3, "H")] {
        let wires: Vec<_> =
            whole.iter().enumerate().filter(|(index, _)| *index != left_out).map(|(_, wire)| *wire).collect();
        let found = warnings(&text(parts, &wires));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains(&format!("does '{name}' take any power: there is no path through it")), "{found:?}");
    }
}

#[test]
fn iron_with_far_too_many_volts() {
    let plate = |volts: u32| motor("capacitor-run-motor", &format!("volts = {volts}, amps = 0.45, rpm = 1350"));
    // Rated volts, and 15 % more than them, are ordinary.
    assert_eq!(warnings(&plate(230)), Vec::<String>::new());
    assert_eq!(warnings(&plate(200)), Vec::<String>::new());
    assert_warned(
        &plate(115),
        &["in setup 'on' the iron of 'M1' gets 2.0 times its rated volts", "do not apply power"],
    );
    let parts = |wires: &[(&str, &str)]| {
        let parts = "[parts.T]\nkind = \"transformer\"\nvolt_amperes = 40\n\
                     windings.p = [\"a\", 115, \"b\"]\n\
                     windings.q = [\"c\", 115, \"d\"]\n\
                     windings.s = [\"e\", 24, \"f\"]";
        text(parts, wires)
    };
    let series = [("supply.hot", "T.a"), ("T.b", "T.c"), ("T.d", "supply.neutral")];
    let parallel = [("supply.hot", "T.a"), ("supply.hot", "T.c"), ("T.b", "supply.neutral"), ("T.d", "supply.neutral")];
    assert_eq!(warnings(&parts(&series)), Vec::<String>::new());
    assert_warned(&parts(&parallel), &["the iron of 'T' gets 2.0 times its rated volts"]);
}

/// By hand: a delta for 230 V on 400 V is at 1.74 times its volts; nine leads in parallel (two halves of a phase beside each
/// other) at the volts for series get twice theirs.
#[test]
fn three_phase_motors_joined_for_fewer_volts() {
    let three_phase = |volts: u32, connection: &str, plate: &str, wires: &str| {
        format!(
            "wires = [{wires}]\n[unit]\nname = \"Invented\"\n[parts.supply]\nkind = \"three-phase-supply\"\nvolts = {volts}\n\
             hertz = 60\n[parts.M1]\nkind = \"three-phase-motor\"\nconnection = \"{connection}\"\nplate = {{ {plate} }}\n\
             [setups.on]\nsupply = \"on\"\n"
        )
    };
    let wires = |pairs: &[(&str, &str)]| -> String {
        pairs.iter().map(|(from, to)| format!("{{ from = \"{from}\", to = \"{to}\" }}, ")).collect()
    };
    let plate = "volts = 230, hertz = 60, amps = 2, rpm = 1720";
    let delta = wires(&[
        ("supply.line-1", "M1.u1"),
        ("supply.line-2", "M1.v1"),
        ("supply.line-3", "M1.w1"),
        ("M1.u1", "M1.w2"),
        ("M1.v1", "M1.u2"),
        ("M1.w1", "M1.v2"),
    ]);
    assert_eq!(warnings(&three_phase(230, "six-lead", plate, &delta)), Vec::<String>::new());
    assert_warned(&three_phase(400, "six-lead", plate, &delta), &["the iron of 'M1' gets 1.7 times"]);
    let plate = "volts = 460, hertz = 60, amps = 1, rpm = 1720";
    let low = wires(&[
        ("supply.line-1", "M1.t1"),
        ("supply.line-2", "M1.t2"),
        ("supply.line-3", "M1.t3"),
        ("M1.t1", "M1.t7"),
        ("M1.t2", "M1.t8"),
        ("M1.t3", "M1.t9"),
        ("M1.t4", "M1.t5"),
        ("M1.t5", "M1.t6"),
    ]);
    assert_eq!(warnings(&three_phase(230, "nine-lead", plate, &low)), Vec::<String>::new());
    assert_warned(&three_phase(460, "nine-lead", plate, &low), &["the iron of 'M1' gets 2.0 times"]);
    let odd = "volts = 230, hertz = 60, watts = 550, shaft_watts = 40, rpm = 1720";
    assert_warned(&three_phase(230, "six-lead", odd, &delta), &["its plate makes an efficiency of 7 %"]);
}

#[test]
fn a_transformer_behind_a_diode() {
    let parts = "[parts.D]\nkind = \"half-wave-diode\"\n[parts.T]\nkind = \"transformer\"\nvolt_amperes = 40\n\
                 windings.p = [\"a\", 230, \"b\"]\n\
                 windings.s = [\"c\", 24, \"d\"]\n[parts.H]\nkind = \"heater\"\nvolts = 230\nwatts = 100";
    let behind =
        [("supply.hot", "D.a"), ("D.b", "T.a"), ("T.b", "supply.neutral"), ("D.b", "H.a"), ("H.b", "supply.neutral")];
    assert_warned(&text(parts, &behind), &["'T' is behind the diode 'D'", "do not rely on its amps"]);
    let beside = [
        ("supply.hot", "D.a"),
        ("supply.hot", "T.a"),
        ("T.b", "supply.neutral"),
        ("D.b", "H.a"),
        ("H.b", "supply.neutral"),
    ];
    assert_eq!(warnings(&text(parts, &beside)), Vec::<String>::new());
}

#[test]
fn a_motor_for_few_volts_is_asked_about() {
    let parts = "[parts.M1]\nkind = \"universal-motor\"\nplate = { volts = 12, amps = 30 }";
    let wires = [("supply.hot", "M1.field-a"), ("M1.field-b", "M1.brush-1"), ("M1.brush-2", "supply.neutral")];
    let problems = read("job.toml", &text(parts, &wires)).map(|_| ()).unwrap_err();
    assert!(problems.to_string().contains("whether 'M1', made for 12 V is on the mains"), "{problems}");
}
