//! Safety tests as a job file holds them, and what a unit tells about its protection.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::Job;
use bench::job::{parse_safety_value, read};
use bench::safety::{Beyond, CordSize, SafetyValue};

const HEATER: &str = r#"
[unit]
name = "Invented heater"
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.H1]
kind = "heater"
volts = 230
watts = 1000
[parts.H2]
kind = "heater"
volts = 230
watts = 750
"#;

fn job(more: &str) -> Job {
    read("job.toml", &format!("{HEATER}{more}")).unwrap_or_else(|problems| panic!("{problems}"))
}

fn number(test: &'static str, typed: &str) -> (Beyond, f64, f64) {
    match parse_safety_value(test, typed).unwrap() {
        SafetyValue::Number { beyond, si, last_digit_si } => (beyond, si, last_digit_si),
        other => panic!("{typed}: {other:?}"),
    }
}

#[test]
fn values_are_read_with_their_unit_and_their_last_digit() {
    for (typed, beyond, si, last_digit) in [
        ("0.12 ohm", Beyond::Neither, 0.12, 0.01),
        ("0.12ohm", Beyond::Neither, 0.12, 0.01),
        (" 0.120 Ohms", Beyond::Neither, 0.12, 0.001),
        ("0.12 Ω", Beyond::Neither, 0.12, 0.01),
        ("120 mohm", Beyond::Neither, 0.12, 0.001),
        ("<0.01 ohm", Beyond::Below, 0.01, 0.01),
    ] {
        let found = number("earth-continuity", typed);
        assert_eq!(found.0, beyond, "{typed}");
        assert!((found.1 - si).abs() < 1e-12 && (found.2 - last_digit).abs() < 1e-12, "{typed}: {found:?}");
    }
    for (typed, beyond, si, last_digit) in [
        (">200 Mohm", Beyond::Above, 200e6, 1e6),
        ("> 200 MOhm", Beyond::Above, 200e6, 1e6),
        ("1.25 MΩ", Beyond::Neither, 1.25e6, 1e4),
        ("300 kohm", Beyond::Neither, 300e3, 1e3),
        ("2 Gohm", Beyond::Neither, 2e9, 1e9),
    ] {
        let found = number("insulation-resistance", typed);
        assert_eq!(found.0, beyond, "{typed}");
        assert!((found.1 - si).abs() < 1e-6 && (found.2 - last_digit).abs() < 1e-6, "{typed}: {found:?}");
    }
    for (typed, si) in [("0.3 mA", 0.3e-3), ("250 uA", 250e-6), ("250 µA", 250e-6), ("0.0003 A", 0.3e-3)] {
        assert!((number("touch-current", typed).1 - si).abs() < 1e-15, "{typed}");
    }
    assert_eq!(parse_safety_value("visual", "OK"), Ok(SafetyValue::Ok));
    assert_eq!(parse_safety_value("earth-continuity", "failed"), Ok(SafetyValue::Failed));
    assert_eq!(
        parse_safety_value("touch-current", "Not done: No Tester"),
        Ok(SafetyValue::NotDone("No Tester".into()))
    );
}

#[test]
fn a_unit_tells_its_class_its_heating_and_its_cord() {
    let cord = "[parts.cord]\nkind = \"cord\"\nmetres = 3\nsquare_millimetres = 1\n";
    let facts = job(cord).safety_facts();
    assert_eq!((facts.class, facts.class_because), ("I", Some("the cord has an earth conductor")));
    assert_eq!(facts.heating_watts, 1750.0);
    assert_eq!(facts.cord, Some(CordSize { metres: Some(3.0), square_millimetres: Some(1.0) }));

    let two_core = "[parts.cord]\nkind = \"cord\"\nconductors = [\"hot\", \"neutral\"]\ngauge = 18\n";
    let facts = job(two_core).safety_facts();
    assert_eq!(facts.class, "II");
    let cord = facts.cord.unwrap();
    // AWG 18 is 1.0237 mm across (hyperphysics.phy-astr.gsu.edu), so 0.823 mm2; a length that is not given is not assumed.
    assert_eq!(cord.metres, None);
    assert!((cord.square_millimetres.unwrap() - 0.8231).abs() < 1e-3);

    assert_eq!(job("").safety_facts().class, "II");
    let wired = job("[[wires]]\nfrom = \"supply.earth\"\nto = \"frame\"\n");
    assert_eq!((wired.safety_facts().class, wired.safety_facts().cord), ("I", None));
    let low = HEATER.replace("volts = 230\nhertz", "volts = 24\nhertz");
    assert_eq!(read("job.toml", &low).unwrap().safety_facts().class, "III");
}

#[test]
fn what_the_job_says_comes_before_what_the_unit_shows() {
    let said = "[parts.cord]\nkind = \"cord\"\nmetres = 3\n[safety]\nregion = \"united-kingdom\"\nclass = \"II\"\n\
                use = \"stationary\"\nheating_watts = 0\ncord_metres = 5\ncord_square_millimetres = 1.5\nunearthed_metal = true\n";
    let job = job(said);
    let facts = job.safety_facts();
    assert_eq!((job.safety.region, facts.class, facts.class_because), (Some("united-kingdom"), "II", None));
    assert_eq!((facts.handling, facts.heating_watts, facts.has_unearthed_metal), (Some("stationary"), 0.0, true));
    assert_eq!(facts.cord, Some(CordSize { metres: Some(5.0), square_millimetres: Some(1.5) }));
}

#[test]
fn entries_keep_their_order_their_words_and_their_line() {
    let job = job("[[safety.tests]]\ntest = \"visual\"\nvalue = \"ok\"\ndate = \"2026-03-02\"\n\
                   [[safety.tests]]\ntest = \"earth-continuity\"\nvalue = \"0.1 ohm\"\nat = \"lid\"\ninstrument = \"tester\"\n");
    let tests = &job.safety.tests;
    assert_eq!((tests.len(), tests[0].test, tests[0].date.as_deref()), (2, "visual", Some("2026-03-02")));
    assert_eq!((tests[1].typed.as_str(), tests[1].at.as_deref()), ("0.1 ohm", Some("lid")));
    assert_eq!(tests[1].instrument.as_deref(), Some("tester"));
    assert!(tests[1].line > tests[0].line);
}
