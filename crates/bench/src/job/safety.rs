//! Reads safety tests after a repair.

use super::load::Reader;
use super::names;
use super::values::Positive;
use crate::safety::{Beyond, CLASSES, REGIONS, Safety, SafetyQuantity, SafetyTest, SafetyValue, TESTS, USES};
use schemars::JsonSchema;
use serde::Deserialize;
use serde::de::{self, Deserializer, Visitor};
use std::fmt;
use std::ops::Range;
use toml::Spanned;
use toml::de::DeValue;

/// More than these are no sheet.
const MOST_TESTS: usize = 200;

/// Safety tests after the repair; what is left out here follows from the unit.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SafetyEntry {
    /// Region whose limits hold: europe, united-kingdom, united-states, australia-new-zealand; germany-2008,
    /// united-kingdom-4th-edition, product or product-2010.
    #[schemars(with = "Option<String>")]
    region: Option<Spanned<String>>,
    /// Protection class: I, II or III. Without it: I if the cord has an earth conductor, else II.
    #[schemars(with = "Option<String>")]
    class: Option<Spanned<String>>,
    /// How the unit is used: hand-held, portable or stationary.
    #[serde(rename = "use")]
    #[schemars(with = "Option<String>")]
    handling: Option<Spanned<String>>,
    /// Watts of all heating elements. Without it: the sum of the heaters.
    #[schemars(with = "Option<f64>")]
    heating_watts: Option<Spanned<f64>>,
    /// Length of the cord. Without it: that of the cord among the parts.
    cord_metres: Option<Positive>,
    /// Section of the cord's conductors. Without it: that of the cord among the parts.
    cord_square_millimetres: Option<Positive>,
    /// Whether metal that is not joined to earth can be touched on a class I unit.
    #[serde(default)]
    unearthed_metal: bool,
    /// Entries, one for each test done, or not done.
    #[serde(default)]
    #[allow(dead_code)]
    tests: Vec<SafetyTestEntry>,
}

/// One safety test.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SafetyTestEntry {
    /// Which: visual, earth-continuity, insulation-resistance, electric-strength, polarity, protective-conductor-current,
    /// touch-current or functional.
    #[schemars(with = "String")]
    test: Spanned<String>,
    /// What the instrument showed, with its unit: "0.12 ohm", ">200 Mohm", "0.3 mA"; or "ok", "failed", "not done: why".
    #[schemars(with = "String")]
    value: Spanned<ValueText>,
    /// Where, if it was done in several places.
    at: Option<String>,
    /// When.
    date: Option<String>,
    /// With what: a meter of the job by its name, or any text.
    instrument: Option<String>,
    /// Remarks.
    note: Option<String>,
}

/// Text, and a plain number refused for its missing unit.
#[derive(Debug)]
struct ValueText(String);

impl<'de> Deserialize<'de> for ValueText {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct TextVisitor;
        impl Visitor<'_> for TextVisitor {
            type Value = ValueText;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str(A_VALUE)
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<ValueText, E> {
                Ok(ValueText(text.to_owned()))
            }

            fn visit_f64<E: de::Error>(self, number: f64) -> Result<ValueText, E> {
                Err(E::custom(format!(
                    "{number} has no unit, expected {A_VALUE}; write the unit and put it in quotes: \"{number} ohm\" or \
                     \"{number} mA\", as the instrument showed it"
                )))
            }

            fn visit_i64<E: de::Error>(self, number: i64) -> Result<ValueText, E> {
                self.visit_f64(number as f64)
            }

            fn visit_u64<E: de::Error>(self, number: u64) -> Result<ValueText, E> {
                self.visit_f64(number as f64)
            }
        }
        deserializer.deserialize_any(TextVisitor)
    }
}

const A_VALUE: &str = "a value with its unit such as \"0.12 ohm\", or \"ok\", \"failed\", \"not done: why\"";

/// Units as they are written, with what they measure and how many SI units they are. The first that a text ends in counts.
const UNITS: [(&str, SafetyQuantity, f64); 16] = [
    ("kohm", SafetyQuantity::Ohms, 1e3),
    ("mohm", SafetyQuantity::Ohms, 1e-3),
    ("Mohm", SafetyQuantity::Ohms, 1e6),
    ("Gohm", SafetyQuantity::Ohms, 1e9),
    ("ohm", SafetyQuantity::Ohms, 1.0),
    ("kΩ", SafetyQuantity::Ohms, 1e3),
    ("mΩ", SafetyQuantity::Ohms, 1e-3),
    ("MΩ", SafetyQuantity::Ohms, 1e6),
    ("GΩ", SafetyQuantity::Ohms, 1e9),
    ("Ω", SafetyQuantity::Ohms, 1.0),
    ("mA", SafetyQuantity::Amperes, 1e-3),
    ("uA", SafetyQuantity::Amperes, 1e-6),
    ("µA", SafetyQuantity::Amperes, 1e-6),
    ("μA", SafetyQuantity::Amperes, 1e-6),
    ("A", SafetyQuantity::Amperes, 1.0),
    ("amps", SafetyQuantity::Amperes, 1.0),
];

