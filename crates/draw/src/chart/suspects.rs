//! Suspects as bars, and which readings moved them.

use super::page::{PITCH, Page, SMALL};
use crate::Drawing;
use crate::fit::{shortened, wrapped};
use crate::svg::{Anchor, Area, at};
use bench::words::percent;

/// Likelihood ratio at which a reading's bar is at least full; more is told by its figure.
const FULL_BAR: f64 = 1000.0;
/// Likelihood ratio that the scale spans at least, so that a trifle does not look like proof.
const LEAST_SPAN: f64 = 10.0;
/// Ratio nearer to one than this is no help either way.
const NO_HELP: f64 = 1.05;
/// Room for "x 1000000 for it".
const FACTOR_WIDTH: f64 = 112.0;

/// One suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct SuspectBar {
    /// What is suspected.
    pub label: String,
    /// Its probability, 0 to 1.
    pub probability: f64,
    /// What moved it, most important first.
    pub moved: Vec<Moved>,
}

/// What one reading did to a suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// The reading.
    pub words: String,
    /// Natural logarithm of the factor by which it multiplied the suspect's odds.
    pub log_ratio: f64,
}

/// Draws suspects from the top down, each with its probability and what moved it.
pub fn suspects(title: &str, bars: &[SuspectBar], width: f64) -> Drawing {
    let mut page = Page::new(title, width);
    if bars.is_empty() {
        return page.only("There are no suspects to show.");
    }
    let sizes = bars.iter().flat_map(|bar| &bar.moved).map(|moved| moved.log_ratio.abs());
    let span = sizes.filter(|size| size.is_finite()).fold(LEAST_SPAN.ln(), f64::max).min(FULL_BAR.ln());
    if bars.iter().any(|bar| !bar.moved.is_empty()) {
        heading(&mut page);
    }
    for bar in bars {
        draw_bar(&mut page, bar);
        for moved in &bar.moved {
            draw_moved(&mut page, moved, span);
        }
        page.y += 12.0;
        page.say(sentence(bar));
    }
    page.finish()
}

/// Left and right edge of the readings' bars.
fn bar_edges(page: &Page) -> (f64, f64) {
    let left = if page.wide { page.left + 0.5 * (page.right - page.left) } else { page.left + 14.0 };
    (left, page.right - FACTOR_WIDTH)
}

fn heading(page: &mut Page) {
    let (left, right) = bar_edges(page);
    let (middle, y) = ((left + right) / 2.0, page.y + SMALL);
    page.canvas.text("faint", at(middle - 8.0, y), Anchor::End, SMALL, "\u{25c2} against");
    page.canvas.text("faint", at(middle + 8.0, y), Anchor::Start, SMALL, "speaks for it \u{25b8}");
    page.y += PITCH + 4.0;
}

fn draw_bar(page: &mut Page, bar: &SuspectBar) {
    let (left, right) = (page.left, page.right);
    page.lines("strong", &bar.label, 13.0, left, right, 3);
    let known = (0.0..=1.0).contains(&bar.probability);
    let words = probability_words(bar.probability);
    let track = Area { left, top: page.y + 2.0, width: right - left - 70.0, height: 12.0 };
    page.canvas.rectangle("track", track, 2.0);
    if known {
        let share = Area { width: track.width * bar.probability, ..track };
        page.canvas.rectangle("share", share, 2.0);
    }
    page.canvas.text("strong", at(right, page.y + 13.0), Anchor::End, 12.0, &words);
    page.y += 22.0;
}

fn draw_moved(page: &mut Page, moved: &Moved, span: f64) {
    let (left, right) = bar_edges(page);
    let words_right = if page.wide { left - 12.0 } else { page.right };
    let lines = wrapped(&moved.words, SMALL, words_right - page.left - 14.0, 2);
    for (row, line) in lines.iter().enumerate() {
        let y = page.y + SMALL + row as f64 * PITCH;
        page.canvas.text("", at(page.left + 14.0, y), Anchor::Start, SMALL, line);
    }
    let words_height = lines.len() as f64 * PITCH;
    let top = if page.wide { page.y } else { page.y + words_height };
    let middle = (left + right) / 2.0;
    let share = if moved.log_ratio.is_nan() { 0.0 } else { (moved.log_ratio / span).clamp(-1.0, 1.0) };
    let length = share.abs() * (right - left) / 2.0;
    page.canvas.line("middle", at(middle, top), at(middle, top + PITCH));
    if share > 0.0 {
        page.canvas.rectangle("for", Area { left: middle, top: top + 3.0, width: length, height: 9.0 }, 0.0);
    } else if share < 0.0 {
        let area = Area { left: middle - length, top: top + 3.0, width: length, height: 9.0 };
        page.canvas.rectangle("against", area, 0.0);
    }
    let factor = shortened(&factor_words(moved.log_ratio), SMALL, FACTOR_WIDTH - 6.0);
    page.canvas.text("", at(page.right, top + SMALL), Anchor::End, SMALL, &factor);
    page.y = (page.y + words_height).max(top + PITCH) + 3.0;
}

fn probability_words(probability: f64) -> String {
    if (0.0..=1.0).contains(&probability) { percent(probability) } else { "not known".into() }
}

/// "x 12 for it", "\u{f7} 12 against".
fn factor_words(log_ratio: f64) -> String {
    let (sign, side) = if log_ratio >= 0.0 { ("x", "for it") } else { ("\u{f7}", "against") };
    match log_ratio.abs().exp() {
        factor if factor.is_nan() => "not known".into(),
        factor if factor < NO_HELP => "no help".into(),
        factor if factor >= 1e6 => format!("{sign} > 1 million"),
        factor if factor >= 9.95 => format!("{sign} {factor:.0} {side}"),
        factor => format!("{sign} {factor:.1} {side}"),
    }
}

fn sentence(bar: &SuspectBar) -> String {
    let mut text = format!("{}: {}.", bar.label, probability_words(bar.probability));
    for moved in &bar.moved {
        text += &format!(" {}: {}.", moved.words, factor_words(moved.log_ratio));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_are_said_as_they_multiply_odds() {
        assert_eq!(factor_words(12.0_f64.ln()), "x 12 for it");
        assert_eq!(factor_words(-(2.5_f64.ln())), "\u{f7} 2.5 against");
        assert_eq!(factor_words(0.01), "no help");
        assert_eq!(factor_words(f64::INFINITY), "x > 1 million");
        assert_eq!(factor_words(f64::NAN), "not known");
    }
}
