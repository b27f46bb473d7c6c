//! What contacts, wires, transformers and capacitors are made for, against what a fault drives through them. All units are
//! invented; each figure is worked out by hand from the ratings named beside it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Place};
use common::{job, suspect_of};
use diagnosis::diagnose;
use repair::compare::What;
use repair::loads::{Against, place_words};
use repair::options::Work;
use repair::substitute::Fits;
use repair::{Strained, options, stress};

const GREENHOUSE_HEATER: &str = include_str!("../../../demos/greenhouse-heater.toml");
const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");

/// What this fault strains in an hour.
fn strained(job: &Job, fault: &str) -> Vec<Strained> {
    let found = diagnose(job).unwrap();
    stress(&found, suspect_of(&found, fault), Some(60.0)).unwrap().1
}

/// How many times what it is made for a part or wire carries; `None` if nothing is said.
fn times(job: &Job, fault: &str, name: &str, against: Against) -> Option<f64> {
    let list = strained(job, fault);
    let entry = list.iter().find(|entry| job.unit.place_name(entry.what) == name)?;
    entry.loads.iter().find(|(of, _)| *of == against).map(|(_, times)| times.times)
}

#[track_caller]
fn assert_near(what: &str, found: Option<f64>, expected: f64, tolerance: f64) {
    let found = found.unwrap_or_else(|| panic!("{what}: nothing is said, expected {expected}"));
    assert!((found / expected - 1.0).abs() <= tolerance, "{what}: {found}, expected {expected}");
}

/// Parts on 230 V without a cord, a pilot heater `H9` whose failure changes nothing, and the switch `S1` put on.
fn unit(parts: &str, wires: &[(&str, &str, &str)]) -> String {
    let wires = wires.iter().map(|(from, to, more)| format!("{{ from = \"{from}\", to = \"{to}\"{more} }}, "));
    format!(
        "wires = [{}]\nreadings = []\n[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         source_ohms = 1e-3\nbreaker_amps = 1000\n[parts.H9]\nkind = \"heater\"\nvolts = 230\nwatts = 20\n{parts}\n\
         [setups.on]\nsupply = \"on\"\npositions = {{ S1 = \"on\" }}\n",
        wires.collect::<String>()
    )
}

const PILOT: [(&str, &str, &str); 2] = [("S1.a", "H9.a", ""), ("H9.b", "supply.neutral", "")];

/// A heater of 15 A (3450 W at 230 V) behind every kind of contact in a row, each marked with `marked`.
fn row_of_contacts(marked: &str) -> Job {
    let contact = |name: &str, kind: &str, more: &str| format!("[parts.{name}]\nkind = \"{kind}\"\n{more}{marked}\n");
    let parts = [
        contact("S1", "switch", "positions.off = []\npositions.on = [[\"line\", \"a\"]]\n"),
        contact("R1", "relay", "volts = 230\ncontacts.pulled-in = [[\"x\", \"y\"]]\n"),
        contact("Q1", "sequencer", "volts = 230\nwatts = 20\n"),
        contact("T1", "thermostat", ""),
        contact("K1", "thermal-cutout", ""),
        contact("X1", "manual-reset-cutout", ""),
        contact("F1", "thermal-fuse", ""),
        "[parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 3450\n".to_owned(),
    ];
    let mut wires = vec![("supply.hot", "S1.line", ""), ("S1.a", "R1.coil-a", ""), ("R1.coil-b", "supply.neutral", "")];
    wires.extend([("S1.a", "Q1.heater-a", ""), ("Q1.heater-b", "supply.neutral", ""), ("S1.a", "R1.x", "")]);
    wires.extend([("R1.y", "Q1.a", ""), ("Q1.b", "T1.a", ""), ("T1.b", "K1.a", ""), ("K1.b", "X1.a", "")]);
    wires.extend([("X1.b", "F1.a", ""), ("F1.b", "H1.a", ""), ("H1.b", "supply.neutral", "")]);
    wires.extend(PILOT);
    job(&unit(&parts.concat(), &wires))
}

