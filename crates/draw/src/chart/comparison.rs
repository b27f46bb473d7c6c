//! Predicted against shown, in standard deviations.

use super::page::{PITCH, Page, SMALL};
use crate::Drawing;
use crate::fit::wrapped;
use crate::svg::{Anchor, Area, Point, at};
use bench::words::{number, ohms};

/// Standard deviations to either side of the prediction.
const REACH: f64 = 5.0;

/// One reading against its prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The reading in words.
    pub words: String,
    /// Unit of all figures: "V", "ohm" ...
    pub unit: String,
    /// Predicted value; infinite for a predicted 'open'.
    pub predicted: f64,
    /// Standard deviation of what would be shown, if the prediction held.
    pub sigma: f64,
    /// What was shown.
    pub shown: Shown,
    /// Whether they agree.
    pub verdict: Verdict,
}

/// What a meter showed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// A figure.
    Number(f64),
    /// Open, or over range.
    Open,
}

/// Whether a reading agrees with a prediction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It does.
    Fits,
    /// Barely.
    Strained,
    /// It does not.
    DoesNotFit,
}

impl Verdict {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Verdict::Fits => "fits",
            Verdict::Strained => "strained",
            Verdict::DoesNotFit => "does not fit",
        }
    }
}

/// Draws one row per reading: a bar for one and two standard deviations about the prediction, a mark for what was
/// shown (a dot fits, a hollow diamond is strained, a cross does not fit), and both in figures.
pub fn comparisons(title: &str, rows: &[Comparison], width: f64) -> Drawing {
    let mut page = Page::new(title, width);
    if rows.is_empty() {
        return page.only("There are no readings to compare.");
    }
    let axis = axis(&page);
    draw_axis(&mut page, &axis);
    for row in rows {
        draw_row(&mut page, row, &axis);
        page.say(format!("{}: {}; {}.", row.words, figures(row), verdict_words(row)));
    }
    page.y += 4.0;
    let (left, right) = (page.left, page.right);
    let legend = "The bar spans one and two standard deviations about the predicted value. Dot: fits. Hollow diamond: \
                  strained. Cross: does not fit. At either end the reading lies further off than drawn.";
    page.lines("faint", legend, SMALL, left, right, 6);
    page.finish()
}

/// Where the deviations are drawn.
struct Axis {
    middle: f64,
    per_sigma: f64,
}

impl Axis {
    fn x(&self, deviations: f64) -> f64 {
        self.middle + self.per_sigma * deviations.clamp(-REACH, REACH)
    }
}

fn axis(page: &Page) -> Axis {
    let width = page.right - page.left;
    let (left, right) = if page.wide {
        (page.left + 0.36 * width, page.left + 0.66 * width)
    } else {
        (page.left + 14.0, page.right - 14.0)
    };
    Axis { middle: (left + right) / 2.0, per_sigma: (right - left) / (2.0 * REACH) }
}

fn draw_axis(page: &mut Page, axis: &Axis) {
    let middle = axis.middle;
    page.canvas.text("faint", at(middle, page.y + SMALL), Anchor::Middle, SMALL, "off by standard deviations");
    page.y += PITCH + 2.0;
    for deviations in [-4.0, -2.0, 0.0, 2.0, 4.0] {
        let text = if deviations == 0.0 { "0".into() } else { format!("{deviations:+.0}") };
        page.canvas.text("faint", at(axis.x(deviations), page.y + SMALL), Anchor::Middle, SMALL, &text);
    }
    page.y += PITCH + 4.0;
}

