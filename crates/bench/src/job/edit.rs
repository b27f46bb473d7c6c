//! Edits of a job file: text in, text out.
//!
//! The text of the file is the one truth of a job. An edit changes just what it is about; remarks, order, formatting
//! and line endings of everything else stay as they are. What the edited text means is for [`super::read`] to say.
//!
//! - [`Edit`] and [`apply`]: the edits a form makes.
//! - [`parse_entry`]: a reading or a symptom typed on one line.
//! - [`part_fields`]: the fields of a part as a form shows them.

mod access;
mod entry;
mod error;
mod fields;
mod lists;
mod logs;
mod parts;
mod references;
mod repaired;
mod safety;
mod section;
mod setups;
mod source;
mod toml_text;
mod typed;
mod words;

pub use entry::{EntryLine, EntryProblem, parse_entry};
pub use error::EditError;
pub use logs::LogPlace;
pub use parts::part_fields;
pub use typed::ShownText;

use crate::reading::Word;
use setups::SetupFields;
use source::Source;
use toml_text::{list, quoted};

/// What is measured, and where, by the names of the job file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadingPlace {
    /// Ohms between two terminals.
    Ohms(String, String),
    /// Microfarads of a capacitor, between its two terminals.
    Microfarads(String, String),
    /// Volts between two terminals.
    Volts(String, String),
    /// Amps through a terminal or a wire.
    Amps(String),
    /// Watts of a part.
    Watts(String),
    /// Speed of a motor.
    Rpm(String),
    /// Touch current, milliamperes, at a terminal.
    TouchMilliamps(String),
    /// Leakage, milliamperes, of the cord or supply.
    LeakageMilliamps(String),
    /// Seconds that a motor runs on.
    RunDown(String),
}

impl ReadingPlace {
    /// The name of the value's field in a job file.
    pub fn field(&self) -> &'static str {
        match self {
            ReadingPlace::Ohms(..) => "ohms",
            ReadingPlace::Microfarads(..) => "microfarads",
            ReadingPlace::Volts(..) => "volts",
            ReadingPlace::Amps(_) => "amps",
            ReadingPlace::Watts(_) => "watts",
            ReadingPlace::Rpm(_) => "rpm",
            ReadingPlace::TouchMilliamps(_) => "touch_milliamps",
            ReadingPlace::LeakageMilliamps(_) => "leakage_milliamps",
            ReadingPlace::RunDown(_) => "run_down_seconds",
        }
    }
}

/// A safety test as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[allow(missing_docs)]
pub struct SafetyTestText {
    pub test: String,
    pub value: String,
    pub at: Option<String>,
    pub date: Option<String>,
    pub instrument: Option<String>,
    pub note: Option<String>,
}

