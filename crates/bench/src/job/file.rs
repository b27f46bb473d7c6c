//! The types of a job file; `docs/job-file.md` explains them to people, the schema to programs.

use super::safety::SafetyEntry;
use super::values::{Pair, Positive, Shown, ShownOhms};
use crate::kinds::PartEntry;
use crate::meter::Accuracy;
use crate::reading::Word;
use crate::wire_size::{Gauge, SquareMillimetres};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// A bench job: the unit, how it is wired, how it was arranged and what was read.
#[derive(Debug, JsonSchema)]
#[schemars(title = "Faultwright job file", deny_unknown_fields)]
#[allow(dead_code)]
pub struct JobFile {
    /// The unit on the bench.
    pub unit: UnitEntry,
    /// Parts by name. The name `frame` is taken: it is the metal of the unit.
    pub parts: BTreeMap<String, PartWithMake>,
    /// Wires between terminals.
    #[serde(default)]
    pub wires: Vec<WireEntry>,
    /// Arrangements in which readings were taken, by name.
    #[serde(default)]
    pub setups: BTreeMap<String, SetupEntry>,
    /// Meters by name; `handheld` is known without being described.
    #[serde(default)]
    pub meters: BTreeMap<String, MeterEntry>,
    /// What meters showed.
    #[serde(default)]
    pub readings: Vec<ReadingEntry>,
    /// What was noticed without a meter.
    #[serde(default)]
    pub symptoms: Vec<SymptomEntry>,
    /// The air about the unit, and what sits on what.
    pub heat: Option<HeatEntry>,
    /// Setups one after another, from cold, by name.
    #[serde(default)]
    pub runs: BTreeMap<String, RunEntry>,
    /// What was written down during runs.
    #[serde(default)]
    pub logs: Vec<LogEntry>,
    /// What must be opened before what is behind it can be reached.
    #[serde(default)]
    pub housings: Vec<HousingEntry>,
    /// What cannot or must not be done: a part, a terminal, `setup NAME`, `housing NAME`, `energised`, or a sort of check
    /// such as `amps`.
    #[serde(default)]
    pub refused: Vec<String>,
    /// What was done to the unit, and what it showed afterwards.
    pub repaired: Option<RepairedSection>,
    /// Safety tests after the repair.
    pub safety: Option<SafetyEntry>,
}

/// `[repaired]` as a whole.
#[derive(Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
pub struct RepairedSection {
    #[schemars(flatten)]
    plain: super::repaired::RepairedEntry,
    /// Readings taken after the repair, written as `readings` are; they say nothing of the fault.
    #[schemars(default)]
    readings: Vec<ReadingEntry>,
    /// Logs taken after the repair, written as `logs` are.
    #[schemars(default)]
    logs: Vec<LogEntry>,
    /// Ohms of windings that were read hot, after a heat run.
    #[schemars(default)]
    hot_ohms: Vec<super::hot_ohms::HotOhmsEntry>,
}

/// A part, with where it comes from beside the fields of its kind.
#[derive(Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
pub struct PartWithMake {
    /// Make: parts of one kind and one make are sisters and agree closely.
    make: Option<String>,
    /// How often the part in this place has failed and been replaced before.
    replaced_before: Option<u32>,
    /// Whether it was changed while the fault was looked for: `new`, or `original`.
    fitted: Option<Fitted>,
    #[schemars(flatten)]
    part: PartEntry,
}

/// Which part is in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Fitted {
    /// The one that was there when the fault came up.
    Original,
    /// One that was put in while the fault was looked for.
    New,
}

/// The unit on the bench.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitEntry {
    /// What it is.
    pub name: String,
    /// Remarks, shown with every result; says so if the data are invented.
    pub note: Option<String>,
}

