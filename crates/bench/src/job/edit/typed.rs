//! Values as a person types them: with a comma for decimals, lists with commas between, tables line by line.

use super::toml_text;
use crate::job::values::{ShownValue, meant_word, parse_number, shown_word};
use crate::kinds::catalogue::{FieldType, TableLine};
use std::fmt;

/// What a meter showed, as typed: `27.1`, `0,35 k`, `open`, `dead`.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownText {
    /// As a job file writes it, without quotes: `27.1`, `0.35k`, `open`, `OL`, `dead`.
    text: String,
    value: ShownValue,
}

impl ShownText {
    /// Reads what was typed.
    ///
    /// # Errors
    /// What is doubtful about it and how to write it instead.
    pub fn parse(typed: &str) -> Result<Self, String> {
        Ok(match shown_word(typed) {
            Some(ShownValue::Open) => Self::open(),
            Some(ShownValue::OverRange) => Self::over_range(),
            Some(ShownValue::Dead) => Self::dead(),
            _ => {
                let meant = |doubt| meant_word(typed).unwrap_or(doubt);
                let (number, text) = parse_typed_number(typed).map_err(meant)?;
                if number < 0.0 {
                    return Err(format!("'{}' has a minus sign; write the size without it", typed.trim()));
                }
                ShownText { text, value: ShownValue::Number(number) }
            }
        })
    }

    /// No path.
    pub fn open() -> Self {
        ShownText { text: "open".into(), value: ShownValue::Open }
    }

    /// Over range.
    pub fn over_range() -> Self {
        ShownText { text: "OL".into(), value: ShownValue::OverRange }
    }

    /// No volts, no current, no motion.
    pub fn dead() -> Self {
        ShownText { text: "dead".into(), value: ShownValue::Dead }
    }

    /// What it stands for.
    pub fn value(&self) -> ShownValue {
        self.value
    }

    /// With a unit for people: `27.1 ohm`, `0.35 kohm`, `open`.
    pub fn with_unit(&self, unit: &str) -> String {
        match (self.value, self.text.strip_suffix(['k', 'M'])) {
            (ShownValue::Number(_), Some(digits)) => format!("{digits} {}{unit}", &self.text[digits.len()..]),
            (ShownValue::Number(_), None) => format!("{} {unit}", self.text),
            _ => self.text.clone(),
        }
    }

    pub(super) fn toml(&self) -> String {
        number_toml(&self.text)
    }
}

impl fmt::Display for ShownText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// A number as typed, and as a job file writes it without quotes: `0,35 k` is 350 and `0.35k`.
///
/// A comma is taken for a decimal point where it cannot be anything else.
///
/// # Errors
/// What is doubtful about it and how to write it instead.
pub(super) fn parse_typed_number(typed: &str) -> Result<(f64, String), String> {
    let plain = with_point(typed.trim());
    let number = parse_number(&plain)?;
    let text = match plain.strip_suffix(['k', 'M']) {
        Some(digits) => {
            let digits: f64 = digits.trim().parse().unwrap_or(number);
            toml_text::number(digits) + &plain[plain.len() - 1..]
        }
        None => toml_text::number(number),
    };
    Ok((number, text))
}

/// A single comma becomes a point, unless three digits after it make it look like thousands.
pub(super) fn with_point(typed: &str) -> String {
    if let Some((whole, rest)) = typed.split_once(',') {
        let after = rest.bytes().take_while(u8::is_ascii_digit).count();
        let is_decimal = after > 0 && (after != 3 || whole.trim_start_matches('0').is_empty());
        if is_decimal && !typed.contains('.') && !rest.contains(',') {
            return format!("{whole}.{rest}");
        }
    }
    typed.to_owned()
}

/// A number that [`parse_typed_number`] wrote; with a suffix it needs quotes.
fn number_toml(text: &str) -> String {
    let is_plain = text.parse::<f64>().is_ok_and(f64::is_finite);
    if is_plain { text.to_owned() } else { toml_text::quoted(text) }
}

/// A field's value as TOML, from what was typed.
///
/// # Errors
/// What is wrong with it and how to write it instead.
pub(super) fn field_toml(holds: FieldType, typed: &str) -> Result<String, String> {
    Ok(match holds {
        FieldType::Number => number_toml(&parse_typed_number(typed)?.1),
        FieldType::WholeNumber => {
            let (number, _) = parse_typed_number(typed)?;
            if number.fract() != 0.0 || number.abs() > f64::from(u32::MAX) {
                return Err(format!("'{}' is not a whole number; write one such as 4", typed.trim()));
            }
            toml_text::number(number)
        }
        FieldType::Text => toml_text::quoted(typed.trim()),
        FieldType::Names => toml_text::list(&names(typed)),
        FieldType::ContactTable => toml_text::inline_table(&table(TableLine::Contacts, typed)?),
    })
}

/// Names with commas or blanks between them.
fn names(typed: &str) -> Vec<String> {
    typed.split([',', ';']).flat_map(str::split_whitespace).map(String::from).collect()
}

/// A table, one name on each line; each name with its row as TOML.
pub(super) fn table(line: TableLine, typed: &str) -> Result<Vec<(String, String)>, String> {
    let (what, example) = match line {
        TableLine::Contacts => ("position", "low: line to low"),
        TableLine::Winding => ("winding", "secondary: a 12 b"),
        TableLine::Number => ("winding", "primary: 34.5"),
    };
    let mut table: Vec<(String, String)> = Vec::new();
    for text in typed.split(['\n', ';']).map(str::trim).filter(|text| !text.is_empty()) {
        let (name, row) = text.split_once([':', '=']).unwrap_or_default();
        let name = name.trim().to_owned();
        if name.is_empty() {
            return Err(format!("'{text}' names no {what}; write a line such as {example}"));
        }
        if table.iter().any(|(known, _)| *known == name) {
            let rest = if line == TableLine::Contacts { "its contacts" } else { "all of it" };
            return Err(format!("{what} '{name}' is given twice; put {rest} on one line"));
        }
        table.push((name, line_toml(line, row)?));
    }
    Ok(table)
}

