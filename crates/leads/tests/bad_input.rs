//! Wrong leads files: each gets its problem with place and mend; none panics.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::Problem;
use leads::file::read_bytes;
use proptest::prelude::*;

const SOUND: &str = r#"leads = ["red", "blue", "black"]
readings = [
  { ohms = 4.1, between = ["red", "blue"] },
  { ohms = "open", between = ["red", "black"] },
]
[known]
motor = "compressor"
"#;

fn problems(text: &str) -> Vec<Problem> {
    read_bytes("test.toml", text.as_bytes()).unwrap_err().0
}

#[test]
fn a_sound_file_is_read() {
    let (case, warnings) = read_bytes("test.toml", SOUND.as_bytes()).unwrap();
    assert_eq!((case.leads.len(), case.readings.len(), warnings.0.len()), (3, 2, 0));
    assert_eq!(case.readings[1].line, 4);
    assert_eq!(case.readings[1].value, bench::Value::Open);
}

#[test]
fn each_slip_has_its_place_and_its_mend() {
    for (from, to, line, column, message, mend) in [
        ("[\"red\", \"blue\"] }", "[\"red\", \"bleu\"] }", 3, 35, "no lead 'bleu'", "did you mean blue"),
        ("[\"red\", \"blue\"] }", "[\"red\", \"red\"] }", 3, 27, "a lead to itself", "name the other lead"),
        ("\"blue\", \"black\"]", "\"red\", \"black\"]", 1, 17, "two leads are called 'red'", "tie a tag"),
        (", \"black\"]\nreadings", "]\nreadings", 1, 9, "2 leads", "two leads cannot be mixed up"),
        ("4.1", "-4.1", 3, 12, "cannot be -4.1", "without its sign"),
        ("4.1", "\"4,1\"", 3, 12, "has a comma", "write 4.1"),
        ("\"open\"", "\"dead\"", 4, 12, "cannot be \"dead\"", "write \"open\""),
        ("\"compressor\"", "\"compresor\"", 7, 9, "'compresor'", "compressor"),
        ("motor = \"compressor\"", "speed = 3", 7, 1, "'speed'", "speeds"),
        ("motor = \"compressor\"", "motor = \"capacitor-run\"\nspeeds = 3", 6, 1, "3 leads", "5 or 6 leads"),
        ("motor", "winding_celsius = 900\nmotor", 7, 19, "900", "room temperature"),
        ("[known]", "[knwon]", 6, 2, "unknown section 'knwon'", "did you mean known"),
    ] {
        assert!(SOUND.contains(from), "{from}");
        let found = problems(&SOUND.replacen(from, to, 1));
        let first = &found[0];
        let words = format!("{first}");
        assert!(first.message.contains(message), "{to}: {words}");
        assert!(first.mend.as_deref().unwrap_or_default().contains(mend), "{to}: {words}");
        assert_eq!((first.line, first.column), (line, column), "{to}: {words}");
    }
}

#[test]
fn too_many_leads_none_and_no_readings() {
    let many: Vec<String> = (0..10).map(|lead| format!("\"{lead}\"")).collect();
    assert!(problems(&format!("leads = [{}]", many.join(", ")))[0].message.contains("10 leads"));
    assert!(problems("readings = []")[0].message.contains("no list of leads"));
    assert!(problems("")[0].message.contains("empty"));
    let none = problems("leads = [\"a\", \"b\", \"c\"]");
    assert!(none[0].message.contains("no readings"), "{none:?}");
    assert!(none[0].mend.as_deref().unwrap().contains("measure a to b first"), "{none:?}");
    assert!(!read_bytes("test.toml", &[0xff, 0xfe]).unwrap_err().0.is_empty());
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,200}", cut in 0usize..150) {
        let _ = read_bytes("test.toml", text.as_bytes());
        let cut = cut.min(SOUND.len());
        let _ = read_bytes("test.toml", format!("{}{text}{}", &SOUND[..cut], &SOUND[cut..]).as_bytes());
    }
}
