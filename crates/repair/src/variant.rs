//! A job's unit with parts exchanged, made from the text of its job.
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

/// One part of a substitute as asked for: a part, and the fields in which the other one differs, as they are typed in a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exchange {
    /// Name of the part.
    pub part: String,
    /// Fields and values: `plate.amps`, `0.6`; an empty value takes a field away.
    pub fields: Vec<(String, String)>,
}

const FORM: &str = "write the part, then what is different: M2 plate.amps=0.6 plate.rpm=1300";
/// What stands between parts that are exchanged together.
const AND: &str = "and";

impl Exchange {
    fn of_words(words: &[String]) -> Result<Self, String> {
        let (part, fields) = words.split_first().ok_or(FORM)?;
        if part.contains('=') {
            return Err(FORM.into());
        }
        let field = |word: &String| {
            let (name, value) = word.split_once('=').ok_or_else(|| format!("{word} has no =; {FORM}"))?;
            Ok((name.to_owned(), value.replace('"', "")))
        };
        let fields: Vec<(String, String)> = fields.iter().map(field).collect::<Result<_, String>>()?;
        if fields.is_empty() {
            return Err(format!("nothing is different about {part}; {FORM}"));
        }
        Ok(Exchange { part: part.clone(), fields })
    }
}

impl std::str::FromStr for Exchange {
    type Err = String;

    /// `M2 plate.amps=0.6 plate.rpm=1300`; a value with blanks stands in quotes.
    fn from_str(typed: &str) -> Result<Self, String> {
        Exchange::of_words(&split_outside_quotes(typed))
    }
}

/// Other parts that are put in together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Substitution(pub Vec<Exchange>);

impl std::str::FromStr for Substitution {
    type Err = String;

    /// As an [`Exchange`]; several are joined by `and`: `M1 plate.amps=0.6 and C1 microfarads=4`.
    fn from_str(typed: &str) -> Result<Self, String> {
        let words = split_outside_quotes(typed);
        let exchanges = words.split(|word| word == AND).map(Exchange::of_words);
        let exchanges: Vec<Exchange> = exchanges.collect::<Result<_, String>>()?;
        let twice = |at: usize| exchanges[..at].iter().any(|other| other.part == exchanges[at].part);
        match (0..exchanges.len()).find(|&at| twice(at)) {
            Some(at) => Err(format!("{} stands there twice; write everything about it once", exchanges[at].part)),
            None => Ok(Substitution(exchanges)),
        }
    }
}

impl Substitution {
    /// In words: 'another M1: plate.amps 0.6; another C1: microfarads 4'.
    pub fn words(&self) -> String {
        let fields = |exchange: &Exchange| {
            let fields: Vec<String> = exchange.fields.iter().map(|(name, value)| format!("{name} {value}")).collect();
            format!("another {} in: {}", exchange.part, fields.join(", "))
        };
        let all: Vec<String> = self.0.iter().map(fields).collect();
        format!("put {}", all.join("; and "))
    }

