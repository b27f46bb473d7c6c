//! The commands as a person or program uses them: exit codes, text, JSON fields, errors.
//!
//! Snapshots hold the text of the demos; numbers in them are held to the circuit by the tests of the other crates.
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

/// Standard output of a command that must succeed.
fn shown(arguments: &[&str]) -> String {
    let output = faultwright(arguments);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", text(&output.stderr));
    text(&output.stdout)
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&shown(arguments)).unwrap()
}

/// A job file of the given text in the folder that cargo keeps for tests.
fn job_file(name: &str, contents: &[u8]) -> String {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, contents).unwrap();
    path.display().to_string()
}

const AIR_CURTAIN: &str = "demos/air-curtain.toml";

#[test]
fn demo_list() {
    insta::assert_snapshot!(shown(&["demo", "--list"]));
}

#[test]
fn the_first_demo_shows_the_whole_job() {
    let out = shown(&["demo"]);
    for part in ["READINGS", "SUSPECTS", "REPAIRS", "NEXT CHECK", "! Unplug", "> if ", "leaves "] {
        assert!(out.contains(part), "{part}");
    }
}

#[test]
fn demo_texts() {
    for name in [
        "air-curtain",
        "dough-proofer",
        "drying-cabinet",
        "polisher",
        "heat-sealer",
        "greenhouse-heater",
        "bench-grinder",
        "workshop-compressor",
        "two-leg-cabinet",
        "extractor",
    ] {
        insta::assert_snapshot!(name, shown(&["demo", name]));
    }
}

#[test]
fn the_first_demo_needs_no_name() {
    assert_eq!(shown(&["demo"]), shown(&["demo", "dough-proofer"]));
}

#[test]
fn unknown_demo_is_wrong_use_and_names_the_others() {
    let output = faultwright(&["demo", "toaster"]);
    assert_eq!(output.status.code(), Some(2));
    let words = text(&output.stderr);
    for name in [
        "air-curtain",
        "dough-proofer",
        "drying-cabinet",
        "polisher",
        "heat-sealer",
        "greenhouse-heater",
        "bench-grinder",
        "workshop-compressor",
        "two-leg-cabinet",
        "extractor",
    ] {
        assert!(words.contains(name), "{words}");
    }
}

#[test]
fn validate_of_a_sound_job() {
    let out = shown(&["validate", AIR_CURTAIN]);
    assert!(out.contains("usable"), "{out}");
    assert_eq!(json(&["validate", AIR_CURTAIN, "--json"])["usable"], true);
}

