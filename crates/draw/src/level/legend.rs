//! What arrows and widths mean, below the panels.

use super::layout::Layout;
use super::scale::Flow;
use super::{arrow, words};
use crate::fit::wrapped;
use crate::svg::{Anchor, Canvas, at, text_width};

const SAMPLE_HEIGHT: f64 = 32.0;
const ROW: f64 = 42.0;

/// A sample and its words.
struct Sample {
    flow: Flow,
    width: f64,
    words: String,
}

/// Draws the legend of what the layout holds from `top` down, `left` to `right`; returns where it ends.
pub(super) fn draw(canvas: &mut Canvas, layout: &Layout<'_>, left: f64, right: f64, top: f64) -> f64 {
    let scale = &layout.scale;
    let drawn = |flow| layout.panels.iter().flat_map(|panel| &panel.stands).any(|stand| stand.flow == flow);
    let sample = |flow, words: &str| Sample { flow, width: 8.0, words: words.into() };
    let mut samples = vec![
        sample(Flow::Takes, "down, filled: takes power"),
        sample(Flow::Gives, "up, hollow: delivers power (tinted where it is no supply)"),
        sample(Flow::Swings, "bar: current without net power"),
        sample(Flow::Pale, "thin: next to no current"),
    ];
    samples.retain(|sample| drawn(sample.flow));
    let round = round_down(scale.amps);
    for amps in [round, round / 2.0] {
        samples.push(Sample {
            flow: Flow::Swings,
            width: scale.width(amps),
            words: format!("this wide: {}", words::amps(amps)),
        });
    }
    let (mut x, mut y) = (left, top);
    for sample in samples {
        let breadth = arrow::breadth(sample.flow, sample.width);
        let total = breadth + 6.0 + text_width(&sample.words, words::SMALL);
        if x > left && x + total > right {
            (x, y) = (left, y + ROW);
        }
        arrow::draw(canvas, sample.flow, sample.width, x + breadth / 2.0, y + SAMPLE_HEIGHT, y);
        canvas.text(
            "",
            at(x + breadth + 6.0, y + SAMPLE_HEIGHT / 2.0 + 4.0),
            Anchor::Start,
            words::SMALL,
            &sample.words,
        );
        x += total + 24.0;
    }
    let mut bottom = y + SAMPLE_HEIGHT + 20.0;
    let text = "Each line is a net, as high as its voltage; lines too close to be read are spread apart, and the volts \
                written beside them are the true ones. Width is current, on one scale for all.";
    for line in wrapped(text, words::SMALL, right - left, 6) {
        canvas.text("faint", at(left, bottom), Anchor::Start, words::SMALL, &line);
        bottom += words::PITCH;
    }
    bottom
}

/// The largest of 1, 2 or 5 times a power of ten that is not above a value.
fn round_down(value: f64) -> f64 {
    if value < 1e-6 {
        return 1e-6;
    }
    let power = 10f64.powf(value.log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|&round| round <= value).unwrap_or(power)
}
