//! A heat run as text.

use crate::commands::heatrun::ByResistance;
use crate::page::Page;
use bench::cautions::STANDING;
use proof::heat_run::finding::{ChannelFinding, Finding};
use proof::heat_run::import::Log;
use proof::heat_run::verdict::{SURE, Verdict};
use proof::heat_run::words::{STAY, cycling_words, time_words, verdict_words};
use std::io::{self, Write};

/// Shares of the rise below this are not worth a line.
const WORTH_SAYING: f64 = 0.05;

/// The run as a page.
pub fn show<W: Write>(
    page: &mut Page<W>,
    title: &str,
    log: &Log,
    found: Option<&Finding>,
    resistances: &[ByResistance],
) -> io::Result<()> {
    page.heading(&format!("Heat run: {title}"))?;
    page.text(2, &format!("{} rows over {}", log.rows, time_words(log.seconds / 60.0)))?;
    page.item(2, "!", STAY)?;
    if let Some(found) = found {
        if let Some(room) = found.room_celsius {
            page.text(2, &format!("room at {room:.1} C"))?;
        }
        if let Some(cycling) = &found.cycling {
            page.item(2, "!", &cycling_words(cycling))?;
        }
        if let Some(row) = found.ends_at {
            page.text(2, &format!("The current stops for good at row {row}; what follows is not judged."))?;
        }
        found.channels.iter().try_for_each(|channel| show_channel(page, channel))?;
        if found.channels.iter().filter(|channel| channel.limit.is_some()).count() > 1 {
            page.heading("All together")?;
            page.strong(2, ">", found.verdict.key())?;
        }
    }
    resistances.iter().try_for_each(|entry| show_resistance(page, entry))?;
    if !log.oddities.is_empty() {
        page.heading("Odd about the log")?;
        log.oddities.iter().try_for_each(|oddity| page.item(2, "-", &oddity.to_string()))?;
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn show_channel<W: Write>(page: &mut Page<W>, channel: &ChannelFinding) -> io::Result<()> {
    page.heading(&channel.name)?;
    let judgement = &channel.judgement;
    page.strong(2, ">", &verdict_words(channel))?;
    let (Some(known), Some(&now)) = (&judgement.forecast, channel.series.celsius.last()) else { return Ok(()) };
    let (low, high) = known.interval(0.95);
    page.text(
        2,
        &format!(
            "now {now:.1} C after {}; going to {:.1} C (95 %: {low:.1} to {high:.1})",
            time_words(judgement.minutes),
            known.final_celsius()
        ),
    )?;
    if let (Some(limit), Some(below)) = (&channel.limit, judgement.probability_below) {
        if judgement.correction_kelvin != 0.0 {
            let words = format!(
                "the limit is meant for a room at {:.0} C: {:+.1} K on what was measured",
                limit.room_celsius.unwrap_or_default(),
                judgement.correction_kelvin
            );
            page.text(2, &words)?;
        }
        let margin = limit.celsius - judgement.correction_kelvin - known.final_celsius();
        let probability = match below {
            _ if below >= SURE => "more than 99.9 %".to_owned(),
            _ if below <= 1.0 - SURE => "less than 0.1 %".to_owned(),
            _ => format!("{:.1} %", 100.0 * below),
        };
        let margin = if margin >= 0.0 { format!("{margin:.1} K to spare") } else { format!("{:.1} K over", -margin) };
        let words = format!(
            "limit {:.0} C ({}; {}): {margin}; it stays below with a probability of {probability}",
            limit.celsius, limit.words, limit.source
        );
        page.text(2, &words)?;
    }
    let (fast, fast_share) = known.fast_minutes(0.5);
    let mut words = format!(
        "main time constant {:.0} minutes ({:.0} to {:.0})",
        known.main_minutes(0.5),
        known.main_minutes(0.05),
        known.main_minutes(0.95)
    );
    if fast_share > WORTH_SAYING {
        words += &format!("; {:.0} % of the rise comes within a few minutes ({fast:.1})", 100.0 * fast_share);
    }
    page.text(2, &words)?;
    let (usual, latest) = (known.minutes_until_within(1.0, 0.5), known.minutes_until_within(1.0, 0.9));
    page.text(
        2,
        &match usual {
            _ if latest < 0.5 => "within 1 K of its end".to_owned(),
            _ if usual < 0.5 => format!("within 1 K of its end now, or within {}", time_words(latest)),
            _ => format!(
                "within 1 K of its end in about {}; nine times in ten within {}",
                time_words(usual),
                time_words(latest)
            ),
        },
    )?;
    for &(rule, is_met, since) in &channel.rules {
        let state = match since {
            Some(minute) if is_met => format!("met since minute {minute:.0}"),
            Some(minute) => format!("was met at minute {minute:.0}, is not now"),
            None => "not met".to_owned(),
        };
        page.item(4, "-", &format!("at rest by '{}' ({}): {state}", rule.words(), rule.source()))?;
        if is_met && judgement.verdict == Verdict::NotYet {
            page.text(6, &format!("that rule leaves out: {}", rule.leaves_out()))?;
        }
    }
    Ok(())
}

fn show_resistance<W: Write>(page: &mut Page<W>, entry: &ByResistance) -> io::Result<()> {
    page.heading(&format!("{}: winding by its resistance", entry.name))?;
    let (ohms, celsius) = entry.cold;
    match &entry.found {
        Err(error) => page.strong(2, ">", &error.to_string()),
        Ok(found) => {
            let hot = |hot: f64| entry.metal.celsius(ohms, celsius, hot);
            let (low, high) = found.interval(0.95);
            let words = format!(
                "{:.1} C at switching off (95 %: {:.1} to {:.1}); {:.4} ohms against {ohms} at {celsius} C, {}",
                hot(found.ohms()),
                hot(low),
                hot(high),
                found.ohms(),
                entry.metal.source()
            );
            page.strong(2, ">", &words)?;
            let words =
                format!("carried back from {} readings, the first after {:.0} s", found.readings, found.first_seconds);
            page.text(2, &words)
        }
    }
}
