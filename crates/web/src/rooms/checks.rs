//! The next check: the one that tells most for the least time and danger.

use crate::assessment::{Assessment, CheckView};
use crate::posted::Posted;
use crate::rooms::jobs::{View, all_pieces, done_with_undo};
use crate::rooms::refusals;
use crate::trouble::Trouble;
use axum::http::StatusCode;
use axum::response::Response;
use bench::job::edit::Edit;
use bench::{Setup, Unit, words};
use maud::{Markup, html};

/// The room.
pub fn show(view: &View<'_>, ranking: &Assessment) -> Markup {
    html! {
        section #next .card aria-labelledby="next-title" {
            h2 #next-title { "Next check" }
            @if let Some(line) = ranking.standing { p { strong { (line) } } }
            @for line in &ranking.inseparable { p { (line) } }
            p { a href=(view.path("/plan")) { "The whole plan from here" } }
            @if let Some(why) = &ranking.why_first { p { (why) } }
            (refusals::list(view, ranking))
            @for (rank, check) in ranking.checks.iter().enumerate() {
                @if rank == 0 { (one(view, check, rank)) }
                @else { details #{ "check-" (rank) } { summary { "Or: " (check.words) } (one(view, check, rank)) } }
            }
        }
    }
}

fn one(view: &View<'_>, check: &CheckView, rank: usize) -> Markup {
    let known =
        view.sheet.job.find_setup(&check.setup.name).is_some_and(|index| view.sheet.job.setups[index] == check.setup);
    html! {
        div .check {
            p { strong { (check.words) } }
            p {
                "Setup " (check.setup.name) ": " (check.setup_words) ". "
                span .faint { "Tells " (words::number(check.bits)) " bits, " (check.cost) ", " (check.hazard.words()) "." }
            }
            ul .cautions { @for caution in &check.cautions { li { (caution) } } }
            ul .outcomes {
                @for outcome in &check.outcomes {
                    li {
                        "If " strong { (outcome.shown) } " (" (words::percent(outcome.probability)) " likely): " (outcome.repair.0) " (" (words::percent(outcome.repair.1)) "); leaves "
                        @for (index, (label, probability)) in outcome.leaves.iter().enumerate() {
                            @if index > 0 { "; " }
                            (label) " " (words::percent(*probability))
                        }
                    }
                }
            }
            @if known && !check.points.is_empty() {
                button type="button" .main data-fill-entry data-setup=(check.setup.name)
                    data-from=(check.points[0]) data-to=[check.points.get(1)] data-unit=(check.unit) { "Take this reading" }
            } @else if !known {
                form method="post" action=(view.path("/checks/setup")) data-live {
                    (view.hidden())
                    input type="hidden" name="rank" value=(rank);
                    button { "Add setup " (check.setup.name) " to the job" }
                }
            }
            (refusals::refuse_form(view, check))
        }
    }
}

/// Adds the setup of a proposed check to the job.
pub async fn make_setup(posted: Posted) -> Result<Response, Trouble> {
    let rank = posted.fields.index("rank")?;
    let revision: i64 = posted.fields.text("revision").parse().unwrap_or_default();
    let ranking = posted.app.weighing.ready(&posted.id, revision);
    let Some(check) = ranking.as_ref().and_then(|ranking| ranking.checks.get(rank)) else {
        return Err(
            Trouble::new(StatusCode::GONE, "That proposal is out of date.").mend("Reload to see the present ones.")
        );
    };
    let seen = posted.app.sheet_at(&posted.id, revision).await?;
    let edit = setup_edit(&seen.job.unit, &check.setup);
    let sheet = posted.change(|_| Ok(edit.clone())).await?;
    let view = posted.view(&sheet, Some(&check.setup.name));
    Ok(posted.answer("entry", all_pieces(&view, done_with_undo(&view))))
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