/// A wire.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WireEntry {
    /// One end, `part.terminal`.
    #[schemars(with = "String")]
    pub from: Spanned<String>,
    /// The other end, `part.terminal`.
    #[schemars(with = "String")]
    pub to: Spanned<String>,
    /// Colour of the insulation.
    pub colour: Option<String>,
    /// Conductor size in square millimetres.
    pub square_millimetres: Option<SquareMillimetres>,
    /// Conductor size as American wire gauge; one of the two is enough.
    #[schemars(with = "Option<Gauge>")]
    pub gauge: Option<Spanned<Gauge>>,
    /// Name to call it by; otherwise its ends.
    #[schemars(with = "Option<String>")]
    pub label: Option<Spanned<String>>,
}

/// One arrangement of the unit.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SetupEntry {
    /// `on`: plugged in and live. `off`: unplugged.
    pub supply: OnOff,
    /// Frequency if it differs from the supply's; it may not.
    #[schemars(with = "Option<f64>")]
    pub hertz: Option<Spanned<Positive>>,
    /// Position of switches, thermostats and cutouts that are not in their ordinary one, by part.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub positions: BTreeMap<Spanned<String>, Spanned<String>>,
    /// Terminals whose wires are taken off.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub lifted: Vec<Spanned<String>>,
    /// Temporary connections, each a pair of terminals.
    #[serde(default)]
    #[schemars(with = "Vec<(String, String)>")]
    pub jumpers: Vec<Pair<Spanned<String>>>,
    /// Motors held so that they cannot turn.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub held: Vec<Spanned<String>>,
    /// Motors given a push by hand.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub pushed: Vec<Spanned<String>>,
    /// Temperature of the windings, degrees Celsius; 20 if not given.
    pub winding_celsius: Option<f64>,
}

/// Whether the supply is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OnOff {
    /// Plugged in and live.
    On,
    /// Unplugged.
    Off,
}

/// A meter's accuracy, as percent of reading and counts of the last digit.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeterEntry {
    /// Ohms function.
    pub ohms: Option<AccuracyEntry>,
    /// Highest resistance before over range, ohms.
    pub ohms_limit: Option<Positive>,
    /// Capacitance function, microfarads.
    pub microfarads: Option<AccuracyEntry>,
    /// Volts function.
    pub volts: Option<AccuracyEntry>,
    /// Input resistance on volts, ohms; 10M unless a low-impedance setting is used.
    pub volts_input_ohms: Option<Positive>,
    /// Amps function.
    pub amps: Option<AccuracyEntry>,
    /// Current below which the clamp may show nothing, amperes.
    pub amps_floor: Option<Positive>,
    /// Watts function.
    pub watts: Option<AccuracyEntry>,
    /// Speed function.
    pub rpm: Option<AccuracyEntry>,
    /// Leakage and touch current, milliamperes.
    pub milliamps: Option<AccuracyEntry>,
    /// Stop-watch.
    pub seconds: Option<AccuracyEntry>,
}

/// Accuracy of one function.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AccuracyEntry {
    /// Percent of reading.
    pub percent: Positive,
    /// Counts of the last digit.
    pub counts: Positive,
    /// Value of one count.
    pub count: Positive,
}

impl From<AccuracyEntry> for Accuracy {
    fn from(entry: AccuracyEntry) -> Self {
        Accuracy { percent: entry.percent.0, counts: entry.counts.0, count: entry.count.0 }
    }
}

