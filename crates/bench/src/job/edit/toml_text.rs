//! Writes names and values as TOML.

/// Text as a TOML basic string on one line.
pub(super) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => out.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A name as a TOML key: bare where it can be.
pub(super) fn key(name: &str) -> String {
    let is_bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !name.is_empty() && name.chars().all(is_bare) { name.to_owned() } else { quoted(name) }
}

/// Names joined by points, each quoted where it must be.
pub(super) fn dotted_key<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    names.into_iter().map(key).collect::<Vec<_>>().join(".")
}

/// A finite number: whole ones without a point.
pub(super) fn number(value: f64) -> String {
    // Above this a whole number is no longer exact, and far above it no longer a TOML integer.
    const MOST_EXACT: f64 = 9e15;
    if value.fract() == 0.0 && value.abs() < MOST_EXACT {
        format!("{value:.0}").replace("-0", "0")
    } else if value.abs() >= MOST_EXACT || value.abs() < 1e-6 {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// A list of texts.
pub(super) fn list(items: &[String]) -> String {
    format!("[{}]", items.iter().map(|item| quoted(item)).collect::<Vec<_>>().join(", "))
}

/// A list of pairs of texts.
pub(super) fn pairs(items: &[(String, String)]) -> String {
    let pair = |(a, b): &(String, String)| format!("[{}, {}]", quoted(a), quoted(b));
    format!("[{}]", items.iter().map(pair).collect::<Vec<_>>().join(", "))
}

/// A table on one line.
pub(super) fn inline_table(fields: &[(String, String)]) -> String {
    if fields.is_empty() {
        return "{}".into();
    }
    let field = |(name, value): &(String, String)| format!("{} = {value}", key(name));
    format!("{{ {} }}", fields.iter().map(field).collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What another reader of TOML makes of a value.
    fn read_back(value: &str) -> toml::Value {
        toml::from_str::<toml::Table>(&format!("x = {value}")).unwrap().remove("x").unwrap()
    }

    #[test]
    fn any_text_comes_back_as_it_was() {
        for text in ["", "a\"b\\c", "two\nlines\r\n", "\u{0}\u{7f}\u{85}", "grün 🔥 <script>", "'''\"\"\""] {
            assert_eq!(read_back(&quoted(text)).as_str(), Some(text), "{text:?}");
            assert!(!quoted(text).contains('\n'));
            let table = toml::from_str::<toml::Table>(&format!("{} = 1", key(text))).unwrap();
            assert_eq!(table.keys().next().map(String::as_str), Some(text));
        }
    }

    #[test]
    fn any_number_comes_back_as_it_was() {
        for value in [0.0, -0.0, 230.0, 27.1, -10.0, 1e15, 1e16, 1e300, 1e-9, 4.9e-324, 0.1 + 0.2] {
            let back = read_back(&number(value));
            let back = back.as_float().or(back.as_integer().map(|whole| whole as f64));
            assert_eq!(back, Some(value), "{}", number(value));
        }
        assert_eq!(number(230.0), "230");
    }
}
