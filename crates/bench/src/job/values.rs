//! Values as typed at a bench: `27.1`, `4.7k`, `open`.

use super::names::nearest;
use serde::de::{self, Deserializer, SeqAccess, Visitor};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::marker::PhantomData;

/// A finite number above zero: a number, or text with `k` or `M` for thousands and millions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[schemars(with = "NumberOrText")]
pub struct Positive(pub f64);

impl Positive {
    /// The number, if it is one that there is: `what` is what has it, such as "a wire of".
    ///
    /// # Errors
    /// A message with the number, what is expected, and a mend.
    pub(crate) fn within<E: de::Error>(
        self,
        [least, most]: [f64; 2],
        what: &str,
        unit: &str,
        mend: &str,
    ) -> Result<f64, E> {
        match (least..=most).contains(&self.0) {
            true => Ok(self.0),
            false => Err(E::custom(format!("{what} {} {unit}, expected {least} to {most} {unit}; {mend}", self.0))),
        }
    }
}

/// A finite number, zero or above, or a word for no connection: what a meter showed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[schemars(with = "NumberOrText")]
pub struct Shown(pub ShownValue);

/// See [`Shown`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub enum ShownValue {
    /// A number.
    Number(f64),
    /// Open: no path.
    Open,
    /// Over range, 'OL': of ohms the same as open.
    OverRange,
    /// No volts, no current, no motion.
    Dead,
}

/// Ohms of one reading, or of a round from bar to bar.
#[derive(Debug, Clone, PartialEq, schemars::JsonSchema)]
#[serde(untagged)]
pub enum ShownOhms {
    /// What the meter showed.
    One(Shown),
    /// What it showed at each pair of neighbouring bars, in order.
    Round(Vec<Shown>),
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
        let (mend, plain) = (trimmed.replace(',', "."), trimmed.replace(',', ""));
        let write = match trimmed.split(',').collect::<Vec<_>>()[..] {
            // Three digits after one comma: thousands in some countries, decimals in others.
            [_, after] if after.len() == 3 => format!("{mend} or {plain}"),
            [_, _] => mend,
            _ => plain,
        };
        return Err(format!(
            "'{trimmed}' has a comma; write {write} (a point for decimals, nothing between thousands)"
        ));
    }
    let (digits, factor) = match trimmed.char_indices().last() {
        Some((at, 'k')) => (&trimmed[..at], 1e3),
        Some((at, 'M')) => (&trimmed[..at], 1e6),
        _ => (trimmed, 1.0),
    };
    let number: f64 = digits.trim().parse().map_err(|_| doubt(trimmed))?;
    if !number.is_finite() {
        return Err(format!("'{trimmed}' is not a finite number; write one such as 27.1"));
    }
    Ok(number * factor)
}

/// What to say of text that is no number.
fn doubt(text: &str) -> String {
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+')).unwrap_or(text.len());
    let (digits, rest) = text.split_at(split);
    let rest = rest.trim();
    let is_number = digits.parse::<f64>().is_ok();
    match (rest, rest.chars().next()) {
        _ if !is_number => format!("'{text}' is not a number; write one such as 27.1 or \"4.7k\""),
        ("m", _) => {
            format!("'{text}' is doubtful: m could be milli or mega; write {digits}M for mega, or the number itself")
        }
        ("K", _) => format!("'{text}' is doubtful; write {digits}k for thousand"),
        (_, Some(letter @ ('k' | 'M' | 'R'))) => {
            let (after, suffix) = (&rest[1..], if letter == 'R' { String::new() } else { letter.to_string() });
            if !after.is_empty() && after.bytes().all(|byte| byte.is_ascii_digit()) && !digits.contains('.') {
                format!("'{text}' is doubtful; write {digits}.{after}{suffix} if that is what is meant")
            } else {
                format!("'{text}' has more than a number in it; write {digits}{suffix}, units are never written")
            }
        }
        _ => format!("'{text}' has a suffix that is not known ('{rest}'); only k and M are, units are never written"),
    }
}

/// Puts what was expected between what is wrong and its mend.
fn with_expectation(doubt: &str, expected: &str) -> String {
    match doubt.split_once("; ") {
        Some((what, mend)) => format!("{what}, expected {expected}; {mend}"),
        None => format!("{doubt}, expected {expected}"),
    }
}

const A_POSITIVE: &str = "a number above zero, such as 27.1 or \"4.7k\"";
const SHOWN_WORDS: [&str; 4] = ["open", "OL", "over range", "dead"];
const A_SHOWN: &str = "what the meter showed: a number such as 27.1 or \"4.7k\", or \"open\" or \"dead\"";

struct PositiveVisitor;

impl Visitor<'_> for PositiveVisitor {
    type Value = Positive;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(A_POSITIVE)
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Positive, E> {
        if !number.is_finite() {
            return Err(E::custom(format!("{number} is not a finite number, expected {A_POSITIVE}")));
        }
        if number <= 0.0 {
            return Err(E::custom(format!("{number} is not above zero, expected {A_POSITIVE}")));
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
        self.visit_f64(parse_number(text).map_err(|doubt| E::custom(with_expectation(&doubt, A_POSITIVE)))?)
    }
}

