//! Values as typed at a bench: `27.1`, `4.7k`, `open`.

use serde::de::{self, Deserializer, Visitor};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A finite number above zero: a number, or text with `k` or `M` for thousands and millions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[schemars(with = "NumberOrText")]
pub struct Positive(pub f64);

/// A finite number, zero or above, or a word for no connection: what a meter showed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[schemars(with = "NumberOrText")]
pub struct Shown(pub ShownValue);

/// See [`Shown`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum ShownValue {
    /// A number.
    Number(f64),
    /// Over range.
    Open,
}

/// For the schema: a number, or a number with a suffix, or a word.
#[derive(schemars::JsonSchema)]
#[serde(untagged)]
#[allow(dead_code)]
enum NumberOrText {
    Number(f64),
    Text(String),
}

/// Reads text such as `4.7k`, `27.1` or `1M`.
///
/// # Errors
/// What is doubtful about it and how to write it instead.
pub fn parse_number(text: &str) -> Result<f64, String> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err("an empty value; write a number such as 27.1".into());
    }
    if trimmed.contains(',') {
        let mend = trimmed.replace(',', ".");
        return Err(format!("'{trimmed}' has a comma; write {mend} (a point for decimals, nothing between thousands)"));
    }
    let (digits, factor) = match trimmed.char_indices().last() {
        Some((at, 'k')) => (&trimmed[..at], 1e3),
        Some((at, 'M')) => (&trimmed[..at], 1e6),
        _ => (trimmed, 1.0),
    };
    let number: f64 = digits.trim().parse().map_err(|_| doubt(trimmed))?;
    if !number.is_finite() {
        return Err(format!("'{trimmed}' is not a finite number; for no connection write \"open\""));
    }
    Ok(number * factor)
}

/// What to say of text that is no number.
fn doubt(text: &str) -> String {
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+')).unwrap_or(text.len());
    let (digits, rest) = text.split_at(split);
    let rest = rest.trim();
    match rest {
        _ if digits.is_empty() => format!("'{text}' is not a number; write one such as 27.1 or \"4.7k\", or \"open\""),
        "m" => format!("'{text}' is doubtful: m could be milli or mega; write {digits}M for mega, or the number itself"),
        "K" => format!("'{text}' is doubtful: write {digits}k for thousand"),
        _ if rest.starts_with('k') || rest.starts_with('R') || rest.starts_with('M') => {
            let letter = rest.chars().next().unwrap_or('k');
            let after = &rest[1..];
            let suffix = if letter == 'R' { String::new() } else { letter.to_string() };
            format!("'{text}' is doubtful; write {digits}.{after}{suffix} if that is what is meant")
        }
        _ => format!("'{text}' has a suffix that is not known ('{rest}'); only k and M are, units are never written"),
    }
}

struct PositiveVisitor;

impl Visitor<'_> for PositiveVisitor {
    type Value = Positive;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("a number above zero, such as 27.1 or \"4.7k\"")
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Positive, E> {
        if !number.is_finite() {
            return Err(E::custom("expected a finite number above zero, found one that is infinite or not a number"));
        }
        if number <= 0.0 {
            return Err(E::custom(format!("expected a number above zero, found {number}")));
        }
        Ok(Positive(number))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Positive, E> {
        self.visit_f64(number as f64)
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Positive, E> {
        self.visit_f64(number as f64)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Positive, E> {
        self.visit_f64(parse_number(text).map_err(E::custom)?)
    }
}

impl<'de> Deserialize<'de> for Positive {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(PositiveVisitor)
    }
}

struct ShownVisitor;

impl Visitor<'_> for ShownVisitor {
    type Value = Shown;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("what the meter showed: a number such as 27.1 or \"4.7k\", or \"open\" or \"dead\"")
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Shown, E> {
        if !number.is_finite() {
            return Err(E::custom("a reading is a finite number; for over range write \"open\""));
        }
        if number < 0.0 {
            return Err(E::custom(format!("a reading is zero or above, found {number}; write the size without its sign")));
        }
        Ok(Shown(ShownValue::Number(number)))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Shown, E> {
        self.visit_f64(number as f64)
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Shown, E> {
        self.visit_f64(number as f64)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Shown, E> {
        match text.trim() {
            "open" | "OL" | "ol" | "over range" => Ok(Shown(ShownValue::Open)),
            "dead" => Ok(Shown(ShownValue::Number(0.0))),
            other => self.visit_f64(parse_number(other).map_err(E::custom)?),
        }
    }
}

impl<'de> Deserialize<'de> for Shown {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(ShownVisitor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_numbers_and_suffixes() {
        assert_eq!(parse_number("27.1"), Ok(27.1));
        assert_eq!(parse_number(" 4.7k "), Ok(4700.0));
        assert_eq!(parse_number("1M"), Ok(1e6));
        assert_eq!(parse_number("1e3"), Ok(1000.0));
    }

    #[test]
    fn doubtful_text_is_refused_with_a_mend() {
        for (text, mend) in [
            ("4,7k", "write 4.7k"),
            ("3m", "3M for mega"),
            ("3K", "3k for thousand"),
            ("4k7", "4.7k"),
            ("27 ohm", "units are never written"),
            ("inf", "finite"),
            ("twelve", "not a number"),
            ("", "empty"),
        ] {
            let error = parse_number(text).unwrap_err();
            assert!(error.contains(mend), "{text}: {error}");
        }
    }
}
