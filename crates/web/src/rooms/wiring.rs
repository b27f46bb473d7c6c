//! The wiring: the drawing to tap on, and the wires as a table.

use crate::desk::Sheet;
use crate::fields::Fields;
use crate::posted::Posted;
use crate::rooms::jobs::View;
use crate::rooms::pictures;
use crate::trouble::Trouble;
use axum::response::Response;
use bench::job::edit::Edit;
use bench::{Job, Wire};
use maud::{Markup, html};

/// The room.
pub fn show(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #wiring .card aria-labelledby="wiring-title" {
            h2 #wiring-title { "Wiring" }
            fieldset .chips #tap-mode {
                legend { "Tapping two terminals" }
                label { input type="radio" name="tap" value="reading" checked; span { "takes a reading" } }
                label { input type="radio" name="tap" value="wire"; span { "adds a wire" } }
            }
            div #wiring-picture data-piece {
                (pictures::framed(&pictures::wiring_to_tap(view), "wiring-drawing", "Wiring drawing"))
            }
            p { a href=(view.path("/wiring.svg")) { "The drawing alone" } }
            (add_form(view))
            details #wire-table {
                summary { (job.unit.wires().len()) " wires as a table" }
                @for (index, _) in job.unit.wires().iter().enumerate() { (wire_row(view, index)) }
            }
        }
    }
}

fn add_form(view: &View<'_>) -> Markup {
    html! {
        form method="post" action=(view.path("/wires")) data-live #wire-form .row {
            (view.hidden())
            label { "Wire from " input name="from" #wire-from list="terminals" required autocapitalize="off"; }
            label { "to " input name="to" #wire-to list="terminals" required autocapitalize="off"; }
            label { "colour " input name="colour" list="colours" size="8"; }
            label { "label " input name="label" size="8"; }
            button { "Add wire" }
            datalist #colours {
                @for colour in ["brown", "blue", "green-yellow", "black", "white", "red", "orange", "yellow", "violet", "grey", "pink", "green"] {
                    option value=(colour) {}
                }
            }
        }
    }
}

fn wire_row(view: &View<'_>, index: usize) -> Markup {
    let unit = &view.sheet.job.unit;
    let wire = &unit.wires()[index];
    let (from, to) = (unit.terminal_name(wire.from), unit.terminal_name(wire.to));
    html! {
        form #{ "wire-" (index) } method="post" action=(view.path("/wires/replace")) data-live data-piece .row {
            (view.hidden())
            input type="hidden" name="index" value=(index);
            input type="hidden" name="was" value=(fingerprint(&view.sheet.job, wire));
            input name="from" list="terminals" value=(from) aria-label={ "Wire " (index + 1) " from" };
            input name="to" list="terminals" value=(to) aria-label={ "Wire " (index + 1) " to" };
            input name="colour" list="colours" size="8" value=(wire.colour.as_deref().unwrap_or_default()) aria-label={ "Wire " (index + 1) " colour" };
            input name="label" size="8" value=(label_of(&view.sheet.job, wire).unwrap_or_default()) placeholder="label" aria-label={ "Wire " (index + 1) " label" };
            button .small { "Save" }
            button .small formaction=(view.path("/wires/remove")) aria-label={ "Remove wire " (index + 1) } { "Remove" }
        }
    }
}

/// The label of a wire; its name may only be made of its ends.
fn label_of<'w>(job: &Job, wire: &'w Wire) -> Option<&'w str> {
    let made = format!("{}~{}", job.unit.terminal_name(wire.from), job.unit.terminal_name(wire.to));
    (!wire.name.starts_with(&made)).then_some(wire.name.as_str())
}

/// A wire as a form has seen it, to notice that someone else has changed it.
fn fingerprint(job: &Job, wire: &Wire) -> String {
    let colour = wire.colour.as_deref().unwrap_or("plain");
    let label = label_of(job, wire).map_or(String::new(), |label| format!(", {label}"));
    format!("{} to {}, {colour}{label}", job.unit.terminal_name(wire.from), job.unit.terminal_name(wire.to))
}

struct Ends {
    from: String,
    to: String,
    colour: Option<String>,
    label: Option<String>,
}

fn ends(fields: &Fields) -> Result<Ends, Trouble> {
    Ok(Ends {
        from: fields.needed("from", "the terminal it comes from")?.to_owned(),
        to: fields.needed("to", "the terminal it goes to")?.to_owned(),
        colour: fields.given("colour").map(str::to_owned),
        label: fields.given("label").map(str::to_owned),
    })
}

/// Adds a wire.
pub async fn add(posted: Posted) -> Result<Response, Trouble> {
    let Ends { from, to, colour, label } = ends(&posted.fields)?;
    let edit = Edit::AddWire { from, to, colour, label };
    posted.edit("wiring", move |_| Ok(edit.clone())).await
}

/// The wire that a form is about, if it is still the same.
fn same_wire(sheet: &Sheet, fields: &Fields) -> Result<usize, Trouble> {
    let (index, was) = (fields.index("index")?, fields.text("was"));
    let is = sheet.job.unit.wires().get(index).map(|wire| fingerprint(&sheet.job, wire));
    if is.as_deref() == Some(was) {
        return Ok(index);
    }
    let now = is.map_or("it is not there any more".to_owned(), |is| format!("now it is: {is}"));
    Err(Trouble::conflict(format!("Someone else has changed this wire meanwhile. You saw: {was}; {now}."))
        .mend("Look at the wires and decide again; nothing was overwritten."))
}

/// Changes a wire.
pub async fn replace(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    let edit = move |sheet: &Sheet| {
        let Ends { from, to, colour, label } = ends(&fields)?;
        Ok(Edit::ReplaceWire { index: same_wire(sheet, &fields)?, from, to, colour, label })
    };
    posted.edit("wiring", edit).await
}

/// Takes a wire off.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    posted.edit("wiring", move |sheet| Ok(Edit::RemoveWire { index: same_wire(sheet, &fields)? })).await
}
