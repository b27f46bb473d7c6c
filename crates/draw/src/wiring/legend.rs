//! What the marks of a drawing mean, in rows below it.

use super::WiringView;
use super::layout::{Layout, MARGIN};
use super::scale::Scale;
use super::symbols;
use crate::svg::{Anchor, Canvas, at, text_width};
use bench::words;

const SIZE: f64 = 10.5;
const ROW: f64 = 22.0;
/// Room for a sample, and between entries.
const SAMPLE: f64 = 30.0;
const BETWEEN: f64 = 22.0;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Sample {
    Width(f64),
    Idle,
    Onward,
    Takes,
    Gives,
    Lifted,
    Open,
    Jumper,
    Suspect,
}

fn entries(view: &WiringView<'_>, scale: Scale) -> Vec<(Sample, String)> {
    let mut entries = Vec::new();
    if let Some(flows) = &view.flows {
        let amps = scale.round_amps();
        if let Some(words) = flows.cut_off {
            entries.push((Sample::Open, format!("{words}: the unit is dead")));
        }
        entries.push((Sample::Width(scale.width(amps)), format!("width: {} A", trimmed(amps))));
        entries.push((Sample::Idle, "thin: no current".to_owned()));
        entries.push((Sample::Onward, "power this way; in neutral, the way back".to_owned()));
        entries.push((Sample::Takes, "takes power".to_owned()));
        entries.push((Sample::Gives, "gives power".to_owned()));
        if !flows.open.is_empty() || !flows.open_leads.is_empty() || flows.wires.iter().any(Option::is_none) {
            entries.push((Sample::Open, "open".to_owned()));
        }
    }
    if let Some(setup) = view.setup {
        if !setup.lifted.is_empty() {
            entries.push((Sample::Lifted, "wires off this terminal".to_owned()));
        }
        if !setup.jumpers.is_empty() {
            entries.push((Sample::Jumper, "jumper".to_owned()));
        }
    }
    if !view.suspects.is_empty() {
        entries.push((Sample::Suspect, "suspect".to_owned()));
    }
    entries
}

fn trimmed(amps: f64) -> String {
    let text = words::number(amps);
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.to_owned()
}

/// Draws the legend below a layout; returns the height it takes.
pub(super) fn draw(canvas: &mut Canvas, view: &WiringView<'_>, layout: &Layout, width: f64, scale: Scale) -> f64 {
    let (mut x, mut y) = (MARGIN, layout.height + 6.0);
    let entries = entries(view, scale);
    if entries.is_empty() {
        return 0.0;
    }
    for (sample, text) in entries {
        let room = SAMPLE + text_width(&text, SIZE);
        if x + room > width - MARGIN && x > MARGIN {
            x = MARGIN;
            y += ROW;
        }
        let middle = at(x + 12.0, y);
        draw_sample(canvas, sample, middle);
        canvas.text("plain", at(x + SAMPLE, y + 4.0), Anchor::Start, SIZE, &text);
        x += room + BETWEEN;
    }
    y + ROW - layout.height
}

fn draw_sample(canvas: &mut Canvas, sample: Sample, middle: crate::svg::Point) {
    let ends = [at(middle.x - 11.0, middle.y), at(middle.x + 11.0, middle.y)];
    match sample {
        Sample::Width(width) => canvas.polyline("lead", &ends, Some(width)),
        Sample::Idle => canvas.polyline("pale", &ends, Some(1.2)),
        Sample::Onward => {
            canvas.polyline("lead", &ends, Some(2.0));
            let (x, y) = (middle.x, middle.y);
            canvas.polygon("arrow", &[at(x + 7.0, y), at(x - 5.0, y - 7.0), at(x - 5.0, y + 7.0)]);
        }
        Sample::Takes | Sample::Gives => {
            symbols::power_arrow(canvas, ends[0], ends[1], sample == Sample::Takes);
        }
        Sample::Lifted => lifted(canvas, middle),
        Sample::Open => symbols::open(canvas, middle),
        Sample::Jumper => {
            canvas.group("jumper", &[], "", |canvas| canvas.polyline("strand", &ends, Some(3.6)));
        }
        Sample::Suspect => canvas.polyline("halo", &ends, Some(9.0)),
    }
}

/// Mark in the gap between a terminal and the wires taken off it.
pub(super) fn lifted(canvas: &mut Canvas, middle: crate::svg::Point) {
    for x in [-2.0, 2.0] {
        let line = [at(middle.x + x - 2.5, middle.y + 7.0), at(middle.x + x + 2.5, middle.y - 7.0)];
        canvas.polyline("cross", &line, Some(1.6));
    }
}
