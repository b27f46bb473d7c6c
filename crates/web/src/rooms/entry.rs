//! Entering readings and symptoms.

use crate::app::App;
use crate::desk::Sheet;
use crate::fields::Fields;
use crate::posted::Posted;
use crate::rooms::jobs::{View, done_with_undo, entry_pieces};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::response::Response;
use bench::job::edit::{Edit, EntryLine, parse_entry};
use bench::{Job, Reading, Word, words};
use maud::{Markup, html};
use std::time::Instant;

/// Units a reading may be typed in, as buttons: what is sent, what is shown, what it is.
const UNITS: [(&str, &str); 11] = [
    ("ohm", "Ω"),
    ("kohm", "kΩ"),
    ("Mohm", "MΩ"),
    ("uF", "µF"),
    ("V", "V"),
    ("A", "A"),
    ("W", "W"),
    ("rpm", "rpm"),
    ("s", "s"),
    ("mA touch", "mA touch"),
    ("mA leakage", "mA leakage"),
];

/// The setup that the next reading is taken in: the chosen one, else that of the last reading, else the first.
pub fn chosen_setup(view: &View<'_>) -> Option<usize> {
    let job = &view.sheet.job;
    let last = job.readings.last().map(|reading| reading.setup);
    view.setup.or(last).or((!job.setups.is_empty()).then_some(0))
}

/// The room.
pub fn show(view: &View<'_>) -> Markup {
    let job = &view.sheet.job;
    html! {
        section #entry .card aria-labelledby="entry-title" {
            h2 #entry-title { "Take a reading" }
            @if let Some(chosen) = chosen_setup(view) {
                (form(view, chosen))
            } @else {
                p { "First say how the unit is set up: " a href="#setups" { "add a setup" } "." }
            }
            datalist #terminals {
                @for terminal in (0..job.unit.terminal_count()).map(bench::TerminalId) {
                    option value=(job.unit.terminal_name(terminal)) {}
                }
                @for wire in job.unit.wires() { option value=(wire.name) {} }
                @for part in job.unit.parts() { option value=(part.name) {} }
            }
        }
    }
}

fn form(view: &View<'_>, chosen: usize) -> Markup {
    let job = &view.sheet.job;
    let (session, id) = (&view.visitor.session, &view.sheet.revision.job);
    html! {
        @for setup in job.setups.iter().filter(|setup| setup.energised) {
            (super::setups::caution(view, setup, setup.name == job.setups[chosen].name))
        }
        form method="post" action=(view.path("/readings")) data-live #reading-form autocomplete="off" {
            (view.hidden())
            label .wide {
                "Setup "
                select name="setup" #entry-setup {
                    @for (index, setup) in job.setups.iter().enumerate() {
                        option value=(setup.name) selected[index == chosen] data-live-setup[setup.energised]
                            data-confirmed[view.app.precautions.are_confirmed(session, id, setup, Instant::now())] {
                            (setup.name) @if setup.energised { " (LIVE)" }
                        }
                    }
                }
            }
            div .points {
                label { "From " input name="from" #entry-from list="terminals" autocapitalize="off" placeholder="tap a terminal"; }
                label { "To " input name="to" #entry-to list="terminals" autocapitalize="off" placeholder="and another"; }
                button type="button" .small data-clear="entry-from entry-to" { "Clear" }
            }
            div .value {
                label { "Shows " input name="value" #entry-value inputmode="decimal" placeholder="27.1"; }
                fieldset .chips {
                    legend { "Unit" }
                    label { input type="radio" name="unit" value="" checked; span { "by setup" } }
                    @for (sent, shown) in UNITS {
                        label { input type="radio" name="unit" value=(sent); span { (shown) } }
                    }
                }
            }
            div .row {
                button .main name="word" value="" { "Enter" }
                button name="word" value="open" { "Open (OL)" }
                button name="word" value="dead" { "Dead (0 V)" }
                button formaction=(view.path("/expect")) .quiet { "What should it read?" }
            }
            div #expected {}
        }
        form method="post" action=(view.path("/readings")) data-live #line-form autocomplete="off" {
            (view.hidden())
            input type="hidden" name="setup" value=(job.setups[chosen].name) data-same-as="entry-setup";
            label .wide {
                "Or in one line "
                input name="line" #entry-line autocapitalize="off" spellcheck="false" placeholder="M1.common M1.high 27.1";
            }
            button { "Enter line" }
        }
        form method="post" action=(view.path("/symptoms")) data-live #symptom-form {
            (view.hidden())
            input type="hidden" name="setup" value=(job.setups[chosen].name) data-same-as="entry-setup";
            label {
                "Noticed without a meter: "
                select name="part" #entry-part {
                    @for part in job.unit.parts().iter().filter(|part| part.kind.supply().is_none()) {
                        option selected[part.kind.synchronous_rpm(50.0).is_some()] { (part.name) }
                    }
                }
            }
            div .row .words {
                @for word in Word::ALL {
                    button name="word" value=(word.as_str()) { (word.as_str().replace('-', " ")) }
                }
            }
        }
    }
}

