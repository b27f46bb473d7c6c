//! Whether another part may stand in for one, by what is written on both.
//!
//! Tolerances are common practice, no source, unless said otherwise.

use crate::variant::{Exchanged, ExchangedPart};
use proof::insulation::ThermalClass;

/// How a field of the other part compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fits {
    /// As good as the same, or better.
    Yes,
    /// It may do; look at what is predicted.
    Doubtful,
    /// It does not.
    No,
}

/// One field compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Compared {
    /// The field as the job file names it.
    pub field: String,
    /// What is there.
    pub before: Option<String>,
    /// What would be.
    pub after: Option<String>,
    /// How it compares.
    pub fits: Fits,
    /// Why.
    pub why: &'static str,
}

impl Compared {
    /// In a line: 'plate.amps 0.6 for 0.49: DOES NOT FIT (why)'.
    pub fn words(&self) -> String {
        let value = |value: &Option<String>| value.clone().unwrap_or_else(|| "not given".into());
        let verdict = match self.fits {
            Fits::Yes => "fits",
            Fits::Doubtful => "doubtful",
            Fits::No => "DOES NOT FIT",
        };
        let both = match self.before == self.after {
            true => value(&self.after),
            false => format!("{} for {}", value(&self.after), value(&self.before)),
        };
        format!("{} {both}: {verdict} ({})", self.field, self.why)
    }
}

