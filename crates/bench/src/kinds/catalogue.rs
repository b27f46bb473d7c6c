//! What a form needs to know of every kind of part: titles, fields, units, examples.
//!
//! Which fields there are, what they hold and which must be given comes from the schema of the job file; only the words
//! are written in `words`.

mod words;

use serde_json::Value;
use std::sync::OnceLock;
use words::{KindWords, OF_EVERY_KIND, WORDS};

/// Where a kind stands in a list of kinds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// Supply and cord.
    SupplyAndCord,
    /// Switches, thermostats, cutouts, fuses, varistors and lamps.
    Controls,
    /// Motors.
    Motors,
    /// Transformers and other coils on iron.
    Coils,
    /// Heaters.
    Heating,
    /// Capacitors.
    Capacitors,
    /// Splices and terminal blocks.
    Joints,
}

impl Group {
    /// All groups in the order of a list.
    pub const ALL: [Group; 7] = [
        Group::SupplyAndCord,
        Group::Controls,
        Group::Motors,
        Group::Coils,
        Group::Heating,
        Group::Capacitors,
        Group::Joints,
    ];

    /// In plain words.
    pub fn title(self) -> &'static str {
        match self {
            Group::SupplyAndCord => "Supply and cord",
            Group::Controls => "Controls",
            Group::Motors => "Motors",
            Group::Coils => "Transformers and coils",
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
    /// A table with a name at the start of each line; [`Field::line`] says what follows it.
    ContactTable,
}

/// What follows the name on each line of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TableLine {
    /// The pairs of terminals that a position joins: `high: line to high, in to out`; `off: none`.
    Contacts,
    /// Terminals of a winding in order, with the volts between neighbours: `secondary: a 12 centre 12 b`.
    Winding,
    /// A number: `primary: 34.5`.
    Number,
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
    /// How a line of it is typed, if it is a table.
    pub line: Option<TableLine>,
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
        .chain(&OF_EVERY_KIND)
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
                line: (holds == FieldType::ContactTable).then(|| line(schema, resolved)),
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

/// What the lines of a table hold.
fn line(schema: &Value, table: &Value) -> TableLine {
    let row = resolved(schema, &table["additionalProperties"]);
    match holds(row) {
        Some(FieldType::Number) => TableLine::Number,
        _ if row["items"]["type"] == "array" => TableLine::Contacts,
        _ => TableLine::Winding,
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
