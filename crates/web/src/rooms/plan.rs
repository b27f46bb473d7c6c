//! The plan: the whole way to a settled repair, to be unfolded outcome by outcome.

use crate::app::App;
use crate::plan_view::{PlanView, PointView, StepView};
use crate::rooms::housings;
use crate::rooms::jobs::{View, job_id};
use crate::shell::{self, About};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Response};
use bench::words;
use maud::{Markup, html};
use serde_json::{Value as Figures, json};

/// The page: the plan if it is ready, else the place for it.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let content = match app.planning.ready(&sheet.revision.job, sheet.revision.number) {
        Some(plan) => whole(&view, &plan),
        None => html! {
            div #plan data-load=(view.path("/plan/tree")) {
                section .card { h2 { "Plan" } p { a href=(view.path("/plan/tree")) { "Work out the plan" } } }
            }
        },
    };
    Ok(page(&view, content))
}

/// Works the plan out and shows it.
pub async fn tree(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let fragment = headers.contains_key(FRAGMENT);
    let content = match app.plan(&sheet).await {
        Ok(plan) => whole(&view, &plan),
        Err(trouble) if fragment => html! { div #plan { section .card { h2 { "Plan" } (trouble.notice()) } } },
        Err(trouble) => return Err(trouble),
    };
    if fragment {
        return Ok(Html(content.into_string()).into_response());
    }
    Ok(page(&view, content))
}

/// How far the work is.
pub async fn progress(State(app): State<App>, Path(job): Path<String>) -> Result<Json<Figures>, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let revision = &sheet.revision;
    let (done, planned) = app.planning.progress(&revision.job, revision.number).unwrap_or((0, 0));
    Ok(Json(json!({ "done": done, "planned": planned })))
}

fn page(view: &View<'_>, content: Markup) -> Response {
    let title = &view.sheet.job.unit.name;
    let path = view.path("");
    let content = html! {
        h1 { "Plan for " (title) }
        p { a href=(path) { "Back to the job" } }
        (shell::no_notice())
        (housings::show(view))
        (content)
    };
    let about = About { path: &path, revision: view.sheet.revision.number };
    Html(shell::page(&format!("Plan for {title}"), Some(view.visitor), Some(about), content).into_string())
        .into_response()
}

fn whole(view: &View<'_>, plan: &PlanView) -> Markup {
    view.visitor.manner.write_piece(html! {
        div #plan data-revision=(view.sheet.revision.number) {
            section .card aria-labelledby="plan-title" {
                h2 #plan-title { "Plan" }
                @match &plan.root {
                    None => p { "There is no plan: no suspect could be worked out." },
                    Some(root) => {
                        @for line in &plan.summary { p { (line) } }
                        @if !plan.cautions.is_empty() {
                            p { "For every check that is isolated:" }
                            ul .cautions { @for caution in &plan.cautions { li { (caution) } } }
                        }
                        div .plan { (point(root, "0")) }
                        @if plan.is_cut { p .faint { "Where it says 'and so on' the plan goes further than is shown; ask again from there." } }
                        p .faint { "A forecast: it takes every suspect at its word and no reading for wrong. After each reading the plan is made anew." }
                    }
                }
            }
            @if !plan.sight.is_empty() {
                section .card aria-labelledby="sight-title" {
                    h2 #sight-title { "What can be seen, and what could be" }
                    p { "Smallest fault told from a sound unit, 95 % sure: by the readings taken, and with the best check still available." }
                    ul { @for line in &plan.sight { li { (line) } } }
                }
            }
        }
    })
}

fn point(point: &PointView, place: &str) -> Markup {
    match point {
        PointView::End(words) => html! { p .end { (words) } },
        PointView::Check(step) => check(step, place),
    }
}

fn check(step: &StepView, place: &str) -> Markup {
    html! {
        p { strong { (step.words) } }
        p .faint { "Setup " (step.setup) ", " (step.cost) ", " (step.hazard) "; from here to the end about " (words::whole_minutes(step.minutes)) " minutes." }
        @if !step.cautions.is_empty() { ul .cautions { @for caution in &step.cautions { li { (caution) } } } }
        @for (number, branch) in step.branches.iter().enumerate() {
            details #{ "plan-" (place) "-" (number) } open[place == "0"] {
                summary { "If " strong { (branch.shown) } " (" (words::percent(branch.probability)) ")" }
                (self::point(&branch.then, &format!("{place}-{number}")))
            }
        }
    }
}
