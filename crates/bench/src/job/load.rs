//! Reads a job file: all of it that can be understood, and all that is wrong with it.

use super::file::{AccuracyEntry, MeterEntry, ReadingEntry, SetupEntry, SymptomEntry, UnitEntry, WireEntry};
use super::names;
use super::problem::{Collector, Problems};
use super::setups::{SetupReader, check_live_setups};
use super::values::ShownValue;
use crate::kinds::{Frame, KIND_NAMES, Kind, PartEntry};
use crate::meter::{Accuracy, Meter};
use crate::reading::{Measure, Reading, Symptom, Value};
use crate::setup::Setup;
use crate::unit::{TerminalId, Unit, Wire};
use serde::Deserialize;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue, ValueDeserializer};

/// A larger file is not a job file.
pub const LARGEST_FILE_BYTES: u64 = 4_000_000;

/// Everything a job file says.
#[derive(Debug)]
pub struct Job {
    /// The unit.
    pub unit: Unit,
    /// Setups, in alphabetical order of their names.
    pub setups: Vec<Setup>,
    /// Meters; the first is the handheld one that every job knows.
    pub meters: Vec<Meter>,
    /// Readings in the order of the file.
    pub readings: Vec<Reading>,
    /// Symptoms in the order of the file.
    pub symptoms: Vec<Symptom>,
    /// What looks wrong but does not keep the job from being used.
    pub warnings: Problems,
}

impl Job {
    /// Finds a setup by name.
    pub fn find_setup(&self, name: &str) -> Option<usize> {
        self.setups.iter().position(|setup| setup.name == name)
    }
}

/// Reads a job file's bytes; `file` is what to call it.
///
/// # Errors
/// All problems found, if any of them is an error.
pub fn read_bytes(file: &str, bytes: &[u8]) -> Result<Job, Problems> {
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        let mut collector = Collector::new(file, "");
        let megabytes = bytes.len() as f64 / 1e6;
        collector
            .error(0..0, format!("the file is {megabytes:.0} MB"))
            .expected(format!("a job file of at most {} MB", LARGEST_FILE_BYTES / 1_000_000))
            .mend("check that this is the file you meant; long logs do not belong in a job file");
        return Err(Problems(collector.found));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read(file, text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(error) => {
            let sound = String::from_utf8_lossy(&bytes[..error.valid_up_to()]).into_owned();
            let mut collector = Collector::new(file, &sound);
            collector
                .error(sound.len()..sound.len(), "the text is not UTF-8 from here on")
                .expected("text in UTF-8")
                .mend("save it as UTF-8 in the editor; check that it is a text file");
            Err(Problems(collector.found))
        }
    }
}

/// Reads a job file's text; `file` is what to call it.
///
/// # Errors
/// All problems found, if any of them is an error.
pub fn read(file: &str, text: &str) -> Result<Job, Problems> {
    let mut problems = Collector::new(file, text);
    if text.trim().is_empty() {
        problems
            .error(0..0, "the file is empty")
            .expected("a job file with [unit] and [parts]")
            .mend("start from a demo: demos/ holds three, docs/job-file.md explains them");
        return Err(Problems(problems.found));
    }
    let (document, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        syntax_problem(&mut problems, &error);
    }
    let job = Reader { problems: &mut problems, text }.job(document.into_inner());
    match job {
        Some(mut job) if !problems.has_errors() => {
            job.warnings = Problems(problems.found);
            Ok(job)
        }
        _ => {
            problems.found.sort_by_key(|problem| problem.span.start);
            Err(Problems(problems.found))
        }
    }
}

fn syntax_problem(problems: &mut Collector<'_>, error: &toml::de::Error) {
    let span = error.span().unwrap_or(0..0);
    let message = error.message().lines().next().unwrap_or("not a job file").to_owned();
    if message.contains("duplicate key") {
        problems
            .error(span, "this name is given twice")
            .expected("each name once")
            .mend("rename one of them, or remove the copy");
    } else {
        problems.error(span, message).mend("strings stand in quotes, tables in [brackets]; see docs/job-file.md");
    }
}

/// Walks the document section by section.
struct Reader<'p, 't> {
    problems: &'p mut Collector<'t>,
    text: &'t str,
}