/// The setup named in a form, with its precautions confirmed if it is live.
///
/// # Errors
/// If there is none of that name, or its precautions were not confirmed.
pub fn ready_setup(app: &App, sheet: &Sheet, visitor: &Visitor, name: &str) -> Result<usize, Trouble> {
    let job = &sheet.job;
    let Some(index) = job.find_setup(name) else {
        return Err(
            Trouble::refused(format!("There is no setup '{name}' any more.")).mend("Choose another, or add it again.")
        );
    };
    let id = &sheet.revision.job;
    if app.precautions.are_confirmed(&visitor.session, id, &job.setups[index], Instant::now()) {
        return Ok(index);
    }
    Err(Trouble::refused(format!("Setup {name} is live: confirm first that its precautions are in place."))
        .mend("Read them above the entry form and confirm; they are asked for again every half hour."))
}

/// One line as if typed, from the fields of the form.
pub fn line_of(fields: &Fields) -> Result<String, Trouble> {
    if let Some(line) = fields.given("line") {
        return Ok(line.to_owned());
    }
    let from = fields.needed("from", "a terminal, wire or part")?;
    let (to, unit) = (fields.text("to"), fields.text("unit"));
    let value = match fields.text("word") {
        "" => format!("{} {unit}", fields.needed("value", "what the meter shows")?),
        // Of a capacitance, open and over range are two things: the line is asked about it.
        word if unit == "uF" => format!("{word} {unit}"),
        word => word.to_owned(),
    };
    Ok(format!("{from} {to} {value}"))
}

/// What a line says, read for a setup.
pub fn read_line(job: &Job, setup: usize, line: &str) -> Result<EntryLine, Trouble> {
    parse_entry(&job.unit, line, job.setups[setup].energised)
        .map_err(|problem| Trouble::refused(problem.message).mend(problem.mend))
}

/// Takes a reading.
pub async fn add(posted: Posted) -> Result<Response, Trouble> {
    let (app, visitor) = (&posted.app, &posted.visitor);
    let name = posted.fields.needed("setup", "a setup")?;
    let line = line_of(&posted.fields)?;
    let edit = |sheet: &Sheet| {
        let setup = ready_setup(app, sheet, visitor, name)?;
        Ok(read_line(&sheet.job, setup, &line)?.into_edit(name, None))
    };
    answer(&posted, edit, name).await
}

/// Notes a symptom.
pub async fn add_symptom(posted: Posted) -> Result<Response, Trouble> {
    let (app, visitor, fields) = (&posted.app, &posted.visitor, &posted.fields);
    let setup = fields.needed("setup", "a setup")?;
    let part = fields.needed("part", "a part")?;
    let asked = fields.needed("word", "what was noticed")?;
    let word = Word::ALL.into_iter().find(|word| word.as_str() == asked);
    let word = word.ok_or_else(|| Trouble::refused(format!("'{asked}' is none of the words for symptoms.")))?;
    let edit = |sheet: &Sheet| {
        ready_setup(app, sheet, visitor, setup)?;
        Ok(Edit::AddSymptom { setup: setup.to_owned(), part: part.to_owned(), word })
    };
    answer(&posted, edit, setup).await
}

/// Makes an edit and answers with the entry room, ready for the next reading in the same setup.
async fn answer(
    posted: &Posted,
    edit: impl Fn(&Sheet) -> Result<Edit, Trouble>,
    setup: &str,
) -> Result<Response, Trouble> {
    let sheet = posted.change(edit).await?;
    let view = posted.view(&sheet, Some(setup));
    Ok(posted.answer("entry", entry_pieces(&view, done_with_undo(&view))))
}

/// A reading of a job in words, as the list shows it and as a form names it when it asks for a change.
pub fn reading_words(job: &Job, reading: &Reading) -> String {
    let setup = &job.setups[reading.setup].name;
    format!("{} {} ({setup})", words::shown(reading.measure, reading.value), words::place(&job.unit, reading.measure))
}

/// A symptom of a job in words.
pub fn symptom_words(job: &Job, index: usize) -> String {
    let symptom = &job.symptoms[index];
    let setup = &job.setups[symptom.setup].name;
    format!("{} {} ({setup})", job.unit.parts()[symptom.part].name, symptom.word.as_str().replace('-', " "))
}
