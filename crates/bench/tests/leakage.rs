//! What leaks: insulation, touch current, residual current, the earth-leakage trip, varistors and high volts.
//!
//! `data/leakage.json` holds small units solved in exact arithmetic by `reference/leakage.py`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::wiring::{Owner, severity_unknown, unknown_count};
use bench::{FaultSet, Job, Measure, Meter, TerminalId, observe};
use circuit::NetId;
use common::{
    Bench, CONTROL_BOX, ONE_FAN, POLISHER, STEAM, THREE_PHASE_FAN, TWO_BLOWERS, WARM_AIR, job, part, terminal,
};
use serde_json::Value;
use std::f64::consts::PI;

#[track_caller]
fn assert_near(what: &str, found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance * expected.abs(), "{what}: {found}, expected {expected}");
}

fn leakage(bench: &Bench<'_>, in_setup: &str, of: &str) -> f64 {
    let measure = Measure::LeakageMilliamps(part(&bench.job.unit, of));
    bench.value_by(in_setup, measure, &Meter::handheld()).unwrap()
}

fn touch(bench: &Bench<'_>, in_setup: &str, at: &str) -> f64 {
    let measure = Measure::TouchMilliamps(terminal(&bench.job.unit, at));
    bench.value_by(in_setup, measure, &Meter::handheld()).unwrap()
}

/// The unit of a stored case.
fn stored_unit(case: &Value) -> Job {
    let number = |name: &str| case[name].as_f64().unwrap();
    let supply = case["supply"].as_str().unwrap();
    let live: &[&str] = if supply == "supply" { &["hot", "neutral"] } else { &["leg-1", "leg-2", "neutral"] };
    let (a, b) = (live[0], live[1]);
    let nanofarads = number("earth_nanofarads");
    let filter = match nanofarads > 0.0 {
        false => String::new(),
        true => format!(
            "[parts.Z1]\nkind = \"interference-filter\"\nacross_microfarads = {}\nearth_nanofarads = {nanofarads}\n",
            number("across_microfarads")
        ),
    };
    let wires = match nanofarads > 0.0 {
        false => {
            format!("wires = [ {{ from = \"cord.{a}\", to = \"H1.a\" }}, {{ from = \"cord.{b}\", to = \"H1.b\" }},")
        }
        true => {
            "wires = [ { from = \"cord.hot\", to = \"Z1.hot\" }, { from = \"cord.neutral\", to = \"Z1.neutral\" }, \
                 { from = \"Z1.load-hot\", to = \"H1.a\" }, { from = \"Z1.load-neutral\", to = \"H1.b\" }, \
                 { from = \"Z1.earth\", to = \"frame\" },"
                .to_owned()
        }
    };
    job(&format!(
        "{wires} {{ from = \"cord.earth\", to = \"frame\" }} ]\n[unit]\nname = \"x\"\n\
         [parts.supply]\nkind = \"{supply}\"\nvolts = {}\nhertz = {}\nsource_ohms = {}\n\
         [parts.cord]\nkind = \"cord\"\nconductors = {:?}\n[parts.H1]\nkind = \"heater\"\nvolts = {}\nwatts = {}\n\
         {filter}[setups.on]\nsupply = \"on\"\n",
        number("volts"),
        number("hertz"),
        number("source_ohms") * if supply == "supply" { 2.0 } else { 1.0 },
        live.iter().chain(&["earth"]).collect::<Vec<_>>(),
        number("volts"),
        number("heater_watts"),
    ))
}

/// Worst relative difference seen is printed: it says how many digits insulation and conductors leave each other.
#[test]
fn leakage_agrees_with_units_solved_in_exact_arithmetic() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/leakage.json");
    let cases: Vec<Value> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let mut worst = [0.0f64; 4];
    for case in &cases {
        let number = |name: &str| case[name].as_f64().unwrap();
        let job = stored_unit(case);
        let unit = &job.unit;
        let faults = if case["earth_open"] == true { vec!["cord earth-open"] } else { vec![] };
        let mut bench = Bench::with(&job, &faults);
        for (of, words, value) in [
            ("cord", "ohms of one cord conductor", number("cord_ohms")),
            ("H1", "element ohms", number("heater_ohms")),
            ("H1", "insulation ohms to the frame", number("insulation_ohms")),
        ] {
            let is_it = |unknown: &bench::Unknown| unknown.part == part(unit, of) && unknown.words == words;
            let index = unit.unknowns().iter().position(is_it).unwrap();
            bench.deviations[index] = (value / unit.unknowns()[index].median).ln();
        }
        let found = [
            bench.frame_volts("on"),
            touch(&bench, "on", "frame"),
            leakage(&bench, "on", "supply"),
            leakage(&bench, "on", "cord"),
        ];
        let names = ["frame_volts", "touch_milliamps", "supply_leakage_milliamps", "cord_leakage_milliamps"];
        for (index, name) in names.iter().enumerate() {
            let expected = number(name);
            // Potentials are good to rounding of the supply volts, currents to rounding of the load current.
            let rounding = [1e-11, 1e-11, 1e-10, 1e-10][index];
            let off = (found[index] - expected).abs();
            assert!(off <= 1e-8 * expected + rounding, "{name}: {} and {expected} in {case}", found[index]);
            if expected > 1e-3 {
                worst[index] = worst[index].max(off / expected);
            }
        }
    }
    eprintln!("worst relative differences: {worst:?}");
}