/// 15 A through contacts for 10 A: 1.5 times. The switch carries the coil and two small heaters besides, some 0.2 A.
#[test]
fn every_kind_of_contact_is_held_to_its_amps() {
    let marked = row_of_contacts("rated_amps = 10");
    for name in ["S1", "R1", "Q1", "T1", "K1", "X1"] {
        assert_near(name, times(&marked, "H9 open", name, Against::Contacts), 1.5, 0.03);
    }
    assert_near("F1", times(&marked, "H9 open", "F1", Against::Mark), 1.5, 0.03);
    let list = strained(&marked, "H9 open");
    let of = |name: &str| list.iter().find(|entry| marked.unit.place_name(entry.what) == name).unwrap();
    assert!(of("K1").check(&marked.unit).starts_with("volts across each closed contact under load"));
    assert!(of("K1").words().contains("of what its contacts may carry"), "{}", of("K1").words());
    assert!(!of("F1").check(&marked.unit).contains("closed contact"));
    assert_eq!(list.len(), 7, "{list:?}");
    assert!(of("T1").minutes >= 59.0);
}

/// 15 A are within a contact for 16 A, and of one that is not marked nothing is known.
#[test]
fn nothing_is_said_of_contacts_that_bear_it_or_are_not_marked() {
    assert_eq!(strained(&row_of_contacts("rated_amps = 16"), "H9 open"), []);
    assert_eq!(strained(&row_of_contacts(""), "H9 open"), []);
}

/// Two heaters of 15 A, a contact for each: 30 A at the common terminal, and 15 A in each contact.
#[test]
fn it_is_the_contact_that_counts_not_the_terminal() {
    let two = |amps: &str| {
        let switch = "[parts.S1]\nkind = \"switch\"\npositions.off = []\n\
            positions.on = [[\"line\", \"a\"], [\"line\", \"b\"]]\nrated_amps = ";
        let heater = |name: &str| format!("\n[parts.{name}]\nkind = \"heater\"\nvolts = 230\nwatts = 3450");
        let mut wires = vec![("supply.hot", "S1.line", ""), ("S1.a", "H1.a", ""), ("S1.b", "H2.a", "")];
        wires.extend([("H1.b", "supply.neutral", ""), ("H2.b", "supply.neutral", "")]);
        wires.extend(PILOT);
        job(&unit(&[switch, amps, &heater("H1"), &heater("H2")].concat(), &wires))
    };
    assert_eq!(times(&two("16"), "H9 open", "S1", Against::Contacts), None);
    assert_near("each", times(&two("10"), "H9 open", "S1", Against::Contacts), 1.5, 0.03);
    // A burnt face of 3 ohm in series with 15.33 ohm: 12.5 A in that contact, still 15 A in the other.
    assert_near("other", times(&two("10"), "S1 line-a-burnt", "S1", Against::Contacts), 1.5, 0.03);
    assert_near("this", times(&two("10"), "H2 open", "S1", Against::Contacts), 1.5, 0.03);
    let both = times(&two("8"), "S1 line-b-burnt", "S1", Against::Contacts);
    assert_near("burnt", both, 15.0 / 8.0, 0.03);
}

/// A motor that cannot turn leaves its start winding in, and the contact of the switch carries what flows in at `start`.
#[test]
fn a_centrifugal_switch_is_held_to_its_amps_by_what_lasts() {
    let motor = |marked: &str| {
        let parts = format!(
            "[parts.S1]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"line\", \"a\"]]\n[parts.M1]\n\
             kind = \"split-phase-motor\"\nplate = {{ volts = 230, hertz = 50, amps = 2.4, rpm = 1425, poles = 4 }}\n{marked}\n"
        );
        let mut wires = vec![("supply.hot", "S1.line", ""), ("S1.a", "M1.run", ""), ("S1.a", "M1.start", "")];
        wires.push(("M1.common", "supply.neutral", ""));
        wires.extend(PILOT);
        job(&unit(&parts, &wires))
    };
    let marked = motor("centrifugal_rated_amps = 3");
    let seized = marked.unit.find_fault("M1 seized").expect("a motor seizes");
    let start = marked.unit.find_terminal("M1.start").unwrap();
    let deviations = vec![0.0; bench::wiring::unknown_count(&marked.unit, &bench::FaultSet(vec![seized]))];
    let amps =
        bench::observe_values(&marked.unit, &marked.setups[0], &bench::FaultSet(vec![seized]), &deviations, |seen| {
            seen.value(bench::Measure::AmpsAtTerminal(start), &bench::Meter::handheld()).unwrap()
        });
    assert!(amps.clone().unwrap() > 6.0, "{amps:?}");
    // The winding warms meanwhile, so the first moment is the worst.
    assert_near("start", times(&marked, "M1 seized", "M1", Against::Contacts), amps.unwrap() / 3.0, 0.03);
    // Sound, it opens within a second; the load is looked at once it has run up.
    assert_eq!(times(&marked, "H9 open", "M1", Against::Contacts), None);
    assert_eq!(times(&motor(""), "M1 seized", "M1", Against::Contacts), None);
    let list = strained(&marked, "M1 seized");
    let entry = list.iter().find(|entry| marked.unit.place_name(entry.what) == "M1").unwrap();
    assert!(entry.check(&marked.unit).contains("ohms of every winding"), "{}", entry.check(&marked.unit));
    assert!(entry.check(&marked.unit).contains("closed contact"), "{}", entry.check(&marked.unit));
}