/// What follows the name on one line of a table, as TOML.
pub(super) fn line_toml(line: TableLine, typed: &str) -> Result<String, String> {
    match line {
        TableLine::Contacts => contacts(typed),
        TableLine::Winding => winding(typed),
        TableLine::Number => field_toml(FieldType::Number, typed),
    }
}

/// A winding as TOML: terminals with the volts between them, `a 12 centre 12 b`.
fn winding(typed: &str) -> Result<String, String> {
    let words: Vec<&str> = typed.split_whitespace().collect();
    if words.len() < 3 || words.len().is_multiple_of(2) {
        return Err(format!(
            "'{}' is not a winding; write its terminals with the volts between them, such as a 12 centre 12 b",
            typed.trim()
        ));
    }
    let item = |(index, word): (usize, &&str)| match index % 2 {
        0 => Ok(toml_text::quoted(word)),
        _ => field_toml(FieldType::Number, word),
    };
    let items = words.iter().enumerate().map(item).collect::<Result<Vec<_>, _>>()?;
    Ok(format!("[{}]", items.join(", ")))
}

/// Contacts of one position as TOML: `line to low, in to out`; nothing or `none` for no contact.
fn contacts(typed: &str) -> Result<String, String> {
    let typed = typed.trim();
    if typed.is_empty() || typed == "none" || typed == "-" {
        return Ok(toml_text::pairs(&[]));
    }
    let pair = |text: &str| match text.split_whitespace().filter(|word| *word != "to").collect::<Vec<_>>()[..] {
        [a, b] => Ok((a.to_owned(), b.to_owned())),
        _ => Err(format!("'{}' is not a contact; write two terminals such as line to low", text.trim())),
    };
    let pairs = typed.split(',').filter(|text| !text.trim().is_empty()).map(pair).collect::<Result<Vec<_>, _>>()?;
    Ok(toml_text::pairs(&pairs))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_is_a_point_where_it_cannot_be_thousands() {
        for (typed, number, text) in [
            ("27.1", 27.1, "27.1"),
            ("27,1", 27.1, "27.1"),
            ("0,35 k", 350.0, "0.35k"),
            ("0,350", 0.35, "0.35"),
            (",5", 0.5, "0.5"),
            ("4.7k", 4700.0, "4.7k"),
            ("007", 7.0, "7"),
            ("5.", 5.0, "5"),
        ] {
            assert_eq!(parse_typed_number(typed), Ok((number, text.into())), "{typed}");
        }
        for typed in ["1,000", "1,234k", "1,2,3", "1.5,2", "", "4k7", "3m", ",", "k", "nan"] {
            assert!(parse_typed_number(typed).is_err(), "{typed}");
        }
    }

    #[test]
    fn shown_values_are_written_as_a_job_file_has_them() {
        let toml = |typed| ShownText::parse(typed).map(|shown| shown.toml());
        assert_eq!(toml("27,10"), Ok("27.1".into()));
        assert_eq!(toml("4.7k"), Ok("\"4.7k\"".into()));
        assert_eq!(toml("open"), Ok("\"open\"".into()));
        assert_eq!(toml("o.l."), Ok("\"OL\"".into()));
        assert_eq!(toml("dead"), Ok("\"dead\"".into()));
        assert!(toml("-3").unwrap_err().contains("minus"));
        assert_eq!(ShownText::parse("0,35 k").map(|shown| shown.with_unit("ohm")), Ok("0.35 kohm".into()));
    }

    #[test]
    fn contact_tables_are_typed_line_by_line() {
        let toml = field_toml(FieldType::ContactTable, "off: none\nhigh: line to high, a b\n");
        assert_eq!(toml, Ok("{ off = [], high = [[\"line\", \"high\"], [\"a\", \"b\"]] }".into()));
        let contact_table = |typed| table(TableLine::Contacts, typed);
        assert!(contact_table("low line low").unwrap_err().contains("names no position"));
        assert!(contact_table("low: line").unwrap_err().contains("not a contact"));
        assert!(contact_table("low: a b\nlow: c d").unwrap_err().contains("twice"));
    }
    #[test]
    fn windings_are_typed_line_by_line() {
        let windings = |typed| table(TableLine::Winding, typed);
        let row = |name: &str, toml: &str| (name.to_owned(), toml.to_owned());
        assert_eq!(
            windings("primary: 0 120 120 120 240\nsecondary: a 12,6 b"),
            Ok(vec![row("primary", "[\"0\", 120, \"120\", 120, \"240\"]"), row("secondary", "[\"a\", 12.6, \"b\"]")])
        );
        assert_eq!(table(TableLine::Number, "primary: 34,5"), Ok(vec![row("primary", "34.5")]));
        for (typed, words) in [
            ("a 12 b", "names no winding"),
            ("primary: a b", "not a winding"),
            ("primary: a 12 b 12", "not a winding"),
            ("primary: a to b", "not a number"),
            ("primary: a 1 b\nprimary: c 1 d", "twice"),
        ] {
            let error = windings(typed).unwrap_err();
            assert!(error.contains(words), "{typed}: {error}");
        }
    }
}
