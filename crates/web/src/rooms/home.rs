//! All jobs: looking for one, beginning one.

use crate::app::App;
use crate::fields::Fields;
use crate::shell::{self, token};
use crate::supply_change::{SUPPLIES, turned_to};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use bench::job::edit::{Edit, apply};
use bench::job::starters;
use maud::{Markup, html};
use serde::Deserialize;
use store::Summary;

/// Jobs listed at once.
const LISTED: i64 = 100;

/// What is looked for.
#[derive(Debug, Default, Deserialize)]
pub struct Search {
    #[serde(default)]
    words: String,
    #[serde(default)]
    from: String,
    #[serde(default)]
    to: String,
    #[serde(default)]
    away: Option<String>,
}

/// The list of jobs and ways to begin one.
pub async fn show(State(app): State<App>, visitor: Visitor, Query(search): Query<Search>) -> Result<Response, Trouble> {
    let date = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
    let (words, from, to) = (search.words.clone(), date(&search.from), date(&search.to));
    let away = search.away.is_some();
    let found = app
        .ask(move |store| match away {
            true => store.removed(LISTED),
            false => store.search(&words, from.as_deref(), to.as_deref(), LISTED),
        })
        .await?;
    let content = html! {
        h1 { "Jobs on the bench" }
        (shell::no_notice())
        section #begin aria-labelledby="begin-title" {
            h2 #begin-title { "Begin a job" }
            (begin_forms(&visitor))
        }
        section #jobs aria-labelledby="jobs-title" {
            h2 #jobs-title { @if away { "Jobs put away" } @else { "Jobs" } }
            (search_form(&search))
            (job_list(&found, &visitor, away))
            p { a href="/learnt" { "What the shop has learnt" } }
            p { @if away { a href="/" { "Jobs on the bench" } } @else { a href="/?away=1" { "Jobs put away" } } }
        }
    };
    Ok(Html(shell::page("Jobs", Some(&visitor), None, content).into_string()).into_response())
}

fn begin_forms(visitor: &Visitor) -> Markup {
    html! {
        form method="post" action="/jobs/new" .row {
            (token(visitor))
            label { "What stands on the bench " input name="name" required maxlength="120" placeholder="Name of the unit"; }
            label {
                "Most like "
                select name="starter" {
                    @for starter in starters() { option value=(starter.name) { (starter.title) } }
                    @for bare in BARE { option value=(bare.name) { "Nothing yet: " (bare.title) } }
                }
            }
            label {
                "Supply "
                select name="supply" {
                    option value="" { "As in the starter" }
                    @for (name, _) in SUPPLIES { option value=(name) { (name) } }
                }
            }
            button .main { "Begin" }
        }
        details {
            summary { "What the starters are" }
            dl { @for starter in starters() { dt { (starter.title) } dd { (starter.words) } } }
        }
        details {
            summary { "From a job file" }
            form method="post" action="/jobs/import" #import {
                (token(visitor))
                p { label { "Choose a file: " input type="file" data-fill="import-text" accept=".toml,text/plain"; } " or paste its text:" }
                textarea #import-text name="text" rows="8" aria-label="Text of the job file" spellcheck="false" {}
                p { button { "Take it in" } }
            }
        }
    }
}

fn search_form(search: &Search) -> Markup {
    html! {
        form method="get" action="/" .row role="search" {
            label { "Unit, part or fault " input type="search" name="words" value=(search.words); }
            label { "from " input type="date" name="from" value=(search.from); }
            label { "to " input type="date" name="to" value=(search.to); }
            button { "Look" }
        }
    }
}

fn job_list(found: &[Summary], visitor: &Visitor, away: bool) -> Markup {
    html! {
        @if found.is_empty() { p { "No jobs here." } }
        ul .jobs {
            @for job in found {
                li {
                    a href={ "/jobs/" (job.job.as_str()) } { (job.title) }
                    " " span .faint { (job.changed.strftime("%Y-%m-%d %H:%M")) " UTC, " (job.who) }
                    @if !job.findings.is_empty() { p .findings { (visitor.manner.write(&job.findings)) } }
                    @if away {
                        form method="post" action={ "/jobs/" (job.job.as_str()) "/unremove" } { (token(visitor)) button { "Bring back" } }
                    }
                }
            }
        }
    }
}

