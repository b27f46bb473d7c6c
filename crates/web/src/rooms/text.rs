//! The job as text, with errors at the line while it is being written.

use crate::app::App;
use crate::desk::Edited;
use crate::posted::Posted;
use crate::rooms::jobs::job_id;
use crate::shell::{self, About, token};
use crate::trouble::{Trouble, problem_words};
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::Problems;
use maud::{Markup, html};
use store::JobId;

/// The text and its form.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let asked = id.clone();
    let revision = app.ask(move |store| store.head(&asked)).await?;
    Ok(page(&id, &visitor, &revision.text, revision.number, html! {}).into_response())
}

fn page(id: &JobId, visitor: &Visitor, text: &str, base: i64, notice: Markup) -> Html<String> {
    let path = format!("/jobs/{}", id.as_str());
    let content = html! {
        h1 { "The job as text" }
        p { a href=(path) { "Back to the job" } }
        (notice)
        form method="post" action={ (path) "/text" } #text-form {
            (token(visitor))
            input type="hidden" name="base" value=(base);
            textarea name="text" #job-text rows="32" spellcheck="false" autocapitalize="off" aria-label="Job text"
                data-check={ (path) "/text/check" } { "\n" (text) }
            (problem_list(&problems_of(text)))
            button .main { "Save" }
        }
    };
    let about = About { path: &path, revision: base };
    Html(shell::page("The job as text", Some(visitor), Some(about), content).into_string())
}

fn problems_of(text: &str) -> Problems {
    match bench::job::read_bytes("job text", text.as_bytes()) {
        Ok(job) => job.warnings,
        Err(problems) => problems,
    }
}

fn problem_list(problems: &Problems) -> Markup {
    html! {
        div #problems role="status" {
            @if problems.0.is_empty() { p { "Nothing wrong with it." } }
            ul {
                @for problem in problems.0.iter().take(40) {
                    li class=(if problem.severity == bench::job::Severity::Error { "error" } else { "warning" }) {
                        button type="button" .link data-line=(problem.line) data-column=(problem.column) { (problem_words(problem)) }
                    }
                }
            }
        }
    }
}

/// A form sends line ends as CR LF; a job text keeps those it had.
fn with_line_ends_of(sent: &str, old: &str) -> String {
    let plain = sent.replace("\r\n", "\n");
    if old.contains("\r\n") { plain.replace('\n', "\r\n") } else { plain }
}

/// What is wrong with a text, without saving it.
pub async fn check(posted: Posted) -> Html<String> {
    let text = posted.fields.raw("text").unwrap_or_default().replace("\r\n", "\n");
    Html(problem_list(&problems_of(&text)).into_string())
}

/// Saves the text unless someone else has changed the job since it was opened.
pub async fn save(posted: Posted) -> Result<Response, Trouble> {
    let Posted { app, visitor, id, fields, wants_pieces } = posted;
    let sent = fields.raw("text").unwrap_or_default();
    let base: i64 = fields.text("base").parse().unwrap_or_default();
    let asked = id.clone();
    let head = app.ask(move |store| store.head(&asked)).await?;
    let text = with_line_ends_of(sent, &head.text);
    let saved = app
        .change(&id, &visitor, |sheet| {
            if sheet.revision.number != base {
                return Err(Trouble::conflict("meanwhile"));
            }
            Ok(Edited { text: text.clone(), what: "text edited".into() })
        })
        .await;
    match saved {
        Ok(_) => Ok(Redirect::to(&format!("/jobs/{}", id.as_str())).into_response()),
        Err(trouble) if wants_pieces => Err(trouble),
        Err(trouble) if trouble.status == StatusCode::CONFLICT => {
            let notice = html! {
                div #notice .trouble role="alert" {
                    p { strong { "Someone else has changed this job meanwhile; nothing was overwritten." } }
                    p { "Last change: " (head.what) " (" (head.who) "). Below is your text. Take over what is missing from theirs, or save yours over it: theirs stays in the history." }
                    details { summary { "Their text" } pre { (head.text) } }
                }
            };
            Ok((StatusCode::CONFLICT, page(&id, &visitor, &text, head.number, notice)).into_response())
        }
        Err(trouble) if trouble.status == StatusCode::UNPROCESSABLE_ENTITY => {
            let notice = html! { div #notice .trouble role="alert" { p { strong { "Not saved: mend what is listed below the text." } } } };
            Ok((trouble.status, page(&id, &visitor, &text, base, notice)).into_response())
        }
        Err(trouble) => Err(trouble),
    }
}
