//! Every place of a job file that names a part, a terminal, a wire or a setup.

use super::source::{Place, Source};
use crate::job::logs::ROOM;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

/// The entry that a name stands in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Entry {
    Wire(usize),
    Reading(usize),
    Symptom(usize),
    Setup(String),
    Housing(usize),
    Refused,
    ReadingAfter(usize),
    Run(String),
    Log(usize),
    LogAfter(usize),
    HotOhms(usize),
    Cause,
    LookedAt,
}

impl fmt::Display for Entry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Entry::Wire(index) => write!(f, "wire {}", index + 1),
            Entry::Reading(index) => write!(f, "reading {}", index + 1),
            Entry::Symptom(index) => write!(f, "symptom {}", index + 1),
            Entry::Setup(name) => write!(f, "setup {name}"),
            Entry::Housing(index) => write!(f, "housing {}", index + 1),
            Entry::Refused => write!(f, "refused"),
            Entry::ReadingAfter(index) => write!(f, "reading {} after the repair", index + 1),
            Entry::Run(name) => write!(f, "run {name}"),
            Entry::Log(index) => write!(f, "log {}", index + 1),
            Entry::LogAfter(index) => write!(f, "log {} after the repair", index + 1),
            Entry::HotOhms(index) => write!(f, "hot ohms {} after the repair", index + 1),
            Entry::Cause => write!(f, "the cause that was repaired"),
            Entry::LookedAt => write!(f, "what was looked at after the repair"),
        }
    }
}

/// What sort of name it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Naming {
    /// A part, or `part.terminal`.
    PartOrTerminal,
    /// `part.terminal`, or a wire: its label, or `part.terminal~part.terminal` with perhaps `#2` after it.
    Conductor,
    /// A setup.
    Setup,
    /// A fault: a part or a conductor, a blank, and the fault's own name.
    Fault,
}

/// A name in the text.
#[derive(Debug, Clone)]
pub(super) struct Reference {
    pub(super) entry: Entry,
    pub(super) naming: Naming,
    pub(super) name: String,
    /// Where its value stands, quotes included.
    pub(super) span: Range<usize>,
}

impl Reference {
    /// Whether it names a part, alone or in a terminal or in both ends of a wire that has no label.
    pub(super) fn names_part(&self, part: &str) -> bool {
        match self.naming {
            Naming::Setup => false,
            Naming::PartOrTerminal => part_of(&self.name) == part,
            Naming::Conductor | Naming::Fault => place_of(&self.name).split('~').any(|end| part_of(end) == part),
        }
    }

    /// The name with one part called otherwise.
    pub(super) fn renamed(&self, from: &str, to: &str) -> String {
        let end = |end: &str| if part_of(end) == from { format!("{to}{}", &end[from.len()..]) } else { end.to_owned() };
        match self.naming {
            Naming::Conductor => self.name.split('~').map(end).collect::<Vec<_>>().join("~"),
            Naming::Fault => {
                let place = place_of(&self.name);
                let renamed = place.split('~').map(end).collect::<Vec<_>>().join("~");
                format!("{renamed}{}", &self.name[place.len()..])
            }
            _ => end(&self.name),
        }
    }
}

/// The place of a fault.
fn place_of(text: &str) -> &str {
    text.split(' ').next().unwrap_or_default()
}

fn part_of(text: &str) -> &str {
    text.split('.').next().unwrap_or_default()
}

