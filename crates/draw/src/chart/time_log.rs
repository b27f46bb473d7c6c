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
const BETWEEN: f64 = 40.0;
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
    let traces: Vec<Trace<'_>> = series.iter().map(Trace::of).filter(|trace| !trace.runs.is_empty()).collect();
    if traces.is_empty() {
        return page.only("Nothing has been logged yet.");
    }
    let mut units: Vec<&str> = traces.iter().map(|trace| trace.series.unit.as_str()).collect();
    units.dedup();
    units = units
        .iter()
        .enumerate()
        .filter(|(index, unit)| !units[..*index].contains(unit))
        .map(|(_, &unit)| unit)
        .collect();
    let mut panes: Vec<Pane<'_>> = units.into_iter().map(|unit| Pane::of(unit, &traces, limits)).collect();
    let ticks_width = panes.iter().map(Pane::ticks_width).fold(0.0, f64::max);
    let room = if page.wide { 170.0 } else { 104.0 };
    let frame = Frame { left: page.left + ticks_width + 6.0, right: page.right - room, label_width: room - LEADER };
    let minutes: Vec<f64> = traces.iter().flat_map(Trace::points).map(|(minute, _)| minute).collect();
    let time = Ticks::within(&minutes, ((frame.right - frame.left) / 55.0) as usize);
    for pane in &mut panes {
        pane.place(page.y + PITCH + 8.0, &frame, &time);
        pane.draw(&mut page, &frame, &time);
        for trace in &pane.traces {
            page.say(pane.sentence(trace));
        }
        for limit in &pane.limits {
            page.say(format!("Limit: {}, {}.", limit.words, pane.value_words(limit.value)));
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

/// Edges that all panes share.
struct Frame {
    left: f64,
    right: f64,
    label_width: f64,
}

impl Frame {
    fn x(&self, time: &Ticks, minute: f64) -> f64 {
        self.left + time.share(minute) * (self.right - self.left)
    }
}

/// All series and limits of one unit.
struct Pane<'p> {
    unit: &'p str,
    traces: Vec<&'p Trace<'p>>,
    limits: Vec<&'p Limit>,
    values: Ticks,
    top: f64,
    height: f64,
}

impl<'p> Pane<'p> {
    fn of(unit: &'p str, traces: &'p [Trace<'p>], limits: &'p [Limit]) -> Self {
        let traces: Vec<&Trace<'_>> = traces.iter().filter(|trace| trace.series.unit == unit).collect();
        let fits = |limit: &&Limit| limit.unit == unit && limit.value.abs() <= LARGEST;
        let limits: Vec<&Limit> = limits.iter().filter(fits).collect();
        let figures = traces.iter().flat_map(|trace| trace.points()).map(|(_, value)| value);
        let values = Ticks::over(figures.chain(limits.iter().map(|limit| limit.value)), 4);
        Pane { unit, traces, limits, values, top: 0.0, height: PANE }
    }

    fn ticks_width(&self) -> f64 {
        self.values.at.iter().map(|&tick| text_width(&self.values.text(tick), SMALL)).fold(0.0, f64::max)
    }

    /// Gives it its place, high enough for its labels.
    fn place(&mut self, top: f64, frame: &Frame, time: &Ticks) {
        self.top = top;
        let needed: f64 = self.labels(frame, time).iter().map(label_size).sum();
        self.height = needed.max(PANE);
    }

    fn y(&self, value: f64) -> f64 {
        self.top + (1.0 - self.values.share(value)) * self.height
    }

    fn draw(&self, page: &mut Page, frame: &Frame, time: &Ticks) {
        page.canvas.text("strong", at(page.left, page.y + SMALL), Anchor::Start, SMALL, &unit_words(self.unit));
        for &tick in &self.values.at {
            let y = self.y(tick);
            page.canvas.line("rule", at(frame.left, y), at(frame.right, y));
            page.canvas.text("faint", at(frame.left - 5.0, y + 4.0), Anchor::End, SMALL, &self.values.text(tick));
        }
        let bottom = self.top + self.height;
        for &tick in &time.at {
            let x = frame.x(time, tick);
            page.canvas.line("rule", at(x, bottom), at(x, bottom + 5.0));
            page.canvas.text("faint", at(x, bottom + 20.0), Anchor::Middle, SMALL, &time.text(tick));
        }
        page.canvas.text("faint", at(page.right, bottom + 20.0), Anchor::End, SMALL, "minutes");
        for limit in &self.limits {
            let y = self.y(limit.value);
            page.canvas.line("limit", at(frame.left, y), at(frame.right, y));
        }
        for (number, trace) in self.traces.iter().enumerate() {
            self.draw_trace(page, frame, time, number % TRACES, trace);
        }
        self.draw_labels(page, frame, time);
        page.y = bottom + BETWEEN;
    }

    fn draw_trace(&self, page: &mut Page, frame: &Frame, time: &Ticks, number: usize, trace: &Trace<'_>) {
        page.canvas.group("", &[("data-series", trace.series.label.as_str())], &trace.series.label, |canvas| {
            for run in &trace.runs {
                let points: Vec<Point> =
                    run.iter().map(|&(minute, value)| at(frame.x(time, minute), self.y(value))).collect();
                match points.as_slice() {
                    [point] => canvas.circle(&format!("dot-{number}"), *point, 2.5),
                    _ => canvas.polyline(&format!("trace trace-{number}"), &points, None),
                }
            }
        });
    }

    fn labels(&self, frame: &Frame, time: &Ticks) -> Vec<Label> {
        let lines = |text: &str| wrapped(text, SMALL, frame.label_width, 4);
        let of_trace = |trace: &&Trace<'_>| {
            let (minute, value) = trace.end();
            let text = format!("{} {}", trace.series.label, self.value_words(value));
            Label { lines: lines(&text), from: at(frame.x(time, minute), self.y(value)), strong: true }
        };
        let of_limit = |limit: &&Limit| {
            let text = format!("limit {}: {}", self.value_words(limit.value), limit.words);
            Label { lines: lines(&text), from: at(frame.right, self.y(limit.value)), strong: false }
        };
        self.traces.iter().map(of_trace).chain(self.limits.iter().map(of_limit)).collect()
    }

    fn value_words(&self, value: f64) -> String {
        format!("{}\u{a0}{}", self.values.finer_text(value), self.unit)
    }

    fn sentence(&self, trace: &Trace<'_>) -> String {
        let values = || trace.points().map(|(_, value)| value);
        let (low, high) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
        let (minute, value) = trace.end();
        let broken = match trace.runs.len() {
            1 => String::new(),
            2 => ", with a gap".into(),
            runs => format!(", with {} gaps", runs - 1),
        };
        let words = |value| self.value_words(value);
        let (label, last) = (&trace.series.label, number(minute));
        format!("{label}: between {} and {}{broken}; {} at {last} minutes.", words(low), words(high), words(value))
    }

    fn draw_labels(&self, page: &mut Page, frame: &Frame, time: &Ticks) {
        let mut labels = self.labels(frame, time);
        labels.sort_by(|a, b| a.from.y.total_cmp(&b.from.y));
        let wanted: Vec<f64> = labels.iter().map(|label| label.from.y).collect();
        let sizes: Vec<f64> = labels.iter().map(label_size).collect();
        let middles = spread_within(&wanted, &sizes, self.top, self.top + self.height);
        for (label, middle) in labels.iter().zip(middles) {
            let edge = frame.right + LEADER;
            page.canvas.polyline(
                "leader",
                &[label.from, at(frame.right + 3.0, label.from.y), at(edge - 3.0, middle)],
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
