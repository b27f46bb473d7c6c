//! Values as a person types them: with a comma for decimals, lists with commas between, contact tables line by line.

use super::toml_text;
use crate::job::values::{ShownValue, parse_number};
use crate::kinds::catalogue::FieldType;
use std::fmt;

/// What a meter showed, as typed: `27.1`, `0,35 k`, `open`, `dead`.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownText {
    /// As a job file writes it, without quotes: `27.1`, `0.35k`, `open`, `dead`.
    text: String,
    value: ShownValue,
}

impl ShownText {
    /// Reads what was typed.
    ///
    /// # Errors
    /// What is doubtful about it and how to write it instead.
    pub fn parse(typed: &str) -> Result<Self, String> {
        let lower = typed.trim().to_lowercase();
        Ok(match lower.as_str() {
            "open" | "ol" | "o.l" | "o.l." | "over range" => Self::open(),
            "dead" => Self::dead(),
            _ => {
                let (number, text) = parse_typed_number(typed)?;
                if number < 0.0 {
                    return Err(format!("'{}' has a minus sign; write the size without it", typed.trim()));
                }
                ShownText { text, value: ShownValue::Number(number) }
            }
        })
    }

    /// Over range.
    pub fn open() -> Self {
        ShownText { text: "open".into(), value: ShownValue::Open }
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
fn with_point(typed: &str) -> String {
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
        FieldType::ContactTable => toml_text::inline_table(&contact_table(typed)?),
    })
}

/// Names with commas or blanks between them.
fn names(typed: &str) -> Vec<String> {
    typed.split([',', ';']).flat_map(str::split_whitespace).map(String::from).collect()
}

/// A contact table, one position on each line; each position with its contacts as TOML.
pub(super) fn contact_table(typed: &str) -> Result<Vec<(String, String)>, String> {
    let mut table: Vec<(String, String)> = Vec::new();
    for line in typed.split(['\n', ';']).map(str::trim).filter(|line| !line.is_empty()) {
        let Some((position, joined)) = line.split_once([':', '=']) else {
            return Err(format!("'{line}' names no position; write a line such as low: line to low"));
        };
        let position = position.trim().to_owned();
        if position.is_empty() {
            return Err(format!("'{line}' names no position; write a line such as low: line to low"));
        }
        if table.iter().any(|(known, _)| *known == position) {
            return Err(format!("position '{position}' is given twice; put its contacts on one line"));
        }
        table.push((position, contacts(joined)?));
    }
    Ok(table)
}

/// Contacts of one position as TOML: `line to low, in to out`; nothing or `none` for no contact.
pub(super) fn contacts(typed: &str) -> Result<String, String> {
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
        assert_eq!(toml("OL"), Ok("\"open\"".into()));
        assert_eq!(toml("dead"), Ok("\"dead\"".into()));
        assert!(toml("-3").unwrap_err().contains("minus"));
        assert_eq!(ShownText::parse("0,35 k").map(|shown| shown.with_unit("ohm")), Ok("0.35 kohm".into()));
    }

    #[test]
    fn contact_tables_are_typed_line_by_line() {
        let table = field_toml(FieldType::ContactTable, "off: none\nhigh: line to high, a b\n");
        assert_eq!(table, Ok("{ off = [], high = [[\"line\", \"high\"], [\"a\", \"b\"]] }".into()));
        assert!(contact_table("low line low").unwrap_err().contains("names no position"));
        assert!(contact_table("low: line").unwrap_err().contains("not a contact"));
        assert!(contact_table("low: a b\nlow: c d").unwrap_err().contains("twice"));
    }
}
