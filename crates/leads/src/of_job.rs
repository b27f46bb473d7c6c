//! A case from a job: the ohms read between the terminals of one of its motors, with its wires off.

use crate::case::{Case, LeadReading, OhmMeter};
use crate::fit::REFERENCE_CELSIUS;
use crate::known::{Known, Motor};
use bench::{Job, Measure, Setup, TerminalId};

/// Why a job makes no case.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OfJobError {
    /// There is no such part.
    #[error("no part '{part}'; the job has {parts}")]
    NoPart {
        /// As named.
        part: String,
        /// The parts there are.
        parts: String,
    },
    /// The part is no motor whose leads are looked at.
    #[error("{part} is a {kind}; leads are looked at of {kinds}")]
    NoMotor {
        /// The part.
        part: String,
        /// Its kind.
        kind: String,
        /// Kinds that are looked at.
        kinds: String,
    },
    /// No reading can be used.
    #[error(
        "no ohms between terminals of {part} with its wires off; take the wires off ({lifted}), measure {first} to \
         {second} and write it down in such a setup"
    )]
    NoReadings {
        /// The part.
        part: String,
        /// What the setup needs.
        lifted: String,
        /// A terminal.
        first: String,
        /// Another.
        second: String,
    },
}

const KINDS: [(&str, Motor); 5] = [
    ("capacitor-run-motor", Motor::CapacitorRun),
    ("reversible-motor", Motor::CapacitorRun),
    ("split-phase-motor", Motor::SplitPhase),
    ("compressor", Motor::Compressor),
    ("three-phase-motor", Motor::ThreePhase),
];

/// Makes a case of a part; the names that the job gives its terminals are taken as tags that say nothing.
///
/// # Errors
/// [`OfJobError`] if the part is none of those looked at, or nothing was read of it while it was isolated.
pub fn of_job(job: &Job, part: &str) -> Result<Case, OfJobError> {
    let unit = &job.unit;
    let Some(index) = unit.find_part(part) else {
        let parts: Vec<&str> = unit.parts().iter().map(|part| part.name.as_str()).collect();
        return Err(OfJobError::NoPart { part: part.into(), parts: parts.join(", ") });
    };
    let kind = unit.parts()[index].kind.name();
    let Some(&(_, motor)) = KINDS.iter().find(|&&(name, _)| name == kind) else {
        let kinds = KINDS.map(|(name, _)| name).join(", ");
        return Err(OfJobError::NoMotor { part: part.into(), kind: kind.into(), kinds });
    };
    let terminals: Vec<TerminalId> = unit.terminals_of(index).map(TerminalId).collect();
    let names: Vec<String> = terminals.iter().map(|&terminal| unit.terminal_name(terminal)).collect();
    let place = |terminal: TerminalId| terminals.iter().position(|&other| other == terminal);
    let mut readings = Vec::new();
    for reading in &job.readings {
        let setup = &job.setups[reading.setup];
        let Measure::Ohms(a, b) = reading.measure else { continue };
        let (Some(a), Some(b)) = (place(a), place(b)) else { continue };
        if a != b && is_isolated(job, setup, &terminals) {
            readings.push(LeadReading {
                between: (a, b),
                value: reading.value,
                meter: OhmMeter::of(&job.meters[reading.meter]),
                winding_celsius: setup.winding_celsius,
                line: reading.line,
            });
        }
    }
    let Some(first) = readings.first() else {
        let wired: Vec<String> = wired(job, &terminals)
            .into_iter()
            .map(|terminal| format!("\"{}\"", unit.terminal_name(terminal)))
            .collect();
        return Err(OfJobError::NoReadings {
            part: part.into(),
            lifted: format!("lifted = [{}]", wired.join(", ")),
            first: names.first().cloned().unwrap_or_default(),
            second: names.get(1).cloned().unwrap_or_default(),
        });
    };
    let is_reversible = kind == "reversible-motor";
    let capacitor_run = motor == Motor::CapacitorRun;
    Ok(Case {
        name: format!("{} of {}", part, unit.name),
        note: unit.note.clone(),
        known: Known {
            motor: Some(motor),
            speeds: (capacitor_run && !is_reversible).then(|| names.len().saturating_sub(2)),
            reversible: capacitor_run.then_some(is_reversible),
            connection: None,
        },
        winding_celsius: if readings.iter().all(|reading| reading.winding_celsius == first.winding_celsius) {
            first.winding_celsius
        } else {
            REFERENCE_CELSIUS
        },
        leads: names,
        readings,
    })
}

/// Terminals with wires.
fn wired(job: &Job, terminals: &[TerminalId]) -> Vec<TerminalId> {
    let has_wire =
        |&terminal: &TerminalId| job.unit.wires().iter().any(|wire| wire.from == terminal || wire.to == terminal);
    terminals.iter().copied().filter(has_wire).collect()
}

/// Whether nothing joins two terminals of the part from outside: all wires but those of one terminal are off, no jumper.
fn is_isolated(job: &Job, setup: &Setup, terminals: &[TerminalId]) -> bool {
    let on = wired(job, terminals).into_iter().filter(|terminal| !setup.lifted.contains(terminal)).count();
    let jumped = setup.jumpers.iter().any(|(a, b)| terminals.contains(a) || terminals.contains(b));
    !setup.energised && on <= 1 && !jumped
}
