//! What cannot be done: refusing a proposed check, and taking that back.

use crate::assessment::{Assessment, CheckView};
use crate::posted::Posted;
use crate::rooms::jobs::View;
use crate::trouble::Trouble;
use axum::response::Response;
use bench::job::edit::Edit;
use maud::{Markup, html};

/// Ways of refusing a proposed check.
pub fn refuse_form(view: &View<'_>, check: &CheckView) -> Markup {
    html! {
        @if !check.refusable.is_empty() {
            details {
                summary { "Cannot do this" }
                form method="post" action=(view.path("/checks/refuse")) data-live {
                    (view.hidden())
                    label {
                        "Leave out "
                        select name="what" {
                            @for (what, words) in &check.refusable { option value=(what) { (words) } }
                        }
                    }
                    button { "Show me the next best" }
                }
            }
        }
    }
}

/// What is refused, what that costs, and a way to take each back.
pub fn list(view: &View<'_>, ranking: &Assessment) -> Markup {
    let job = &view.sheet.job;
    html! {
        @for line in &ranking.refusals { p { (line) } }
        @for refusal in &job.refused {
            form method="post" action=(view.path("/checks/allow")) data-live {
                (view.hidden())
                input type="hidden" name="what" value=(refusal.text(job));
                button { "Take back: " (refusal.words(job)) }
            }
        }
    }
}

/// Writes a refusal into the job.
pub async fn refuse(posted: Posted) -> Result<Response, Trouble> {
    let what = posted.fields.needed("what", "what cannot be done")?.to_owned();
    posted.edit("next", move |_| Ok(Edit::Refuse { what: what.clone() })).await
}

/// Takes a refusal out of the job.
pub async fn allow(posted: Posted) -> Result<Response, Trouble> {
    let what = posted.fields.needed("what", "what is refused")?.to_owned();
    posted.edit("next", move |_| Ok(Edit::Allow { what: what.clone() })).await
}
