//! The electrical tests after the repair: sheet, fields to enter in, and what the entries prove.

use crate::app::App;
use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::jobs::{View, job_id, saved};
use crate::shell::{self, About};
use crate::trouble::{Trouble, sentence};
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::job::edit::{Edit, SafetyTestText};
use bench::job::parse_safety_value;
use bench::safety::{CLASSES, SafetyTest, TESTS, USES};
use maud::{Markup, html};
use proof::safety::{JudgedEntry, Outcome, Row, STANDING, Scheme, Test};
use record::safety_sheet;
use std::sync::Arc;

/// What a test without a number may come to.
const SEEN: [&str; 3] = ["ok", "failed", "not done"];

/// The page.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let sheet = app.sheet(&id).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let path = view.path("");
    let content = html! {
        h1 { "Safety after repair: " (sheet.job.unit.name) }
        p { a href=(path) { "Back to the job" } }
        (saved(&view))
        (shell::no_notice())
        (section(&view))
    };
    let about = About { path: &path, revision: sheet.revision.number };
    Ok(Html(shell::page("Safety", Some(&visitor), Some(about), content).into_string()).into_response())
}

fn section(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    let laid_out = job.safety.region.map(|region| safety_sheet(job, region));
    html! {
        div #safety {
            p .caution { (STANDING) }
            (facts(view))
            @match laid_out {
                None => p { "Choose a region first; then the tests are listed with its limits." },
                Some(Err(error)) => {
                    p .trouble { (error.to_string()) "." }
                    ul { @for (index, test) in job.safety.tests.iter().enumerate() {
                        li { (test.test) ": " (test.typed) " " (removal(view, index, test)) }
                    } }
                },
                Some(Ok(sheet)) => {
                    p #outcome { strong { (outcome_words(sheet.outcome)) } " " (sheet.scheme.words()) "." }
                    @for note in &sheet.notes { p .faint { (view.visitor.manner.write(note)) } }
                    @for (number, row) in sheet.rows.iter().enumerate() { (card(view, number + 1, row)) }
                },
            }
        }
    }
}

fn outcome_words(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Pass => "Pass: every required test has passed.",
        Outcome::Fail => "Fail: do not hand the unit over.",
        Outcome::NotProven => "Not proven yet.",
    }
}

/// What the limits hang on.
fn facts(view: &View<'_>) -> Markup {
    let (job, manner) = (&view.sheet.job, view.visitor.manner);
    let (said, facts) = (&job.safety, job.safety_facts());
    let number = |value: Option<f64>| value.map(|value| manner.write(&value.to_string())).unwrap_or_default();
    let cord = facts.cord;
    let shown = |value: Option<f64>| value.map_or("not given".into(), |value| manner.write(&format!("{value:.2}")));
    let choices = |chosen: Option<&str>, known: &[&'static str]| {
        html! { @for name in known { option value=(name) selected[chosen == Some(*name)] { (name) } } }
    };
    html! {
        form .card method="post" action=(view.path("/safety")) data-live {
            (view.hidden())
            div .grid {
                label { "Region "
                    select name="region" {
                        option value="" { "choose" }
                        @for scheme in Scheme::ALL {
                            option value=(scheme.name()) selected[said.region == Some(scheme.name())] { (scheme.words()) }
                        }
                    }
                }
                label { "Protection class "
                    select name="class" {
                        option value="" { "as the unit shows"
                            @if let Some(because) = facts.class_because { ": " (facts.class) ", " (because) }
                        }
                        (choices(said.class, &CLASSES))
                    }
                }
                label { "Use " select name="use" { option value="" { "not given" } (choices(said.handling, &USES)) } }
                label { "Heating, W "
                    input name="heating_watts" inputmode="decimal" value=(number(said.heating_watts))
                        placeholder=(manner.write(&facts.heating_watts.to_string()));
                }
                label { "Cord, m "
                    input name="cord_metres" inputmode="decimal" value=(number(said.cord_metres))
                        placeholder=(shown(cord.and_then(|cord| cord.metres)));
                }
                label { "Cord, mm² "
                    input name="cord_square_millimetres" inputmode="decimal" value=(number(said.cord_square_millimetres))
                        placeholder=(shown(cord.and_then(|cord| cord.square_millimetres)));
                }
                label {
                    input type="checkbox" name="unearthed_metal" value="true" checked[said.has_unearthed_metal];
                    " Metal that is not joined to earth can be touched"
                }
            }
            button { "Save" }
        }
    }
}

fn card(view: &View<'_>, number: usize, row: &Row) -> Markup {
    let manner = view.visitor.manner;
    let name = row.test.name();
    let words = name.replace('-', " ");
    html! {
        section .card id=(name) aria-labelledby={ (name) "-title" } {
            h2 id={ (name) "-title" } {
                (number) ". " (words) ": " (row.outcome.words()) @if !row.is_required { " (not asked for)" }
            }
            ul .cautions {
                @for caution in row.test.cautions() { li { (caution) } }
                @if let Some(not_yet) = &row.not_yet { li { strong { (not_yet) } } }
            }
            p { (row.test.words()) }
            p { "With: " (row.test.instrument())
                @if let Some(limit) = &row.limit { @if !limit.with.is_empty() { "; " (manner.write(limit.with)) } } "."
            }
            @if let Some(limit) = &row.limit {
                p { strong { "Limit: " (manner.write(&limit.words)) } " (" (limit.source.to_string()) ")" }
                @if let Some(working) = &limit.working { p .faint { (manner.write(working)) } }
            } @else if row.test.quantity().is_some() {
                p { "Limit: none in this region." }
            }
            (entries(view, row))
            (entry_form(view, row.test))
        }
    }
}

