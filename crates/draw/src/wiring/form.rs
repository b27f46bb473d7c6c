//! The symbol of each kind of part, and which terminals sit where on it.

use super::conduction::{End, Nature, Path};
use super::plan::{Conductor, Side};
use bench::{TerminalId, Unit};

/// What is drawn for a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// One conductor of the supply or the cord.
    Feed,
    /// The metal of the unit.
    Frame,
    /// Resistance, such as a heating element.
    Resistor,
    /// Two plates.
    Capacitor,
    /// Arrow against a bar.
    Diode,
    /// One winding.
    Coil,
    /// Circle with a cross.
    Lamp,
    /// One contact; `thermal` if heat works it.
    Contact {
        /// Worked by heat.
        thermal: bool,
    },
    /// Fuse.
    Fuse {
        /// Heat blows it, rather than its own current.
        thermal: bool,
    },
    /// Contacts in rows, as in the contact table.
    Switch,
    /// Joint of several wires.
    Splice,
    /// Motor with its windings between its terminals.
    Motor {
        /// With a shading coil.
        shaded: bool,
    },
    /// Anything else: every terminal on a line of its own, what conducts drawn between the lines.
    Lines,
}

impl Form {
    /// Whether both ends may stand on one side.
    pub(super) fn may_fold(self) -> bool {
        matches!(
            self,
            Form::Resistor
                | Form::Capacitor
                | Form::Diode
                | Form::Coil
                | Form::Lamp
                | Form::Fuse { .. }
                | Form::Contact { .. }
        )
    }
}

/// One row of terminals: left and right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Row {
    pub(super) ends: [Option<TerminalId>; 2],
    /// Rows that stay together have the same number.
    pub(super) block: usize,
}

/// How rows may be put in another order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Freedom {
    /// All upside down, or not.
    Flip,
    /// Blocks among each other, and the many ends within a block.
    Blocks,
    /// Each side as it likes.
    Sides,
    /// Whole rows as they like.
    Rows,
}

/// A terminal's own name.
pub(super) fn terminal_name(unit: &Unit, terminal: TerminalId) -> String {
    let part = unit.part_of(terminal);
    let index = terminal.0 - unit.terminals_of(part).start;
    unit.parts()[part].kind.terminals().swap_remove(index)
}

/// Rows with `left` and `right` side by side from the top.
pub(super) fn zip(left: &[TerminalId], right: &[TerminalId]) -> Vec<Row> {
    let count = left.len().max(right.len());
    let at = |list: &[TerminalId], index: usize| -> Option<TerminalId> {
        // The shorter side stands in the middle.
        let skip = (count - list.len()) / 2;
        index.checked_sub(skip).and_then(|index| list.get(index)).copied()
    };
    (0..count).map(|index| Row { ends: [at(left, index), at(right, index)], block: 0 }).collect()
}

/// Rows with all terminals on one side.
pub(super) fn stack(terminals: &[TerminalId], side: Side) -> Vec<Row> {
    let ends = |&terminal| if side == Side::Left { [Some(terminal), None] } else { [None, Some(terminal)] };
    terminals.iter().map(|terminal| Row { ends: ends(terminal), block: 0 }).collect()
}

/// The row of one conductor of a supply or cord: its pin away from the unit.
pub(super) fn feed_rows(unit: &Unit, conductor: Conductor, terminals: &[TerminalId]) -> Vec<Row> {
    let is_pin = |terminal: &&TerminalId| terminal_name(unit, **terminal).starts_with("plug-");
    let pin = terminals.iter().find(is_pin).copied();
    let end = terminals.iter().find(|terminal| !is_pin(terminal)).copied();
    let ends = if conductor == Conductor::Neutral { [end, pin] } else { [pin, end] };
    vec![Row { ends, block: 0 }]
}

/// Form, rows and freedom of a part.
pub(super) fn of_part(
    unit: &Unit,
    part: usize,
    terminals: &[TerminalId],
    paths: &[Path],
    potentials: &[f64],
) -> (Form, Vec<Row>, Freedom) {
    let form = form_of(unit.parts()[part].kind.name(), terminals, paths);
    let potential = |terminal: &TerminalId| potentials[terminal.0];
    match form {
        Form::Frame => (form, stack(terminals, Side::Left), Freedom::Flip),
        Form::Motor { .. } => (form, motor_rows(terminals, potentials, form), Freedom::Flip),
        Form::Switch => (form, switch_rows(paths, potentials), Freedom::Blocks),
        _ if form.may_fold() => {
            let (a, b) = (terminals[0], terminals[1]);
            let ends = if potential(&a) >= potential(&b) { [Some(a), Some(b)] } else { [Some(b), Some(a)] };
            (form, vec![Row { ends, block: 0 }], Freedom::Flip)
        }
        _ => {
            let highest = terminals.iter().map(potential).fold(f64::NEG_INFINITY, f64::max);
            let lowest = terminals.iter().map(potential).fold(f64::INFINITY, f64::min);
            let middle = (highest + lowest) / 2.0;
            let (left, right): (Vec<_>, Vec<_>) = if highest - lowest < 1e-9 {
                (terminals[..terminals.len().div_ceil(2)].to_vec(), terminals[terminals.len().div_ceil(2)..].to_vec())
            } else {
                terminals.iter().partition(|terminal| potential(terminal) >= middle)
            };
            match form {
                Form::Lines => (form, line_rows(&left, &right, paths), Freedom::Rows),
                _ => (form, zip(&left, &right), Freedom::Sides),
            }
        }
    }
}

