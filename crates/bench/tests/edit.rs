//! Edits of job files change what they are about and nothing else.
//!
//! Each edit is made twice: on the text, and on the parsed document by a plain model below. Both must agree, and remarks
//! and lines that the edit is not about must come through unchanged.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "edit/any.rs"]
mod any;
#[path = "edit/heat_run_logs.rs"]
mod heat_run_logs;
#[path = "edit/model.rs"]
mod model;

use any::{DEMOS, any_edit, any_text, with_headings};
use bench::job::edit::{Edit, EditError, ReadingPlace, ShownText, apply, part_fields};
use model::{expected, parsed};
use proptest::prelude::*;

const AIR_CURTAIN: &str = DEMOS[0];

fn text(text: &str) -> String {
    text.to_owned()
}

fn ohms(setup: &str, a: &str, b: &str, value: &str) -> Edit {
    let (measure, value) = (ReadingPlace::Ohms(text(a), text(b)), ShownText::parse(value).unwrap());
    Edit::AddReading { setup: text(setup), measure, value, meter: None }
}

fn wire(from: &str, to: &str, label: Option<&str>) -> Edit {
    Edit::AddWire { from: text(from), to: text(to), colour: None, label: label.map(text) }
}

fn set_part(name: &str, kind: &str, fields: &[(&str, &str)]) -> Edit {
    let fields = fields.iter().map(|(name, value)| (text(name), text(value))).collect();
    Edit::SetPart { name: text(name), kind: text(kind), fields }
}

fn setup(name: &str, supply_on: bool, positions: &[(&str, &str)], lifted: &[&str]) -> Edit {
    Edit::SetSetup {
        name: text(name),
        supply_on,
        positions: positions.iter().map(|(part, at)| (text(part), text(at))).collect(),
        lifted: lifted.iter().map(|terminal| text(terminal)).collect(),
        jumpers: Vec::new(),
        held: Vec::new(),
        pushed: Vec::new(),
        winding_celsius: None,
    }
}

