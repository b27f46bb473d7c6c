//! Drawings: the wiring to tap on, and what a suspect does to currents and levels, beside the sound unit.

use crate::app::App;
use crate::assessment::Assessment;
use crate::desk::Sheet;
use crate::guard::headers::DRAWING_POLICY;
use crate::rooms::jobs::{View, job_id};
use crate::shell::{self, About};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use bench::wiring::unknown_count;
use bench::{FaultSet, Setup};
use draw::Drawing;
use draw::wiring::{Layout, Mark, Symbols, WiringView};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use std::sync::Arc;

/// The wiring with terminals to tap on.
pub fn wiring_to_tap(view: &View<'_>) -> Drawing {
    let layout = layout_of(view.app, view.sheet);
    let mut drawn = WiringView::new(&view.sheet.job.unit);
    drawn.interactive = true;
    drawn.symbols = view.visitor.manner.symbols();
    drawn.like = Some(&layout);
    draw::wiring::draw(&drawn)
}

fn layout_of(app: &App, sheet: &Sheet) -> Arc<Layout> {
    app.layouts.of(&sheet.revision.job, sheet.revision.number, &sheet.job.unit)
}

/// Drawings wider than this scroll on a narrow screen rather than shrink until nobody can read them; pixels.
const WIDE: f64 = 600.0;
/// At what share of their full size wide drawings are shown: their smallest type is then 9 pixels high.
const WIDE_SCALE: f64 = 0.85;
/// The same for drawings wider than any screen at a bench, so that more of them is seen at once.
const WIDEST: f64 = 1600.0;
const WIDEST_SCALE: f64 = 0.75;

/// A drawing in a frame that scrolls.
pub fn framed(drawing: &Drawing, id: &str, name: &str) -> Markup {
    let scale = match drawing.width {
        width if width > WIDEST => WIDEST_SCALE,
        width if width > WIDE => WIDE_SCALE,
        _ => 1.0,
    };
    html! {
        div .drawing-frame .wide-drawing[drawing.width > WIDE] tabindex="0" role="region" aria-label=(name) {
            (PreEscaped(drawing.inline_at(id, scale)))
        }
    }
}

/// The wiring as a file.
pub async fn wiring_file(
    State(app): State<App>,
    visitor: Visitor,
    Path(job): Path<String>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let mut view = WiringView::new(&sheet.job.unit);
    let layout = layout_of(&app, &sheet);
    view.symbols = visitor.manner.symbols();
    view.like = Some(&layout);
    let drawing = draw::wiring::draw(&view).standalone();
    let kind = [(header::CONTENT_TYPE, "image/svg+xml"), (header::CONTENT_SECURITY_POLICY, DRAWING_POLICY)];
    Ok((kind, drawing).into_response())
}

/// The room: choice of a suspect and a live setup to see pictures of, and the place for them.
pub fn room(view: &View<'_>, ranking: Option<&Assessment>) -> Markup {
    let job = &view.sheet.job;
    let live = || job.setups.iter().filter(|setup| setup.energised);
    let known = |ranking: &'_ Assessment| {
        let named = ranking.suspects.iter().enumerate();
        let drawable = named.filter(|(_, suspect)| suspect.set.as_ref().is_some_and(|set| !set.0.is_empty()));
        drawable.map(|(rank, suspect)| (rank, suspect.label.clone())).collect::<Vec<_>>()
    };
    let suspects = ranking.map(known).unwrap_or_default();
    let room = html! {
        section #levels .card aria-labelledby="levels-title" {
            h2 #levels-title { "Voltages and currents" }
            @if live().next().is_none() {
                p { "Add a setup with the supply on to see what a fault would do there." }
            } @else if suspects.is_empty() {
                p .faint { "Follows from the suspects." }
            } @else {
                form method="get" action=(view.path("/pictures")) data-live .row {
                    label {
                        "If "
                        select name="suspect" { @for (rank, label) in &suspects { option value=(rank) { (label) } } }
                    }
                    label {
                        "in setup "
                        select name="setup" { @for setup in live() { option value=(setup.name) { (setup.name) } } }
                    }
                    button { "Show levels and current paths" }
                }
                div #pictures {}
            }
        }
    };
    view.visitor.manner.write_piece(room)
}

