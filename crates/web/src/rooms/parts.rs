//! The unit and its parts, with their nameplates.

use crate::app::App;
use crate::desk::Sheet;
use crate::posted::Posted;
use crate::rooms::jobs::{View, job_id};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Response};
use bench::Job;
use bench::job::edit::{Edit, part_fields};
use bench::kinds::catalogue::{CatalogueEntry, Field, FieldType, Group, catalogue, find_kind};
use maud::{Markup, html};
use serde::Deserialize;

/// The room.
pub fn show(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #unit .card aria-labelledby="unit-title" {
            h2 #unit-title { "Unit and nameplates" }
            @if let Some(note) = &job.unit.note { p { (note) } }
            div .parts {
            @for part in job.unit.parts().iter().filter(|part| part.kind.name() != "frame") {
                details #{ "part-" (part.name) } {
                    summary {
                        strong { (part.name) } " " (title_of(part.kind.name())) ": "
                        span .faint { (view.visitor.manner.write(&part.kind.describe())) }
                    }
                    @if let Some(entry) = find_kind(part.kind.name()) {
                        @let values = fields_of(&view.sheet.revision.text, &part.name);
                        (part_form(view, entry, Some((&part.name, &values))))
                    }
                    form method="post" action=(view.path("/parts/rename")) data-live .row {
                        (view.hidden())
                        input type="hidden" name="name" value=(part.name);
                        label { "Call it " input name="to" required maxlength="40" value=(part.name); }
                        button { "Rename" }
                        button formaction=(view.path("/parts/remove")) { "Remove, with its wires" }
                    }
                }
            }
            }
            details #new-part {
                summary { "Add a part" }
                form method="get" action=(view.path("/parts/form")) data-live .row {
                    label {
                        "Kind "
                        select name="kind" {
                            @for group in Group::ALL {
                                optgroup label=(group.title()) {
                                    @for entry in catalogue().iter().filter(|entry| entry.group == group) {
                                        option value=(entry.kind) { (entry.title) }
                                    }
                                }
                            }
                        }
                    }
                    button { "Choose" }
                }
                div #new-part-form {}
            }
            details #name-unit {
                summary { "Name and remarks" }
                form method="post" action=(view.path("/unit")) data-live {
                    (view.hidden())
                    label .wide { "Name " input name="name" required maxlength="120" value=(job.unit.name); }
                    label .wide { "Remarks " input name="note" maxlength="400" value=(job.unit.note.as_deref().unwrap_or_default()); }
                    button .main { "Save" }
                }
            }
        }
    }
}

fn title_of(kind: &str) -> &str {
    find_kind(kind).map_or(kind, |entry| entry.title)
}

fn part_form(view: &View<'_>, entry: &CatalogueEntry, part: Option<(&str, &[(String, String)])>) -> Markup {
    let value = |field: &Field| {
        let values = part.map(|(_, values)| values).unwrap_or_default();
        values.iter().find(|(name, _)| *name == field.name).map_or("", |(_, value)| value.as_str()).to_owned()
    };
    html! {
        form method="post" action=(view.path("/parts")) data-live {
            (view.hidden())
            input type="hidden" name="kind" value=(entry.kind);
            @match part {
                Some((name, values)) => {
                    input type="hidden" name="name" value=(name);
                    input type="hidden" name="was" value=(fingerprint(values));
                }
                None => { p { (entry.words) } label { "Name " input name="name" required maxlength="40" placeholder="M1"; } }
            }
            div .grid {
                @for field in &entry.fields {
                    label title=(field.help) {
                        (field.label) @if !field.unit.is_empty() { ", " (field.unit) } @if field.is_required { " *" } " "
                        @match field.holds {
                            FieldType::ContactTable => {
                                textarea name={ "field:" (field.name) } rows="4" placeholder=(field.example) { (value(field)) }
                            }
                            FieldType::Number | FieldType::WholeNumber => {
                                input name={ "field:" (field.name) } inputmode="decimal" size="9" placeholder=(field.example)
                                    value=(view.visitor.manner.write(&value(field)));
                            }
                            FieldType::Text | FieldType::Names => {
                                input name={ "field:" (field.name) } placeholder=(field.example) value=(value(field));
                            }
                        }
                    }
                }
            }
            p .faint { "Leave out what you cannot read: a guess is worse than nothing. * must be given." }
            button .main { @if part.is_some() { "Save part" } @else { "Add part" } }
        }
    }
}

