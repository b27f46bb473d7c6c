//! What the shop has learnt from its closed jobs, and whether rankings use it.

use crate::app::App;
use crate::experience::Counted;
use crate::fields::Fields;
use crate::shell::{self, token};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::State;
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::experience::{PRIOR_PARTS, learnt};
use bench::words::number;
use maud::{Markup, html};

/// The page.
pub async fn show(State(app): State<App>, visitor: Visitor) -> Result<Response, Trouble> {
    let counted = app.count_experience().await?;
    let content = html! {
        h1 { "What the shop has learnt" }
        p { a href="/" { "All jobs" } }
        (shell::no_notice())
        (switch(&app, &visitor, &counted))
        (visitor.manner.write_piece(table(&counted)))
    };
    Ok(Html(shell::page("What the shop has learnt", Some(&visitor), None, content).into_string()).into_response())
}

fn switch(app: &App, visitor: &Visitor, counted: &Counted) -> Markup {
    let table = app.experience.table();
    let is_older = table.as_ref().is_some_and(|table| **table != counted.experience);
    let form = |value: &str, words: &str, class: &str| {
        html! {
            form method="post" action="/learnt/use" {
                (token(visitor))
                button class=(class) name="use" value=(value) { (words) }
            }
        }
    };
    html! {
        section #switch .card aria-labelledby="switch-title" {
            h2 #switch-title data-on=(table.is_some()) {
                @if table.is_some() { "In use: rankings go by what the shop has learnt" } @else { "Not in use: rankings go by the listed odds" }
            }
            p { "This holds for everyone at this bench. Beside each suspect stands by how much its odds were moved. A job with a confirmed cause of its own is ranked by the listed odds." }
            @if is_older { p .caution { "The table in use is older than the jobs below. Take it anew to use them too." } }
            div .row {
                @if table.is_some() {
                    @if is_older && !counted.experience.is_empty() { (form("yes", "Take it anew", "main")) }
                    (form("no", "Stop using it", ""))
                } @else if counted.experience.is_empty() {
                    p { "There is nothing to use yet." }
                } @else {
                    (form("yes", "Use what the shop has learnt", "main"))
                }
                @if counted.forgotten > 0 { (form("recall", "Count the forgotten jobs again", "")) }
                @if !counted.experience.is_empty() { (form("forget", "Forget what these jobs taught", "")) }
            }
            p .faint { "Forgetting leaves the jobs as they are: they only do not count any more, and the listed odds hold. It can be taken back." }
        }
    }
}

fn table(counted: &Counted) -> Markup {
    let (never, confirmed): (Vec<_>, Vec<_>) =
        counted.experience.rows().into_iter().partition(|(_, fault, ..)| fault.is_empty());
    let never: Vec<String> =
        never.iter().map(|(kind, _, _, parts)| format!("{parts} × {}", kind.replace('-', " "))).collect();
    html! {
        section #learnt .card aria-labelledby="learnt-title" {
            h2 #learnt-title { "Confirmed causes" }
            p {
                "Closed jobs with a confirmed cause: " (counted.taught) ". Those without one teach nothing: " (counted.silent) ". Forgotten: " (counted.forgotten) ". Jobs put away do not count. \
                 A cause is confirmed by writing it under Closing."
            }
            @if counted.experience.is_empty() {
                p { "Nothing yet." }
            } @else {
                div .scroll tabindex="0" role="region" aria-label="Confirmed causes by kind of part" {
                    table {
                        thead { tr { @for heading in ["fault", "confirmed", "odds listed", "odds learnt"] { th scope="col" { (heading) } } } }
                        tbody {
                            @for (kind, fault, confirmed, parts) in &confirmed {
                                tr {
                                    td { (kind.replace('-', " ")) ": " (fault.replace('-', " ")) }
                                    td .figure { (confirmed) " of " (parts) }
                                    (odds(counted, kind, fault, *confirmed, *parts))
                                }
                            }
                        }
                    }
                }
                @if !never.is_empty() { p { "Seen, and never the cause: " (never.join(", ")) ". Their odds fall with every one seen." } }
                p .faint { "The listed odds count as much as " (PRIOR_PARTS) " parts seen; each closed job adds its own. Odds that differ from unit to unit are given as a range." }
                p { a href="/learnt/experience.csv" download { "Take it home as a table (CSV)" } " for the command line: suspects JOB --experience FILE." }
            }
        }
    }
}

/// Odds of a fault before and after, as cells.
fn odds(counted: &Counted, kind: &str, fault: &str, confirmed: u32, parts: u32) -> Markup {
    let listed = counted.listed.get(&(kind.to_owned(), fault.to_owned())).copied();
    let range = |(low, high): (f64, f64)| {
        let (low, high) = (number(low), number(high));
        if low == high { low } else { format!("{low} to {high}") }
    };
    let moved = listed.map(|(low, high)| (learnt(low, confirmed, parts), learnt(high, confirmed, parts)));
    html! {
        td .figure { @if let Some(listed) = listed { (range(listed)) } }
        td .figure { @if let Some(moved) = moved { (range(moved)) } }
    }
}

/// The table as comma-separated values, as the command `experience` writes it.
pub async fn export(State(app): State<App>, _visitor: Visitor) -> Result<Response, Trouble> {
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"experience.csv\""),
    ];
    Ok((headers, app.count_experience().await?.experience.to_csv()).into_response())
}

/// Has rankings use what was counted, or stop using it; forgets what was learnt, or takes that back.
pub async fn use_or_not(State(app): State<App>, _visitor: Visitor, fields: Fields) -> Result<Response, Trouble> {
    let table = match fields.text("use") {
        "no" => None,
        "yes" => {
            let counted = app.count_experience().await?.experience;
            if counted.is_empty() {
                return Err(Trouble::refused("No closed job has a confirmed cause yet: there is nothing to use.")
                    .mend("Write the cause under Closing of a repaired job."));
            }
            Some(counted)
        }
        "forget" => {
            app.forget_experience().await?;
            return Ok(Redirect::to("/learnt").into_response());
        }
        "recall" => {
            app.recall_experience().await?;
            return Ok(Redirect::to("/learnt").into_response());
        }
        other => return Err(Trouble::refused(format!("'{other}' is neither yes, no, forget nor recall."))),
    };
    app.use_experience(table).await?;
    Ok(Redirect::to("/learnt").into_response())
}
