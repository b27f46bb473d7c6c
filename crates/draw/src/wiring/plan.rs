//! What is to be laid out: bodies with terminals on their sides, edges between terminals, and the column of each body.

use super::conduction::Conduction;
use super::form::{self, Form, Freedom, Row};
use super::potentials::{self, Nets};
use bench::{Setup, TerminalId, Unit};

/// What an edge stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Link {
    /// A wire of the unit, by index.
    Wire(usize),
    /// A jumper of the setup, by index.
    Jumper(usize),
    /// A pin of the plug in the outlet.
    Plug,
}

/// A connection to be routed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Edge {
    pub(super) link: Link,
    pub(super) ends: [TerminalId; 2],
}

/// A conductor of supply and cord, each of which stands at a place of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Conductor {
    /// A live one, by its place among those of the supply.
    Hot(usize),
    Neutral,
    Earth,
}

/// A part, or one conductor of a supply or cord.
#[derive(Debug)]
pub(super) struct Body {
    pub(super) part: usize,
    pub(super) conductor: Option<Conductor>,
    pub(super) form: Form,
    pub(super) rows: Vec<Row>,
    pub(super) freedom: Freedom,
    pub(super) column: usize,
    /// Belongs to earth, and so to the bottom.
    pub(super) bottom: bool,
}

impl Body {
    /// Its terminals.
    pub(super) fn terminals(&self) -> impl Iterator<Item = TerminalId> {
        self.rows.iter().flat_map(|row| row.ends.into_iter().flatten())
    }
}

/// Side of a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// Everything the layout works on.
#[derive(Debug)]
pub(super) struct Plan {
    pub(super) bodies: Vec<Body>,
    pub(super) edges: Vec<Edge>,
    /// Body and side of every terminal.
    pub(super) places: Vec<(usize, Side)>,
    pub(super) columns: usize,
}

impl Plan {
    /// Plans a unit with the jumpers of a setup.
    pub(super) fn of(unit: &Unit, conduction: &Conduction, setup: Option<&Setup>) -> Self {
        let edges = edges(unit, setup);
        let wires: Vec<Edge> = edges.iter().copied().filter(|edge| !matches!(edge.link, Link::Jumper(_))).collect();
        let nets = Nets::of_wires(unit, &wires);
        let fixed: Vec<(TerminalId, f64)> = (0..unit.terminal_count())
            .map(TerminalId)
            .filter_map(|terminal| match conductor_of(unit, terminal)? {
                Conductor::Hot(_) => Some((terminal, 1.0)),
                Conductor::Neutral => Some((terminal, 0.0)),
                Conductor::Earth => None,
            })
            .collect();
        let potentials = potentials::potentials(unit, conduction, &nets, &fixed);
        let mut bodies = bodies(unit, conduction, &potentials);
        mark_bottom(unit, conduction, &wires, &mut bodies);
        let columns = assign_columns(unit, &nets, &mut bodies);
        let mut plan = Plan { bodies, edges, places: vec![(0, Side::Left); unit.terminal_count()], columns };
        plan.find_places();
        plan.turn_to_neighbours(&wires);
        plan
    }

    fn find_places(&mut self) {
        for (index, body) in self.bodies.iter().enumerate() {
            for row in &body.rows {
                for (end, side) in row.ends.iter().zip([Side::Left, Side::Right]) {
                    if let Some(terminal) = end {
                        self.places[terminal.0] = (index, side);
                    }
                }
            }
        }
    }

    /// The channel that a terminal's wires come out into: channel k lies left of column k.
    pub(super) fn channel(&self, terminal: TerminalId) -> usize {
        let (body, side) = self.places[terminal.0];
        self.bodies[body].column + usize::from(side == Side::Right)
    }