fn form_of(kind: &str, terminals: &[TerminalId], paths: &[Path]) -> Form {
    let is_pair = terminals.len() == 2;
    let form = match kind {
        "frame" => Form::Frame,
        "heater" | "inrush-limiter" => Form::Resistor,
        "half-wave-diode" => Form::Diode,
        "run-capacitor" | "start-capacitor" => Form::Capacitor,
        "indicator-lamp" => Form::Lamp,
        "thermal-cutout" | "manual-reset-cutout" | "thermostat" => Form::Contact { thermal: true },
        "thermal-fuse" => Form::Fuse { thermal: true },
        "fuse" => Form::Fuse { thermal: false },
        "splice" => Form::Splice,
        "split-phase-motor" | "compressor" | "reversible-motor" if terminals.len() == 3 => {
            Form::Motor { shaded: false }
        }
        "capacitor-run-motor" if terminals.len() >= 3 => Form::Motor { shaded: false },
        "shaded-pole-motor" if terminals.len() >= 2 => Form::Motor { shaded: true },
        "switch" if !terminals.is_empty() && stars(paths).is_some() => Form::Switch,
        _ => match paths {
            [path] if is_pair && path.ends.iter().all(|end| matches!(end, End::Terminal(_))) => match path.nature {
                Nature::Contact => Form::Contact { thermal: false },
                Nature::Joined => Form::Lines,
                Nature::Resistance => Form::Resistor,
                Nature::Coil => Form::Coil,
                Nature::Capacitance => Form::Capacitor,
            },
            _ => Form::Lines,
        },
    };
    if form.may_fold() && !is_pair { Form::Lines } else { form }
}

/// Every terminal on a line of its own, and every point inside on another.
fn line_rows(left: &[TerminalId], right: &[TerminalId], paths: &[Path]) -> Vec<Row> {
    let mut rows = Vec::new();
    for index in 0..left.len().max(right.len()) {
        rows.extend(left.get(index).map(|&terminal| Row { ends: [Some(terminal), None], block: 0 }));
        rows.extend(right.get(index).map(|&terminal| Row { ends: [None, Some(terminal)], block: 0 }));
    }
    let inside = inner_points(paths).len();
    rows.extend((0..inside).map(|_| Row { ends: [None, None], block: 0 }));
    rows
}

/// Points inside a part that its paths meet at.
pub(super) fn inner_points(paths: &[Path]) -> Vec<usize> {
    let ends = paths.iter().flat_map(|path| path.ends);
    let mut points: Vec<usize> =
        ends.filter_map(|end| if let End::Inner(point) = end { Some(point) } else { None }).collect();
    points.sort_unstable();
    points.dedup();
    points
}

/// Tapped motor from the top: slowest tap down to the fastest, common, then the start lead.
fn motor_rows(terminals: &[TerminalId], potentials: &[f64], form: Form) -> Vec<Row> {
    let common = terminals[0];
    let shaded = form == Form::Motor { shaded: true };
    let taps = if shaded { &terminals[1..] } else { &terminals[1..terminals.len() - 1] };
    let mean = taps.iter().map(|tap| potentials[tap.0]).sum::<f64>() / taps.len() as f64;
    let taps_left = mean >= potentials[common.0];
    let row = |terminal: TerminalId, left: bool| Row {
        ends: if left { [Some(terminal), None] } else { [None, Some(terminal)] },
        block: 0,
    };
    let mut rows: Vec<Row> = taps.iter().rev().map(|&tap| row(tap, taps_left)).collect();
    rows.push(row(common, !taps_left));
    if !shaded {
        rows.push(row(terminals[terminals.len() - 1], taps_left));
    }
    rows
}

/// A group of contacts with one terminal in common.
struct Star {
    centre: TerminalId,
    leaves: Vec<TerminalId>,
}

/// The contacts as groups with one terminal in common each; `None` if they are not of that make.
fn stars(paths: &[Path]) -> Option<Vec<Star>> {
    let mut pairs = Vec::new();
    for path in paths {
        let [End::Terminal(a), End::Terminal(b)] = path.ends else { return None };
        if path.nature != Nature::Contact {
            return None;
        }
        pairs.push((a, b));
    }
    let contacts_of = |terminal: TerminalId| pairs.iter().filter(|(a, b)| *a == terminal || *b == terminal).count();
    let mut stars: Vec<Star> = Vec::new();
    for &(a, b) in &pairs {
        let (centre, leaf) = match (contacts_of(a), contacts_of(b)) {
            (_, 1) => (a, b),
            (1, _) => (b, a),
            _ => return None,
        };
        match stars.iter_mut().find(|star| star.centre == centre) {
            Some(star) => star.leaves.push(leaf),
            None => stars.push(Star { centre, leaves: vec![leaf] }),
        }
    }
    Some(stars)
}

fn switch_rows(paths: &[Path], potentials: &[f64]) -> Vec<Row> {
    let mut rows = Vec::new();
    for (block, star) in stars(paths).unwrap_or_default().into_iter().enumerate() {
        let mean = star.leaves.iter().map(|leaf| potentials[leaf.0]).sum::<f64>() / star.leaves.len() as f64;
        let centre_left = potentials[star.centre.0] >= mean;
        let middle = (star.leaves.len() - 1) / 2;
        for (index, &leaf) in star.leaves.iter().enumerate() {
            let centre = (index == middle).then_some(star.centre);
            let ends = if centre_left { [centre, Some(leaf)] } else { [Some(leaf), centre] };
            rows.push(Row { ends, block });
        }
    }
    rows
}