const SECTIONS: [&str; 7] = ["unit", "parts", "wires", "setups", "meters", "readings", "symptoms"];

impl<'t> Reader<'_, 't> {
    fn job(&mut self, mut document: DeTable<'t>) -> Option<Job> {
        for (key, _) in document.iter() {
            if !SECTIONS.contains(&key.get_ref().as_ref()) {
                let known = SECTIONS.map(String::from);
                let problem = self.problems.error(key.span(), format!("unknown section '{}'", key.get_ref()));
                problem.expected(format!("one of {}", SECTIONS.join(", "))).mend = names::mend(key.get_ref(), &known);
            }
        }
        let mut take = |name: &str| document.remove(name);
        let unit_entry = match take("unit") {
            Some(value) => self.entry::<UnitEntry>(value),
            None => {
                self.problems.error(0..0, "there is no [unit]").expected("[unit] with a name").mend("add: [unit] and name = \"...\"");
                None
            }
        };
        let parts = self.parts(take("parts"));
        let mut unit = self.unit(unit_entry, parts)?;
        for (entry, span) in self.array::<WireEntry>(take("wires"), "wires") {
            self.wire(&mut unit, entry, span);
        }
        let unit = unit.finish();
        let meters = self.meters(take("meters"));
        let setups = self.setups(&unit, take("setups"));
        let mut job = Job {
            unit,
            setups,
            meters,
            readings: Vec::new(),
            symptoms: Vec::new(),
            warnings: Problems::default(),
        };
        for (entry, span) in self.array::<ReadingEntry>(take("readings"), "readings") {
            if let Some(reading) = self.reading(&job, &entry, span) {
                job.readings.push(reading);
            }
        }
        for (entry, span) in self.array::<SymptomEntry>(take("symptoms"), "symptoms") {
            if let Some(symptom) = self.symptom(&job, &entry, span) {
                job.symptoms.push(symptom);
            }
        }
        if !self.problems.has_errors() {
            check_live_setups(self.problems, self.text, &job.unit, &job.setups);
        }
        Some(job)
    }

    /// Reads one entry; a problem is noted where it stands.
    fn entry<T: for<'de> Deserialize<'de>>(&mut self, value: Spanned<DeValue<'t>>) -> Option<T> {
        let span = value.span();
        T::deserialize(ValueDeserializer::from(value))
            .map_err(|error| {
                let place = error.span().filter(|place| !place.is_empty()).unwrap_or(span);
                self.entry_problem(place, &error);
            })
            .ok()
    }

    fn entry_problem(&mut self, place: Range<usize>, error: &toml::de::Error) {
        let message = error.message().trim().to_owned();
        match message.split_once(", expected ") {
            Some((what, expected)) => {
                let expected = expected.replace('`', "");
                let mend = what.strip_prefix("unknown field `").and_then(|rest| {
                    let typed = rest.trim_end_matches('`');
                    let known: Vec<String> =
                        expected.trim_start_matches("one of ").split([',', ' ']).filter(|s| !s.is_empty() && *s != "or").map(String::from).collect();
                    names::mend(typed, &known)
                });
                self.problems.error(place, what.replace('`', "'")).expected(expected).mend = mend;
            }
            None => {
                let (message, mend) = message.split_once("; ").map_or((message.as_str(), None), |(m, r)| (m, Some(r)));
                self.problems.error(place, message.replace('`', "'")).mend = mend.map(String::from);
            }
        }
    }

    /// Reads the entries of an array one by one, so that one bad entry does not hide the others.
    fn array<T: for<'de> Deserialize<'de>>(
        &mut self,
        value: Option<Spanned<DeValue<'t>>>,
        name: &str,
    ) -> Vec<(T, Range<usize>)> {
        let Some(value) = value else { return Vec::new() };
        let span = value.span();
        let DeValue::Array(array) = value.into_inner() else {
            self.problems.error(span, format!("'{name}' is not a list")).expected(format!("{name} = [ {{ ... }}, ... ]"));
            return Vec::new();
        };
        let mut entries = Vec::new();
        for value in array {
            let span = value.span();
            if let Some(entry) = self.entry(value) {
                entries.push((entry, span));
            }
        }
        entries
    }

    /// The named entries of a table.
    fn table(&mut self, value: Option<Spanned<DeValue<'t>>>, name: &str) -> Vec<(Spanned<String>, Spanned<DeValue<'t>>)> {
        let Some(value) = value else { return Vec::new() };
        let span = value.span();
        let DeValue::Table(table) = value.into_inner() else {
            self.problems.error(span, format!("'{name}' is not a table")).expected(format!("[{name}.NAME] ..."));
            return Vec::new();
        };
        table
            .into_iter()
            .map(|(key, value)| {
                let span = key.span();
                (Spanned::new(span, key.into_inner().into_owned()), value)
            })
            .collect()
    }

    fn parts(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Vec<(Spanned<String>, Box<dyn Kind>, Option<String>)> {
        let mut parts = Vec::new();
        for (name, value) in self.table(value, "parts") {
            if let Some(part) = self.part(&name, value) {
                parts.push((name, part.0, part.1));
            }
        }
        parts
    }

    fn part(&mut self, name: &Spanned<String>, value: Spanned<DeValue<'t>>) -> Option<(Box<dyn Kind>, Option<String>)> {
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
            Some(Ok(part)) => Some((part, make)),
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

    fn unit(
        &mut self,
        entry: Option<UnitEntry>,
        parts: Vec<(Spanned<String>, Box<dyn Kind>, Option<String>)>,
    ) -> Option<Unit> {
        let supplies: Vec<usize> = (0..parts.len()).filter(|&index| parts[index].1.supply().is_some()).collect();
        let supply = match supplies[..] {
            [supply] => supply,
            [] => {
                // Parts that could not be read have their own problem; a missing supply is one only if all could.
                if !self.problems.has_errors() {
                    self.problems
                        .error(0..0, "there is no supply")
                        .expected("one part of kind supply")
                        .mend("add: [parts.supply] with kind = \"supply\", volts and hertz");
                }
                return None;
            }
            [first, second, ..] => {
                let hertz = |index: usize| parts[index].1.supply().map_or(0.0, |supply| supply.hertz);
                let message = if hertz(first) == hertz(second) {
                    "there is more than one supply".to_owned()
                } else {
                    format!("two frequencies: {} Hz and {} Hz", hertz(first), hertz(second))
                };
                self.problems.error(parts[second].0.span(), message).expected("one supply").mend("keep the one that feeds the unit");
                return None;
            }
        };
        for (index, (name, kind, _)) in parts.iter().enumerate() {
            self.duplicate_terminals(name, kind.as_ref());
            if index != supply {
                self.check_rated_hertz(name, kind.as_ref(), parts[supply].1.as_ref());
            }
        }
        let entry = entry?;
        let mut named: Vec<(String, Box<dyn Kind>, Option<String>)> =
            parts.into_iter().map(|(name, kind, make)| (name.into_inner(), kind, make)).collect();
        named.push(("frame".into(), Box::new(Frame), None));
        let frame = named.len() - 1;
        Some(Unit::new(entry.name, entry.note, named, supply, frame))
    }

    fn duplicate_terminals(&mut self, name: &Spanned<String>, kind: &dyn Kind) {
        let terminals = kind.terminals();
        for (index, terminal) in terminals.iter().enumerate() {
            if terminals[..index].contains(terminal) {
                let message = format!("part '{}' has two terminals named '{terminal}'", name.get_ref());
                self.problems.error(name.span(), message).expected("each terminal named once");
            }
        }
    }

    fn check_rated_hertz(&mut self, name: &Spanned<String>, kind: &dyn Kind, supply: &dyn Kind) {
        let (Some(rated), Some(figures)) = (kind.rated_hertz(), supply.supply()) else { return };
        if rated != figures.hertz {
            let message = format!("'{}' is made for {rated} Hz, the supply has {} Hz", name.get_ref(), figures.hertz);
            self.problems.error(name.span(), message).expected("one frequency").mend("correct the plate or the supply");
        }
    }

    fn terminal(&mut self, unit: &Unit, text: &Spanned<String>) -> Option<TerminalId> {
        let found = unit.find_terminal(text.get_ref());
        if found.is_none() {
            let known: Vec<String> = (0..unit.terminal_count()).map(|index| unit.terminal_name(TerminalId(index))).collect();
            let part = text.get_ref().split('.').next().unwrap_or_default();
            let (message, near) = match unit.find_part(part) {
                Some(part) => {
                    let own: Vec<String> = unit.terminals_of(part).map(|index| known[index].clone()).collect();
                    (format!("unknown terminal '{}'", text.get_ref()), own)
                }
                None => (format!("unknown terminal '{}': there is no part '{part}'", text.get_ref()), known),
            };
            self.problems.error(text.span(), message).expected("part.terminal").mend = names::mend(text.get_ref(), &near);
        }
        found
    }

    fn wire(&mut self, unit: &mut Unit, entry: WireEntry, span: Range<usize>) {
        let (from, to) = (self.terminal(unit, &entry.from), self.terminal(unit, &entry.to));
        let (Some(from), Some(to)) = (from, to) else { return };
        if from == to {
            let problem = self.problems.error(span, format!("a wire from {} to itself", entry.from.get_ref()));
            problem.expected("two different terminals");
            return;
        }
        let ends = format!("{}~{}", unit.terminal_name(from), unit.terminal_name(to));
        let name = match &entry.label {
            Some(label) => {
                let text = label.get_ref().clone();
                if unit.find_wire(&text).is_some() || unit.find_part(&text).is_some() || unit.find_terminal(&text).is_some() {
                    let problem = self.problems.error(label.span(), format!("the name '{text}' is given twice"));
                    problem.expected("a label that nothing else has");
                    return;
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
        unit.add_wire(Wire { name, from, to, colour: entry.colour });
    }

    fn meters(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Vec<Meter> {
        let mut meters = vec![Meter::handheld()];
        for (name, value) in self.table(value, "meters") {
            let Some(entry) = self.entry::<MeterEntry>(value) else { continue };
            let mut meter = Meter { name: name.into_inner(), ..Meter::handheld() };
            let set = |to: &mut Accuracy, from: Option<AccuracyEntry>| {
                if let Some(from) = from {
                    *to = Accuracy { percent: from.percent.0, counts: from.counts.0, count: from.count.0 };
                }
            };
            set(&mut meter.ohms, entry.ohms);
            set(&mut meter.volts, entry.volts);
            set(&mut meter.amps, entry.amps);
            set(&mut meter.watts, entry.watts);
            set(&mut meter.rpm, entry.rpm);
            meter.ohms_limit = entry.ohms_limit.map_or(meter.ohms_limit, |limit| limit.0);
            meter.volts_input_ohms = entry.volts_input_ohms.map_or(meter.volts_input_ohms, |ohms| ohms.0);
            meter.amps_floor = entry.amps_floor.map_or(meter.amps_floor, |floor| floor.0);
            meters.push(meter);
        }
        meters
    }

    fn setups(&mut self, unit: &Unit, value: Option<Spanned<DeValue<'t>>>) -> Vec<Setup> {
        let mut setups = Vec::new();
        for (name, value) in self.table(value, "setups") {
            if let Some(entry) = self.entry::<SetupEntry>(value) {
                let mut reader = SetupReader { unit, problems: self.problems };
                setups.push(reader.setup(&name, &entry));
            } else {
                // Keep the name known, so that readings in it are not reported a second time.
                setups.push(Setup::unplugged(name.into_inner()));
            }
        }
        setups
    }

    fn reading(&mut self, job: &Job, entry: &ReadingEntry, span: Range<usize>) -> Option<Reading> {
        let setup = self.setup_named(job, &entry.setup);
        let meter = self.meter_named(job, entry.meter.as_ref());
        let given: Vec<_> = [
            ("ohms", &entry.ohms),
            ("volts", &entry.volts),
            ("amps", &entry.amps),
            ("watts", &entry.watts),
            ("rpm", &entry.rpm),
        ]
        .into_iter()
        .filter_map(|(name, value)| value.as_ref().map(|value| (name, value)))
        .collect();
        let [(quantity, shown)] = given[..] else {
            let message = if given.is_empty() { "a reading without a value" } else { "a reading with two values" };
            let problem = self.problems.error(span, message);
            problem.expected("exactly one of ohms, volts, amps, watts, rpm").mend("write one reading per line");
            return None;
        };
        let measure = self.measure(&job.unit, quantity, entry, span.clone());
        let value = match shown.get_ref().0 {
            ShownValue::Number(number) => Value::Number(number),
            ShownValue::Open if quantity == "ohms" => Value::Open,
            ShownValue::Open => {
                let problem = self.problems.error(shown.span(), format!("{quantity} cannot be open"));
                problem.expected("a number").mend("for no volts or no current write \"dead\"");
                return None;
            }
        };
        let (setup, meter, measure) = (setup?, meter?, measure?);
        if quantity == "ohms" && job.setups[setup].energised {
            let problem = self.problems.error(span, format!("ohms in setup '{}', where the supply is on", entry.setup.get_ref()));
            problem.expected("a setup with supply = \"off\"").mend("an ohmmeter on a live circuit reads nonsense and can be destroyed");
            return None;
        }
        Some(Reading { setup, measure, value, meter, line: self.problems.line(span.start) })
    }

    fn measure(&mut self, unit: &Unit, quantity: &str, entry: &ReadingEntry, span: Range<usize>) -> Option<Measure> {
        match quantity {
            "ohms" | "volts" => {
                let Some((a, b)) = &entry.between else {
                    let problem = self.problems.error(span, format!("{quantity} without two points"));
                    problem.expected("between = [\"part.terminal\", \"part.terminal\"]");
                    return None;
                };
                let (first, second) = (self.terminal(unit, a), self.terminal(unit, b));
                let (first, second) = (first?, second?);
                if first == second {
                    let problem = self.problems.error(b.span(), format!("both probes at {}", a.get_ref()));
                    problem.expected("two different terminals");
                    return None;
                }
                Some(if quantity == "ohms" { Measure::Ohms(first, second) } else { Measure::Volts(first, second) })
            }
            "amps" => {
                let Some(through) = &entry.through else {
                    let problem = self.problems.error(span, "amps without a conductor");
                    problem.expected("through = \"part.terminal\" or the label of a wire");
                    return None;
                };
                if let Some(wire) = unit.find_wire(through.get_ref()) {
                    return Some(Measure::AmpsInWire(wire));
                }
                self.terminal(unit, through).map(Measure::AmpsAtTerminal)
            }
            _ => {
                let Some(of) = &entry.of else {
                    let problem = self.problems.error(span, format!("{quantity} without a part"));
                    problem.expected("of = \"PART\"");
                    return None;
                };
                let part = self.part_named(unit, of)?;
                if quantity == "rpm" && unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_none() {
                    self.problems.error(of.span(), format!("'{}' does not turn", of.get_ref())).expected("a motor");
                    return None;
                }
                Some(if quantity == "rpm" { Measure::Rpm(part) } else { Measure::Watts(part) })
            }
        }
    }

    fn symptom(&mut self, job: &Job, entry: &SymptomEntry, span: Range<usize>) -> Option<Symptom> {
        let (setup, part) = (self.setup_named(job, &entry.setup), self.part_named(&job.unit, &entry.part));
        let (setup, part) = (setup?, part?);
        if !job.setups[setup].energised {
            let problem = self.problems.warning(entry.setup.span(), "a symptom in a setup where the supply is off says nothing");
            problem.mend("name a setup with supply = \"on\"");
        }
        Some(Symptom { setup, part, word: entry.word, line: self.problems.line(span.start) })
    }

    fn setup_named(&mut self, job: &Job, name: &Spanned<String>) -> Option<usize> {
        let found = job.find_setup(name.get_ref());
        if found.is_none() {
            let known: Vec<String> = job.setups.iter().map(|setup| setup.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown setup '{}'", name.get_ref()));
            problem.expected("the name of a setup").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    fn meter_named(&mut self, job: &Job, name: Option<&Spanned<String>>) -> Option<usize> {
        let Some(name) = name else { return Some(0) };
        let found = job.meters.iter().position(|meter| &meter.name == name.get_ref());
        if found.is_none() {
            let known: Vec<String> = job.meters.iter().map(|meter| meter.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown meter '{}'", name.get_ref()));
            problem.expected("the name of a meter").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    fn part_named(&mut self, unit: &Unit, name: &Spanned<String>) -> Option<usize> {
        let found = unit.find_part(name.get_ref());
        if found.is_none() {
            let known: Vec<String> = unit.parts().iter().map(|part| part.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown part '{}'", name.get_ref()));
            problem.expected("the name of a part").mend = names::mend(name.get_ref(), &known);
        }
        found
    }
}