/// By hand, 2 kW at 230 V, 50 Hz with 1 nF: the end at the hot side has 0.5 nF and 230 V to an earthed sheath, the end at
/// neutral next to none; with the 60 pF of wiring from hot to frame 230 x 2 pi 50 x 0.56e-9 = 40 uA in the earth conductor.
#[test]
fn a_sound_heater_leaks_what_the_capacitance_of_its_hot_half_passes() {
    let job = job(HEATER);
    let amps = Bench::sound(&job).amps("on", "cord.earth");
    assert_near("earth current", amps, 230.0 * 2.0 * PI * 50.0 * 0.56e-9, 0.02);
}

const HEATER: &str = r#"
wires = [
  { from = "cord.hot", to = "H1.a" },
  { from = "cord.neutral", to = "H1.b" },
  { from = "cord.earth", to = "frame" },
]

[unit]
name = "Plain heater"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50
residual_trip_milliamps = 30

[parts.cord]
kind = "cord"

[parts.H1]
kind = "heater"
volts = 230
watts = 2000

[setups.on]
supply = "on"

[setups.unplugged]
supply = "off"

[setups."wires off"]
supply = "off"
lifted = ["H1.a", "H1.b"]
"#;

#[test]
fn an_insulation_tester_reads_what_an_ohmmeter_calls_open() {
    let job = job(HEATER);
    let (sound, low) = (Bench::sound(&job), Bench::with(&job, &["H1 insulation-low"]).sized(300e3));
    let read = |bench: &Bench<'_>| {
        let measure = Measure::Ohms(terminal(&job.unit, "H1.a"), job.unit.frame());
        bench.value_by("wires off", measure, &Meter::handheld()).unwrap()
    };
    // The median of the kind; half of the element, 13 ohm, is nothing beside it.
    assert_near("sound", read(&sound), 50e6, 1e-6);
    assert!(read(&sound) > Meter::handheld().ohms_limit);
    assert_near("low", read(&low), 300e3, 1e-4);
    let tester = bench::job::read("job.toml", &format!("{HEATER}\n[meters.tester]\nohms_limit = \"1000M\"\n")).unwrap();
    assert!(!tester.meters[0].tests_insulation() && tester.meters[1].tests_insulation());
}

/// Every sound part that has insulation reads it, from any of its terminals with all joined, in any unit.
#[test]
fn insulation_of_a_part_alone_is_its_unknown() {
    for text in [TWO_BLOWERS, WARM_AIR, STEAM, CONTROL_BOX, POLISHER, THREE_PHASE_FAN] {
        let job = job(text);
        let mut seen = 0;
        for (index, entry) in job.unit.parts().iter().enumerate() {
            let Some(insulation) = entry.kind.insulation() else { continue };
            seen += 1;
            let first = job.unit.terminals_of(index).start;
            let at = |&place: &usize| TerminalId(first + place);
            let mut setup = bench::Setup::unplugged("alone");
            setup.lifted = job.unit.terminals_of(index).map(TerminalId).collect();
            let ends: Vec<TerminalId> = insulation.terminals.iter().map(at).collect();
            setup.jumpers = ends.windows(2).map(|pair| (pair[0], pair[1])).collect();
            let none = FaultSet::none();
            let deviations = vec![0.0; unknown_count(&job.unit, &none)];
            let ohms = observe(&job.unit, &setup, &none, &deviations, |observed| {
                observed.value(Measure::Ohms(ends[0], job.unit.frame()), &Meter::handheld()).unwrap()
            });
            assert_near(&entry.name, ohms.unwrap(), insulation.ohms, 1e-9);
            let low = format!("{} insulation-low", entry.name);
            assert!(job.unit.find_fault(&low).is_some(), "{low}");
        }
        assert!(seen > 0);
    }
}

