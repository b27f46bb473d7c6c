//! The page as a whole.

use crate::closing::closing;
use crate::sections::{customer, drawings, evidence, heat, repairs, safety};
use crate::sources::Sources;
use crate::{Findings, RecordError};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("record.css");

/// The record as one page that needs nothing beside it.
///
/// # Errors
/// [`RecordError`] if a setup cannot be solved.
pub fn html(findings: &Findings<'_, '_>) -> Result<String, RecordError> {
    let sources = Sources::default();
    let closing = closing(findings);
    let name = &findings.found.evidence.job.unit.name;
    let drawings = drawings::section(findings)?;
    let body: Markup = html! {
        (customer::page(findings, &closing))
        (evidence::readings(findings))
        (evidence::after(findings))
        (heat::section(findings, &sources))
        (safety::section(findings, &sources))
        (repairs::options(findings))
        (repairs::reasons(findings))
        (repairs::strains(findings, &sources))
        (drawings)
        section #sources {
            h2 { "Where the figures come from" }
            p { "R: readings before the repair; A: readings after it; everything 'expected' is worked out from the wiring, the plates and these readings by solving the circuit." }
            @if !sources.list().is_empty() {
                dl .facts { @for (mark, source) in sources.list() { dt { (mark) } dd { (source) } } }
            }
        }
    };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Record of repair: " (name) }
                style { (PreEscaped(STYLE)) (PreEscaped(draw::style())) }
            }
            body { main { (body) } }
        }
    };
    Ok(page.into_string())
}
