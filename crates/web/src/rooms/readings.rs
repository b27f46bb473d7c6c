//! Readings and symptoms taken so far.

use crate::desk::Sheet;
use crate::fields::Fields;
use crate::posted::Posted;
use crate::rooms::entry::{read_line, reading_words, ready_setup, symptom_words};
use crate::rooms::jobs::{View, done_with_undo, entry_pieces};
use crate::trouble::Trouble;
use axum::response::Response;
use bench::job::edit::{Edit, EntryLine, ShownText};
use bench::words;
use diagnosis::checks::Action;
use diagnosis::words::points;
use maud::{Markup, html};

/// The room.
pub fn show(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #readings .card aria-labelledby="readings-title" {
            h2 #readings-title { "Readings taken" }
            @if job.readings.is_empty() && job.symptoms.is_empty() { p { "None yet." } }
            @else {
                div .scroll tabindex="0" role="region" aria-label="Table of readings" {
                    table {
                        thead { tr { th { "Setup" } th { "Shown" } th { "Where" } } }
                        tbody {
                            @for index in (0..job.readings.len()).rev() { (reading_row(view, index)) }
                            @for index in 0..job.symptoms.len() { (symptom_row(view, index)) }
                        }
                    }
                }
            }
        }
    }
}

fn reading_row(view: &View<'_>, index: usize) -> Markup {
    let job = &view.sheet.job;
    let reading = &job.readings[index];
    let was = reading_words(job, &job.readings[index]);
    html! {
        tr {
            td { (job.setups[reading.setup].name) }
            td .figure { (view.visitor.manner.write(&words::shown(reading.measure, reading.value))) }
            td {
                (words::place(&job.unit, reading.measure))
                details #{ "reading-" (index) } {
                    summary aria-label={ "Change reading " (was) } { "Change" }
                    form method="post" action=(view.path("/readings/correct")) data-live {
                        (view.hidden())
                        input type="hidden" name="index" value=(index);
                        input type="hidden" name="was" value=(was);
                        // A round of readings is corrected in the job file.
                        @if reading.round.is_empty() {
                            label { "Shows " input name="value" required size="9" value=(plain_value(view, index)); }
                            button { "Correct" }
                        }
                        button formaction=(view.path("/readings/remove")) { "Remove" }
                    }
                }
            }
        }
    }
}

fn plain_value(view: &View<'_>, index: usize) -> String {
    match view.sheet.job.readings[index].value {
        bench::Value::Open if matches!(view.sheet.job.readings[index].measure, bench::Measure::Microfarads(..)) => {
            "OL".into()
        }
        bench::Value::Open => "open".into(),
        bench::Value::Number(number) => view.visitor.manner.write(&number.to_string()),
    }
}

fn symptom_row(view: &View<'_>, index: usize) -> Markup {
    let job = &view.sheet.job;
    let symptom = &job.symptoms[index];
    html! {
        tr {
            td { (job.setups[symptom.setup].name) }
            td { (symptom.word.as_str().replace('-', " ")) }
            td {
                (job.unit.parts()[symptom.part].name)
                form method="post" action=(view.path("/symptoms/remove")) data-live {
                    (view.hidden())
                    input type="hidden" name="index" value=(index);
                    input type="hidden" name="was" value=(symptom_words(job, index));
                    button .small aria-label={ "Remove " (symptom_words(job, index)) } { "Remove" }
                }
            }
        }
    }
}

/// Someone else has changed what a form is about.
fn moved_on(what: &str, was: &str, is: Option<String>) -> Trouble {
    let now = is.map_or("it is not there any more".to_owned(), |is| format!("now it is: {is}"));
    Trouble::conflict(format!("Someone else has changed this {what} meanwhile. You saw: {was}; {now}."))
        .mend("Look at the list and decide again; nothing was overwritten.")
}

/// The reading that a form is about, if it is still the same.
fn same_reading(sheet: &Sheet, fields: &Fields) -> Result<usize, Trouble> {
    let (index, was) = (fields.index("index")?, fields.text("was"));
    let is = sheet.job.readings.get(index).map(|reading| reading_words(&sheet.job, reading));
    if is.as_deref() == Some(was) { Ok(index) } else { Err(moved_on("reading", was, is)) }
}

/// Makes an edit and answers with the entry room and the list.
async fn edited(posted: Posted, edit: impl Fn(&Sheet) -> Result<Edit, Trouble>) -> Result<Response, Trouble> {
    let sheet = posted.change(edit).await?;
    let view = posted.view(&sheet, None);
    Ok(posted.answer("readings", entry_pieces(&view, done_with_undo(&view))))
}

/// Takes a reading off the list.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    edited(posted, |sheet| Ok(Edit::RemoveReading { index: same_reading(sheet, &fields)? })).await
}

/// Corrects what a reading shows.
pub async fn correct(posted: Posted) -> Result<Response, Trouble> {
    let (app, visitor, fields) = (posted.app.clone(), posted.visitor.clone(), posted.fields.clone());
    let value = fields.needed("value", "what the meter shows")?;
    edited(posted, |sheet| {
        let index = same_reading(sheet, &fields)?;
        let reading = &sheet.job.readings[index];
        if !reading.round.is_empty() {
            return Err(Trouble::refused("A round from bar to bar is corrected in the job file."));
        }
        let setup = &sheet.job.setups[reading.setup].name;
        ready_setup(&app, sheet, &visitor, setup)?;
        let place = points(&sheet.job.unit, Action::Read(reading.measure)).join(" ");
        let unit = if ShownText::parse(value).is_ok() { reading.measure.unit() } else { "" };
        let line = read_line(&sheet.job, reading.setup, &format!("{place} {value} {unit}"))?;
        let EntryLine::Reading { measure, value } = line else {
            return Err(Trouble::refused(format!("'{value}' is no value of a reading.")));
        };
        let meter = (reading.meter > 0).then(|| sheet.job.meters[reading.meter].name.clone());
        Ok(Edit::ReplaceReading { index, setup: setup.clone(), measure, value, meter })
    })
    .await
}

/// Takes a symptom off the list.
pub async fn remove_symptom(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    edited(posted, |sheet| {
        let (index, was) = (fields.index("index")?, fields.text("was"));
        let is = (index < sheet.job.symptoms.len()).then(|| symptom_words(&sheet.job, index));
        if is.as_deref() == Some(was) { Ok(Edit::RemoveSymptom { index }) } else { Err(moved_on("symptom", was, is)) }
    })
    .await
}
