//! A job's unit with a part exchanged, made from the text of its job.
//!
//! Readings, symptoms, setups and runs are left out: they are about the unit as it was.

use crate::RepairError;
use bench::job::edit::{Edit, apply, part_fields};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Unit};
use toml_edit::DocumentMut;

/// Sections that are about the unit as it was.
const LEFT_OUT: [&str; 8] = ["readings", "symptoms", "setups", "runs", "logs", "refused", "repaired", "safety"];

/// The text of a job without what was found on its unit.
fn bare(text: &str) -> Result<String, RepairError> {
    let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| RepairError::Exchange {
        what: "the job".into(),
        problem: error.message().into(),
    })?;
    for section in LEFT_OUT {
        document.remove(section);
    }
    Ok(document.to_string())
}

fn read(what: &str, text: &str) -> Result<Job, RepairError> {
    bench::job::read(what, text).map_err(|problems| {
        let said = problems.0.iter().map(|problem| match &problem.mend {
            Some(mend) => format!("{} ({mend})", problem.message),
            None => problem.message.clone(),
        });
        RepairError::Exchange { what: what.into(), problem: said.collect::<Vec<_>>().join("; ") }
    })
}

/// A substitute as asked for: a part, and the fields in which the other one differs, as they are typed in a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchange {
    /// Name of the part.
    pub part: String,
    /// Fields and values: `plate.amps`, `0.6`; an empty value takes a field away.
    pub fields: Vec<(String, String)>,
}

impl std::str::FromStr for Exchange {
    type Err = String;

    /// `M2 plate.amps=0.6 plate.rpm=1300`; a value with blanks stands in quotes.
    fn from_str(typed: &str) -> Result<Self, String> {
        const FORM: &str = "write the part, then what is different: M2 plate.amps=0.6 plate.rpm=1300";
        let mut words = split_outside_quotes(typed).into_iter();
        let part = words.next().ok_or(FORM)?;
        if part.contains('=') {
            return Err(FORM.into());
        }
        let field = |word: String| {
            let (name, value) = word.split_once('=').ok_or_else(|| format!("{word} has no =; {FORM}"))?;
            Ok((name.to_owned(), value.replace('"', "")))
        };
        let fields: Vec<(String, String)> = words.map(field).collect::<Result<_, String>>()?;
        if fields.is_empty() {
            return Err(format!("nothing is different about {part}; {FORM}"));
        }
        Ok(Exchange { part, fields })
    }
}

fn split_outside_quotes(typed: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted) = (Vec::new(), String::new(), false);
    for c in typed.chars() {
        quoted ^= c == '"';
        if c.is_whitespace() && !quoted {
            words.extend((!word.is_empty()).then(|| std::mem::take(&mut word)));
        } else {
            word.push(c);
        }
    }
    words.extend((!word.is_empty()).then_some(word));
    words
}

/// Fields of a part as they are, and as they are with an exchange.
pub struct Exchanged {
    /// The job with the other part.
    pub job: Job,
    /// Kind of the part.
    pub kind: String,
    /// Fields of the part that is there.
    pub before: Vec<(String, String)>,
    /// Fields of the other part.
    pub after: Vec<(String, String)>,
}

/// The job with a part exchanged.
///
/// # Errors
/// [`RepairError::Exchange`] for a part, field or value that cannot be.
pub fn with_exchange(text: &str, exchange: &Exchange) -> Result<Exchanged, RepairError> {
    let what = format!("another {}", exchange.part);
    let refuse =
        |error: bench::job::edit::EditError| RepairError::Exchange { what: what.clone(), problem: error.to_string() };
    let bare = bare(text)?;
    let (kind, before) = part_fields(&bare, &exchange.part).map_err(refuse)?;
    let kind_asked = exchange.fields.iter().find(|(name, _)| name == "kind").map(|(_, kind)| kind.clone());
    let fields: Vec<(String, String)> = exchange.fields.iter().filter(|(name, _)| name != "kind").cloned().collect();
    let edit = Edit::SetPart { name: exchange.part.clone(), kind: kind_asked.unwrap_or(kind), fields };
    let text = apply(&bare, &edit).map_err(refuse)?;
    let (kind, after) = part_fields(&text, &exchange.part).map_err(refuse)?;
    Ok(Exchanged { job: read(&what, &text)?, kind, before, after })
}

/// Lets a motor that was put in drive what the one in its place drove, at the values of `from`; `carried` are those of `to`.
///
/// Law, torque, speed and inertia of the load stay; the bearings come with the motor. A part that drives nothing, or a
/// compressor that holds its own pump, brings along what it has.
///
/// # Errors
/// [`RepairError::Exchange`] if the exchange says what is driven: that is the machine's.
pub fn keep_load(
    from: &Unit,
    deviations: &[f64],
    to: &mut Unit,
    carried: &mut [f64],
    exchange: &Exchange,
) -> Result<(), RepairError> {
    let places = from.find_part(&exchange.part).zip(to.find_part(&exchange.part));
    let Some((old_part, new_part)) = places else { return Ok(()) };
    let (Some(old), Some(new)) = (from.driven(old_part), to.driven(new_part)) else { return Ok(()) };
    if exchange.fields.iter().any(|(name, _)| name == "load") {
        return Err(RepairError::Exchange {
            what: format!("another {}", exchange.part),
            problem: "load is what the machine drives, and another motor drives it on; leave load out".into(),
        });
    }
    let value = |place: usize| {
        let index = from.unknown_of(old_part, place);
        from.unknowns()[index].median * deviations.get(index).copied().unwrap_or(0.0).exp()
    };
    let torque = from.unknown_of(old_part, old.torque);
    to.keep_load(new_part, old, from.unknowns()[torque].median);
    carried[to.unknown_of(new_part, new.torque)] = deviations.get(torque).copied().unwrap_or(0.0);
    let inertia = to.unknown_of(new_part, new.inertia);
    carried[inertia] = (value(old.inertia) / to.unknowns()[inertia].median).ln();
    Ok(())
}

/// Deviations of one unit's values as those of another: values of the same part and meaning keep theirs, those of the part
/// `new` are at their medians.
pub fn carried_over(from: &Unit, deviations: &[f64], to: &Unit, new: Option<&str>) -> Vec<f64> {
    let name = |unit: &Unit, part: usize| unit.parts()[part].name.clone();
    let mut carried: Vec<f64> = to
        .unknowns()
        .iter()
        .map(|unknown| {
            let part = name(to, unknown.part);
            if Some(part.as_str()) == new {
                return 0.0;
            }
            let known =
                from.unknowns().iter().position(|old| old.words == unknown.words && name(from, old.part) == part);
            known.and_then(|known| deviations.get(known)).copied().unwrap_or(0.0)
        })
        .collect();
    // The stray capacitance stands behind all others.
    carried.push(deviations.get(from.unknowns().len()).copied().unwrap_or(0.0));
    carried.resize(unknown_count(to, &FaultSet::none()), 0.0);
    carried
}
