//! Reads housings and refusals.

use super::file::HousingEntry;
use super::load::{Job, Reader};
use super::names;
use crate::access::Housing;
use crate::unit::{TerminalId, Unit};
use std::ops::Range;
use toml::Spanned;
use toml::de::DeValue;

/// More than these is no unit on a bench.
const MOST_HOUSINGS: usize = 16;
const MOST_REFUSALS: usize = 200;
/// Longest that opening a housing may take, minutes: a working day.
const LONGEST_MINUTES: f64 = 480.0;

impl<'t> Reader<'_, 't> {
    pub(super) fn housings(&mut self, unit: &Unit, value: Option<Spanned<DeValue<'t>>>) -> Vec<Housing> {
        let entries: Vec<(HousingEntry, Range<usize>)> = self.array(value, "housings", MOST_HOUSINGS);
        let known: Vec<String> = entries.iter().map(|(entry, _)| entry.name.get_ref().clone()).collect();
        let mut housings = Vec::new();
        for (place, (entry, span)) in entries.iter().enumerate() {
            let name = entry.name.get_ref();
            if known[..place].contains(name) {
                let problem = self.problems.error(entry.name.span(), format!("a second housing called '{name}'"));
                problem.expected("each name once").mend("rename one of them, or put what they hold together");
            }
            let minutes = *entry.minutes.get_ref();
            if !(0.0..=LONGEST_MINUTES).contains(&minutes) {
                let problem = self.problems.error(entry.minutes.span(), format!("a housing of {minutes} minutes"));
                problem.expected(format!("minutes to open it, from 0 to {LONGEST_MINUTES}"));
            }
            let behind = entry.behind.as_ref().and_then(|outer| self.outer(outer, &known));
            let mut housing = Housing {
                name: name.clone(),
                minutes,
                is_open: entry.open,
                behind,
                parts: Vec::new(),
                terminals: Vec::new(),
            };
            for text in &entry.holds {
                self.hold(unit, &mut housing, text);
            }
            if entry.holds.is_empty() && !entries.iter().any(|(inner, _)| is_behind(inner, name)) {
                let problem = self.problems.error(span.clone(), format!("the housing '{name}' has nothing behind it"));
                problem.expected("holds = [\"part\", \"part.terminal\"]").mend("name what it covers, or leave it out");
            }
            housings.push(housing);
        }
        self.check_nesting(&mut housings, &entries);
        housings
    }

    fn outer(&mut self, outer: &Spanned<String>, known: &[String]) -> Option<usize> {
        let found = known.iter().position(|name| name == outer.get_ref());
        if found.is_none() {
            let problem = self.problems.error(outer.span(), format!("unknown housing '{}'", outer.get_ref()));
            problem.expected("the name of a housing").mend = names::mend(outer.get_ref(), known);
        }
        found
    }

    /// Notes a part or a terminal behind a housing.
    fn hold(&mut self, unit: &Unit, housing: &mut Housing, text: &Spanned<String>) {
        let typed = text.get_ref();
        let part = unit.find_part(typed);
        let terminals: Vec<TerminalId> = match part {
            Some(part) => unit.terminals_of(part).map(TerminalId).collect(),
            None => unit.find_terminal(typed).into_iter().collect(),
        };
        let Some(&first) = terminals.first() else {
            if !self.unread.has_part_of(typed) {
                let known: Vec<String> = match typed.contains('.') {
                    true => (0..unit.terminal_count()).map(|at| unit.terminal_name(TerminalId(at))).collect(),
                    false => unit.parts().iter().map(|part| part.name.clone()).collect(),
                };
                let problem = self.problems.error(text.span(), format!("unknown part or terminal '{typed}'"));
                problem.expected("a part, or part.terminal").mend = names::mend(typed, &known);
            }
            return;
        };
        if [unit.supply(), unit.part_of(unit.frame())].contains(&unit.part_of(first)) {
            let problem = self.problems.error(text.span(), format!("'{typed}' behind a housing"));
            problem
                .expected("parts within the unit")
                .mend("the supply and the metal of the unit are outside: leave it out");
            return;
        }
        housing.parts.extend(part);
        housing.terminals.extend(terminals);
    }

    /// A housing behind itself could never be opened.
    fn check_nesting(&mut self, housings: &mut [Housing], entries: &[(HousingEntry, Range<usize>)]) {
        for start in 0..housings.len() {
            let mut way = vec![start];
            while let Some(outer) = way.last().and_then(|&inner| housings[inner].behind) {
                if outer == start {
                    let names: Vec<&str> = way.iter().chain([&start]).map(|&at| housings[at].name.as_str()).collect();
                    let message = format!("housings behind each other: {}", names.join(" behind "));
                    let place = entries[start].0.behind.as_ref().map_or(0..0, Spanned::span);
                    let problem = self.problems.error(place, message);
                    problem.expected("an outermost housing").mend("leave out 'behind' of the outermost");
                    housings[start].behind = None;
                    break;
                }
                if way.contains(&outer) {
                    break;
                }
                way.push(outer);
            }
        }
    }

    pub(super) fn refusals(&mut self, job: &mut Job, value: Option<Spanned<DeValue<'t>>>) {
        for (text, span) in self.array::<Spanned<String>>(value, "refused", MOST_REFUSALS) {
            let typed = text.get_ref();
            match job.find_refusal(typed) {
                Ok(refusal) => job.refused.push(refusal),
                Err(_) if self.unread.has_part_of(typed) => {}
                Err(_)
                    if typed
                        .strip_prefix("setup ")
                        .is_some_and(|name| self.unread.setups.iter().any(|u| u == name)) => {}
                Err(known) => {
                    let problem = self.problems.error(span, format!("'{typed}' cannot be refused: it is not known"));
                    problem.expected(REFUSABLE).mend = names::mend(typed, &known);
                }
            }
        }
    }
}

/// What may stand in `refused`.
pub const REFUSABLE: &str = "a part, part.terminal, \"setup NAME\", \"housing NAME\", \"energised\", or one of ohms, microfarads, volts, \
     amps, watts, rpm, run-down, touch, leakage, spin, push, wait, swap, jumper, lift";

fn is_behind(inner: &HousingEntry, outer: &str) -> bool {
    inner.behind.as_ref().is_some_and(|behind| behind.get_ref() == outer)
}
