//! The ranking of suspects as text, with the readings that carry it.

use super::words;
use crate::page::Page;
use bench::{PredictError, Unit};
use diagnosis::flows::{Consequences, consequences};
use diagnosis::reading_model::Datum;
use diagnosis::support::supports;
use diagnosis::{Diagnosis, Suspect};
use std::io::{self, Write};

/// Suspects below this probability are not listed one by one.
const LISTED: f64 = 0.005;
/// At most this many suspects are listed.
const LISTED_MOST: usize = 8;

/// A suspect's faults in words: `M2 common-open`, with the size where it has one.
pub fn suspect_words(found: &Diagnosis<'_>, suspect: &Suspect) -> String {
    let unit = &found.evidence.job.unit;
    match &suspect.faults {
        None => "none of the known faults".into(),
        Some(faults) if faults.0.is_empty() => "nothing is wrong".into(),
        Some(faults) => {
            let sizes = found.severities(suspect);
            let mut texts = Vec::new();
            for (position, &fault) in faults.0.iter().enumerate() {
                let mode = &unit.faults()[fault];
                let size = sizes.get(position).copied().flatten().zip(mode.mode.severity.as_ref());
                let size = size.map_or(String::new(), |(size, severity)| {
                    format!(" (about {} {})", words::number(size), severity.words)
                });
                texts.push(format!("{}{size}", mode.label()));
            }
            texts.join(" and ")
        }
    }
}

/// The ranking; the first `detail` suspects with all their readings.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, detail: usize) -> io::Result<()> {
    page.heading("Suspects")?;
    for (rank, suspect) in found.suspects.iter().enumerate() {
        if rank >= LISTED_MOST || (rank > 0 && suspect.probability < LISTED) {
            break;
        }
        show_suspect(page, found, suspect, rank < detail)?;
    }
    show_repairs(page, found)?;
    show_support(page, found)?;
    show_doubts(page, found)
}

fn show_suspect<W: Write>(
    page: &mut Page<W>,
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    detail: bool,
) -> io::Result<()> {
    let job = found.evidence.job;
    page.strong(2, &format!("{:>7} ", words::percent(suspect.probability)), &suspect_words(found, suspect))?;
    if !detail {
        return Ok(());
    }
    if let Some(faults) = &suspect.faults {
        for &fault in &faults.0 {
            let fault = &job.unit.faults()[fault];
            page.text(11, &format!("{}: {}", fault.place_name, fault.mode.words))?;
        }
    }
    page.text(11, &format!("repair: {}", suspect.repair))?;
    if suspect.hidden_share > 0.01 {
        let share = words::percent(suspect.hidden_share);
        page.text(
            11,
            &format!("(with a chance of {share} of a further fault that none of these readings could show)"),
        )?;
    }
    let Some(fit) = &suspect.fit else { return Ok(()) };
    let mut rows = vec![["setup", "where", "predicted", "shown", "off by", ""].map(String::from).to_vec()];
    for ((reading, datum), prediction) in job.readings.iter().zip(&found.evidence.data).zip(&fit.outlook.predictions) {
        let (spread, off, verdict) = deviation(datum, prediction.value);
        rows.push(vec![
            job.setups[reading.setup].name.clone(),
            words::place(&job.unit, reading.measure),
            format!("{}{spread}", words::quantity(reading.measure, prediction.value)),
            words::shown(reading.measure, reading.value),
            off,
            verdict.into(),
        ]);
    }
    page.table(11, "<<>>><", &rows)?;
    match consequences(found, suspect) {
        Ok(what) => show_consequences(page, &job.unit, found, &what),
        Err(PredictError::Network { .. } | PredictError::Measure { .. }) => Ok(()),
    }
}

/// Spread, distance in standard deviations, and a word for it.
pub fn deviation(datum: &Datum, predicted: f64) -> (String, String, &'static str) {
    match *datum {
        Datum::Shown { value, sigma, .. } if predicted.is_finite() => {
            let off = (value - predicted) / sigma;
            let verdict = match off.abs() {
                d if d <= 2.0 => "fits",
                d if d <= 3.0 => "strained",
                _ => "does not fit",
            };
            (format!(" +-{}", words::number(sigma)), format!("{off:+.1} sd"), verdict)
        }
        Datum::Shown { .. } => (String::new(), String::new(), "does not fit"),
        Datum::Open { limit } => {
            (String::new(), String::new(), if predicted > limit { "fits" } else { "does not fit" })
        }
    }
}

