//! The unit, its setups and readings, as text.

use crate::page::Page;
use bench::Job;
use bench::heat::quantity_words;
use bench::words;
use std::io::{self, Write};

/// The size of a job in one line.
pub fn one_line(job: &Job) -> String {
    format!(
        "{}: {} parts, {} wires, {} setups, {} readings, {} symptoms",
        job.unit.name,
        job.unit.parts().len() - 1,
        job.unit.wires().len(),
        job.setups.len(),
        job.readings.len(),
        job.symptoms.len()
    )
}

/// The unit, how it was arranged, what was read and noticed.
pub fn show<W: Write>(page: &mut Page<W>, job: &Job) -> io::Result<()> {
    page.heading(&job.unit.name)?;
    if let Some(note) = &job.unit.note {
        page.text(2, note)?;
    }
    let parts = job.unit.parts().iter().filter(|part| part.kind.name() != "frame");
    let rows: Vec<Vec<String>> =
        parts.map(|part| vec![part.name.clone(), part.kind.name().replace('-', " "), part.kind.describe()]).collect();
    page.table(2, "<<<", &rows)?;
    page.heading("Readings")?;
    let mut rows = Vec::new();
    for reading in &job.readings {
        rows.push(vec![
            job.setups[reading.setup].name.clone(),
            words::shown(reading.measure, reading.value),
            words::place(&job.unit, reading.measure),
            format!("line {}", reading.line),
        ]);
    }
    for symptom in &job.symptoms {
        rows.push(vec![
            job.setups[symptom.setup].name.clone(),
            symptom.word.as_str().replace('-', " "),
            job.unit.parts()[symptom.part].name.clone(),
            format!("line {}", symptom.line),
        ]);
    }
    for log in &job.logs {
        let places: Vec<String> =
            log.channels.iter().map(|channel| quantity_words(&job.unit, channel.logged)).collect();
        rows.push(vec![
            format!("run {}", job.runs[log.run].name),
            format!("log, {} times", log.seconds.len()),
            places.join("; "),
            format!("line {}", log.line),
        ]);
    }
    page.table(2, "<><<", &rows)?;
    page.heading("Setups")?;
    for setup in &job.setups {
        page.text(2, &format!("{}: {}", setup.name, words::setup_words(&job.unit, setup)))?;
    }
    for run in &job.runs {
        let steps: Vec<String> = run
            .steps
            .iter()
            .map(|step| format!("{} from {}", job.setups[step.setup].name, words::minutes(step.seconds)))
            .collect();
        page.text(2, &format!("run {}: {}; ends at {}", run.name, steps.join(", "), words::minutes(run.end_seconds)))?;
    }
    Ok(())
}
