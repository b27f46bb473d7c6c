//! Heat runs after the repair.

use crate::Findings;
use crate::by_ohms::WindingByOhms;
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
    html! {
        h3 { (run.name) }
        @if let Some(cycling) = &run.cycling { p { (cycling_words(cycling, Scale { unit: "°C", ..Scale::CELSIUS })) } }
        @if !run.channels.is_empty() { (temperatures(run, place, sources)) }
        @for (winding, found) in run.by_ohms.iter().enumerate() { (by_ohms(found, &format!("heat-{place}-ohms-{winding}"), sources)) }
    }
}

fn temperatures(run: &HeatRun, place: usize, sources: &Sources) -> Markup {
    let chart = run.chart(WIDTH);
    html! {
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

/// A winding by its ohms: the readings, carried back to switching off.
fn by_ohms(winding: &WindingByOhms, id: &str, sources: &Sources) -> Markup {
    let (cold_ohms, cold_celsius) = winding.cold;
    html! {
        h3 { (winding.name) " by its ohms after switching off" }
        p { "Cold " (cold_ohms) " ohms at " (cold_celsius) " °C; the room at the end " (format!("{:.1}", winding.room_celsius)) " °C; " (winding.metal.key()) " " (sources.mark(winding.metal.source())) "." }
        table {
            thead { tr { th { "seconds after switching off" } th { "ohms" } th { "winding" } } }
            tbody {
                @for &(seconds, ohms) in &winding.readings {
                    tr { td .number { (seconds) } td .number { (ohms) } td .number { (format!("{:.1} °C", winding.celsius(ohms))) } }
                }
                @if let (Some((celsius, [low, high])), Ok(found)) = (winding.at_switch_off(), &winding.found) {
                    tr { th scope="row" { "0, carried back" } td .number { (format!("{:.3}", found.ohms())) } td .number { (format!("{celsius:.1} °C (95 %: {low:.1} to {high:.1})")) } }
                }
            }
        }
        figure { (PreEscaped(winding.chart(WIDTH).inline_at(id, 1.0))) }
        p {
            @if let Some(limit) = &winding.limit { "Limit " (limit.celsius.round()) " °C, " (winding.class.short_words()) ", by resistance " (sources.mark(&limit.source)) ". " }
            strong { (winding.name) " " (winding.words()) "." }
        }
    }
}