    /// Names of the parts.
    pub fn parts(&self) -> Vec<&str> {
        self.0.iter().map(|exchange| exchange.part.as_str()).collect()
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

/// A job with other parts in it.
pub struct Exchanged {
    /// The job.
    pub job: Job,
    /// The parts that were exchanged.
    pub parts: Vec<ExchangedPart>,
}

/// Fields of a part as they are, and as they are with an exchange.
pub struct ExchangedPart {
    /// Its name.
    pub name: String,
    /// Kind of the part that is there, and of the other one.
    pub kinds: [String; 2],
    /// Fields of the part that is there.
    pub before: Vec<(String, String)>,
    /// Fields of the other part.
    pub after: Vec<(String, String)>,
}

/// The job with other parts in it.
///
/// # Errors
/// [`RepairError::Exchange`] for a part, field or value that cannot be.
pub fn with_exchanges(text: &str, substitution: &Substitution) -> Result<Exchanged, RepairError> {
    let (mut text, mut parts) = (bare(text)?, Vec::new());
    for exchange in &substitution.0 {
        let (changed, part) = exchanged(&text, exchange)?;
        text = changed;
        parts.push(part);
    }
    let what = format!("another {}", substitution.parts().join(" and another "));
    let job = read(&what, &text).map_err(|error| {
        match (error, parts.iter().find(|part| part.kinds[0] != part.kinds[1])) {
            (RepairError::Exchange { what, problem }, Some(ExchangedPart { name, kinds: [old, new], .. })) => {
                let problem = format!(
                    "its wires may not fit: {name} is a {old}, and a {new} has other terminals ({problem}). \
                 Wire it in a copy of the job to see what it would do"
                );
                RepairError::Exchange { what, problem }
            }
            (error, _) => error,
        }
    })?;
    Ok(Exchanged { job, parts })
}

/// The text of a job with one part exchanged.
fn exchanged(text: &str, exchange: &Exchange) -> Result<(String, ExchangedPart), RepairError> {
    let what = format!("another {}", exchange.part);
    let refuse =
        |error: bench::job::edit::EditError| RepairError::Exchange { what: what.clone(), problem: error.to_string() };
    let (old, before) = part_fields(text, &exchange.part).map_err(refuse)?;
    let kind_asked = exchange.fields.iter().find(|(name, _)| name == "kind").map(|(_, kind)| kind.clone());
    let kind = kind_asked.unwrap_or_else(|| old.clone());
    let fields: Vec<(String, String)> = exchange.fields.iter().filter(|(name, _)| name != "kind").cloned().collect();
    let edit = Edit::SetPart { name: exchange.part.clone(), kind, fields };
    let text = apply(text, &edit).map_err(refuse)?;
    let (new, after) = part_fields(&text, &exchange.part).map_err(refuse)?;
    Ok((text, ExchangedPart { name: exchange.part.clone(), kinds: [old, new], before, after }))
}

/// Values of a unit that those of another have become.
pub struct Carried {
    /// The values, and that of the stray capacitance.
    pub deviations: Vec<f64>,
    /// Which value of the other unit each is; none of parts that are new.
    pub origins: Vec<Option<usize>>,
}

/// Deviations of one unit's values as those of another: values of the same part and meaning keep theirs, those of the parts
/// `new` are at their medians.
pub fn carried_over(from: &Unit, deviations: &[f64], to: &Unit, new: &[&str]) -> Carried {
    let name = |unit: &Unit, part: usize| unit.parts()[part].name.clone();
    let origin = |unknown: &bench::Unknown| {
        let part = name(to, unknown.part);
        let is_it = |old: &bench::Unknown| old.words == unknown.words && name(from, old.part) == part;
        if new.contains(&part.as_str()) { None } else { from.unknowns().iter().position(is_it) }
    };
    let mut origins: Vec<Option<usize>> = to.unknowns().iter().map(origin).collect();
    // The stray capacitance stands behind all others.
    origins.push(Some(from.unknowns().len()));
    let value = |origin: &Option<usize>| origin.and_then(|origin| deviations.get(origin)).copied().unwrap_or(0.0);
    let mut values: Vec<f64> = origins.iter().map(value).collect();
    values.resize(unknown_count(to, &FaultSet::none()), 0.0);
    Carried { deviations: values, origins }
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
    carried: &mut Carried,
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
    let value = |place: usize| deviations.get(place).copied().unwrap_or(0.0);
    let torque = from.unknown_of(old_part, old.torque);
    to.keep_load(new_part, old, from.unknowns()[torque].median);
    let new_torque = to.unknown_of(new_part, new.torque);
    carried.deviations[new_torque] = value(torque);
    carried.origins[new_torque] = Some(torque);
    let [old_inertia, new_inertia] = [from.unknown_of(old_part, old.inertia), to.unknown_of(new_part, new.inertia)];
    let times = from.unknowns()[old_inertia].median / to.unknowns()[new_inertia].median;
    carried.deviations[new_inertia] = value(old_inertia) + times.ln();
    carried.origins[new_inertia] = Some(old_inertia);
    Ok(())
}
