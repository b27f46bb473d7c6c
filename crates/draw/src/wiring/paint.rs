//! Paints a layout.

use super::bodies::Pen;
use super::conduction::{Conduction, Joints};
use super::describe;
use super::form::Form;
use super::layout::{Layout, MARGIN, PlacedBody, PlacedTerminal};
use super::legend;
use super::plan::Link;
use super::scale::Scale;
use super::size::{Caption, SMALL, TAIL, short_terminal};
use super::strands::{self, is_lifted};
use super::words::wrap;
use super::{WiringView, arrange, scale};
use crate::svg::{Anchor, Area, Canvas, Drawing, Point, at};
use bench::{Place, words};

/// Type size of the heading and the line below it.
const HEADING: f64 = 15.0;
const SUBHEADING: f64 = 11.0;
/// A drawing is never narrower, so that heading and legend have room.
const NARROWEST: f64 = 420.0;
/// Width of the line that gathers the wires of a terminal.
const BAR: f64 = 3.0;
/// Room between heading and drawing, for the label of a wire at the very top.
const ABOVE: f64 = 12.0;
/// Radius within which a terminal is hit.
const HIT: f64 = 13.0;

/// Draws the wiring of a unit.
pub fn draw(view: &WiringView<'_>) -> Drawing {
    let conduction = Conduction::of(view.unit);
    let joints = Joints::in_setup(view.unit, view.setup);
    let mut layout = arranged(view, &conduction);
    let scale = scale(view);
    let width = f64::max(layout.width, NARROWEST);
    let heading = heading(view, width);
    let top: f64 = heading.iter().map(|(_, size, _)| 1.35 * size).sum();
    layout.move_down(top + ABOVE);
    let mut canvas = Canvas::new();
    let mut height = layout.height;
    canvas.group("wiring", &[], "", |canvas| {
        let mut y = MARGIN;
        for (class, size, text) in &heading {
            y += 1.35 * size;
            canvas.text(class, at(MARGIN, y - 0.35 * size), Anchor::Start, *size, text);
        }
        for route in &layout.routes {
            strands::draw(canvas, view, &layout, route, scale);
        }
        let pen = Pen { symbols: view.symbols, joints: &joints, flows: view.flows.as_ref(), scale };
        for body in &layout.bodies {
            draw_body(canvas, view, &pen, body, &conduction);
        }
        for body in &layout.bodies {
            for terminal in &body.terminals {
                draw_terminal(canvas, view, terminal, scale);
            }
        }
        if let Some(flows) = &view.flows {
            let obstacles = obstacles(&layout);
            for route in &layout.routes {
                let Link::Wire(index) = route.link else { continue };
                let flow = flows.wires.get(index).copied().flatten();
                strands::mark(canvas, &obstacles, route, flow, scale.width(flow.map_or(0.0, |flow| flow.amps)));
            }
        }
        height += legend::draw(canvas, view, &layout, width, scale);
    });
    canvas.paper("wiring-paper", Area { left: 0.0, top: 0.0, width, height });
    let title = match view.setup {
        Some(setup) => format!("Wiring of {}, setup {}", view.unit.name, setup.name),
        None => format!("Wiring of {}", view.unit.name),
    };
    canvas.finish(&title, &describe::describe(view, layout.crossings()), width, height)
}

/// With jumpers, the layout keeps the order it has without them.
fn arranged(view: &WiringView<'_>, conduction: &Conduction) -> Layout {
    if let Some(before) = view.like {
        return arrange(view, conduction, Some(&before.kept));
    }
    if view.setup.is_none_or(|setup| setup.jumpers.is_empty()) {
        return arrange(view, conduction, None);
    }
    let plain = arrange(&WiringView::new(view.unit), conduction, None);
    arrange(view, conduction, Some(&plain.kept))
}

fn heading(view: &WiringView<'_>, width: f64) -> Vec<(&'static str, f64, String)> {
    let letters = |size: f64| ((width - 2.0 * MARGIN) / (0.63 * size)) as usize;
    let line = |class, size: f64, text: &str, most| -> Vec<(&'static str, f64, String)> {
        wrap(text, letters(size), most).into_iter().map(|text| (class, size, text)).collect()
    };
    let mut lines = line("strong", HEADING, &view.unit.name, 2);
    if let Some(setup) = view.setup {
        let text = format!("{}: {}", setup.name, words::setup_words(view.unit, setup));
        lines.extend(line("plain", SUBHEADING, &text, 4));
    }
    lines
}