/// Whether all of `part` stands in `whole` in this order.
fn in_order<'l>(part: impl IntoIterator<Item = &'l str>, whole: &str) -> bool {
    let mut lines = whole.lines();
    part.into_iter().all(|wanted| lines.any(|line| line == wanted))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn an_edit_changes_what_it_is_about_and_nothing_else(before in any_text(), edit in any_edit()) {
        prop_assert!(!edit.words().contains(char::is_control));
        let after = match apply(&before, &edit) {
            Ok(after) => after,
            Err(error) => {
                prop_assert!(!error.to_string().is_empty());
                prop_assert!(!matches!(error, EditError::Unusual | EditError::NotToml { .. } | EditError::Form { .. }), "{error}");
                return Ok(());
            }
        };
        prop_assert_eq!(parsed(&after), expected(&parsed(&before), &edit), "{}", after);
        prop_assert_eq!(before.starts_with('\u{feff}'), after.starts_with('\u{feff}'));
        if before.contains("\r\n") {
            prop_assert!(!after.replace("\r\n", "").contains('\n'), "a line does not end like the others:\n{}", after);
        }
        let remarks = before.lines().filter(|line| line.starts_with('#'));
        match &edit {
            Edit::RemovePart { .. } | Edit::RemoveSetup { .. } => {
                // What is left was there before.
                prop_assert!(in_order(after.lines(), &before), "{}", after);
            }
            Edit::RemoveReading { .. } | Edit::RemoveWire { .. } | Edit::RemoveSymptom { .. } => {
                prop_assert!(in_order(after.lines(), &before), "{}", after);
                if !before.contains("\n[[") {
                    prop_assert!(in_order(remarks, &after), "{}", after);
                    prop_assert_eq!(before.lines().count(), after.lines().count() + 1);
                }
            }
            // Under a heading of its own a test takes the remarks within it along.
            Edit::RemoveSafetyTest { .. } => {
                prop_assert!(before.contains("\n[[") || in_order(remarks, &after), "{}", after);
            }
            Edit::AddReading { .. } | Edit::AddWire { .. } | Edit::AddSymptom { .. } => {
                prop_assert!(in_order(before.lines(), &after), "{}", after);
            }
            _ => prop_assert!(in_order(remarks, &after), "{}", after),
        }
    }

    #[test]
    fn what_is_added_and_removed_again_leaves_the_text_as_it_was(before in any_text(), edit in any_edit()) {
        let count = |list: &str| parsed(&before).get(list).and_then(|list| list.as_array().map(Vec::len)).unwrap_or(0);
        let undo = match &edit {
            Edit::AddReading { .. } => Edit::RemoveReading { index: count("readings") },
            Edit::AddWire { .. } => Edit::RemoveWire { index: count("wires") },
            Edit::AddSymptom { .. } => Edit::RemoveSymptom { index: count("symptoms") },
            Edit::SetPart { name, .. } if name == "C9" => Edit::RemovePart { name: name.clone() },
            Edit::SetSetup { name, .. } if !parsed(&before)["setups"].as_table().unwrap().contains_key(name) => {
                Edit::RemoveSetup { name: name.clone() }
            }
            Edit::RenamePart { from, to } => Edit::RenamePart { from: to.clone(), to: from.clone() },
            _ => return Ok(()),
        };
        if let Ok(after) = apply(&before, &edit) {
            prop_assert_eq!(apply(&after, &undo), Ok(before));
        }
    }

    #[test]
    fn no_text_makes_an_edit_fall_over(before in "[ \\[\\]{}=\\.,#\"'a-cE\n\r\u{feff}0-2]{0,60}", edit in any_edit()) {
        if let Ok(after) = apply(&before, &edit) {
            prop_assert!(after.parse::<toml_edit::DocumentMut>().is_ok(), "{}", after);
        }
    }

    #[test]
    fn small_lists_of_any_form_are_edited(
        entries in prop::collection::vec(prop::sample::select(vec!["{ a = 1 }", "{a=1}", "{ a = [1, 2] } # x", "{ a = \",#]\" }\n"]), 0..4),
        between in prop::sample::select(vec![",", ", ", ",\n  ", " # one, two\n  , ", "\n,\n", ", # three\n\t"]),
        (open, close) in prop::sample::select(vec![("[", "]"), ("[\n", "\n]"), ("[ ", " ]"), ("[ # here\n  ", ",\n]"), ("[", ", # last, of all\n]")]),
        index in 0..4usize,
    ) {
        // A comment must end before what follows it.
        let bodies: Vec<String> = entries.iter().map(|entry| text(entry) + if entry.contains("# x") { "\n" } else { "" }).collect();
        let close = if entries.is_empty() { close.trim_start_matches(',') } else { close };
        let before = format!("wires = {open}{}{close}\n[unit]\nname = \"x\"\n", bodies.join(between));
        prop_assume!(before.parse::<toml_edit::DocumentMut>().is_ok());
        for edit in [wire("a", "b", None), Edit::RemoveWire { index }] {
            match apply(&before, &edit) {
                Ok(after) => prop_assert_eq!(parsed(&after), expected(&parsed(&before), &edit), "{}\n---\n{}", before, after),
                Err(error) => {
                    let is_missing = matches!(error, EditError::NoSuchEntry { .. });
                    prop_assert!(is_missing && index >= entries.len(), "{error}");
                }
            }
        }
    }
}

#[test]
fn a_new_entry_stands_on_a_line_of_its_own() {
    let after = apply(AIR_CURTAIN, &ohms("unplugged", "M1.common", "M1.low", "0,35 k")).unwrap();
    let line = "  { setup = \"unplugged\", ohms = \"0.35k\", between = [\"M1.common\", \"M1.low\"] },\n]\nsymptoms";
    assert!(after.contains(line), "{after}");
    let headings = apply(&with_headings(AIR_CURTAIN), &ohms("unplugged", "M1.common", "M1.low", "27.1")).unwrap();
    let block =
        "\n\n[[readings]]\nsetup = \"unplugged\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.low\"]\n\n# symptoms\n";
    assert!(headings.contains(block), "{headings}");
}

#[test]
fn a_list_that_is_not_there_is_made_ahead_of_the_first_heading() {
    let bare = "# A unit.\n\n# Its name.\n[unit]\nname = \"x\"\n";
    let once = apply(bare, &wire("a.b", "c.d", None)).unwrap();
    assert_eq!(
        once,
        "# A unit.\n\nwires = [\n  { from = \"a.b\", to = \"c.d\" },\n]\n\n# Its name.\n[unit]\nname = \"x\"\n"
    );
    let twice = apply(&once, &ohms("s", "a.b", "c.d", "open")).unwrap();
    assert!(twice.contains("},\n]\n\nreadings = [\n  { setup"), "{twice}");
    assert!(twice.contains("},\n]\n\n# Its name.\n[unit]"), "{twice}");
    for empty in ["", "# nothing\n", "\u{feff}", "\r\n"] {
        let made = apply(empty, &wire("a.b", "c.d", None)).unwrap();
        assert_eq!(parsed(&made)["wires"].as_array().unwrap().len(), 1, "{made}");
    }
}

