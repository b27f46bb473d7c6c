//! Heat runs after the repair.

use crate::Findings;
use crate::heat_runs::HeatRun;
use crate::sources::Sources;
use draw::chart::{Limit, Series, time_log};
use maud::{Markup, PreEscaped, html};

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
    let series: Vec<Series> = run
        .channels
        .iter()
        .map(|channel| Series { label: channel.name.clone(), unit: "°C".into(), points: channel.points.clone() })
        .collect();
    let mut limits: Vec<Limit> = Vec::new();
    for channel in &run.channels {
        let Some(limit) = &channel.limit else { continue };
        if !limits.iter().any(|known| known.value == limit.celsius) {
            limits.push(Limit { words: "limit".into(), unit: "°C".into(), value: limit.celsius });
        }
    }
    let chart = time_log(&format!("Heat run {}", run.name), &series, &limits, WIDTH);
    html! {
        h3 { (run.name) }
        figure { (PreEscaped(chart.inline_at(&format!("heat-{place}"), 1.0))) }
        table {
            thead { tr { th { "channel" } th { "going to" } th { "95 % between" } th { "limit" } th { "verdict" } } }
            tbody {
                @for channel in &run.channels {
                    tr {
                        td { (channel.name) }
                        @if let Some((celsius, [low, high])) = channel.going_to {
                            td .number { (celsius.round()) " °C" }
                            td .number { (low.round()) " and " (high.round()) " °C" }
                        } @else { td {} td {} }
                        td .number { @if let Some(limit) = &channel.limit { (limit.celsius.round()) " °C, " (limit.class.short_words()) " " (sources.mark(&limit.source)) } }
                        td { (channel.words) }
                    }
                }
            }
        }
    }
}