fn show_consequences<W: Write>(
    page: &mut Page<W>,
    unit: &Unit,
    found: &Diagnosis<'_>,
    what: &Consequences,
) -> io::Result<()> {
    let setup = |index: usize| &found.evidence.job.setups[index].name;
    let part = |index: usize| &unit.parts()[index].name;
    for fed in what.fed_backwards.iter().take(4) {
        let giver = format!("{}'s {}", part(fed.giver), fed.giver_element);
        let sound = match fed.sound_watts {
            watts if watts < 0.05 => "idle".to_owned(),
            watts => format!("takes {} W", words::number(watts)),
        };
        let watts = words::number(fed.watts);
        let text = match &fed.taker {
            Some((taker, element)) => format!(
                "setup {}: {giver} delivers {watts} W (sound unit: {sound}) into {}'s {element}: {} feeds {} backwards",
                setup(fed.setup),
                part(*taker),
                part(fed.giver),
                part(*taker)
            ),
            None => format!("setup {}: {giver} delivers {watts} W (sound unit: {sound})", setup(fed.setup)),
        };
        page.item(11, "-", &text)?;
    }
    for hot in what.runs_hotter.iter().take(3) {
        let text = format!(
            "setup {}: {} makes {} W of heat instead of {} W",
            setup(hot.setup),
            part(hot.part),
            words::number(hot.heat),
            words::number(hot.sound_heat)
        );
        page.item(11, "-", &text)?;
    }
    for &index in &what.opens_breaker {
        page.item(11, "-", &format!("setup {}: the breaker opens at once", setup(index)))?;
    }
    Ok(())
}

fn show_repairs<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    page.heading("Repairs")?;
    for share in found.repairs.iter().filter(|share| share.probability >= LISTED).take(LISTED_MOST) {
        page.item(2, &format!("{:>7} ", words::percent(share.probability)), &share.repair)?;
    }
    Ok(())
}

fn show_support<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let job = found.evidence.job;
    let list = supports(found);
    if list.is_empty() {
        return Ok(());
    }
    page.heading("What carries the first repair")?;
    let mut rows = vec![["", "reading", "", "speaks for it by", "without it"].map(String::from).to_vec()];
    for support in &list {
        let reading = &job.readings[support.reading];
        let times = support.log_ratio.abs().exp();
        let strength = match support.log_ratio {
            ratio if ratio.abs() < 0.2 => "neither way".to_owned(),
            ratio if ratio > 0.0 => format!("{} times", factor(times)),
            _ => format!("against, {} times", factor(times)),
        };
        rows.push(vec![
            format!("line {}", reading.line),
            format!("{} {}", job.setups[reading.setup].name, words::place(&job.unit, reading.measure)),
            words::shown(reading.measure, reading.value),
            strength,
            words::percent(support.without),
        ]);
    }
    page.table(2, "<<>>>", &rows)?;
    let weakest = list.iter().map(|support| support.without).fold(f64::INFINITY, f64::min);
    let words = if weakest > 0.9 {
        "No single wrong reading would overturn it."
    } else {
        "If a reading with a low figure in the last column was wrong, the verdict falls: take that one again first."
    };
    page.text(2, words)
}

fn factor(times: f64) -> String {
    if times >= 1e4 {
        ">10000".into()
    } else if times >= 10.0 {
        format!("{times:.0}")
    } else {
        format!("{times:.1}")
    }
}

fn show_doubts<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let job = found.evidence.job;
    let questionable = found.questionable_readings();
    if !questionable.is_empty() {
        page.heading("Readings to take again")?;
        for (reading, doubt) in questionable {
            let entry = &job.readings[reading];
            let text = format!(
                "line {}: {} {} in setup {}; probably wrong ({})",
                entry.line,
                words::shown(entry.measure, entry.value),
                words::place(&job.unit, entry.measure),
                job.setups[entry.setup].name,
                words::percent(doubt)
            );
            page.item(2, "-", &text)?;
        }
    }
    if job.readings.is_empty() && job.symptoms.is_empty() {
        page.text(2, "No readings yet: the ranking shows what is common in such a unit, nothing more.")?;
    }
    page.gap()?;
    page.text(2, &format!("Method: {}.", method(found)))?;
    page.text(2, "Probabilities hold for this list of faults and their odds; three faults at once are not looked at.")
}

/// How the ranking came about, in one line.
pub fn method(found: &Diagnosis<'_>) -> String {
    let work = found.work;
    format!(
        "Laplace, exact derivatives; {} single faults, {} pairs of distinguishable faults of which {} fitted, probability left out below {}",
        work.singles,
        work.pairs,
        work.pair_fits,
        words::percent(found.mass_not_enumerated.max(0.001))
    )
}