#[test]
fn a_removed_entry_takes_its_own_remark_with_it_and_no_other() {
    let before =
        "wires = [\n  # above\n  { from = \"a\", to = \"b\" }, # its own\n  { from = \"c\", to = \"d\" } # next\n]\n";
    let after = apply(before, &Edit::RemoveWire { index: 0 }).unwrap();
    assert_eq!(after, "wires = [\n  # above\n  { from = \"c\", to = \"d\" } # next\n]\n");
}

#[test]
fn a_changed_entry_keeps_its_note_and_its_form() {
    let before = "readings = [\n  { note = \"by Ann\", setup = \"cold\" , ohms = 13.0, between = [\"a.b\", \"c.d\"] }, # twice\n]\n";
    let (measure, value) = (ReadingPlace::Amps(text("cord.hot")), ShownText::parse("0.7").unwrap());
    let edit = Edit::ReplaceReading { index: 0, setup: text("cold"), measure, value, meter: None };
    let after =
        "readings = [\n  { note = \"by Ann\", setup = \"cold\" , amps = 0.7, through = \"cord.hot\" }, # twice\n]\n";
    assert_eq!(apply(before, &edit), Ok(text(after)));
}

#[test]
fn fields_of_a_part_are_changed_where_they_stand() {
    let set = |fields: &[(&str, &str)]| apply(AIR_CURTAIN, &set_part("M1", "capacitor-run-motor", fields)).unwrap();
    let plate = "plate = { volts = 230, hertz = 50, amps = 0.65, rpm = 1310, poles = 4, main_ohms = 93.4 }";
    let after =
        set(&[("plate.amps", "0,65"), ("plate.microfarads", ""), ("plate.main_ohms", "93.4"), ("taps", "high, low")]);
    assert!(after.contains(plate) && after.contains("taps = [\"high\", \"low\"]"), "{after}");
    // What says the same already is left as it is written.
    assert_eq!(
        apply(AIR_CURTAIN, &set_part("cord", "cord", &[("square_millimetres", "1"), ("gauge", "")])),
        Ok(text(AIR_CURTAIN))
    );
    let switch = "off: none\nhigh: line to high\nboost: line to high, a to b";
    let after = apply(AIR_CURTAIN, &set_part("selector", "switch", &[("positions", switch)])).unwrap();
    let lines = "positions.off = []\npositions.high = [[\"line\", \"high\"]]\npositions.boost = [[\"line\", \"high\"], [\"a\", \"b\"]]\n";
    assert!(after.contains(lines), "{after}");
}

#[test]
fn a_new_part_is_read_and_another_kind_loses_what_it_cannot_have() {
    let fields = [("plate.volts", "230"), ("plate.hertz", "50"), ("plate.poles", "4"), ("taps", "fast, slow")];
    let after = apply(AIR_CURTAIN, &set_part("M3", "shaded-pole-motor", &fields)).unwrap();
    let block = "\n[parts.M3]\nkind = \"shaded-pole-motor\"\nplate = { volts = 230, hertz = 50, poles = 4 }\ntaps = [\"fast\", \"slow\"]\n\n[setups.high]";
    assert!(after.contains(block), "{after}");
    let job = bench::job::read("job.toml", &after).unwrap();
    assert_eq!(job.unit.parts()[job.unit.find_part("M3").unwrap()].kind.terminals(), ["common", "fast", "slow"]);
    let after = apply(AIR_CURTAIN, &set_part("C2", "heater", &[("volts", "230"), ("watts", "1,2k")])).unwrap();
    assert!(after.contains("[parts.C2]\nkind = \"heater\"\nvolts = 230\nwatts = \"1.2k\"\n"), "{after}");
}

#[test]
fn fields_are_shown_as_they_are_typed() {
    for demo in DEMOS {
        for name in parsed(demo)["parts"].as_table().unwrap().keys() {
            let (kind, fields) = part_fields(demo, name).unwrap();
            assert!(!fields.is_empty() || demo.contains(&format!("[parts.{name}]\nkind = \"{kind}\"\n\n")), "{name}");
            let edit = Edit::SetPart { name: name.clone(), kind, fields };
            assert_eq!(apply(demo, &edit), Ok(text(demo)), "{name}");
        }
    }
}

