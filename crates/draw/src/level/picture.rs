//! Draws what has been laid out.

use super::layout::{Column, GUTTER, Layout, PanelLayout, lay_out, own_breadth};
use super::panel::Panel;
use super::scale::{Flow, is_defined};
use super::{Standing, arrow, columns::Stand, legend, words};
use crate::Drawing;
use crate::fit::{shortened, wrapped};
use crate::svg::{Anchor, Area, Canvas, at, text_width};

const MARGIN: f64 = 16.0;
/// Room between a label and the columns, for its leader.
const LEADER: f64 = 26.0;
/// Between two panels.
const BETWEEN: f64 = 34.0;
/// Narrowest panel, so that sentences fit.
const NARROWEST: f64 = 430.0;
/// Power from which an element that delivers is pointed out, watts; less is lost among the losses of any motor.
const WORTH_NOTICING_WATTS: f64 = 0.5;
/// Small type.
const SMALL: f64 = words::SMALL;

/// Draws panels beside each other on one scale: one, or sound and faulty.
pub fn draw(title: &str, panels: &[Panel]) -> Drawing {
    let layout = lay_out(panels);
    let inner = layout.inner_width();
    let panel_width = (GUTTER + LEADER + inner).max(NARROWEST);
    let count = panels.len().max(1) as f64;
    let width = 2.0 * MARGIN + count * panel_width + (count - 1.0) * BETWEEN;
    let mut canvas = Canvas::new();
    let height = picture(&mut canvas, title, &layout, panel_width, width);
    canvas.paper("paper", Area { left: 0.0, top: 0.0, width, height });
    canvas.finish(title, &description(panels, &layout), width, height)
}

fn picture(canvas: &mut Canvas, title: &str, layout: &Layout<'_>, panel_width: f64, width: f64) -> f64 {
    let heading = shortened(title, 16.0, width - 2.0 * MARGIN);
    canvas.text("strong", at(MARGIN, 26.0), Anchor::Start, 16.0, &heading);
    let mut bottom: f64 = 60.0;
    if layout.panels.is_empty() {
        canvas.text("", at(MARGIN, 56.0), Anchor::Start, 13.0, "There is nothing to draw.");
        bottom = 80.0;
    }
    let last = layout.panels.len().saturating_sub(1);
    for (index, panel) in layout.panels.iter().enumerate() {
        let left = MARGIN + index as f64 * (panel_width + BETWEEN);
        let labels_right = index == last && last > 0;
        let frame = Frame { left, width: panel_width, top: 58.0, labels_right };
        bottom = bottom.max(draw_panel(canvas, layout, panel, &frame));
    }
    if layout.panels.iter().any(|panel| !panel.lines.lines.is_empty()) {
        bottom = legend::draw(canvas, layout, MARGIN, width - MARGIN, bottom + 26.0);
    }
    bottom + 12.0
}

/// Where a panel goes.
struct Frame {
    left: f64,
    width: f64,
    top: f64,
    /// Whether the lines' labels stand at the right.
    labels_right: bool,
}

impl Frame {
    fn columns_left(&self) -> f64 {
        if self.labels_right { self.left } else { self.left + GUTTER + LEADER }
    }

    /// Where the lines' labels stand.
    fn label_edge(&self) -> (f64, Anchor) {
        if self.labels_right {
            (self.left + self.width - GUTTER, Anchor::Start)
        } else {
            (self.left + GUTTER, Anchor::End)
        }
    }
}

fn draw_panel(canvas: &mut Canvas, layout: &Layout<'_>, laid: &PanelLayout<'_>, frame: &Frame) -> f64 {
    let heading = shortened(&laid.panel.title, 14.0, frame.width);
    canvas.text("strong", at(frame.left, frame.top), Anchor::Start, 14.0, &heading);
    if laid.lines.lines.is_empty() {
        let sentence = laid.panel.note.as_deref().unwrap_or("No net has a voltage that could be drawn.");
        return lines_of_text(canvas, "", sentence, frame, frame.top + 30.0);
    }
    let columns = frame.columns_left();
    draw_part_names(canvas, &layout.columns, columns, frame.top + 32.0);
    let (edge, anchor) = frame.label_edge();
    let words = format!("volts to {}", laid.panel.reference);
    canvas.text("faint", at(edge, frame.top + 32.0), anchor, SMALL, &words);
    let base =
        frame.top + 54.0 + layout.panels.iter().map(|panel| panel.labels_reach().1).fold(layout.height, f64::max);
    draw_lines(canvas, layout, laid, frame, base);
    for stand in &laid.stands {
        draw_stand(canvas, layout, laid, stand, columns, base);
    }
    draw_foot(canvas, laid, frame, base - laid.labels_reach().0 + 20.0)
}

