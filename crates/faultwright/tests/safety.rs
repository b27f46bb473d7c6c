//! The safety sheet at the command line.
//!
//! Limits are held to their sources by the tests of `proof`; these hold the text, the JSON fields and the errors.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

const DEMO: &str = "demos/greenhouse-heater.toml";

fn faultwright(arguments: &[&str]) -> Output {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..");
    Command::new(env!("CARGO_BIN_EXE_faultwright")).args(arguments).current_dir(root).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn shown(arguments: &[&str]) -> String {
    let output = faultwright(arguments);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", text(&output.stderr));
    text(&output.stdout)
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&shown(arguments)).unwrap()
}

#[test]
fn the_sheet_of_a_demo() {
    insta::assert_snapshot!(shown(&["safety", DEMO]));
}

#[test]
fn regions_and_limits_with_their_sources() {
    insta::assert_snapshot!(shown(&["safety", "--standards"]));
    let all = json(&["safety", "--standards", "--json"]);
    assert_eq!(all["regions"].as_array().unwrap().len(), 8);
    for limit in all["limits"].as_array().unwrap() {
        for field in ["region", "test", "classes", "when", "limit", "with", "source"] {
            assert!(limit.get(field).is_some(), "limits[].{field}");
        }
        let source = &limit["source"];
        assert!(source["standard"].is_string() && source["edition"].is_string());
        assert_eq!(source["verified"].as_bool().unwrap(), source["read_in"].is_string());
    }
}

#[test]
fn the_sheet_as_json_has_the_promised_fields() {
    let sheet = json(&["safety", DEMO, "--json"]);
    assert_eq!((sheet["class"].as_str(), sheet["heating_watts"].as_f64()), (Some("I"), Some(2000.0)));
    assert_eq!(sheet["outcome"], "not proven");
    assert_eq!(sheet["why"], "still open: functional");
    assert!(sheet["caution"].as_str().unwrap().contains("Local codes and licensed practice prevail"));
    let earth = &sheet["tests"][1];
    assert_eq!(earth["test"], "earth-continuity");
    assert_eq!((earth["outcome"].as_str(), earth["limit"]["at_most"].as_f64()), (Some("pass"), Some(0.3)));
    // What was measured before the repair no longer counts, but stays on the sheet.
    assert_eq!(
        (earth["entries"][0]["counts"].as_bool(), earth["entries"][0]["outcome"].as_str()),
        (Some(false), Some("fail"))
    );
    for field in
        ["required", "energised", "words", "instrument", "unit", "cautions", "not_yet", "limit", "entries", "why"]
    {
        assert!(earth.get(field).is_some(), "tests[].{field}");
    }
    for field in ["at_least", "at_most", "words", "working", "with", "source"] {
        assert!(earth["limit"].get(field).is_some(), "limit.{field}");
    }
    let tests = sheet["tests"].as_array().unwrap();
    let live: Vec<&Value> = tests.iter().filter(|test| test["energised"] == true).collect();
    assert!(live.iter().all(|test| test["cautions"][0].as_str().unwrap().starts_with("LIVE")));
}

#[test]
fn another_region_has_other_limits_and_names_itself() {
    let there = json(&["safety", DEMO, "--region", "united-kingdom", "--json"]);
    // 0.1 ohm and 3 m of 1.5 mm2: 3 / 58 / 1.5 = 0.0345 ohm.
    let limit = there["tests"][1]["limit"]["at_most"].as_f64().unwrap();
    assert!((limit - 0.134_482_758).abs() < 1e-6, "{limit}");
    assert!(there["standard"].as_str().unwrap().contains("5th edition"));
    // 0.14 ohm and the tester's error lie on both sides of it.
    assert_eq!(there["tests"][1]["outcome"], "not proven");
}

#[test]
fn a_region_that_is_not_there_and_one_that_is_missing() {
    let unknown = faultwright(&["safety", DEMO, "--region", "untied-kingdom"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(text(&unknown.stderr).contains("did you mean united-kingdom"), "{}", text(&unknown.stderr));
    let missing = faultwright(&["safety", "demos/air-curtain.toml"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(text(&missing.stderr).contains("which region?") && text(&missing.stderr).contains("europe"));
    assert_eq!(faultwright(&["safety"]).status.code(), Some(2));
}

#[test]
fn a_value_without_its_unit_and_a_test_of_another_class() {
    let file = |name: &str, safety: &str| {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let demo = std::fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..").join(DEMO)).unwrap();
        let (before, _) = demo.split_once("[safety]").unwrap();
        std::fs::write(&path, format!("{before}[safety]\nregion = \"europe\"\n{safety}\n")).unwrap();
        path.display().to_string()
    };
    let bare = file("no-unit.toml", "tests = [ { test = \"earth-continuity\", value = \"0.12\" } ]");
    let refused = faultwright(&["safety", &bare]);
    assert_eq!(refused.status.code(), Some(1));
    let words = text(&refused.stderr);
    assert!(words.contains("has no unit") && words.contains("write \"0.12 ohm\""), "{words}");
    let class =
        file("class-ii.toml", "class = \"II\"\ntests = [ { test = \"earth-continuity\", value = \"0.12 ohm\" } ]");
    let refused = faultwright(&["safety", &class]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stderr).contains("no test of a class II unit"), "{}", text(&refused.stderr));
}
