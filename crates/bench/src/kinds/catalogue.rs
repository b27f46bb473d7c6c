//! What a form needs to know of every kind of part: titles, fields, units, examples.
//!
//! Which fields there are, what they hold and which must be given comes from the schema of the job file; only the words
//! are written here.

use serde_json::Value;
use std::sync::OnceLock;

/// Where a kind stands in a list of kinds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// Supply and cord.
    SupplyAndCord,
    /// Switches, thermostats, cutouts, fuses and lamps.
    Controls,
    /// Motors.
    Motors,
    /// Heaters.
    Heating,
    /// Capacitors.
    Capacitors,
    /// Splices and terminal blocks.
    Joints,
}

impl Group {
    /// All groups in the order of a list.
    pub const ALL: [Group; 6] =
        [Group::SupplyAndCord, Group::Controls, Group::Motors, Group::Heating, Group::Capacitors, Group::Joints];

    /// In plain words.
    pub fn title(self) -> &'static str {
        match self {
            Group::SupplyAndCord => "Supply and cord",
            Group::Controls => "Controls",
            Group::Motors => "Motors",
            Group::Heating => "Heating",
            Group::Capacitors => "Capacitors",
            Group::Joints => "Joints",
        }
    }
}

/// What a field holds, and so how it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FieldType {
    /// A number above zero: `27.1`, `0,35` or `4.7k`.
    Number,
    /// A whole number.
    WholeNumber,
    /// Any text.
    Text,
    /// Names with commas between them: `high, medium, low`.
    Names,
    /// A line for each position, with the pairs of terminals it joins: `high: line to high, in to out`; `off: none`.
    ContactTable,
}

/// One field of a kind.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Field {
    /// As typed in a job file; dotted for fields of a plate: `plate.volts`.
    pub name: String,
    /// In plain words.
    pub label: &'static str,
    /// Unit for people; empty if it has none.
    pub unit: &'static str,
    /// Whether it must be given.
    pub is_required: bool,
    /// What it holds.
    pub holds: FieldType,
    /// A typical value as it would be typed; of no real machine.
    pub example: &'static str,
    /// What the job file says of it.
    pub help: String,
}

/// One kind of part.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct CatalogueEntry {
    /// As typed in a job file.
    pub kind: &'static str,
    /// In plain words.
    pub title: &'static str,
    /// What it is, in one line.
    pub words: &'static str,
    /// Where it stands in a list.
    pub group: Group,
    /// Its fields in the order of a form.
    pub fields: Vec<Field>,
}

impl CatalogueEntry {
    /// Finds a field by its dotted name.
    pub fn find_field(&self, name: &str) -> Option<&Field> {
        self.fields.iter().find(|field| field.name == name)
    }
}

/// Words for a field: name, label, unit, example.
type FieldWords = (&'static str, &'static str, &'static str, &'static str);

/// Words for a kind: name, title, what it is, group, fields.
type KindWords = (&'static str, &'static str, &'static str, Group, &'static [FieldWords]);

const MAKE: FieldWords = ("make", "Same make as its sister parts", "", "left and right alike");
const OPENS: FieldWords = ("opens_celsius", "Opens at", "°C", "110");
const TAPS: FieldWords = ("taps", "Speed taps, fastest first", "", "high, medium, low");

/// The plate of a motor; a shaded-pole motor's has no use for the capacitor but may name it.
const CAPACITOR_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current on the fastest tap", "A", "0.6"),
    ("plate.rpm", "Full-load speed on the fastest tap", "rpm", "1320"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Run capacitor on the plate", "µF", "3"),
    ("plate.watts", "Input watts on the fastest tap", "W", "120"),
    ("plate.main_ohms", "Common to fastest tap, cold, if published", "ohm", "68"),
    TAPS,
    MAKE,
];

const SHADED_POLE_MOTOR: &[FieldWords] = &[
    ("plate.volts", "Plate volts", "V", "230"),
    ("plate.hertz", "Plate frequency", "Hz", "50"),
    ("plate.amps", "Full-load current on the fastest tap", "A", "0.4"),
    ("plate.rpm", "Full-load speed on the fastest tap", "rpm", "1280"),
    ("plate.poles", "Poles", "", "4"),
    ("plate.microfarads", "Capacitor on the plate, if any", "µF", "2"),
    ("plate.watts", "Input watts on the fastest tap", "W", "55"),
    ("plate.main_ohms", "Common to fastest tap, cold, if published", "ohm", "120"),
    ("taps", "Speed taps, fastest first", "", "high, low"),
    MAKE,
];

