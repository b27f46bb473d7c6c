//! Reads a job file: all of it that can be understood, and all that is wrong with it.

use super::entries::{nothing_in, text_of};
use super::file::{
    AccuracyEntry, HeatEntry, LogEntry, MeterEntry, ReadingEntry, SetupEntry, SymptomEntry, UnitEntry, WireEntry,
};
use super::live_setups::check_live_setups;
use super::problem::{Collector, Problems};
use super::setups::SetupReader;
use crate::access::{Housing, Refusal};
use crate::heat::{Log, Run};
use crate::kinds::Kind;
use crate::meter::{Accuracy, Meter};
use crate::reading::{Measure, Reading, Symptom};
use crate::repaired::Repaired;
use crate::safety::Safety;
use crate::setup::Setup;
use crate::unit::{Provenance, Unit};
use serde::Deserialize;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A larger file is not a job file.
pub const LARGEST_FILE_BYTES: u64 = 4_000_000;
/// More than these is no unit on a bench, and would take minutes to solve.
pub(super) const MOST_TERMINALS: usize = 600;
const MOST_WIRES: usize = 1000;
const MOST_SETUPS: usize = 100;
pub(super) const MOST_RUNS: usize = 50;
const MOST_LOGS: usize = 20;

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
    /// Runs, in alphabetical order of their names.
    pub runs: Vec<Run>,
    /// Logs in the order of the file.
    pub logs: Vec<Log>,
    /// Housings in the order of the file.
    pub housings: Vec<Housing>,
    /// What the technician refuses, in the order of the file.
    pub refused: Vec<Refusal>,
    /// What was done to the unit, if it was repaired.
    pub repaired: Option<Repaired>,
    /// Safety tests after the repair.
    pub safety: Safety,
    /// What looks wrong but does not keep the job from being used.
    pub warnings: Problems,
}

impl Job {
    /// Finds a setup by name.
    pub fn find_setup(&self, name: &str) -> Option<usize> {
        self.setups.iter().position(|setup| setup.name == name)
    }

    /// The meter that a reading yet to be taken is thought of with: the handheld one, or an insulation tester for ohms from a
    /// part to the frame or to earth if the job has one.
    pub fn meter_for(&self, measure: Measure) -> &Meter {
        // The metal is met at the frame, and at either end of the cord's earth conductor.
        let is_metal = |end| end == self.unit.frame() || self.unit.terminal_name(end).ends_with("earth");
        let is_insulation = matches!(measure, Measure::Ohms(a, b) if is_metal(a) != is_metal(b));
        self.meters.iter().find(|meter| is_insulation && meter.tests_insulation()).unwrap_or(&self.meters[0])
    }

    /// Finds a run by name.
    pub fn find_run(&self, name: &str) -> Option<usize> {
        self.runs.iter().position(|run| run.name == name)
    }
}

/// Reads a job file's bytes; `file` is what to call it.
///
/// # Errors
/// All problems found, if any of them is an error.
pub fn read_bytes(file: &str, bytes: &[u8]) -> Result<Job, Problems> {
    read(file, text_of(file, bytes)?)
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
    let Some(document) = problems.document(text) else {
        problems
            .error(0..0, nothing_in(text))
            .expected("a job file with [unit] and [parts]")
            .mend("start from a demo: demos/ holds some, docs/job-file.md explains them");
        return Err(problems.sorted());
    };
    let mut reader = Reader { problems: &mut problems, part_places: Vec::new(), unread: Unread::default() };
    let job = reader.job(document);
    let has_errors = problems.has_errors();
    let found = problems.sorted();
    if has_errors { Err(found) } else { Ok(Job { warnings: found, ..job }) }
}

/// Names of entries that have a problem of their own; what refers to them is not reported as unknown.
#[derive(Default)]
pub(super) struct Unread {
    pub(super) parts: Vec<String>,
    pub(super) all_parts: bool,
    pub(super) setups: Vec<String>,
    pub(super) runs: Vec<String>,
    pub(super) meters: Vec<String>,
    pub(super) any_wire: bool,
}