/// One edit. Indices count from 0 in the order of the file.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs)]
pub enum Edit {
    /// Adds a reading at the end; without a meter it is the handheld one.
    AddReading { setup: String, measure: ReadingPlace, value: ShownText, meter: Option<String> },
    /// Removes a reading.
    RemoveReading { index: usize },
    /// Makes a reading say something else; its note stays.
    ReplaceReading { index: usize, setup: String, measure: ReadingPlace, value: ShownText, meter: Option<String> },
    /// Adds a symptom at the end.
    AddSymptom { setup: String, part: String, word: Word },
    /// Removes a symptom.
    RemoveSymptom { index: usize },
    /// Adds a wire at the end.
    AddWire { from: String, to: String, colour: Option<String>, label: Option<String> },
    /// Removes a wire.
    RemoveWire { index: usize },
    /// Makes a wire say something else.
    ReplaceWire { index: usize, from: String, to: String, colour: Option<String>, label: Option<String> },
    /// Adds a part, or changes the given fields of one that is there. Names of fields and how their values are typed:
    /// [`crate::kinds::catalogue`]; `positions.high` alone is one position of a switch. An empty value removes the
    /// field. Another kind takes those fields with it that the new kind does not have.
    SetPart { name: String, kind: String, fields: Vec<(String, String)> },
    /// Removes a part with the wires that go to it. Refused while readings, symptoms or setups name it.
    RemovePart { name: String },
    /// Gives a part another name wherever the file has it.
    RenamePart { from: String, to: String },
    /// Adds a setup, or makes one that is there say just this. Positions are by part.
    SetSetup {
        name: String,
        supply_on: bool,
        positions: Vec<(String, String)>,
        lifted: Vec<String>,
        jumpers: Vec<(String, String)>,
        held: Vec<String>,
        pushed: Vec<String>,
        winding_celsius: Option<f64>,
    },
    /// Removes a setup. Refused while readings or symptoms name it.
    RemoveSetup { name: String },
    /// Names the unit and sets its note; without a note an old one goes.
    SetUnit { name: String, note: Option<String> },
    /// Notes that something cannot or must not be done: [`crate::Job::find_refusal`] says what may stand there.
    Refuse { what: String },
    /// Takes a refusal back.
    Allow { what: String },
    /// Says whether a housing stands open.
    SetHousingOpen { name: String, open: bool },
    /// Sets fields of the section `repaired`, as typed; an empty one is removed. `faults` holds commas between.
    SetRepaired { fields: Vec<(String, String)> },
    /// Adds a reading taken after the repair, at the end. Refused while nothing is noted as done.
    AddReadingAfter { setup: String, measure: ReadingPlace, value: ShownText, meter: Option<String> },
    /// Removes a reading taken after the repair.
    RemoveReadingAfter { index: usize },
    /// Adds a run of one setup, for a heat run.
    BeginRun { name: String, setup: String, minutes: f64, room_celsius: Option<f64> },
    /// Adds a row to the log of a run after the repair: minutes from switching on, and what was read. The log is made if
    /// there is none, and the run is made longer if the row lies beyond it. Refused while nothing is noted as done, and at
    /// a time that is not after that of the row before it.
    AddLogRowAfter { run: String, minute: f64, values: Vec<(LogPlace, f64)> },
    /// Removes a row of a log after the repair; with its last row the log goes.
    RemoveLogRowAfter { log: usize, row: usize },
    /// Puts in a whole log of a run after the repair, over the one that is there: a value for each time.
    SetLogAfter { run: String, minutes: Vec<f64>, channels: Vec<(LogPlace, Vec<Option<f64>>)> },
    /// Sets fields of the section `safety`, as typed; an empty one is removed and then follows from the unit.
    SetSafety { fields: Vec<(String, String)> },
    /// Adds a safety test at the end, the value with its unit; a comma in it becomes a point where it can be nothing else.
    AddSafetyTest(SafetyTestText),
    /// Removes a safety test.
    RemoveSafetyTest { index: usize },
}

/// Applies an edit to the text of a job file.
///
/// # Errors
/// Why it cannot be made; the text then stays as it was.
pub fn apply(text: &str, edit: &Edit) -> Result<String, EditError> {
    let (mark, text) = without_mark(text);
    let edited = match edit {
        Edit::AddReading { setup, measure, value, meter } => {
            lists::push(text, "readings", &given(reading(setup, measure, value, meter)))
        }
        Edit::RemoveReading { index } => lists::remove(text, "readings", *index),
        Edit::ReplaceReading { index, setup, measure, value, meter } => {
            replace(text, "readings", *index, &reading(setup, measure, value, meter))
        }
        Edit::AddSymptom { setup, part, word } => {
            let fields = [("setup", quoted(setup)), ("part", quoted(part)), ("word", quoted(word.as_str()))];
            lists::push(text, "symptoms", &fields.map(|(name, value)| (name.to_owned(), value)))
        }
        Edit::RemoveSymptom { index } => lists::remove(text, "symptoms", *index),
        Edit::AddWire { from, to, colour, label } => lists::push(text, "wires", &given(wire(from, to, colour, label))),
        Edit::RemoveWire { index } => lists::remove(text, "wires", *index),
        Edit::ReplaceWire { index, from, to, colour, label } => {
            replace(text, "wires", *index, &wire(from, to, colour, label))
        }
        Edit::SetPart { name, kind, fields } => parts::set(text, name, kind, fields),
        Edit::RemovePart { name } => parts::remove(text, name),
        Edit::RenamePart { from, to } => parts::rename(text, from, to),
        Edit::SetSetup { name, supply_on, positions, lifted, jumpers, held, pushed, winding_celsius } => {
            let setup = SetupFields {
                supply_on: *supply_on,
                positions,
                lifted,
                jumpers,
                held,
                pushed,
                winding_celsius: *winding_celsius,
            };
            setups::set(text, name, &setup)
        }
        Edit::RemoveSetup { name } => setups::remove(text, name),
        Edit::SetUnit { name, note } => setups::set_unit(text, name, note.as_deref()),
        Edit::Refuse { what } => access::refuse(text, what),
        Edit::Allow { what } => access::allow(text, what),
        Edit::SetHousingOpen { name, open } => access::set_open(text, name, *open),
        Edit::SetRepaired { fields } => repaired::set(text, fields),
        Edit::AddReadingAfter { setup, measure, value, meter } => {
            repaired::add_reading(text, reading(setup, measure, value, meter))
        }
        Edit::RemoveReadingAfter { index } => repaired::remove_reading(text, *index),
        Edit::BeginRun { name, setup, minutes, room_celsius } => {
            logs::begin(text, name, setup, *minutes, *room_celsius)
        }
        Edit::AddLogRowAfter { run, minute, values } => logs::add_row(text, run, *minute, values),
        Edit::RemoveLogRowAfter { log, row } => logs::remove_row(text, *log, *row),
        Edit::SetLogAfter { run, minutes, channels } => logs::set(text, run, minutes, channels),
        Edit::SetSafety { fields } => safety::set(text, fields),
        Edit::AddSafetyTest(test) => safety::add_test(text, test),
        Edit::RemoveSafetyTest { index } => safety::remove_test(text, *index),
    }?;
    // Never hand out a text that is no longer TOML, whatever form the file has.
    Source::read(&edited).map_err(|_| EditError::Unusual)?;
    Ok(format!("{mark}{edited}"))
}