/// What a text entered for a test says.
///
/// # Errors
/// What is wrong with it, and how to write it instead.
pub fn parse_safety_value(test: &'static str, typed: &str) -> Result<SafetyValue, (String, String)> {
    let text = typed.trim();
    let known = TESTS.iter().find(|(name, ..)| *name == test);
    let (quantity, example) = known.map_or((None, "ok"), |&(_, quantity, example)| (quantity, example));
    let lower = text.to_lowercase();
    if let Some(reason) = lower.strip_prefix("not done").map(|rest| &text[text.len() - rest.len()..]) {
        let reason = reason.trim_start_matches([':', ',', ';', ' ']).trim();
        if reason.is_empty() {
            return Err(("'not done' without a reason".into(), "say why: \"not done: no tester at hand\"".into()));
        }
        return Ok(SafetyValue::NotDone(reason.into()));
    }
    match (lower.as_str(), quantity) {
        ("failed" | "fail" | "not ok", _) => Ok(SafetyValue::Failed),
        ("ok" | "pass" | "passed", None) => Ok(SafetyValue::Ok),
        ("ok" | "pass" | "passed", Some(_)) => {
            let what = format!("'{text}' for {test}, which is measured");
            Err((what, format!("write what the instrument showed: \"{example}\"")))
        }
        (_, None) => {
            let what = format!("'{}' for {test}, which has no number", short(text));
            Err((what, "write \"ok\", \"failed\", or \"not done: why\"".into()))
        }
        (_, Some(quantity)) => number(test, text, quantity, example),
    }
}

fn number(test: &str, text: &str, quantity: SafetyQuantity, example: &str) -> Result<SafetyValue, (String, String)> {
    let (beyond, rest) = match text.chars().next() {
        Some('>') => (Beyond::Above, &text[1..]),
        Some('<') => (Beyond::Below, &text[1..]),
        _ => (Beyond::Neither, text),
    };
    let rest = &with_plain_ohm(rest.trim());
    let unit = UNITS.iter().find(|(unit, ..)| rest.ends_with(unit));
    let is_number = |text: &str| super::values::parse_number(text).is_ok();
    let Some(&(unit, measured, factor)) = unit else {
        let what = if is_number(rest) {
            format!("'{}' for {test} has no unit", short(text))
        } else {
            format!("'{}' for {test} is no value with a unit", short(text))
        };
        let mend = match (is_number(rest), quantity) {
            (true, SafetyQuantity::Ohms) => {
                format!("write \"{} ohm\" or \"{} Mohm\", as the instrument showed it", short(text), short(text))
            }
            (true, SafetyQuantity::Amperes) => {
                format!("write \"{} mA\" if that is what the instrument showed", short(text))
            }
            (false, _) => format!("write it as \"{example}\""),
        };
        return Err((what, mend));
    };
    if measured != quantity {
        let expected = if quantity == SafetyQuantity::Ohms { "ohms" } else { "amperes" };
        return Err((
            format!("'{}' for {test}, which is in {expected}", short(text)),
            format!("write it as \"{example}\""),
        ));
    }
    let digits = rest[..rest.len() - unit.len()].trim();
    if test == "insulation-resistance" && unit.starts_with('m') {
        let meant = format!("{digits} M{}", &unit[1..]);
        let mend = format!("a small m is a thousandth; write \"{}\" if millions are meant", short(&meant));
        return Err((format!("'{}' of insulation is doubtful", short(text)), mend));
    }
    let number = super::values::parse_number(digits).map_err(|doubt| {
        let (what, mend) = doubt.split_once("; ").unwrap_or((&doubt, ""));
        let mend = if mend.is_empty() { format!("write it as \"{example}\"") } else { mend.to_owned() };
        (format!("{} in a value for {test}", short(what)), short(&mend))
    })?;
    if number < 0.0 {
        return Err((format!("'{}' for {test} is below zero", short(text)), "write the size without its sign".into()));
    }
    // A digit after the point is a tenth, the next a hundredth; k and M of the number itself count too.
    let scale = match digits.chars().last() {
        Some('k') => 1e3,
        Some('M') => 1e6,
        _ => 1.0,
    };
    let decimals = digits.split_once('.').map_or(0, |(_, after)| after.bytes().filter(u8::is_ascii_digit).count());
    let last_digit_si = scale * factor * 10f64.powi(-i32::try_from(decimals).unwrap_or(i32::MAX));
    let si = number * factor;
    if !si.is_finite() {
        return Err((format!("'{}' for {test} is no number", short(text)), format!("write it as \"{example}\"")));
    }
    Ok(SafetyValue::Number { beyond, si, last_digit_si })
}

