//! Files that are no job file.

use super::*;

const START_MEND: &str = "start from a demo: demos/ holds some, docs/job-file.md explains them";

#[test]
fn an_empty_file() {
    check_text("^", "the file is empty", "a job file with [unit] and [parts]", START_MEND);
    check_text("^ \n\t\r\n", "the file is empty", "a job file with [unit] and [parts]", START_MEND);
}

#[test]
fn nothing_but_comments() {
    let message = "there is nothing in the file but comments";
    check_text("^# to do\n\n# later\n", message, "a job file with [unit] and [parts]", START_MEND);
}

#[test]
fn no_unit() {
    check(
        "[unit]\nname = \"Fan over a door\"\n",
        "^",
        "there is no [unit]",
        "[unit] with a name",
        "add: [unit] and name = \"...\"",
    );
}

#[test]
fn a_file_that_is_no_toml() {
    let text = "Dear colleague,\nthe fan hums again.\n";
    let found = problems(text);
    // One problem per line, none about missing sections.
    assert_eq!(found.iter().map(|problem| problem.line).collect::<Vec<_>>(), [1, 2]);
    for problem in &found {
        assert_eq!(problem.message, "a name without a value");
        assert_eq!(problem.expected.as_deref(), Some("name = value"));
        let mend = "text stands in quotes, tables in [brackets]; see docs/job-file.md";
        assert_eq!(problem.mend.as_deref(), Some(mend));
    }
}

#[test]
fn a_file_cut_off_in_the_middle_of_a_line() {
    let cut = SOUND.find("M1.start").unwrap() + 4;
    let text = format!("{}^", &SOUND[..cut]);
    check_text(
        &text,
        "text without its closing quote",
        "\" at its end",
        "text stands in quotes, tables in [brackets]; see docs/job-file.md",
    );
}

#[test]
fn a_byte_that_is_not_utf_8() {
    let (text, line, column) = marked(&spoilt("C1.b", "C^1.b"));
    let mut bytes = text.into_bytes();
    let at = SOUND.find("C1.b").unwrap() + 1;
    bytes[at] = 0xe9;
    let problems = read_bytes("job.toml", &bytes).unwrap_err().0;
    let [problem] = &problems[..] else { panic!("one problem, found {}", problems.len()) };
    assert_eq!((problem.line, problem.column, problem.span.start), (line, column, at));
    assert_eq!(problem.message, "the text is not UTF-8 from here on");
    assert_eq!(problem.expected.as_deref(), Some("text in UTF-8"));
    assert_eq!(problem.mend.as_deref(), Some("save it as UTF-8 in the editor; check that it is a text file"));
}

#[test]
fn a_file_of_20_megabytes() {
    // Sound text throughout, so that only its size can be the reason; parsing it would take far longer.
    let bytes = SOUND.as_bytes().repeat(20_000_000 / SOUND.len() + 1);
    let start = Instant::now();
    let problems = read_bytes("job.toml", &bytes).unwrap_err().0;
    assert!(start.elapsed() < Duration::from_millis(50), "took {:?}", start.elapsed());
    let [problem] = &problems[..] else { panic!("one problem, found {}", problems.len()) };
    assert_eq!((problem.line, problem.column), (1, 1));
    assert_eq!(problem.message, "the file is larger than 4 MB");
    assert_eq!(problem.expected.as_deref(), Some("a job file of at most 4 MB"));
    let mend = "check that this is the file you meant; long logs do not belong in a job file";
    assert_eq!(problem.mend.as_deref(), Some(mend));
}

/// Reads a text of nearly the largest size and fails if that takes minutes, as it would if every problem or wire were
/// looked for from the start of the file.
fn refused_in_time(piece: &str) -> Vec<Problem> {
    let text = SOUND.to_owned() + &piece.repeat(LARGEST_FILE_BYTES as usize * 9 / 10 / piece.len());
    let start = Instant::now();
    let found = problems(&text);
    assert!(start.elapsed() < Duration::from_secs(20), "took {:?}", start.elapsed());
    found
}

#[test]
fn a_long_log_is_refused_in_time() {
    let found = refused_in_time("Nov 25 11:08:33 bench kernel: something happened here\n");
    let last = found.last().unwrap();
    assert_eq!((found.len(), last.message.as_str()), (201, "there are more problems than the 200 listed here"));
}

#[test]
fn one_long_line_is_refused_in_time() {
    let found = refused_in_time("x y ");
    assert_eq!(found.len(), 1);
}

#[test]
fn thousands_of_wrong_readings_are_refused_in_time() {
    let found = refused_in_time("[[readings]]\nsetup = \"dark\"\nohms = 1\nbetween = [\"a.b\", \"c.d\"]\n");
    assert_eq!(found.len(), 201);
}

#[test]
fn thousands_of_alike_wires_are_refused_in_time() {
    let found = refused_in_time("[[wires]]\nfrom = \"cord.earth\"\nto = \"frame\"\n");
    let [problem] = &found[..] else { panic!("one problem, found {}", found.len()) };
    assert_eq!(problem.expected.as_deref(), Some("at most 1000"));
    assert_eq!(problem.mend.as_deref(), Some("leave out what has no part in the trouble"));
}

#[test]
fn lists_nested_a_hundred_thousand_deep_are_refused() {
    let found = problems(&(SOUND.to_owned() + "note = " + &"[".repeat(100_000)));
    assert_eq!(found[0].message, "cannot recurse further; max recursion depth met");
}
