//! A log over time: one pane per unit under each other, all on one time axis.

use super::page::{PITCH, Page, SMALL};
use super::ticks::Ticks;
use crate::Drawing;
use crate::fit::{spread_within, wrapped};
use crate::svg::{Anchor, Point, at, text_width};
use bench::words::number;

/// Least height of a pane.
const PANE: f64 = 130.0;
/// Between two panes.
const BETWEEN: f64 = 34.0;
/// Room between the end of a pane and its labels.
const LEADER: f64 = 18.0;
/// Pause between points, in usual pauses, from which the line is broken: data is missing.
const GAP: f64 = 4.0;
/// Kinds of line that can be told apart.
const TRACES: usize = 4;
/// Largest figure that is drawn.
const LARGEST: f64 = 1e6;

/// One logged quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is.
    pub label: String,
    /// Its unit; series of one unit share a pane.
    pub unit: String,
    /// Minutes and values; a value that is not a number breaks the line, as a long pause does.
    pub points: Vec<(f64, f64)>,
}

/// A limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What it is, with its source.
    pub words: String,
    /// Its unit: it is drawn in the pane of this unit.
    pub unit: String,
    /// Its value.
    pub value: f64,
}

/// Draws series and limits over time, each labelled where it ends.
pub fn time_log(title: &str, series: &[Series], limits: &[Limit], width: f64) -> Drawing {
    let mut page = Page::new(title, width);
    let mut traces: Vec<Trace<'_>> = series.iter().map(Trace::of).filter(|trace| !trace.runs.is_empty()).collect();
    if traces.is_empty() {
        return page.only("Nothing has been logged yet.");
    }
    let mut units: Vec<&str> = Vec::new();
    for trace in &mut traces {
        let unit = trace.series.unit.as_str();
        if !units.contains(&unit) {
            units.push(unit);
        }
    }
    let room = if page.wide { 170.0 } else { 104.0 };
    let minutes = traces.iter().flat_map(Trace::points).map(|(minute, _)| minute);
    let span = page.right - page.left - room;
    let time = Ticks::over(minutes, (span / 70.0) as usize);
    for unit in units {
        let own: Vec<&Trace<'_>> = traces.iter().filter(|trace| trace.series.unit == unit).collect();
        let fits = |limit: &&Limit| limit.unit == unit && limit.value.abs() <= LARGEST;
        let limits: Vec<&Limit> = limits.iter().filter(fits).collect();
        Pane::new(&page, unit, &own, &limits, &time, room).draw(&mut page);
        for trace in own {
            page.say(sentence(trace));
        }
        for limit in limits {
            page.say(format!("Limit: {}, {}.", limit.words, value_words(limit.value, unit)));
        }
    }
    page.finish()
}

/// A series in unbroken runs.
struct Trace<'s> {
    series: &'s Series,
    runs: Vec<Vec<(f64, f64)>>,
}

impl<'s> Trace<'s> {
    fn of(series: &'s Series) -> Self {
        let drawable = |figure: f64| figure.abs() <= LARGEST;
        let mut points: Vec<(f64, f64)> = series.points.iter().copied().filter(|point| drawable(point.0)).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut pauses: Vec<f64> = points.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
        pauses.sort_by(f64::total_cmp);
        let usual = pauses.get(pauses.len() / 2).copied().unwrap_or(0.0);
        let mut runs: Vec<Vec<(f64, f64)>> = Vec::new();
        let mut last: Option<f64> = None;
        for (minute, value) in points {
            if !drawable(value) {
                last = None;
                continue;
            }
            match (last, runs.last_mut()) {
                (Some(before), Some(run)) if usual <= 0.0 || minute - before <= GAP * usual => {
                    run.push((minute, value))
                }
                _ => runs.push(vec![(minute, value)]),
            }
            last = Some(minute);
        }
        Trace { series, runs }
    }

    fn points(&self) -> impl Iterator<Item = (f64, f64)> {
        self.runs.iter().flatten().copied()
    }

    fn end(&self) -> (f64, f64) {
        self.points().last().unwrap_or_default()
    }
}

/// A label at the right and where its leader starts.
struct Label {
    lines: Vec<String>,
    from: Point,
    strong: bool,
}

struct Pane<'p> {
    unit: &'p str,
    traces: &'p [&'p Trace<'p>],
    limits: &'p [&'p Limit],
    time: &'p Ticks,
    values: Ticks,
    left: f64,
    right: f64,
    top: f64,
    height: f64,
    label_width: f64,
}

