//! Another part instead: what is written on it is typed, and the page says whether it fits and what it would bring.

use crate::app::App;
use crate::desk::Sheet;
use crate::rooms::closing::{page, pending};
use crate::rooms::jobs::{View, job_id};
use crate::shell;
use crate::trouble::{FRAGMENT, Trouble, sentence};
use crate::visitor::Visitor;
use axum::extract::{Path, Query, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use bench::job::edit::part_fields;
use bench::words;
use diagnosis::words::suspect_words;
use maud::{Markup, html};
use repair::course::HEADINGS;
use repair::options::ROOM_CELSIUS;
use repair::variant::{Substitution, with_exchanges};
use serde::Deserialize;
use std::sync::Arc;

/// What is asked.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    part: String,
    #[serde(default)]
    with: String,
}

/// What is found of a substitute.
pub struct Answer {
    asked: Asked,
    /// Which cause the rest of the repair is for, and how sure that is.
    cause: String,
    words: String,
    fits: Vec<String>,
    remarks: Vec<String>,
    rows: Vec<[String; 5]>,
}

/// The form, with the answer to the last question if there was one.
pub fn section(view: &View<'_>, answer: Option<&Answer>) -> Markup {
    let job = &view.sheet.job;
    let asked = answer.map(|answer| answer.asked.clone()).unwrap_or_default();
    let fields = |part: &str| {
        let fields = part_fields(&view.sheet.revision.text, part).map(|(_, fields)| fields).unwrap_or_default();
        let given = fields.into_iter().filter(|(_, value)| !value.is_empty());
        given.map(|(field, value)| format!("{field}={value}")).collect::<Vec<_>>().join(" ")
    };
    html! {
        section #substitute .card aria-labelledby="substitute-title" {
            h2 #substitute-title { "Another part instead?" }
            p { "Read the plate of the part that you have, and write down what is different about it." }
            form method="get" action=(view.path("/closing/substitute")) data-live autocomplete="off" {
                div .grid {
                    label { "Part "
                        select name="part" { @for part in job.unit.parts() { option selected[part.name == asked.part] { (part.name) } } }
                    }
                    label .wide { "What is different, as field=value "
                        input name="with" required value=(asked.with) autocapitalize="off" spellcheck="false" placeholder="plate.amps=0.6 plate.rpm=1300";
                    }
                }
                button { "Does it fit?" }
            }
            details #part-fields {
                summary { "What is written on the parts now" }
                ul { @for part in job.unit.parts() { li { strong { (part.name) } " " (fields(&part.name)) } } }
            }
            @if let Some(answer) = answer { (view.visitor.manner.write_piece(told(answer))) }
        }
    }
}

fn told(answer: &Answer) -> Markup {
    html! {
        div #substitute-answer .expected {
            h3 { (answer.words) }
            p { (answer.cause) }
            ul { @for line in &answer.fits { li { (line) } } }
            @if answer.remarks.is_empty() { p { "Nothing lost and nothing past its rating in any position." } }
            ul { @for line in &answer.remarks { li { (line) } } }
            div .scroll tabindex="0" role="region" aria-label="What it would do" {
                table {
                    thead { tr { @for heading in HEADINGS { th scope="col" { (heading) } } } }
                    tbody { @for row in &answer.rows { tr { @for cell in row { td { (cell) } } } } }
                }
            }
            p .faint { "Temperatures after three hours from a room of " (ROOM_CELSIUS) " °C; how parts shed heat is known to a quarter. Only a heat run proves them." }
        }
    }
}

/// Says whether a substitute fits and what it would bring.
pub async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let answer = worked_out(&sheet, asked).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    if headers.contains_key(FRAGMENT) {
        return Ok(Html(html! { (shell::no_notice()) (section(&view, Some(&answer))) }.into_string()).into_response());
    }
    Ok(page(&view, pending(&view), section(&view, Some(&answer))))
}

async fn worked_out(sheet: &Arc<Sheet>, asked: Asked) -> Result<Answer, Trouble> {
    let refused = |words: String| Trouble::refused(sentence(&words));
    let substitution: Substitution = format!("{} {}", asked.part, asked.with).parse().map_err(refused)?;
    let sheet = sheet.clone();
    let work = move || -> Result<Answer, Trouble> {
        let text = &sheet.revision.text;
        // What cannot be is said at once, before anything is weighed.
        with_exchanges(text, &substitution).map_err(|error| refused(error.to_string()))?;
        let found = diagnosis::diagnose(&sheet.job).map_err(|error| refused(error.to_string()))?;
        let suspect = record::subject(&found).map_err(|error| refused(error.to_string()))?;
        let option =
            repair::substitute(&found, suspect, text, &substitution).map_err(|error| refused(error.to_string()))?;
        let option =
            option.ok_or_else(|| Trouble::refused("The cause could not be worked out, so nothing can be compared."))?;
        let unit = &sheet.job.unit;
        let (chance, words) = (words::percent(suspect.probability), suspect_words(&found, suspect));
        let open =
            if found.settled().is_none() { " This is not settled yet: find out first, then repair." } else { "" };
        Ok(Answer {
            asked,
            cause: format!("If it is {words} ({chance}), and that is repaired too.{open}"),
            words: option.words.clone(),
            fits: option.compared.iter().map(|compared| compared.words()).collect(),
            remarks: option.remark_lines(unit),
            rows: option.courses.iter().map(|course| course.row(unit)).collect(),
        })
    };
    tokio::task::spawn_blocking(work).await.map_err(|_| Trouble::internal())?
}