/// The one list of words, in the order of a list for people.
const WORDS: [KindWords; 12] = [
    (
        "supply",
        "Supply",
        "The outlet or feed ahead of the unit; every job has exactly one.",
        Group::SupplyAndCord,
        &[
            ("volts", "Volts between hot and neutral", "V", "230"),
            ("hertz", "Frequency", "Hz", "50"),
            ("breaker_amps", "Breaker or fuse ahead", "A", "16"),
            ("source_ohms", "Resistance of the supply loop", "ohm", "0.4"),
            MAKE,
        ],
    ),
    (
        "cord",
        "Cord with plug",
        "Plugs into the supply by itself; wires start at its ends in the unit.",
        Group::SupplyAndCord,
        &[
            ("metres", "Length", "m", "2"),
            ("square_millimetres", "Conductor size", "mm²", "0.75"),
            ("gauge", "Conductor size as wire gauge; counts if both are given", "AWG", "18"),
            MAKE,
        ],
    ),
    (
        "switch",
        "Switch",
        "Any switch or relay contact: for each position, the terminals it joins.",
        Group::Controls,
        &[("positions", "Contact table", "", "off: none\nlow: line to low\nhigh: line to high"), MAKE],
    ),
    ("thermostat", "Thermostat", "Opens when warm enough, closes again when cool.", Group::Controls, &[OPENS, MAKE]),
    (
        "thermal-cutout",
        "Thermal cutout",
        "Protects: heat opens it, cooling closes it again; an overload protector too.",
        Group::Controls,
        &[OPENS, MAKE],
    ),
    ("thermal-fuse", "Thermal fuse", "Protects: opens once, for good.", Group::Controls, &[OPENS, MAKE]),
    (
        "indicator-lamp",
        "Indicator lamp",
        "Shows that something is live.",
        Group::Controls,
        &[("volts", "Rated volts", "V", "230"), ("watts", "Rated watts", "W", "0.3"), MAKE],
    ),
    (
        "capacitor-run-motor",
        "Capacitor-run motor",
        "Induction motor with a start winding fed through a capacitor, which is a part of its own.",
        Group::Motors,
        CAPACITOR_MOTOR,
    ),
    (
        "shaded-pole-motor",
        "Shaded-pole motor",
        "Small induction motor without a capacitor.",
        Group::Motors,
        SHADED_POLE_MOTOR,
    ),
    (
        "heater",
        "Heater",
        "Heating element.",
        Group::Heating,
        &[("volts", "Rated volts", "V", "230"), ("watts", "Rated watts", "W", "1000"), MAKE],
    ),
    (
        "run-capacitor",
        "Run capacitor",
        "Capacitor of a motor's start winding.",
        Group::Capacitors,
        &[("microfarads", "Marked microfarads", "µF", "3"), ("volts", "Marked volts", "V", "450"), MAKE],
    ),
    (
        "splice",
        "Splice or terminal block",
        "Crimp, wire nut or terminal block that joins several wires.",
        Group::Joints,
        &[("legs", "Names of its legs", "", "a, b, c"), MAKE],
    ),
];

/// Every kind of part, in the order of a list for people.
pub fn catalogue() -> Vec<CatalogueEntry> {
    entries().to_vec()
}

/// Finds a kind by its name as typed.
pub fn find_kind(kind: &str) -> Option<&'static CatalogueEntry> {
    entries().iter().find(|entry| entry.kind == kind)
}

fn entries() -> &'static [CatalogueEntry] {
    static ENTRIES: OnceLock<Vec<CatalogueEntry>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let schema = crate::job::schema();
        WORDS.iter().map(|words| entry(&schema, words)).collect()
    })
}

fn entry(schema: &Value, &(kind, title, words, group, fields): &KindWords) -> CatalogueEntry {
    let known = fields_in_schema(schema, kind);
    // A name that the schema does not have gets no field: the test of both lists tells.
    let fields = fields
        .iter()
        .filter_map(|&(name, label, unit, example)| {
            let found = known.iter().find(|field| field.name == name)?;
            Some(Field { label, unit, example, ..found.clone() })
        })
        .collect();
    CatalogueEntry { kind, title, words, group, fields }
}

/// The fields of a kind as the schema has them, those of a plate with dotted names, without words for people.
fn fields_in_schema(schema: &Value, kind: &str) -> Vec<Field> {
    let part = &schema["$defs"]["PartWithMake"];
    let of_kind = |shape: &&Value| shape["properties"]["kind"]["const"] == kind;
    let mut fields = Vec::new();
    if let Some(shape) = part["oneOf"].as_array().and_then(|shapes| shapes.iter().find(of_kind)) {
        collect(schema, shape, "", true, &mut fields);
        collect(schema, part, "", true, &mut fields);
    }
    fields
}

fn collect(schema: &Value, shape: &Value, prefix: &str, is_required: bool, fields: &mut Vec<Field>) {
    let required = shape["required"].as_array().cloned().unwrap_or_default();
    for (name, property) in shape["properties"].as_object().into_iter().flatten().filter(|(name, _)| *name != "kind") {
        let is_required = is_required && required.iter().any(|required| required == name);
        let name = format!("{prefix}{name}");
        let resolved = resolved(schema, property);
        match holds(resolved) {
            Some(holds) => fields.push(Field {
                name,
                label: "",
                unit: "",
                is_required,
                holds,
                example: "",
                help: property["description"].as_str().unwrap_or_default().to_owned(),
            }),
            None => collect(schema, resolved, &format!("{name}."), is_required, fields),
        }
    }
}

/// What a property refers to, leaving out that it may be absent.
fn resolved<'s>(schema: &'s Value, property: &'s Value) -> &'s Value {
    let property = property["anyOf"]
        .as_array()
        .and_then(|choices| choices.iter().find(|choice| choice["type"] != "null"))
        .filter(|choice| choice["$ref"].is_string())
        .unwrap_or(property);
    match property["$ref"].as_str().and_then(|reference| reference.strip_prefix("#/$defs/")) {
        Some(name) => &schema["$defs"][name],
        None => property,
    }
}

/// What a property holds; `None` for a table with fields of its own.
fn holds(property: &Value) -> Option<FieldType> {
    let is = |name: &str| match &property["type"] {
        Value::String(found) => found == name,
        Value::Array(found) => found.iter().any(|found| found == name),
        _ => false,
    };
    match () {
        () if property["properties"].is_object() => None,
        () if property["anyOf"].is_array() || is("number") => Some(FieldType::Number),
        () if is("integer") => Some(FieldType::WholeNumber),
        () if is("array") => Some(FieldType::Names),
        () if is("object") => Some(FieldType::ContactTable),
        () => Some(FieldType::Text),
    }
}