/// How a figure must compare.
enum Rule {
    /// Within a share; beyond twice that it does not fit.
    Near(f64, &'static str),
    /// Not less; and not more than a share above.
    AtLeast(f64, &'static str),
    /// The same.
    Same(&'static str),
}

/// Rules by the last word of a field's name, motors and others apart where they differ.
fn rule(kind: &str, field: &str) -> Option<Rule> {
    let is_capacitor = kind.ends_with("capacitor");
    Some(match field.rsplit('.').next().unwrap_or(field) {
        "volts" if is_capacitor => Rule::AtLeast(f64::INFINITY, "a capacitor may bear more volts, never fewer"),
        "volts" => Rule::Near(0.05, "made for other volts it runs too weak or too hot"),
        "hertz" => Rule::Same("at another frequency speed and current are others"),
        "poles" => Rule::Same("with other poles it runs at another speed"),
        "rpm" => Rule::Near(0.03, "another speed moves more or less air, and loads the motor by the square of it"),
        "amps" if kind == "fuse" => Rule::Same("a fuse is replaced by one of the same amps, never a larger one"),
        "amps" => Rule::Near(0.1, "more current warms the wiring, less may mean a weaker motor"),
        "rated_amps" if kind == "thermal-fuse" => {
            Rule::AtLeast(f64::INFINITY, "one made for fewer amps opens of its own warmth")
        }
        "rated_amps" | "centrifugal_rated_amps" => {
            Rule::AtLeast(f64::INFINITY, "contacts made for fewer amps burn or weld at what they switch here")
        }
        "max_celsius" => Rule::AtLeast(f64::INFINITY, "one made for less heat dries out or breaks down sooner here"),
        "volt_amperes" => Rule::AtLeast(f64::INFINITY, "a smaller transformer runs too hot at the same load"),
        "watts" => Rule::Near(0.05, "more watts overload switch, cord and neighbours, fewer do not do the work"),
        "microfarads" => Rule::Near(0.06, "another value turns the field unevenly: noise, heat, weak start"),
        "opens_celsius" => Rule::Near(0.03, "opening later it does not protect, opening sooner it stops the unit"),
        "shaft_watts" => Rule::AtLeast(
            0.5,
            "a weaker motor does not drive what is there, a much larger one takes more than the unit is made for",
        ),
        "power_factor" => Rule::Near(0.1, "with another power factor it takes other amps for the same work"),
        "closes_celsius" => Rule::Near(0.1, "closing sooner it cycles faster, closing later the unit stays off longer"),
        "insulation_class" => {
            Rule::AtLeast(f64::INFINITY, "a winding of a lower class bears less heat and ages sooner")
        }
        "class" => Rule::Same("a class that trips later does not protect the motor"),
        _ => return None,
    })
}

/// Every field in which parts differ or that a rule speaks of; with the names of the parts if there are several.
pub fn compare(exchanged: &Exchanged) -> Vec<Compared> {
    let several = exchanged.parts.len() > 1;
    let named = |part: &ExchangedPart, compared: Compared| match several {
        true => Compared { field: format!("{} {}", part.name, compared.field), ..compared },
        false => compared,
    };
    exchanged.parts.iter().flat_map(|part| compare_part(part).into_iter().map(move |one| named(part, one))).collect()
}

fn compare_part(part: &ExchangedPart) -> Vec<Compared> {
    let value = |fields: &[(String, String)], name: &str| {
        fields.iter().find(|(field, _)| field == name).map(|(_, value)| value.clone()).filter(|value| !value.is_empty())
    };
    let mut names: Vec<&String> = part.before.iter().chain(&part.after).map(|(name, _)| name).collect();
    names.sort();
    names.dedup();
    let fields = names.into_iter().filter_map(|name| {
        let (before, after) = (value(&part.before, name), value(&part.after, name));
        if ["make", "replaced_before", "fitted"].contains(&name.as_str()) || (before.is_none() && after.is_none()) {
            return None;
        }
        let (fits, why) = judge(rule(&part.kinds[1], name), before.as_deref(), after.as_deref());
        Some(Compared { field: name.clone(), before, after, fits, why })
    });
    other_kind(part).into_iter().chain(fields).collect()
}

/// Another kind of part; what closes again by itself never stands in for what stays open.
fn other_kind(part: &ExchangedPart) -> Option<Compared> {
    let [old, new] = &part.kinds;
    if old == new {
        return None;
    }
    let stays_open = |kind: &str| ["thermal-fuse", "manual-reset-cutout"].contains(&kind);
    let (fits, why) = match (old.as_str(), new.as_str()) {
        (old, "thermal-cutout" | "thermostat") if stays_open(old) => {
            (Fits::No, "what has to stay open until somebody looks must not close again by itself")
        }
        ("thermal-cutout" | "thermostat", new) if stays_open(new) => {
            (Fits::Doubtful, "once open it stays open: the unit is dead until somebody resets or replaces it")
        }
        _ => (Fits::Doubtful, "another kind of part: see what is predicted"),
    };
    Some(Compared { field: "kind".into(), before: Some(old.clone()), after: Some(new.clone()), fits, why })
}

fn judge(rule: Option<Rule>, before: Option<&str>, after: Option<&str>) -> (Fits, &'static str) {
    // An insulation class counts by its temperature.
    let figure = |text: &str| text.parse().ok().or_else(|| Some(ThermalClass::named(text).ok()?.celsius()));
    let number = |text: Option<&str>| text.and_then(figure);
    let (is_same, old, new) = (before == after, number(before), number(after));
    if is_same {
        return (Fits::Yes, "the same");
    }
    let Some(rule) = rule else { return (Fits::Doubtful, "differs: see what is predicted") };
    let (Some(old), Some(new)) = (old, new) else {
        return (Fits::Doubtful, "known of one of them only: read the other's plate");
    };
    match rule {
        Rule::Same(why) if old != new => (Fits::No, why),
        Rule::Near(share, why) => match (new / old - 1.0).abs() {
            off if off <= share => (Fits::Yes, "near enough"),
            off if off <= 2.0 * share => (Fits::Doubtful, why),
            _ => (Fits::No, why),
        },
        Rule::AtLeast(share, why) if new < old || new > old * (1.0 + share) => (Fits::No, why),
        Rule::Same(_) | Rule::AtLeast(..) => (Fits::Yes, "as good or better"),
    }
}