fn entries(view: &View<'_>, row: &Row) -> Markup {
    let of_test = view.sheet.job.safety.tests.iter().enumerate().filter(|(_, given)| given.test == row.test.name());
    html! {
        @if !row.entries.is_empty() {
            ul {
                @for (judged, (index, given)) in row.entries.iter().zip(of_test) {
                    li { (view.visitor.manner.write(&entry_words(judged))) " " (removal(view, index, given)) }
                }
            }
        }
    }
}

fn entry_words(judged: &JudgedEntry) -> String {
    let entry = &judged.entry;
    let beside = [&entry.at, &entry.date, &entry.instrument].into_iter().flatten().map(String::as_str);
    let beside = beside.collect::<Vec<_>>().join(", ");
    let beside = if beside.is_empty() { beside } else { format!(" ({beside})") };
    let later = if judged.counts { "" } else { "; a later entry counts" };
    format!("{}{beside}: {}, {}{later}", entry.typed, judged.outcome.words(), judged.why)
}

fn removal(view: &View<'_>, index: usize, given: &SafetyTest) -> Markup {
    html! {
        form method="post" action=(view.path("/safety/remove")) data-live {
            (view.hidden())
            input type="hidden" name="index" value=(index);
            input type="hidden" name="was" value=(was(given));
            button .small aria-label={ "Remove " (was(given)) } { "Remove" }
        }
    }
}

/// What a form to remove an entry is about.
fn was(given: &SafetyTest) -> String {
    format!("{} {}", given.test, given.typed)
}

fn entry_form(view: &View<'_>, test: Test) -> Markup {
    let name = test.name();
    html! {
        form method="post" action=(view.path("/safety/tests")) data-live {
            (view.hidden())
            input type="hidden" name="test" value=(name);
            div .grid {
                @if test.quantity().is_some() {
                    label { "Shows, with its unit "
                        input name="value" placeholder=(view.visitor.manner.write(test.example()));
                    }
                } @else {
                    label { "Result " select name="value" { @for seen in SEEN { option { (seen) } } } }
                }
                label { "Why, if not done " input name="reason"; }
                label { "Where " input name="at" placeholder="if in several places"; }
                label { "Date " input name="date" type="date"; }
                label { "Instrument " input name="instrument"; }
            }
            button { "Enter" }
        }
    }
}

/// Answers with the sheet as it is now, for the script in pieces.
fn answer(posted: &Posted, sheet: &Arc<Sheet>, place: &str) -> Response {
    let view = posted.view(sheet, None);
    if !posted.wants_pieces {
        return Redirect::to(&format!("{}#{place}", view.path("/safety"))).into_response();
    }
    let notice = shell::done(&format!("Saved: {}.", sheet.revision.what), None);
    Html(html! { (saved(&view)) (notice) (section(&view)) }.into_string()).into_response()
}

/// Sets what the limits hang on.
pub async fn set(posted: Posted) -> Result<Response, Trouble> {
    let names =
        ["region", "class", "use", "heating_watts", "cord_metres", "cord_square_millimetres", "unearthed_metal"];
    let fields: Vec<(String, String)> =
        names.iter().map(|name| ((*name).to_owned(), posted.fields.text(name).to_owned())).collect();
    let sheet = posted.change(|_| Ok(Edit::SetSafety { fields: fields.clone() })).await?;
    Ok(answer(&posted, &sheet, "safety"))
}

/// Enters a test.
pub async fn add(posted: Posted) -> Result<Response, Trouble> {
    let fields = &posted.fields;
    let typed = fields.needed("test", "which test")?;
    let Some(&(test, quantity, example)) = TESTS.iter().find(|(name, ..)| *name == typed) else {
        return Err(Trouble::refused(format!("There is no safety test '{typed}'.")));
    };
    let reason = fields.text("reason");
    let value = match (fields.given("value"), quantity) {
        (Some("not done"), _) => format!("not done: {reason}"),
        (Some(value), _) => value.to_owned(),
        (None, _) if !reason.is_empty() => format!("not done: {reason}"),
        (None, _) => {
            return Err(Trouble::refused("What the instrument showed is missing.")
                .mend(format!("Write it with its unit, such as {example}, or why the test was not done.")));
        }
    };
    // A decimal comma is for the edit to judge; what else is wrong is said here, in words about this field.
    if let Err((what, mend)) = parse_safety_value(test, &value.replacen(',', ".", 1)) {
        return Err(Trouble::refused(format!("{what}.")).mend(sentence(&mend)));
    }
    let text = |name: &str| fields.given(name).map(str::to_owned);
    let entry = SafetyTestText {
        test: test.to_owned(),
        value,
        at: text("at"),
        date: text("date"),
        instrument: text("instrument"),
        note: None,
    };
    let sheet = posted.change(|_| Ok(Edit::AddSafetyTest(entry.clone()))).await?;
    Ok(answer(&posted, &sheet, test))
}

/// Takes an entry off the sheet.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let (index, seen) = (posted.fields.index("index")?, posted.fields.text("was").to_owned());
    let edit = |sheet: &Sheet| match sheet.job.safety.tests.get(index) {
        Some(given) if was(given) == seen => Ok(Edit::RemoveSafetyTest { index }),
        _ => Err(Trouble::conflict("Someone else has changed this entry meanwhile.")
            .mend("Look at the sheet and decide again; nothing was overwritten.")),
    };
    let sheet = posted.change(edit).await?;
    Ok(answer(&posted, &sheet, "safety"))
}
