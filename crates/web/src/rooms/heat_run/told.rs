//! What is found of a heat run while it goes on: the verdict, where each temperature is going, and the rows so far.

use super::places::{label, of_logged, value_words};
use super::{Chosen, address};
use crate::desk::Sheet;
use crate::manner::Manner;
use crate::rooms::jobs::View;
use crate::rooms::pictures::framed;
use crate::trouble::Trouble;
use bench::heat::Log;
use bench::job::edit::LogPlace;
use maud::{Markup, html};
use proof::heat_run::verdict::{Verdict, Withheld};
use proof::heat_run::words::{Scale, cycling_words, figures_words, rest_words, time_words, verdict_words};
use record::{HeatChannel, HeatRun, WindingByOhms, heat_runs};
use std::ops::Range;
use std::sync::Arc;

/// Width of the chart: that of a phone held upright.
const WIDTH: f64 = 380.0;
/// Rows that are shown unfolded.
const NEWEST: usize = 12;

/// The verdict on the log of a run, worked out on a thread that may take its time.
pub async fn judged(sheet: &Arc<Sheet>, chosen: &Chosen) -> Result<Option<HeatRun>, Trouble> {
    let Some(log) = chosen.log else { return Ok(None) };
    let taken = sheet.clone();
    let runs = tokio::task::spawn_blocking(move || heat_runs(&taken.job)).await.map_err(|_| Trouble::internal())?;
    Ok(runs.into_iter().nth(log))
}

/// How the run stands.
pub fn standing(view: &View<'_>, chosen: &Chosen, run: Result<Option<HeatRun>, Trouble>) -> Markup {
    let manner = view.visitor.manner;
    html! {
        div #standing data-from=(address(view, "/heat-run/standing", chosen)) {
            section .card aria-labelledby="verdict-title" {
                @match run {
                    Err(trouble) => { h2 #verdict-title { "No verdict" } p .trouble role="alert" { (trouble.words) @if let Some(mend) = &trouble.mend { " " (mend) } } },
                    Ok(None) => { h2 #verdict-title { "Nothing logged yet" } p { "Write a first row before you switch on, then one every minute or two; later every five." } },
                    Ok(Some(run)) => (manner.write_piece(found(&run, manner))),
                }
            }
        }
    }
}

fn found(run: &HeatRun, manner: Manner) -> Markup {
    let (heading, advice) = verdict(run);
    html! {
        h2 #verdict-title data-verdict=(run.verdict.key()) { (heading) }
        p class=(match run.verdict { Verdict::Pass => "expected", Verdict::Fail => "caution", Verdict::NotYet => "" }) { strong { (advice) } }
        @if let Some(cycling) = &run.cycling { p .caution { (cycling_words(cycling, scale(manner))) } }
        @if let Some(row) = run.ends_at { p { "The current stops for good at row " (row) "; what follows is not judged." } }
        (all_verdicts(run, manner))
        @if !run.channels.is_empty() {
            (framed(&run.chart(WIDTH), "heat-run-chart", &format!("Heat run {} over time, and where it is going", run.name)))
        }
        @for channel in &run.channels { (of_channel(channel, manner)) }
        @for winding in &run.by_ohms { (of_ohms(winding, manner)) }
    }
}

/// Every temperature that was judged, and every winding by its ohms, a row each.
fn all_verdicts(run: &HeatRun, manner: Manner) -> Markup {
    let scale = scale(manner);
    let figure = |celsius: f64| format!("{:.0}", (scale.of)(celsius));
    let row = |name: &str, to: Option<f64>, limit: Option<f64>, verdict: &str| {
        html! {
            tr {
                th scope="row" { (name) }
                td .figure { @if let Some(to) = to { (figure(to)) } }
                td .figure { @if let Some(limit) = limit { (figure(limit)) } }
                td { (verdict) }
            }
        }
    };
    let key = |passes: Option<bool>| match passes {
        Some(true) => Verdict::Pass.key(),
        Some(false) => Verdict::Fail.key(),
        None => Verdict::NotYet.key(),
    };
    html! {
        @if run.channels.len() + run.by_ohms.len() > 0 {
            table #all-verdicts {
                thead { tr { th scope="col" { "where" } th scope="col" { "goes to " (scale.unit) } th scope="col" { "limit" } th scope="col" { "verdict" } } }
                tbody {
                    @for channel in &run.channels {
                        @let limit = channel.finding.limit.as_ref().map(|limit| limit.celsius);
                        (row(channel.name(), channel.going_to().map(|(to, _)| to), limit, limit.map_or("no limit", |_| key(channel.passes()))))
                    }
                    @for winding in &run.by_ohms {
                        (row(&format!("{}, ohms", winding.name), winding.at_switch_off().map(|(at, _)| at), winding.limit.as_ref().map(|limit| limit.celsius), key(winding.passes())))
                    }
                }
            }
        }
    }
}

