//! The first page: what was wrong, what was done, whether it is proven, in words for whoever owns the unit.

use crate::Findings;
use crate::closing::{Closing, Standing};
use maud::{Markup, html};

/// The first page.
pub fn page(findings: &Findings<'_, '_>, closing: &Closing) -> Markup {
    let job = findings.found.evidence.job;
    let repaired = job.repaired.as_ref();
    let verdict = if closing.is_proven() {
        "Repaired, and the repair is proven."
    } else if closing.points.iter().any(|point| point.standing == Standing::Against) {
        "NOT in order: something found after the repair speaks against it."
    } else if repaired.is_some() {
        "Repaired; not everything that would prove it has been shown yet."
    } else {
        "Examined; not repaired yet."
    };
    html! {
        section #customer {
            h1 { "Record of repair" }
            dl .facts {
                dt { "Unit" } dd { (job.unit.name) }
                @if let Some(customer) = repaired.and_then(|repaired| repaired.customer.as_ref()) {
                    dt { "Customer" } dd { (customer) }
                }
                @if let Some(date) = repaired.and_then(|repaired| repaired.date.as_ref()) { dt { "Date" } dd { (date) } }
                @if let Some(by) = repaired.and_then(|repaired| repaired.by.as_ref()) { dt { "Repaired by" } dd { (by) } }
            }
            p .verdict .proven[closing.is_proven()] { (verdict) }
            h2 { "What was wrong" }
            @for words in fault_words(findings) { p { (words) } }
            h2 { "What was done" }
            p { (repaired.map_or("Nothing yet.", |repaired| repaired.work.as_str())) }
            h2 { "How it was proven" }
            table .points {
                tbody {
                    @for point in &closing.points {
                        tr {
                            th scope="row" { (point.name) }
                            td .standing .good[point.standing == Standing::Proven] .bad[point.standing == Standing::Against] {
                                (match point.standing {
                                    Standing::Proven => "shown",
                                    Standing::Missing => "missing",
                                    Standing::Against => "AGAINST",
                                })
                            }
                            td { (point.words) }
                        }
                    }
                }
            }
            @if let Some(note) = &job.unit.note { p .note { (note) } }
            h2 { "Please note" }
            ul {
                li { "Mains voltage can kill. Inside the unit is work for competent persons only." }
                li { "This record tells what was measured and worked out; it licenses nobody. Local codes and licensed practice prevail." }
                li { "If the unit smells, hums without turning, or trips a breaker again: switch it off, pull the plug, bring it back." }
            }
            div .signatures {
                p { "Repaired and tested by" }
                p { "Date" }
                p { "Received by" }
                p { "Date" }
            }
        }
    }
}

/// The fault in plain words.
fn fault_words(findings: &Findings<'_, '_>) -> Vec<String> {
    let unit = &findings.found.evidence.job.unit;
    match findings.suspect.faults.as_ref().filter(|faults| !faults.0.is_empty()) {
        Some(faults) => faults
            .0
            .iter()
            .map(|&fault| {
                let fault = &unit.faults()[fault];
                format!("{}: {}.", fault.place_name, fault.mode.words)
            })
            .collect(),
        None => vec!["No fault was found in the unit itself.".into()],
    }
}