/// One reading: exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch and leakage milliamps,
/// and where it was taken.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingEntry {
    /// Setup it was taken in.
    #[schemars(with = "String")]
    pub setup: Spanned<String>,
    /// Ohms shown, or "open"; with `bars_of` a list, one for each pair of neighbouring bars in order.
    #[schemars(with = "Option<ShownOhms>")]
    pub ohms: Option<Spanned<ShownOhms>>,
    /// Microfarads shown, or "OL", by a meter across a capacitor that is off its wires.
    #[schemars(with = "Option<Shown>")]
    pub microfarads: Option<Spanned<Shown>>,
    /// Volts shown.
    #[schemars(with = "Option<Shown>")]
    pub volts: Option<Spanned<Shown>>,
    /// Amps shown.
    #[schemars(with = "Option<Shown>")]
    pub amps: Option<Spanned<Shown>>,
    /// Watts shown.
    #[schemars(with = "Option<Shown>")]
    pub watts: Option<Spanned<Shown>>,
    /// Revolutions per minute shown.
    #[schemars(with = "Option<Shown>")]
    pub rpm: Option<Spanned<Shown>>,
    /// Seconds from switching the setup off to the motor's standstill.
    #[schemars(with = "Option<Shown>")]
    pub run_down_seconds: Option<Spanned<Shown>>,
    /// Milliamperes shown from a terminal to earth through the network that stands for a person.
    #[schemars(with = "Option<Shown>")]
    pub touch_milliamps: Option<Spanned<Shown>>,
    /// Milliamperes shown by a clamp around all conductors of the cord or supply but earth.
    #[schemars(with = "Option<Shown>")]
    pub leakage_milliamps: Option<Spanned<Shown>>,
    /// Two terminals, for ohms, microfarads and volts.
    #[schemars(with = "Option<(String, String)>")]
    pub between: Option<Pair<Spanned<String>>>,
    /// A terminal or a wire, for amps.
    #[schemars(with = "Option<String>")]
    pub through: Option<Spanned<String>>,
    /// A part, for watts, rpm, run_down_seconds and leakage milliamps.
    #[schemars(with = "Option<String>")]
    pub of: Option<Spanned<String>>,
    /// A terminal, for touch milliamps.
    #[schemars(with = "Option<String>")]
    pub at: Option<Spanned<String>>,
    /// A motor with a commutator, for a list of ohms from bar to bar with the brushes lifted.
    #[schemars(with = "Option<String>")]
    pub bars_of: Option<Spanned<String>>,
    /// Meter used; `handheld` if not given.
    #[schemars(with = "Option<String>")]
    pub meter: Option<Spanned<String>>,
    /// Remarks.
    pub note: Option<String>,
}

/// Something noticed without a meter.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SymptomEntry {
    /// Setup it was noticed in.
    #[schemars(with = "String")]
    pub setup: Spanned<String>,
    /// Part it was noticed at.
    #[schemars(with = "String")]
    pub part: Spanned<String>,
    /// What was noticed.
    pub word: Word,
    /// Remarks.
    pub note: Option<String>,
}

/// The air about the unit, and what sits on what.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeatEntry {
    /// Temperature of the room, degrees Celsius; 20 if not given.
    #[schemars(with = "Option<f64>")]
    pub room_celsius: Option<Spanned<f64>>,
    /// Streams of air that fans move.
    #[serde(default)]
    pub streams: Vec<StreamEntry>,
    /// For cutouts and the like, the body they are clamped to: `K1 = "M1.winding"`.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub clamped: BTreeMap<Spanned<String>, Spanned<String>>,
}

/// A stream of air.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StreamEntry {
    /// The motor whose fan moves it.
    #[schemars(with = "String")]
    pub fan: Spanned<String>,
    /// Parts that the air passes, in order.
    #[schemars(with = "Vec<String>")]
    pub passes: Vec<Spanned<String>>,
    /// Air moved at rated speed; if not given, enough to warm by 40 kelvins at all rated heaters in it.
    pub litres_per_second: Option<Positive>,
}

/// Setups one after another, from cold.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunEntry {
    /// The setups in order of time; the first at 0.
    pub steps: Vec<RunStepEntry>,
    /// Length of the whole run, minutes.
    #[schemars(with = "f64")]
    pub minutes: Spanned<Positive>,
    /// Temperature of the room in this run, degrees Celsius; that of `heat` if not given.
    #[schemars(with = "Option<f64>")]
    pub room_celsius: Option<Spanned<f64>>,
}

/// From a moment on, a setup.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunStepEntry {
    /// When it begins, minutes from the start of the run.
    #[schemars(with = "f64")]
    pub minute: Spanned<f64>,
    /// The setup.
    #[schemars(with = "String")]
    pub setup: Spanned<String>,
}

