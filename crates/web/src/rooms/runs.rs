//! Runs from cold: what the sound unit and the leading suspect would do, with what was logged.

use crate::app::App;
use crate::desk::Sheet;
use crate::rooms::jobs::job_id;
use crate::rooms::pictures::framed;
use crate::shell::{self, About};
use crate::trouble::Trouble;
use crate::visitor::Visitor;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Response};
use bench::cautions::cautions;
use bench::heat::words::{end_words, event_words};
use bench::heat::{Case, HeatScales, Logged, Timeline, all_quantities, record};
use bench::wiring::unknown_count;
use bench::{FaultSet, Measure, words};
use draw::Drawing;
use draw::chart::{Series, time_log};
use maud::html;

/// Width of the charts: that of a wide page.
const WIDTH: f64 = 760.0;
/// Points of a predicted line.
const POINTS: usize = 240;
/// Happenings that are told; of a contact that cycles the first few say it all.
const TOLD_MOST: usize = 8;
/// Temperatures drawn: those of the hottest bodies, and all that were logged.
const BODIES: usize = 3;

/// Who goes through a run.
struct Who {
    name: String,
    set: FaultSet,
    deviations: Vec<f64>,
    scales: HeatScales,
}

/// One run as shown.
struct Shown {
    name: String,
    room: f64,
    cautions: Vec<String>,
    told: Vec<(String, Vec<String>, String)>,
    chart: Drawing,
}

/// All runs of a job.
pub async fn show(State(app): State<App>, visitor: Visitor, Path(job): Path<String>) -> Result<Response, Trouble> {
    let id = job_id(&job)?;
    let sheet = app.sheet(&id).await?;
    let sound = FaultSet::none();
    let medians = vec![0.0; unknown_count(&sheet.job.unit, &sound)];
    let usual = HeatScales::medians(&sheet.job.unit);
    let mut who = vec![Who { name: "sound unit".into(), set: sound, deviations: medians, scales: usual.clone() }];
    if !sheet.job.runs.is_empty() {
        let ranking = app.weigh(&sheet).await?;
        if let Some(first) = ranking.suspects.first()
            && let Some(set) = first.set.clone().filter(|set| !set.0.is_empty())
        {
            let scales = first.scales.clone().unwrap_or(usual);
            who.push(Who { name: first.label.clone(), set, deviations: first.deviations.clone(), scales });
        }
    }
    let taken = sheet.clone();
    let shown = tokio::task::spawn_blocking(move || {
        (0..taken.job.runs.len()).map(|run| show_run(&taken, run, &who)).collect::<Result<Vec<Shown>, Trouble>>()
    });
    let shown = shown.await.map_err(|_| Trouble::internal())??;
    let path = format!("/jobs/{job}");
    let manner = visitor.manner;
    let content = manner.write_piece(html! {
        h1 { "Runs of " (sheet.job.unit.name) }
        p { a href=(path) { "Back to the job" } }
        @if shown.is_empty() {
            p { "No run is described yet. Add one to the " a href={ (path) "/text" } { "job text" } " under [runs]." }
        }
        @for (number, run) in shown.iter().enumerate() {
            section .card aria-labelledby={ "run-" (number) } {
                h2 id={ "run-" (number) } { (run.name) }
                p { "From cold, room at " (manner.temperature(run.room)) "." }
                @for caution in &run.cautions { p .caution { (caution) } }
                @for (who, happenings, end) in &run.told {
                    h3 { (who) }
                    ul { @for happening in happenings { li { (happening) } } }
                    p { (end) }
                }
                (framed(&run.chart, &format!("run-chart-{number}"), &format!("Run {} over time", run.name)))
            }
        }
        p .faint {
            "How fast bodies warm and how well they cool follow from plates by rules of thumb: temperatures over the room \
             may be a third off, times as much."
        }
    });
    let about = About { path: &path, revision: sheet.revision.number };
    Ok(Html(shell::page("Runs", Some(&visitor), Some(about), content).into_string()).into_response())
}