/// Ohm, OHM and ohms are ohm; the letter before it keeps its size, since m and M are a world apart.
fn with_plain_ohm(text: &str) -> String {
    for spelt in ["ohms", "ohm"] {
        let start = text.len().checked_sub(spelt.len()).filter(|&at| text.is_char_boundary(at));
        if let Some(start) = start.filter(|&at| text[at..].eq_ignore_ascii_case(spelt)) {
            return format!("{}ohm", &text[..start]);
        }
    }
    text.to_owned()
}

/// What was typed, cut to a length that a message can hold.
fn short(text: &str) -> String {
    const MOST: usize = 120;
    let mut cut: String = text.chars().take(MOST).collect();
    if text.chars().count() > MOST {
        cut.push_str("...");
    }
    cut
}

impl<'t> Reader<'_, 't> {
    pub(super) fn safety(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Safety {
        let Some(value) = value else { return Safety::default() };
        let span = value.span();
        let DeValue::Table(mut table) = value.into_inner() else {
            let problem = self.problems.error(span, "'safety' is not a table");
            problem.expected("[safety] with region and tests");
            return Safety::default();
        };
        // The tests are read one by one, so that one bad entry does not hide the others.
        let tests = table.remove("tests");
        let entry = self.entry::<SafetyEntry>(Spanned::new(span, DeValue::Table(table)));
        let mut safety = entry.map(|entry| self.safety_facts(&entry)).unwrap_or_default();
        for (entry, span) in self.array::<SafetyTestEntry>(tests, "safety.tests", MOST_TESTS) {
            safety.tests.extend(self.safety_test(entry, span));
        }
        safety
    }

    fn safety_facts(&mut self, entry: &SafetyEntry) -> Safety {
        let heating_watts = entry.heating_watts.as_ref().and_then(|watts| {
            let value = *watts.get_ref();
            if (0.0..=1e6).contains(&value) {
                return Some(value);
            }
            let problem = self.problems.error(watts.span(), format!("heating of {value} W"));
            problem.expected("watts of all heating elements, 0 without any");
            None
        });
        let too_long = entry.cord_metres.is_some_and(|metres| metres.0 > 1000.0);
        let too_thick = entry.cord_square_millimetres.is_some_and(|section| section.0 > 500.0);
        if too_long || too_thick {
            let place = entry.region.as_ref().map_or(0..0, Spanned::span);
            let problem = self.problems.error(place, "a cord that no unit has");
            problem.expected("cord_metres up to 1000, cord_square_millimetres up to 500");
        }
        Safety {
            region: self.one_of(entry.region.as_ref(), "region", &REGIONS),
            class: self.one_of(entry.class.as_ref(), "protection class", &CLASSES),
            handling: self.one_of(entry.handling.as_ref(), "use", &USES),
            heating_watts,
            cord_metres: entry.cord_metres.map(|metres| metres.0),
            cord_square_millimetres: entry.cord_square_millimetres.map(|section| section.0),
            has_unearthed_metal: entry.unearthed_metal,
            tests: Vec::new(),
        }
    }

    /// The known name that was written, or a problem.
    fn one_of(&mut self, text: Option<&Spanned<String>>, what: &str, known: &[&'static str]) -> Option<&'static str> {
        let text = text?;
        let found = known.iter().find(|known| **known == text.get_ref().as_str());
        if found.is_none() {
            let names: Vec<String> = known.iter().map(|&name| name.to_owned()).collect();
            // Among few names the nearest says too much: of 'IV' nobody knows which class was meant.
            let mend = match known.len() {
                ..=3 => Some(format!("there is {}", known.join(", "))),
                _ => names::mend(text.get_ref(), &names),
            };
            let problem = self.problems.error(text.span(), format!("there is no {what} '{}'", short(text.get_ref())));
            problem.expected(format!("one of {}", known.join(", "))).mend = mend;
        }
        found.copied()
    }

    fn safety_test(&mut self, entry: SafetyTestEntry, span: Range<usize>) -> Option<SafetyTest> {
        let known = TESTS.map(|(name, ..)| name);
        let test = self.one_of(Some(&entry.test), "safety test", &known)?;
        let typed = entry.value.get_ref().0.trim().to_owned();
        match parse_safety_value(test, &typed) {
            Ok(value) => {
                let SafetyTestEntry { at, date, instrument, note, .. } = entry;
                let line = self.problems.line(span.start);
                Some(SafetyTest { test, value, typed, at, date, instrument, note, line })
            }
            Err((what, mend)) => {
                self.problems.error(entry.value.span(), what).expected(A_VALUE).mend(mend);
                None
            }
        }
    }
}
