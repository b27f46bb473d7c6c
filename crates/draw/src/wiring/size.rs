//! How much room each body takes: its symbol, its terminals and the lines of text that belong to it.

use super::form::{Form, terminal_name};
use super::plan::{Body, Side};
use super::words::shorten;
use crate::svg::text_width;
use bench::{TerminalId, Unit};

/// Every end of a wire lies on a multiple of this, so that ends either align or keep clear of each other.
pub(super) const STEP: f64 = 11.0;
/// Distance of parallel wires, wide enough for a label above each.
pub(super) const PITCH: f64 = 2.0 * STEP;
/// From the edge of a body to its terminals: room for several wires to join one terminal.
pub(super) const TAIL: f64 = 16.0;
/// Type size of terminal names and wire labels.
pub(super) const SMALL: f64 = 10.0;
/// Longest terminal name that is written out.
const LONGEST_NAME: usize = 14;

/// A line of text above or below a symbol.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) class: &'static str,
    pub(super) size: f64,
}

impl Line {
    pub(super) fn height(&self) -> f64 {
        1.3 * self.size
    }
}

/// Lines of text of a body.
#[derive(Debug, Clone, Default)]
pub(super) struct Caption {
    pub(super) head: Vec<Line>,
    pub(super) foot: Vec<Line>,
}

/// Size of a body.
#[derive(Debug, Clone)]
pub(super) struct Size {
    /// Across, texts included.
    pub(super) width: f64,
    /// Across, from wire to wire.
    pub(super) symbol_width: f64,
    /// Left and right edge of what lies between the terminals and their names, from the left end of the symbol.
    pub(super) core: (f64, f64),
    /// Height of the lines above the symbol, a multiple of [`STEP`].
    pub(super) head: f64,
    /// Heights of the rows, multiples of [`PITCH`].
    pub(super) rows: Vec<f64>,
    /// Height of the lines below.
    pub(super) foot: f64,
}

impl Size {
    pub(super) fn height(&self) -> f64 {
        self.head + self.rows.iter().sum::<f64>() + self.foot
    }

    /// Middle of a row below the top of the body.
    pub(super) fn row_middle(&self, row: usize) -> f64 {
        self.head + self.rows[..row].iter().sum::<f64>() + self.rows[row] / 2.0
    }
}

/// A terminal's name as it is written beside it; those of supply, cord and frame are told by their captions, but for
/// the pins of the plug.
pub(super) fn short_terminal(unit: &Unit, form: Form, terminal: TerminalId) -> String {
    let name = terminal_name(unit, terminal);
    match form {
        Form::Feed if name.starts_with("plug-") => "plug".into(),
        Form::Feed | Form::Frame => String::new(),
        _ => shorten(&name, LONGEST_NAME),
    }
}

/// Size of a body whose terminals have `wires_at` wires each.
pub(super) fn size(
    unit: &Unit,
    body: &Body,
    rows: &[super::form::Row],
    caption: &Caption,
    paths: usize,
    wires_at: impl Fn(TerminalId) -> usize,
) -> Size {
    let row_steps = |row: &super::form::Row| {
        let wires = row.ends.iter().flatten().map(|&terminal| wires_at(terminal)).max().unwrap_or(0);
        let least = match body.form {
            Form::Motor { .. } | Form::Lines => 2,
            form if form.may_fold() => 2,
            _ => 1,
        };
        wires.max(least)
    };
    let rows_height: Vec<f64> = rows.iter().map(|row| PITCH * row_steps(row) as f64).collect();
    let side_width = |side: Side| {
        let index = usize::from(side == Side::Right);
        let ends = rows.iter().filter_map(|row| row.ends[index]);
        let names = ends.map(|terminal| text_width(&short_terminal(unit, body.form, terminal), SMALL));
        match names.reduce(f64::max) {
            Some(name) if name > 0.0 => TAIL + 8.0 + name + 4.0,
            Some(_) => TAIL + 10.0,
            None => 6.0,
        }
    };
    let core = (side_width(Side::Left), side_width(Side::Left) + core_width(body.form, paths));
    let symbol_width = core.1 + side_width(Side::Right);
    let text = caption.head.iter().chain(&caption.foot).map(|line| text_width(&line.text, line.size));
    let width = text.fold(symbol_width, f64::max);
    let whole = |lines: &[Line], more: f64| {
        let height: f64 = lines.iter().map(Line::height).sum();
        if lines.is_empty() { 0.0 } else { ((height + more) / STEP).ceil() * STEP }
    };
    let (head, foot) = (whole(&caption.head, 8.0), whole(&caption.foot, 6.0));
    Size { width, symbol_width, core, head, rows: rows_height, foot }
}

/// Width of the symbol between the names of its terminals.
fn core_width(form: Form, paths: usize) -> f64 {
    match form {
        Form::Feed => 20.0,
        Form::Frame => 26.0,
        Form::Splice => 14.0,
        Form::Capacitor => 24.0,
        Form::Diode => 34.0,
        Form::Switch | Form::Contact { .. } => 50.0,
        Form::Motor { .. } => 78.0,
        Form::Lines => 20.0 + 26.0 * paths.max(1) as f64,
        _ => 48.0,
    }
}
