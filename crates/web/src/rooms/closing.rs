//! Closing a job: what was done, readings after it, what is still missing, and the record.

use crate::app::App;
use crate::desk::Sheet;
use crate::guard::headers::DRAWING_POLICY;
use crate::posted::Posted;
use crate::rooms::entry::{line_of, read_line, reading_words, ready_setup};
use crate::rooms::jobs::{View, job_id, saved};
use crate::rooms::substitutes;
use crate::shell::{self, About};
use crate::trouble::{FRAGMENT, Trouble};
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::job::edit::Edit;
use bench::{Reading, recurrence};
use diagnosis::words::condition_words;
use maud::{Markup, html};
use record::strains::{life_rule, life_words, strain_words};
use record::{Closing, Findings, RecordError, Standing, closing, gather};
use repair::course::HEADINGS;
use repair::loads::place_words;
use repair::options::ROOM_CELSIUS;
use std::sync::Arc;

/// The page: forms, and the place for how the job stands.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    Ok(page(&view, pending(&view), substitutes::section(&view, None)))
}

/// The page with how the job stands, and what is found of a substitute.
pub fn page(view: &View<'_>, standing: Markup, substitute: Markup) -> Response {
    let path = view.path("");
    let content = html! {
        h1 { "Closing: " (view.sheet.job.unit.name) }
        p { a href=(path) { "Back to the job" } " · " a href=(view.path("/heat-run")) { "Heat run" } " · " a href=(view.path("/safety")) { "Safety" } }
        (saved(view))
        (shell::no_notice())
        (forms(view))
        (standing)
        (substitute)
    };
    let about = About { path: &path, revision: view.sheet.revision.number };
    Html(shell::page("Closing", Some(view.visitor), Some(about), content).into_string()).into_response()
}

/// The place for how the job stands.
pub fn pending(view: &View<'_>) -> Markup {
    html! {
        div #standing data-load data-from=(view.path("/closing/standing")) {
            section .card { h2 { "How the job stands" } p { a href=(view.path("/closing/standing")) { "Work it out" } } }
        }
    }
}

fn forms(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    let repaired = job.repaired.as_ref();
    let text = |of: Option<&String>| of.cloned().unwrap_or_default();
    let causes: Vec<String> = repaired
        .map(|repaired| repaired.faults.0.iter().map(|&fault| job.unit.faults()[fault].label()).collect())
        .unwrap_or_default();
    let looked_at = repaired.map_or(&[][..], |repaired| &repaired.looked_at);
    html! {
        div #forms {
            form .card method="post" action=(view.path("/closing")) data-live {
                (view.hidden())
                h2 { "What was done" }
                div .grid {
                    label .wide { "Work " input name="work" value=(repaired.map_or("", |repaired| &repaired.work)) placeholder="C1 replaced by one of the same value"; }
                    label .wide { "Cause, as the ranking prints it " input name="faults" value=(causes.join(", ")) list="faults" autocapitalize="off"; }
                    label .wide { "Looked at and found well " input name="looked_at" value=(looked_at.join(", ")) list="conditions" autocapitalize="off" placeholder="supply low-volts, M1 bearing-drag"; }
                    label { "Date " input type="date" name="date" value=(text(repaired.and_then(|repaired| repaired.date.as_ref()))); }
                    label { "By " input name="by" value=(text(repaired.and_then(|repaired| repaired.by.as_ref()))); }
                    label { "Customer " input name="customer" value=(text(repaired.and_then(|repaired| repaired.customer.as_ref()))); }
                    label { "Minutes run with the fault "
                        input name="minutes_with_fault" inputmode="decimal"
                            value=(repaired.and_then(|repaired| repaired.minutes_with_fault).map(|minutes| view.visitor.manner.write(&minutes.to_string())).unwrap_or_default());
                    }
                    label { "Insulation class where a plate says none " input name="insulation_class" placeholder="B" value=(repaired.and_then(|repaired| repaired.insulation_class).map(|class| class.to_string()).unwrap_or_default()); }
                }
                datalist #faults { @for fault in job.unit.faults() { option value=(fault.label()) {} } }
                datalist #conditions { @for label in recurrence::labels(&job.unit) { option value=(label) {} } }
                button { "Save" }
            }
            @if let Some(repaired) = repaired {
                section .card aria-labelledby="after-title" {
                    h2 #after-title { "Readings after the repair" }
                    @if repaired.readings.is_empty() { p .faint { "None yet. Repeat a reading that the fault had changed: a symptom that is gone proves nothing." } }
                    ul {
                        @for (index, reading) in repaired.readings.iter().enumerate() {
                            li { (view.visitor.manner.write(&reading_words(&view.sheet.job, reading))) " " (removal(view, index, reading)) }
                        }
                    }
                    @for setup in job.setups.iter().filter(|setup| setup.energised) { (super::setups::caution(view, setup, false)) }
                    form method="post" action=(view.path("/closing/readings")) data-live autocomplete="off" {
                        (view.hidden())
                        div .grid {
                            label { "Setup "
                                select name="setup" #entry-setup {
                                    @for (index, setup) in job.setups.iter().enumerate() {
                                        option value=(setup.name) selected[repaired.readings.last().is_some_and(|last| last.setup == index)] {
                                            (setup.name) @if setup.energised { " (LIVE)" }
                                        }
                                    }
                                }
                            }
                            label .wide { "Reading in one line " input name="line" autocapitalize="off" spellcheck="false" placeholder="cord.hot 2.31 A"; }
                        }
                        button { "Enter" }
                    }
                }
            }
        }
    }
}

