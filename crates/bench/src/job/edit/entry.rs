//! A reading or a symptom typed on one line: `M1.common M1.high 27.1`, `cord.hot 0.73 A`, `M2 hums`.

mod value;

use super::typed::{ShownText, parse_typed_number};
use super::words::short;
use super::{Edit, ReadingPlace};
use crate::job::names::mend;
use crate::job::values::ShownValue;
use crate::reading::Word;
use crate::unit::{TerminalId, Unit};
use value::{Quantity, begins, value};

/// What a line says.
#[derive(Debug, Clone, PartialEq)]
pub enum EntryLine {
    /// A reading.
    Reading {
        /// What and where.
        measure: ReadingPlace,
        /// What the meter showed.
        value: ShownText,
    },
    /// A symptom.
    Symptom {
        /// The part.
        part: String,
        /// What was noticed.
        word: Word,
    },
}

impl EntryLine {
    /// The edit that puts it into a job file.
    pub fn into_edit(self, setup: impl Into<String>, meter: Option<String>) -> Edit {
        let setup = setup.into();
        match self {
            EntryLine::Reading { measure, value } => Edit::AddReading { setup, measure, value, meter },
            EntryLine::Symptom { part, word } => Edit::AddSymptom { setup, part, word },
        }
    }
}

/// Why a line is no reading and no symptom.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}; {mend}")]
pub struct EntryProblem {
    /// What is wrong.
    pub message: String,
    /// A likely mend.
    pub mend: String,
}

fn problem<T>(message: impl Into<String>, mend: impl Into<String>) -> Result<T, EntryProblem> {
    Err(EntryProblem { message: message.into(), mend: mend.into() })
}

const EXAMPLES: &str = "write a line such as M1.common M1.high 27.1, or cord.hot 0.73 A, or M1 hums";

/// Reads a line. Between two terminals a number without a unit is volts if the setup is energised, otherwise ohms.
///
/// A comma may stand for the decimal point; `k` and `M` multiply; capitals in names do not matter where only one name
/// fits.
///
/// # Errors
/// What is wrong with the line and how to write it.
pub fn parse_entry(unit: &Unit, line: &str, energised: bool) -> Result<EntryLine, EntryProblem> {
    let names = Names::of(unit);
    let line = line.trim();
    if line.is_empty() {
        return problem("nothing is typed", EXAMPLES);
    }
    let (first, rest) = names.take(line)?;
    if let (Some(part), Some(word)) = (names.part(&first), word(rest)) {
        if word.is_felt_by_hand() {
            let is_open = unit.find_part(&part).is_some_and(|part| unit.parts()[part].kind.has_open_shaft());
            if !is_open {
                return problem(
                    format!("'{part}' has no shaft that a hand can reach"),
                    "name a motor with an open shaft",
                );
            }
            if energised {
                return problem("a shaft turned by hand on a live unit", "choose a setup with the supply off");
            }
        }
        return Ok(EntryLine::Symptom { part, word });
    }
    if let Some(found) = value(rest) {
        let (value, unit_word) = found?;
        let measure = names.single(unit, first, unit_word, &value, energised)?;
        return checked(measure, value, energised);
    }
    if rest.is_empty() {
        return problem(format!("'{first}' alone says nothing"), EXAMPLES);
    }
    if names.is_only_part(&first) && !rest.contains('.') {
        return not_a_word(rest);
    }
    let (second, rest) = names.take(without_joiner(rest))?;
    let Some(found) = value(rest) else {
        return problem(format!("no value after {first} and {second}"), "end the line with what the meter showed");
    };
    let (value, unit_word) = found?;
    let (a, b) = (names.terminal(unit, &first)?, names.terminal(unit, &second)?);
    if a == b {
        return problem(format!("both probes at {a}"), "name two different terminals");
    }
    let measure = match unit_word {
        None if energised => ReadingPlace::Volts(a, b),
        Some(Quantity::Volts) => ReadingPlace::Volts(a, b),
        None | Some(Quantity::Ohms) => ReadingPlace::Ohms(a, b),
        Some(Quantity::Microfarads) => ReadingPlace::Microfarads(a, b),
        Some(Quantity::Amps) => return problem("amps between two terminals", "amps go through one terminal or wire"),
        Some(Quantity::Watts) => return problem("watts between two terminals", "watts are of a part"),
        Some(Quantity::Rpm | Quantity::Seconds) => {
            return problem("speed or time between two terminals", "rpm and seconds are of a motor");
        }
        Some(Quantity::TouchMilliamps) => {
            return problem("touch current between two terminals", "it flows from one to earth: name that one");
        }
        Some(Quantity::LeakageMilliamps) => {
            return problem("leakage between two terminals", "leakage is of the cord or the supply");
        }
    };
    checked(measure, value, energised)
}

