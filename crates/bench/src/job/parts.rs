//! Reads parts and wires, and puts the unit together.

use super::file::{Fitted, UnitEntry, WireEntry};
use super::load::{MOST_TERMINALS, NamedPart, Reader};
use super::names;
use crate::kinds::{Frame, KIND_NAMES, Kind, PartEntry};
use crate::unit::{Provenance, TerminalId, Unit, Wire};
use crate::wire_size::WireSize;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeValue, ValueDeserializer};

impl<'t> Reader<'_, 't> {
    pub(super) fn parts(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Vec<NamedPart> {
        let (mut parts, mut terminals) = (Vec::new(), 0);
        self.unread.all_parts = value.is_some();
        for (name, value) in self.table(value, "parts", MOST_TERMINALS) {
            self.unread.all_parts = false;
            match self.part(&name, value) {
                Some((kind, provenance)) => {
                    terminals += kind.terminals().len();
                    parts.push((name, kind, provenance));
                }
                None => self.unread.parts.push(name.into_inner()),
            }
        }
        if let (true, Some((name, ..))) = (terminals > MOST_TERMINALS, parts.first()) {
            self.too_many(name.span(), terminals, "terminals in all parts together", MOST_TERMINALS);
            parts.clear();
            self.unread.all_parts = true;
        }
        parts
    }

    fn part(&mut self, name: &Spanned<String>, value: Spanned<DeValue<'t>>) -> Option<(Box<dyn Kind>, Provenance)> {
        let plain = name.get_ref();
        if plain == "frame" {
            let problem = self.problems.error(name.span(), "the name 'frame' is taken: it is the metal of the unit");
            problem.mend("leave it out; wires may go to frame as it is");
            return None;
        }
        if plain.is_empty() || plain.contains(['.', ' ']) {
            let problem = self.problems.error(name.span(), format!("'{plain}' cannot be the name of a part"));
            problem.expected("a name without points and spaces");
            return None;
        }
        let span = value.span();
        let DeValue::Table(mut table) = value.into_inner() else {
            self.problems.error(span, format!("part '{plain}' is not a table")).expected(format!("[parts.{plain}]"));
            return None;
        };
        let make = match table.remove("make") {
            Some(make) => Some(self.entry::<String>(make)?),
            None => None,
        };
        let replaced_before = match table.remove("replaced_before") {
            Some(times) => self.entry::<u32>(times)?,
            None => 0,
        };
        let is_new = match table.remove("fitted") {
            Some(fitted) => self.entry::<Fitted>(fitted)? == Fitted::New,
            None => false,
        };
        let provenance = Provenance { make, replaced_before, is_new };
        let kinds = KIND_NAMES.map(String::from);
        let Some(kind) = table.remove("kind") else {
            let problem = self.problems.error(name.span(), format!("part '{plain}' does not say what kind it is"));
            problem.expected(format!("kind = one of {}", KIND_NAMES.join(", ")));
            return None;
        };
        let kind_span = kind.span();
        let kind: String = self.entry(kind)?;
        let rest = ValueDeserializer::from(Spanned::new(span.clone(), DeValue::Table(table)));
        match PartEntry::read(&kind, rest) {
            Some(Ok(part)) => Some((part, provenance)),
            Some(Err(error)) => {
                // A whole table is a poor place to point at: its name says which part.
                let place = error.span().filter(|place| *place != span).unwrap_or_else(|| name.span());
                self.entry_problem(place, &error);
                None
            }
            None => {
                let problem = self.problems.error(kind_span, format!("unknown kind of part '{kind}'"));
                problem.expected(format!("one of {}", KIND_NAMES.join(", "))).mend = names::mend(&kind, &kinds);
                None
            }
        }
    }

    /// The unit, its wires still to be added; with a problem noted, stand-ins let the rest of the file be read too.
    pub(super) fn unit(&mut self, entry: Option<UnitEntry>, parts: Vec<NamedPart>) -> Unit {
        let supplies: Vec<usize> = (0..parts.len()).filter(|&index| parts[index].1.supply().is_some()).collect();
        let frame = parts.len();
        let supply = self.only_supply(&parts, &supplies).unwrap_or(frame);
        for (index, (name, kind, _)) in parts.iter().enumerate() {
            self.check_terminal_names(name, kind.as_ref());
            self.check_medians(name, kind.as_ref());
            for doubt in kind.doubts() {
                let message = format!("'{}': {}", name.get_ref(), doubt.message);
                self.problems.warning(name.span(), message).expected(doubt.expected).mend(doubt.mend);
            }
            if supply != frame && index != supply {
                self.check_rated_hertz(name, kind.as_ref(), parts[supply].1.as_ref());
                self.check_plug(name, kind.as_ref(), parts[supply].1.as_ref());
            }
        }
        self.part_places = parts.iter().map(|(name, ..)| name.span()).collect();
        let mut named: Vec<(String, Box<dyn Kind>, Provenance)> =
            parts.into_iter().map(|(name, kind, provenance)| (name.into_inner(), kind, provenance)).collect();
        named.push(("frame".into(), Box::new(Frame), Provenance::default()));
        let (name, note) = entry.map_or((String::new(), None), |entry| (entry.name, entry.note));
        Unit::new(name, note, named, supply, frame)
    }

    /// The one supply of the unit, or a problem.
    fn only_supply(&mut self, parts: &[NamedPart], supplies: &[usize]) -> Option<usize> {
        match *supplies {
            [supply] => Some(supply),
            [] => {
                // A part that could not be read has its own problem and may be the supply.
                if !self.problems.has_errors() {
                    self.problems
                        .error(0..0, "there is no supply")
                        .expected("one part of kind supply, two-leg-supply or three-phase-supply")
                        .mend("add: [parts.supply] with kind = \"supply\", volts and hertz");
                }
                None
            }
            [first, second, ..] => {
                let hertz = |index: usize| parts[index].1.supply().map_or(0.0, |supply| supply.hertz);
                let message = if hertz(first) == hertz(second) {
                    "there is more than one supply".to_owned()
                } else {
                    format!("two frequencies: {} Hz and {} Hz", hertz(first), hertz(second))
                };
                let problem = self.problems.error(parts[second].0.span(), message);
                problem.expected("one supply, of whatever kind").mend("keep the one that feeds the unit");
                None
            }
        }
    }

    fn check_terminal_names(&mut self, name: &Spanned<String>, kind: &dyn Kind) {
        let terminals = kind.terminals();
        if terminals.is_empty() {
            let problem = self.problems.error(name.span(), format!("part '{}' has no terminals", name.get_ref()));
            problem.expected("at least one").mend("name its terminals, or leave the part out");
        }
        for (index, terminal) in terminals.iter().enumerate() {
            if terminals[..index].contains(terminal) {
                let message = format!("part '{}' has two terminals named '{terminal}'", name.get_ref());
                let problem = self.problems.error(name.span(), message);
                problem.expected("each terminal named once").mend("rename one of them");
            }
            if terminal.is_empty() || terminal.contains(['.', ' ']) {
                let message = format!("'{terminal}' cannot be the name of a terminal of '{}'", name.get_ref());
                self.problems.error(name.span(), message).expected("a name without points and spaces");
            }
        }
    }

    /// Values that are each possible may still make nonsense together, such as no ohms at all.
    fn check_medians(&mut self, name: &Spanned<String>, kind: &dyn Kind) {
        for unknown in kind.unknowns() {
            if !(unknown.median.is_normal() && unknown.median > 0.0) {
                let message = format!("the values of '{}' make no {}", name.get_ref(), unknown.words);
                self.problems.error(name.span(), message).expected("values of a real part").mend("check their sizes");
            }
        }
    }

    /// A part that no wire goes to is mostly a wire forgotten.
    pub(super) fn check_wires(&mut self, unit: &Unit) {
        let is_wired = |part: usize| {
            unit.wires().iter().any(|wire| unit.part_of(wire.from) == part || unit.part_of(wire.to) == part)
        };
        let has_cord = unit.parts().iter().any(|part| part.kind.name() == "cord");
        for (part, place) in self.part_places.clone().into_iter().enumerate() {
            if unit.wires().is_empty() || self.problems.has_errors() {
                return;
            }
            let is_fed_by_plug = part == unit.supply() && has_cord;
            if !(is_wired(part) || is_fed_by_plug) {
                let problem = self.problems.warning(place, format!("no wire goes to '{}'", unit.parts()[part].name));
                problem.mend("add its wires, or leave it out");
            }
        }
    }

    /// What is plugged in must find a conductor of the supply for each of its pins.
    fn check_plug(&mut self, name: &Spanned<String>, kind: &dyn Kind, supply: &dyn Kind) {
        let outlet = supply.terminals();
        let terminals = kind.terminals();
        let mut pins = terminals.iter().filter_map(|terminal| terminal.strip_prefix("plug-"));
        let Some(stray) = pins.find(|pin| kind.feeds_unit() && !outlet.iter().any(|own| own == pin)) else { return };
        let message =
            format!("the plug of '{}' has a conductor '{stray}', the {} has none", name.get_ref(), supply.name());
        let list = |names: Vec<String>| names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
        let problem = self.problems.error(name.span(), message).expected(format!("one of {}", outlet.join(", ")));
        problem.mend(format!("name the conductors of the cord: conductors = [{}]", list(outlet)));
    }

    fn check_rated_hertz(&mut self, name: &Spanned<String>, kind: &dyn Kind, supply: &dyn Kind) {
        let (Some(rated), Some(figures)) = (kind.rated_hertz(), supply.supply()) else { return };
        if rated != figures.hertz {
            let message = format!("'{}' is made for {rated} Hz, the supply has {} Hz", name.get_ref(), figures.hertz);
            self.problems.error(name.span(), message).expected("one frequency").mend("correct the plate or the supply");
        }
    }

    pub(super) fn terminal(&mut self, unit: &Unit, text: &Spanned<String>) -> Option<TerminalId> {
        let found = unit.find_terminal(text.get_ref());
        if found.is_none() && !self.unread.has_part_of(text.get_ref()) {
            let known: Vec<String> =
                (0..unit.terminal_count()).map(|index| unit.terminal_name(TerminalId(index))).collect();
            let part = text.get_ref().split('.').next().unwrap_or_default();
            let (message, near) = match unit.find_part(part) {
                Some(part) => {
                    let own: Vec<String> = unit.terminals_of(part).map(|index| known[index].clone()).collect();
                    (format!("unknown terminal '{}'", text.get_ref()), own)
                }
                None => (format!("unknown terminal '{}': there is no part '{part}'", text.get_ref()), known),
            };
            self.problems.error(text.span(), message).expected("part.terminal").mend =
                names::mend(text.get_ref(), &near);
        }
        found
    }

    pub(super) fn wire(&mut self, unit: &mut Unit, entry: WireEntry, span: Range<usize>) -> Option<()> {
        let (from, to) = (self.terminal(unit, &entry.from), self.terminal(unit, &entry.to));
        let (from, to) = (from?, to?);
        if from == to {
            let problem = self.problems.error(span, format!("a wire from {} to itself", entry.from.get_ref()));
            problem.expected("two different terminals").mend("correct one end, or leave the wire out");
            return None;
        }
        let ends = format!("{}~{}", unit.terminal_name(from), unit.terminal_name(to));
        let name = match &entry.label {
            Some(label) => {
                let text = label.get_ref().clone();
                let is_taken = unit.find_wire(&text).is_some()
                    || unit.find_part(&text).is_some()
                    || unit.find_terminal(&text).is_some();
                if is_taken || text.trim().is_empty() {
                    let message =
                        if is_taken { format!("the name '{text}' is given twice") } else { "an empty label".into() };
                    let problem = self.problems.error(label.span(), message);
                    problem.expected("a label that nothing else has").mend("change it, or leave it out");
                    return None;
                }
                text
            }
            None => {
                let mut name = ends.clone();
                let mut copy = 2;
                while unit.find_wire(&name).is_some() {
                    name = format!("{ends}#{copy}");
                    copy += 1;
                }
                name
            }
        };
        let size = self.wire_size(&entry)?;
        unit.add_wire(Wire { name, from, to, colour: entry.colour, size });
        Some(())
    }
    /// The size of a wire, which may be given in one way only; `None` after a problem.
    fn wire_size(&mut self, entry: &WireEntry) -> Option<Option<WireSize>> {
        let section = entry.square_millimetres.map(|section| WireSize::SquareMillimetres(section.0));
        let gauge = entry.gauge.as_ref().map(|gauge| WireSize::Gauge(gauge.get_ref().0));
        if let (Some(_), Some(given)) = (section, &entry.gauge) {
            let problem = self.problems.error(given.span(), "the size of a wire is given twice");
            problem.expected("square_millimetres or gauge").mend("leave out one of them");
            return None;
        }
        Some(section.or(gauge))
    }
}
