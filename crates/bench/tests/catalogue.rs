//! The catalogue for forms: its fields are those of the schema, and its examples make parts that the reader accepts.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::edit::{Edit, apply, part_fields};
use bench::kinds::KIND_NAMES;
use bench::kinds::catalogue::{CatalogueEntry, FieldType, Group, TableLine, catalogue};
use serde_json::Value;
use std::collections::BTreeMap;

/// A unit that has what every part needs around it: a supply, and nothing of the kind that is tried.
const BARE: &str = "[unit]\nname = \"x\"\n\n[parts.mains]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n";

/// Fields of each kind with whether they must be given, read from the schema by a plain walk of its own.
fn schema_fields() -> BTreeMap<String, BTreeMap<String, bool>> {
    let schema = bench::job::schema();
    let part = &schema["$defs"]["PartWithMake"];
    let names = |shape: &Value| -> Vec<(String, bool)> {
        let required = |name: &str| shape["required"].as_array().is_some_and(|list| list.iter().any(|one| one == name));
        shape["properties"].as_object().unwrap().keys().map(|name| (name.clone(), required(name))).collect()
    };
    let mut kinds = BTreeMap::new();
    for shape in part["oneOf"].as_array().unwrap() {
        let mut fields = BTreeMap::new();
        for (name, is_required) in names(shape).into_iter().chain(names(part)) {
            match name.as_str() {
                "kind" => (),
                "plate" => {
                    let reference = shape["properties"]["plate"]["$ref"].as_str().unwrap();
                    let plate = names(&schema["$defs"][reference.rsplit('/').next().unwrap()]);
                    fields
                        .extend(plate.into_iter().map(|(name, inner)| (format!("plate.{name}"), is_required && inner)));
                }
                _ => drop(fields.insert(name, is_required)),
            }
        }
        kinds.insert(shape["properties"]["kind"]["const"].as_str().unwrap().to_owned(), fields);
    }
    kinds
}

#[test]
fn the_fields_are_those_of_the_schema_no_more_and_no_fewer() {
    let own: BTreeMap<String, BTreeMap<String, bool>> = catalogue()
        .into_iter()
        .map(|entry| {
            (entry.kind.to_owned(), entry.fields.into_iter().map(|field| (field.name, field.is_required)).collect())
        })
        .collect();
    assert_eq!(own, schema_fields());
    let mut known: Vec<&str> = KIND_NAMES.to_vec();
    known.sort_unstable();
    assert_eq!(own.keys().collect::<Vec<_>>(), known);
}

#[test]
fn types_are_what_the_field_holds() {
    let holds = |kind: &str, name: &str| {
        let entry = catalogue().into_iter().find(|entry| entry.kind == kind).unwrap();
        entry.find_field(name).unwrap().holds
    };
    assert_eq!(holds("supply", "volts"), FieldType::Number);
    assert_eq!(holds("supply", "breaker_amps"), FieldType::Number);
    assert_eq!(holds("capacitor-run-motor", "plate.poles"), FieldType::WholeNumber);
    assert_eq!(holds("shaded-pole-motor", "plate.amps"), FieldType::Number);
    assert_eq!(holds("shaded-pole-motor", "taps"), FieldType::Names);
    assert_eq!(holds("splice", "legs"), FieldType::Names);
    assert_eq!(holds("switch", "positions"), FieldType::ContactTable);
    assert_eq!(holds("heater", "make"), FieldType::Text);
}

#[test]
fn every_kind_and_field_has_words() {
    for entry in catalogue() {
        for words in [entry.title, entry.words] {
            assert!(words.starts_with(char::is_uppercase) && !words.contains('_'), "{}: {words}", entry.kind);
        }
        assert!(entry.words.ends_with('.') && Group::ALL.contains(&entry.group));
        for field in &entry.fields {
            assert!(field.label.starts_with(char::is_uppercase) && !field.label.contains('_'), "{}", field.name);
            assert!(!field.example.is_empty() && !field.help.is_empty(), "{} {}", entry.kind, field.name);
            let has_unit = !field.unit.is_empty();
            assert_eq!(has_unit, field.holds == FieldType::Number, "{} {}", entry.kind, field.name);
        }
    }
}

/// A bare unit with one part of the kind.
fn unit_with(entry: &CatalogueEntry, fields: Vec<(String, String)>) -> String {
    let edit = Edit::SetPart { name: "X1".into(), kind: entry.kind.into(), fields };
    let bare = if entry.kind.ends_with("supply") { "[unit]\nname = \"x\"\n" } else { BARE };
    apply(bare, &edit).unwrap_or_else(|error| panic!("{}: {error}", entry.kind))
}

