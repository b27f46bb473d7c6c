//! How a reading that is probably wrong may have come about.
//!
//! A slip has a shape: a decimal place, a range not seen, two figures in each other's line, a probe on the neighbouring
//! terminal, a switch in another position. If one of them makes the leading suspect's prediction out of what was written
//! down, it is worth saying. What is said is a guess at the slip, never evidence: the reading is to be taken again.

use crate::neighbours::neighbours;
use crate::slips::Way;
use crate::suspects::Diagnosis;
use bench::{Measure, TerminalId, Value, observe_values, words};

/// A slip that would explain a reading.
#[derive(Debug, Clone, PartialEq)]
pub enum Misreading {
    /// The decimal point, or the prefix of the unit: shown is this many times what it should be.
    Factor(f64),
    /// The figures of this and another reading, by index, stand in each other's line.
    Exchanged(usize),
    /// The probes were there instead.
    OtherPlace(Measure),
    /// Two terminals of a part are taken for each other, in all readings that this touches.
    TerminalsExchanged(TerminalId, TerminalId),
    /// Nothing shown where something is.
    Nothing,
    /// The unit was in another setup, by index.
    OtherSetup(usize),
    /// Open where there is a path: probes without contact, or a range that is too low.
    NoContact,
    /// Over range across a capacitor that is not shorted: probes that touched, or a charge left in it.
    Charged,
    /// A figure where there is no path: fingers on the probes, or a path that nobody knows of.
    StrayPath,
}

/// Within this many standard deviations a slip makes the figure that was expected.
const NEAR: f64 = 3.0;
/// Factors by which a figure slips.
const FACTORS: [f64; 6] = [10.0, 0.1, 1000.0, 0.001, 100.0, 0.01];
/// Resistance of a person from hand to hand, ohms, dry (IEC 60479-1: some kilohms at mains volts, far more at the few
/// volts of a meter; from memory).
const FINGERS: std::ops::Range<f64> = 5e4..5e6;

/// Slips that would make what was shown out of what the leading suspect predicts, the plainest first.
pub fn misreadings(found: &Diagnosis<'_>, reading: usize) -> Vec<Misreading> {
    let Some(fit) = found.suspects.iter().find_map(|suspect| suspect.fit.as_ref()) else { return Vec::new() };
    let (job, taken) = (found.evidence.job, &found.evidence.taken);
    let entry = &taken[reading];
    let predicted = |index: usize| fit.outlook.predictions[index].value;
    let expected = predicted(reading);
    let shown = match entry.value {
        Value::Open if expected.is_finite() => {
            let is_capacitance = matches!(entry.measure, Measure::Microfarads(..));
            return vec![if is_capacitance { Misreading::Charged } else { Misreading::NoContact }];
        }
        Value::Open => return Vec::new(),
        Value::Number(_) if !expected.is_finite() => return vec![Misreading::StrayPath],
        Value::Number(shown) => shown,
    };
    let near = |value: f64, index: usize, truth: f64| {
        let other = &taken[index];
        let sigma = crate::reading_model::sigma(other.measure, &job.meters[other.meter], value);
        (value - truth).abs() <= NEAR * sigma
    };
    let mut list: Vec<Misreading> = weighed_slips(found, reading).collect();
    list.extend(FACTORS.into_iter().filter(|factor| near(shown / factor, reading, expected)).map(Misreading::Factor));
    for (other, _) in found.questionable_readings() {
        let same_kind = taken[other].measure.unit() == entry.measure.unit() && other != reading;
        if let (true, Value::Number(figure)) = (same_kind, taken[other].value)
            && near(shown, other, predicted(other))
            && near(figure, reading, expected)
            && !list.contains(&Misreading::Exchanged(other))
        {
            list.push(Misreading::Exchanged(other));
        }
    }
    if shown == 0.0 && expected > 0.0 && !near(shown, reading, expected) {
        list.push(Misreading::Nothing);
    }
    let ask = |setup: usize, measure: Measure| {
        let meter = &job.meters[entry.meter];
        observe_values(&job.unit, &job.setups[setup], &fit.faults, &fit.deviations, |seen| seen.value(measure, meter))
            .ok()?
            .ok()
    };
    let fits = |measure: &Measure| ask(entry.setup, *measure).is_some_and(|value| near(shown, reading, value));
    list.extend(neighbours(&job.unit, entry.measure).into_iter().filter(fits).take(1).map(Misreading::OtherPlace));
    let energised = job.setups[entry.setup].energised;
    let setups =
        (0..job.setups.len()).filter(|&setup| setup != entry.setup && job.setups[setup].energised == energised);
    let fits = |setup: &usize| ask(*setup, entry.measure).is_some_and(|value| near(shown, reading, value));
    list.extend(setups.filter(fits).take(1).map(Misreading::OtherSetup));
    list
}