fn show_run(sheet: &Sheet, index: usize, who: &[Who]) -> Result<Shown, Trouble> {
    let job = &sheet.job;
    let run = &job.runs[index];
    let quantities = all_quantities(&job.unit);
    let times: Vec<f64> = (0..=POINTS).map(|point| run.end_seconds * point as f64 / POINTS as f64).collect();
    let (mut told, mut series) = (Vec::new(), logged(sheet, index));
    for Who { name, set, deviations, scales } in who {
        let case = Case { unit: &job.unit, setups: &job.setups, run, faults: set, deviations, scales };
        let timeline = record(case, &times, &quantities, &job.meters[0])
            .map_err(|error| Trouble::refused(format!("That run cannot be predicted: {error}.")))?;
        let happening =
            |event: &bench::heat::Event| format!("{}: {}", words::minutes(event.seconds), event_words(job, event.what));
        let mut happenings: Vec<String> = timeline.events.iter().take(TOLD_MOST).map(happening).collect();
        if timeline.events.len() > TOLD_MOST {
            happenings.push("and so on".into());
        }
        told.push((name.clone(), happenings, end_words(&job.unit, timeline.end)));
        series.extend(predicted(sheet, index, name, &quantities, &timeline));
    }
    let mut said: Vec<String> =
        run.steps.iter().flat_map(|step| cautions(&job.unit, &job.setups[step.setup])).collect();
    let mut known = Vec::new();
    said.retain(|caution| {
        let is_new = !known.contains(caution);
        known.push(caution.clone());
        is_new
    });
    let chart = time_log(&format!("Run {}", run.name), &series, &[], WIDTH);
    Ok(Shown { name: run.name.clone(), room: run.room_celsius, cautions: said, told, chart })
}

/// What was logged in a run, as series.
fn logged(sheet: &Sheet, run: usize) -> Vec<Series> {
    let job = &sheet.job;
    let of_run = job.logs.iter().filter(|log| log.run == run);
    of_run
        .flat_map(|log| {
            log.channels.iter().map(|channel| {
                let points = log.seconds.iter().zip(&channel.values);
                Series {
                    label: format!("logged {}", place(sheet, channel.logged)),
                    unit: unit_of(channel.logged).into(),
                    points: points.map(|(seconds, value)| (seconds / 60.0, value.unwrap_or(f64::NAN))).collect(),
                }
            })
        })
        .collect()
}

/// What was logged, or, without a log, the supply current and the bodies that get hottest.
fn predicted(
    sheet: &Sheet,
    run: usize,
    who: &str,
    quantities: &[Logged],
    timeline: &Timeline<Vec<f64>>,
) -> Vec<Series> {
    let job = &sheet.job;
    let mut wanted: Vec<Logged> = job
        .logs
        .iter()
        .filter(|log| log.run == run)
        .flat_map(|log| log.channels.iter().map(|channel| channel.logged))
        .collect();
    if wanted.is_empty() {
        let hottest = |place: usize| timeline.samples.iter().map(|sample| sample.look[place]).fold(0.0, f64::max);
        let mut bodies: Vec<usize> = (0..quantities.len()).filter(|&place| quantities[place].is_celsius()).collect();
        bodies.sort_by(|&a, &b| hottest(b).total_cmp(&hottest(a)));
        let amps = |quantity: &&Logged| matches!(quantity, Logged::Electric(Measure::AmpsAtTerminal(_)));
        wanted.extend(quantities.iter().filter(amps));
        wanted.extend(bodies.into_iter().take(BODIES).map(|place| quantities[place]));
    }
    let found = wanted.iter().filter_map(|wanted| quantities.iter().position(|quantity| quantity == wanted));
    found
        .map(|place_of| Series {
            label: format!("{}, {who}", place(sheet, quantities[place_of])),
            unit: unit_of(quantities[place_of]).into(),
            points: timeline.samples.iter().map(|sample| (sample.seconds / 60.0, sample.look[place_of])).collect(),
        })
        .collect()
}

fn place(sheet: &Sheet, quantity: Logged) -> String {
    match quantity {
        Logged::Electric(measure) => words::place(&sheet.job.unit, measure),
        _ => quantity.celsius_place(&sheet.job.unit).unwrap_or_default(),
    }
}

fn unit_of(quantity: Logged) -> &'static str {
    match quantity {
        Logged::Electric(measure) => measure.unit(),
        Logged::Celsius(..) | Logged::Air(_) => "°C",
    }
}
