//! The heat run after the repair, while it goes on: rows are entered one by one or pasted from a logger, and after each the
//! page says where the temperatures are going and whether the run may end.

mod paste;
mod places;
mod told;

use crate::app::App;
use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::entry::ready_setup;
use crate::rooms::jobs::{View, done_with_undo, job_id, saved};
use crate::shell::{self, About};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::{Visitor, percent_encoded};
use axum::extract::{Path, Query, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::heat::Log;
use bench::job::edit::{Edit, LogPlace};
use bench::winding_class::classes_words;
use maud::{Markup, html};
use places::{FIELD, Place, field, figure, label, of_field, places, value};
use proof::heat_run::words::STAY;
use serde::Deserialize;
use std::sync::Arc;
use told::{judged, logged, row_words, standing as told_standing};

pub use paste::paste;

/// Minutes for which a run is planned at first; a longer one is made longer as its rows come.
const PLANNED_MINUTES: f64 = 240.0;

#[derive(Deserialize)]
pub struct Asked {
    run: Option<String>,
}

/// Which run the page is about, and which log after the repair is that of it.
pub struct Chosen {
    run: Option<usize>,
    log: Option<usize>,
}

impl Chosen {
    /// The run of a name, else that of the last log after the repair, else the last one described.
    fn of(sheet: &Sheet, name: Option<&str>) -> Self {
        let job = &sheet.job;
        let logs = job.repaired.as_ref().map_or(&[][..], |repaired| &repaired.logs);
        let named = name.and_then(|name| job.find_run(name));
        let run = named.or(logs.last().map(|log| log.run)).or(job.runs.len().checked_sub(1));
        Chosen { run, log: logs.iter().rposition(|log| Some(log.run) == run) }
    }

    fn log_of<'s>(&self, sheet: &'s Sheet) -> Option<(usize, &'s Log)> {
        let index = self.log?;
        Some((index, sheet.job.repaired.as_ref()?.logs.get(index)?))
    }

    /// Rows of its log.
    fn rows(&self, sheet: &Sheet) -> usize {
        self.log_of(sheet).map_or(0, |(_, log)| log.seconds.len())
    }
}

/// An address of this room that keeps to the chosen run.
fn address(view: &View<'_>, path: &str, chosen: &Chosen) -> String {
    match chosen.run {
        Some(run) => format!("{}?run={}", view.path(path), percent_encoded(&view.sheet.job.runs[run].name)),
        None => view.path(path),
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    visitor: Visitor,
    Path(job): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let chosen = Chosen::of(&sheet, asked.run.as_deref());
    let run = judged(&sheet, &chosen).await;
    let path = view.path("");
    let content = html! {
        h1 { "Heat run: " (sheet.job.unit.name) }
        p { a href=(path) { "Back to the job" } " · " a href=(view.path("/closing")) { "Closing" } }
        (saved(&view))
        (shell::no_notice())
        (forms(&view, &chosen))
        @if sheet.job.repaired.is_some() {
            @if chosen.run.is_some() { (told_standing(&view, &chosen, run)) (logged(&view, &chosen)) }
            (more(&view, &chosen))
            (others(&view, &chosen))
        }
    };
    let about = About { path: &path, revision: sheet.revision.number };
    Ok(Html(shell::page("Heat run", Some(&visitor), Some(about), content).into_string()).into_response())
}

/// What follows every change: the verdict and the rows.
pub async fn standing(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let chosen = Chosen::of(&sheet, asked.run.as_deref());
    if !headers.contains_key(FRAGMENT) {
        return Ok(Redirect::to(&address(&view, "/heat-run", &chosen)).into_response());
    }
    let run = judged(&sheet, &chosen).await;
    Ok(Html(html! { (told_standing(&view, &chosen, run)) (logged(&view, &chosen)) }.into_string()).into_response())
}

/// The cautions and the next row, or what comes first.
fn forms(view: &View<'_>, chosen: &Chosen) -> Markup {
    let job = &view.sheet.job;
    let live = job.setups.iter().any(|setup| setup.energised);
    html! {
        div #heat-forms {
            p .caution { (STAY) }
            @if job.repaired.is_none() {
                section .card aria-labelledby="first-title" {
                    h2 #first-title { "First write what was done" }
                    p { "A heat run is the proof of a repair. Write the work and the cause under " a href=(view.path("/closing")) { "Closing" } ", then come back." }
                }
            } @else if !live {
                section .card aria-labelledby="first-title" {
                    h2 #first-title { "First describe a live setup" }
                    p { "A heat run is made with the supply on. Add that setup on " a href=(view.path("#setups")) { "the job's page" } ", then come back." }
                }
            } @else if let Some(run) = chosen.run {
                (row_form(view, chosen, run))
            }
        }
    }
}