impl Unread {
    /// Whether a part, or the part of `part.terminal`, is among them.
    pub(super) fn has_part_of(&self, text: &str) -> bool {
        let part = text.split('.').next().unwrap_or_default();
        self.all_parts || self.parts.iter().any(|unread| unread == part)
    }
}

/// A part as read, where its name stands, and where it comes from.
pub(super) type NamedPart = (Spanned<String>, Box<dyn Kind>, Provenance);

/// Walks the document section by section.
pub(super) struct Reader<'p, 't> {
    pub(super) problems: &'p mut Collector<'t>,
    /// Where the name of each part stands, in the order of the unit.
    pub(super) part_places: Vec<Range<usize>>,
    pub(super) unread: Unread,
}

const SECTIONS: [&str; 14] = [
    "unit", "parts", "wires", "setups", "meters", "readings", "symptoms", "heat", "runs", "logs", "housings",
    "refused", "repaired", "safety",
];

impl<'t> Reader<'_, 't> {
    fn job(&mut self, mut document: DeTable<'t>) -> Job {
        self.problems.unknown_sections(&document, &SECTIONS);
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
        if let Some(entry) = take("heat").and_then(|value| self.entry::<HeatEntry>(value)) {
            let air = self.air(&unit, &entry);
            unit.set_air(air);
        }
        let unit = unit.finish();
        self.check_wires(&unit);
        let meters = self.meters(take("meters"));
        let (setups, setup_places) = self.setups(&unit, take("setups"));
        let mut job = Job {
            unit,
            setups,
            meters,
            readings: Vec::new(),
            symptoms: Vec::new(),
            runs: Vec::new(),
            logs: Vec::new(),
            housings: Vec::new(),
            refused: Vec::new(),
            repaired: None,
            safety: Safety::default(),
            warnings: Problems::default(),
        };
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
        job.runs = self.runs(&job, take("runs"));
        for (entry, span) in self.array::<LogEntry>(take("logs"), "logs", MOST_LOGS) {
            if self.problems.is_enough() {
                break;
            }
            if let Some(log) = self.log(&job, &entry, span) {
                job.logs.push(log);
            }
        }
        self.check_protectors(&job);
        job.housings = self.housings(&job.unit, take("housings"));
        self.refusals(&mut job, take("refused"));
        job.repaired = self.repaired(&job, take("repaired"));
        job.unit.note_class(job.repaired.as_ref().and_then(|repaired| repaired.insulation_class));
        job.safety = self.safety(take("safety"));
        if !self.problems.has_errors() {
            check_live_setups(self.problems, &job.unit, &job.setups, &setup_places, &self.part_places);
        }
        job
    }

    /// Reads one entry; a problem is noted where it stands.
    pub(super) fn entry<T: for<'de> Deserialize<'de>>(&mut self, value: Spanned<DeValue<'t>>) -> Option<T> {
        self.problems.entry(value)
    }

    pub(super) fn entry_problem(&mut self, place: Range<usize>, error: &toml::de::Error) {
        self.problems.entry_problem(place, error);
    }

    pub(super) fn too_many(&mut self, span: Range<usize>, count: usize, what: &str, most: usize) {
        self.problems.too_many(span, count, what, most);
    }

    /// Reads the entries of an array one by one, so that one bad entry does not hide the others.
    pub(super) fn array<T: for<'de> Deserialize<'de>>(
        &mut self,
        value: Option<Spanned<DeValue<'t>>>,
        name: &str,
        most: usize,
    ) -> Vec<(T, Range<usize>)> {
        self.problems.array(value, name, most)
    }

    /// The named entries of a table.
    pub(super) fn table(
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
                    *to = from.into();
                }
            };
            set(&mut meter.ohms, entry.ohms);
            set(&mut meter.microfarads, entry.microfarads);
            set(&mut meter.volts, entry.volts);
            set(&mut meter.amps, entry.amps);
            set(&mut meter.watts, entry.watts);
            set(&mut meter.rpm, entry.rpm);
            set(&mut meter.milliamps, entry.milliamps);
            set(&mut meter.seconds, entry.seconds);
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
}