fn removal(view: &View<'_>, index: usize, reading: &Reading) -> Markup {
    let was = reading_words(&view.sheet.job, reading);
    html! {
        form method="post" action=(view.path("/closing/readings/remove")) data-live {
            (view.hidden())
            input type="hidden" name="index" value=(index);
            input type="hidden" name="was" value=(was);
            button .small aria-label={ "Remove " (was) } { "Remove" }
        }
    }
}

/// Everything that the record holds, and something made of it, on a thread that may take its time.
async fn worked_out<R: Send + 'static>(
    sheet: Arc<Sheet>,
    make: impl FnOnce(&Findings<'_, '_>) -> Result<R, RecordError> + Send + 'static,
) -> Result<R, Trouble> {
    let work = move || -> Result<R, Trouble> {
        let refused = |words: String| Trouble::refused(format!("{words}."));
        let found = diagnosis::diagnose(&sheet.job).map_err(|error| refused(error.to_string()))?;
        let findings = gather(&found, &sheet.revision.text).map_err(|error| refused(error.to_string()))?;
        make(&findings).map_err(|error| refused(error.to_string()))
    };
    tokio::task::spawn_blocking(work).await.map_err(|_| Trouble::internal())?
}

/// How the job stands, in words.
struct Stands {
    closing: Closing,
    reasons: Vec<(String, Vec<String>)>,
    strains: Vec<String>,
    options: Vec<Compared>,
}

/// A repair: its words, what is lost or at risk, and what the unit then does, position by position.
struct Compared {
    words: String,
    lines: Vec<String>,
    courses: Vec<[String; 5]>,
}

fn stands(findings: &Findings<'_, '_>) -> Stands {
    let job = findings.found.evidence.job;
    let unit = &job.unit;
    let reasons = findings.behind.iter().filter(|reasons| !reasons.conditions.is_empty()).map(|reasons| {
        let lines = reasons.conditions.iter().map(|(condition, standing)| condition_words(job, condition, *standing));
        (unit.place_name(reasons.place).to_owned(), lines.collect())
    });
    let strained = |entry: &repair::Strained| {
        let life = life_words(entry).map_or(String::new(), |life| format!("; {life}"));
        let name = place_words(unit, entry.what);
        format!("{name}: {}{life}. Clear it: {}", strain_words(entry), entry.check(unit))
    };
    let strains = findings.strained.iter().filter(|entry| !entry.is_repaired);
    let options = findings.options.iter().map(|option| Compared {
        words: option.words.clone(),
        lines: option.remark_lines(unit),
        courses: option.courses.iter().map(|course| course.row(unit)).collect(),
    });
    Stands {
        closing: closing(findings),
        reasons: reasons.collect(),
        strains: strains.map(strained).collect(),
        options: options.collect(),
    }
}

