//! Reads readings and symptoms.

use super::file::{ReadingEntry, SymptomEntry};
use super::load::{Job, Reader};
use super::names;
use super::values::{Pair, ShownOhms, ShownValue};
use crate::observe::{NoCapacitance, sees_capacitor};
use crate::reading::{Measure, Reading, Symptom, Value};
use crate::unit::{TerminalId, Unit};
use std::ops::Range;
use toml::Spanned;

const A_CAPACITANCE: &str = "a number such as 11.8, or \"OL\" for over range";
/// More than any meter on a bench shows of such units (engineering judgement), in the unit that the figure is written in.
const MOST_SHOWN: [(&str, f64); 9] = [
    ("ohms", 1e15),
    ("microfarads", 1e7),
    ("volts", 1e5),
    ("amps", 1e5),
    ("watts", 1e7),
    ("rpm", 1e6),
    ("run_down_seconds", 1e5),
    ("touch_milliamps", 1e6),
    ("leakage_milliamps", 1e6),
];
const A_FREE_CAPACITOR: &str = "a setup with supply = \"off\" and the capacitor's wires lifted";

/// Where something was measured.
#[derive(Clone, Copy)]
pub(super) struct Points<'e> {
    pub(super) between: Option<&'e Pair<Spanned<String>>>,
    pub(super) through: Option<&'e Spanned<String>>,
    pub(super) of: Option<&'e Spanned<String>>,
    pub(super) at: Option<&'e Spanned<String>>,
}

impl Reader<'_, '_> {
    pub(super) fn reading(&mut self, job: &Job, entry: &ReadingEntry, span: Range<usize>) -> Option<Reading> {
        if let Some(bars_of) = &entry.bars_of {
            return self.bar_round(job, entry, bars_of, span);
        }
        let setup = self.setup_named(job, &entry.setup);
        let meter = self.meter_named(job, entry.meter.as_ref());
        let plain = [
            ("microfarads", &entry.microfarads),
            ("volts", &entry.volts),
            ("amps", &entry.amps),
            ("watts", &entry.watts),
            ("rpm", &entry.rpm),
            ("run_down_seconds", &entry.run_down_seconds),
            ("touch_milliamps", &entry.touch_milliamps),
            ("leakage_milliamps", &entry.leakage_milliamps),
        ];
        let plain =
            plain.into_iter().filter_map(|(name, value)| value.as_ref().map(|v| (name, v.get_ref().0, v.span())));
        let ohms = match entry.ohms.as_ref().map(|ohms| (ohms.get_ref(), ohms.span())) {
            Some((ShownOhms::Round(_), place)) => {
                let problem = self.problems.error(place, "a list of ohms without bars_of");
                problem
                    .expected("one number, or bars_of = \"PART\" for a round from bar to bar")
                    .mend("write one reading per line");
                return None;
            }
            Some((ShownOhms::One(shown), place)) => Some(("ohms", shown.0, place)),
            None => None,
        };
        let given: Vec<_> = ohms.into_iter().chain(plain).collect();
        let [(quantity, shown, place)] = &given[..] else {
            let message = if given.is_empty() { "a reading without a value" } else { "a reading with two values" };
            let problem = self.problems.error(span, message);
            problem
                .expected("exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch_milliamps, leakage_milliamps")
                .mend("write one reading per line");
            return None;
        };
        let quantity = *quantity;
        let points = Points {
            between: entry.between.as_ref(),
            through: entry.through.as_ref(),
            of: entry.of.as_ref(),
            at: entry.at.as_ref(),
        };
        let measure = self.measure(&job.unit, quantity, points, span.clone());
        let value = match shown {
            ShownValue::Number(number) => {
                let most =
                    MOST_SHOWN.iter().find(|(name, _)| *name == quantity).map_or(f64::INFINITY, |(_, most)| *most);
                if *number > most {
                    let problem = self.problems.error(place.clone(), format!("{quantity} that no meter shows"));
                    problem.expected(format!("at most {most:e}")).mend("look at the decimal point and the unit");
                    return None;
                }
                Value::Number(*number)
            }
            ShownValue::Open | ShownValue::OverRange if quantity == "ohms" => Value::Open,
            ShownValue::OverRange if quantity == "microfarads" => Value::Open,
            ShownValue::Open | ShownValue::Dead if quantity == "microfarads" => {
                let message = "microfarads are a number, or over range";
                let problem = self.problems.error(place.clone(), message);
                problem.expected(A_CAPACITANCE).mend(
                    "for a capacitor that is open inside write 0; if the meter showed OL, as it does across a short, \"OL\"",
                );
                return None;
            }
            ShownValue::Dead if quantity == "ohms" => {
                let problem = self.problems.error(place.clone(), "ohms cannot be dead");
                problem.expected("a number or \"open\"").mend("for no connection write \"open\", for a dead short 0");
                return None;
            }
            ShownValue::Dead => Value::Number(0.0),
            ShownValue::Open | ShownValue::OverRange => {
                let problem = self.problems.error(place.clone(), format!("{quantity} cannot be open"));
                problem.expected("a number").mend("for no volts or no current write \"dead\"");
                return None;
            }
        };
        self.idle_places(quantity, entry);
        let (setup, meter, measure) = (setup?, meter?, measure?);
        if quantity == "ohms" && job.setups[setup].energised {
            self.ohms_on_live(entry, span);
            return None;
        }
        if let Measure::Microfarads(a, b) = measure {
            self.capacitor_alone(job, setup, [a, b], span.clone())?;
        }
        if quantity == "run_down_seconds" && !job.setups[setup].energised {
            let message = format!("a run-down in setup '{}', where the supply is off", entry.setup.get_ref());
            let problem = self.problems.error(span, message);
            problem
                .expected("the setup that was switched off, with supply = \"on\"")
                .mend("name the setup in which the motor ran before");
            return None;
        }
        Some(Reading { setup, measure, value, meter, line: self.problems.line(span.start), round: Vec::new() })
    }

