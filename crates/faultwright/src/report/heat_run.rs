//! A heat run as text.

use crate::commands::heatrun::ByResistance;
use crate::page::Page;
use bench::cautions::STANDING;
use proof::heat_run::finding::{ChannelFinding, Finding};
use proof::heat_run::import::Log;
use proof::heat_run::words::{STAY, Scale, cycling_words, figures_words, logged_words, rest_words, verdict_words};
use std::io::{self, Write};

/// The run as a page.
pub fn show<W: Write>(
    page: &mut Page<W>,
    title: &str,
    log: &Log,
    found: Option<&Finding>,
    resistances: &[ByResistance],
) -> io::Result<()> {
    page.heading(&format!("Heat run: {title}"))?;
    page.text(2, &format!("{} rows over {}", log.rows, logged_words(log.seconds / 60.0)))?;
    page.item(2, "!", STAY)?;
    if let Some(found) = found {
        if let Some(room) = found.room_celsius {
            page.text(
                2,
                &match found.is_room_logged {
                    true => format!("room at {room:.1} C"),
                    false => format!("room taken to be at {room:.1} C; it is not in the log"),
                },
            )?;
        }
        if let Some(cycling) = &found.cycling {
            page.item(2, "!", &cycling_words(cycling, Scale::CELSIUS))?;
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
    page.strong(2, ">", &verdict_words(channel, Scale::CELSIUS))?;
    figures_words(channel, Scale::CELSIUS).iter().try_for_each(|line| page.text(2, line))?;
    for rest in rest_words(channel) {
        page.item(4, "-", &rest.words)?;
        rest.caveat.iter().try_for_each(|caveat| page.text(6, caveat))?;
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
            if let Some(words) = entry.words() {
                page.strong(2, ">", &words)?;
            }
            page.text(2, &words)?;
            if let Some(room) = entry.room_celsius {
                let rise = |ohms: f64| entry.metal.rise_kelvin(entry.cold, ohms, room);
                let (low, high) = found.interval(0.95);
                let words = format!(
                    "rise over the room at {room:.1} C: {:.1} K (95 %: {:.1} to {:.1})",
                    rise(found.ohms()),
                    rise(low),
                    rise(high)
                );
                page.text(2, &words)?;
            }
            if let (Some(limit), Some(end)) = (&entry.limit, &entry.end) {
                let margin = limit.celsius - end.correction_kelvin - hot(found.ohms());
                let margin =
                    if margin >= 0.0 { format!("{margin:.1} K to spare") } else { format!("{:.1} K over", -margin) };
                page.text(2, &format!("limit {:.0} C ({}; {}): {margin}", limit.celsius, limit.words, limit.source))?;
            }
            let words =
                format!("carried back from {} readings, the first after {:.0} s", found.readings, found.first_seconds);
            page.text(2, &words)
        }
    }
}