/// What the reader of job files would refuse anyway.
fn checked(measure: ReadingPlace, value: ShownText, energised: bool) -> Result<EntryLine, EntryProblem> {
    let is_ohms = matches!(measure, ReadingPlace::Ohms(..));
    let is_capacitance = matches!(measure, ReadingPlace::Microfarads(..));
    match value.value() {
        _ if matches!(measure, ReadingPlace::RunDown(_)) && !energised => problem(
            "a run-down in a setup where the supply is off",
            "choose the live setup in which the motor ran before it was switched off",
        ),
        _ if is_ohms && energised => problem(
            "ohms in a setup where the supply is on",
            "choose a setup with the supply off; an ohmmeter on a live circuit reads nonsense and can be destroyed",
        ),
        _ if is_capacitance && energised => problem(
            "microfarads in a setup where the supply is on",
            "choose a setup with the supply off and the capacitor's wires lifted, and discharge it first",
        ),
        ShownValue::Open | ShownValue::Dead if is_capacitance => problem(
            format!("a capacitance cannot be {value}"),
            "type 0 for a capacitor that is open inside, OL if the meter showed that, as it does across a short",
        ),
        ShownValue::OverRange if is_ohms => Ok(EntryLine::Reading { measure, value: ShownText::open() }),
        ShownValue::Dead if is_ohms => {
            problem("ohms cannot be dead", "type open for no connection, 0 for a dead short")
        }
        ShownValue::Open | ShownValue::OverRange if !is_ohms && !is_capacitance => {
            problem(format!("{} cannot be open", measure.field()), "type dead for no volts or no current")
        }
        _ => Ok(EntryLine::Reading { measure, value }),
    }
}

/// The names of a unit that a line may begin with.
struct Names {
    terminals: Vec<String>,
    wires: Vec<String>,
    parts: Vec<String>,
}

impl Names {
    fn of(unit: &Unit) -> Self {
        Names {
            terminals: (0..unit.terminal_count()).map(|index| unit.terminal_name(TerminalId(index))).collect(),
            wires: unit.wires().iter().map(|wire| wire.name.clone()).collect(),
            parts: unit.parts().iter().map(|part| part.name.clone()).collect(),
        }
    }

    fn all(&self) -> impl Iterator<Item = &String> {
        self.terminals.iter().chain(&self.wires).chain(&self.parts)
    }