/// IEC 60204-1, table of current-carrying capacities, method E at 40 degrees Celsius: 10.4 A for 0.75 mm2 and 16.1 A for
/// 1.5 mm2; the same drive maker's table has 18 and 14 AWG beside them.
#[test]
fn a_wire_is_held_to_its_size() {
    let wire = |size: &str| {
        let parts = "[parts.S1]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"line\", \"a\"]]\n\
            [parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 3450\n";
        let mut wires = vec![("supply.hot", "S1.line", ""), ("S1.a", "H1.a", size), ("H1.b", "supply.neutral", "")];
        wires.extend(PILOT);
        job(&unit(parts, &wires))
    };
    let load = |size: &str| times(&wire(size), "H9 open", "S1.a~H1.a", Against::Size);
    assert_near("metric", load(", square_millimetres = 0.75"), 15.0 / 10.4, 0.01);
    assert_near("between two", load(", square_millimetres = 0.9"), 15.0 / 10.4, 0.01);
    assert_near("gauge", load(", gauge = 18"), 15.0 / 10.4, 0.01);
    for size in ["", ", square_millimetres = 1.5", ", gauge = 14", ", square_millimetres = 0.5", ", gauge = 20"] {
        assert_eq!(load(size), None, "{size}");
    }
    let thin = wire(", square_millimetres = 0.75, label = \"heater lead\"");
    let list = strained(&thin, "H9 open");
    assert_eq!(list.len(), 1, "{list:?}");
    assert_eq!(place_words(&thin.unit, list[0].what), "wire S1.a to H1.a (heater lead)");
    assert!(matches!(list[0].what, Place::Wire(_)) && list[0].limit.is_none());
    assert!(list[0].check(&thin.unit).contains("browned"));
}

/// Transformers of little resistance: rated output is rated secondary volts times secondary amps, added up (IEC 61558-1, from
/// memory).
#[test]
fn a_transformer_is_held_to_its_volt_amperes() {
    let load = |volt_amperes: f64, windings: &str, ends: &[(&str, &str, &str)]| {
        let parts = format!(
            "[parts.S1]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"line\", \"a\"]]\n[parts.T1]\n\
             kind = \"transformer\"\nvolt_amperes = {volt_amperes}\n{windings}\n\
             [parts.H1]\nkind = \"heater\"\nvolts = 24\nwatts = 200\n[parts.H2]\nkind = \"heater\"\nvolts = 115\nwatts = 1150\n"
        );
        let mut wires = vec![("supply.hot", "S1.line", "")];
        wires.extend(ends.iter().chain(&PILOT));
        times(&job(&unit(&parts, &wires)), "H9 open", "T1", Against::Mark)
    };
    // 24 V on 2.88 ohm: 8.33 A, 200 VA.
    let secondary = [("T1.x", "H1.a", ""), ("H1.b", "T1.y", "")];
    let single = [[("S1.a", "T1.0", ""), ("T1.230", "supply.neutral", "")], secondary].concat();
    let windings = "windings.primary = [\"0\", 230, \"230\"]\nwindings.secondary = [\"x\", 24, \"y\"]\n\
        winding_ohms = { primary = 0.5, secondary = 0.005 }";
    assert_near("one primary", load(100.0, windings, &single), 2.0, 0.02);
    assert_eq!(load(250.0, windings, &single), None);
    // The second half of a primary in two takes, it does not give.
    let halves = [("S1.a", "T1.0", ""), ("T1.115", "T1.1", ""), ("T1.230", "supply.neutral", "")];
    let windings = "windings.first = [\"0\", 115, \"115\"]\nwindings.second = [\"1\", 115, \"230\"]\n\
        windings.secondary = [\"x\", 24, \"y\"]\nwinding_ohms = { first = 0.2, second = 0.2, secondary = 0.005 }";
    assert_near("two primaries", load(100.0, windings, &[&halves[..], &secondary].concat()), 2.0, 0.02);
    // An autotransformer of 2 to 1: 10 A at 115 V out, 5 A in either half, 5 A times 230 V through it.
    let ends = [("S1.a", "T1.230", ""), ("T1.0", "supply.neutral", ""), ("T1.115", "H2.a", ""), ("H2.b", "T1.0", "")];
    let windings = "windings.only = [\"0\", 115, \"115\", 115, \"230\"]\nwinding_ohms = { only = 0.2 }";
    assert_near("autotransformer", load(500.0, windings, &ends), 2.3, 0.03);
    assert_eq!(load(1500.0, windings, &ends), None);
}