/// What a job begun from a starter says of itself until its remarks are changed.
const STARTER_NOTE: &str =
    "Begun from a starter: put in the nameplates of your unit. Its figures are typical, of no real machine.";

/// A beginning without a starter: a supply, a cord that fits it, and nothing else.
struct Bare {
    name: &'static str,
    title: &'static str,
    supply: &'static str,
    cord: &'static str,
}

const BARE: [Bare; 3] = [
    Bare {
        name: "",
        title: "supply and cord only",
        supply: "kind = \"supply\"\nvolts = 230\nhertz = 50",
        cord: "kind = \"cord\"",
    },
    Bare {
        name: "two-leg",
        title: "two-leg supply, 120/240 V, 60 Hz, and cord",
        supply: "kind = \"two-leg-supply\"\nvolts = 240\nhertz = 60",
        cord: "kind = \"cord\"\nconductors = [\"leg-1\", \"leg-2\", \"neutral\", \"earth\"]",
    },
    Bare {
        name: "three-phase",
        title: "three-phase supply, 400 V, 50 Hz, and cord",
        supply: "kind = \"three-phase-supply\"\nvolts = 400\nhertz = 50",
        cord: "kind = \"cord\"\nconductors = [\"line-1\", \"line-2\", \"line-3\", \"neutral\", \"earth\"]",
    },
];

impl Bare {
    fn text(&self) -> String {
        let (supply, cord) = (self.supply, self.cord);
        format!(
            "wires = []\n\nreadings = []\nsymptoms = []\n\n[unit]\nname = \"Unit\"\n\n[parts.supply]\n{supply}\n\n\
             [parts.cord]\n{cord}\n\n[setups.unplugged]\nsupply = \"off\"\n"
        )
    }
}

/// A new job from a starter.
pub async fn begin(State(app): State<App>, visitor: Visitor, fields: Fields) -> Result<Response, Trouble> {
    let name = fields.needed("name", "a name for the unit")?;
    let bare = BARE.iter().find(|bare| bare.name == fields.text("starter"));
    let starter = match fields.text("starter") {
        _ if bare.is_some() => None,
        asked => Some(
            starters()
                .iter()
                .find(|starter| starter.name == asked)
                .ok_or_else(|| Trouble::refused("There is no such starter."))?,
        ),
    };
    let text = bare.map_or_else(|| starter.map_or(String::new(), |starter| starter.text.to_owned()), Bare::text);
    let mut edits = vec![Edit::SetUnit { name: name.to_owned(), note: starter.map(|_| STARTER_NOTE.to_owned()) }];
    if let Some((_, supply)) = SUPPLIES.iter().find(|(supply, _)| *supply == fields.text("supply")) {
        let job = bench::job::read("starter", &text)
            .map_err(|problems| Trouble::problems("The starter is damaged:", &problems))?;
        // Those to choose from have one live conductor.
        if job.unit.live_terminals().count() == 1 {
            edits.extend(turned_to(&text, &job, *supply));
        }
    }
    let mut text = text;
    for edit in &edits {
        text = apply(&text, edit).map_err(|error| Trouble::refused(error.to_string()))?;
    }
    let what = starter.map_or("begun".to_owned(), |starter| format!("begun from the starter '{}'", starter.title));
    let id = app.begin(&visitor, text, &what).await?;
    Ok(Redirect::to(&format!("/jobs/{}", id.as_str())).into_response())
}

/// A new job from the text of a job file.
pub async fn import(State(app): State<App>, visitor: Visitor, fields: Fields) -> Result<Response, Trouble> {
    let text = fields.raw("text").unwrap_or_default();
    if text.trim().is_empty() {
        return Err(Trouble::refused("There is no job file.").mend("Choose a file, or paste its text."));
    }
    let id = app
        .begin(&visitor, text.to_owned(), "taken in from a job file")
        .await
        .map_err(|trouble| Trouble { words: "That is no job file this bench can use:".into(), ..trouble })?;
    Ok(Redirect::to(&format!("/jobs/{}", id.as_str())).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_bare_beginning_is_a_job() {
        for bare in &BARE {
            let job = bench::job::read("bare", &bare.text()).unwrap_or_else(|problems| panic!("{problems}"));
            assert_eq!(job.unit.parts().len(), 3, "{}", bare.title);
            assert!(!starters().iter().any(|starter| starter.name == bare.name));
        }
    }
}
