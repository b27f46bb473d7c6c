//! The leads file: its types, its reading, and everything that can be wrong with it. docs/leads-file.md explains it.

use crate::arrangements::{FEWEST_LEADS, MOST_LEADS};
use crate::case::{Case, LeadReading, OhmMeter};
use crate::inference::{LeadsError, check};
use crate::known::{Connection, Known, Motor};
use bench::Value;
use bench::job::{
    AccuracyEntry, Collector, Pair, Positive, Problems, Shown, ShownValue, name_mend, nothing_in, text_of,
};
use serde::Deserialize;
use std::ops::Range;
use toml::Spanned;

const SECTIONS: [&str; 5] = ["leads", "known", "meter", "readings", "unit"];
/// More readings than these are no note of one motor: 36 pairs, each a few times.
const MOST_READINGS: usize = 200;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct UnitEntry {
    name: String,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KnownEntry {
    motor: Option<MotorWord>,
    speeds: Option<Spanned<u32>>,
    reversible: Option<bool>,
    connection: Option<Connection>,
    winding_celsius: Option<Spanned<f64>>,
}

/// A kind of motor, or that it is not known.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum MotorWord {
    CapacitorRun,
    SplitPhase,
    Compressor,
    WellPump,
    ThreePhase,
    Unknown,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MeterEntry {
    ohms: Option<AccuracyEntry>,
    ohms_limit: Option<Positive>,
    test_leads_ohms: Option<Spanned<f64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ReadingEntry {
    between: Spanned<Pair<Spanned<String>>>,
    ohms: Spanned<Shown>,
    #[allow(dead_code)]
    note: Option<String>,
}

/// Reads a leads file's bytes; `file` is what to call it.
///
/// # Errors
/// All problems found, if any of them is an error.
pub fn read_bytes(file: &str, bytes: &[u8]) -> Result<(Case, Problems), Problems> {
    let text = text_of(file, bytes)?;
    let whole = text.len();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut problems = Collector::new(file, text, whole - text.len());
    let case = read(&mut problems, text);
    match (case, problems.has_errors()) {
        (Some(case), false) => Ok((case, problems.sorted())),
        _ => Err(problems.sorted()),
    }
}

fn read<'t>(problems: &mut Collector<'t>, text: &'t str) -> Option<Case> {
    let Some(mut document) = problems.document(text) else {
        problems
            .error(0..0, nothing_in(text))
            .expected("a leads file: a list of leads and readings between them")
            .mend("begin with leads = [\"red\", \"blue\", \"black\"]; demos/leads/ holds examples");
        return None;
    };
    problems.unknown_sections(&document, &SECTIONS);
    let unit = document.remove("unit").map(|value| problems.entry::<UnitEntry>(value));
    let known_place = document.get("known").map_or(0..0, |value| value.span());
    let known = match document.remove("known") {
        Some(value) => problems.entry::<KnownEntry>(value)?,
        None => KnownEntry { motor: None, speeds: None, reversible: None, connection: None, winding_celsius: None },
    };
    let meter = document.remove("meter").map(|value| problems.entry::<MeterEntry>(value));
    let leads_place = document.get("leads").map_or(0..0, |value| value.span());
    let Some(leads) = document.remove("leads") else {
        if !problems.has_errors() {
            problems
                .error(0..0, "there is no list of leads")
                .expected("leads = [\"red\", \"blue\", \"black\"]")
                .mend("add the names of all leads at the top of the file: colours, or tags that you tie to them");
        }
        return None;
    };
    let leads = problems.entry::<Vec<Spanned<String>>>(leads)?;
    check_leads(problems, &leads, leads_place.clone());
    let celsius = celsius(problems, &known);
    let meter = ohm_meter(problems, meter.flatten());
    let names: Vec<String> = leads.iter().map(|name| name.get_ref().clone()).collect();
    let mut case = Case {
        name: unit
            .as_ref()
            .and_then(|unit| unit.as_ref())
            .map_or("Motor with unmarked leads".into(), |unit| unit.name.clone()),
        note: unit.flatten().and_then(|unit| unit.note),
        leads: names,
        known: Known {
            motor: known.motor.as_ref().and_then(MotorWord::motor),
            speeds: known.speeds.as_ref().map(|speeds| *speeds.get_ref() as usize),
            reversible: known.reversible,
            connection: known.connection,
        },
        winding_celsius: celsius,
        readings: Vec::new(),
    };
    let readings_place = document.get("readings").map_or(leads_place.clone(), |value| value.span());
    for (entry, place) in problems.array::<ReadingEntry>(document.remove("readings"), "readings", MOST_READINGS) {
        if let Some(reading) = reading(problems, &case, meter, &entry, place) {
            case.readings.push(reading);
        }
    }
    if !problems.has_errors()
        && let Err(error) = check(&case)
    {
        let place = if matches!(error, LeadsError::NoReadings { .. }) { readings_place } else { known_place };
        let words = error.to_string();
        let (message, mend) = words.split_once("; ").unwrap_or((&words, ""));
        problems.error(place, message).mend(mend);
    }
    Some(case)
}

impl MotorWord {
    fn motor(&self) -> Option<Motor> {
        match self {
            MotorWord::CapacitorRun => Some(Motor::CapacitorRun),
            MotorWord::SplitPhase => Some(Motor::SplitPhase),
            MotorWord::Compressor => Some(Motor::Compressor),
            MotorWord::WellPump => Some(Motor::WellPump),
            MotorWord::ThreePhase => Some(Motor::ThreePhase),
            MotorWord::Unknown => None,
        }
    }
}

fn check_leads(problems: &mut Collector<'_>, leads: &[Spanned<String>], place: Range<usize>) {
    let count = leads.len();
    if !(FEWEST_LEADS..=MOST_LEADS).contains(&count) {
        let problem = problems.error(place, format!("{count} leads"));
        let problem = problem.expected(format!("{FEWEST_LEADS} to {MOST_LEADS} leads"));
        if count < FEWEST_LEADS {
            problem.mend("two leads cannot be mixed up; look for more, cut short or tied back");
        } else {
            problem.mend("leave out the earth lead and leads that belong to a heater, a brake or a thermal contact");
        }
    }
    for (index, name) in leads.iter().enumerate() {
        if name.get_ref().trim().is_empty() {
            problems.error(name.span(), "a lead without a name").expected("a name").mend("tie a tag to it: \"A\"");
        } else if leads[..index].iter().any(|other| other.get_ref() == name.get_ref()) {
            let tag = format!("{} 2", name.get_ref());
            problems
                .error(name.span(), format!("two leads are called '{}'", name.get_ref()))
                .expected("each name once")
                .mend(format!("tie a tag to one of them and call it \"{tag}\""));
        }
    }
}

fn celsius(problems: &mut Collector<'_>, known: &KnownEntry) -> f64 {
    let Some(given) = &known.winding_celsius else { return crate::fit::REFERENCE_CELSIUS };
    if !(-50.0..=300.0).contains(given.get_ref()) {
        problems
            .error(given.span(), format!("windings at {} degrees Celsius", given.get_ref()))
            .expected("a temperature from -50 to 300")
            .mend("write degrees Celsius; a motor that stood overnight is at room temperature");
    }
    *given.get_ref()
}

fn ohm_meter(problems: &mut Collector<'_>, entry: Option<MeterEntry>) -> OhmMeter {
    let mut meter = OhmMeter::default();
    let Some(entry) = entry else { return meter };
    if let Some(accuracy) = entry.ohms {
        meter.accuracy = accuracy.into();
    }
    meter.limit = entry.ohms_limit.map_or(meter.limit, |limit| limit.0);
    if let Some(ohms) = entry.test_leads_ohms {
        if !(0.0..=10.0).contains(ohms.get_ref()) {
            problems
                .error(ohms.span(), format!("test leads of {} ohms", ohms.get_ref()))
                .expected("0 to 10 ohms")
                .mend("hold the probes together and write what the meter shows; 0 if it is nulled");
        }
        meter.test_leads_ohms = *ohms.get_ref();
    }
    meter
}

fn reading(
    problems: &mut Collector<'_>,
    case: &Case,
    meter: OhmMeter,
    entry: &ReadingEntry,
    place: Range<usize>,
) -> Option<LeadReading> {
    let Pair(first, second) = entry.between.get_ref();
    let mut find = |name: &Spanned<String>| {
        let found = case.leads.iter().position(|lead| lead == name.get_ref());
        if found.is_none() {
            let problem = problems.error(name.span(), format!("there is no lead '{}'", name.get_ref()));
            problem.expected(format!("one of {}", case.leads.join(", "))).mend = name_mend(name.get_ref(), &case.leads);
        }
        found
    };
    let (a, b) = (find(first), find(second));
    let (a, b) = (a?, b?);
    if a == b {
        problems
            .error(entry.between.span(), format!("from '{0}' to '{0}': a lead to itself", first.get_ref()))
            .expected("two leads")
            .mend("name the other lead; for the test leads held together use test_leads_ohms under [meter]");
        return None;
    }
    let value = match entry.ohms.get_ref().0 {
        ShownValue::Number(ohms) => Value::Number(ohms),
        ShownValue::Open | ShownValue::OverRange => Value::Open,
        ShownValue::Dead => {
            problems
                .error(entry.ohms.span(), "ohms cannot be \"dead\"")
                .expected("a number, or \"open\" for over range")
                .mend("write \"open\" if the meter showed OL");
            return None;
        }
    };
    Some(LeadReading {
        between: (a, b),
        value,
        meter,
        winding_celsius: case.winding_celsius,
        line: problems.line(place.start),
    })
}