/// The mark that some editors put ahead of the text, and the text.
fn without_mark(text: &str) -> (&str, &str) {
    match text.strip_prefix('\u{feff}') {
        Some(rest) => text.split_at(text.len() - rest.len()),
        None => ("", text),
    }
}

type Fields = Vec<(&'static str, Option<String>)>;

/// The fields that hold what a meter showed.
const QUANTITIES: [&str; 9] = [
    "ohms",
    "microfarads",
    "volts",
    "amps",
    "watts",
    "rpm",
    "run_down_seconds",
    "touch_milliamps",
    "leakage_milliamps",
];

/// The fields of a reading; those of other quantities are absent.
fn reading(setup: &str, measure: &ReadingPlace, value: &ShownText, meter: &Option<String>) -> Fields {
    let mut fields = vec![("setup", Some(quoted(setup)))];
    for quantity in QUANTITIES {
        fields.push((quantity, (quantity == measure.field()).then(|| value.toml())));
    }
    let (mut between, mut through, mut of, mut at) = (None, None, None, None);
    match measure {
        ReadingPlace::Ohms(a, b) | ReadingPlace::Volts(a, b) | ReadingPlace::Microfarads(a, b) => {
            between = Some(list(&[a.clone(), b.clone()]));
        }
        ReadingPlace::Amps(conductor) => through = Some(quoted(conductor)),
        ReadingPlace::TouchMilliamps(terminal) => at = Some(quoted(terminal)),
        ReadingPlace::Watts(part)
        | ReadingPlace::Rpm(part)
        | ReadingPlace::RunDown(part)
        | ReadingPlace::LeakageMilliamps(part) => of = Some(quoted(part)),
    }
    fields.extend([("between", between), ("through", through), ("of", of), ("at", at)]);
    fields.push(("meter", typed_text(meter)));
    fields
}

fn wire(from: &str, to: &str, colour: &Option<String>, label: &Option<String>) -> Fields {
    vec![
        ("from", Some(quoted(from))),
        ("to", Some(quoted(to))),
        ("colour", typed_text(colour)),
        ("label", typed_text(label)),
    ]
}

/// Text that a form may leave empty.
fn typed_text(text: &Option<String>) -> Option<String> {
    text.as_deref().map(str::trim).filter(|text| !text.is_empty()).map(quoted)
}

fn given(fields: Fields) -> Vec<(String, String)> {
    fields.into_iter().filter_map(|(name, value)| Some((name.to_owned(), value?))).collect()
}

fn replace(text: &str, list: &'static str, index: usize, fields: &Fields) -> Result<String, EditError> {
    lists::check_index(&Source::read(text)?, list, index)?;
    fields::update(text, &[list, &index.to_string()], fields)
}
