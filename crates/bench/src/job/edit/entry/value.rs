//! What a meter showed, with its unit: `27.1`, `0,35 k`, `0.73 A`, `open`.

use super::super::toml_text;
use super::super::typed::{ShownText, parse_typed_number};
use super::super::words::short;
use super::{EXAMPLES, EntryProblem, problem};

/// The quantity that a unit tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    Ohms,
    Microfarads,
    Volts,
    Amps,
    Watts,
    Rpm,
    TouchMilliamps,
    LeakageMilliamps,
    Seconds,
}

/// Whether the text begins with a whole name.
pub(super) fn begins(text: &str, name: &str, any_case: bool) -> bool {
    let Some(start) = text.get(..name.len()).filter(|start| !start.is_empty()) else { return false };
    let ends = text[name.len()..].chars().next().is_none_or(char::is_whitespace);
    ends && (start == name || any_case && start.to_lowercase() == name.to_lowercase())
}

/// The value a text is, with the quantity that its unit tells; `None` if it does not begin like one.
pub(super) fn value(text: &str) -> Option<Result<(ShownText, Option<Quantity>), EntryProblem>> {
    let lower = text.to_lowercase();
    for (word, shown) in [("open", ShownText::open()), ("dead", ShownText::dead())]
        .into_iter()
        .chain(["over range", "ol", "o.l.", "o.l"].map(|word| (word, ShownText::over_range())))
    {
        if begins(&lower, word, false) {
            let unit = text[word.len()..].trim();
            return match quantity(unit) {
                Some((1.0, found)) => Some(Ok((shown, found))),
                _ => Some(problem(format!("'{}' after {word} is not known", short(unit)), UNITS)),
            };
        }
    }
    if !text.trim_start_matches(['.', ',', '-', '+']).starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    Some(number_with_unit(text))
}

const UNITS: &str =
    "the units are ohm, uF, V, A, W, rpm and s, with k or M before them if need be, mA touch and mA leakage";

fn number_with_unit(text: &str) -> Result<(ShownText, Option<Quantity>), EntryProblem> {
    let is_digit = |c: char| c.is_ascii_digit() || ['.', ',', '-', '+'].contains(&c);
    let end = text.find(|c: char| !is_digit(c)).unwrap_or(text.len());
    let (digits, suffix) = (&text[..end], text[end..].trim());
    let shown = |typed: &str| {
        ShownText::parse(typed).map_err(|words| {
            let (message, mend) = words.split_once("; ").unwrap_or((&words, EXAMPLES));
            EntryProblem { message: message.to_owned(), mend: mend.to_owned() }
        })
    };
    // A number in scientific notation has letters of its own.
    if let (None, Ok(whole)) = (quantity(suffix), ShownText::parse(text)) {
        return Ok((whole, None));
    }
    match quantity(suffix) {
        Some((1.0, found)) => Ok((shown(digits)?, found)),
        Some((factor, found)) if factor < 1.0 => {
            let (number, _) =
                parse_typed_number(digits).map_err(|words| EntryProblem { message: words, mend: UNITS.into() })?;
            Ok((shown(&toml_text::number(number * factor))?, found))
        }
        Some((factor, found)) => Ok((shown(&format!("{digits}{}", if factor > 1e4 { 'M' } else { 'k' }))?, found)),
        // What stands after the digits is no unit: the reader of numbers may know what was meant.
        None if suffix.len() <= 3 => shown(&format!("{digits}{suffix}"))
            .and_then(|_| problem(format!("'{}' is not a unit", short(suffix)), UNITS)),
        None => problem(format!("'{}' after the number is not a unit", short(suffix)), UNITS),
    }
}

/// The factor and the quantity that a unit says; nothing says nothing.
fn quantity(unit: &str) -> Option<(f64, Option<Quantity>)> {
    let unit: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
    match unit.to_lowercase().as_str() {
        "matouch" => return Some((1.0, Some(Quantity::TouchMilliamps))),
        "uf" | "µf" | "μf" | "mfd" => return Some((1.0, Some(Quantity::Microfarads))),
        "nf" => return Some((1e-3, Some(Quantity::Microfarads))),
        "maleakage" => return Some((1.0, Some(Quantity::LeakageMilliamps))),
        _ => {}
    }
    let (factor, rest) = match unit.chars().next() {
        Some('k') => (1e3, &unit[1..]),
        Some('M') => (1e6, &unit[1..]),
        // Milli is only clear with a unit after it.
        Some('m') if unit.len() > 1 => (1e-3, &unit[1..]),
        _ => (1.0, unit.as_str()),
    };
    let found = match rest.to_lowercase().trim_end_matches('.') {
        "" => None,
        "ohm" | "ohms" | "ω" => Some(Quantity::Ohms),
        "v" | "volt" | "volts" | "vac" => Some(Quantity::Volts),
        "a" | "amp" | "amps" | "ampere" | "amperes" => Some(Quantity::Amps),
        "w" | "watt" | "watts" => Some(Quantity::Watts),
        "rpm" | "r/min" | "1/min" => Some(Quantity::Rpm),
        "s" | "sec" | "second" | "seconds" => Some(Quantity::Seconds),
        _ => return None,
    };
    if factor < 1.0 && !matches!(found, Some(Quantity::Volts | Quantity::Amps | Quantity::Ohms)) {
        return None;
    }
    Some((factor, found))
}