impl<'p> Pane<'p> {
    fn new(
        page: &Page,
        unit: &'p str,
        traces: &'p [&'p Trace<'p>],
        limits: &'p [&'p Limit],
        time: &'p Ticks,
        room: f64,
    ) -> Self {
        let figures = traces.iter().flat_map(|trace| trace.points()).map(|(_, value)| value);
        let values = Ticks::over(figures.chain(limits.iter().map(|limit| limit.value)), 4);
        let widest = values.at.iter().map(|&tick| text_width(&values.text(tick), SMALL)).fold(0.0, f64::max);
        let label_width = room - LEADER;
        let mut pane = Pane {
            unit,
            traces,
            limits,
            time,
            values,
            left: page.left + widest + 6.0,
            right: page.right - room,
            top: page.y + PITCH + 8.0,
            height: 0.0,
            label_width,
        };
        let needed: f64 = pane.labels().iter().map(label_size).sum();
        pane.height = needed.max(PANE);
        pane
    }

    fn x(&self, minute: f64) -> f64 {
        self.left + self.time.share(minute) * (self.right - self.left)
    }

    fn y(&self, value: f64) -> f64 {
        self.top + (1.0 - self.values.share(value)) * self.height
    }

    fn draw(self, page: &mut Page) {
        page.canvas.text("strong", at(page.left, page.y + SMALL), Anchor::Start, SMALL, &unit_words(self.unit));
        for &tick in &self.values.at {
            let y = self.y(tick);
            page.canvas.line("rule", at(self.left, y), at(self.right, y));
            page.canvas.text("faint", at(self.left - 5.0, y + 4.0), Anchor::End, SMALL, &self.values.text(tick));
        }
        let bottom = self.top + self.height;
        for &tick in &self.time.at {
            let x = self.x(tick);
            page.canvas.line("rule", at(x, bottom), at(x, bottom + 5.0));
            page.canvas.text("faint", at(x, bottom + 17.0), Anchor::Middle, SMALL, &self.time.text(tick));
        }
        page.canvas.text("faint", at(page.right, bottom + 17.0), Anchor::End, SMALL, "minutes");
        for limit in self.limits {
            let y = self.y(limit.value);
            page.canvas.line("limit", at(self.left, y), at(self.right, y));
        }
        for (number, trace) in self.traces.iter().enumerate() {
            self.draw_trace(page, number % TRACES, trace);
        }
        self.draw_labels(page);
        page.y = bottom + BETWEEN;
    }

    fn draw_trace(&self, page: &mut Page, number: usize, trace: &Trace<'_>) {
        page.canvas.group("", &[("data-series", trace.series.label.as_str())], &trace.series.label, |canvas| {
            for run in &trace.runs {
                let points: Vec<Point> = run.iter().map(|&(minute, value)| at(self.x(minute), self.y(value))).collect();
                match points.as_slice() {
                    [point] => canvas.circle(&format!("dot-{number}"), *point, 2.5),
                    _ => canvas.polyline(&format!("trace trace-{number}"), &points, None),
                }
            }
        });
    }

    fn labels(&self) -> Vec<Label> {
        let lines = |text: &str| wrapped(text, SMALL, self.label_width, 4);
        let of_trace = |trace: &&Trace<'_>| {
            let (minute, value) = trace.end();
            let text = format!("{} {}", trace.series.label, value_words(value, self.unit));
            Label { lines: lines(&text), from: at(self.x(minute), self.y(value)), strong: true }
        };
        let of_limit = |limit: &&Limit| {
            let text = format!("limit {}: {}", value_words(limit.value, self.unit), limit.words);
            Label { lines: lines(&text), from: at(self.right, self.y(limit.value)), strong: false }
        };
        self.traces.iter().map(of_trace).chain(self.limits.iter().map(of_limit)).collect()
    }

    fn draw_labels(&self, page: &mut Page) {
        let mut labels = self.labels();
        labels.sort_by(|a, b| a.from.y.total_cmp(&b.from.y));
        let wanted: Vec<f64> = labels.iter().map(|label| label.from.y).collect();
        let sizes: Vec<f64> = labels.iter().map(label_size).collect();
        let middles = spread_within(&wanted, &sizes, self.top, self.top + self.height);
        for (label, middle) in labels.iter().zip(middles) {
            let edge = self.right + LEADER;
            page.canvas.polyline(
                "leader",
                &[label.from, at(self.right + 3.0, label.from.y), at(edge - 3.0, middle)],
                None,
            );
            let first = middle - label.lines.len() as f64 * PITCH / 2.0;
            for (row, line) in label.lines.iter().enumerate() {
                let y = first + row as f64 * PITCH + SMALL;
                page.canvas.text(if label.strong { "strong" } else { "" }, at(edge, y), Anchor::Start, SMALL, line);
            }
        }
    }
}

fn label_size(label: &Label) -> f64 {
    label.lines.len() as f64 * PITCH + 3.0
}

fn unit_words(unit: &str) -> String {
    match unit {
        "A" => "amps".into(),
        "W" => "watts".into(),
        "V" => "volts".into(),
        "\u{b0}C" | "C" => "degrees Celsius".into(),
        other => other.into(),
    }
}

fn value_words(value: f64, unit: &str) -> String {
    format!("{} {unit}", number(value))
}

fn sentence(trace: &Trace<'_>) -> String {
    let Series { label, unit, .. } = trace.series;
    let (low, high) = trace
        .points()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (_, value)| (low.min(value), high.max(value)));
    let (minute, value) = trace.end();
    let broken = match trace.runs.len() {
        1 => String::new(),
        runs => format!(", with {} gaps", runs - 1),
    };
    format!(
        "{label}: between {} and {}{broken}; {} after {} minutes.",
        value_words(low, unit),
        value_words(high, unit),
        value_words(value, unit),
        number(minute)
    )
}
