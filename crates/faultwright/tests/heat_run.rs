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

/// Check values 3.1 and 9: 20 ohms at 20 °C, 95 °C at switching off. IEC 60335-1, Table 3 (from memory): class B by resistance
/// 95 K, class A 75 K, in a room at 25 °C or what is left of it in a cooler one.
#[test]
fn ohms_are_held_to_a_limit_by_resistance() {
    let mut log = "t [s],winding [ohm]\n".to_owned();
    for seconds in [15.0_f64, 25.0, 35.0, 50.0, 70.0, 100.0] {
        let celsius = 20.0 + 24.356 * (-seconds / 36.1529).exp() + 50.644 * (-seconds / 663.847).exp();
        log += &format!("{seconds},{:.3}\n", 20.0 * (celsius + 234.5) / 254.5);
    }
    let path = file("ohms-held.csv", &log);
    let held = |more: &[&str]| {
        let found =
            json(&[&["heatrun", &path, "--cold-ohms", "20", "--cold-celsius", "20", "--json"][..], more].concat());
        let winding = found["by_resistance"][0].clone();
        assert_eq!(found["verdict"], winding["verdict"]);
        winding
    };
    let pass = held(&["--class", "B", "--ambient", "22"]);
    assert_eq!((&pass["verdict"], &pass["limit"]["celsius"]), (&"pass".into(), &117.0.into()), "{pass:#}");
    assert!((pass["rise_kelvin"].as_f64().unwrap() - 73.0).abs() < 1.5, "{pass:#}");
    assert!(pass["limit"]["source"].as_str().unwrap().contains("from memory"), "{pass:#}");
    assert_eq!(held(&["--limit", "80", "--ambient", "22"])["verdict"], "fail");
    assert_eq!(held(&["--limit", "winding=80", "--ambient", "22"])["verdict"], "fail");
    assert_eq!(held(&["--class", "B"])["withheld"], "room-unknown");
    assert_eq!(held(&["--class", "A", "--ambient", "22"])["withheld"], "uncertain");
    assert_eq!(held(&["--ambient", "22"])["withheld"], "no-limit");
    // The cold ohms of another winding.
    let wrong = json(&[
        "heatrun",
        &path,
        "--cold-ohms",
        "30",
        "--cold-celsius",
        "25",
        "--ambient",
        "27",
        "--class",
        "B",
        "--json",
    ]);
    assert_eq!(wrong["by_resistance"][0]["withheld"], "below-room");
    let out =
        shown(&["heatrun", &path, "--cold-ohms", "20", "--cold-celsius", "20", "--class", "B", "--ambient", "22"]);
    for words in ["pass: below its limit at switching off", "rise over the room at 22.0 C", "to spare"] {
        assert!(out.contains(words), "{words}: {out}");
    }
}

#[test]
fn a_limit_of_another_method_or_for_an_unknown_room_is_said() {
    let mut log = "t [min],winding [C]\n".to_owned();
    for minute in 0..240 {
        log += &format!("{minute},{:.1}\n", 70.0 - 48.0 * (-f64::from(minute) / 25.0).exp());
    }
    let path = file("no-room.csv", &log);
    let of = |more: &[&str]| json(&[&["heatrun", &path, "--json"][..], more].concat())["channels"][0].clone();
    let unknown = of(&["--class", "B"]);
    assert_eq!((&unknown["verdict"], &unknown["withheld"]), (&"not yet".into(), &"room-unknown".into()));
    assert!(unknown["words"].as_str().unwrap().contains("--ambient"), "{unknown:#}");
    // IEC 60335-1 by a thermocouple: class B 85 K (from memory); UL 458, Table 37.1: 110 °C in a room at 25 °C.
    let known = of(&["--class", "B", "--ambient", "22"]);
    assert_eq!((&known["verdict"], &known["limit"]["celsius"]), (&"pass".into(), &107.0.into()), "{known:#}");
    let converters = of(&["--class", "B", "--standard", "UL 458", "--ambient", "25"]);
    assert_eq!(converters["limit"]["celsius"], 110.0);
    assert!(!converters["limit"]["source"].as_str().unwrap().contains("by resistance"), "{converters:#}");
    // UL 507 is known by resistance only.
    let fans = of(&["--class", "B", "--standard", "UL 507", "--ambient", "25"]);
    assert_eq!(fans["limit"]["celsius"], 120.0);
    assert!(fans["limit"]["source"].as_str().unwrap().contains("a figure by resistance"), "{fans:#}");
}

/// The plate of the sealer's transformer says class F, the run's room is at 20 °C: 135 °C, as the record has it.
#[test]
fn a_run_of_a_job_is_held_to_its_plates() {
    let run = ["heatrun", "demos/heat-sealer.toml", "--run", "sealing after the repair"];
    let found = json(&[&run[..], &["--json"]].concat());
    for channel in found["channels"].as_array().unwrap() {
        assert_eq!(channel["limit"]["celsius"], 135.0, "{channel:#}");
        let source = channel["limit"]["source"].as_str().unwrap();
        assert!(source.contains("on its plate") && source.contains("from memory"), "{source}");
    }
    assert_eq!(found["room_logged"], false);
    let out = shown(&run);
    assert!(out.contains("room taken to be at 20.0 C; it is not in the log"), "{out}");
    let class = json(&[&run[..], &["--class", "A", "--json"]].concat());
    assert_eq!(class["channels"][0]["limit"]["celsius"], 85.0);
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