/// The fields of a part as typed.
fn fields_of(text: &str, part: &str) -> Vec<(String, String)> {
    part_fields(text, part).map(|(_, fields)| fields).unwrap_or_default()
}

/// A part as a form has seen it, to notice that someone else has changed it.
fn fingerprint(values: &[(String, String)]) -> String {
    values.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join(";")
}

#[derive(Deserialize)]
pub struct Kind {
    kind: String,
}

/// The form for a new part of a kind.
pub async fn form(
    State(app): State<App>,
    visitor: Visitor,
    Path(job): Path<String>,
    Query(asked): Query<Kind>,
) -> Result<Response, Trouble> {
    let sheet = app.sheet(&job_id(&job)?).await?;
    let entry = find_kind(&asked.kind).ok_or_else(|| Trouble::not_found("There is no such kind of part."))?;
    let view = View { app: &app, sheet: &sheet, visitor: &visitor, setup: None };
    let content = html! { div #new-part-form { h3 { "Add: " (entry.title) } (part_form(&view, entry, None)) } };
    let page = crate::shell::page("Add a part", Some(&visitor), None, content.clone());
    Ok(Html(page.into_string()).into_response())
}

/// Adds a part or changes its fields.
pub async fn set(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    let name = fields.needed("name", "a name for the part")?.to_owned();
    let kind = fields.needed("kind", "the kind of part")?.to_owned();
    let edit = move |sheet: &Sheet| {
        let is = sheet.job.unit.find_part(&name).map(|_| fields_of(&sheet.revision.text, &name));
        match (fields.raw("was"), is) {
            (None, Some(_)) => {
                return Err(Trouble::refused(format!("There is a part '{name}' already.")).mend("Choose another name."));
            }
            (Some(was), is) if is.as_deref().map(fingerprint).as_deref() != Some(was) => {
                return Err(Trouble::conflict(format!("Someone else has changed or removed part {name} meanwhile."))
                    .mend("Reload to see it as it is now; nothing was overwritten."));
            }
            _ => {}
        }
        let now = fields_of(&sheet.revision.text, &name);
        let mut changed = fields.under("field:");
        changed.retain(|(field, value)| {
            value != now.iter().find(|(name, _)| name == field).map_or("", |(_, value)| value)
        });
        Ok(Edit::SetPart { name: name.clone(), kind: kind.clone(), fields: changed })
    };
    posted.edit("unit", edit).await
}

fn known(job: &Job, name: &str) -> Result<(), Trouble> {
    job.unit.find_part(name).map(|_| ()).ok_or_else(|| {
        Trouble::conflict(format!("There is no part '{name}' any more: someone else has renamed or removed it."))
    })
}

/// Renames a part wherever it is named.
pub async fn rename(posted: Posted) -> Result<Response, Trouble> {
    let from = posted.fields.needed("name", "a part")?.to_owned();
    let to = posted.fields.needed("to", "the new name")?.to_owned();
    let edit = move |sheet: &Sheet| {
        known(&sheet.job, &from)?;
        Ok(Edit::RenamePart { from: from.clone(), to: to.clone() })
    };
    posted.edit("unit", edit).await
}

/// Removes a part with its wires.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let name = posted.fields.needed("name", "a part")?.to_owned();
    let edit = move |sheet: &Sheet| {
        known(&sheet.job, &name)?;
        Ok(Edit::RemovePart { name: name.clone() })
    };
    posted.edit("unit", edit).await
}

/// Names the unit.
pub async fn name_unit(posted: Posted) -> Result<Response, Trouble> {
    let name = posted.fields.needed("name", "a name for the unit")?.to_owned();
    let note = Some(posted.fields.text("note").to_owned());
    posted.edit("unit", move |_| Ok(Edit::SetUnit { name: name.clone(), note: note.clone() })).await
}
