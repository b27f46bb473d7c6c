//! What a reading should show, for those who ask: never beside the entry unasked, so that nobody is led.

use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::entry::read_line;
use crate::shell;
use crate::trouble::Trouble;
use axum::response::{Html, IntoResponse, Response};
use bench::job::edit::{EntryLine, ReadingPlace};
use bench::wiring::unknown_count;
use bench::{FaultSet, Measure, Unit, words};
use diagnosis::setup_table::{Spread, expected};
use maud::html;

/// Suspects asked besides the sound unit.
const ASKED: usize = 3;

/// What the sound unit would show there, and the first suspects.
pub async fn show(posted: Posted) -> Result<Response, Trouble> {
    let (app, fields) = (&posted.app, &posted.fields);
    let sheet = app.sheet(&posted.id).await?;
    let name = fields.needed("setup", "a setup")?;
    let setup =
        sheet.job.find_setup(name).ok_or_else(|| Trouble::refused(format!("There is no setup '{name}' any more.")))?;
    let from = fields.needed("from", "a terminal, wire or part")?;
    // Any value will do: what is asked for is where it belongs.
    let line = format!("{from} {} 1 {}", fields.text("to"), fields.text("unit"));
    let EntryLine::Reading { measure, .. } = read_line(&sheet.job, setup, &line)? else {
        return Err(Trouble::refused("That is nothing a meter reads."));
    };
    let measure =
        found(&sheet.job.unit, &measure).ok_or_else(|| Trouble::refused("There is no such place to read at."))?;
    let sound = FaultSet::none();
    let medians = vec![0.0; unknown_count(&sheet.job.unit, &sound)];
    let mut rows = vec![("the sound unit".to_owned(), one(&sheet, setup, measure, &sound, &medians)?)];
    if let Some(ranking) = app.weighing.ready(&sheet.revision.job, sheet.revision.number) {
        for suspect in ranking.suspects.iter().take(ASKED) {
            let Some(set) = &suspect.set else { continue };
            if !set.0.is_empty() {
                rows.push((suspect.label.clone(), one(&sheet, setup, measure, set, &suspect.deviations)?));
            }
        }
    }
    let content = html! {
        div #expected .expected role="status" {
            p { "Setup " (name) ", " (words::place(&sheet.job.unit, measure)) ":" }
            ul { @for (who, shows) in &rows { li { (who) " would show " strong { (posted.visitor.manner.write(shows)) } } } }
        }
    };
    if posted.wants_pieces {
        return Ok(Html(content.into_string()).into_response());
    }
    Ok(Html(shell::page("What it should read", Some(&posted.visitor), None, content).into_string()).into_response())
}

/// The measure that a place named in a job file stands for.
fn found(unit: &Unit, place: &ReadingPlace) -> Option<Measure> {
    Some(match place {
        ReadingPlace::Ohms(a, b) => Measure::Ohms(unit.find_terminal(a)?, unit.find_terminal(b)?),
        ReadingPlace::Microfarads(a, b) => Measure::Microfarads(unit.find_terminal(a)?, unit.find_terminal(b)?),
        ReadingPlace::Volts(a, b) => Measure::Volts(unit.find_terminal(a)?, unit.find_terminal(b)?),
        ReadingPlace::Amps(through) => match unit.find_terminal(through) {
            Some(terminal) => Measure::AmpsAtTerminal(terminal),
            None => Measure::AmpsInWire(unit.find_wire(through)?),
        },
        ReadingPlace::Watts(part) => Measure::Watts(unit.find_part(part)?),
        ReadingPlace::Rpm(part) => Measure::Rpm(unit.find_part(part)?),
        ReadingPlace::TouchMilliamps(terminal) => Measure::TouchMilliamps(unit.find_terminal(terminal)?),
        ReadingPlace::LeakageMilliamps(part) => Measure::LeakageMilliamps(unit.find_part(part)?),
        ReadingPlace::RunDown(part) => Measure::RunDown(unit.find_part(part)?),
    })
}

fn one(sheet: &Sheet, setup: usize, measure: Measure, set: &FaultSet, deviations: &[f64]) -> Result<String, Trouble> {
    let Spread { value, spread } = expected(&sheet.job, setup, measure, set, deviations)
        .map_err(|error| Trouble::refused(format!("That cannot be predicted: {error}.")))?;
    Ok(match value {
        None => words::over_range(measure).into(),
        Some(value) => format!("{} +-{}", words::quantity(measure, value), words::number(spread)),
    })
}
