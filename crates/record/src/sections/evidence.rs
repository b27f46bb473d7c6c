//! Readings, what they say, and who is suspected.

use crate::Findings;
use bench::words;
use diagnosis::slip_words::slip_lines;
use diagnosis::support::supports;
use diagnosis::words as findings_words;
use maud::{Markup, html};

/// Suspects below this probability have no line.
const LISTED: f64 = 0.005;
const LISTED_MOST: usize = 12;

/// All readings before the repair, with what the cause says each should be.
pub fn readings(findings: &Findings<'_, '_>) -> Markup {
    let (found, suspect) = (findings.found, findings.suspect);
    let evidence = &found.evidence;
    let job = evidence.job;
    let support = supports(found);
    html! {
        section #readings {
            h2 { "Readings before the repair" }
            p { "Expected: what the unit should show with the cause named on the first page. Speaks: how many times likelier the reading is with the leading repair than with its best rival." }
            table {
                thead { tr { th { "" } th { "setup" } th { "reading" } th { "shown" } th { "expected" } th { "" } th { "speaks" } } }
                tbody {
                    @for (place, entry) in evidence.taken.iter().enumerate() {
                        tr {
                            th scope="row" { "R" (evidence.sources[place] + 1) }
                            td { (job.setups[entry.setup].name) }
                            td { (words::place(&job.unit, entry.measure)) }
                            td .number { (words::shown(entry.measure, entry.value)) }
                            @if let Some(fit) = &suspect.fit {
                                @let value = fit.outlook.predictions[place].value;
                                td .number { (findings_words::predicted(entry.measure, &evidence.job.meters[entry.meter], &evidence.data[place], value)) }
                                td { (findings_words::fit_word(found, suspect, place)) }
                            } @else { td {} td {} }
                            td .number {
                                @if let Some(one) = support.iter().find(|one| one.reading == evidence.sources[place]) {
                                    (times(one.log_ratio))
                                }
                            }
                        }
                    }
                }
            }
            @for line in slip_lines(found) { p { (line) } }
            (logs(findings))
            @if !job.symptoms.is_empty() {
                h3 { "Noticed" }
                ul {
                    @for symptom in &job.symptoms {
                        li { (job.setups[symptom.setup].name) ": " (job.unit.parts()[symptom.part].name) " " (symptom.word.as_str().replace('-', " ")) }
                    }
                }
            }
        }
        section #suspects {
            h2 { "Suspects" }
            table {
                thead { tr { th { "probability" } th { "suspect" } th { "repair" } } }
                tbody {
                    @for suspect in found.suspects.iter().take(LISTED_MOST).filter(|suspect| suspect.probability >= LISTED) {
                        tr {
                            td .number { (words::percent(suspect.probability)) }
                            td { (findings_words::suspect_words(found, suspect)) }
                            td { (suspect.repair) }
                        }
                    }
                }
            }
            p .small { (findings_words::method(found)) }
        }
    }
}

/// Logs before the repair, each channel where it is farthest from what the cause says.
fn logs(findings: &Findings<'_, '_>) -> Markup {
    let (found, suspect) = (findings.found, findings.suspect);
    let job = found.evidence.job;
    let channels = findings_words::channel_lines(found, suspect);
    html! {
        @if !channels.is_empty() {
            h3 { "Logs before the repair" }
            p { "Each channel at the time at which it is farthest from what the cause says." }
            table {
                thead { tr { th { "run" } th { "channel" } th { "at" } th { "logged" } th { "expected" } th { "off by" } th { "" } } }
                tbody {
                    @for channel in &channels {
                        tr {
                            td { (job.runs[job.logs[channel.log].run].name) }
                            td { (channel.place) }
                            td .number { (channel.at) }
                            td .number { (channel.logged) }
                            td .number { (channel.predicted) }
                            td .number { (channel.off) }
                            td { (channel.verdict) }
                        }
                    }
                }
            }
            ul { @for line in findings_words::log_lines(found, suspect) { li { (line) } } }
        }
    }
}

fn times(log_ratio: f64) -> String {
    match log_ratio {
        ratio if ratio.abs() < 0.2 => "hardly".into(),
        ratio if ratio > 0.0 => format!("{} times for it", words::number(ratio.exp())),
        ratio => format!("{} times against", words::number((-ratio).exp())),
    }
}

/// Readings after the repair.
pub fn after(findings: &Findings<'_, '_>) -> Markup {
    let job = findings.found.evidence.job;
    html! {
        section #after {
            h2 { "Readings after the repair" }
            @if findings.after.is_empty() {
                p { "None was noted." }
            } @else {
                table {
                    thead { tr { th { "" } th { "setup" } th { "reading" } th { "shown" } th { "expected" } th { "with the fault" } th { "" } } }
                    tbody {
                        @for (place, entry) in findings.after.iter().enumerate() {
                            @let reading = &entry.reading;
                            tr {
                                th scope="row" { "A" (place + 1) }
                                td { (job.setups[reading.setup].name) }
                                td { (words::place(&job.unit, reading.measure)) }
                                td .number { (words::shown(reading.measure, reading.value)) }
                                td .number { (words::quantity(reading.measure, entry.predicted)) " ±" (words::number(entry.spread)) }
                                td .number { (words::quantity(reading.measure, entry.with_fault)) }
                                td {
                                    @if !entry.agrees { strong { "does not agree" } }
                                    @else if entry.tells { "agrees; the fault would show" }
                                    @else { "agrees; tells nothing of the fault" }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
