//! Whether another part may stand in for one, by what is written on both.
//!
//! Tolerances are common practice, no source, unless said otherwise.

use crate::variant::Exchanged;
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
        "amps" if kind == "fuse" || kind == "thermal-fuse" => {
            Rule::Same("a fuse is replaced by one of the same amps, never a larger one")
        }
        "amps" => Rule::Near(0.1, "more current warms the wiring, less may mean a weaker motor"),
        "watts" => Rule::Near(0.05, "more watts overload switch, cord and neighbours, fewer do not do the work"),
        "microfarads" => Rule::Near(0.06, "another value turns the field unevenly: noise, heat, weak start"),
        "opens_celsius" => Rule::Near(0.03, "opening later it does not protect, opening sooner it stops the unit"),
        "insulation_class" => {
            Rule::AtLeast(f64::INFINITY, "a winding of a lower class bears less heat and ages sooner")
        }
        "class" => Rule::Same("a class that trips later does not protect the motor"),
        _ => return None,
    })
}

/// Every field in which two parts differ or that a rule speaks of.
pub fn compare(exchanged: &Exchanged) -> Vec<Compared> {
    let value = |fields: &[(String, String)], name: &str| {
        fields.iter().find(|(field, _)| field == name).map(|(_, value)| value.clone()).filter(|value| !value.is_empty())
    };
    let mut names: Vec<&String> = exchanged.before.iter().chain(&exchanged.after).map(|(name, _)| name).collect();
    names.sort();
    names.dedup();
    names
        .into_iter()
        .filter_map(|name| {
            let (before, after) = (value(&exchanged.before, name), value(&exchanged.after, name));
            if name == "make" || name == "replaced_before" || (before.is_none() && after.is_none()) {
                return None;
            }
            let (fits, why) = judge(rule(&exchanged.kind, name), before.as_deref(), after.as_deref());
            Some(Compared { field: name.clone(), before, after, fits, why })
        })
        .collect()
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
