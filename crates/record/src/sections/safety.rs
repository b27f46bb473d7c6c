//! The safety tests.

use crate::Findings;
use crate::closing::Standing;
use crate::sources::Sources;
use maud::{Markup, html};
use proof::safety::{Outcome, STANDING, Sheet};

/// How the sheet stands for closing.
pub fn standing(sheet: &Sheet) -> (Standing, String) {
    let of = |outcome: Outcome| {
        let rows =
            sheet.rows.iter().filter(|row| row.outcome == outcome && (row.is_required || outcome == Outcome::Fail));
        rows.map(|row| row.test.name().replace('-', " ")).collect::<Vec<_>>().join(", ")
    };
    match sheet.outcome {
        Outcome::Pass => (Standing::Proven, format!("every required test passed ({})", sheet.scheme.words())),
        Outcome::Fail => (Standing::Against, format!("failed: {}", of(Outcome::Fail))),
        Outcome::NotProven => (Standing::Missing, format!("not proven yet: {}", of(Outcome::NotProven))),
    }
}

/// The sheet.
pub fn section(findings: &Findings<'_, '_>, sources: &Sources) -> Markup {
    html! {
        section #safety {
            h2 { "Electrical safety after the repair" }
            @match &findings.safety {
                None => p { "No tests were noted." },
                Some(sheet) => (table(sheet, sources)),
            }
        }
    }
}

fn table(sheet: &Sheet, sources: &Sources) -> Markup {
    html! {
        p { (sheet.scheme.words()) "; protection class " (sheet.appliance.class.name()) ". Outcome: " strong { (sheet.outcome.words()) } "." }
        table {
            thead { tr { th { "test" } th { "limit" } th { "shown" } th { "outcome" } th { "why" } } }
            tbody {
                @for row in &sheet.rows {
                    tr {
                        td { (row.test.name().replace('-', " ")) }
                        td {
                            @if let Some(limit) = &row.limit {
                                (limit.words) " " (sources.mark(&limit.source.to_string()))
                                @if let Some(working) = &limit.working { p .small { (working) } }
                            }
                        }
                        td { @for entry in row.entries.iter().filter(|entry| entry.counts) { p { (entry.entry.typed) @if let Some(instrument) = &entry.entry.instrument { " (" (instrument) ")" } } } }
                        td { (row.outcome.words()) }
                        td { (row.why) }
                    }
                }
            }
        }
        @for note in &sheet.notes { p .small { (note) } }
        p .small { (STANDING) }
    }
}
