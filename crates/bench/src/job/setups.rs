//! Reads setups.

use super::file::{OnOff, SetupEntry};
use super::load::Unread;
use super::names;
use super::problem::Collector;
use super::values::Pair;
use crate::setup::Setup;
use crate::unit::{TerminalId, Unit};
use std::collections::BTreeMap;
use toml::Spanned;

pub(super) struct SetupReader<'r, 't> {
    pub(super) unit: &'r Unit,
    pub(super) problems: &'r mut Collector<'t>,
    pub(super) unread: &'r Unread,
}

impl SetupReader<'_, '_> {
    /// What could be understood of a setup; problems are noted.
    pub(super) fn setup(&mut self, name: &Spanned<String>, entry: &SetupEntry) -> Setup {
        if let Some(hertz) = &entry.hertz
            && hertz.get_ref().0 != self.unit.hertz()
        {
            let message = format!(
                "two frequencies: this setup has {} Hz, the supply {} Hz",
                hertz.get_ref().0,
                self.unit.hertz()
            );
            self.problems.error(hertz.span(), message).expected("one frequency").mend("leave it out");
        }
        let mut positions = BTreeMap::new();
        for (part, position) in &entry.positions {
            if let Some((part, position)) = self.position(part, position) {
                positions.insert(part, position);
            }
        }
        let winding_celsius = entry.winding_celsius.unwrap_or(20.0);
        if !(-50.0..=300.0).contains(&winding_celsius) {
            let problem = self.problems.error(name.span(), format!("windings at {winding_celsius} degrees Celsius"));
            problem.expected("winding_celsius between -50 and 300");
        }
        let jumpers = entry.jumpers.iter().filter_map(|Pair(a, b)| self.jumper(a, b)).collect();
        Setup {
            name: name.get_ref().clone(),
            energised: entry.supply == OnOff::On,
            positions,
            lifted: entry.lifted.iter().filter_map(|text| self.terminal(text)).collect(),
            jumpers,
            held: entry.held.iter().filter_map(|text| self.motor(text)).collect(),
            pushed: entry.pushed.iter().filter_map(|text| self.motor(text)).collect(),
            winding_celsius: winding_celsius.clamp(-50.0, 300.0),
        }
    }

    fn position(&mut self, part: &Spanned<String>, position: &Spanned<String>) -> Option<(usize, String)> {
        let index = self.part(part)?;
        let known = self.unit.parts()[index].kind.positions();
        if known.is_empty() {
            let problem = self.problems.error(part.span(), format!("'{}' has no positions", part.get_ref()));
            problem.expected("a switch, thermostat, cutout or universal motor");
            return None;
        }
        if !known.contains(position.get_ref()) {
            let message = format!("unknown position '{}' of '{}'", position.get_ref(), part.get_ref());
            let problem = self.problems.error(position.span(), message);
            problem.expected(format!("one of {}", known.join(", "))).mend = names::mend(position.get_ref(), &known);
            return None;
        }
        Some((index, position.get_ref().clone()))
    }

    fn jumper(&mut self, a: &Spanned<String>, b: &Spanned<String>) -> Option<(TerminalId, TerminalId)> {
        let (first, second) = (self.terminal(a), self.terminal(b));
        let (first, second) = (first?, second?);
        if first == second {
            let problem = self.problems.error(b.span(), format!("a jumper from {} to itself", a.get_ref()));
            problem.expected("two different terminals").mend("correct one end, or leave it out");
            return None;
        }
        Some((first, second))
    }

    fn motor(&mut self, text: &Spanned<String>) -> Option<usize> {
        let part = self.part(text)?;
        if self.unit.parts()[part].kind.synchronous_rpm(self.unit.hertz()).is_none() {
            self.problems.error(text.span(), format!("'{}' does not turn", text.get_ref())).expected("a motor");
            return None;
        }
        Some(part)
    }

    fn part(&mut self, text: &Spanned<String>) -> Option<usize> {
        let found = self.unit.find_part(text.get_ref());
        if found.is_none() && !self.unread.has_part_of(text.get_ref()) {
            let known: Vec<String> = self.unit.parts().iter().map(|part| part.name.clone()).collect();
            let problem = self.problems.error(text.span(), format!("unknown part '{}'", text.get_ref()));
            problem.expected("the name of a part").mend = names::mend(text.get_ref(), &known);
        }
        found
    }

    fn terminal(&mut self, text: &Spanned<String>) -> Option<TerminalId> {
        let found = self.unit.find_terminal(text.get_ref());
        if found.is_none() && !self.unread.has_part_of(text.get_ref()) {
            let known: Vec<String> =
                (0..self.unit.terminal_count()).map(|index| self.unit.terminal_name(TerminalId(index))).collect();
            let problem = self.problems.error(text.span(), format!("unknown terminal '{}'", text.get_ref()));
            problem.expected("part.terminal").mend = names::mend(text.get_ref(), &known);
        }
        found
    }
}
