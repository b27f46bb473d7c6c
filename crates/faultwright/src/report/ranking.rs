//! The ranking of suspects as text, with the readings that carry it.

use crate::page::Page;
use bench::words;
use diagnosis::flows::consequences;
use diagnosis::foresight::{foresight_lines, foresights};
use diagnosis::support::{log_supports, supports};
use diagnosis::words as findings;
use diagnosis::{Diagnosis, Suspect};
use std::io::{self, Write};

/// Suspects below this probability are not listed one by one.
const LISTED: f64 = 0.005;
/// At most this many suspects are listed.
const LISTED_MOST: usize = 8;

/// The ranking; the first `detail` suspects with all their readings; what available checks would see if asked for.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, detail: usize, available: bool) -> io::Result<()> {
    page.heading("Suspects")?;
    for (rank, suspect) in found.suspects.iter().enumerate() {
        if rank >= LISTED_MOST || (rank > 0 && suspect.probability < LISTED) {
            break;
        }
        show_suspect(page, found, suspect, rank < detail)?;
    }
    show_repairs(page, found)?;
    show_needed(page, found)?;
    show_recurrence(page, found)?;
    show_support(page, found)?;
    show_odd_volts(page, found)?;
    if available {
        show_foresight(page, found)?;
    } else if detail > 1 {
        show_unseen(page, found)?;
    }
    show_doubts(page, found)
}

fn show_suspect<W: Write>(
    page: &mut Page<W>,
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    detail: bool,
) -> io::Result<()> {
    let job = found.evidence.job;
    page.strong(2, &format!("{:>7} ", words::percent(suspect.probability)), &findings::suspect_words(found, suspect))?;
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
    let readings = found.evidence.taken.iter().zip(&found.evidence.data).zip(&fit.outlook.predictions);
    for (index, ((reading, datum), prediction)) in readings.enumerate() {
        let (off, _) = findings::deviation(datum, prediction.value);
        rows.push(vec![
            job.setups[reading.setup].name.clone(),
            words::place(&job.unit, reading.measure),
            findings::predicted(reading.measure, &job.meters[reading.meter], datum, prediction.value),
            words::shown(reading.measure, reading.value),
            off,
            findings::fit_word(found, suspect, index).into(),
        ]);
    }
    for channel in findings::channel_lines(found, suspect) {
        let run = &job.runs[job.logs[channel.log].run].name;
        let at = format!("{} at {}", channel.place, channel.at);
        rows.push(vec![run.clone(), at, channel.predicted, channel.logged, channel.off, channel.verdict.into()]);
    }
    // Nothing was read: no heads of columns.
    if rows.len() > 1 {
        page.table(11, "<<>>><", &rows)?;
    }
    for line in findings::log_lines(found, suspect) {
        page.item(11, "-", &line)?;
    }
    match consequences(found, suspect) {
        Ok(what) => {
            for line in findings::consequence_lines(found, &what) {
                page.item(11, "-", &line)?;
            }
            Ok(())
        }
        Err(_) => Ok(()),
    }
}

fn show_repairs<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    page.heading("Repairs")?;
    for share in found.whole_repairs(LISTED).take(LISTED_MOST) {
        page.item(2, &format!("{:>7} ", words::percent(share.probability)), &share.repair)?;
    }
    Ok(())
}

/// What a single repair is needed for, where whole repairs share the probability among them.
fn show_needed<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    if !found.has_several_together(LISTED) {
        return Ok(());
    }
    page.text(2, "Each by itself, alone or with others:")?;
    for share in found.needed.iter().filter(|share| share.probability >= LISTED).take(LISTED_MOST) {
        page.item(2, &format!("{:>7} ", words::percent(share.probability)), &share.repair)?;
    }
    Ok(())
}

fn show_unseen<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let lines = findings::unseen_lines(found);
    if found.evidence.job.readings.is_empty() || lines.is_empty() {
        return Ok(());
    }
    page.heading("What these readings can and cannot see")?;
    page.text(2, "Smallest fault that they would tell from a sound unit, 95 % sure; ohms that look right clear nothing below it.")?;
    for line in &lines {
        page.item(2, "-", line)?;
    }
    Ok(())
}

fn show_foresight<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    page.heading("What can be seen, and what could be")?;
    page.text(2, "Smallest fault told from a sound unit, 95 % sure: by the readings taken, and with the best check still available.")?;
    foresight_lines(found, &foresights(found)).iter().try_for_each(|line| page.item(2, "-", line))
}

fn show_recurrence<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let lines = findings::recurrence_lines(found);
    let Some((first, rest)) = lines.split_first() else { return Ok(()) };
    page.heading("A part that has failed before")?;
    page.text(2, first)?;
    rest.iter().try_for_each(|line| page.item(2, "-", line))
}

fn show_support<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let job = found.evidence.job;
    let (list, logs) = (supports(found), log_supports(found));
    if list.is_empty() && logs.is_empty() {
        return Ok(());
    }
    page.heading("What carries the first repair")?;
    let mut rows = vec![["", "reading", "", "speaks for it by", "without it"].map(String::from).to_vec()];
    for support in &list {
        let reading = &found.evidence.taken[support.reading];
        rows.push(vec![
            format!("line {}", reading.line),
            format!("{} {}", job.setups[reading.setup].name, words::place(&job.unit, reading.measure)),
            words::shown(reading.measure, reading.value),
            findings::strength(support.log_ratio),
            words::percent(support.without),
        ]);
    }
    for support in &logs {
        let log = &job.logs[support.log];
        rows.push(vec![
            format!("line {}", log.line),
            format!("log of run {}", job.runs[log.run].name),
            format!("{} times", log.seconds.len()),
            findings::strength(support.log_ratio),
            words::percent(support.without),
        ]);
    }
    page.table(2, "<<>>>", &rows)?;
    let without = list.iter().map(|support| support.without).chain(logs.iter().map(|support| support.without));
    let weakest = without.fold(f64::INFINITY, f64::min);
    let words = if weakest > 0.9 {
        "No single wrong reading would overturn it."
    } else {
        "If what has a low figure in the last column was wrong, the verdict falls: take that again first."
    };
    page.text(2, words)
}

fn show_odd_volts<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let lines = findings::explanation_lines(found);
    if lines.is_empty() {
        return Ok(());
    }
    page.heading("Volts that look odd, and fit")?;
    lines.iter().try_for_each(|line| page.item(2, "-", line))
}

fn show_doubts<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>) -> io::Result<()> {
    let job = found.evidence.job;
    let questionable = found.questionable_readings();
    if !questionable.is_empty() {
        page.heading("Readings to take again")?;
        for (reading, doubt) in questionable {
            let text = format!(
                "line {}: {}",
                found.evidence.taken[reading].line,
                findings::doubt_words(found, reading, doubt)
            );
            page.item(2, "-", &text)?;
        }
    }
    if job.readings.is_empty() && job.symptoms.is_empty() && job.logs.is_empty() {
        page.text(2, "No readings yet: the ranking shows what is common in such a unit, nothing more.")?;
    }
    page.gap()?;
    page.text(2, &format!("Method: {}.", findings::method(found)))?;
    page.text(2, findings::SCOPE)
}
