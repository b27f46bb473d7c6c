//! The next check: the one that tells most for the least time and danger.

use crate::app::App;
use crate::assessment::{Assessment, CheckView};
use crate::fields::Fields;
use crate::rooms::entry::apply_edit;
use crate::rooms::jobs::{View, all_pieces, changed, done_with_undo, job_id};
use crate::shell;
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use bench::job::edit::Edit;
use bench::{Setup, Unit, words};
use maud::{Markup, html};

/// The room.
pub fn show(view: &View<'_>, ranking: &Assessment) -> Markup {
    html! {
        section #next .card aria-labelledby="next-title" {
            h2 #next-title { "Next check" }
            @match (&ranking.settled, ranking.checks.is_empty()) {
                (Some(repair), false) => p { strong { "Finding is done: " (repair) "." } " What follows would only confirm it." },
                (Some(repair), true) => p { strong { "Finding is done: " (repair) "." } " No further check would tell more; prove the repair." },
                (None, true) => p { "No check on this list would tell the remaining suspects apart." },
                (None, false) => {}
            }
            @for (rank, check) in ranking.checks.iter().enumerate() {
                @if rank == 0 { (one(view, check, rank)) }
                @else { details #{ "check-" (rank) } { summary { "Or: " (check.words) } (one(view, check, rank)) } }
            }
        }
    }
}

fn one(view: &View<'_>, check: &CheckView, rank: usize) -> Markup {
    let manner = view.visitor.manner;
    let known =
        view.sheet.job.find_setup(&check.setup.name).is_some_and(|index| view.sheet.job.setups[index] == check.setup);
    html! {
        div .check {
            p { strong { (check.words) } }
            p {
                "Setup " (check.setup.name) ": " (check.setup_words) ". "
                span .faint { "Tells " (manner.write(&words::number(check.bits))) " bits, about " (manner.write(&words::number(check.minutes))) " minutes, " (check.hazard.words()) "." }
            }
            ul .cautions { @for caution in &check.cautions { li { (caution) } } }
            ul .outcomes {
                @for outcome in &check.outcomes {
                    li {
                        "If " strong { (manner.write(&outcome.shown)) } " (" (words::percent(outcome.probability)) " likely): " (outcome.repair.0) " (" (words::percent(outcome.repair.1)) "); leaves "
                        @for (index, (label, probability)) in outcome.leaves.iter().enumerate() {
                            @if index > 0 { "; " }
                            (manner.write(label)) " " (words::percent(*probability))
                        }
                    }
                }
            }
            @if known && !check.points.is_empty() {
                button type="button" .main data-fill-entry data-setup=(check.setup.name)
                    data-from=(check.points[0]) data-to=[check.points.get(1)] { "Take this reading" }
            } @else if !known {
                form method="post" action=(view.path("/checks/setup")) data-live {
                    (view.hidden())
                    input type="hidden" name="rank" value=(rank);
                    button { "Add setup " (check.setup.name) " to the job" }
                }
            }
        }
    }
}

/// Adds the setup of a proposed check to the job.
pub async fn make_setup(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    fields: Fields,
) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let rank = fields.index("rank")?;
    let revision: i64 = fields.text("revision").parse().unwrap_or_default();
    let ranking = app.weighing.ready(&id, revision);
    let Some(check) = ranking.as_ref().and_then(|ranking| ranking.checks.get(rank)) else {
        return Err(
            Trouble::new(StatusCode::GONE, "That proposal is out of date.").mend("Reload to see the present ones.")
        );
    };
    let seen = app.sheet_at(&id, revision).await?;
    let edit = setup_edit(&seen.job.unit, &check.setup);
    let name = check.setup.name.clone();
    let sheet = app.change(&id, &visitor, |sheet| apply_edit(sheet, &edit)).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: sheet.job.find_setup(&name) };
    let notice = html! { (done_with_undo(&view)) };
    let pieces = if view.setup.is_some() { all_pieces(&view, notice) } else { shell::no_notice() };
    Ok(changed(&headers, &view, "entry", pieces))
}

fn setup_edit(unit: &Unit, setup: &Setup) -> Edit {
    let part = |index: &usize| unit.parts()[*index].name.clone();
    Edit::SetSetup {
        name: setup.name.clone(),
        supply_on: setup.energised,
        positions: setup.positions.iter().map(|(index, position)| (part(index), position.clone())).collect(),
        lifted: setup.lifted.iter().map(|&terminal| unit.terminal_name(terminal)).collect(),
        jumpers: setup.jumpers.iter().map(|&(a, b)| (unit.terminal_name(a), unit.terminal_name(b))).collect(),
        held: setup.held.iter().map(part).collect(),
        pushed: setup.pushed.iter().map(part).collect(),
        winding_celsius: Some(setup.winding_celsius),
    }
}