/// Kirchhoff: what does not come back through the supply comes back by earth, by stray capacitance and by nothing else.
#[test]
fn what_does_not_come_back_flows_to_earth() {
    for (text, in_setup, faults) in [
        (HEATER, "on", &[][..]),
        (HEATER, "on", &["H1 insulation-low"]),
        (STEAM, "on", &[]),
        (STEAM, "on", &["earth broken"]),
        (TWO_BLOWERS, "high", &["M1 main-to-frame"]),
        (ONE_FAN, "on", &["supply earth-open"]),
        (THREE_PHASE_FAN, "on", &["M1 u-to-frame"]),
        (POLISHER, "high", &["M1 field-1-to-frame"]),
    ] {
        let job = job(text);
        Bench::with(&job, faults).look(in_setup, |observed| {
            let (wired, solution) = (observed.wired(), observed.steady().unwrap().solution());
            let residual = wired.residual_current(&job.unit, job.unit.supply()).value(solution);
            let mut back = circuit::Complex64::ZERO;
            let supply = Owner::Place(bench::Place::Part(job.unit.supply()));
            for element in wired.elements.iter().filter(|element| element.owner != supply) {
                let branch = &wired.assembly.network.branches()[element.branch.0];
                for (net, sign) in [(branch.to, 1.0), (branch.from, -1.0)] {
                    if net == NetId::REFERENCE {
                        back += solution.current(element.branch) * sign;
                    }
                }
            }
            assert!((residual - back).norm() < 1e-10, "{text} {faults:?}: {residual} and {back}");
        });
    }
}

/// With nothing to earth the live currents add up to nothing but what stray capacitance takes: 60 pF a net, so some
/// microamperes each.
#[test]
fn without_a_path_to_earth_next_to_nothing_is_missing() {
    let job = job(HEATER);
    for faults in [&["cord earth-open"][..], &["supply earth-open"], &["cord earth-open", "H1 insulation-low"]] {
        let bench = Bench::with(&job, faults);
        let most = bench.look("on", |observed| {
            let nets = observed.wired().assembly.network.net_count() as f64;
            1e3 * nets * 230.0 * 2.0 * PI * 50.0 * 60e-12
        });
        assert!(leakage(&bench, "on", "supply") < most, "{faults:?}");
    }
    assert!(leakage(&Bench::with(&job, &["H1 insulation-low"]).sized(20e3), "on", "cord") > 5.0);
}

/// A heater of 5 kilohms to its sheath on 230 V: half of the volts from its middle, or all of them from half of the leak,
/// 23 mA either way, above three quarters of 30 mA; of 20 kilohms, 5.8 mA, which no such trip may open at.
#[test]
fn an_earth_leakage_trip_opens_at_three_quarters_of_its_rating() {
    let job = job(HEATER);
    for (ohms, opens) in [(4e3, true), (5e3, true), (5.3e3, false), (20e3, false)] {
        let bench = Bench::with(&job, &["H1 insulation-low"]).sized(ohms);
        bench.look("on", |observed| {
            assert_eq!(observed.residual_trip_opened(), opens, "{ohms} ohm");
            assert!(!observed.breaker_opened());
            assert_eq!(observed.cut_off_words(), opens.then_some("the earth-leakage trip opens"));
            let watts = observed.watts(job.unit.supply());
            assert!(if opens { watts.abs() < 1e-3 } else { watts > 1900.0 }, "{watts} W");
        });
    }
    // With the earth open nothing is missing, and the trip stays closed until somebody touches the metal.
    let open_earth = Bench::with(&job, &["H1 insulation-low", "cord earth-open"]).sized(4e3);
    assert!(!open_earth.look("on", |observed| observed.residual_trip_opened()));
    assert!(touch(&open_earth, "on", "frame") > 10.0);
    // A dead breakdown opens both; without a trip, only the breaker.
    let dead = Bench::with(&job, &["H1 to-frame"]).sized(0.1);
    dead.look("on", |observed| assert!(observed.residual_trip_opened()));
    let without = common::job(&HEATER.replace("residual_trip_milliamps = 30\n", ""));
    let bench = Bench::with(&without, &["H1 insulation-low"]).sized(4e3);
    assert!(!bench.look("on", |observed| observed.is_cut_off()));
}

