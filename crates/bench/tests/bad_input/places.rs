//! Many at once, and places.

use super::*;

#[test]
fn several_problems_are_all_reported_in_the_order_of_the_file() {
    let text = spoilt("microfarads = 3", "microfarads = ^-3")
        .replace("S = \"on\" }", "S = ^\"onn\" }")
        .replace("from = \"S.run\"", "from = ^\"S.rum\"")
        .replace("volts = 229", "volts = ^\"22 9\"")
        .replace("word = \"slow\"", "word = ^\"slo\"");
    let places: Vec<(usize, usize)> = {
        let mut rest = text.clone();
        std::iter::from_fn(|| {
            rest.contains(MARK).then(|| {
                let (without, line, column) = marked(&rest);
                rest = without;
                (line, column)
            })
        })
        .collect()
    };
    let found = problems(&text.replace(MARK, ""));
    assert_eq!(found.iter().map(|problem| (problem.line, problem.column)).collect::<Vec<_>>(), places);
    // C1, which could not be read, is not reported again where wires go to it.
    let messages: Vec<&str> = found.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "-3 is not above zero",
            "unknown position 'onn' of 'S'",
            "unknown terminal 'S.rum'",
            "'22 9' has a suffix that is not known ('9')",
            "unknown word 'slo'",
        ]
    );
}

#[test]
fn what_refers_to_a_part_a_setup_or_a_meter_that_could_not_be_read_is_not_reported_too() {
    check("rpm = 1310", "rpm = ^0", "0 is not above zero", A_NUMBER, "");
    check("amps_floor = 0.05", "amps_floor = ^0", "0 is not above zero", A_NUMBER, "");
    let message = "the text \"60\" where it cannot be";
    check("supply = \"on\"", "supply = \"on\"\nwinding_celsius = ^\"60\"", message, "a plain number", "");
}

#[test]
fn a_problem_prints_as_one_line_with_everything_in_it() {
    let (text, line, column) = marked(&spoilt("microfarads = 3", "microfarads = ^\"3m\""));
    let printed = Problems(problems(&text)).to_string();
    let place = format!("job.toml:{line}:{column}: ");
    assert_eq!(
        printed,
        place
            + "'3m' is doubtful: m could be milli or mega; expected "
            + A_NUMBER
            + "; write 3M for mega, or the number itself"
    );
}

#[test]
fn carriage_returns_and_letters_of_several_bytes_do_not_move_the_place() {
    let text =
        spoilt("microfarads = 3", "volts = 450 # \u{00b5}F \u{2126}\nmicrofarads = ^\"3m\"").replace('\n', "\r\n");
    let (text, line, column) = marked(&text);
    let error = only_error(&text);
    assert_eq!((error.line, error.column), (line, column));
    // In a line with such letters columns are counted in characters.
    let text = spoilt("name = \"Fan over a door\"", "name = \"L\u{00fc}fter \u{2126}\", ^x = 1");
    let (text, line, column) = marked(&text);
    assert_eq!((only_error(&text).line, only_error(&text).column), (line, column - 2));
}

#[test]
fn a_mark_of_byte_order_does_not_move_the_place() {
    let (text, line, column) = marked(&spoilt("microfarads = 3", "microfarads = ^\"3m\""));
    let error = only_error(&format!("\u{feff}{text}"));
    assert_eq!((error.line, error.column), (line, column));
    // The span counts the bytes of the file, mark and all.
    assert_eq!(error.span.start, text.find("\"3m\"").unwrap() + '\u{feff}'.len_utf8());
}

/// What is true of every answer, sound or not.
fn check_answer(text: &[u8], answer: &Result<Job, Problems>) {
    let problems = match answer {
        Ok(job) => &job.warnings,
        Err(problems) => {
            assert!(problems.0.iter().any(|problem| problem.severity == Severity::Error), "refused without an error");
            problems
        }
    };
    let text = String::from_utf8_lossy(text);
    let lines: Vec<&str> = text.split('\n').collect();
    for problem in &problems.0 {
        assert!((1..=lines.len()).contains(&problem.line), "line {} of {}", problem.line, lines.len());
        let width = lines[problem.line - 1].chars().count();
        assert!((1..=width + 1).contains(&problem.column), "column {} of {width}: {problem}", problem.column);
        assert!(problem.span.start <= problem.span.end && problem.span.end <= text.len(), "span of {problem}");
        assert!(!problem.message.is_empty());
    }
    let starts: Vec<usize> = problems.0.iter().map(|problem| problem.span.start).collect();
    assert!(starts.is_sorted(), "problems out of order");
}

/// One way in which a file gets damaged; places are shares of its length.
#[derive(Debug, Clone)]
enum Damage {
    Delete(f64, usize),
    Duplicate(f64, usize, f64),
    Replace(f64, usize, String),
    Insert(f64, String),
    SwapLines(f64, f64),
}

/// Characters that mean something in a job file come more often than others.
fn characters() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[\\[\\]{}=\"'.,#\n0-9kMm -]{1,6}",
        1 => "\\PC{1,4}",
        1 => prop::sample::select(vec!["inf", "nan", "-1", "1e308", "\"open\"", "\"dead\"", "0", "[]", "{}", "frame", "\u{feff}"])
            .prop_map(String::from),
    ]
}

fn damages() -> impl Strategy<Value = Damage> {
    let place = || 0.0..1.0f64;
    prop_oneof![
        (place(), 1..60usize).prop_map(|(at, length)| Damage::Delete(at, length)),
        (place(), 1..200usize, place()).prop_map(|(at, length, to)| Damage::Duplicate(at, length, to)),
        (place(), 1..20usize, characters()).prop_map(|(at, length, by)| Damage::Replace(at, length, by)),
        (place(), characters()).prop_map(|(at, what)| Damage::Insert(at, what)),
        (place(), place()).prop_map(|(one, other)| Damage::SwapLines(one, other)),
    ]
}

fn damaged(text: &str, damage: &Damage) -> String {
    let mut characters: Vec<char> = text.chars().collect();
    let count = characters.len();
    let place = |share: f64| (share * count as f64) as usize;
    let slice = |at: f64, length: usize| place(at)..(place(at) + length).min(count);
    match damage {
        Damage::Delete(at, length) => {
            characters.drain(slice(*at, *length));
        }
        Damage::Duplicate(at, length, to) => {
            let copy = characters[slice(*at, *length)].to_vec();
            characters.splice(place(*to)..place(*to), copy);
        }
        Damage::Replace(at, length, by) => {
            characters.splice(slice(*at, *length), by.chars());
        }
        Damage::Insert(at, what) => {
            characters.splice(place(*at)..place(*at), what.chars());
        }
        Damage::SwapLines(one, other) => {
            let mut lines: Vec<&str> = text.split('\n').collect();
            let line = |share: f64| (share * lines.len() as f64) as usize;
            let (one, other) = (line(*one), line(*other));
            lines.swap(one, other);
            return lines.join("\n");
        }
    }
    characters.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_file_never_panics_and_every_place_lies_in_it(damage in prop::collection::vec(damages(), 1..5)) {
        let text = damage.iter().fold(SOUND.to_owned(), |text, damage| damaged(&text, damage));
        check_answer(text.as_bytes(), &read_bytes("job.toml", text.as_bytes()));
    }

    #[test]
    fn damaged_bytes_never_panic(at in prop::collection::vec((0..SOUND.len(), any::<u8>()), 1..4)) {
        let mut bytes = SOUND.as_bytes().to_vec();
        for (at, byte) in at {
            bytes[at] = byte;
        }
        check_answer(&bytes, &read_bytes("job.toml", &bytes));
    }
}