    /// A capacitance is that of one capacitor, by itself; a problem if not.
    fn capacitor_alone(&mut self, job: &Job, setup: usize, ends: [TerminalId; 2], span: Range<usize>) -> Option<()> {
        let unit = &job.unit;
        let Err(why) = sees_capacitor(unit, &job.setups[setup], ends) else { return Some(()) };
        let [a, b] = ends.map(|end| unit.terminal_name(end));
        let part = &unit.parts()[unit.part_of(ends[0])].name;
        let name = &job.setups[setup].name;
        let (message, expected, mend) = match why {
            NoCapacitance::NoCapacitor => {
                let capacitors = unit.parts().iter().filter(|part| part.kind.is_capacitor());
                let known: Vec<String> = capacitors.map(|part| format!("{0}.a and {0}.b", part.name)).collect();
                let mend = match known.is_empty() {
                    true => "this unit has no run-capacitor or start-capacitor: add it to the parts first".to_owned(),
                    false => format!("there is {}", known.join(", ")),
                };
                (
                    format!("{a} and {b} are not the terminals of one capacitor"),
                    "the two terminals of a capacitor",
                    mend,
                )
            }
            NoCapacitance::Live => {
                let mend = format!("unplug, discharge {part}, and name a setup in which its wires are off");
                (format!("microfarads in setup '{name}', where the supply is on"), A_FREE_CAPACITOR, mend)
            }
            NoCapacitance::Connected => {
                let mend = format!(
                    "lift the wires of {part} in this setup, lifted = [\"{a}\", \"{b}\"], or name one in which they are \
                     off: a capacitance meter cannot see a capacitor through windings"
                );
                (format!("microfarads in setup '{name}', where {part} is connected"), A_FREE_CAPACITOR, mend)
            }
        };
        self.problems.error(span, message).expected(expected).mend(mend);
        None
    }