#[test]
fn a_run_ends_where_the_earth_leakage_trip_opens() {
    let text = format!("{HEATER}\n[runs.warm]\nminutes = 5\nsteps = [{{ minute = 0, setup = \"on\" }}]\n");
    let job = job(&text);
    let fault = job.unit.find_fault("H1 insulation-low").unwrap();
    let faults = FaultSet(vec![fault]);
    let mut deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    deviations[severity_unknown(&job.unit, &faults, 0).unwrap()] = (4e3f64 / 200e3).ln();
    let events = |faults: &FaultSet, deviations: &[f64]| {
        let scales = bench::heat::HeatScales::medians(&job.unit);
        let (unit, setups, run) = (&job.unit, &job.setups[..], &job.runs[0]);
        let case = bench::heat::Case { unit, setups, run, faults, deviations, scales: &scales };
        let timeline = bench::heat::simulate(case, &[60.0], |_| ()).unwrap();
        let words = |event: &bench::heat::Event| bench::heat::words::event_words(&job, event.what);
        timeline.events.iter().map(words).collect::<Vec<_>>().join("; ")
    };
    assert!(events(&faults, &deviations).contains("the earth-leakage trip opens"));
    let none = FaultSet::none();
    assert!(!events(&none, &vec![0.0; unknown_count(&job.unit, &none)]).contains("trip"));
}

/// The filter's two capacitors of 4.7 nF in parallel reach a person at half of 230 V: 115 x 2 pi 50 x 9.4e-9 = 0.34 mA, and
/// the heater and the strays add some; a 10 megohm meter shows about half of the supply volts, and nobody feels it.
#[test]
fn capacitors_to_an_unearthed_frame_are_seen_by_a_meter_and_hardly_felt() {
    let job = job(STEAM);
    let bench = Bench::with(&job, &["earth broken"]);
    let milliamps = touch(&bench, "on", "frame");
    let expected = 115.0 * 2.0 * PI * 50.0 * 9.4e-9 * 1e3;
    assert!((expected..1.2 * expected).contains(&milliamps), "{milliamps} mA");
    assert!(bench.frame_volts("on") > 100.0);
    assert!(touch(&Bench::sound(&job), "on", "frame") < 0.001);
}

#[test]
fn touching_a_live_terminal_carries_what_two_kilohms_do() {
    let job = job(HEATER);
    let bench = Bench::sound(&job);
    assert_near("hot", touch(&bench, "on", "cord.hot"), 230.0 / 2.0, 0.01);
    assert!(touch(&bench, "unplugged", "cord.hot") == 0.0 && leakage(&bench, "unplugged", "cord") == 0.0);
}

#[test]
fn a_varistor_is_not_there_until_it_fails() {
    let text = HEATER
        .replace(
            "wires = [",
            "wires = [ { from = \"cord.hot\", to = \"V1.a\" }, { from = \"cord.neutral\", to = \"V1.b\" },",
        )
        .replace("[setups.on]", "[parts.V1]\nkind = \"varistor\"\nvolts = 275\n\n[setups.on]");
    let (job, plain) = (job(&text), common::job(HEATER));
    let (bench, without) = (Bench::sound(&job), Bench::sound(&plain));
    assert_near("sound", bench.amps("on", "cord.hot"), without.amps("on", "cord.hot"), 1e-6);
    assert!(bench.amps("on", "V1.a") < 1e-5);
    let open = Bench::with(&job, &["V1 open"]);
    assert_eq!(open.amps("on", "cord.hot"), bench.amps("on", "cord.hot"));
    assert!(Bench::with(&job, &["V1 shorted"]).sized(0.5).breaker_opened("on"));
    // 230 V on 10 kilohms: 23 mA and 5.3 W, less what the heater takes from the volts.
    let leaky = Bench::with(&job, &["V1 leaky"]).sized(10e3);
    assert_near("leaky", leaky.amps("on", "V1.a"), 0.023, 0.02);
    assert_near("heat", leaky.element_watts("on", "V1", "leaky varistor"), 5.29, 0.04);
}

/// The heat of a resistance goes with the square of the volts, whatever the supply.
#[test]
fn too_many_volts_heat_by_their_square() {
    let two_leg = HEATER
        .replace("kind = \"supply\"\nvolts = 230", "kind = \"two-leg-supply\"\nvolts = 230")
        .replace(
            "[parts.cord]\nkind = \"cord\"",
            "[parts.cord]\nkind = \"cord\"\nconductors = [\"leg-1\", \"leg-2\", \"earth\"]",
        )
        .replace("cord.hot", "cord.leg-1")
        .replace("cord.neutral", "cord.leg-2");
    for text in [HEATER, &two_leg] {
        let job = job(text);
        let bench = Bench::with(&job, &["supply high-volts"]).sized(1.15);
        let (high, sound) = (bench.element_watts("on", "H1", "element"), Bench::sound(&job));
        assert_near("watts", high, 1.15f64.powi(2) * sound.element_watts("on", "H1", "element"), 1e-6);
    }
    let three = job(THREE_PHASE_FAN);
    assert!(three.unit.find_fault("supply high-volts").is_some());
}