/// What to do, of all temperatures together.
fn verdict(run: &HeatRun) -> (&'static str, String) {
    let limited: Vec<&HeatChannel> = run.channels.iter().filter(|channel| channel.finding.limit.is_some()).collect();
    let open = || limited.iter().filter(|channel| channel.passes().is_none());
    let spoils = |channel: &&HeatChannel| {
        let withheld = channel.finding.judgement.withheld;
        matches!(
            withheld,
            Some(
                Withheld::Interrupted
                    | Withheld::SensorLost
                    | Withheld::BelowRoom
                    | Withheld::Off
                    | Withheld::HardlyWarmed
            )
        )
    };
    match run.verdict {
        Verdict::Pass => (
            "Pass: you may end the run",
            "Every temperature with a limit stays below it; the run need not go on.".into(),
        ),
        Verdict::Fail => {
            ("Fail: stop the run now", "It goes above its limit. Switch off, unplug, and find out why.".into())
        }
        Verdict::NotYet if limited.is_empty() => (
            "Not yet: nothing here has a limit",
            "Log a winding or a core: only these are held to the insulation class.".into(),
        ),
        Verdict::NotYet if limited.iter().any(spoils) => (
            "Not yet: this run can be no pass",
            "What is said below spoils it. Put that right and begin a new run.".into(),
        ),
        Verdict::NotYet => {
            let more = open().map(|channel| channel.finding.minutes_to_verdict);
            let longest = more.collect::<Option<Vec<f64>>>().map(|more| more.into_iter().fold(0.0, f64::max));
            let advice = match longest {
                Some(minutes) => {
                    format!("It may not be ended yet: about {} more, if nothing changes.", time_words(minutes))
                }
                None => "It may not be ended yet; no end is in sight so far.".into(),
            };
            ("Not yet: keep it running", advice)
        }
    }
}

fn scale(manner: Manner) -> Scale {
    let of: fn(f64) -> f64 = if manner.fahrenheit { |celsius| celsius * 1.8 + 32.0 } else { |celsius| celsius };
    Scale { unit: manner.degrees(), of }
}

fn of_channel(channel: &HeatChannel, manner: Manner) -> Markup {
    let scale = scale(manner);
    let verdict = match channel.finding.limit {
        Some(_) => verdict_words(&channel.finding, scale),
        None => channel.words().into(),
    };
    let rest = rest_words(&channel.finding);
    html! {
        h3 { (channel.name()) }
        p { strong { (verdict) } }
        ul { @for line in figures_words(&channel.finding, scale) { li { (line) } } }
        @if !rest.is_empty() {
            details id={ "rest-" (channel.name()) } {
                summary { "At rest by the standards' rules?" }
                ul { @for rule in rest { li { (rule.words) @if let Some(caveat) = rule.caveat { "; " (caveat) } } } }
            }
        }
    }
}

/// A winding by its ohms after the run.
fn of_ohms(winding: &WindingByOhms, manner: Manner) -> Markup {
    let scale = scale(manner);
    let figure = |celsius: f64| format!("{:.1}", (scale.of)(celsius));
    html! {
        h3 { (winding.name) " by its ohms" }
        p { strong { (winding.words()) } }
        ul {
            @if let Some((celsius, [low, high])) = winding.at_switch_off() {
                li { (figure(celsius)) " " (scale.unit) " at switching off (95 %: " (figure(low)) " to " (figure(high)) ")" }
            }
            @if let Some(limit) = &winding.limit { li { "limit " (figure(limit.celsius)) " " (scale.unit) " (" (limit.source) ")" } }
        }
    }
}

/// A row in words: the form to remove it says which it means.
pub fn row_words(sheet: &Sheet, log: &Log, row: usize) -> String {
    let mut words = format!("row {}, minute {}", row + 1, minute(log.seconds[row]));
    for (place, values) in columns(sheet, log) {
        if let Some(value) = values[row] {
            words += &format!(", {} {}", label(&place), value_words(&place, value, Manner::default()));
        }
    }
    words
}

/// Seconds as minutes, as one writes them.
pub fn minute(seconds: f64) -> f64 {
    (seconds / 0.6).round() / 100.0
}

fn columns<'l>(sheet: &Sheet, log: &'l Log) -> Vec<(LogPlace, &'l [Option<f64>])> {
    let of =
        |channel: &'l bench::heat::Channel| Some((of_logged(&sheet.job.unit, channel.logged)?, &channel.values[..]));
    let room = log.room.as_deref().map(|values| (LogPlace::Room, values));
    log.channels.iter().filter_map(of).chain(room).collect()
}

/// The rows so far, the newest first, each with a way to take it out.
pub fn logged(view: &View<'_>, chosen: &Chosen) -> Markup {
    let log = chosen.log_of(view.sheet);
    html! {
        div #logged {
            @if let Some((index, log)) = log {
                section .card aria-labelledby="logged-title" {
                    h2 #logged-title { "Rows: " (log.seconds.len()) }
                    @let older = log.seconds.len().saturating_sub(NEWEST);
                    (rows_table(view, (index, log), older..log.seconds.len(), "Newest rows"))
                    @if older > 0 {
                        details #older-rows { summary { "Older rows: " (older) } (rows_table(view, (index, log), 0..older, "Older rows")) }
                    }
                }
            }
        }
    }
}

fn rows_table(view: &View<'_>, (index, log): (usize, &Log), rows: Range<usize>, name: &str) -> Markup {
    let manner = view.visitor.manner;
    let columns = columns(view.sheet, log);
    html! {
        div .scroll tabindex="0" role="region" aria-label=(name) {
            table {
                thead { tr {
                    th scope="col" { "minute" }
                    @for (place, _) in &columns { th scope="col" { (label(place)) } }
                    th scope="col" { "wrong?" }
                } }
                tbody {
                    @for row in rows.rev() {
                        tr {
                            td .figure { (manner.write(&minute(log.seconds[row]).to_string())) }
                            @for (place, values) in &columns {
                                td .figure { @if let Some(value) = values[row] { (value_words(place, value, manner)) } }
                            }
                            td { (removal(view, (index, row), &row_words(view.sheet, log, row))) }
                        }
                    }
                }
            }
        }
    }
}

fn removal(view: &View<'_>, (log, row): (usize, usize), was: &str) -> Markup {
    html! {
        form method="post" action=(view.path("/heat-run/rows/remove")) data-live {
            (view.hidden())
            input type="hidden" name="log" value=(log);
            input type="hidden" name="row" value=(row);
            input type="hidden" name="was" value=(was);
            button .small aria-label={ "Remove " (was) } { "Remove" }
        }
    }
}