    /// Puts terminals on the side of what they are wired to where a symbol allows it, such as a capacitor with both
    /// ends on the motor beside it.
    fn turn_to_neighbours(&mut self, wires: &[Edge]) {
        for index in 0..self.bodies.len() {
            let own = self.bodies[index].column;
            let toward = |terminal: TerminalId| -> Vec<usize> {
                let ends = wires.iter().map(|edge| edge.ends);
                let others = ends.filter_map(|[a, b]| match terminal {
                    _ if a == b => None,
                    _ if a == terminal => Some(b),
                    _ if b == terminal => Some(a),
                    _ => None,
                });
                others.map(|other| self.bodies[self.places[other.0].0].column).collect()
            };
            let terminals: Vec<TerminalId> = self.bodies[index].terminals().collect();
            match self.bodies[index].form {
                Form::Splice => {
                    let (left, right): (Vec<_>, Vec<_>) = terminals.iter().partition(|&&terminal| {
                        let columns = toward(terminal);
                        2 * columns.iter().filter(|&&column| column < own).count() >= columns.len().max(1)
                    });
                    self.bodies[index].rows = form::zip(&left, &right);
                }
                _ if self.bodies[index].form.may_fold() => {
                    let columns: Vec<Vec<usize>> = terminals.iter().map(|&terminal| toward(terminal)).collect();
                    let all = |test: &dyn Fn(usize) -> bool| {
                        columns.iter().all(|list| !list.is_empty() && list.iter().all(|&column| test(column)))
                    };
                    if all(&|column| column > own) {
                        let nearest = columns.iter().flatten().min().map_or(own, |&column| column - 1);
                        self.bodies[index].rows = form::stack(&terminals, Side::Right);
                        self.bodies[index].column = nearest;
                    } else if all(&|column| column < own) {
                        let nearest = columns.iter().flatten().max().map_or(own, |&column| column + 1);
                        self.bodies[index].rows = form::stack(&terminals, Side::Left);
                        self.bodies[index].column = nearest;
                    }
                }
                _ => {}
            }
            self.find_places();
        }
    }
}

/// Which conductor of supply or cord a terminal belongs to.
pub(super) fn conductor_of(unit: &Unit, terminal: TerminalId) -> Option<Conductor> {
    let part = unit.part_of(terminal);
    if !unit.parts()[part].kind.feeds_unit() {
        return None;
    }
    let name = form::terminal_name(unit, terminal);
    match name.strip_prefix("plug-").unwrap_or(&name) {
        "neutral" => Some(Conductor::Neutral),
        "earth" => Some(Conductor::Earth),
        name => {
            let place = unit.live_terminals().position(|live| form::terminal_name(unit, live) == name);
            place.map(Conductor::Hot)
        }
    }
}

fn edges(unit: &Unit, setup: Option<&Setup>) -> Vec<Edge> {
    let mut edges: Vec<Edge> = Vec::new();
    let supply: Vec<TerminalId> = unit.terminals_of(unit.supply()).map(TerminalId).collect();
    for part in (0..unit.parts().len()).filter(|&part| part != unit.supply() && unit.parts()[part].kind.feeds_unit()) {
        for pin in unit.terminals_of(part).map(TerminalId) {
            let name = form::terminal_name(unit, pin);
            let outlet = name
                .strip_prefix("plug-")
                .and_then(|name| supply.iter().copied().find(|&outlet| form::terminal_name(unit, outlet) == name));
            edges.extend(outlet.map(|outlet| Edge { link: Link::Plug, ends: [outlet, pin] }));
        }
    }
    let wires = unit.wires().iter().enumerate();
    edges.extend(wires.map(|(index, wire)| Edge { link: Link::Wire(index), ends: [wire.from, wire.to] }));
    let jumpers = setup.map_or(&[][..], |setup| &setup.jumpers).iter().enumerate();
    edges.extend(jumpers.map(|(index, &(a, b))| Edge { link: Link::Jumper(index), ends: [a, b] }));
    edges
}