/// What is seldom wanted: another run, a logger's file, the class.
fn more(view: &View<'_>, chosen: &Chosen) -> Markup {
    html! {
        div #heat-more {
            @if view.sheet.job.setups.iter().any(|setup| setup.energised) { (begin_form(view, chosen.run.is_none())) }
            @if let Some(run) = chosen.run { (paste::form(view, run)) }
            (class_form(view))
        }
    }
}

/// The setup in which a run is live for the last time.
fn live_setup(sheet: &Sheet, run: usize) -> Option<usize> {
    let steps = sheet.job.runs[run].steps.iter().rev();
    steps.map(|step| step.setup).find(|&setup| sheet.job.setups[setup].energised)
}

fn row_form(view: &View<'_>, chosen: &Chosen, run: usize) -> Markup {
    let job = &view.sheet.job;
    let log = chosen.log_of(view.sheet).map(|(_, log)| log);
    let (usual, others): (Vec<Place>, Vec<Place>) =
        places(&job.unit, log).into_iter().partition(|place| place.is_usual);
    let setup = live_setup(view.sheet, run);
    let room = view.visitor.manner.temperature(job.runs[run].room_celsius);
    html! {
        @if let Some(setup) = setup {
            input type="hidden" #entry-setup value=(job.setups[setup].name);
            (super::setups::caution(view, &job.setups[setup], true))
        }
        form .card method="post" action=(view.path("/heat-run/rows")) data-live #row-form autocomplete="off" {
            (view.hidden())
            input type="hidden" name="run" value=(job.runs[run].name);
            h2 { "Row " (chosen.rows(view.sheet) + 1) " of " (job.runs[run].name) }
            p .faint { "Room at " (room) " where none is logged. An empty field is no reading." }
            div .grid {
                label { "Minutes since switching on " input name="minute" #row-minute inputmode="decimal" required; }
                @for place in &usual { (place_field(view, place)) }
            }
            @if !others.is_empty() {
                details #other-places { summary { "Other places, amps, watts, room" } div .grid { @for place in &others { (place_field(view, place)) } } }
            }
            button .main { "Enter row" }
        }
    }
}

fn place_field(view: &View<'_>, place: &Place) -> Markup {
    let degrees = matches!(place.log, LogPlace::Celsius(_) | LogPlace::Room);
    html! {
        label {
            (label(&place.log)) @if degrees { ", " (view.visitor.manner.degrees()) } " "
            input name=(field(&place.log)) inputmode="decimal";
        }
    }
}

fn begin_form(view: &View<'_>, is_first: bool) -> Markup {
    let job = &view.sheet.job;
    let free = (1..).map(|number| if number == 1 { "heat run".to_owned() } else { format!("heat run {number}") });
    let name = free.into_iter().find(|name| job.find_run(name).is_none()).unwrap_or_default();
    html! {
        details #begin-run .card open[is_first] {
            summary { "Begin a new run" }
            form method="post" action=(view.path("/heat-run/begin")) {
                (view.hidden())
                div .grid {
                    label { "Name " input name="name" required maxlength="60" value=(name); }
                    label { "Setup "
                        select name="setup" { @for setup in job.setups.iter().filter(|setup| setup.energised) { option { (setup.name) } } }
                    }
                    label { "Air of the room, " (view.visitor.manner.degrees()) " " input name="room" inputmode="decimal" required; }
                }
                p { "Every run begins cold: let the unit come to the room's temperature first." }
                button { "Begin" }
            }
        }
    }
}

fn class_form(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    let noted = job.repaired.as_ref().and_then(|repaired| repaired.insulation_class);
    let class = noted.map(|class| class.to_string()).unwrap_or_default();
    html! {
        details #class .card {
            summary { "Held to: " (classes_words(&job.unit)) }
            form method="post" action=(view.path("/heat-run/class")) data-live {
                (view.hidden())
                label { "Insulation class where a plate says none " input name="insulation_class" value=(class) placeholder="B"; }
                " " button { "Save" }
            }
        }
    }
}

fn others(view: &View<'_>, chosen: &Chosen) -> Markup {
    let job = &view.sheet.job;
    html! {
        @if job.runs.len() > 1 {
            nav aria-label="Other runs" {
                p { "Other runs: "
                    @for run in (0..job.runs.len()).filter(|run| Some(*run) != chosen.run) {
                        a href=(address(view, "/heat-run", &Chosen { run: Some(run), log: None })) { (job.runs[run].name) } " "
                    }
                }
            }
        }
    }
}

/// Answers with what a change has touched for the script, which then asks for the verdict; else with the page anew.
fn answer(posted: &Posted, sheet: &Arc<Sheet>, run: &str, notice: Option<Markup>) -> Response {
    let view = posted.view(sheet, None);
    let chosen = Chosen::of(sheet, Some(run));
    if !posted.wants_pieces {
        return Redirect::to(&format!("{}#standing", address(&view, "/heat-run", &chosen))).into_response();
    }
    let notice = notice.unwrap_or_else(|| done_with_undo(&view));
    Html(
        html! { (saved(&view)) (notice) (forms(&view, &chosen)) (logged(&view, &chosen)) (more(&view, &chosen)) }
            .into_string(),
    )
    .into_response()
}