/// A dead short behind a winding takes no watts from it, and is the heaviest load of all.
#[test]
fn a_short_behind_a_transformer_counts_as_load() {
    let parts = "[parts.S1]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"line\", \"a\"]]\n[parts.T1]\n\
        kind = \"transformer\"\nvolt_amperes = 100\nwindings.primary = [\"0\", 230, \"230\"]\n\
        windings.secondary = [\"x\", 24, \"y\"]\n[parts.H1]\nkind = \"heater\"\nvolts = 24\nwatts = 20\n";
    let mut wires = vec![("supply.hot", "S1.line", ""), ("S1.a", "T1.0", ""), ("T1.230", "supply.neutral", "")];
    wires.extend([("T1.x", "H1.a", ""), ("H1.b", "T1.y", ""), ("T1.x", "T1.y", "")]);
    wires.extend(PILOT);
    let shorted = job(&unit(parts, &wires));
    // 10 % of copper and 3 % of leakage at 100 VA: some eight to ten times full load.
    let load = times(&shorted, "H9 open", "T1", Against::Mark).expect("it is strained");
    assert!((6.0..14.0).contains(&load), "{load}");
}

/// Air of 45 l/s behind 2000 W: 1.2 kg/m3 times 1005 J/(kg K) (air at 20 degrees, any handbook) carry 54.3 W/K, so it is 36.9 K
/// warmer than the room, and a little more for the fan's motor.
#[test]
fn a_capacitor_in_warm_air_is_held_to_its_degrees() {
    let heater = |marked: &str, clamped: &str| {
        let mut document: toml_edit::DocumentMut = GREENHOUSE_HEATER.parse().unwrap();
        for section in ["readings", "symptoms", "logs", "runs", "repaired", "safety"] {
            document.remove(section);
        }
        let text = document.to_string().replace("opens_celsius = 80\ncloses_celsius = 55\n", "");
        let text = text.replace("passes = [\"M1\", \"H1\", \"K1\"]", "passes = [\"M1\", \"H1\", \"C1\"]");
        let text = text.replace("room_celsius = 18", &format!("room_celsius = 18\n{clamped}"));
        let text = text.replace(
            "{ from = \"cord.earth\"",
            "{ from = \"S1.fan\", to = \"C1.a\" }, { from = \"C1.b\", to = \"returns.c\" }, { from = \"cord.earth\"",
        );
        job(&format!("{text}\n[parts.C1]\nkind = \"run-capacitor\"\nmicrofarads = 1\n{marked}\n"))
    };
    let about = |job: &Job, fault: &str| {
        let list = strained(job, fault);
        list.into_iter().find(|entry| job.unit.place_name(entry.what) == "C1").and_then(|entry| entry.about)
    };
    let marked = heater("max_celsius = 50", "");
    let found = about(&marked, "C1 low").expect("it is too hot about it");
    assert!((found.celsius - repair::options::ROOM_CELSIUS - 36.9).abs() < 3.0, "{found:?}");
    assert_eq!(found.max_celsius, 50.0);
    let list = strained(&marked, "C1 low");
    let entry = list.iter().find(|entry| marked.unit.place_name(entry.what) == "C1").unwrap();
    assert!(entry.words().contains("that it may get"), "{}", entry.words());
    assert!(entry.minutes > 50.0, "{entry:?}");
    assert!(entry.check(&marked.unit).contains("microfarads"), "{}", entry.check(&marked.unit));
    // What is made for 85 degrees bears it, and of what is not marked nothing is known.
    assert_eq!(about(&heater("max_celsius = 85", ""), "C1 low"), None);
    assert_eq!(about(&heater("", ""), "C1 low"), None);
    // On the motor it is as hot as that is, some 60 K over the air at most (IEC 60034-1, class E, from memory).
    let seated = heater("max_celsius = 40", "clamped = { C1 = \"M1.core\" }");
    let hot = about(&seated, "M1 seized").expect("a stalled motor is hot");
    let cool = about(&heater("max_celsius = 40", ""), "M1 seized");
    assert!(cool.is_none_or(|cool| (cool.celsius - hot.celsius).abs() > 1.0), "{cool:?} {hot:?}");
    // It takes no heat from what it sits on: all else stays as it is.
    let sound = |job: &Job| {
        let setup = job.setups.iter().find(|setup| setup.name == "warm air").unwrap();
        let faults = bench::FaultSet(Vec::new());
        let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &faults)];
        repair::course(&job.unit, setup, &faults, &deviations, 20.0).unwrap().bodies
    };
    assert_eq!(sound(&seated), sound(&heater("", "")));
}

