//! The prediction of a setup as text.

use crate::page::Page;
use bench::cautions::{STANDING, cautions};
use bench::heat::words::trip_words;
use bench::words;
use bench::{FaultSet, Job, Unit};
use diagnosis::setup_table::{SetupTable, Spread};
use machine::Motion;
use std::io::{self, Write};

fn spread(spread: Spread) -> String {
    match spread.value {
        Some(value) => format!("{} +-{}", words::number(value), words::number(spread.spread)),
        None => "open".into(),
    }
}

/// Ohms, above a megohm in megohms to three figures: what is known of insulation is no better.
fn ohms(spread_of: Spread) -> String {
    let figures = |value: f64| match value {
        value if value < 9.995 => format!("{value:.2}"),
        value if value < 99.95 => format!("{value:.1}"),
        value => format!("{value:.0}"),
    };
    match spread_of.value {
        Some(value) if value >= 1e6 => format!("{} +-{} Mohm", figures(value / 1e6), figures(spread_of.spread / 1e6)),
        _ => spread(spread_of),
    }
}

/// What a motor does, in words.
pub fn motion_words(motion: Motion) -> &'static str {
    match motion {
        Motion::Running => "runs",
        Motion::AtRest => "stands still",
        Motion::Kept => "held",
    }
}

/// What is put in.
pub fn show_faults<W: Write>(page: &mut Page<W>, unit: &Unit, faults: &FaultSet, deviations: &[f64]) -> io::Result<()> {
    if faults.0.is_empty() {
        page.text(2, "healthy")?;
    }
    for (position, &fault) in faults.0.iter().enumerate() {
        let mode = &unit.faults()[fault];
        let unknown = bench::wiring::severity_unknown(unit, faults, position);
        let size = unknown.zip(mode.mode.severity.as_ref()).map_or(String::new(), |(unknown, severity)| {
            format!(", {} {}", words::number(severity.value(deviations[unknown])), severity.words)
        });
        page.text(2, &format!("with {}: {}{size}", mode.label(), mode.mode.words))?;
    }
    Ok(())
}

/// The table of a setup.
pub fn show<W: Write>(
    page: &mut Page<W>,
    job: &Job,
    setup: usize,
    faults: &FaultSet,
    deviations: &[f64],
    table: &SetupTable,
) -> io::Result<()> {
    let unit = &job.unit;
    let arrangement = &job.setups[setup];
    page.heading(&format!("{}: setup {}", unit.name, arrangement.name))?;
    page.text(2, &words::setup_words(unit, arrangement))?;
    show_faults(page, unit, faults, deviations)?;
    for caution in cautions(unit, arrangement) {
        page.item(2, "!", &caution)?;
    }
    if let Some(cut_off) = words::cut_off(table.breaker_opened, table.residual_trip_opened) {
        page.strong(2, "!", &words::sentence(&format!("{cut_off}; what follows is the unit cut off")))?;
    }
    for words in &table.moved {
        page.text(2, words)?;
    }
    for trip in &table.trips {
        page.strong(2, "!", &format!("{}.", trip_words(unit, trip)))?;
    }
    for &(part, times) in &table.saturated {
        page.strong(2, "!", &words::sentence(&words::saturated(&unit.parts()[part].name, times)))?;
    }
    if let Some(part) = table.chattering {
        let name = &unit.parts()[part].name;
        page.strong(2, "!", &format!("A contact of {name} chatters; what follows is one moment of it."))?;
    } else if !table.settled {
        page.strong(2, "!", "The speeds did not settle; figures of running motors are not to be relied on.")?;
    }
    let heading = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<String>>();
    if !table.motors.is_empty() {
        page.heading("Motors")?;
        let mut rows = vec![heading(&["", "", "rpm", "torque N m"])];
        for motor in &table.motors {
            let name = unit.parts()[motor.part].name.clone();
            rows.push(vec![name, motion_words(motor.motion).into(), spread(motor.rpm), spread(motor.torque)]);
        }
        page.table(2, "<<>>", &rows)?;
    }
    if !table.terminals.is_empty() {
        page.heading("At the terminals")?;
        let mut rows = vec![heading(&["terminal", "volts to neutral", "amps"])];
        for row in &table.terminals {
            let amps = row.amps.map_or("wires off".into(), spread);
            rows.push(vec![unit.terminal_name(row.terminal), spread(row.volts), amps]);
        }
        page.table(2, "<>>", &rows)?;
    }
    if !table.elements.is_empty() {
        page.heading("In the parts")?;
        let mut rows = vec![heading(&["part", "element", "volts across", "amps", "watts taken"])];
        for row in &table.elements {
            let place = unit.place_name(row.place).to_owned();
            rows.push(vec![place, row.label.clone(), spread(row.volts), spread(row.amps), spread(row.watts)]);
        }
        page.table(2, "<<>>>", &rows)?;
    }
    if let Some(frame) = table.frame {
        page.heading("The frame")?;
        let cells = [frame.volts, frame.touch_milliamps, frame.leakage_milliamps].map(spread);
        let rows = vec![heading(&["volts to earth", "touch mA", "leakage mA"]), cells.to_vec()];
        page.table(2, "<>>", &rows)?;
    }
    if !table.ohms.is_empty() {
        page.heading("Ohms between terminals of each part, as wired")?;
        let mut rows = vec![heading(&["from", "to", "ohms"])];
        for row in &table.ohms {
            rows.push(vec![unit.terminal_name(row.from), unit.terminal_name(row.to), ohms(row.ohms)]);
        }
        page.table(2, "<<>", &rows)?;
    }
    if !table.capacitances.is_empty() {
        page.heading("Capacitors that are off their wires")?;
        let mut rows = vec![heading(&["part", "microfarads"])];
        for row in &table.capacitances {
            let shown = row.microfarads.value.map_or("over range".into(), |_| spread(row.microfarads));
            rows.push(vec![unit.parts()[row.part].name.clone(), shown]);
        }
        page.table(2, "<>", &rows)?;
    }
    page.gap()?;
    if arrangement.energised && unit.parts().iter().any(|part| part.kind.passes_half_waves()) {
        let meter = "Amps and volts at the terminals are what a meter on a.c. shows behind a half-wave diode: nearly all leave direct current out.";
        page.text(2, &format!("{meter} Those in the parts are the whole, which is what heats."))?;
    }
    page.text(2, "+- is one standard deviation from values that are not known exactly (nameplate, tolerances).")?;
    page.text(2, STANDING)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ohms_of_insulation_have_three_figures() {
        let row = |value: f64, spread: f64| ohms(Spread { value: Some(value), spread });
        assert_eq!(row(33_333_341.0, 35_901_103.0), "33.3 +-35.9 Mohm");
        assert_eq!(row(2_000_000.0, 150_000.0), "2.00 +-0.15 Mohm");
        assert_eq!(row(250e6, 120e6), "250 +-120 Mohm");
        assert_eq!(row(27.1, 0.5), "27.10 +-0.500");
        assert_eq!(ohms(Spread { value: None, spread: 0.0 }), "open");
    }
}