/// The run named in a form.
fn named_run(sheet: &Sheet, name: &str) -> Result<usize, Trouble> {
    sheet.job.find_run(name).ok_or_else(|| {
        Trouble::refused(format!("There is no run '{name}' any more.")).mend("Begin one, or choose another.")
    })
}

/// Begins a run.
pub async fn begin(posted: Posted) -> Result<Response, Trouble> {
    let fields = &posted.fields;
    let (name, setup) = (fields.needed("name", "a name for the run")?, fields.needed("setup", "a setup")?);
    let typed = fields.needed("room", "the temperature of the room")?;
    let room = value(&LogPlace::Room, typed, "Beginning", posted.visitor.manner)?;
    let edit = |sheet: &Sheet| {
        let is_live = sheet.job.find_setup(setup).is_some_and(|setup| sheet.job.setups[setup].energised);
        if !is_live {
            return Err(Trouble::refused(format!("There is no live setup '{setup}'."))
                .mend("A heat run is made with the supply on: choose a live setup."));
        }
        let (name, setup) = (name.to_owned(), setup.to_owned());
        Ok(Edit::BeginRun { name, setup, minutes: PLANNED_MINUTES, room_celsius: Some(room) })
    };
    let sheet = posted.change(edit).await?;
    let chosen = Chosen::of(&sheet, Some(name));
    Ok(Redirect::to(&address(&posted.view(&sheet, None), "/heat-run", &chosen)).into_response())
}

/// Takes a row.
pub async fn add(posted: Posted) -> Result<Response, Trouble> {
    let (app, visitor, fields) = (&posted.app, &posted.visitor, &posted.fields);
    let name = fields.needed("run", "a run")?;
    let edit = |sheet: &Sheet| {
        let run = named_run(sheet, name)?;
        if let Some(setup) = live_setup(sheet, run) {
            ready_setup(app, sheet, visitor, &sheet.job.setups[setup].name)?;
        }
        let row = format!("Row {}", Chosen::of(sheet, Some(name)).rows(sheet) + 1);
        let typed = fields.given("minute").ok_or_else(|| {
            Trouble::refused(format!("{row}: the minutes are missing.")).mend("Write how long the unit has been on.")
        })?;
        let minute = figure(typed).ok_or_else(|| {
            Trouble::refused(format!("{row}: '{typed}' is no time."))
                .mend("Write minutes as figures, such as 12 or 12.5.")
        })?;
        let mut values = Vec::new();
        for (field, typed) in fields.under(FIELD).into_iter().filter(|(_, typed)| !typed.is_empty()) {
            let place =
                of_field(&field).ok_or_else(|| Trouble::refused(format!("{row}: '{field}' cannot be logged.")))?;
            let read = value(&place, &typed, &row, visitor.manner)?;
            values.push((place, read));
        }
        Ok(Edit::AddLogRowAfter { run: name.to_owned(), minute, values })
    };
    let sheet = posted.change(edit).await?;
    Ok(answer(&posted, &sheet, name, None))
}

/// Takes a row out.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let (log, row) = (posted.fields.index("log")?, posted.fields.index("row")?);
    let seen = posted.fields.text("was").to_owned();
    let before = posted.app.sheet(&posted.id).await?;
    let log_in = |sheet: &Sheet| sheet.job.repaired.as_ref().and_then(|repaired| repaired.logs.get(log).cloned());
    let name = log_in(&before).map(|log| before.job.runs[log.run].name.clone()).unwrap_or_default();
    let edit = |sheet: &Sheet| match log_in(sheet).filter(|log| row < log.seconds.len()) {
        Some(found) if row_words(sheet, &found, row) == seen => Ok(Edit::RemoveLogRowAfter { log, row }),
        _ => Err(Trouble::conflict("Someone else has changed this row meanwhile.")
            .mend("Look at the rows and decide again; nothing was overwritten.")),
    };
    let sheet = posted.change(edit).await?;
    Ok(answer(&posted, &sheet, &name, None))
}

/// Sets the class that windings are held to.
pub async fn class(posted: Posted) -> Result<Response, Trouble> {
    let fields = vec![("insulation_class".to_owned(), posted.fields.text("insulation_class").to_owned())];
    let sheet = posted.change(|_| Ok(Edit::SetRepaired { fields: fields.clone() })).await?;
    let chosen = Chosen::of(&sheet, None);
    let name = chosen.run.map(|run| sheet.job.runs[run].name.clone()).unwrap_or_default();
    Ok(answer(&posted, &sheet, &name, None))
}