/// How the job stands.
pub async fn standing(
    State(app): State<App>,
    visitor: Visitor,
    headers: HeaderMap,
    Path(job): Path<String>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let fragment = headers.contains_key(FRAGMENT);
    let content = match worked_out(Arc::clone(&sheet), |findings| Ok(stands(findings))).await {
        Ok(stands) => whole(&view, &stands),
        Err(trouble) => {
            html! { div #standing data-from=(view.path("/closing/standing")) { section .card { h2 { "How the job stands" } (trouble.notice()) } } }
        }
    };
    if fragment {
        return Ok(Html(content.into_string()).into_response());
    }
    Ok(page(&view, content, substitutes::section(&view, None)))
}

fn whole(view: &View<'_>, stands: &Stands) -> Markup {
    view.visitor.manner.write_piece(html! {
        div #standing data-from=(view.path("/closing/standing")) data-revision=(view.sheet.revision.number) {
            section .card aria-labelledby="standing-title" {
                h2 #standing-title { @if stands.closing.is_proven() { "Proven: the job may be closed" } @else { "Not proven yet" } }
                ul {
                    @for point in &stands.closing.points {
                        li {
                            strong { (point.name) ": " (match point.standing { Standing::Proven => "shown", Standing::Missing => "missing", Standing::Against => "AGAINST" }) }
                            ". " (point.words)
                        }
                    }
                }
                p { a href=(view.path("/record.html")) { "Open the record" } " to print it or to keep it." }
            }
            section .card aria-labelledby="options-title" {
                h2 #options-title { "Repairs compared" }
                @for option in &stands.options {
                    h3 { (option.words) }
                    @if option.lines.is_empty() { p { "Nothing lost and nothing past its rating." } }
                    ul { @for line in &option.lines { li { (line) } } }
                    @if !option.courses.is_empty() {
                        div .scroll tabindex="0" role="region" aria-label={ "Position by position: " (option.words) } {
                            table {
                                thead { tr { @for heading in HEADINGS { th scope="col" { (heading) } } } }
                                tbody { @for row in &option.courses { tr { @for (place, cell) in row.iter().enumerate() { td .figure[place == 1 || place == 2] { (cell) } } } } }
                            }
                        }
                    }
                }
                p .faint { "Worked out, not measured. Temperatures after three hours from a room of " (ROOM_CELSIUS) " °C; how parts shed heat is known to a quarter. A protector is never bridged to get a unit going. Local codes and licensed practice prevail." }
            }
            @if !stands.reasons.is_empty() {
                section .card aria-labelledby="reasons-title" {
                    h2 #reasons-title { "Why it may have failed" }
                    @for (part, lines) in &stands.reasons { h3 { (part) } ul { @for line in lines { li { (line) } } } }
                }
            }
            @if !stands.strains.is_empty() {
                section .card aria-labelledby="strains-title" {
                    h2 #strains-title { "Strained by the fault: clear before use" }
                    ul { @for line in &stands.strains { li { (line) } } }
                    p .faint { (life_rule()) }
                }
            }
        }
    })
}

/// The record as a page of its own.
pub async fn record_page(
    State(app): State<App>,
    _visitor: Visitor,
    Path(job): Path<String>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let page = worked_out(sheet, record::html).await?;
    Ok(([(header::CONTENT_SECURITY_POLICY, DRAWING_POLICY)], Html(page)).into_response())
}

/// Answers with the page as it is now, for the script in pieces.
fn answer(posted: &Posted, sheet: &Arc<Sheet>) -> Response {
    let view = posted.view(sheet, None);
    if !posted.wants_pieces {
        return Redirect::to(&view.path("/closing")).into_response();
    }
    let notice = shell::done(&format!("Saved: {}.", sheet.revision.what), None);
    Html(html! { (saved(&view)) (notice) (forms(&view)) (pending(&view)) }.into_string()).into_response()
}

/// Notes what was done.
pub async fn set(posted: Posted) -> Result<Response, Trouble> {
    let names = ["work", "faults", "looked_at", "date", "by", "customer", "minutes_with_fault", "insulation_class"];
    let fields: Vec<(String, String)> =
        names.iter().map(|name| ((*name).to_owned(), posted.fields.text(name).to_owned())).collect();
    let sheet = posted.change(|_| Ok(Edit::SetRepaired { fields: fields.clone() })).await?;
    Ok(answer(&posted, &sheet))
}

/// Takes a reading after the repair.
pub async fn add(posted: Posted) -> Result<Response, Trouble> {
    let (app, visitor) = (&posted.app, &posted.visitor);
    let name = posted.fields.needed("setup", "a setup")?;
    let line = line_of(&posted.fields)?;
    let edit = |sheet: &Sheet| {
        let setup = ready_setup(app, sheet, visitor, name)?;
        match read_line(&sheet.job, setup, &line)?.into_edit(name, None) {
            Edit::AddReading { setup, measure, value, meter } => {
                Ok(Edit::AddReadingAfter { setup, measure, value, meter })
            }
            _ => Err(Trouble::refused("After a repair only readings are entered here, no symptoms.")
                .mend("A symptom that is gone proves nothing; take a reading that the fault had changed.")),
        }
    };
    let sheet = posted.change(edit).await?;
    Ok(answer(&posted, &sheet))
}

/// Takes a reading away again.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let (index, seen) = (posted.fields.index("index")?, posted.fields.text("was").to_owned());
    let edit = |sheet: &Sheet| {
        let readings = sheet.job.repaired.as_ref().map(|repaired| &repaired.readings);
        match readings.and_then(|readings| readings.get(index)) {
            Some(reading) if reading_words(&sheet.job, reading) == seen => Ok(Edit::RemoveReadingAfter { index }),
            _ => Err(Trouble::conflict("Someone else has changed this reading meanwhile.")
                .mend("Look at the list and decide again; nothing was overwritten.")),
        }
    };
    let sheet = posted.change(edit).await?;
    Ok(answer(&posted, &sheet))
}
