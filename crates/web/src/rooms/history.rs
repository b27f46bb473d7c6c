//! Every change of a job, and ways back.

use crate::app::App;
use crate::desk::{Edited, Sheet};
use crate::posted::Posted;
use crate::rooms::jobs::{all_pieces, job_id};
use crate::shell::{self, About, token};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, State};
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
                thead { tr { th { "Change" } th { "What" } th { "Go back" } } }
                tbody {
                    @for entry in &entries {
                        tr {
                            td { a href={ (path) "/history/" (entry.number) } { (entry.number) } }
                            td {
                                (visitor.manner.write(&entry.what))
                                br;
                                span .faint { (entry.who) ", " (entry.at.strftime("%Y-%m-%d %H:%M:%S")) " UTC" }
                            }
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
pub async fn restore(posted: Posted) -> Result<Response, Trouble> {
    let number = posted.fields.index("number")? as i64;
    let asked = posted.id.clone();
    let old = posted.app.ask(move |store| store.revision(&asked, number)).await?;
    let back = |_: &Sheet| Ok(Edited { text: old.text.clone(), what: format!("gone back to change {number}") });
    posted.app.change(&posted.id, &posted.visitor, back).await?;
    Ok(Redirect::to(&format!("/jobs/{}", posted.id.as_str())).into_response())
}

/// Takes the last change back, unless someone has made another since.
pub async fn undo(posted: Posted) -> Result<Response, Trouble> {
    let number: i64 = posted.fields.text("revision").parse().unwrap_or_default();
    let asked = posted.id.clone();
    let before = posted.app.ask(move |store| store.revision(&asked, number.saturating_sub(1))).await?;
    let back = |sheet: &Sheet| {
        let newest = &sheet.revision;
        if newest.number != number {
            let since = format!("Someone else has made a change since: {} ({}).", newest.what, newest.who);
            return Err(
                Trouble::conflict(since).mend("Change the entry in its list instead, or go back in the history.")
            );
        }
        Ok(Edited { text: before.text.clone(), what: format!("undone: {}", newest.what) })
    };
    let sheet = posted.app.change(&posted.id, &posted.visitor, back).await?;
    let notice = shell::done(&format!("Saved: {}.", sheet.revision.what), None);
    Ok(posted.answer("entry", all_pieces(&posted.view(&sheet, None), notice)))
}
