//! The types of a job file; `docs/job-file.md` explains them to people, the schema to programs.

use super::values::{Pair, Positive, Shown};
use crate::kinds::PartEntry;
use crate::reading::Word;
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
}

/// A part, with its make beside the fields of its kind.
#[derive(Debug, JsonSchema)]
#[schemars(deny_unknown_fields)]
#[allow(dead_code)]
pub struct PartWithMake {
    /// Make: parts of one kind and one make are sisters and agree closely.
    make: Option<String>,
    #[schemars(flatten)]
    part: PartEntry,
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

/// One reading: exactly one of ohms, volts, amps, watts, rpm, and where it was taken.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingEntry {
    /// Setup it was taken in.
    #[schemars(with = "String")]
    pub setup: Spanned<String>,
    /// Ohms shown, or "open".
    #[schemars(with = "Option<Shown>")]
    pub ohms: Option<Spanned<Shown>>,
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
    /// Two terminals, for ohms and volts.
    #[schemars(with = "Option<(String, String)>")]
    pub between: Option<Pair<Spanned<String>>>,
    /// A terminal or a wire, for amps.
    #[schemars(with = "Option<String>")]
    pub through: Option<Spanned<String>>,
    /// A part, for watts and rpm.
    #[schemars(with = "Option<String>")]
    pub of: Option<Spanned<String>>,
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

/// JSON Schema of the job file, generated from the types above.
pub fn schema() -> serde_json::Value {
    let mut schema = schemars::schema_for!(JobFile).to_value();
    // The same text whatever else is built beside it: other crates may switch serde_json to the order of insertion.
    schema.sort_all_objects();
    schema
}