fn draw_body(canvas: &mut Canvas, view: &WiringView<'_>, pen: &Pen<'_>, body: &PlacedBody, conduction: &Conduction) {
    let part = &view.unit.parts()[body.part];
    let title = format!("{}: {}, {}", part.name, part.kind.name(), part.kind.describe());
    let is_suspect = view.suspects.iter().any(|mark| mark.place == Place::Part(body.part));
    canvas.group("part", &[("data-part", &part.name)], &title, |canvas| {
        if is_suspect {
            canvas.rectangle("outline", outline(body), 6.0);
        }
        pen.draw(canvas, body, &conduction.paths[body.part]);
        for terminal in &body.terminals {
            let (x, anchor) =
                if terminal.left { (terminal.at.x + 8.0, Anchor::Start) } else { (terminal.at.x - 8.0, Anchor::End) };
            let name = short_terminal(view.unit, body.form, terminal.terminal);
            canvas.text("plain", at(x, terminal.at.y - 6.0), anchor, SMALL, &name);
        }
        write_lines(canvas, &body.caption, body);
    });
}

fn outline(body: &PlacedBody) -> Area {
    let inset = if body.form == Form::Feed { 2.0 } else { TAIL - 6.0 };
    let Area { left, top, width, height } = body.symbol;
    Area { left: left + inset, top: top - 1.0, width: width - 2.0 * inset, height: height + 2.0 }
}

fn write_lines(canvas: &mut Canvas, caption: &Caption, body: &PlacedBody) {
    let middle = body.symbol.left + body.symbol.width / 2.0;
    // Head lines end just above the symbol, foot lines begin just below it.
    let mut y = body.symbol.top - 8.0 - caption.head.iter().map(|line| line.height()).sum::<f64>();
    for line in &caption.head {
        y += line.height();
        canvas.text(line.class, at(middle, y - 0.25 * line.size), Anchor::Middle, line.size, &line.text);
    }
    let mut y = body.symbol.top + body.symbol.height + 4.0;
    for line in &caption.foot {
        y += line.height();
        canvas.text(line.class, at(middle, y - 0.25 * line.size), Anchor::Middle, line.size, &line.text);
    }
}

/// What arrows keep off: terminals and the lines that gather their wires.
fn obstacles(layout: &Layout) -> Vec<Area> {
    let terminals = layout.bodies.iter().flat_map(|body| &body.terminals);
    terminals
        .map(|placed| {
            let points = placed.joints.iter().chain([&placed.at]);
            let (mut low, mut high) = (placed.at, placed.at);
            for point in points {
                low = at(low.x.min(point.x), low.y.min(point.y));
                high = at(high.x.max(point.x), high.y.max(point.y));
            }
            Area { left: low.x - 5.0, top: low.y - 5.0, width: high.x - low.x + 10.0, height: high.y - low.y + 10.0 }
        })
        .collect()
}

fn draw_terminal(canvas: &mut Canvas, view: &WiringView<'_>, placed: &PlacedTerminal, scale: Scale) {
    let name = view.unit.terminal_name(placed.terminal);
    let mut data: Vec<(&str, &str)> = vec![("data-terminal", &name)];
    if view.interactive {
        data.extend([("tabindex", "0"), ("role", "button"), ("aria-label", &name)]);
    }
    canvas.group("terminal", &data, &name, |canvas| {
        let Point { x, y } = placed.at;
        canvas.circle("hit", placed.at, HIT);
        let width = view.flows.as_ref().map_or(1.6, |flows| scale.width(flows.terminals[placed.terminal.0]));
        if let (Some(first), Some(last)) = (placed.joints.first(), placed.joints.last()) {
            let joint = at(first.x, y);
            let bar_ends = [at(first.x, first.y.min(y)), at(first.x, last.y.max(y))];
            if is_lifted(view, placed.terminal) {
                legend::lifted(canvas, at(if placed.left { x - 9.0 } else { x + 9.0 }, y));
            } else if placed.joints.len() > 1 {
                canvas.polyline("lead", &[placed.at, joint], Some(width));
            }
            if placed.joints.len() > 1 {
                canvas.polyline("lead", &bar_ends, Some(BAR));
                for &joint in &placed.joints {
                    canvas.circle("dot", joint, 2.8);
                }
            }
        }
        canvas.circle("ink", placed.at, 4.0);
    });
}