/// The parts' names above their columns, each with a bracket over them.
fn draw_part_names(canvas: &mut Canvas, columns: &[Column], left: f64, y: f64) {
    let mut rest = columns;
    while let Some(first) = rest.first() {
        let (own, others) = rest.split_at(rest.iter().take_while(|column| column.part == first.part).count());
        let right = own.last().map_or(first.right, |column| column.right);
        let name = shortened(&first.part, 13.0, right - first.left);
        canvas.group("", &[], &first.part, |canvas| {
            canvas.text("strong", at(left + first.left, y), Anchor::Start, 13.0, &name);
        });
        canvas.line("bracket", at(left + first.left, y + 6.0), at(left + right, y + 6.0));
        rest = others;
    }
}

fn draw_lines(canvas: &mut Canvas, layout: &Layout<'_>, laid: &PanelLayout<'_>, frame: &Frame, base: f64) {
    let columns = frame.columns_left();
    let (label_edge, anchor) = frame.label_edge();
    let edge = if frame.labels_right { label_edge - LEADER } else { columns };
    for (index, line) in laid.lines.lines.iter().enumerate() {
        let (label, middle) = &laid.labels[index];
        let (y, label_y) = (base - line.height, base - middle);
        let title = words::line_title(laid.panel, &line.levels);
        canvas.group("line", &[("data-volts", &format!("{:.2}", line.volts))], &title, |canvas| {
            let gap = if frame.labels_right { -4.0 } else { 4.0 };
            canvas.polyline("leader", &[at(label_edge + gap, label_y), at(edge - gap, y)], None);
            let reaches: Vec<(f64, f64)> = line.pieces.iter().filter_map(|piece| reach(layout, laid, piece)).collect();
            let far = match frame.labels_right {
                true => reaches.iter().map(|reach| reach.0).fold(layout.inner_width(), f64::min),
                false => reaches.iter().map(|reach| reach.1).fold(0.0, f64::max),
            };
            canvas.line("leader", at(edge - gap, y), at(columns + far, y));
            for (from, to) in reaches {
                canvas.line("net", at(columns + from, y), at(columns + to, y));
            }
            for (row, text) in label.iter().enumerate() {
                let class = if row + 1 == label.len() { "strong" } else { "" };
                let row_y = label_y + (row as f64 - label.len() as f64 / 2.0 + 0.8) * words::PITCH;
                canvas.text(class, at(label_edge, row_y), anchor, SMALL, text);
            }
        });
    }
}

/// From where to where the line of joined nets goes: over all columns in which something stands on it or hangs from it.
fn reach(layout: &Layout<'_>, laid: &PanelLayout<'_>, nets: &[usize]) -> Option<(f64, f64)> {
    let on_it =
        |stand: &&Stand<'_>| nets.contains(&stand.standing.from_level) || nets.contains(&stand.standing.to_level);
    let columns: Vec<usize> = laid.stands.iter().filter(on_it).map(|stand| stand.column).collect();
    let (first, last) = (columns.iter().min()?, columns.iter().max()?);
    Some((layout.columns[*first].left - 4.0, layout.columns[*last].label_left + 14.0))
}

/// Whether an element delivers although it is no supply, and enough to be pointed out.
fn worth_noticing(stand: &Stand<'_>) -> bool {
    stand.flow == Flow::Gives && !stand.standing.feeds && -stand.standing.watts >= WORTH_NOTICING_WATTS
}