fn bodies(unit: &Unit, conduction: &Conduction, potentials: &[f64]) -> Vec<Body> {
    let mut bodies = Vec::new();
    for part in 0..unit.parts().len() {
        let terminals: Vec<TerminalId> = unit.terminals_of(part).map(TerminalId).collect();
        let conductors: Vec<_> = terminals.iter().map(|&terminal| conductor_of(unit, terminal)).collect();
        let body = |conductor, form, rows, freedom| Body {
            part,
            conductor,
            form,
            rows,
            freedom,
            column: 0,
            bottom: conductor == Some(Conductor::Earth),
        };
        let live = (0..unit.live_terminals().count()).map(Conductor::Hot);
        for conductor in live.chain([Conductor::Neutral, Conductor::Earth]) {
            let own: Vec<TerminalId> = terminals
                .iter()
                .zip(&conductors)
                .filter(|(_, of)| **of == Some(conductor))
                .map(|(&terminal, _)| terminal)
                .collect();
            if !own.is_empty() {
                let rows = form::feed_rows(unit, conductor, &own);
                bodies.push(body(Some(conductor), Form::Feed, rows, Freedom::Flip));
            }
        }
        let rest: Vec<TerminalId> =
            terminals.iter().zip(&conductors).filter(|(_, of)| of.is_none()).map(|(&terminal, _)| terminal).collect();
        if !rest.is_empty() {
            let (form, rows, freedom) = form::of_part(unit, part, &rest, &conduction.paths[part], potentials);
            bodies.push(body(None, form, rows, freedom));
        }
    }
    bodies
}

/// Bodies that hang on earth or the frame and not on hot or neutral belong to the bottom.
fn mark_bottom(unit: &Unit, conduction: &Conduction, wires: &[Edge], bodies: &mut [Body]) {
    let mut islands = Nets::of_wires(unit, wires);
    islands.join_parts(conduction);
    let (mut live, mut earthed) = (Vec::new(), vec![islands.net(unit.frame())]);
    for terminal in (0..unit.terminal_count()).map(TerminalId) {
        match conductor_of(unit, terminal) {
            Some(Conductor::Earth) => earthed.push(islands.net(terminal)),
            Some(_) => live.push(islands.net(terminal)),
            None => {}
        }
    }
    for body in bodies {
        let Some(terminal) = body.terminals().next() else { continue };
        let net = islands.net(terminal);
        body.bottom |= body.form == Form::Frame || (earthed.contains(&net) && !live.contains(&net));
    }
}

/// Columns by the longest way from hot; returns their number.
fn assign_columns(unit: &Unit, nets: &Nets, bodies: &mut [Body]) -> usize {
    let has_cord = bodies.iter().any(|body| body.conductor.is_some() && body.part != unit.supply());
    let first = if has_cord { 2 } else { 1 };
    // For every net, the bodies that lead into it: those with a right terminal on it.
    let mut into: Vec<Vec<usize>> = vec![Vec::new(); unit.terminal_count()];
    for (index, body) in bodies.iter().enumerate().filter(|(_, body)| body.conductor.is_none()) {
        for terminal in body.rows.iter().filter_map(|row| row.ends[1]) {
            into[nets.net(terminal)].push(index);
        }
    }
    let before: Vec<Vec<usize>> = bodies
        .iter()
        .map(|body| {
            let left = body.rows.iter().filter_map(|row| row.ends[0]);
            left.flat_map(|terminal| into[nets.net(terminal)].iter().copied()).collect()
        })
        .collect();
    let mut columns = vec![None; bodies.len()];
    for body in 0..bodies.len() {
        longest_way(body, &before, first, &mut columns, &mut vec![false; bodies.len()]);
    }
    let unit_bodies = bodies.iter().zip(&columns).filter(|(body, _)| body.conductor.is_none());
    let last = unit_bodies.filter_map(|(_, column)| *column).max().unwrap_or(first);
    for (index, body) in bodies.iter_mut().enumerate() {
        let outside = usize::from(has_cord && body.part == unit.supply());
        body.column = match body.conductor {
            Some(Conductor::Neutral) => last + 1 + outside,
            Some(_) => first - 1 - outside,
            None => columns[index].unwrap_or(first),
        };
    }
    last + if has_cord { 3 } else { 2 }
}

/// One more than the furthest of the bodies before; a ring is cut where it closes.
fn longest_way(
    body: usize,
    before: &[Vec<usize>],
    first: usize,
    columns: &mut [Option<usize>],
    under_way: &mut Vec<bool>,
) -> usize {
    if let Some(column) = columns[body] {
        return column;
    }
    under_way[body] = true;
    let mut column = first;
    for &other in &before[body] {
        if !under_way[other] {
            column = column.max(1 + longest_way(other, before, first, columns, under_way));
        }
    }
    under_way[body] = false;
    columns[body] = Some(column);
    column
}
