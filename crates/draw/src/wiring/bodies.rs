//! Draws parts: each form's symbol between its placed terminals.

use super::Symbols;
use super::conduction::{End, Joints, Nature, Path};
use super::flows::{CORE_LOSS, Flows, is_power};
use super::form::{Form, inner_points};
use super::layout::{PlacedBody, PlacedTerminal};
use super::plan::Conductor;
use super::scale::Scale;
use super::symbols::{self, Axis, Symbol};
use crate::svg::{Area, Canvas, Point, at};
use bench::TerminalId;

/// What the symbols of a drawing depend on.
pub(super) struct Pen<'d> {
    pub(super) symbols: Symbols,
    pub(super) joints: &'d Joints,
    pub(super) flows: Option<&'d Flows>,
    pub(super) scale: Scale,
}

impl Pen<'_> {
    /// Draws the symbol of a body.
    pub(super) fn draw(&self, canvas: &mut Canvas, body: &PlacedBody, paths: &[Path]) {
        match body.form {
            Form::Feed => self.feed(canvas, body),
            Form::Frame => self.frame(canvas, body),
            Form::Splice => self.splice(canvas, body),
            Form::Motor { shaded } => self.motor(canvas, body, shaded),
            Form::Switch => self.switch(canvas, body),
            Form::Lines => self.lines(canvas, body, paths),
            _ => self.pair(canvas, body),
        }
    }

    fn lead_width(&self, terminal: TerminalId) -> f64 {
        self.flows.and_then(|flows| flows.terminals.get(terminal.0)).map_or(1.6, |&amps| self.scale.width(amps))
    }

    /// A lead from a terminal to a point, first across, then up or down.
    fn lead(&self, canvas: &mut Canvas, terminal: &PlacedTerminal, to: Point) {
        let mut points = vec![terminal.at, at(to.x, terminal.at.y)];
        if terminal.at.y != to.y {
            points.push(to);
        }
        canvas.polyline("lead", &points, Some(self.lead_width(terminal.terminal)));
        if self.flows.is_some_and(|flows| flows.open_leads.contains(&terminal.terminal)) {
            // Next to the symbol, clear of the terminal's name.
            let x = if terminal.left { to.x - 8.0 } else { to.x + 8.0 };
            symbols::open(canvas, at(x, terminal.at.y));
        }
    }

    /// A symbol between two points with its marks: power arrow, cross if it is open.
    fn element(&self, canvas: &mut Canvas, part: usize, ends: [TerminalId; 2], symbol: Symbol, from: Point, to: Point) {
        let same = |pair: &[TerminalId; 2]| *pair == ends || *pair == [ends[1], ends[0]];
        let flow = self.flows.and_then(|flows| {
            let drawn = flows.elements.iter().filter(|flow| flow.part == part && flow.label != CORE_LOSS);
            drawn.into_iter().find(|flow| flow.ends.as_ref().is_some_and(same) && is_power(flow.watts))
        });
        let width = match (self.flows, symbol) {
            (Some(flows), Symbol::Contact { .. } | Symbol::Conductor | Symbol::Fuse) => {
                let amps = ends.iter().map(|end| flows.terminals[end.0]);
                self.scale.width(amps.fold(f64::INFINITY, f64::min))
            }
            (Some(_), _) => flow.map_or(self.scale.width(0.0), |flow| self.scale.width(flow.amps)),
            _ => 1.6,
        };
        symbols::draw(canvas, self.symbols, symbol, from, to, width);
        let axis = Axis::between(from, to);
        if let Some(flow) = flow {
            let upright = from.x == to.x;
            // Beside an upright symbol to its right, below a level one.
            let side = if upright && to.y > from.y { -1.0 } else { 1.0 };
            symbols::power_arrow(canvas, axis.point(0.0, side * 19.0), axis.point(0.0, side * 11.0), flow.watts > 0.0);
        }
        if self.flows.is_some_and(|flows| flows.open.iter().any(|(of, pair)| *of == part && same(pair))) {
            symbols::open(canvas, axis.point(0.0, 0.0));
        }
    }

    fn pair(&self, canvas: &mut Canvas, body: &PlacedBody) {
        let [a, b] = &body.terminals[..] else { return };
        let ends = [a.terminal, b.terminal];
        let (left, right) = body.core;
        let symbol = match body.form {
            Form::Capacitor => Symbol::Capacitor,
            Form::Diode => Symbol::Diode,
            Form::Coil => Symbol::Coil,
            Form::Lamp => Symbol::Lamp,
            Form::Fuse { .. } => Symbol::Fuse,
            Form::Contact { .. } => Symbol::Contact { closed: self.joints.joined(ends[0], ends[1]) },
            _ => Symbol::Resistor,
        };
        let (from, to) = if a.left == b.left {
            let x = (left + right) / 2.0;
            (at(x, a.at.y), at(x, b.at.y))
        } else {
            (at(left, a.at.y), at(right, a.at.y))
        };
        self.lead(canvas, a, from);
        self.lead(canvas, b, to);
        self.element(canvas, body.part, ends, symbol, from, to);
        let is_hot = matches!(body.form, Form::Fuse { thermal: true } | Form::Contact { thermal: true });
        if is_hot && a.left != b.left {
            symbols::thermal(canvas, at((from.x + to.x) / 2.0, from.y));
        }
    }

    fn feed(&self, canvas: &mut Canvas, body: &PlacedBody) {
        let (left, right) = body.core;
        let middle = (left + right) / 2.0;
        match &body.terminals[..] {
            [a, b] => canvas.polyline(
                "lead",
                &[a.at, b.at],
                Some(self.lead_width(a.terminal).max(self.lead_width(b.terminal))),
            ),
            [one] => {
                self.lead(canvas, one, at(middle, one.at.y));
                let end = at(middle, one.at.y);
                match body.conductor {
                    Some(Conductor::Hot(_)) => symbols::source(canvas, end),
                    Some(Conductor::Earth) => symbols::earth(canvas, end),
                    _ => canvas.polyline("stroke", &[at(end.x, end.y - 9.0), at(end.x, end.y + 9.0)], Some(1.6)),
                }
            }
            _ => {}
        }
    }

    fn frame(&self, canvas: &mut Canvas, body: &PlacedBody) {
        for terminal in &body.terminals {
            let end = at((body.core.0 + body.core.1) / 2.0, terminal.at.y);
            self.lead(canvas, terminal, end);
            symbols::chassis(canvas, end);
        }
    }

    fn splice(&self, canvas: &mut Canvas, body: &PlacedBody) {
        let middle = (body.core.0 + body.core.1) / 2.0;
        for terminal in &body.terminals {
            self.lead(canvas, terminal, at(middle, terminal.at.y));
        }
        let heights = body.terminals.iter().map(|terminal| terminal.at.y);
        let (top, bottom) =
            heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
        let area = Area { left: middle - 4.0, top: top - 6.0, width: 8.0, height: bottom - top + 12.0 };
        canvas.rectangle("block", area, 3.0);
    }

    /// Main winding and start winding in one upright line; taps, common and start lead come out of it.
    fn motor(&self, canvas: &mut Canvas, body: &PlacedBody, shaded: bool) {
        let (left, right) = body.core;
        let most_left = body.terminals.iter().filter(|terminal| terminal.left).count() * 2 >= body.terminals.len();
        let (x, circle_x) = if most_left { (left + 14.0, right - 20.0) } else { (right - 14.0, left + 20.0) };
        let mut ordered: Vec<&PlacedTerminal> = body.terminals.iter().collect();
        ordered.sort_by(|a, b| a.at.y.total_cmp(&b.at.y));
        for terminal in &ordered {
            self.lead(canvas, terminal, at(x, terminal.at.y));
        }
        for pair in ordered.windows(2) {
            let ends = [pair[0].terminal, pair[1].terminal];
            let (from, to) = (at(x, pair[0].at.y), at(x, pair[1].at.y));
            self.element(canvas, body.part, ends, Symbol::Coil, from, to);
        }
        for terminal in &ordered {
            canvas.circle("dot", at(x, terminal.at.y), 2.2);
        }
        // The circle stands beside the main winding, which ends at the common lead.
        let common = body.terminals.iter().map(|terminal| terminal.terminal).min();
        let place = ordered.iter().position(|terminal| Some(terminal.terminal) == common).unwrap_or(0);
        let other = place.checked_sub(1).filter(|&above| {
            shaded || place + 1 == ordered.len() || ordered[above].terminal < ordered[place + 1].terminal
        });
        let other = other.unwrap_or((place + 1).min(ordered.len() - 1));
        let y = (ordered[place].at.y + ordered[other].at.y) / 2.0;
        symbols::motor(canvas, at(circle_x, y));
        if shaded {
            symbols::shading_ring(canvas, at((x + circle_x) / 2.0 - 2.0, y));
        }
    }

    fn switch(&self, canvas: &mut Canvas, body: &PlacedBody) {
        let (left, right) = body.core;
        let find = |end: Option<TerminalId>| body.terminals.iter().find(|terminal| Some(terminal.terminal) == end);
        let blocks: Vec<usize> = body.rows.iter().map(|row| row.block).collect();
        let mut blades: Vec<Point> = Vec::new();
        for (index, row) in body.rows.iter().enumerate() {
            let of_block = || body.rows.iter().filter(|other| other.block == row.block);
            // The common end stands in one row of the block only.
            let centre_left = of_block().any(|other| other.ends[0].is_none()) || (of_block().count() == 1);
            let (centre_side, leaf_side) = if centre_left { (0, 1) } else { (1, 0) };
            let centre = of_block().find_map(|other| find(other.ends[centre_side]));
            let (Some(centre), Some(leaf)) = (centre, find(row.ends[leaf_side])) else { continue };
            let y = leaf.at.y;
            let [from, to] = [at(left, y), at(right, y)];
            self.lead(canvas, leaf, if centre_left { to } else { from });
            let bus = if centre_left { from } else { to };
            if blocks[..index].iter().all(|&block| block != row.block) {
                let own = of_block().filter_map(|other| find(other.ends[leaf_side])).map(|terminal| terminal.at.y);
                let (top, bottom) = own.fold((centre.at.y, centre.at.y), |(low, high), y| (low.min(y), high.max(y)));
                self.lead(canvas, centre, at(bus.x, centre.at.y));
                if top < bottom {
                    canvas.polyline("lead", &[at(bus.x, top), at(bus.x, bottom)], Some(1.6));
                }
            }
            // The current turns into its contact; drawn over the thin line that all contacts share.
            canvas.polyline("lead", &[at(bus.x, centre.at.y), bus], Some(self.lead_width(leaf.terminal)));
            let closed = self.joints.joined(centre.terminal, leaf.terminal);
            self.element(canvas, body.part, [centre.terminal, leaf.terminal], Symbol::Contact { closed }, from, to);
            blades.push(at((left + right) / 2.0, y));
        }
        // What moves together is joined by a dashed line.
        blades.sort_by(|a, b| a.y.total_cmp(&b.y));
        if let [first, .., last] = blades[..] {
            canvas.polyline("linkage", &[first, last], None);
        }
    }

    /// Every terminal and every point inside on a line of its own, paths between the lines.
    fn lines(&self, canvas: &mut Canvas, body: &PlacedBody, paths: &[Path]) {
        let (left, right) = body.core;
        let inner = inner_points(paths);
        // What stands for the core loss is in no motor or transformer to be found.
        let paths: Vec<&Path> = paths.iter().filter(|path| path.label != CORE_LOSS).collect();
        let mut free = body.rows.iter().enumerate().filter(|(_, row)| row.ends == [None, None]).map(|(index, _)| index);
        let inner: Vec<(usize, f64)> =
            inner.into_iter().filter_map(|point| Some((point, body.row_middles.get(free.next()?).copied()?))).collect();
        let height = |end: End| match end {
            End::Terminal(terminal) => {
                body.terminals.iter().find(|placed| placed.terminal == terminal).map(|placed| placed.at.y)
            }
            End::Inner(point) => inner.iter().find(|(known, _)| *known == point).map(|&(_, y)| y),
        };
        let step = (right - left) / paths.len().max(1) as f64;
        let x_of = |index: usize| left + step * (index as f64 + 0.5);
        let area = Area {
            left: left - 2.0,
            top: body.symbol.top + 2.0,
            width: right - left + 4.0,
            height: body.symbol.height - 4.0,
        };
        canvas.rectangle("case", area, 4.0);
        let used = |end: End| {
            let columns = paths.iter().enumerate().filter(move |(_, path)| path.ends.contains(&end));
            columns.map(|(index, _)| x_of(index)).collect::<Vec<f64>>()
        };
        for placed in &body.terminals {
            let columns = used(End::Terminal(placed.terminal)).into_iter();
            let edge = if placed.left { left } else { right };
            let x = if placed.left { columns.fold(edge, f64::max) } else { columns.fold(edge, f64::min) };
            self.lead(canvas, placed, at(x, placed.at.y));
        }
        for &(point, y) in &inner {
            let columns = used(End::Inner(point));
            let (low, high) = columns.iter().fold((right, left), |(low, high), x| (x.min(low), x.max(high)));
            canvas.polyline("lead", &[at(low, y), at(high, y)], Some(1.6));
        }
        for (index, path) in paths.iter().enumerate() {
            let (Some(a), Some(b)) = (height(path.ends[0]), height(path.ends[1])) else { continue };
            let (top, bottom, x) = (a.min(b), a.max(b), x_of(index));
            let symbol = match path.nature {
                Nature::Resistance => Symbol::Resistor,
                Nature::Coil => Symbol::Coil,
                Nature::Capacitance => Symbol::Capacitor,
                Nature::Joined => Symbol::Conductor,
                Nature::Contact => match path.ends {
                    [End::Terminal(a), End::Terminal(b)] => Symbol::Contact { closed: self.joints.joined(a, b) },
                    _ => Symbol::Contact { closed: false },
                },
            };
            // The symbol lies next to the upper line; the rest of the way is plain and may pass other lines.
            let middle = bottom.min(top + 44.0);
            match path.ends {
                [End::Terminal(a), End::Terminal(b)] => {
                    self.element(canvas, body.part, [a, b], symbol, at(x, top), at(x, middle))
                }
                _ => symbols::draw(canvas, self.symbols, symbol, at(x, top), at(x, middle), 1.6),
            }
            canvas.polyline("lead", &[at(x, middle), at(x, bottom)], Some(1.6));
            for y in [top, bottom] {
                canvas.circle("dot", at(x, y), 2.2);
            }
        }
    }
}