fn draw_row(page: &mut Page, row: &Comparison, axis: &Axis) {
    let (left, right) = (page.left, page.right);
    let width = right - left;
    page.canvas.line("rule", at(left, page.y), at(right, page.y));
    page.y += 4.0;
    let top = page.y;
    let words_right = if page.wide { left + 0.34 * width } else { right };
    page.lines("", &row.words, SMALL, left, words_right, 3);
    let words_bottom = page.y;
    let bar_top = if page.wide { top } else { words_bottom + 2.0 };
    draw_bar(page, row, axis, bar_top);
    let bar_bottom = bar_top + 16.0;
    let (text_left, text_top) = if page.wide { (left + 0.68 * width, top) } else { (left, bar_bottom + 2.0) };
    page.canvas.text("strong", at(text_left, text_top + SMALL), Anchor::Start, SMALL, &verdict_words(row));
    let mut y = text_top + PITCH;
    for line in wrapped(&figures(row), SMALL, right - text_left, 3) {
        page.canvas.text("", at(text_left, y + SMALL), Anchor::Start, SMALL, &line);
        y += PITCH;
    }
    page.y = words_bottom.max(bar_bottom).max(y) + 5.0;
}

fn draw_bar(page: &mut Page, row: &Comparison, axis: &Axis, top: f64) {
    let middle = top + 8.0;
    page.canvas.line("rule", at(axis.x(-REACH), middle), at(axis.x(REACH), middle));
    let Some(deviations) = deviations(row) else { return };
    for (class, reach) in [("two-deviations", 2.0), ("one-deviation", 1.0)] {
        let (left, right) = (axis.x(-reach), axis.x(reach));
        page.canvas.rectangle(class, Area { left, top, width: right - left, height: 16.0 }, 2.0);
    }
    page.canvas.line("middle", at(axis.middle, top), at(axis.middle, top + 16.0));
    mark(page, row.verdict, at(axis.x(deviations), middle));
}

/// The mark for what was shown: its shape tells the verdict without colour.
fn mark(page: &mut Page, verdict: Verdict, centre: Point) {
    let size = 5.0;
    let Point { x, y } = centre;
    match verdict {
        Verdict::Fits => page.canvas.circle("fits", centre, size),
        Verdict::Strained => {
            let size = size + 1.0;
            page.canvas.polygon("strained", &[at(x, y - size), at(x + size, y), at(x, y + size), at(x - size, y)]);
        }
        Verdict::DoesNotFit => {
            for sign in [-1.0, 1.0] {
                page.canvas.line("does-not-fit", at(x - size, y - sign * size), at(x + size, y + sign * size));
            }
        }
    }
}

/// How far off the reading is; none if nothing can be drawn. An unexpected 'open' is off the end.
fn deviations(row: &Comparison) -> Option<f64> {
    if !known_spread(row) {
        return None;
    }
    match row.shown {
        Shown::Open => Some(f64::INFINITY),
        Shown::Number(value) => Some((value - row.predicted) / row.sigma).filter(|off| !off.is_nan()),
    }
}

/// "fits, +0.5 sd".
fn verdict_words(row: &Comparison) -> String {
    let words = row.verdict.words();
    match (row.shown, deviations(row)) {
        (Shown::Number(_), Some(off)) if off.abs() < 1000.0 => format!("{words}, {off:+.1} sd"),
        _ => words.into(),
    }
}

fn figures(row: &Comparison) -> String {
    let shown = match row.shown {
        Shown::Open => "open".into(),
        Shown::Number(value) => quantity(value, &row.unit),
    };
    let predicted = match row.unit.as_str() {
        unit if !known_spread(row) => quantity(row.predicted, unit),
        "ohm" if row.predicted >= 1e4 => format!("{} \u{b1} {}", ohms(row.predicted), ohms(row.sigma)),
        unit => format!("{} \u{b1} {} {unit}", number(row.predicted), number(row.sigma)),
    };
    format!("shown {shown}, predicted {predicted}")
}

fn known_spread(row: &Comparison) -> bool {
    row.predicted.is_finite() && row.sigma.is_finite() && row.sigma > 0.0
}

fn quantity(value: f64, unit: &str) -> String {
    match unit {
        _ if value.is_nan() => "not known".into(),
        "ohm" => ohms(value),
        _ if value.is_infinite() => "beyond measure".into(),
        _ => format!("{} {unit}", number(value)),
    }
}
