//! The suspects and why: what the readings say, in the order of how sure they make it.

use crate::app::App;
use crate::assessment::{Assessment, SuspectView};
use crate::desk::Sheet;
use crate::rooms::jobs::{View, job_id};
use crate::rooms::pictures::framed;
use crate::rooms::{charts, checks, pictures};
use crate::shell::{self, About};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use bench::words;
use diagnosis::words::SCOPE;
use maud::{Markup, html};
use serde_json::{Value as Figures, json};
use std::sync::Arc;

/// Suspects whose change is told.
const CHANGES: usize = 4;
/// Changes of probability below this are not worth a word.
const WORTH_TELLING: f64 = 0.01;

/// The finding if it is ready, else the place for it.
pub fn place(view: &View<'_>) -> Markup {
    let revision = &view.sheet.revision;
    match view.app.weighing.ready(&revision.job, revision.number) {
        Some(ranking) => finding(view, &ranking, None),
        None => html! {
            div #finding data-load=(view.path("/finding")) {
                section #suspects .card { h2 { "Suspects" } p { a href=(view.path("/finding")) { "Weigh the readings" } } }
                section #next .card { h2 { "Next check" } p .faint { "Follows from the suspects." } }
                section #why .card { h2 { "Why" } p .faint { "Follows from the suspects." } }
            }
        },
    }
}

/// Weighs the readings and shows what they say.
pub async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let fragment = headers.contains_key(FRAGMENT);
    let content = match app.weigh(&sheet).await {
        Ok(ranking) => {
            let before = changes_since(&app, &sheet).await;
            html! { (finding(&view, &ranking, before.as_deref())) (pictures::room(&view, Some(&ranking))) }
        }
        Err(trouble) if fragment => {
            html! { div #finding { section #suspects .card { h2 { "Suspects" } (trouble.notice()) } } }
        }
        Err(trouble) => return Err(trouble),
    };
    if fragment {
        return Ok(Html(content.into_string()).into_response());
    }
    let path = view.path("");
    let about = About { path: &path, revision: sheet.revision.number };
    let content = html! { h1 { (sheet.job.unit.name) } p { a href=(path) { "Back to the job" } } (content) };
    Ok(Html(shell::page(&sheet.job.unit.name, Some(&visitor), Some(about), content).into_string()).into_response())
}

/// How far the weighing is.
pub async fn progress(State(app): State<App>, Path(job): Path<String>) -> Result<Json<Figures>, Trouble> {
    let id = job_id(&job)?;
    let asked = id.clone();
    let head = app.ask(move |store| store.heads(&[asked])).await?;
    let revision = head.first().map_or(0, |(_, revision)| *revision);
    let (done, planned) = app.weighing.progress(&id, revision).unwrap_or((0, 0));
    Ok(Json(json!({ "done": done, "planned": planned })))
}

/// The ranking before the last change, if the unit is still the same one.
async fn changes_since(app: &App, sheet: &Arc<Sheet>) -> Option<Arc<Assessment>> {
    let revision = &sheet.revision;
    let before = app.weighing.ready(&revision.job, revision.number - 1)?;
    let was = app.sheet_at(&revision.job, revision.number - 1).await.ok()?;
    let same = |a: &Sheet, b: &Sheet| {
        let labels = |sheet: &Sheet| sheet.job.unit.faults().iter().map(bench::Fault::label).collect::<Vec<_>>();
        labels(a) == labels(b)
    };
    same(&was, sheet).then_some(before)
}

fn finding(view: &View<'_>, ranking: &Assessment, before: Option<&Assessment>) -> Markup {
    let manner = view.visitor.manner;
    html! {
        div #finding data-revision=(view.sheet.revision.number) {
            (manner.write_piece(suspects(view, ranking, before)))
            (manner.write_piece(checks::show(view, ranking)))
            (manner.write_piece(why(ranking)))
        }
    }
}

fn suspects(view: &View<'_>, ranking: &Assessment, before: Option<&Assessment>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #suspects .card aria-labelledby="suspects-title" {
            h2 #suspects-title { "Suspects" }
            @if job.readings.is_empty() && job.symptoms.is_empty() {
                p { "No readings yet: this is what is common in such a unit, nothing more." }
            }
            @if let Some(moved) = ranking.learnt {
                p #experience { "By " a href="/learnt" { "what the shop has learnt" } ": it moved the odds of " (moved) " faults of this unit. Beside each suspect stands by how much." }
            }
            h3 { "Verdict" }
            ul .verdict { @for line in &ranking.verdict { li { (line) } } }
            @if let Some(before) = before { (what_changed(view, ranking, before)) }
            (framed(&charts::bars(ranking), "suspect-bars", "Suspects as bars"))
            ol .suspects {
                @for (rank, suspect) in ranking.suspects.iter().enumerate() {
                    li { (suspect_entry(suspect, rank)) }
                }
            }
            h3 { "Repairs" }
            ul { @for (repair, probability) in &ranking.repairs { li { (words::percent(*probability)) " " (repair) } } }
            @if let Some((first, rest)) = ranking.recurrence.split_first() {
                h3 { "A part that has failed before" }
                p { (first) }
                ul { @for line in rest { li { (line) } } }
            }
            @if !ranking.needed.is_empty() {
                p { "Each by itself, alone or with others:" }
                ul { @for (repair, probability) in &ranking.needed { li { (words::percent(*probability)) " " (repair) } } }
            }
            @if !ranking.doubts.is_empty() {
                h3 { "Readings to take again" }
                ul { @for doubt in &ranking.doubts { li { (doubt) } } }
            }
            p .faint { (ranking.method) ". " (SCOPE) }
        }
    }
}

