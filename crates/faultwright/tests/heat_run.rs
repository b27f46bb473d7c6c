//! Heat runs at the command line: the example's text, JSON fields, a run of a job, ohms, errors.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::Value;
use std::path::PathBuf;
use std::process::{Command, Output};

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

/// Exit code and last words of a command that must fail.
fn refused(arguments: &[&str]) -> (i32, String) {
    let output = faultwright(arguments);
    (output.status.code().unwrap(), text(&output.stderr))
}

fn file(name: &str, contents: &str) -> String {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, contents).unwrap();
    path.display().to_string()
}

const LOG: &str = "demos/heat-runs/bench-ventilator.csv";

#[test]
fn the_example_as_text() {
    insta::assert_snapshot!("heat-run", shown(&["heatrun", "--demo"]));
}

#[test]
fn the_example_as_json() {
    let found = json(&["heatrun", LOG, "--limit", "winding=115", "--limit", "shell=95", "--json"]);
    let winding = &found["channels"][0];
    assert_eq!(winding["name"], "winding");
    let (low, high) = (winding["interval95"][0].as_f64().unwrap(), winding["interval95"][1].as_f64().unwrap());
    let last = winding["final_celsius"].as_f64().unwrap();
    assert!(low < last && last < high);
    // The program that invented the log balances at 109.9 °C in a room of 21.7 °C: 24 W of copper at 20 °C and 9 W of iron
    // through 1.7, 2.6 and 0.78 W/K.
    assert!(low < 109.9 && 109.9 < high, "{low} {high}");
    assert!(winding["time_constants_minutes"]["main"].as_f64().unwrap() > 10.0);
    assert_eq!(winding["limit"]["celsius"], 115.0);
    assert_eq!(winding["equilibrium"].as_array().unwrap().len(), 3);
    assert!(["pass", "fail", "not yet"].contains(&winding["verdict"].as_str().unwrap()));
    let kinds: Vec<&str> =
        found["oddities"].as_array().unwrap().iter().map(|oddity| oddity["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"unreadable") && kinds.contains(&"gap"), "{kinds:?}");
}

#[test]
fn a_limit_for_another_room_is_corrected() {
    let plain = json(&["heatrun", LOG, "--limit", "winding=140", "--json"]);
    let hot = json(&["heatrun", LOG, "--limit", "winding=140", "--corrected-to", "40", "--json"]);
    let of = |found: &Value, field: &str| found["channels"][0][field].as_f64().unwrap();
    let correction = of(&hot, "correction_kelvin");
    assert!((correction - 18.3).abs() < 0.3, "{correction}");
    assert!((of(&plain, "margin_kelvin") - of(&hot, "margin_kelvin") - correction).abs() < 1e-6);
}

#[test]
fn ohms_after_switching_off() {
    // Check values 9: a winding at 95 °C that falls with 36 and 664 s; 20 ohms at 20 °C.
    let mut log = "t [s],winding [ohm]\n".to_owned();
    for seconds in [15.0_f64, 25.0, 35.0, 50.0, 70.0, 100.0] {
        let celsius = 20.0 + 24.356 * (-seconds / 36.1529).exp() + 50.644 * (-seconds / 663.847).exp();
        log += &format!("{seconds},{:.3}\n", 20.0 * (celsius + 234.5) / 254.5);
    }
    let path = file("ohms.csv", &log);
    let found = json(&["heatrun", &path, "--cold-ohms", "20", "--cold-celsius", "20", "--json"]);
    let celsius = found["by_resistance"][0]["celsius_at_switch_off"].as_f64().unwrap();
    assert!((celsius - 95.0).abs() < 1.5, "{celsius}");
    let (code, words) = refused(&["heatrun", &path]);
    assert!(code == 2 && words.contains("--cold-ohms"), "{words}");
    assert!(shown(&["heatrun", &path, "--cold-ohms", "20", "--cold-celsius", "20"]).contains("at switching off"));
}

#[test]
fn a_run_of_a_job() {
    let found =
        json(&["heatrun", "demos/greenhouse-heater.toml", "--run", "warm air from cold", "--limit", "90", "--json"]);
    let channels = found["channels"].as_array().unwrap();
    assert!(!channels.is_empty());
    assert!(channels.iter().all(|channel| channel["verdict"] != "pass"), "its cutout opens: {found:#}");
    let (code, words) = refused(&["heatrun", "demos/greenhouse-heater.toml", "--run", "no such run"]);
    assert!(code == 2 && words.contains("warm air from cold"), "{words}");
}

#[test]
fn wrong_use_says_what_to_do() {
    for (arguments, expected) in [
        (&["heatrun", "nowhere.csv"][..], "heatrun --demo"),
        (&["heatrun", "demos"], "is a folder"),
        (&["heatrun", LOG, "--limit", "F"], "a limit is a number of degrees"),
        (&["heatrun", LOG, "--limit", "class Q"], "a limit is a number of degrees"),
        (&["heatrun", LOG, "--class", "Q"], "class 'Q'"),
        (&["heatrun", LOG, "--class", "F", "--standard", "XYZ 1"], "XYZ 1"),
        (&["heatrun", LOG, "--limit", "nan"], "from 30 to 600"),
        (&["heatrun", LOG, "--limit", "windnig=120"], "'winding', 'shell'"),
        (&["heatrun", LOG, "--ambient", "200"], "no room's temperature"),
        (&["heatrun", LOG, "--time-unit", "days"], "there is s, min, h"),
        (&["heatrun", LOG, "--metal", "silver"], "copper, copper-machines, aluminium"),
    ] {
        let (code, words) = refused(arguments);
        assert!(code == 2 && words.contains(expected), "{arguments:?}: {words}");
    }
}

#[test]
fn a_log_that_cannot_be_used_says_its_row() {
    let path = file("no-unit.csv", "time,winding [C]\n0,20\n1,21\n");
    let (code, words) = refused(&["heatrun", &path]);
    assert!(code == 1 && words.contains("row 2") && words.contains("--time-unit"), "{words}");
    let path = file("short.csv", "t [min],winding [C]\n0,20\n1,warm\n");
    let out = shown(&["heatrun", &path, "--limit", "120"]);
    assert!(out.contains("not yet: too little") && out.contains("row 3: winding: 'warm' is no number"), "{out}");
}
