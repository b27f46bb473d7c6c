//! Setups: the arrangements readings are taken in, with their cautions.

use crate::desk::Sheet;
use crate::fields::Fields;
use crate::posted::Posted;
use crate::rooms::jobs::{View, all_pieces, done_with_undo, entry_pieces};
use crate::shell;
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::response::Response;
use bench::cautions::cautions;
use bench::job::edit::Edit;
use bench::{Setup, TerminalId, words};
use maud::{Markup, html};
use std::time::Instant;

/// Jumpers that a form has room for beyond those that are there.
const SPARE_JUMPERS: usize = 1;

/// The room.
pub fn show(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #setups .card aria-labelledby="setups-title" {
            h2 #setups-title { "Setups" }
            @for setup in &job.setups {
                details #{ "setup-" (setup.name) } {
                    summary { (setup.name) " " span .faint { (in_words(view, setup)) } }
                    (caution_list(view, setup))
                    (form(view, Some(setup)))
                }
            }
            details #new-setup open[job.setups.is_empty()] { summary { "Add a setup" } (form(view, None)) }
        }
    }
}

fn in_words(view: &View<'_>, setup: &Setup) -> String {
    let manner = view.visitor.manner;
    let celsius = format!("windings at {} C", setup.winding_celsius);
    let text = words::setup_words(&view.sheet.job.unit, setup);
    text.replace(&celsius, &format!("windings at {}", manner.temperature(setup.winding_celsius)))
}

fn caution_list(view: &View<'_>, setup: &Setup) -> Markup {
    html! { ul .cautions { @for caution in cautions(&view.sheet.job.unit, setup) { li { (caution) } } } }
}

/// The standing caution of a live setup, with the question whether its precautions are in place.
pub fn caution(view: &View<'_>, setup: &Setup, chosen: bool) -> Markup {
    let (session, id) = (&view.visitor.session, &view.sheet.revision.job);
    let confirmed = view.app.precautions.are_confirmed(session, id, setup, Instant::now());
    html! {
        div #{ "caution-" (setup.name) } .caution data-for-setup=(setup.name) hidden[!chosen] {
            p { strong { "Setup " (setup.name) " is live. This can kill." } }
            (caution_list(view, setup))
            @if confirmed {
                p .confirmed { "You have confirmed that these precautions are in place." }
            } @else {
                form method="post" action=(view.path("/precautions")) data-live {
                    (view.hidden())
                    input type="hidden" name="setup" value=(setup.name);
                    label { input type="checkbox" name="in-place" value="yes" required; " These precautions are in place, and I am competent to work live here" }
                    button { "Confirm" }
                }
            }
        }
    }
}

fn form(view: &View<'_>, setup: Option<&Setup>) -> Markup {
    let unit = &view.sheet.job.unit;
    let blank = Setup::unplugged("");
    let is_new = setup.is_none();
    let setup = setup.unwrap_or(&blank);
    let manner = view.visitor.manner;
    let degrees = if manner.fahrenheit { setup.winding_celsius * 1.8 + 32.0 } else { setup.winding_celsius };
    let motors = || (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.synchronous_rpm(50.0).is_some());
    html! {
        form method="post" action=(view.path("/setups")) data-live {
            (view.hidden())
            @if is_new {
                label { "Name " input name="name" required maxlength="60" placeholder="high"; }
            } @else {
                input type="hidden" name="name" value=(setup.name);
                input type="hidden" name="was" value=(fingerprint(setup));
            }
            fieldset {
                legend { "Supply" }
                label { input type="radio" name="supply" value="off" checked[!setup.energised]; " off, unplugged" }
                label { input type="radio" name="supply" value="on" checked[setup.energised]; " on (LIVE)" }
            }
            div .grid {
                @for (index, part) in unit.parts().iter().enumerate().filter(|(_, part)| !part.kind.positions().is_empty()) {
                    label {
                        (part.name) " at "
                        select name={ "position:" (part.name) } {
                            @let ordinary = part.kind.ordinary_position().unwrap_or_default();
                            @let now = setup.positions.get(&index).unwrap_or(&ordinary);
                            @for position in part.kind.positions() { option selected[&position == now] { (position) } }
                        }
                    }
                }
                label {
                    "Windings at, " (manner.degrees()) " "
                    input name="winding" inputmode="decimal" size="6" value=(manner.write(&format!("{}", (degrees * 10.0).round() / 10.0)));
                }
            }
            details {
                summary { "Wires off, jumpers, rotors held or pushed" }
                fieldset .checks {
                    legend { "Wires taken off" }
                    @for terminal in (0..unit.terminal_count()).map(TerminalId).filter(|&terminal| is_wired(view, terminal)) {
                        label { input type="checkbox" name="lifted" value=(unit.terminal_name(terminal)) checked[setup.lifted.contains(&terminal)]; " " (unit.terminal_name(terminal)) }
                    }
                }
                fieldset {
                    legend { "Jumpers" }
                    @for index in 0..setup.jumpers.len() + SPARE_JUMPERS {
                        @let ends = setup.jumpers.get(index).map(|&(a, b)| (unit.terminal_name(a), unit.terminal_name(b)));
                        @let (from, to) = ends.unwrap_or_default();
                        p {
                            input name="jumper-from" list="terminals" value=(from) aria-label="Jumper from";
                            " to " input name="jumper-to" list="terminals" value=(to) aria-label="Jumper to";
                        }
                    }
                }
                fieldset .checks {
                    legend { "Rotors" }
                    @for part in motors() {
                        label { input type="checkbox" name="held" value=(unit.parts()[part].name) checked[setup.held.contains(&part)]; " " (unit.parts()[part].name) " held" }
                        label { input type="checkbox" name="pushed" value=(unit.parts()[part].name) checked[setup.pushed.contains(&part)]; " " (unit.parts()[part].name) " pushed by hand" }
                    }
                }
            }
            button .main { @if is_new { "Add setup" } @else { "Save setup" } }
            @if !is_new { button formaction=(view.path("/setups/remove")) { "Remove" } }
        }
    }
}

