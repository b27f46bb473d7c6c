//! Says in bench words what the readers of TOML and of its values say in theirs.
//!
//! Our own values write `what is wrong, expected what belongs there; how to mend it`.

use super::names;
use super::values::parse_number;
use std::ops::Range;

/// What is wrong, what was expected, and a mend.
pub(super) type Words = (String, Option<String>, Option<String>);

/// Words for a value that could not be read.
pub(super) fn of_value(message: &str) -> Words {
    let message = message.trim();
    if let Some(name) = message.strip_prefix("missing field ") {
        let name = name.replace('`', "");
        return (format!("'{name}' is missing"), Some(format!("{name} = ...")), Some(format!("add {name}")));
    }
    let (what, expected) = match message.rsplit_once(", expected ") {
        Some((what, expected)) => (what, Some(expected)),
        None => (message, None),
    };
    for (prefix, words) in [("unknown field ", "unknown field"), ("unknown variant ", "unknown word")] {
        if let Some(typed) = what.strip_prefix(prefix) {
            let typed = typed.trim_matches('`');
            let known: Vec<String> =
                expected.unwrap_or_default().split('`').skip(1).step_by(2).map(String::from).collect();
            let expected = if known.is_empty() { "nothing here".into() } else { one_of(&known) };
            return (format!("{words} '{typed}'"), Some(expected), names::mend(typed, &known));
        }
    }
    for (prefix, ending) in [("invalid type: ", " where it cannot be"), ("invalid value: ", " is out of range")] {
        if let Some(found) = what.strip_prefix(prefix) {
            let whole = expected.filter(|expected| *expected == "u32").and_then(|_| whole_number(found));
            let mend = whole.map(|whole| format!("write {whole}, without a point"));
            return (format!("{}{ending}", kind_of_value(found)), expected.map(kind_of_expectation), mend);
        }
    }
    if what.starts_with("wanted ") {
        return ("a value of the wrong form".into(), Some("text in quotes".into()), None);
    }
    let (what, expected, mend) = match expected.map(|expected| expected.rsplit_once("; ").unwrap_or((expected, ""))) {
        Some((expected, mend)) => (what, Some(expected), mend),
        None => what.rsplit_once("; ").map_or((what, None, ""), |(what, mend)| (what, None, mend)),
    };
    (what.replace('`', "'"), expected.map(String::from), (!mend.is_empty()).then(|| mend.into()))
}

fn one_of(known: &[String]) -> String {
    if known.len() == 1 { known[0].clone() } else { format!("one of {}", known.join(", ")) }
}

/// The whole number that was written with a point: ``floating point `4.0` ``.
fn whole_number(found: &str) -> Option<&str> {
    found.strip_prefix("floating point `")?.strip_suffix(".0`")
}

/// ``integer `3` `` and the like, for people.
fn kind_of_value(found: &str) -> String {
    let plain = found.replace('`', "");
    for (serde, words) in [
        ("integer ", "the number "),
        ("floating point ", "the number "),
        ("boolean ", "the value "),
        ("string ", "the text "),
        ("sequence", "a list"),
        ("map", "a table"),
    ] {
        if let Some(rest) = plain.strip_prefix(serde) {
            return format!("{words}{rest}");
        }
    }
    plain
}

fn kind_of_expectation(expected: &str) -> String {
    match expected {
        "a string" => "text in quotes",
        "u32" => "a whole number",
        "f64" => "a plain number",
        "a sequence" => "a list in [brackets]",
        "a map" => "a table",
        other if other.starts_with("struct ") => "a table such as { name = ... }",
        other => other,
    }
    .replace('`', "")
}

/// Words for text that is no TOML.
pub(super) fn of_syntax(message: &str) -> Words {
    let message = message.lines().next().unwrap_or("not a job file").replace('`', "'");
    let (what, expected) = match message.split_once(", expected ") {
        Some((what, expected)) => (what.to_owned(), Some(expected.to_owned())),
        None => (message, None),
    };
    let (what, expected) = match what.as_str() {
        "key with no value" => ("a name without a value".into(), Some("name = value".into())),
        "invalid basic string" => ("text without its closing quote".into(), Some("\" at its end".into())),
        "unclosed array" => ("a list without its end".into(), Some("] after its last entry".into())),
        "unclosed inline table" => ("a table without its end".into(), Some("} after its last entry".into())),
        _ => (what, expected),
    };
    (what, expected, Some("text stands in quotes, tables in [brackets]; see docs/job-file.md".into()))
}

/// A value on this line, before `at`, that was typed without the quotes it needs: the commonest slip at a bench.
///
/// `line` are the bytes of the line.
pub(super) fn without_quotes(text: &str, line: Range<usize>, at: usize) -> Option<(Range<usize>, Words)> {
    let before = text.get(line.start..at.min(line.end))?;
    let equals = line.start + before.rfind('=')? + 1;
    let rest = text.get(equals..line.end)?;
    let start = equals + rest.len() - rest.trim_start().len();
    let rest = rest.trim_start();
    let end = rest.find(|c: char| c.is_whitespace() || ['#', ']', '}', '"', '[', '{', '\''].contains(&c));
    let mut value = &rest[..end.unwrap_or(rest.len())];
    // A comma ends a value, unless a digit after it says that it was meant as a decimal comma.
    let ends_it = |&(at, _): &(usize, &str)| !value[at + 1..].starts_with(|c: char| c.is_ascii_digit());
    if let Some((comma, _)) = value.match_indices(',').find(ends_it) {
        value = &value[..comma];
    }
    if !value.starts_with(|c: char| c.is_alphanumeric() || c == '-') || value.contains('=') {
        return None;
    }
    let words = match parse_number(value) {
        Ok(_) if value.ends_with(['k', 'M']) => needs_quotes(value),
        Ok(_) => return None,
        Err(_) if ["true", "false"].contains(&value) => return None,
        Err(_) if value.starts_with(|c: char| c.is_alphabetic()) => needs_quotes(value),
        Err(doubt) => of_value(&doubt),
    };
    Some((start..start + value.len(), words))
}

fn needs_quotes(value: &str) -> Words {
    (format!("the value {value} stands without quotes"), Some(format!("\"{value}\"")), Some("put it in quotes".into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn our_own_messages_fall_into_three() {
        let (what, expected, mend) = of_value("'3m' is doubtful, expected a number; write 3M");
        assert_eq!(
            (what.as_str(), expected.as_deref(), mend.as_deref()),
            ("'3m' is doubtful", Some("a number"), Some("write 3M"))
        );
    }

    #[test]
    fn values_without_quotes_are_seen_and_sound_ones_are_not() {
        let seen =
            |line: &str, at: usize| without_quotes(line, 0..line.len(), at).map(|(place, _)| line[place].to_owned());
        assert_eq!(seen("ohms = 4.7k", 10), Some("4.7k".into()));
        assert_eq!(seen("ohms = open, of = 1", 10), Some("open".into()));
        assert_eq!(seen("ohms = 4,7, of = 1", 8), Some("4,7".into()));
        assert_eq!(seen("ohms = 4.7", 10), None);
        assert_eq!(seen("name = \"x", 9), None);
        assert_eq!(seen("ohms", 4), None);
    }
}
