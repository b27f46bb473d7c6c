//! Heat runs after the repair.

use crate::Findings;
use crate::heat_runs::HeatRun;
use crate::sources::Sources;
use maud::{Markup, PreEscaped, html};
use proof::heat_run::words::{Scale, cycling_words};

const WIDTH: f64 = 680.0;

/// All heat runs.
pub fn section(findings: &Findings<'_, '_>, sources: &Sources) -> Markup {
    html! {
        section #heat {
            h2 { "Heat run" }
            @if findings.heat.is_empty() { p { "None was logged after the repair." } }
            @for (place, run) in findings.heat.iter().enumerate() { (one(run, place, sources)) }
        }
    }
}

fn one(run: &HeatRun, place: usize, sources: &Sources) -> Markup {
    let chart = run.chart(WIDTH);
    html! {
        h3 { (run.name) }
        @if let Some(cycling) = &run.cycling { p { (cycling_words(cycling, Scale { unit: "°C", ..Scale::CELSIUS })) } }
        figure { (PreEscaped(chart.inline_at(&format!("heat-{place}"), 1.0))) }
        table {
            thead { tr { th { "channel" } th { "going to" } th { "95 % between" } th { "limit" } th { "verdict" } } }
            tbody {
                @for channel in &run.channels {
                    tr {
                        td { (channel.name()) }
                        @if let Some((celsius, [low, high])) = channel.going_to() {
                            td .number { (celsius.round()) " °C" }
                            td .number { (low.round()) " and " (high.round()) " °C" }
                        } @else { td {} td {} }
                        td .number { @if let Some(limit) = &channel.finding.limit { (limit.celsius.round()) " °C" @if let Some(class) = channel.class { ", " (class.short_words()) } " " (sources.mark(&limit.source)) } }
                        td { (channel.words()) }
                    }
                }
            }
        }
    }
}