/// All references in the order of the sections.
pub(super) fn references(source: &Source<'_>) -> Vec<Reference> {
    const READING: &[(&str, Naming)] = &[
        ("setup", Naming::Setup),
        ("between", Naming::PartOrTerminal),
        ("through", Naming::Conductor),
        ("of", Naming::PartOrTerminal),
        ("at", Naming::PartOrTerminal),
        ("bars_of", Naming::PartOrTerminal),
    ];
    let mut found = Vec::new();
    for (list, fields) in [
        (&["wires"][..], &[("from", Naming::PartOrTerminal), ("to", Naming::PartOrTerminal)][..]),
        (&["readings"], READING),
        (&["symptoms"], &[("setup", Naming::Setup), ("part", Naming::PartOrTerminal)]),
        (&["housings"], &[("holds", Naming::PartOrTerminal)]),
        (&["repaired", "readings"], READING),
        (&["repaired", "hot_ohms"], &[("winding", Naming::PartOrTerminal)]),
    ] {
        for index in 0..count(source, list) {
            let entry = match list {
                ["wires"] => Entry::Wire(index),
                ["readings"] => Entry::Reading(index),
                ["housings"] => Entry::Housing(index),
                ["symptoms"] => Entry::Symptom(index),
                ["repaired", "hot_ohms"] => Entry::HotOhms(index),
                _ => Entry::ReadingAfter(index),
            };
            for &(field, naming) in fields {
                collect(source, &[list, &[&index.to_string(), field]].concat(), &entry, naming, &mut found);
            }
        }
    }
    for (list, entry) in [(&["logs"][..], Entry::Log as fn(usize) -> Entry), (&["repaired", "logs"], Entry::LogAfter)] {
        for index in 0..count(source, list) {
            let log = index.to_string();
            let channels = [list, &[log.as_str(), "channels"]].concat();
            for channel in 0..count(source, &channels) {
                let channel = channel.to_string();
                for &(field, naming) in READING {
                    let path = [&channels[..], &[channel.as_str(), field]].concat();
                    collect(source, &path, &entry(index), naming, &mut found);
                }
            }
        }
    }
    // The air of the room is no part, whatever parts are called.
    found.retain(|reference| reference.name != ROOM || !matches!(reference.entry, Entry::Log(_) | Entry::LogAfter(_)));
    for run in names(source, "runs") {
        for step in 0..count(source, &["runs", &run, "steps"]) {
            let path = ["runs", run.as_str(), "steps", &step.to_string(), "setup"];
            collect(source, &path, &Entry::Run(run.clone()), Naming::Setup, &mut found);
        }
    }
    collect(source, &["repaired", "faults"], &Entry::Cause, Naming::Fault, &mut found);
    collect(source, &["repaired", "looked_at"], &Entry::LookedAt, Naming::Fault, &mut found);
    let refused = found.len();
    collect(source, &["refused"], &Entry::Refused, Naming::PartOrTerminal, &mut found);
    for reference in &mut found[refused..] {
        if let Some(name) = reference.name.strip_prefix("setup ") {
            (reference.naming, reference.name) = (Naming::Setup, name.to_owned());
        }
    }
    for setup in names(source, "setups") {
        for field in ["lifted", "jumpers", "held", "pushed"] {
            let entry = Entry::Setup(setup.clone());
            collect(source, &["setups", &setup, field], &entry, Naming::PartOrTerminal, &mut found);
        }
    }
    found
}

/// Entries of the list at a path.
fn count(source: &Source<'_>, path: &[&str]) -> usize {
    source.place(path).and_then(|place| place.entry_count()).unwrap_or(0)
}

/// Texts at a path, in lists within it too.
fn collect(source: &Source<'_>, path: &[&str], entry: &Entry, naming: Naming, found: &mut Vec<Reference>) {
    let Some(place) = source.place(path) else { return };
    if let Some((name, span)) = place.text() {
        found.push(Reference { entry: entry.clone(), naming, name: name.to_owned(), span });
    }
    for index in 0..place.entry_count().unwrap_or(0) {
        collect(source, &[path, &[&index.to_string()]].concat(), entry, naming, found);
    }
}

/// Names of the tables in a section.
pub(super) fn names(source: &Source<'_>, section: &str) -> Vec<String> {
    source.place(&[section]).map(|place| place.names()).unwrap_or_default()
}

/// Labels of the wires that have one, with the index of the wire.
pub(super) fn wire_labels(source: &Source<'_>) -> BTreeMap<String, usize> {
    let count = source.place(&["wires"]).and_then(|place| place.entry_count()).unwrap_or(0);
    let label = |index: usize| {
        let place = source.place(&["wires", &index.to_string(), "label"])?;
        place.text().map(|(label, _)| (label.to_owned(), index))
    };
    (0..count).filter_map(label).collect()
}

/// Setups whose positions name a part.
pub(super) fn setups_with_position(source: &Source<'_>, part: &str) -> Vec<String> {
    let names_it = |setup: &String| {
        source.place(&["setups", setup, "positions", part]).as_ref().map(Place::is_table) == Some(false)
    };
    names(source, "setups").into_iter().filter(names_it).collect()
}
