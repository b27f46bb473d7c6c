//! Options, reasons and strains.

use crate::Findings;
use crate::sources::Sources;
use crate::strains::{lasting_words, life_words};
use diagnosis::words::condition_words;
use maud::{Markup, html};
use proof::insulation::{HALVING_KELVINS, HALVING_SOURCE};
use repair::course::HEADINGS;
use repair::loads::place_words;
use repair::options::ROOM_CELSIUS;
use repair::stress::Strained;

/// What each repair would bring.
pub fn options(findings: &Findings<'_, '_>) -> Markup {
    let unit = &findings.found.evidence.job.unit;
    html! {
        section #options {
            h2 { "Repairs compared" }
            p { "Each worked out in every position of the switches, from a room of " (ROOM_CELSIUS) " °C until temperatures stand." }
            table {
                thead { tr { th { "repair" } th { "what is lost" } th { "what is at risk" } } }
                tbody {
                    @for option in &findings.options {
                        @let list = |risk: bool| option.remarks.iter().filter(|remark| remark.what.is_risk() == risk).map(|remark| format!("{} ({})", remark.what.words(unit), remark.positions.join("; "))).collect::<Vec<_>>();
                        tr {
                            td { (option.words) }
                            @for risk in [false, true] {
                                td { @for words in list(risk) { p { (words) } } @if list(risk).is_empty() { "nothing" } }
                            }
                        }
                    }
                }
            }
            @for option in findings.options.iter().filter(|option| !option.courses.is_empty()) {
                h3 { (option.words) }
                table {
                    thead { tr { @for heading in HEADINGS { th { (heading) } } } }
                    tbody {
                        @for course in &option.courses {
                            tr { @for (place, cell) in course.row(unit).iter().enumerate() { td .number[place == 1 || place == 2] { (cell) } } }
                        }
                    }
                }
            }
        }
    }
}

/// What may stand behind the failure.
pub fn reasons(findings: &Findings<'_, '_>) -> Markup {
    let job = findings.found.evidence.job;
    let unit = &job.unit;
    let behind: Vec<_> = findings.behind.iter().filter(|reasons| !reasons.conditions.is_empty()).collect();
    html! {
        @if !behind.is_empty() {
            section #reasons {
                h2 { "Why it may have failed" }
                @for reasons in behind {
                    h3 { (unit.place_name(reasons.place)) }
                    ul { @for (condition, standing) in &reasons.conditions { li { (condition_words(job, condition, *standing)) } } }
                }
            }
        }
    }
}

/// What the fault has strained.
pub fn strains(findings: &Findings<'_, '_>, sources: &Sources) -> Markup {
    let job = findings.found.evidence.job;
    let unit = &job.unit;
    let life = format!("factor of two for {HALVING_KELVINS} K: {HALVING_SOURCE}");
    html! {
        section #strains {
            h2 { "Strained by the fault" }
            p { (findings.exposure.words()) }
            @if findings.strained.is_empty() {
                p { "Nothing was driven past what is written on it or known of its size, and no winding near its limit." }
            } @else {
                table {
                    thead { tr { th { "part or wire" } th { "load" } th { "heat" } th { "for" } th { "where" } th { "life spent" } th { "clear it by" } } }
                    tbody {
                        @for entry in &findings.strained {
                            tr {
                                td { (place_words(unit, entry.what)) @if entry.is_repaired { " (repaired)" } }
                                td { (carried(entry)) }
                                td { @if let Some(words) = entry.heat_words() { (words) } }
                                td .number { @if entry.burns_after_minutes.is_none() { (lasting_words(entry)) } }
                                td { (entry.place) }
                                td { @if let Some(words) = life_words(entry) { (words) @if entry.life_hours.is_some() { " " (sources.mark(&life)) } } }
                                td { @if !entry.is_repaired { (entry.check(unit)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// What was carried, and what was left in circuit.
fn carried(entry: &Strained) -> String {
    entry.load_words().into_iter().chain(entry.left_in_words()).collect::<Vec<_>>().join("; ")
}
