//! Runs over time from the command line.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use std::process::{Command, Output};

const GREENHOUSE: &str = "demos/greenhouse-heater.toml";
const RUN: &str = "warm air from cold";

fn predict(arguments: &[&str]) -> Output {
    let workspace = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let mut command = Command::new(env!("CARGO_BIN_EXE_faultwright"));
    command.current_dir(workspace).args(["predict", GREENHOUSE]).args(arguments).output().unwrap()
}

fn shown(arguments: &[&str]) -> String {
    let output = predict(arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn a_run_as_a_page() {
    insta::assert_snapshot!(shown(&["--run", RUN]));
}

#[test]
fn a_cycling_run_says_its_period_and_ends_its_tale_early() {
    let out = shown(&["--run", RUN, "--fault", "M1 air-blocked 0.7"]);
    assert!(out.contains("K1 opens") && out.contains("It never settles: K1 opens every"), "{out}");
    assert!(out.contains("with M1 air-blocked: ") && out.contains("0.700 share of air"), "{out}");
    assert!(out.contains("LIVE: supply") && out.contains("Local codes and licensed practice prevail"), "{out}");
}

#[test]
fn a_run_as_comma_separated_values() {
    let out = shown(&["--run", RUN, "--csv", "--every-seconds", "300"]);
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!(lines.len(), 8, "{out}");
    assert!(lines[0].starts_with("minutes,A through cord.hot,W of cord,rpm of M1,C at "), "{out}");
    for line in &lines[1..] {
        let values: Vec<f64> = line.split(',').map(|value| value.parse().unwrap()).collect();
        assert_eq!(values.len(), lines[0].split(',').count());
    }
    assert!(lines[1].starts_with("0.0000,8.8") && lines[7].starts_with("30.0000,8.8"), "{out}");
}

#[test]
fn a_run_as_json() {
    let out: Value = serde_json::from_str(&shown(&["--run", RUN, "--json", "--every-seconds", "600"])).unwrap();
    assert_eq!(out["channels"][0], serde_json::json!({ "unit": "A", "where": "through cord.hot" }));
    assert_eq!(out["rows"].as_array().unwrap().len(), 4);
    assert_eq!(out["events"][0]["what"], "setup warm air");
    assert_eq!((&out["end"]["state"], &out["end"]["part"]), (&"moving".into(), &"M1".into()));
    assert!(out["caution"].as_str().unwrap().contains("competent"));
}

#[test]
fn step_sizes_that_make_no_sense_are_refused() {
    for every in ["0", "-5", "nan", "inf", "0.000001"] {
        let output = predict(&["--run", RUN, &format!("--every-seconds={every}")]);
        assert_eq!(output.status.code(), Some(2), "{every}");
        let words = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(words.contains("expected a time above zero"), "{every}: {words}");
    }
    for wrong in
        [vec!["--run", "cold"], vec!["--setup", "warm air", "--csv"], vec![], vec!["--run", RUN, "--json", "--csv"]]
    {
        assert_eq!(predict(&wrong).status.code(), Some(2), "{wrong:?}");
    }
    let unknown = String::from_utf8_lossy(&predict(&["--run", "cold"]).stderr).into_owned();
    assert!(unknown.contains("the job has warm air from cold"), "{unknown}");
}