#[test]
fn a_part_in_use_stays_and_one_that_is_not_takes_its_wires_along() {
    let remove = |name: &str| apply(DEMOS[1], &Edit::RemovePart { name: text(name) });
    let EditError::InUse { users, .. } = remove("M1").unwrap_err() else { panic!() };
    assert_eq!(users[..3], ["reading 1", "reading 2", "reading 3"]);
    assert!(users.contains(&text("setup after a push")) && users.contains(&text("symptom 2")), "{users:?}");
    // C1 is named by the label of its wire only; the switch by setups only.
    assert_eq!(
        remove("C1").unwrap_err().to_string(),
        "the part 'C1' is still named in reading 7; remove or change these first"
    );
    assert!(matches!(remove("switch"), Err(EditError::InUse { .. })));
    let after = remove("L1").unwrap();
    assert!(!after.contains("L1") && bench::job::read("job.toml", &after).is_ok(), "{after}");
    assert!(remove("L2").unwrap_err().to_string().contains("there is supply, cord"));
}

#[test]
fn a_renamed_part_is_the_same_unit() {
    let rename = |text_before: &str, from: &str, to: &str| {
        apply(text_before, &Edit::RenamePart { from: text(from), to: text(to) })
    };
    for demo in DEMOS {
        for name in parsed(demo)["parts"].as_table().unwrap().keys() {
            let after = rename(demo, name, "Z9").unwrap_or_else(|error| panic!("{error}"));
            let (old, new) = (bench::job::read("a", demo).unwrap(), bench::job::read("a", &after).unwrap());
            assert_eq!((old.readings.len(), old.unit.wires().len()), (new.readings.len(), new.unit.wires().len()));
            let left = |text: String| after.replace("kind = ", "").contains(&text);
            assert!(!left(format!("{name}.")) && !left(format!("[\"{name}\"")), "{after}");
        }
    }
    let nested = "readings = [{ setup = \"s\", amps = 1, through = \"M1.a~M10.b#2\" }]\n[parts.M10]\n[ parts . M1 ] # it\n[parts.M1.plate]\n";
    let after = "readings = [{ setup = \"s\", amps = 1, through = \"fan.a~M10.b#2\" }]\n[parts.M10]\n[parts.fan] # it\n[parts.fan.plate]\n";
    assert_eq!(rename(nested, "M1", "fan"), Ok(text(after)));
    for name in ["M2", "frame"] {
        assert!(matches!(rename(AIR_CURTAIN, "M1", name), Err(EditError::NameTaken { .. })));
    }
    for name in ["", "M 1", "M.1", "a\nb", "a~b"] {
        assert!(matches!(rename(AIR_CURTAIN, "M1", name), Err(EditError::BadName { .. })), "{name}");
    }
}

#[test]
fn every_form_of_a_table_is_edited() {
    for before in [
        "[parts.M1]\nkind = \"heater\"\nvolts = 1\nwatts = 2\n",
        "[parts]\nM1 = { kind = \"heater\", volts = 1, watts = 2 }\n",
        "[parts]\nM1.kind = \"heater\"\nM1.volts = 1\nM1.watts = 2\n",
        "parts.M1.kind = \"heater\"\nparts.M1.volts = 1\nparts.M1.watts = 2\n",
        "parts = { M1 = { kind = \"heater\", volts = 1, watts = 2 } }\n",
        "parts = { M1.kind = \"heater\", M1.volts = 1, M1.watts = 2 }\n",
        "parts = {\n  M1 = {\n    kind = \"heater\", # one, of two\n    volts = 1,\n    watts = 2,\n  },\n}\n",
        "parts.M1 = { kind = \"heater\", volts = 1, watts = 2 }\n",
        "[parts.M1.extra]\nx = 1\n\n[parts.M1]\nkind = \"heater\"\nvolts = 1\nwatts = 2\n",
        "[\"parts\".'M1']\n\"kind\" = 'heater'\nvolts = 1\nwatts = 2",
    ] {
        for edit in [
            set_part("M1", "heater", &[("volts", "3"), ("watts", ""), ("make", "x")]),
            set_part("M1", "run-capacitor", &[("microfarads", "3")]),
            set_part("M2", "heater", &[("volts", "3"), ("watts", "4")]),
            Edit::RenamePart { from: text("M1"), to: text("ü") },
            Edit::RemovePart { name: text("M1") },
            setup("cold", false, &[("M1", "open")], &["M1.a"]),
            Edit::SetUnit { name: text("x"), note: Some(text("y")) },
        ] {
            let after = apply(before, &edit).unwrap_or_else(|error| panic!("{error}: {edit:?}\n{before}"));
            let (mut got, mut want) = (parsed(&after), expected(&parsed(before), &edit));
            // A section whose last part is gone may stay or go.
            for table in [&mut got, &mut want] {
                table.retain(|_, value| value.as_table().is_none_or(|table| !table.is_empty()));
            }
            assert_eq!(got, want, "{edit:?}\n{before}\n{after}");
        }
    }
}

