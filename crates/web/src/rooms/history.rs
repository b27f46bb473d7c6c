//! Every change of a job, and ways back.

use crate::app::App;
use crate::desk::Edited;
use crate::fields::Fields;
use crate::rooms::jobs::{View, all_pieces, changed, job_id};
use crate::shell::{self, About, token};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::html;

/// All changes, newest first.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let asked = id.clone();
    let entries = app.ask(move |store| store.history(&asked)).await?;
    let path = format!("/jobs/{}", id.as_str());
    let newest = entries.first().map_or(0, |entry| entry.number);
    let content = html! {
        h1 { "History" }
        p { a href=(path) { "Back to the job" } }
        div .scroll tabindex="0" role="region" aria-label="All changes" {
            table {
                thead { tr { th { "Change" } th { "When (UTC)" } th { "Who" } th { "What" } th { "Go back" } } }
                tbody {
                    @for entry in &entries {
                        tr {
                            td { a href={ (path) "/history/" (entry.number) } { (entry.number) } }
                            td { (entry.at.strftime("%Y-%m-%d %H:%M:%S")) }
                            td { (entry.who) }
                            td { (visitor.manner.write(&entry.what)) }
                            td {
                                @if entry.number != newest {
                                    form method="post" action={ (path) "/history/restore" } {
                                        (token(&visitor))
                                        input type="hidden" name="number" value=(entry.number);
                                        button .small aria-label={ "Go back to change " (entry.number) } { "Go back to this" }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    };
    let about = About { path: &path, revision: newest };
    Ok(Html(shell::page("History", Some(&visitor), Some(about), content).into_string()).into_response())
}

/// One revision as text.
pub async fn look(
    State(app): State<App>,
    visitor: Visitor,
    Path((job, number)): Path<(String, i64)>,
) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let asked = id.clone();
    let revision = app.ask(move |store| store.revision(&asked, number)).await?;
    let content = html! {
        h1 { "Change " (number) ": " (revision.what) }
        p { a href={ "/jobs/" (id.as_str()) "/history" } { "Back to the history" } }
        p { (revision.who) ", " (revision.at.strftime("%Y-%m-%d %H:%M:%S")) " UTC" }
        pre .text tabindex="0" { (revision.text) }
    };
    Ok(Html(shell::page("History", Some(&visitor), None, content).into_string()).into_response())
}

/// Makes an old revision the newest again.
pub async fn restore(
    State(app): State<App>,
    visitor: Visitor,
    Path(job): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let number = fields.index("number")? as i64;
    let asked = id.clone();
    let old = app.ask(move |store| store.revision(&asked, number)).await?;
    let back = |_: &_| Ok(Edited { text: old.text.clone(), what: format!("gone back to change {number}") });
    app.change(&id, &visitor, back).await?;
    Ok(Redirect::to(&format!("/jobs/{}", id.as_str())).into_response())
}

/// Takes the last change back, unless someone has made another since.
pub async fn undo(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let number: i64 = fields.text("revision").parse().unwrap_or_default();
    let asked = id.clone();
    let before = app.ask(move |store| store.revision(&asked, number - 1)).await?;
    let sheet = app
        .change(&id, &visitor, |sheet| {
            let newest = &sheet.revision;
            if newest.number != number {
                return Err(Trouble::conflict(format!(
                    "Someone else has made a change since: {} ({}).",
                    newest.what, newest.who
                ))
                .mend("Change the entry in its list instead, or go back in the history."));
            }
            Ok(Edited { text: before.text.clone(), what: format!("undone: {}", newest.what) })
        })
        .await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let notice = shell::done(&format!("Saved: {}.", sheet.revision.what), None);
    Ok(changed(&headers, &view, "entry", all_pieces(&view, notice)))
}