/// What is to be drawn.
#[derive(Deserialize)]
pub struct Asked {
    suspect: usize,
    setup: String,
}

/// Levels and current paths of a suspect in a live setup, sound beside faulty.
pub async fn show(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let ranking = app.weigh(&sheet).await?;
    let suspect = ranking.suspects.get(asked.suspect).ok_or_else(|| Trouble::not_found("There is no such suspect."))?;
    let set = suspect.set.clone().ok_or_else(|| Trouble::refused("A fault that is not known cannot be drawn."))?;
    let index = sheet.job.find_setup(&asked.setup).ok_or_else(|| Trouble::not_found("There is no such setup."))?;
    let (label, deviations) = (suspect.label.clone(), suspect.deviations.clone());
    let (drawn, symbols, layout) = (sheet.clone(), visitor.manner.symbols(), layout_of(&app, &sheet));
    let drawings =
        tokio::task::spawn_blocking(move || draw_all(&drawn, index, (&label, &set, &deviations), symbols, &layout));
    let drawings = drawings.await.map_err(|_| Trouble::internal())??;
    let content = visitor.manner.write_piece(html! {
        div #pictures {
            @for (number, (name, drawing)) in drawings.iter().enumerate() {
                h4 { (name) }
                (framed(drawing, &format!("picture-{number}"), name))
            }
        }
    });
    if headers.contains_key(FRAGMENT) {
        return Ok(Html(content.into_string()).into_response());
    }
    let path = format!("/jobs/{job}");
    let about = About { path: &path, revision: sheet.revision.number };
    let content = html! { h1 { (sheet.job.unit.name) } p { a href={ (path) "#why" } { "Back to the job" } } (content) };
    Ok(Html(shell::page("Voltages and currents", Some(&visitor), Some(about), content).into_string()).into_response())
}

/// Levels, then current paths with the fault and without it.
fn draw_all(
    sheet: &Sheet,
    setup: usize,
    (label, set, deviations): (&str, &FaultSet, &[f64]),
    symbols: Symbols,
    layout: &Layout,
) -> Result<Vec<(String, Drawing)>, Trouble> {
    let unit = &sheet.job.unit;
    let setup: &Setup = &sheet.job.setups[setup];
    let sound = FaultSet::none();
    let own = &deviations[..unknown_count(unit, &sound).min(deviations.len())];
    let failed = |error: bench::PredictError| Trouble::refused(format!("That cannot be drawn: {error}."));
    let healthy = draw::level::panel(unit, setup, &sound, own, "Sound unit").map_err(failed)?;
    let faulty = draw::level::panel(unit, setup, set, deviations, label).map_err(failed)?;
    // The faulty unit first: it is what a narrow screen shows.
    let levels = draw::level::draw(&format!("Voltage levels, setup {}", setup.name), &[faulty, healthy]);
    let marks: Vec<Mark> =
        set.0.iter().map(|&fault| Mark { place: unit.faults()[fault].place, words: "suspect".into() }).collect();
    let paths = |set: &FaultSet, deviations: &[f64]| -> Result<Drawing, Trouble> {
        let mut view = WiringView::new(unit);
        view.setup = Some(setup);
        view.symbols = symbols;
        view.like = Some(layout);
        view.suspects = if set.0.is_empty() { &[] } else { &marks };
        view.flows = Some(draw::wiring::flows(unit, setup, set, deviations).map_err(failed)?);
        Ok(draw::wiring::draw(&view))
    };
    Ok(vec![
        (format!("Voltage levels: {label}, and the sound unit"), levels),
        (format!("Current paths: {label}"), paths(set, deviations)?),
        ("Current paths: sound unit".into(), paths(&sound, own)?),
    ])
}