/// What is marked must change no value, no odds and no ranking: to the last bit.
#[test]
fn what_is_marked_changes_no_ranking() {
    let marks = [
        ("kind = \"switch\"", "kind = \"switch\"\nrated_amps = 6"),
        ("kind = \"thermal-cutout\"", "kind = \"thermal-cutout\"\nrated_amps = 6"),
        ("to = \"K1.a\"", "to = \"K1.a\", square_millimetres = 0.75"),
        ("kind = \"thermostat\"", "kind = \"thermostat\"\nrated_amps = 2"),
        ("volts = 250", "volts = 250\nmax_celsius = 70"),
    ];
    for text in [GREENHOUSE_HEATER, DOUGH_PROOFER] {
        let marked = marks.iter().fold(text.to_owned(), |text, (from, to)| text.replace(from, to));
        assert_ne!(text, marked);
        let (plain, marked) = (job(text), job(&marked));
        let (plain, marked) = (diagnose(&plain).unwrap(), diagnose(&marked).unwrap());
        assert_eq!(plain.suspects.len(), marked.suspects.len());
        for (a, b) in plain.suspects.iter().zip(&marked.suspects) {
            assert_eq!((&a.faults, a.probability.to_bits()), (&b.faults, b.probability.to_bits()));
        }
    }
}

#[test]
fn a_substitute_of_fewer_amps_or_degrees_does_not_fit() {
    let mut document: toml_edit::DocumentMut = DOUGH_PROOFER.parse().unwrap();
    for section in ["readings", "symptoms"] {
        document.remove(section);
    }
    let text = document.to_string().replace("volts = 250", "volts = 250\nmax_celsius = 85");
    let text = text.replace("opens_celsius = 38", "opens_celsius = 38\nrated_amps = 10");
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    let asked = |typed: &[&str]| -> Vec<_> { typed.iter().map(|typed| typed.parse().unwrap()).collect() };
    let fits = |fault: &str, typed: &str, field: &str| {
        let all = options(&found, suspect_of(&found, fault), &text, &asked(&[typed])).unwrap();
        let option = all.into_iter().find(|option| matches!(option.work, Work::Substitute(_))).unwrap();
        let compared = option.compared.iter().find(|compared| compared.field == field).unwrap().clone();
        (compared, option)
    };
    assert_eq!(fits("C1 open", "C1 max_celsius=70", "max_celsius").0.fits, Fits::No);
    assert_eq!(fits("C1 open", "C1 max_celsius=100", "max_celsius").0.fits, Fits::Yes);
    // The heater behind it takes 3.75 A (450 W at 120 V): less than 10 A, and past what 3 A bear.
    let (compared, small) = fits("T1 stuck-open", "T1 rated_amps=3", "rated_amps");
    assert_eq!(compared.fits, Fits::No, "{compared:?}");
    let is_over = |what: What| {
        matches!(what, What::Overloaded(Place::Part(part), Against::Contacts, times)
        if job.unit.parts()[part].name == "T1" && (times.times - 3.75 / 3.0).abs() < 0.05)
    };
    assert!(small.remarks.iter().any(|remark| is_over(remark.what)), "{:?}", small.remarks);
    let (compared, large) = fits("T1 stuck-open", "T1 rated_amps=16", "rated_amps");
    assert_eq!(compared.fits, Fits::Yes, "{compared:?}");
    assert!(!large.remarks.iter().any(|remark| matches!(remark.what, What::Overloaded(_, Against::Contacts, _))));
}
