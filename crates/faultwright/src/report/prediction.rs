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
    if !table.ohms.is_empty() {
        page.heading("Ohms between terminals of each part, as wired")?;
        let mut rows = vec![heading(&["from", "to", "ohms"])];
        for row in &table.ohms {
            rows.push(vec![unit.terminal_name(row.from), unit.terminal_name(row.to), spread(row.ohms)]);
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
    page.text(2, "+- is one standard deviation from values that are not known exactly (nameplate, tolerances).")?;
    page.text(2, STANDING)
}