#[test]
fn examples_make_parts_that_are_read_whole_or_with_the_least() {
    for entry in catalogue() {
        for only_required in [false, true] {
            let fields: Vec<(String, String)> = entry
                .fields
                .iter()
                .filter(|field| field.is_required || !only_required)
                .map(|field| (field.name.clone(), field.example.to_owned()))
                .collect();
            let text = unit_with(&entry, fields.clone());
            let job = bench::job::read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
            assert!(job.warnings.0.is_empty(), "{}", job.warnings);
            let part = &job.unit.parts()[job.unit.find_part("X1").unwrap()];
            assert_eq!(part.kind.name(), entry.kind);
            // Whole repairs are single ones joined by semicolons, so no single one may have one within.
            for fault in job.unit.faults() {
                assert!(!fault.repair().contains(';'), "{}", fault.repair());
            }
            // What was typed comes back to the form.
            let (kind, typed) = part_fields(&text, "X1").unwrap();
            let trimmed = |fields: &[(String, String)]| -> Vec<(String, String)> {
                fields.iter().map(|(name, value)| (name.clone(), value.trim().to_owned())).collect()
            };
            assert_eq!((kind.as_str(), trimmed(&typed)), (entry.kind, fields));
        }
    }
}

#[test]
fn a_line_of_a_table_can_be_changed_alone() {
    let entry = catalogue().into_iter().find(|entry| entry.kind == "transformer").unwrap();
    let lines = ["windings", "winding_ohms"].map(|name| entry.find_field(name).unwrap().line);
    assert_eq!(lines, [Some(TableLine::Winding), Some(TableLine::Number)]);
    let examples = entry.fields.iter().map(|field| (field.name.clone(), field.example.to_owned())).collect();
    let text = unit_with(&entry, examples);
    let set = |field: &str, value: &str| {
        let fields = vec![(field.to_owned(), value.to_owned())];
        apply(&text, &Edit::SetPart { name: "X1".into(), kind: entry.kind.into(), fields })
    };
    let changed = set("windings.secondary", "c 9,5 d").unwrap();
    let typed = part_fields(&changed, "X1").unwrap().1;
    let windings = typed.iter().find(|(name, _)| name == "windings").unwrap();
    assert_eq!(windings.1, "primary: hot 230 neutral\nsecondary: c 9.5 d\n");
    assert!(bench::job::read("job.toml", &changed).is_ok());
    for (field, value, words) in [
        ("windings.secondary", "c to d", "'to' is not a number"),
        ("windings", "secondary", "write a line"),
        ("winding_ohms", "primary: 5 V", "units are never written"),
    ] {
        let error = set(field, value).unwrap_err().to_string();
        assert!(error.contains(words), "{field} {value}: {error}");
    }
}

#[test]
fn a_part_without_a_required_field_is_refused() {
    for entry in catalogue() {
        for missing in entry.fields.iter().filter(|field| field.is_required) {
            let fields = entry.fields.iter().filter(|field| *field != missing);
            let text = unit_with(&entry, fields.map(|field| (field.name.clone(), field.example.to_owned())).collect());
            assert!(bench::job::read("job.toml", &text).is_err(), "{} without {}", entry.kind, missing.name);
        }
    }
}

/// Every kind whose winding has a class on its plate, and what the plate then says.
#[test]
fn a_winding_has_the_class_of_its_plate() {
    let plate = "plate = { volts = 230, hertz = 50, amps = 2, insulation_class = \"class F\" }";
    let parts = [
        ("capacitor-run-motor", plate.to_owned()),
        ("shaded-pole-motor", plate.to_owned()),
        ("split-phase-motor", plate.to_owned()),
        ("reversible-motor", plate.to_owned()),
        ("compressor", plate.to_owned()),
        ("universal-motor", plate.to_owned()),
        ("three-phase-motor", format!("connection = \"star\"\n{plate}")),
        ("timer-motor", "volts = 230\ninsulation_class = \"155\"".into()),
        ("solenoid-valve", "volts = 230\ninsulation_class = \"F\"".into()),
        ("relay", "volts = 230\ncontacts.pulled-in = [[\"a\", \"b\"]]\ninsulation_class = \"f\"".into()),
        ("potential-relay", "pickup_volts = 280\ninsulation_class = \"F\"".into()),
        ("transformer", "volt_amperes = 50\nwindings.p = [\"0\", 230, \"1\"]\ninsulation_class = \"F\"".into()),
    ];
    for (kind, fields) in &parts {
        let text = format!("{BARE}\n[parts.X]\nkind = \"{kind}\"\n{fields}\n");
        let job = bench::job::read("x", &text).unwrap_or_else(|problems| panic!("{kind}: {problems}"));
        let part = job.unit.find_part("X").unwrap();
        // IEC 60085: class F is 155 degrees Celsius.
        let class = job.unit.parts()[part].kind.insulation_class().unwrap();
        assert_eq!(class.celsius(), 155.0, "{kind}");
    }
    let with_class = |entry: &CatalogueEntry| entry.fields.iter().any(|field| field.name.ends_with("insulation_class"));
    let mut known: Vec<&str> = catalogue().iter().filter(|entry| with_class(entry)).map(|entry| entry.kind).collect();
    let mut tried: Vec<&str> = parts.iter().map(|(kind, _)| *kind).collect();
    known.sort_unstable();
    tried.sort_unstable();
    assert_eq!(known, tried);
}
