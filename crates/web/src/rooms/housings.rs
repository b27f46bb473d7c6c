//! Housings: which stand open, so that checks behind them cost no more than they must.

use crate::posted::Posted;
use crate::rooms::jobs::View;
use crate::trouble::Trouble;
use axum::response::Response;
use bench::job::edit::Edit;
use bench::{Housing, words};
use maud::{Markup, html};

/// The housings of a job with what is behind each; an empty place if it has none.
pub fn show(view: &View<'_>) -> Markup {
    let housings = &view.sheet.job.housings;
    html! {
        div #housings data-piece {
            @if !housings.is_empty() {
                section .card aria-labelledby="housings-title" {
                    h2 #housings-title { "Housings" }
                    ul .housings { @for (number, housing) in housings.iter().enumerate() { li { (one(view, housing, number)) } } }
                }
            }
        }
    }
}

fn one(view: &View<'_>, housing: &Housing, number: usize) -> Markup {
    let job = &view.sheet.job;
    let parts: Vec<&str> = housing.parts.iter().map(|&part| job.unit.parts()[part].name.as_str()).collect();
    let done = if housing.is_open { "I have closed it" } else { "I have opened it" };
    let state = if housing.is_open { "open" } else { "closed" };
    html! {
        form method="post" action=(view.path("/housings")) data-live {
            (view.hidden())
            input type="hidden" name="name" value=(housing.name);
            input type="hidden" name="open" value=(if housing.is_open { "no" } else { "yes" });
            strong { (housing.name) } ": " (state)
            span .faint {
                @if !housing.is_open { ", about " (words::whole_minutes(housing.minutes)) " minutes to open" }
                @if let Some(before) = housing.behind { ", behind " (job.housings[before].name) }
                @if !parts.is_empty() { "; holds " (parts.join(", ")) }
            }
            " "
            button #{ "housing-" (number) } aria-label={ (done) ": " (housing.name) } { (done) }
        }
    }
}

/// Notes that a housing was opened or closed.
pub async fn set(posted: Posted) -> Result<Response, Trouble> {
    let name = posted.fields.needed("name", "which housing")?.to_owned();
    let open = match posted.fields.text("open") {
        "yes" => true,
        "no" => false,
        _ => return Err(Trouble::refused("Say whether the housing is open: yes or no.")),
    };
    posted
        .edit("housings", move |sheet| {
            let housings = &sheet.job.housings;
            let Some(housing) = housings.iter().find(|housing| housing.name == name) else {
                return Ok(Edit::SetHousingOpen { name: name.clone(), open });
            };
            let closed = |&before: &usize| !housings[before].is_open;
            if let (true, Some(before)) = (open, housing.behind.filter(closed)) {
                let before = &housings[before].name;
                return Err(Trouble::refused(format!("{name} is behind {before}, which is closed."))
                    .mend(format!("Open {before} first.")));
            }
            Ok(Edit::SetHousingOpen { name: name.clone(), open })
        })
        .await
}