/// What was written down during a run.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LogEntry {
    /// The run.
    #[schemars(with = "String")]
    pub run: Spanned<String>,
    /// Times from the start of the run, minutes.
    #[schemars(with = "Vec<f64>")]
    pub minutes: Vec<Spanned<f64>>,
    /// What was logged, a value for each time.
    pub channels: Vec<ChannelEntry>,
    /// Meter used; `handheld` if not given.
    #[schemars(with = "Option<String>")]
    pub meter: Option<Spanned<String>>,
    /// Remarks.
    pub note: Option<String>,
}

/// One quantity over time: exactly one of amps, watts, volts, rpm, celsius, and where.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChannelEntry {
    /// Amps at each time; "none" where there is none.
    #[schemars(with = "Option<Vec<LoggedValue>>")]
    pub amps: Option<Spanned<Vec<LoggedValue>>>,
    /// Watts at each time.
    #[schemars(with = "Option<Vec<LoggedValue>>")]
    pub watts: Option<Spanned<Vec<LoggedValue>>>,
    /// Volts at each time.
    #[schemars(with = "Option<Vec<LoggedValue>>")]
    pub volts: Option<Spanned<Vec<LoggedValue>>>,
    /// Revolutions per minute at each time.
    #[schemars(with = "Option<Vec<LoggedValue>>")]
    pub rpm: Option<Spanned<Vec<LoggedValue>>>,
    /// Degrees Celsius at each time.
    #[schemars(with = "Option<Vec<LoggedValue>>")]
    pub celsius: Option<Spanned<Vec<LoggedValue>>>,
    /// Two terminals, for volts.
    #[schemars(with = "Option<(String, String)>")]
    pub between: Option<Pair<Spanned<String>>>,
    /// A terminal or a wire, for amps.
    #[schemars(with = "Option<String>")]
    pub through: Option<Spanned<String>>,
    /// A part, for watts and rpm.
    #[schemars(with = "Option<String>")]
    pub of: Option<Spanned<String>>,
    /// A body of a part, for celsius: `M1.winding`; `room` for the air of the room.
    #[schemars(with = "Option<String>")]
    pub at: Option<Spanned<String>>,
}

/// Something to be opened once before what is behind it can be reached.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HousingEntry {
    /// What to call it.
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    /// Parts, with their shafts and all their terminals, or single terminals behind it.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub holds: Vec<Spanned<String>>,
    /// Minutes to open it.
    #[schemars(with = "f64")]
    pub minutes: Spanned<f64>,
    /// Whether it stands open now.
    #[serde(default)]
    pub open: bool,
    /// The housing that it is itself behind.
    #[schemars(with = "Option<String>")]
    pub behind: Option<Spanned<String>>,
    /// Remarks.
    pub note: Option<String>,
}

/// A logged number, or "none".
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[serde(try_from = "NumberOrWord")]
#[schemars(with = "NumberOrWord")]
pub struct LoggedValue(pub Option<f64>);

/// For [`LoggedValue`].
#[derive(Deserialize, JsonSchema)]
#[serde(untagged)]
enum NumberOrWord {
    Number(f64),
    Word(String),
}

impl TryFrom<NumberOrWord> for LoggedValue {
    type Error = String;

    fn try_from(value: NumberOrWord) -> Result<Self, Self::Error> {
        match value {
            NumberOrWord::Number(number) if number.is_finite() => Ok(LoggedValue(Some(number))),
            NumberOrWord::Number(number) => {
                Err(format!("{number} in a log, expected a finite number; write \"none\" where there is no value"))
            }
            NumberOrWord::Word(word) if word == "none" => Ok(LoggedValue(None)),
            NumberOrWord::Word(word) => {
                let known = super::values::parse_number(&word);
                known.map(|number| LoggedValue(Some(number))).map_err(|_| {
                    format!("'{word}' in a log, expected a number; write \"none\" where there is no value")
                })
            }
        }
    }
}

/// JSON Schema of the job file, generated from the types above.
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(JobFile).to_value();
    // The same text whatever else is built beside it: other crates may switch serde_json to the order of insertion.
    schema.sort_all_objects();
    schema
}