#[test]
fn setups_are_added_changed_and_removed() {
    let after = apply(AIR_CURTAIN, &setup("after \"a push\"", true, &[("selector", "low")], &[])).unwrap();
    assert!(
        after.ends_with("\n\n[setups.\"after \\\"a push\\\"\"]\nsupply = \"on\"\npositions = { selector = \"low\" }\n"),
        "{after}"
    );
    let after = apply(AIR_CURTAIN, &setup("high", true, &[("selector", "medium")], &[])).unwrap();
    assert_eq!(after, AIR_CURTAIN.replacen("high\" }\nwinding_celsius = 60", "medium\" }", 1));
    let remove = |name: &str| apply(AIR_CURTAIN, &Edit::RemoveSetup { name: text(name) });
    assert!(matches!(remove("high"), Err(EditError::InUse { users, .. }) if users.len() == 6));
    assert!(matches!(remove("hihg"), Err(EditError::NoSuch { mend, .. }) if mend.contains("high")));
}

#[test]
fn errors_say_what_is_wrong_and_how_to_mend_it() {
    for (before, edit, words) in [
        ("a = ", wire("a", "b", None), "line 1 of the file is not in order"),
        ("x = 1\ny = \"", wire("a", "b", None), "line 2"),
        ("wires = 3", wire("a", "b", None), "'wires' in the file is not a list"),
        ("[readings]", ohms("s", "a", "b", "1"), "'readings' in the file is not a list"),
        ("", Edit::RemoveReading { index: 0 }, "no entry 1 in readings, which has 0"),
        (
            "wires = [1]",
            Edit::ReplaceWire { index: 0, from: text("a"), to: text("b"), colour: None, label: None },
            "not a table",
        ),
        ("", Edit::RemoveWire { index: usize::MAX }, "there is no entry"),
        ("", set_part("M1", "heatr", &[]), "did you mean heater"),
        ("", set_part("M1", "heater", &[("volt", "1")]), "did you mean volts"),
        ("", set_part("M1", "heater", &[("volts", "1,000")]), "volts: '1,000' has a comma; write 1.000 or 1000"),
        ("", set_part("M1", "heater", &[("positions.on", "a b")]), "no field 'positions.on'"),
        ("", set_part("M 1", "heater", &[]), "cannot be the name of a part"),
        ("", set_part("M1", "capacitor-run-motor", &[("plate.poles", "4.5")]), "not a whole number"),
        ("", setup(" ", true, &[], &[]), "cannot be the name of a setup"),
        ("", setup("x", true, &[("S", "a"), ("S", "b")], &[]), "given two positions"),
        ("parts = 1", set_part("M1", "heater", &[("volts", "1")]), "not a table"),
    ] {
        let error = apply(before, &edit).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
    }
}

#[test]
fn edits_are_told_on_one_line() {
    assert_eq!(
        ohms("cold", "M1.common", "M1.high", "27,1").words(),
        "reading added: 27.1 ohm, M1.common to M1.high, setup cold"
    );
    assert_eq!(Edit::RemoveReading { index: 2 }.words(), "reading 3 removed");
    assert_eq!(wire("a.b", "c.d", Some("x\ny")).words(), "wire added: a.b to c.d, x y");
    assert_eq!(
        setup("high", true, &[("S1", "high")], &["M1.low"]).words(),
        "setup high set: supply on, S1 at high, M1.low lifted"
    );
    assert_eq!(
        set_part("M1", "heater", &[("volts", "230"), ("make", "")]).words(),
        "part M1 set: heater, volts 230, make none"
    );
    assert!(wire(&"x".repeat(10_000), "c.d", None).words().len() < 200);
}

/// What a form does not show stays as it is.
#[test]
fn the_size_of_a_wire_stays_when_its_ends_change() {
    let job = "wires = [{ from = \"a\", to = \"b\", gauge = 18 }]\n";
    let edit = Edit::ReplaceWire { index: 0, from: text("a"), to: text("c"), colour: None, label: None };
    assert_eq!(apply(job, &edit).unwrap(), "wires = [{ from = \"a\", to = \"c\", gauge = 18 }]\n");
}
