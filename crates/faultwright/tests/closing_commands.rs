//! Options, record and experience at the command line: what they say, and how they refuse.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::PathBuf;
use std::process::{Command, Output};

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_faultwright"))
        .current_dir(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .args(arguments)
        .output()
        .unwrap()
}

fn said(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    // Lines are wrapped at blanks.
    String::from_utf8(output.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn refused(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}");
    String::from_utf8(output.stderr).unwrap()
}

#[test]
fn options_compare_repairs_and_name_what_was_strained() {
    let text = said(&["options", "demos/air-curtain.toml", "--minutes", "90"]);
    for words in [
        "leave it as it is",
        "take M2 out, cap its wires, and run without it",
        "STRAINED BY THE FAULT",
        "clear it:",
        "WHY IT MAY HAVE FAILED",
        "A protector is never bridged",
        "for 90 minutes",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let json = said(&["options", "demos/dough-proofer.toml", "--with", "C1 microfarads=8", "--json"]);
    let value: serde_json::Value = serde_json::from_str(&json).unwrap();
    let substitute = value["options"].as_array().unwrap().iter().find(|option| option["work"] == "substitute").unwrap();
    let compared = substitute["compared"].as_array().unwrap().iter().find(|one| one["field"] == "microfarads").unwrap();
    assert_eq!((&compared["before"], &compared["after"], &compared["fits"]), (&"6".into(), &"8".into(), &"no".into()));
    assert!(substitute["positions"][0]["amps"].as_f64().unwrap() > 0.0);
}

#[test]
fn a_record_is_written_and_says_how_the_job_stands() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("record.html");
    let text = said(&["record", "demos/heat-sealer.toml", "--out", out.to_str().unwrap()]);
    assert!(text.contains("PROVEN: THE JOB MAY BE CLOSED"), "{text}");
    let page = std::fs::read_to_string(&out).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.contains("Repaired, and the repair is proven."));
    let open: serde_json::Value =
        serde_json::from_str(&said(&["record", "demos/dough-proofer.toml", "--json"])).unwrap();
    assert_eq!(open["proven"], false);
    assert!(open["points"].as_array().unwrap().iter().any(|point| point["standing"] == "missing"));
}

#[test]
fn experience_is_counted_used_and_shown() {
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("shop.csv");
    let table = table.to_str().unwrap();
    let text = said(&["experience", "demos/heat-sealer.toml", "demos/dough-proofer.toml", "--out", table]);
    assert!(text.contains("1 closed jobs counted") && text.contains("dough-proofer"), "{text}");
    assert!(std::fs::read_to_string(table).unwrap().contains("transformer,high-medium-open,1,1"));
    // The same job once more, by its name or as a copy, counts once.
    let copy = folder.path().join("copy.toml");
    std::fs::copy(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../demos/heat-sealer.toml"), &copy).unwrap();
    let demo = "demos/heat-sealer.toml";
    let twice = run(&["experience", demo, demo, copy.to_str().unwrap()]);
    assert!(String::from_utf8_lossy(&twice.stdout).contains("transformer,high-medium-open,1,1"));
    let noted = String::from_utf8_lossy(&twice.stderr).into_owned();
    assert!(noted.contains("counted once: demos/heat-sealer.toml, ") && noted.contains("copy.toml"), "{noted}");
    // A fault that no part of the unit has moves nothing, and that is said.
    let strange = folder.path().join("strange.csv");
    std::fs::write(&strange, "kind,fault,confirmed,parts seen\ntransformer,hgih-medium-open,1,1\n").unwrap();
    let moved = run(&["suspects", demo, "--experience", strange.to_str().unwrap()]);
    let noted = String::from_utf8_lossy(&moved.stderr).into_owned();
    assert!(moved.status.success() && noted.contains("transformer hgih-medium-open"), "{noted}");
    let text = said(&["suspects", "demos/heat-sealer.toml", "--experience", table]);
    assert!(text.contains("ODDS FROM EXPERIENCE") && text.contains("T1 high-medium-open"), "{text}");
}

#[test]
fn wrong_use_says_what_to_do() {
    let demo = "demos/dough-proofer.toml";
    let folder = tempfile::tempdir().unwrap();
    let slip = folder.path().join("slip.csv");
    std::fs::write(&slip, "kind,fault,confirmed,parts seen\ntrasformer,open,1,1\n").unwrap();
    let slip = slip.to_str().unwrap();
    for (arguments, expected) in [
        (&["options", demo, "--suspect", "0"][..], "counted from 1"),
        (&["options", demo, "--suspect", "9999"], "counted from 1"),
        (&["options", demo, "--minutes=-3"], "from 0 up"),
        (&["options", demo, "--with", "C1"], "nothing is different"),
        (&["options", demo, "--with", "C9 volts=3"], "C9"),
        (&["options", demo, "--with", "C1 volts=much"], "much"),
        (&["suspects", demo, "--experience", demo], "no table of experience"),
        (&["suspects", demo, "--experience", "nowhere.csv"], "nowhere.csv"),
        (&["suspects", demo, "--experience", slip], "line 2: there is no kind 'trasformer'; did you mean transformer"),
        (&["record", "demos/heat-sealer.toml", "--out", "nowhere/record.html"], "cannot write"),
    ] {
        let words = refused(arguments);
        assert!(words.contains(expected), "{arguments:?}: {words}");
    }
}
