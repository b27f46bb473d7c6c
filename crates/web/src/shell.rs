//! The frame around every page.

use crate::visitor::Visitor;
use bench::cautions::STANDING;
use maud::{DOCTYPE, Markup, html};

/// A job that a page belongs to.
pub struct About<'a> {
    /// Its path, `/jobs/...`.
    pub path: &'a str,
    /// The revision shown.
    pub revision: i64,
}

/// A whole page.
pub fn page(title: &str, visitor: Option<&Visitor>, about: Option<About<'_>>, content: Markup) -> Markup {
    let (path, revision) = about.map_or((None, None), |about| (Some(about.path), Some(about.revision)));
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · Faultwright" }
                link rel="stylesheet" href="/bench.css";
                link rel="icon" href="data:,";
                script type="module" src="/bench.js" {}
            }
            body data-job=[path] data-revision=[revision] data-form-token=[visitor.map(|v| &v.form_token)] {
                a .skip href="#main" { "Skip to the work" }
                header .bar {
                    a .home href="/" { "Faultwright" }
                    @if let Some(visitor) = visitor { a .me href="/you" { "You: " (visitor.who) } }
                }
                div #progress hidden {
                    span #progress-words { "Weighing the readings" }
                    progress #progress-bar {}
                    button type="button" #progress-cancel { "Stop" }
                }
                p #status role="status" aria-live="polite" {}
                main #main tabindex="-1" { (content) }
                footer { p { (STANDING) } }
            }
        }
    }
}

/// Hidden field that every form carries.
pub fn token(visitor: &Visitor) -> Markup {
    html! { input type="hidden" name="form_token" value=(visitor.form_token); }
}

/// Word that all went well, with a way back if there is one.
pub fn done(words: &str, undo: Option<Markup>) -> Markup {
    html! {
        div #notice .done {
            p { (words) }
            @if let Some(undo) = undo { (undo) }
        }
    }
}

/// Nothing to say.
pub fn no_notice() -> Markup {
    html! { div #notice {} }
}