    /// A place that the quantity does not use was perhaps meant for another reading.
    pub(super) fn idle_places(&mut self, quantity: &str, entry: &ReadingEntry) {
        let between = entry.between.as_ref().map(|Pair(a, _)| a);
        let needed = match quantity {
            "ohms" | "microfarads" | "volts" => "between",
            "amps" => "through",
            "watts" | "rpm" | "run_down_seconds" | "leakage_milliamps" => "of",
            "touch_milliamps" => "at",
            _ => "bars_of",
        };
        let (through, of, at) = (entry.through.as_ref(), entry.of.as_ref(), entry.at.as_ref());
        for (name, place) in [("between", between), ("through", through), ("of", of), ("at", at)] {
            if let Some(place) = place.filter(|_| name != needed) {
                let problem = self.problems.warning(place.span(), format!("{quantity} makes no use of '{name}'"));
                problem.expected(format!("only '{needed}'")).mend("leave it out, or write another reading");
            }
        }
    }

    pub(super) fn measure(
        &mut self,
        unit: &Unit,
        quantity: &str,
        points: Points<'_>,
        span: Range<usize>,
    ) -> Option<Measure> {
        match quantity {
            "ohms" | "microfarads" | "volts" => {
                let Some(Pair(a, b)) = points.between else {
                    let problem = self.problems.error(span, format!("{quantity} without two points"));
                    problem
                        .expected("between = [\"part.terminal\", \"part.terminal\"]")
                        .mend("say where the two probes were");
                    return None;
                };
                let (first, second) = (self.terminal(unit, a), self.terminal(unit, b));
                let (first, second) = (first?, second?);
                if first == second {
                    let problem = self.problems.error(b.span(), format!("both probes at {}", a.get_ref()));
                    problem.expected("two different terminals").mend("correct one of them");
                    return None;
                }
                Some(match quantity {
                    "ohms" => Measure::Ohms(first, second),
                    "microfarads" => Measure::Microfarads(first, second),
                    _ => Measure::Volts(first, second),
                })
            }
            "amps" => {
                let Some(through) = points.through else {
                    let problem = self.problems.error(span, "amps without a conductor");
                    problem
                        .expected("through = \"part.terminal\" or the label of a wire")
                        .mend("say which lead was in the clamp");
                    return None;
                };
                if let Some(wire) = unit.find_wire(through.get_ref()) {
                    return Some(Measure::AmpsInWire(wire));
                }
                if !through.get_ref().contains('.') && unit.find_terminal(through.get_ref()).is_none() {
                    self.unknown_wire(unit, through);
                    return None;
                }
                self.terminal(unit, through).map(Measure::AmpsAtTerminal)
            }
            "touch_milliamps" => {
                let Some(at) = points.at else {
                    let problem = self.problems.error(span, format!("{quantity} without a point"));
                    problem.expected("at = \"frame\" or another terminal").mend("say what was touched");
                    return None;
                };
                self.terminal(unit, at).map(Measure::TouchMilliamps)
            }
            _ => {
                let Some(of) = points.of else {
                    let problem = self.problems.error(span, format!("{quantity} without a part"));
                    problem.expected("of = \"PART\"").mend("say of which part");
                    return None;
                };
                let part = self.part_named(unit, of)?;
                if quantity == "run_down_seconds" {
                    return self.open_shaft(unit, part, of).then_some(Measure::RunDown(part));
                }
                if quantity == "rpm" && unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_none() {
                    self.problems.error(of.span(), format!("'{}' does not turn", of.get_ref())).expected("a motor");
                    return None;
                }
                if quantity == "leakage_milliamps" && !unit.parts()[part].kind.feeds_unit() {
                    let message = format!("'{}' does not feed the unit", of.get_ref());
                    let problem = self.problems.error(of.span(), message);
                    problem.expected("the cord or the supply").mend("name what the clamp was around");
                    return None;
                }
                Some(match quantity {
                    "rpm" => Measure::Rpm(part),
                    "leakage_milliamps" => Measure::LeakageMilliamps(part),
                    _ => Measure::Watts(part),
                })
            }
        }
    }