impl<'de> Deserialize<'de> for Positive {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(PositiveVisitor)
    }
}

/// What a word stands for that a meter shows, or that is said of it.
pub(super) fn shown_word(text: &str) -> Option<ShownValue> {
    match text.trim().to_lowercase().as_str() {
        "open" => Some(ShownValue::Open),
        // Displays leave open which of the two a nought is.
        "ol" | "o.l" | "o.l." | "0l" | "0.l" | "0.l." | "over range" => Some(ShownValue::OverRange),
        "dead" => Some(ShownValue::Dead),
        _ => None,
    }
}

/// What to say of a word that is nearly one of these.
pub(super) fn meant_word(text: &str) -> Option<String> {
    let is_word = !text.contains(|c: char| c.is_ascii_digit());
    let near = nearest(text.trim(), SHOWN_WORDS).first().copied().filter(|_| is_word)?;
    Some(format!("'{}' is nothing that a meter shows; write \"{near}\"", text.trim()))
}

struct ShownVisitor;

impl Visitor<'_> for ShownVisitor {
    type Value = Shown;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(A_SHOWN)
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Shown, E> {
        if !number.is_finite() {
            return Err(E::custom(format!(
                "a reading cannot be {number}, expected {A_SHOWN}; for over range of ohms write \"open\", of microfarads \"OL\""
            )));
        }
        if number < 0.0 {
            return Err(E::custom(format!(
                "a reading cannot be {number}, expected {A_SHOWN}; write the size without its sign"
            )));
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
        match shown_word(text) {
            Some(word) => Ok(Shown(word)),
            None => {
                let doubt = |doubt| E::custom(with_expectation(&meant_word(text).unwrap_or(doubt), A_SHOWN));
                self.visit_f64(parse_number(text).map_err(doubt)?)
            }
        }
    }
}

impl<'de> Deserialize<'de> for Shown {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(ShownVisitor)
    }
}

struct ShownOhmsVisitor;

impl<'de> Visitor<'de> for ShownOhmsVisitor {
    type Value = ShownOhms;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        ShownVisitor.expecting(formatter)
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<ShownOhms, E> {
        ShownVisitor.visit_f64(number).map(ShownOhms::One)
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<ShownOhms, E> {
        ShownVisitor.visit_i64(number).map(ShownOhms::One)
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<ShownOhms, E> {
        ShownVisitor.visit_u64(number).map(ShownOhms::One)
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<ShownOhms, E> {
        ShownVisitor.visit_str(text).map(ShownOhms::One)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<ShownOhms, A::Error> {
        let mut round = Vec::new();
        while let Some(shown) = list.next_element()? {
            round.push(shown);
        }
        Ok(ShownOhms::Round(round))
    }
}

impl<'de> Deserialize<'de> for ShownOhms {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(ShownOhmsVisitor)
    }
}

/// Two of a kind: `["one", "other"]`, no more and no fewer.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair<T>(pub T, pub T);

struct PairVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for PairVisitor<T> {
    type Value = Pair<T>;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("a pair such as [\"one\", \"other\"]")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Pair<T>, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = list.next_element()? {
            items.push(item);
        }
        let pair: [T; 2] = items.try_into().map_err(|items: Vec<T>| {
            let names = if items.len() == 1 { "name" } else { "names" };
            de::Error::custom(format!(
                "{} {names} where two belong, expected a pair such as [\"one\", \"other\"]",
                items.len()
            ))
        })?;
        let [one, other] = pair;
        Ok(Pair(one, other))
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Pair<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(PairVisitor(PhantomData))
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
    fn words_of_a_display_are_read_and_nearly_such_are_mended() {
        for (text, word) in
            [("open", "Open"), (" OPEN", "Open"), ("0L", "OverRange"), ("O.L.", "OverRange"), ("Dead", "Dead")]
        {
            assert_eq!(shown_word(text).map(|word| format!("{word:?}")).as_deref(), Some(word), "{text}");
        }
        for (text, near) in [("opn", "open"), ("oepn", "open"), ("overrange", "over range"), ("ded", "dead")] {
            let mend = meant_word(text).unwrap_or_default();
            assert!(mend.ends_with(&format!("write \"{near}\"")), "{text}: {mend}");
        }
        for text in ["27,1", "4k7", "twelve", "1o", ""] {
            assert_eq!(meant_word(text), None, "{text}");
        }
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
            ("3.5.2", "not a number"),
            ("4R7", "write 4.7 "),
            ("27kOhm", "write 27k,"),
            ("230V", "units are never written"),
            ("1,000", "write 1.000 or 1000"),
            ("1,234,567", "write 1234567"),
            ("", "empty"),
        ] {
            let error = parse_number(text).unwrap_err();
            assert!(error.contains(mend), "{text}: {error}");
        }
    }
}