/// Slips that touch several readings, this one among them, by what was weighed of them.
fn weighed_slips<'d>(found: &'d Diagnosis<'_>, reading: usize) -> impl Iterator<Item = Misreading> + 'd {
    let here = found.likely_slips().into_iter().filter(move |slip| slip.touched.contains(&reading));
    here.flat_map(|slip| &slip.ways).filter_map(move |(way, _)| match *way {
        Way::Names { a, b, .. } => Some(Misreading::TerminalsExchanged(a, b)),
        Way::Lines(a, b) if a == reading => Some(Misreading::Exchanged(b)),
        Way::Lines(a, b) if b == reading => Some(Misreading::Exchanged(a)),
        Way::Lines(..) => None,
    })
}

/// A slip in words, to follow the reading that it explains.
pub fn misreading_words(found: &Diagnosis<'_>, reading: usize, slip: &Misreading) -> String {
    let (job, taken) = (found.evidence.job, &found.evidence.taken);
    let entry = &taken[reading];
    match slip {
        Misreading::Factor(factor) => {
            let expected = match entry.value {
                Value::Number(shown) => words::quantity(entry.measure, shown / factor),
                Value::Open => String::new(),
            };
            let slip = match (prefixes(entry.measure), *factor >= 1e3 || *factor <= 1e-3) {
                (Some(prefixes), true) => {
                    format!("{prefixes}, or the meter left on another range")
                }
                _ => "a slip of the decimal point or of the range".to_owned(),
            };
            format!("{expected} would fit: {slip}")
        }
        Misreading::Exchanged(other) => {
            format!("it would fit if this figure and that of line {} were exchanged", taken[*other].line)
        }
        Misreading::OtherPlace(measure) => format!("it is what {} should show", words::place(&job.unit, *measure)),
        Misreading::TerminalsExchanged(a, b) => format!(
            "all readings there fit if {} and {} were taken for each other",
            job.unit.terminal_name(*a),
            job.unit.terminal_name(*b)
        ),
        Misreading::Nothing => nothing_words(entry.measure).to_owned(),
        Misreading::OtherSetup(setup) => format!("it is what setup {} should show", job.setups[*setup].name),
        Misreading::NoContact => {
            "there should be a path: probes without contact, or a range that is too low?".to_owned()
        }
        Misreading::Charged => {
            "it should show a figure: probes that touched each other, or a charge that was left in it?".to_owned()
        }
        Misreading::StrayPath if matches!(entry.measure, Measure::Microfarads(..)) => {
            "it should be over range: was it read across another capacitor?".to_owned()
        }
        Misreading::StrayPath => match entry.value {
            Value::Number(ohms) if FINGERS.contains(&ohms) && matches!(entry.measure, Measure::Ohms(..)) => {
                "there should be no path: fingers on the probes, or damp?".to_owned()
            }
            _ => "there should be no path: was something else still connected?".to_owned(),
        },
    }
}

/// Prefixes of a unit that a factor of a thousand mixes up.
fn prefixes(measure: Measure) -> Option<&'static str> {
    match measure {
        Measure::Ohms(..) => Some("ohms, kilohms and megohms taken for each other"),
        Measure::Volts(..) => Some("millivolts and volts taken for each other"),
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => Some("milliamperes and amperes taken for each other"),
        Measure::Microfarads(..) => Some("nanofarads taken for microfarads, or the other way round"),
        Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => {
            Some("microamperes, milliamperes and amperes taken for each other")
        }
        _ => None,
    }
}

/// What shows nothing where something is (common practice, no source).
fn nothing_words(measure: Measure) -> &'static str {
    match measure {
        Measure::Volts(..) => "there should be volts: a meter left on direct volts, or probes without contact?",
        Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => {
            "a current should flow: a clamp around both conductors at once, or left on direct amps?"
        }
        Measure::Ohms(..) => "there should be ohms: probes that touched each other?",
        Measure::Microfarads(..) => "there should be a capacitance: probes without contact?",
        _ => "it should not be zero: was the meter on, and on its range?",
    }
}