#[test]
fn validate_shows_all_problems_with_their_places() {
    let path = job_file(
        "two-problems.toml",
        br#"
wires = [ { from = "outlet.hot", to = "H1.a" }, { from = "H1.b", to = "outlet.nuetral" } ]
readings = [ { setup = "cold", ohms = "4,7k", between = ["H1.a", "H1.b"] } ]
[unit]
name = "Bench test"
[parts.outlet]
kind = "supply"
volts = 120
hertz = 60
[parts.H1]
kind = "heater"
volts = 120
watts = 500
[setups.cold]
supply = "off"
"#,
    );
    let output = faultwright(&["validate", &path]);
    assert_eq!(output.status.code(), Some(1));
    let out = text(&output.stdout);
    assert!(out.contains("outlet.neutral"), "the nearest name is offered: {out}");
    assert!(out.contains("write 4.7k"), "{out}");
    assert!(out.contains("2 problems"), "{out}");
    assert!(!out.contains('\u{1b}'), "no colour when not a terminal");

    let output = faultwright(&["validate", &path, "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let report: Value = serde_json::from_str(&text(&output.stdout)).unwrap();
    let places: Vec<(u64, u64)> = report["problems"]
        .as_array()
        .unwrap()
        .iter()
        .map(|problem| (problem["line"].as_u64().unwrap(), problem["column"].as_u64().unwrap()))
        .collect();
    assert_eq!(places, [(2, 71), (3, 39)]);
}

#[test]
fn a_file_that_is_not_there_a_folder_and_a_large_file() {
    let missing = faultwright(&["suspects", "no-such-file.toml"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(text(&missing.stderr).contains("no-such-file.toml"));
    let folder = faultwright(&["validate", "demos"]);
    assert_eq!(folder.status.code(), Some(2));
    assert!(text(&folder.stderr).contains("is a folder"));
    let large = job_file("large.toml", &vec![b'#'; 20_000_000]);
    let refused = faultwright(&["validate", &large]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stdout).contains("at most 4 MB"), "{}", text(&refused.stdout));
}

#[test]
fn ranking_as_json_has_the_promised_fields() {
    let ranking = json(&["suspects", AIR_CURTAIN, "--json"]);
    let first = &ranking["suspects"][0];
    assert_eq!(first["faults"][0]["part"], "M2");
    assert_eq!(first["faults"][0]["fault"], "common-open");
    assert_eq!(first["faults"][0]["severity"], Value::Null);
    assert_eq!(first["repair"], "replace the motor M2");
    for field in ["predicted", "spread", "measured", "deviation", "line", "setup", "where", "unit", "verdict"] {
        assert!(first["readings"][0].get(field).is_some(), "readings[].{field}");
    }
    for field in
        ["method", "mass_not_enumerated", "questionable_readings", "slips", "support", "repairs", "work", "caution"]
    {
        assert!(ranking.get(field).is_some(), "{field}");
    }
    let total: f64 = ranking["suspects"].as_array().unwrap().iter().map(|s| s["probability"].as_f64().unwrap()).sum();
    assert!((total - 1.0).abs() < 1e-3, "{total}");
    // The explanation comes out of the solved circuit: the sound motor feeds the broken one.
    let fed = &first["consequences"]["fed_backwards"][0];
    assert_eq!((fed["from_part"].as_str(), fed["into_part"].as_str()), (Some("M1"), Some("M2")));
    assert!(fed["watts"].as_f64().unwrap() > 1.0);
}

#[test]
fn the_verdict_says_what_is_left_and_what_decides() {
    let ranking = json(&["suspects", AIR_CURTAIN, "--json"]);
    let next = json(&["next", AIR_CURTAIN, "--json"]);
    for verdict in [&ranking["verdict"], &next["verdict"]] {
        for field in ["state", "settled", "needed", "left", "if_wrong", "hidden", "not_the_unit", "proof", "lines"] {
            assert!(verdict.get(field).is_some(), "verdict.{field}");
        }
        assert_eq!((verdict["state"].as_str(), &verdict["settled"]), (Some("not decided"), &Value::Null));
        assert_eq!(verdict["needed"]["repair"], "replace the motor M2");
        assert!(verdict["hidden"][0]["probability"].as_f64().unwrap() > 0.001);
    }
    let said = |document: &Value, words: &str| {
        document["verdict"]["lines"].as_array().unwrap().iter().any(|line| line.as_str().unwrap().contains(words))
    };
    let deciding = next["checks"][0]["words"].as_str().unwrap();
    assert!(said(&next, deciding) && !said(&ranking, deciding));
    assert_eq!(ranking["explained_readings"][0]["kind"], "more than the supply");
    // The text of the ranking says where to ask for that check.
    let out = shown(&["suspects", AIR_CURTAIN]);
    assert!(out.contains("VERDICT") && out.contains("Not decided") && out.contains("faultwright next"), "{out}");
    // A settled one says what a mistake would cost.
    let settled = json(&["next", "demos/bench-grinder.toml", "--json"]);
    let verdict = &settled["verdict"];
    assert_eq!(verdict["state"], "settled");
    assert_eq!(verdict["settled"]["repair"], settled["settled"]);
    assert!(verdict["if_wrong"]["minutes_in_vain"].as_f64().unwrap() > 0.0);
    let dangers =
        verdict["if_wrong"]["missed"].as_array().unwrap().iter().filter(|missed| missed["danger"].is_string());
    assert!(dangers.count() > 0);
    assert!(verdict["proof"]["repaired"].is_number());
}

#[test]
fn checks_as_json_have_the_promised_fields() {
    let plan = json(&["next", "demos/dough-proofer.toml", "--json", "--most", "2"]);
    let checks = plan["checks"].as_array().unwrap();
    assert_eq!(checks.len(), 2);
    for check in checks {
        for field in ["words", "quantity", "terminals", "setup", "setup_words", "bits", "minutes", "hazard"] {
            assert!(check.get(field).is_some(), "checks[].{field}");
        }
        assert!(!check["cautions"].as_array().unwrap().is_empty());
        let chances: f64 =
            check["outcomes"].as_array().unwrap().iter().map(|o| o["probability"].as_f64().unwrap()).sum();
        assert!((chances - 1.0).abs() < 1e-6, "{chances}");
        assert!(check["outcomes"][0]["leaves"][0].get("suspect").is_some());
    }
}

#[test]
fn what_is_refused_is_not_proposed_and_its_price_is_said() {
    let next = |more: &[&str]| {
        let whole = ["next", "demos/dough-proofer.toml", "--json"];
        json(&[&whole, more].concat())
    };
    let free = next(&[]);
    let first = free["checks"][0]["quantity"].as_str().unwrap();
    assert!(free["foregone"].is_null() && free["refused"].as_array().unwrap().is_empty());
    let word = match first {
        "ohm" => "ohms",
        "V" => "volts",
        "A" => "amps",
        other => panic!("{other}"),
    };
    let without = next(&["--without", word]);
    assert_eq!(without["refused"], serde_json::json!([format!("no {word}")]));
    assert!(without["checks"].as_array().unwrap().iter().all(|check| check["quantity"] != first));
    assert_eq!(without["foregone"]["words"], free["checks"][0]["words"]);
    let words = shown(&["next", "demos/dough-proofer.toml", "--without", word]);
    assert!(words.contains(&format!("Refused: no {word}.")), "{words}");
}

#[test]
fn unknown_refusals_and_housings_are_wrong_use_and_name_the_nearest() {
    let refused = faultwright(&["next", "demos/drying-cabinet.toml", "--without", "amp"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("did you mean amps?"), "{}", text(&refused.stderr));
    let housing = faultwright(&["plan", "demos/drying-cabinet.toml", "--open", "cellar"]);
    assert_eq!(housing.status.code(), Some(2));
    assert!(text(&housing.stderr).contains("the job has control panel, rear duct, fan cowl"));
}

#[test]
fn the_plan_as_json_and_as_text() {
    let plan = json(&["plan", "demos/dough-proofer.toml", "--json"]);
    for field in [
        "way",
        "expected",
        "optimum",
        "rollout",
        "rollout_over_optimum",
        "greedy",
        "greedy_over_optimum",
        "groups",
        "checks",
        "left_out_probability",
        "inseparable_probability",
        "expected_minutes_in_vain",
        "cut",
        "refused",
        "tree",
        "caution",
    ] {
        assert!(!plan[field].is_null(), "{field}: {plan:#}");
    }
    let tree = &plan["tree"];
    assert_eq!(tree["next"], "check");
    let outcomes = tree["outcomes"].as_array().unwrap();
    let sum: f64 = outcomes.iter().map(|outcome| outcome["probability"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-9 && outcomes.len() > 1);
    assert!(outcomes.iter().all(|outcome| outcome["then"]["next"].is_string()));
    let words = shown(&["plan", "demos/dough-proofer.toml"]);
    // What is to be heeded comes before the first check.
    let (heed, first) = (words.find("prove dead").unwrap(), words.find("? measure").unwrap());
    assert!(heed < first, "{words}");
    for part in ["PLAN", "Expected: ", "the cheapest order", "? measure", "> if ", "= settled: "] {
        assert!(words.contains(part), "{part}: {words}");
    }
}

#[test]
fn prediction_with_and_without_a_fault() {
    let arguments = ["predict", AIR_CURTAIN, "--setup", "high", "--json"];
    let healthy = json(&arguments);
    let faulty = json(&[&arguments[..], &["--fault", "M2 common-open"]].concat());
    let rpm = |prediction: &Value, motor: usize| prediction["motors"][motor]["rpm"]["value"].as_f64().unwrap();
    assert!((rpm(&healthy, 1) - rpm(&healthy, 0)).abs() < 1e-6, "sound twins turn alike");
    assert_eq!(rpm(&faulty, 1), 0.0);
    assert!(healthy["motors"][0]["torque_newton_metres"]["spread"].as_f64().unwrap() > 0.0);
    assert!(healthy["cautions"][0].as_str().unwrap().starts_with("LIVE"));
    let terminals = healthy["terminals"].as_array().unwrap();
    assert!(
        terminals.iter().any(|row| row["terminal"] == "M1.high" && row["volts"]["value"].as_f64().unwrap() > 200.0)
    );
}

#[test]
fn prediction_of_an_unplugged_setup_is_in_ohms() {
    let prediction =
        json(&["predict", AIR_CURTAIN, "--setup", "M2-off-its-wires", "--json", "--fault", "M2 common-open"]);
    let row = |from: &str, to: &str| {
        prediction["ohms"].as_array().unwrap().iter().find(|row| row["from"] == from && row["to"] == to).unwrap()["ohms"]
            ["value"]
            .clone()
    };
    assert_eq!(row("M2.common", "M2.high"), "open");
    assert!(row("M2.high", "M2.low").as_f64().unwrap() > 10.0);
}

/// A conductor that is not there carries the frame to half the volts or so through what filters and wiring have to both sides,
/// and a person between it and earth what then flows: no more than those volts over 2 kilohms, no less than nothing.
#[test]
fn prediction_tells_what_the_frame_would_do() {
    let frame = |fault: &[&str]| {
        let arguments = [&["predict", AIR_CURTAIN, "--setup", "high", "--json"], fault].concat();
        let frame = json(&arguments)["frame"].clone();
        ["volts", "touch_milliamps", "leakage_milliamps"].map(|name| frame[name]["value"].as_f64().unwrap())
    };
    let [volts, touch, leakage] = frame(&[]);
    assert!(volts < 0.1 && touch < 0.01 && leakage < 1.0, "{volts} V, {touch} mA, {leakage} mA");
    let [volts, touch, _] = frame(&["--fault", "cord earth-open"]);
    assert!(volts > 20.0 && touch > 0.001 && touch < volts / 2.0, "{volts} V, {touch} mA");
    let [.., leaking] = frame(&["--fault", "M1 main-to-frame"]);
    assert!(leaking > 10.0 * leakage && leaking > 5.0, "{leaking} mA");
    let text = faultwright(&["predict", AIR_CURTAIN, "--setup", "high"]);
    assert!(String::from_utf8_lossy(&text.stdout).contains("touch mA"));
}

#[test]
fn prediction_does_not_contradict_the_fault_that_it_is_given() {
    let grinder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../demos/bench-grinder.toml");
    let prediction = |fault: &[&str]| {
        json(&[&["predict", grinder, "--setup", "running", "--json"], fault].concat())["moved_contacts"].clone()
    };
    assert_eq!(prediction(&[]), serde_json::json!(["M1: the centrifugal switch has opened"]));
    assert_eq!(
        prediction(&["--fault", "M1 centrifugal-welded"]),
        serde_json::json!(["M1: the centrifugal switch should have opened and stays closed"])
    );
}

/// A supply that stands at more than a fifth above plate volts saturates the iron of motors, which is linear here.
#[test]
fn prediction_warns_of_iron_that_saturates() {
    let saturated = |size: &str| {
        let fault = format!("supply high-volts {size}");
        json(&["predict", AIR_CURTAIN, "--setup", "high", "--json", "--fault", &fault])["saturated"].clone()
    };
    assert_eq!(saturated("1.1"), serde_json::json!([]));
    let found = saturated("1.4");
    assert_eq!(found[0]["part"], "M1");
    assert!(found[0]["words"].as_str().unwrap().contains("do not apply power"), "{found}");
}

#[test]
fn predict_says_what_it_does_not_know() {
    let setup = faultwright(&["predict", AIR_CURTAIN, "--setup", "turbo"]);
    assert_eq!(setup.status.code(), Some(2));
    assert!(text(&setup.stderr).contains("M2-off-its-wires"));
    let fault = faultwright(&["predict", AIR_CURTAIN, "--setup", "high", "--fault", "M2 comon-open"]);
    assert_eq!(fault.status.code(), Some(2));
    assert!(text(&fault.stderr).contains("M2 can have common-open"));
    let size = faultwright(&["predict", AIR_CURTAIN, "--setup", "high", "--fault", "M2 common-open 3"]);
    assert_eq!(size.status.code(), Some(2));
    assert!(text(&size.stderr).contains("has no size"));
    let twice = faultwright(&["predict", AIR_CURTAIN, "--setup", "high", "--fault", "C1 open", "--fault", "C1 open"]);
    assert_eq!(twice.status.code(), Some(2));
}

#[test]
fn a_live_setup_is_never_shown_without_its_cautions() {
    for arguments in
        [vec!["predict", AIR_CURTAIN, "--setup", "high"], vec!["demo"], vec!["next", "demos/drying-cabinet.toml"]]
    {
        let out = shown(&arguments);
        assert!(out.contains("Local codes and licensed practice prevail"), "{arguments:?}");
        assert!(out.contains("LIVE") || out.contains("prove dead"), "{arguments:?}");
    }
}

#[test]
fn wrong_use_of_the_command_line_has_exit_code_two() {
    assert_eq!(faultwright(&["suspects"]).status.code(), Some(2));
    assert_eq!(faultwright(&["guess"]).status.code(), Some(2));
    assert_eq!(faultwright(&[]).status.code(), Some(2));
}

#[test]
fn unmarked_leads() {
    assert_eq!(shown(&["leads", "--demo"]), shown(&["leads", "demos/leads/three-speed-fan.toml"]));
    for name in ["three-speed-fan", "compressor", "nine-leads"] {
        insta::assert_snapshot!(format!("leads-{name}"), shown(&["leads", &format!("demos/leads/{name}.toml")]));
    }
}

#[test]
fn unmarked_leads_as_json_have_the_promised_fields() {
    let found = json(&["leads", "--demo", "--json"]);
    let first = &found["answers"][0];
    assert_eq!(first["places"][0]["role"], "common");
    assert_eq!(first["places"][0]["leads"][0]["lead"], "C");
    for field in ["from", "to", "ohms", "low", "high", "ohms_20c", "open", "measured"] {
        assert!(first["arrangements"][0]["sections"][0].get(field).is_some(), "sections[].{field}");
    }
    for field in
        ["roles", "none_of_these", "left_out", "readings", "doubtful", "entropy_bits", "apart", "next", "cautions"]
    {
        assert!(found.get(field).is_some(), "{field}");
    }
    assert_eq!(found["doubtful"][0]["line"], 11, "the slipped decimal");
}

#[test]
fn leads_of_a_job_and_wrong_use() {
    let out = shown(&["leads", AIR_CURTAIN, "--part", "M2"]);
    assert!(out.contains("WHICH LEAD IS WHAT") && out.contains("Prove it before power is applied"), "{out}");
    let part = faultwright(&["leads", AIR_CURTAIN, "--part", "M9"]);
    assert_eq!(part.status.code(), Some(2));
    assert!(text(&part.stderr).contains("M1"), "{}", text(&part.stderr));
    assert_eq!(faultwright(&["leads"]).status.code(), Some(2));
    let path = job_file("two-leads.toml", b"leads = [\"a\", \"b\"]\n");
    let few = faultwright(&["leads", &path]);
    assert_eq!(few.status.code(), Some(1));
    assert!(text(&few.stderr).contains("3 to 9 leads"), "{}", text(&few.stderr));
}