    /// `through` names neither a wire nor, without a point, a terminal.
    pub(super) fn unknown_wire(&mut self, unit: &Unit, through: &Spanned<String>) {
        if self.unread.any_wire || self.unread.has_part_of(through.get_ref()) {
            return;
        }
        let terminals = (0..unit.terminal_count()).map(|index| unit.terminal_name(TerminalId(index)));
        let known: Vec<String> = unit.wires().iter().map(|wire| wire.name.clone()).chain(terminals).collect();
        let problem = self.problems.error(through.span(), format!("unknown wire '{}'", through.get_ref()));
        problem.expected("part.terminal, or the label of a wire").mend = names::mend(through.get_ref(), &known);
    }

    pub(super) fn symptom(&mut self, job: &Job, entry: &SymptomEntry, span: Range<usize>) -> Option<Symptom> {
        let (setup, part) = (self.setup_named(job, &entry.setup), self.part_named(&job.unit, &entry.part));
        let (setup, part) = (setup?, part?);
        if entry.word.is_felt_by_hand() {
            if job.setups[setup].energised {
                let message = format!("'{}' in a setup where the supply is on", entry.word.as_str());
                let problem = self.problems.error(entry.setup.span(), message);
                problem.expected("a setup with supply = \"off\"").mend("unplug before you turn a shaft by hand");
                return None;
            }
            if !self.open_shaft(&job.unit, part, &entry.part) {
                return None;
            }
        } else if !job.setups[setup].energised {
            let problem =
                self.problems.warning(entry.setup.span(), "a symptom in a setup where the supply is off says nothing");
            problem.mend("name a setup with supply = \"on\"");
        }
        Some(Symptom { setup, part, word: entry.word, line: self.problems.line(span.start) })
    }

    /// Whether a part has a shaft that a hand can reach; a problem if not.
    fn open_shaft(&mut self, unit: &Unit, part: usize, name: &Spanned<String>) -> bool {
        let kind = &unit.parts()[part].kind;
        let turns = kind.synchronous_rpm(unit.hertz()).is_some();
        if !kind.has_open_shaft() {
            let why = if turns { "is sealed: nobody sees or reaches its shaft" } else { "does not turn" };
            let problem = self.problems.error(name.span(), format!("'{}' {why}", name.get_ref()));
            problem.expected("a motor with an open shaft");
        }
        kind.has_open_shaft()
    }

    pub(super) fn setup_named(&mut self, job: &Job, name: &Spanned<String>) -> Option<usize> {
        let found = job.find_setup(name.get_ref());
        if found.is_none() && !self.unread.setups.contains(name.get_ref()) {
            let known: Vec<String> = job.setups.iter().map(|setup| setup.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown setup '{}'", name.get_ref()));
            problem.expected("the name of a setup").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    pub(super) fn meter_named(&mut self, job: &Job, name: Option<&Spanned<String>>) -> Option<usize> {
        let Some(name) = name else { return Some(0) };
        let found = job.meters.iter().position(|meter| &meter.name == name.get_ref());
        if found.is_none() && !self.unread.meters.contains(name.get_ref()) {
            let known: Vec<String> = job.meters.iter().map(|meter| meter.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown meter '{}'", name.get_ref()));
            problem.expected("the name of a meter").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    pub(super) fn part_named(&mut self, unit: &Unit, name: &Spanned<String>) -> Option<usize> {
        let found = unit.find_part(name.get_ref());
        if found.is_none() && !self.unread.has_part_of(name.get_ref()) {
            let known: Vec<String> = unit.parts().iter().map(|part| part.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown part '{}'", name.get_ref()));
            problem.expected("the name of a part").mend = names::mend(name.get_ref(), &known);
        }
        found
    }
}