fn is_wired(view: &View<'_>, terminal: TerminalId) -> bool {
    view.sheet.job.unit.wires().iter().any(|wire| wire.from == terminal || wire.to == terminal)
}

/// A setup as a form has seen it, to notice that someone else has changed it.
fn fingerprint(setup: &Setup) -> String {
    format!("{setup:?}")
}

fn setup_edit(fields: &Fields, visitor: &Visitor) -> Result<Edit, Trouble> {
    let winding = match fields.given("winding") {
        None => None,
        Some(text) => {
            let value: f64 = text.replace(',', ".").parse().map_err(|_| {
                Trouble::refused(format!("'{text}' is no temperature.")).mend("Write it as a number, such as 60.")
            })?;
            Some((visitor.manner.celsius(value) * 10.0).round() / 10.0)
        }
    };
    let ends = fields.under("jumper-");
    let of = |end: &str| ends.iter().filter(|(name, _)| name == end).map(|(_, text)| text.clone()).collect::<Vec<_>>();
    let jumpers =
        of("from").into_iter().zip(of("to")).filter(|(from, to)| !(from.is_empty() && to.is_empty())).collect();
    Ok(Edit::SetSetup {
        name: fields.needed("name", "a name for the setup")?.to_owned(),
        supply_on: fields.text("supply") == "on",
        positions: fields.under("position:"),
        lifted: fields.all("lifted"),
        jumpers,
        held: fields.all("held"),
        pushed: fields.all("pushed"),
        winding_celsius: winding,
    })
}

/// Adds or changes a setup.
pub async fn set(posted: Posted) -> Result<Response, Trouble> {
    let edit = setup_edit(&posted.fields, &posted.visitor)?;
    let name = posted.fields.text("name");
    let sheet = posted
        .change(|sheet| {
            unchanged(sheet, name, posted.fields.given("was"))?;
            Ok(edit.clone())
        })
        .await?;
    let view = posted.view(&sheet, Some(name));
    Ok(posted.answer("setups", all_pieces(&view, done_with_undo(&view))))
}

/// Whether a setup is still as a form has seen it.
fn unchanged(sheet: &Sheet, name: &str, was: Option<&str>) -> Result<(), Trouble> {
    let is = sheet.job.find_setup(name).map(|index| fingerprint(&sheet.job.setups[index]));
    match (was, is) {
        (None, Some(_)) => {
            Err(Trouble::refused(format!("There is a setup '{name}' already.")).mend("Choose another name."))
        }
        (Some(was), is) if is.as_deref() != Some(was) => {
            Err(Trouble::conflict(format!("Someone else has changed or removed setup {name} meanwhile."))
                .mend("Reload to see it as it is now; nothing was overwritten."))
        }
        _ => Ok(()),
    }
}

/// Removes a setup.
pub async fn remove(posted: Posted) -> Result<Response, Trouble> {
    let fields = posted.fields.clone();
    let name = fields.needed("name", "a setup")?.to_owned();
    let edit = move |sheet: &Sheet| {
        unchanged(sheet, &name, Some(fields.text("was")))?;
        Ok(Edit::RemoveSetup { name: name.clone() })
    };
    posted.edit("setups", edit).await
}

/// Notes that the precautions of a live setup are in place.
pub async fn confirm(posted: Posted) -> Result<Response, Trouble> {
    let sheet = posted.app.sheet(&posted.id).await?;
    let name = posted.fields.needed("setup", "a setup")?;
    let Some(index) = sheet.job.find_setup(name) else {
        return Err(Trouble::refused(format!("There is no setup '{name}' any more.")));
    };
    if posted.fields.text("in-place") != "yes" {
        return Err(Trouble::refused("Tick the box first: are these precautions in place?"));
    }
    let setup = &sheet.job.setups[index];
    posted.app.precautions.confirm(&posted.visitor.session, &posted.id, setup, Instant::now());
    let notice = shell::done(&format!("Precautions of setup {name} confirmed for half an hour."), None);
    let view = posted.view(&sheet, Some(name));
    // Other rooms show the caution by itself.
    Ok(posted.answer("entry", html! { (entry_pieces(&view, notice)) (caution(&view, setup, true)) }))
}