    /// The longest known name that the text begins with, and the rest.
    fn take<'l>(&self, text: &'l str) -> Result<(String, &'l str), EntryProblem> {
        if let Some(name) = self.all().filter(|name| begins(text, name, false)).max_by_key(|name| name.len()) {
            return Ok((name.clone(), text[name.len()..].trim_start()));
        }
        let near: Vec<&String> = self.all().filter(|name| begins(text, name, true)).collect();
        if let Some(longest) = near.iter().max_by_key(|name| name.len()) {
            let alike: Vec<&&String> = near.iter().filter(|name| name.len() == longest.len()).collect();
            if alike.iter().all(|name| name == &longest) {
                return Ok(((**longest).clone(), text[longest.len()..].trim_start()));
            }
        }
        let typed = text.split_whitespace().next().unwrap_or_default();
        if parse_typed_number(typed).is_ok() {
            return problem(format!("'{}' stands where a name belongs", short(typed)), EXAMPLES);
        }
        let mut known: Vec<String> = self.all().cloned().collect();
        if let Some((part, _)) = typed.split_once('.').filter(|(part, _)| self.parts.iter().any(|name| name == part)) {
            known = self.terminals.iter().filter(|name| name.split('.').next() == Some(part)).cloned().collect();
        }
        known.dedup();
        problem(format!("unknown name '{}'", short(typed)), mend(typed, &known).unwrap_or_else(|| EXAMPLES.into()))
    }

    fn part(&self, name: &str) -> Option<String> {
        self.parts.iter().find(|part| *part == name).cloned()
    }

    fn is_only_part(&self, name: &str) -> bool {
        self.part(name).is_some() && !self.terminals.iter().chain(&self.wires).any(|other| other == name)
    }

    fn terminal(&self, unit: &Unit, name: &str) -> Result<String, EntryProblem> {
        if self.terminals.iter().any(|terminal| terminal == name) {
            return Ok(name.to_owned());
        }
        if let Some(part) = unit.find_part(name) {
            let own: Vec<String> = unit.terminals_of(part).map(|index| self.terminals[index].clone()).collect();
            return problem(
                format!("'{name}' is a part, a probe goes to a terminal"),
                format!("there is {}", own.join(", ")),
            );
        }
        problem(format!("'{name}' is a wire, a probe goes to a terminal"), "name a terminal at one of its ends")
    }

    /// A value with a single name before it.
    fn single(
        &self,
        unit: &Unit,
        name: String,
        quantity: Option<Quantity>,
        value: &ShownText,
        energised: bool,
    ) -> Result<ReadingPlace, EntryProblem> {
        let is_conductor = self.terminals.iter().chain(&self.wires).any(|known| *known == name);
        match quantity {
            Some(Quantity::Ohms | Quantity::Volts) => {
                problem("one terminal only", "ohms and volts lie between two terminals: name both")
            }
            Some(Quantity::Microfarads) => {
                problem("one terminal only", "microfarads lie between the two terminals of a capacitor: name both")
            }
            Some(Quantity::TouchMilliamps) => Ok(ReadingPlace::TouchMilliamps(self.terminal(unit, &name)?)),
            Some(Quantity::LeakageMilliamps) => {
                let feeds = |part: usize| unit.parts()[part].kind.feeds_unit();
                if unit.find_part(&name).is_some_and(feeds) {
                    return Ok(ReadingPlace::LeakageMilliamps(name));
                }
                problem(format!("'{name}' does not feed the unit"), "leakage is of the cord or the supply")
            }
            Some(Quantity::Amps) if is_conductor => Ok(ReadingPlace::Amps(name)),
            Some(Quantity::Amps) => {
                let own = unit.find_part(&name).map(|part| unit.terminals_of(part)).unwrap_or_default();
                let own: Vec<&str> = own.map(|index| self.terminals[index].as_str()).collect();
                problem("amps go through a terminal or a wire", format!("there is {}", own.join(", ")))
            }
            Some(Quantity::Watts | Quantity::Rpm | Quantity::Seconds) if self.part(&name).is_none() => {
                problem("watts, rpm and seconds are of a part", format!("name the part, such as {}", part_of(&name)))
            }
            Some(Quantity::Watts) => Ok(ReadingPlace::Watts(name)),
            Some(Quantity::Rpm) => {
                let turns = |part: usize| unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_some();
                if unit.find_part(&name).is_some_and(turns) {
                    return Ok(ReadingPlace::Rpm(name));
                }
                problem(format!("'{name}' does not turn"), "rpm are of a motor")
            }
            Some(Quantity::Seconds) => {
                if unit.find_part(&name).is_some_and(|part| unit.parts()[part].kind.has_open_shaft()) {
                    return Ok(ReadingPlace::RunDown(name));
                }
                problem(format!("'{name}' has no shaft to be seen"), "seconds are how long a motor runs on")
            }
            None if is_conductor && energised && !matches!(value.value(), ShownValue::Open | ShownValue::OverRange) => {
                Ok(ReadingPlace::Amps(name))
            }
            None if is_conductor => problem("one terminal only", "ohms lie between two terminals: name both"),
            None => problem(
                format!("'{value}' of {name} has no unit"),
                "write W for watts, rpm for speed or s for the run-down after it",
            ),
        }
    }
}

fn part_of(name: &str) -> &str {
    name.split(['.', '~']).next().unwrap_or_default()
}

/// What stands between two terminals for people's sake.
fn without_joiner(text: &str) -> &str {
    let (word, rest) = text.split_once(char::is_whitespace).unwrap_or((text, ""));
    if ["to", "and", "-", "~", "/"].contains(&word) { rest.trim_start() } else { text }
}

/// A symptom word, hyphens or blanks within, in any case.
fn word(text: &str) -> Option<Word> {
    let plain = text.to_lowercase().split([' ', '-', '\t']).filter(|bit| !bit.is_empty()).collect::<Vec<_>>().join("-");
    Word::ALL.into_iter().find(|word| word.as_str() == plain)
}

fn not_a_word<T>(typed: &str) -> Result<T, EntryProblem> {
    let known = Word::ALL.map(|word| word.as_str().to_owned());
    let near = mend(&typed.replace(' ', "-"), &known).unwrap_or_default();
    problem(format!("'{}' is no value with a unit and no word for a symptom", short(typed)), near)
}

#[cfg(test)]
mod tests;
