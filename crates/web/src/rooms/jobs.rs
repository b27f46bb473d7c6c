//! The page of one job.

use crate::app::App;
use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::{entry, finding, housings, parts, photos, pictures, readings, setups, wiring};
use crate::shell::{self, About, token};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use std::sync::Arc;
use store::JobId;

/// The job named in an address.
///
/// # Errors
/// If it is no name of a job.
pub fn job_id(text: &str) -> Result<JobId, Trouble> {
    JobId::parse(text).map_err(|_| Trouble::not_found("There is no such job.").mend("Look for it in the list of jobs."))
}

/// A job and who looks at it.
pub struct View<'a> {
    pub app: &'a App,
    pub sheet: &'a Arc<Sheet>,
    pub visitor: &'a Visitor,
    /// Setup that is chosen for the next reading.
    pub setup: Option<usize>,
}

impl View<'_> {
    /// Path of the job, with something behind it.
    pub fn path(&self, rest: &str) -> String {
        format!("/jobs/{}{rest}", self.sheet.revision.job.as_str())
    }

    /// The start of a form that changes the job.
    pub fn hidden(&self) -> Markup {
        html! {
            (token(self.visitor))
            input type="hidden" name="revision" value=(self.sheet.revision.number);
        }
    }
}

/// Where the job stands: saved, and by whom last.
pub fn saved(view: &View<'_>) -> Markup {
    let revision = &view.sheet.revision;
    html! {
        p #saved data-revision=(revision.number) {
            "Saved: change " (revision.number) ", " (revision.what) " (" (revision.who) ")"
        }
    }
}

fn warnings(view: &View<'_>) -> Markup {
    let warnings = &view.sheet.job.warnings.0;
    html! {
        div #warnings {
            @if !warnings.is_empty() {
                details open[warnings.len() < 4] {
                    summary { @if warnings.len() == 1 { "One thing looks wrong" } @else { (warnings.len()) " things look wrong" } }
                    ul { @for warning in warnings { li { (crate::trouble::problem_words(warning)) } } }
                }
            }
        }
    }
}

/// Whole job.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let sheet = match app.sheet(&id).await {
        Ok(sheet) => sheet,
        Err(trouble) => {
            let text = html! { p { a href={ "/jobs/" (id.as_str()) "/text" } { "Look at the job text" } } };
            let more = match &trouble.more {
                Some(more) => html! { (more) (text) },
                None => text,
            };
            return Err(if trouble.status == axum::http::StatusCode::NOT_FOUND { trouble } else { trouble.more(more) });
        }
    };
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let path = view.path("");
    let photos = photos::show(&view).await?;
    let ready = app.weighing.ready(&id, sheet.revision.number);
    let content = html! {
        h1 #title { (sheet.job.unit.name) }
        (saved(&view))
        nav .steps aria-label="Steps of the job" {
            @for (anchor, words) in [
                ("unit", "Unit"), ("wiring", "Wiring"), ("setups", "Setups"), ("entry", "Readings"),
                ("suspects", "Suspects"), ("next", "Next check"), ("why", "Why"), ("levels", "Currents"),
            ] { a href={ "#" (anchor) } { (words) } }
            a href=(view.path("/plan")) { "Plan" }
            @if !sheet.job.runs.is_empty() { a href=(view.path("/runs")) { "Runs" } }
            a href=(view.path("/heat-run")) { "Heat run" }
            a href=(view.path("/safety")) { "Safety" }
            a href=(view.path("/closing")) { "Closing" }
            a href=(view.path("/text")) { "As text" }
            a href=(view.path("/history")) { "History" }
            a href=(view.path("/job.toml")) download { "Export" }
        }
        (shell::no_notice())
        (warnings(&view))
        (parts::show(&view))
        (wiring::show(&view))
        div .job {
            div .write {
                (setups::show(&view))
                (housings::show(&view))
                (entry::show(&view))
                (readings::show(&view))
                (photos)
                (removal(&view))
            }
            div .read { (finding::place(&view)) }
        }
        (pictures::room(&view, ready.as_deref()))
    };
    let about = About { path: &path, revision: sheet.revision.number };
    Ok(Html(shell::page(&sheet.job.unit.name, Some(&visitor), Some(about), content).into_string()).into_response())
}

fn removal(view: &View<'_>) -> Markup {
    html! {
        details .removal {
            summary { "Put this job away" }
            form method="post" action=(view.path("/remove")) {
                (view.hidden())
                p { "It goes off the list of jobs; nothing is destroyed." }
                button { "Put away" }
            }
        }
    }
}

/// Everything that a change may have touched, as pieces.
pub fn all_pieces(view: &View<'_>, notice: Markup) -> Markup {
    html! {
        h1 #title { (view.sheet.job.unit.name) }
        (saved(view))
        (notice)
        (warnings(view))
        (parts::show(view))
        (wiring::show(view))
        (setups::show(view))
        (housings::show(view))
        (entry::show(view))
        (readings::show(view))
    }
}

/// What a new reading touches.
pub fn entry_pieces(view: &View<'_>, notice: Markup) -> Markup {
    html! { (saved(view)) (notice) (warnings(view)) (entry::show(view)) (readings::show(view)) }
}

#[derive(Deserialize)]
pub struct Asked {
    setup: Option<String>,
}

/// The newest pieces, after someone else made a change.
pub async fn pieces(
    State(app): State<App>,
    visitor: Visitor,
    Path(job): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let setup = asked.setup.and_then(|name| sheet.job.find_setup(&name));
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup };
    Ok(Html(all_pieces(&view, shell::no_notice()).into_string()).into_response())
}

/// A notice of what was done, with a button to undo it.
pub fn done_with_undo(view: &View<'_>) -> Markup {
    let revision = &view.sheet.revision;
    let undo = html! {
        form method="post" action=(view.path("/undo")) data-live {
            (view.hidden())
            button { "Undo" }
        }
    };
    shell::done(&format!("Saved: {}.", revision.what), Some(undo))
}

/// The job as a file.
pub async fn export(State(app): State<App>, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let revision = app.ask(move |store| store.head(&id)).await?;
    let name: String = revision
        .title
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' })
        .take(60)
        .collect();
    let name = name.split('-').filter(|word| !word.is_empty()).collect::<Vec<_>>().join("-");
    let name = if name.is_empty() { "job".to_owned() } else { name };
    let headers = [
        (header::CONTENT_TYPE, "application/toml; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.toml\"")),
    ];
    Ok((headers, revision.text).into_response())
}

/// Takes a job off the list.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let id = posted.id;
    posted.app.ask(move |store| store.remove(&id)).await?;
    Ok(Redirect::to("/").into_response())
}

/// Brings a job back to the list.
pub async fn unremove(posted: Posted) -> Result<Response, Trouble> {
    let id = posted.id;
    posted.app.ask(move |store| store.unremove(&id)).await?;
    Ok(Redirect::to("/").into_response())
}
