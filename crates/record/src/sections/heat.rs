//! Heat runs after the repair.

use crate::sources::Sources;
use crate::{Findings, HeatRun};
use bench::words;
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
        if !limits.iter().any(|known| known.value == channel.limit_celsius) {
            let words = format!("limit {} °C", words::number(channel.limit_celsius));
            limits.push(Limit { words, unit: "°C".into(), value: channel.limit_celsius });
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
                        td .number { (words::number((10.0 * channel.final_celsius).round() / 10.0)) " °C" }
                        td .number { (words::number(channel.interval95[0].round())) " and " (words::number(channel.interval95[1].round())) " °C" }
                        td .number { (words::number(channel.limit_celsius)) " °C " (sources.mark(&channel.limit_source)) }
                        td { (channel.words) }
                    }
                }
            }
        }
    }
}
