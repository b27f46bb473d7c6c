//! Reads a job file: all of it that can be understood, and all that is wrong with it.

use super::file::{AccuracyEntry, MeterEntry, ReadingEntry, SetupEntry, SymptomEntry, UnitEntry, WireEntry};
use super::names;
use super::problem::{Collector, Problem, Problems};
use super::setups::{SetupReader, check_live_setups};
use super::values::{Pair, ShownValue};
use super::wording::{self, Words};
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
/// More than these is no unit on a bench, and would take minutes to solve.
const MOST_TERMINALS: usize = 600;
const MOST_WIRES: usize = 1000;
const MOST_SETUPS: usize = 100;

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
        let mut collector = Collector::new(file, "", 0);
        let megabytes = LARGEST_FILE_BYTES / 1_000_000;
        collector
            .error(0..0, format!("the file is larger than {megabytes} MB"))
            .expected(format!("a job file of at most {megabytes} MB"))
            .mend("check that this is the file you meant; long logs do not belong in a job file");
        return Err(collector.sorted());
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read(file, text),
        Err(error) => {
            let sound = String::from_utf8_lossy(&bytes[..error.valid_up_to()]).into_owned();
            let mut collector = Collector::new(file, &sound, 0);
            collector
                .error(sound.len()..sound.len(), "the text is not UTF-8 from here on")
                .expected("text in UTF-8")
                .mend("save it as UTF-8 in the editor; check that it is a text file");
            Err(collector.sorted())
        }
    }
}

/// Reads a job file's text; `file` is what to call it.
///
/// # Errors
/// All problems found, if any of them is an error.
pub fn read(file: &str, text: &str) -> Result<Job, Problems> {
    // Some editors put a mark ahead of the text; it is no part of it.
    let whole = text.len();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut problems = Collector::new(file, text, whole - text.len());
    let (document, errors) = DeTable::parse_recoverable(text);
    let document = document.into_inner();
    if document.is_empty() && errors.is_empty() {
        let empty = text.trim().is_empty();
        problems
            .error(0..0, if empty { "the file is empty" } else { "there is nothing in the file but comments" })
            .expected("a job file with [unit] and [parts]")
            .mend("start from a demo: demos/ holds three, docs/job-file.md explains them");
        return Err(problems.sorted());
    }
    syntax_problems(&mut problems, text, errors);
    let mut reader = Reader { problems: &mut problems, part_places: Vec::new(), unread: Unread::default() };
    let job = reader.job(document);
    let has_errors = problems.has_errors();
    let found = problems.sorted();
    if has_errors { Err(found) } else { Ok(Job { warnings: found, ..job }) }
}

/// Notes what is no TOML, one problem per line: the first slip in a line mostly causes the others.
fn syntax_problems(problems: &mut Collector<'_>, text: &str, mut errors: Vec<toml::de::Error>) {
    let start = |error: &toml::de::Error| error.span().map_or(0, |span| span.start);
    errors.sort_by_key(start);
    let mut last_line = 0;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        if problems.line(span.start) <= last_line || problems.is_enough() {
            continue;
        }
        let line = problems.bytes_of_line(span.start);
        last_line = problems.line(span.start);
        if error.message().contains("duplicate key") {
            let name = text.get(span.clone()).unwrap_or_default().trim();
            problems
                .error(span, format!("the name '{name}' is given twice"))
                .expected("each name once")
                .mend("rename one of them, or remove the copy");
            if text[line.clone()].trim_start().starts_with('[') {
                // What stands under the second heading would be mixed with what stands under the first.
                let section_end = text[line.end..].find("\n[").map_or(text.len(), |next| line.end + next);
                last_line = problems.line(section_end);
                problems.hide(line.end..section_end);
            }
        } else {
            let (place, words) = match wording::without_quotes(text, line.clone(), span.start) {
                Some((place, words)) => (place, words),
                None => (span, wording::of_syntax(error.message())),
            };
            put_words(problems.error(place, ""), words);
        }
        problems.hide(line);
    }
}

fn put_words(problem: &mut Problem, (message, expected, mend): Words) {
    problem.message = message;
    problem.expected = expected;
    problem.mend = mend;
}

/// Names of entries that have a problem of their own; what refers to them is not reported as unknown.
#[derive(Default)]
pub(super) struct Unread {
    parts: Vec<String>,
    all_parts: bool,
    setups: Vec<String>,
    meters: Vec<String>,
    any_wire: bool,
}

impl Unread {
    /// Whether a part, or the part of `part.terminal`, is among them.
    pub(super) fn has_part_of(&self, text: &str) -> bool {
        let part = text.split('.').next().unwrap_or_default();
        self.all_parts || self.parts.iter().any(|unread| unread == part)
    }
}

