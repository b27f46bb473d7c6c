//! The JSON Schema in `docs/` is the one the types make, and what is shipped as a job file fits it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The folder that holds `docs` and `demos`.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Set this variable to write the schema anew after a change of the types.
const UPDATE: &str = "UPDATE_SCHEMA";

#[test]
fn the_checked_in_schema_is_the_one_the_types_make() {
    let path = root().join("docs/job-file.schema.json");
    let mut made = serde_json::to_string_pretty(&bench::job::schema()).unwrap();
    made.push('\n');
    if std::env::var_os(UPDATE).is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    let checked_in = std::fs::read_to_string(&path).unwrap();
    assert!(checked_in == made, "{} is out of date: run this test with {UPDATE}=1", path.display());
}

/// What does not fit the schema, one line for each misfit.
fn misfits(job: &Value) -> Vec<String> {
    let validator = jsonschema::draft202012::new(&bench::job::schema()).unwrap();
    validator.iter_errors(job).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

/// The TOML of a job file as JSON.
fn as_json(text: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap()
}

#[test]
fn every_demo_fits_the_schema() {
    let mut count = 0;
    for entry in std::fs::read_dir(root().join("demos")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let job = as_json(&std::fs::read_to_string(&path).unwrap());
            assert_eq!(misfits(&job), Vec::<String>::new(), "{}", path.display());
            count += 1;
        }
    }
    assert!(count >= 1, "no demos were found");
}

/// A small job that fits.
fn small_job() -> Value {
    json!({
        "unit": { "name": "Hot plate" },
        "parts": {
            "supply": { "kind": "supply", "volts": 230, "hertz": 50 },
            "H1": { "kind": "heater", "make": "left and right alike", "volts": 230, "watts": "1.5k" },
        },
        "wires": [{ "from": "supply.hot", "to": "H1.a" }, { "from": "H1.b", "to": "supply.neutral", "colour": "blue" }],
        "setups": { "off": { "supply": "off" } },
        "readings": [{ "setup": "off", "ohms": "open", "between": ["H1.a", "H1.b"] }],
    })
}

#[test]
fn numbers_texts_and_words_fit() {
    assert_eq!(misfits(&small_job()), Vec::<String>::new());
}

/// What a program that only knows the schema can catch: the schema must not be so loose that anything fits.
#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let cases: [(&str, &str, Value); 9] = [
        ("a section that is not known", "/reading", json!([])),
        ("a kind that is not known", "/parts/H1/kind", json!("heatr")),
        ("a field that a heater does not have", "/parts/H1/watt", json!(100)),
        ("a value that is neither number nor text", "/parts/H1/watts", json!(true)),
        ("a supply that is neither on nor off", "/setups/off/supply", json!("live")),
        ("three points where two belong", "/readings/0/between", json!(["H1.a", "H1.b", "frame"])),
        ("a word that is not known", "/symptoms", json!([{ "setup": "off", "part": "H1", "word": "sad" }])),
        ("a wire with a field that is not known", "/wires/0/color", json!("red")),
        ("a unit without a name", "/unit", json!({})),
    ];
    for (words, place, value) in cases {
        let mut job = small_job();
        let (parent, name) = place.rsplit_once('/').unwrap();
        job.pointer_mut(parent).unwrap()[name] = value;
        assert!(!misfits(&job).is_empty(), "{words} fits the schema");
        let text = toml::to_string(&toml::Table::try_from(&job).unwrap()).unwrap();
        assert!(bench::job::read("job.toml", &text).is_err(), "{words} is read without a problem");
    }
}

/// Readings, logs and ohms after a repair may each be left out.
#[test]
fn a_repair_fits_with_and_without_what_was_read_after_it() {
    let mut job = small_job();
    job["repaired"] = json!({ "work": "H1 replaced" });
    assert_eq!(misfits(&job), Vec::<String>::new());
    let hot = json!({ "run": "warm", "winding": "M1.winding", "cold_ohms": 19.84, "cold_celsius": 21.5,
                      "seconds": [15, 25, 40], "ohms": [24.8, 24.6, 24.4], "metal": "aluminium" });
    job["repaired"]["hot_ohms"] = json!([hot]);
    assert_eq!(misfits(&job), Vec::<String>::new());
    job["repaired"]["hot_ohms"][0]["metal"] = json!("tin");
    assert_eq!(misfits(&job).len(), 1);
}