fn what_changed(view: &View<'_>, ranking: &Assessment, before: &Assessment) -> Markup {
    let moved = |suspect: &SuspectView| {
        let was = before.probability_of(&suspect.set).unwrap_or(0.0);
        ((suspect.probability - was).abs() >= WORTH_TELLING).then(|| (suspect.label.clone(), was, suspect.probability))
    };
    let mut moves: Vec<_> = ranking.suspects.iter().filter_map(moved).collect();
    let gone = before
        .suspects
        .iter()
        .filter(|was| was.probability >= WORTH_TELLING && ranking.probability_of(&was.set).is_none());
    moves.extend(gone.map(|was| (was.label.clone(), was.probability, 0.0)));
    moves.sort_by(|a, b| (b.2 - b.1).abs().total_cmp(&(a.2 - a.1).abs()));
    let newest = view.sheet.job.readings.len().checked_sub(1);
    let speaks = ranking.support.iter().find(|support| Some(support.reading) == newest);
    html! {
        div .changed role="status" {
            p { strong { "What changed" } " with: " (view.sheet.revision.what) }
            @if moves.is_empty() { p { "The ranking stays as it was." } }
            ul {
                @for (label, was, now) in moves.iter().take(CHANGES) {
                    li { (label) ": " (words::percent(*was)) " → " strong { (words::percent(*now)) } }
                }
            }
            @if let Some(speaks) = speaks {
                p { "The last reading (" (speaks.shown) " " (speaks.place) ") speaks for the first suspect, against its best rival: " (speaks.strength) "." }
            }
        }
    }
}

fn suspect_entry(suspect: &SuspectView, rank: usize) -> Markup {
    html! {
        p { strong { (words::percent(suspect.probability)) " " (suspect.label) } }
        @for odds in &suspect.learnt { p .learnt { "Odds from experience: " (odds) } }
        details #{ "suspect-" (rank) } open[rank == 0] {
            summary { "What it means and how the readings fit" }
            ul { @for fault in &suspect.faults { li { (fault) } } }
            p { "Repair: " (suspect.repair) }
            @if suspect.hidden_share > 0.01 {
                p { "With a chance of " (words::percent(suspect.hidden_share)) " of a further fault that none of these readings could show." }
            }
            @if !suspect.consequences.is_empty() {
                ul { @for line in &suspect.consequences { li { (line) } } }
            }
            @if !suspect.readings.is_empty() {
                div .scroll tabindex="0" role="region" aria-label={ "Readings under " (suspect.label) } {
                    table {
                        thead { tr { th { "Where" } th { "Predicted" } th { "Shown" } th { "Fit" } } }
                        tbody {
                            @for reading in &suspect.readings {
                                tr class=(if reading.verdict == "fits" { "" } else { "strained" }) {
                                    td { (reading.setup) ": " (reading.place) }
                                    td .figure { (reading.predicted) } td .figure { (reading.shown) }
                                    td { (reading.verdict) " " span .faint { (reading.off) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What carries the verdict, and the pictures that explain it.
fn why(ranking: &Assessment) -> Markup {
    let weakest = ranking.support.iter().map(|support| support.without).fold(f64::INFINITY, f64::min);
    html! {
        section #why .card aria-labelledby="why-title" {
            h2 #why-title { "Why" }
            @if !ranking.support.is_empty() {
                h3 { "What carries the first repair" }
                div .scroll tabindex="0" role="region" aria-label="Table of what carries the first repair" {
                    table {
                        thead { tr { th { "Reading" } th { "Shown" } th { "Speaks for it by" } th { "Without it" } } }
                        tbody {
                            @for support in &ranking.support {
                                tr {
                                    td { (support.setup) ", " (support.place) }
                                    td .figure { (support.shown) }
                                    td { (support.strength) }
                                    td .figure { (words::percent(support.without)) }
                                }
                            }
                        }
                    }
                }
                p {
                    @if weakest > 0.9 { "No single wrong reading would overturn it." }
                    @else { "If a reading with a low figure in the last column was wrong, the verdict falls: take that one again first." }
                }
            }
            @if !ranking.odd_volts.is_empty() {
                h3 { "Volts that look odd, and fit" }
                ul { @for line in &ranking.odd_volts { li { (line) } } }
            }
            @if !ranking.unseen.is_empty() {
                details {
                    summary { "What these readings can and cannot see" }
                    p { "Smallest fault that they would tell from a sound unit, 95 % sure; ohms that look right clear nothing below it." }
                    ul { @for line in &ranking.unseen { li { (line) } } }
                }
            }
            @if let Some(first) = ranking.suspects.first().filter(|first| !first.readings.is_empty()) {
                (framed(&charts::fit(first), "fit-chart", "How the readings fit"))
            }
        }
    }
}