fn draw_stand(
    canvas: &mut Canvas,
    layout: &Layout<'_>,
    laid: &PanelLayout<'_>,
    stand: &Stand<'_>,
    columns: f64,
    base: f64,
) {
    let column = &layout.columns[stand.column];
    let beside: Vec<&Stand<'_>> = laid.stands.iter().filter(|other| stand.beside(other)).collect();
    let before = beside.iter().take_while(|other| !std::ptr::eq(**other, stand));
    let left = columns + column.left + before.clone().map(|other| own_breadth(other) + 5.0).sum::<f64>();
    let x = left + own_breadth(stand) / 2.0;
    let bottom = base - laid.lines.lines[stand.low].height;
    let ring = stand.low == stand.high;
    let top = if ring { bottom - arrow::RING } else { base - laid.lines.lines[stand.high].height };
    let labels: f64 = beside.iter().map(|other| other.label_height()).sum();
    let first_line = if ring { bottom - labels - 4.0 } else { (top + bottom - labels) / 2.0 };
    let label_top = first_line + before.map(|other| other.label_height()).sum::<f64>();
    let Standing { part, element, .. } = stand.standing;
    let direction = match stand.flow {
        Flow::Takes => "down",
        Flow::Gives => "up",
        Flow::Swings | Flow::Pale => "none",
    };
    let data = [("data-part", part.as_str()), ("data-element", element.as_str()), ("data-direction", direction)];
    let class = if stand.standing.feeds { "standing feeds" } else { "standing" };
    canvas.group(class, &data, &words::sentence(laid.panel, stand.standing), |canvas| {
        let (first, last) = (label_top, label_top + stand.label_height());
        let crosses = |line: &super::lines::Line| (first..last).contains(&(base - line.height));
        if laid.lines.lines.iter().any(crosses) {
            let words = stand.label.iter().map(|line| text_width(line, SMALL)).fold(0.0, f64::max);
            let area = Area { left: columns + column.label_left - 2.0, top: first, width: words, height: last - first };
            canvas.rectangle("paper", area, 0.0);
        }
        if worth_noticing(stand) {
            let alone = beside.len() == 1;
            let (upper, lower) = if alone { (top, bottom) } else { (first, last) };
            let (left, right) = (left - 3.0, columns + column.right + 2.0);
            canvas.rectangle("notice", Area { left, top: upper, width: right - left, height: lower - upper }, 3.0);
        }
        for line in &laid.lines.lines[stand.low + 1..stand.high.max(stand.low + 1)] {
            // A net passed by is broken around the arrow, so that it does not look joined.
            let (half, y) = (own_breadth(stand) / 2.0 + 1.0, base - line.height);
            canvas.rectangle("paper", Area { left: x - half, top: y - 2.0, width: 2.0 * half, height: 4.0 }, 0.0);
        }
        if ring {
            arrow::draw_ring(canvas, stand.flow, stand.width, x, bottom);
        } else {
            arrow::draw(canvas, stand.flow, stand.width, x, bottom, top);
        }
        for (index, line) in stand.label.iter().enumerate() {
            let class = match stand.flow {
                Flow::Pale => "faint",
                Flow::Gives if line.starts_with("gives") => "strong",
                _ => "",
            };
            let y = label_top + (index as f64 + 0.8) * words::PITCH;
            canvas.text(class, at(columns + column.label_left, y), Anchor::Start, SMALL, line);
        }
    });
}

/// What cannot stand between lines: nets of no defined potential, and elements without voltage.
fn draw_foot(canvas: &mut Canvas, laid: &PanelLayout<'_>, frame: &Frame, top: f64) -> f64 {
    let mut y = top;
    let floating: Vec<&super::Level> = laid.panel.levels.iter().filter(|level| !is_defined(level)).collect();
    if !floating.is_empty() {
        canvas.line("unsure", at(frame.left, y), at(frame.left + frame.width, y));
        let names: Vec<&str> = floating.iter().map(|level| level.name.as_str()).collect();
        let full: Vec<&str> = floating.iter().map(|level| level.full.as_str()).collect();
        let text = format!("No defined potential: {}", names.join("; "));
        canvas.group("floating", &[], &full.join("; "), |canvas| {
            y = lines_of_text(canvas, "", &text, frame, y + 18.0);
        });
        y += 8.0;
    }
    if !laid.without_volts.is_empty() {
        let text = format!("Without voltage or current: {}", laid.without_volts.join(", "));
        y = lines_of_text(canvas, "faint", &text, frame, y + 8.0);
    }
    y
}

fn lines_of_text(canvas: &mut Canvas, class: &str, text: &str, frame: &Frame, top: f64) -> f64 {
    let mut y = top;
    for line in wrapped(text, 12.0, frame.width, 5) {
        canvas.text(class, at(frame.left, y), Anchor::Start, 12.0, &line);
        y += 15.0;
    }
    y
}

/// The picture in sentences: every net with its volts, and every element that delivers.
fn description(panels: &[Panel], layout: &Layout<'_>) -> String {
    let mut sentences =
        vec!["Each net is a line as high as its voltage; lines too close together are spread apart.".into()];
    for (panel, laid) in panels.iter().zip(&layout.panels) {
        if laid.lines.lines.is_empty() {
            let note = panel.note.as_deref().unwrap_or("No net has a voltage that could be drawn.");
            sentences.push(format!("{}: {note}", panel.title));
            continue;
        }
        let (defined, floating): (Vec<_>, Vec<_>) = panel.levels.iter().partition(|level| is_defined(level));
        let volts: Vec<String> =
            defined.iter().map(|level| format!("{} at {}", level.name, words::volts(level.volts))).collect();
        sentences.push(format!("{}: volts to {}: {}.", panel.title, panel.reference, volts.join(", ")));
        if !floating.is_empty() {
            let names: Vec<&str> = floating.iter().map(|level| level.name.as_str()).collect();
            sentences.push(format!("No defined potential: {}.", names.join(", ")));
        }
        for stand in laid.stands.iter().filter(|stand| stand.flow == Flow::Gives) {
            let standing = stand.standing;
            sentences.push(format!("{} delivers {}.", words::subject(standing), words::watts(standing.watts)));
        }
    }
    sentences.join(" ")
}