/// A part as read, where its name stands, and its make.
type NamedPart = (Spanned<String>, Box<dyn Kind>, Option<String>);

/// Walks the document section by section.
struct Reader<'p, 't> {
    problems: &'p mut Collector<'t>,
    /// Where the name of each part stands, in the order of the unit.
    part_places: Vec<Range<usize>>,
    unread: Unread,
}

const SECTIONS: [&str; 7] = ["unit", "parts", "wires", "setups", "meters", "readings", "symptoms"];

impl<'t> Reader<'_, 't> {
    fn job(&mut self, mut document: DeTable<'t>) -> Job {
        for (key, _) in document.iter() {
            if !SECTIONS.contains(&key.get_ref().as_ref()) {
                let known = SECTIONS.map(String::from);
                let problem = self.problems.error(key.span(), format!("unknown section '{}'", key.get_ref()));
                problem.expected(format!("one of {}", SECTIONS.join(", "))).mend = names::mend(key.get_ref(), &known);
            }
        }
        let is_sound = !self.problems.has_errors();
        let mut take = |name: &str| document.remove(name);
        let unit_entry = take("unit").map(|value| self.entry::<UnitEntry>(value));
        if unit_entry.is_none() && is_sound {
            let problem = self.problems.error(0..0, "there is no [unit]");
            problem.expected("[unit] with a name").mend("add: [unit] and name = \"...\"");
        }
        let parts = self.parts(take("parts"));
        let mut unit = self.unit(unit_entry.flatten(), parts);
        let wires = self.array::<WireEntry>(take("wires"), "wires", MOST_WIRES);
        self.unread.any_wire = self.problems.has_errors();
        for (entry, span) in wires {
            self.unread.any_wire |= self.wire(&mut unit, entry, span).is_none();
        }
        let unit = unit.finish();
        self.check_wires(&unit);
        let meters = self.meters(take("meters"));
        let (setups, setup_places) = self.setups(&unit, take("setups"));
        let mut job =
            Job { unit, setups, meters, readings: Vec::new(), symptoms: Vec::new(), warnings: Problems::default() };
        for (entry, span) in self.array::<ReadingEntry>(take("readings"), "readings", usize::MAX) {
            if self.problems.is_enough() {
                break;
            }
            if let Some(reading) = self.reading(&job, &entry, span) {
                job.readings.push(reading);
            }
        }
        for (entry, span) in self.array::<SymptomEntry>(take("symptoms"), "symptoms", usize::MAX) {
            if self.problems.is_enough() {
                break;
            }
            if let Some(symptom) = self.symptom(&job, &entry, span) {
                job.symptoms.push(symptom);
            }
        }
        if !self.problems.has_errors() {
            check_live_setups(self.problems, &job.unit, &job.setups, &setup_places);
        }
        job
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
        put_words(self.problems.error(place, ""), wording::of_value(error.message()));
    }

    fn too_many(&mut self, span: Range<usize>, count: usize, what: &str, most: usize) {
        let problem = self.problems.error(span, format!("{count} {what}"));
        problem.expected(format!("at most {most}")).mend("leave out what has no part in the trouble");
    }

    /// Reads the entries of an array one by one, so that one bad entry does not hide the others.
    fn array<T: for<'de> Deserialize<'de>>(
        &mut self,
        value: Option<Spanned<DeValue<'t>>>,
        name: &str,
        most: usize,
    ) -> Vec<(T, Range<usize>)> {
        let Some(value) = value else { return Vec::new() };
        let span = value.span();
        let DeValue::Array(array) = value.into_inner() else {
            self.problems
                .error(span, format!("'{name}' is not a list"))
                .expected(format!("{name} = [ {{ ... }}, ... ]"));
            return Vec::new();
        };
        if array.len() > most {
            self.too_many(span, array.len(), name, most);
            return Vec::new();
        }
        let mut entries = Vec::new();
        for value in array {
            let span = value.span();
            if self.problems.is_enough() {
                break;
            }
            if let Some(entry) = self.entry(value) {
                entries.push((entry, span));
            }
        }
        entries
    }

    /// The named entries of a table.
    fn table(
        &mut self,
        value: Option<Spanned<DeValue<'t>>>,
        name: &str,
        most: usize,
    ) -> Vec<(Spanned<String>, Spanned<DeValue<'t>>)> {
        let Some(value) = value else { return Vec::new() };
        let span = value.span();
        let DeValue::Table(table) = value.into_inner() else {
            self.problems.error(span, format!("'{name}' is not a table")).expected(format!("[{name}.NAME] ..."));
            return Vec::new();
        };
        if table.len() > most {
            self.too_many(span, table.len(), name, most);
            return Vec::new();
        }
        table
            .into_iter()
            .map(|(key, value)| {
                let span = key.span();
                (Spanned::new(span, key.into_inner().into_owned()), value)
            })
            .collect()
    }

    fn parts(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Vec<NamedPart> {
        let (mut parts, mut terminals) = (Vec::new(), 0);
        self.unread.all_parts = value.is_some();
        for (name, value) in self.table(value, "parts", MOST_TERMINALS) {
            self.unread.all_parts = false;
            match self.part(&name, value) {
                Some((kind, make)) => {
                    terminals += kind.terminals().len();
                    parts.push((name, kind, make));
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

    /// The unit, its wires still to be added; with a problem noted, stand-ins let the rest of the file be read too.
    fn unit(&mut self, entry: Option<UnitEntry>, parts: Vec<NamedPart>) -> Unit {
        let supplies: Vec<usize> = (0..parts.len()).filter(|&index| parts[index].1.supply().is_some()).collect();
        let frame = parts.len();
        let supply = self.only_supply(&parts, &supplies).unwrap_or(frame);
        for (index, (name, kind, _)) in parts.iter().enumerate() {
            self.check_terminal_names(name, kind.as_ref());
            self.check_medians(name, kind.as_ref());
            if supply != frame && index != supply {
                self.check_rated_hertz(name, kind.as_ref(), parts[supply].1.as_ref());
            }
        }
        self.part_places = parts.iter().map(|(name, ..)| name.span()).collect();
        let mut named: Vec<(String, Box<dyn Kind>, Option<String>)> =
            parts.into_iter().map(|(name, kind, make)| (name.into_inner(), kind, make)).collect();
        named.push(("frame".into(), Box::new(Frame), None));
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
                        .expected("one part of kind supply")
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
                problem.expected("one supply").mend("keep the one that feeds the unit");
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
    fn check_wires(&mut self, unit: &Unit) {
        let is_wired = |part: usize| {
            unit.wires().iter().any(|wire| unit.part_of(wire.from) == part || unit.part_of(wire.to) == part)
        };
        let has_cord = unit.parts().iter().any(|part| part.kind.name() == "cord");
        for (part, place) in self.part_places.clone().into_iter().enumerate() {
            if unit.wires().is_empty() || self.problems.has_errors() {
                return;
            }
            if !is_wired(part) && !(part == unit.supply() && has_cord) {
                let problem = self.problems.warning(place, format!("no wire goes to '{}'", unit.parts()[part].name));
                problem.mend("add its wires, or leave it out");
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

    fn wire(&mut self, unit: &mut Unit, entry: WireEntry, span: Range<usize>) -> Option<()> {
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
        unit.add_wire(Wire { name, from, to, colour: entry.colour });
        Some(())
    }

    fn meters(&mut self, value: Option<Spanned<DeValue<'t>>>) -> Vec<Meter> {
        let mut meters = vec![Meter::handheld()];
        for (name, value) in self.table(value, "meters", usize::MAX) {
            let Some(entry) = self.entry::<MeterEntry>(value) else {
                self.unread.meters.push(name.into_inner());
                continue;
            };
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
            // The one that every job knows may be described anew.
            if meter.name == meters[0].name { meters[0] = meter } else { meters.push(meter) }
        }
        meters
    }

    /// The setups, and where the name of each stands.
    fn setups(&mut self, unit: &Unit, value: Option<Spanned<DeValue<'t>>>) -> (Vec<Setup>, Vec<Range<usize>>) {
        let (mut setups, mut places) = (Vec::new(), Vec::new());
        for (name, value) in self.table(value, "setups", MOST_SETUPS) {
            if let Some(entry) = self.entry::<SetupEntry>(value) {
                let mut reader = SetupReader { unit, problems: self.problems, unread: &self.unread };
                setups.push(reader.setup(&name, &entry));
                places.push(name.span());
            } else {
                self.unread.setups.push(name.into_inner());
            }
        }
        (setups, places)
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
            ShownValue::Dead if quantity == "ohms" => {
                let problem = self.problems.error(shown.span(), "ohms cannot be dead");
                problem.expected("a number or \"open\"").mend("for no connection write \"open\", for a dead short 0");
                return None;
            }
            ShownValue::Dead => Value::Number(0.0),
            ShownValue::Open => {
                let problem = self.problems.error(shown.span(), format!("{quantity} cannot be open"));
                problem.expected("a number").mend("for no volts or no current write \"dead\"");
                return None;
            }
        };
        self.idle_places(quantity, entry);
        let (setup, meter, measure) = (setup?, meter?, measure?);
        if quantity == "ohms" && job.setups[setup].energised {
            let problem =
                self.problems.error(span, format!("ohms in setup '{}', where the supply is on", entry.setup.get_ref()));
            problem
                .expected("a setup with supply = \"off\"")
                .mend("an ohmmeter on a live circuit reads nonsense and can be destroyed");
            return None;
        }
        Some(Reading { setup, measure, value, meter, line: self.problems.line(span.start) })
    }

    /// A place that the quantity does not use was perhaps meant for another reading.
    fn idle_places(&mut self, quantity: &str, entry: &ReadingEntry) {
        let between = entry.between.as_ref().map(|Pair(a, _)| a);
        let needed = match quantity {
            "ohms" | "volts" => "between",
            "amps" => "through",
            _ => "of",
        };
        for (name, place) in [("between", between), ("through", entry.through.as_ref()), ("of", entry.of.as_ref())] {
            if let Some(place) = place.filter(|_| name != needed) {
                let problem = self.problems.warning(place.span(), format!("{quantity} makes no use of '{name}'"));
                problem.expected(format!("only '{needed}'")).mend("leave it out, or write another reading");
            }
        }
    }

    fn measure(&mut self, unit: &Unit, quantity: &str, entry: &ReadingEntry, span: Range<usize>) -> Option<Measure> {
        match quantity {
            "ohms" | "volts" => {
                let Some(Pair(a, b)) = &entry.between else {
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
                Some(if quantity == "ohms" { Measure::Ohms(first, second) } else { Measure::Volts(first, second) })
            }
            "amps" => {
                let Some(through) = &entry.through else {
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
            _ => {
                let Some(of) = &entry.of else {
                    let problem = self.problems.error(span, format!("{quantity} without a part"));
                    problem.expected("of = \"PART\"").mend("say of which part");
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

    /// `through` names neither a wire nor, without a point, a terminal.
    fn unknown_wire(&mut self, unit: &Unit, through: &Spanned<String>) {
        if self.unread.any_wire || self.unread.has_part_of(through.get_ref()) {
            return;
        }
        let terminals = (0..unit.terminal_count()).map(|index| unit.terminal_name(TerminalId(index)));
        let known: Vec<String> = unit.wires().iter().map(|wire| wire.name.clone()).chain(terminals).collect();
        let problem = self.problems.error(through.span(), format!("unknown wire '{}'", through.get_ref()));
        problem.expected("part.terminal, or the label of a wire").mend = names::mend(through.get_ref(), &known);
    }

    fn symptom(&mut self, job: &Job, entry: &SymptomEntry, span: Range<usize>) -> Option<Symptom> {
        let (setup, part) = (self.setup_named(job, &entry.setup), self.part_named(&job.unit, &entry.part));
        let (setup, part) = (setup?, part?);
        if !job.setups[setup].energised {
            let problem =
                self.problems.warning(entry.setup.span(), "a symptom in a setup where the supply is off says nothing");
            problem.mend("name a setup with supply = \"on\"");
        }
        Some(Symptom { setup, part, word: entry.word, line: self.problems.line(span.start) })
    }

    fn setup_named(&mut self, job: &Job, name: &Spanned<String>) -> Option<usize> {
        let found = job.find_setup(name.get_ref());
        if found.is_none() && !self.unread.setups.contains(name.get_ref()) {
            let known: Vec<String> = job.setups.iter().map(|setup| setup.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown setup '{}'", name.get_ref()));
            problem.expected("the name of a setup").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    fn meter_named(&mut self, job: &Job, name: Option<&Spanned<String>>) -> Option<usize> {
        let Some(name) = name else { return Some(0) };
        let found = job.meters.iter().position(|meter| &meter.name == name.get_ref());
        if found.is_none() && !self.unread.meters.contains(name.get_ref()) {
            let known: Vec<String> = job.meters.iter().map(|meter| meter.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown meter '{}'", name.get_ref()));
            problem.expected("the name of a meter").mend = names::mend(name.get_ref(), &known);
        }
        found
    }

    fn part_named(&mut self, unit: &Unit, name: &Spanned<String>) -> Option<usize> {
        let found = unit.find_part(name.get_ref());
        if found.is_none() && !self.unread.has_part_of(name.get_ref()) {
            let known: Vec<String> = unit.parts().iter().map(|part| part.name.clone()).collect();
            let problem = self.problems.error(name.span(), format!("unknown part '{}'", name.get_ref()));
            problem.expected("the name of a part").mend = names::mend(name.get_ref(), &known);
        }
        found
    }
}
