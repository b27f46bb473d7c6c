//! Slips of whoever measured, in words, with what tells them from a fault that reads alike.

use crate::blind_spots::SEEN;
use crate::fit::Fit;
use crate::reading_model::sigma;
use crate::slips::{Slip, Way};
use crate::suspects::{Diagnosis, Suspect};
use crate::words::{DOES_NOT_FIT, deviation, suspect_words};
use bench::{Measure, Prediction, TerminalId, observe, words};

/// Suspects below this probability are not named beside a slip.
const NAMED: f64 = 0.02;

/// A reading, not yet taken, that is another if a slip was made than if a suspect is right as everything is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Telling {
    /// Its setup, by index.
    pub setup: usize,
    /// What is read.
    pub measure: Measure,
    /// What it shows if the slip was made.
    pub with_slip: f64,
    /// What it shows if everything is as it is written.
    pub as_written: f64,
}

/// What a slip may be taken for: a suspect that the readings suit as they are written.
#[derive(Debug, Clone, Copy)]
pub struct Alike<'d> {
    /// The suspect.
    pub suspect: &'d Suspect,
    /// What would tell the two apart; `None` if nothing that is read elsewhere in the setups of the job would.
    pub telling: Option<Telling>,
}

/// The most probable suspect that readings suit as well as the slip does, as they are written.
pub fn alike<'d>(found: &'d Diagnosis<'_>, slip: &Slip) -> Option<Alike<'d>> {
    let suspect = found.suspects.iter().find(|suspect| {
        let is_as_written = suspect.as_meant.is_none() && suspect.probability >= NAMED;
        is_as_written && suspect.fit.as_ref().is_some_and(|fit| slip.touched.iter().all(|&at| fits(found, fit, at)))
    })?;
    let place = found.slips.iter().position(|other| other.ways == slip.ways)?;
    let is_with_slip = |other: &&Suspect| {
        other.as_meant.is_some() && other.slips.iter().any(|&(own, share)| own == place && share > 0.5)
    };
    let with_slip = found.suspects.iter().find(is_with_slip);
    let fits = with_slip.and_then(|other| other.fit.as_ref()).zip(suspect.fit.as_ref());
    Some(Alike {
        suspect,
        telling: fits.and_then(|(with_slip, as_written)| telling(found, slip, with_slip, as_written)),
    })
}

fn fits(found: &Diagnosis<'_>, fit: &Fit, reading: usize) -> bool {
    found.evidence.data[reading].log_likelihood(fit.outlook.predictions[reading].value, 0.0).sound > 0.5
}

/// The reading by which two fits differ most: ohms between the far ends of the wires of the part that is touched, for names
/// that may be taken for each other are no place to read at; if none tells, speeds, and then volts between the same ends.
fn telling(found: &Diagnosis<'_>, slip: &Slip, with_slip: &Fit, as_written: &Fit) -> Option<Telling> {
    let job = found.evidence.job;
    let unit = &job.unit;
    let part = slip.touched.iter().find_map(|&reading| match found.evidence.taken[reading].measure {
        Measure::Ohms(a, _) | Measure::Volts(a, _) | Measure::AmpsAtTerminal(a) => Some(unit.part_of(a)),
        _ => None,
    });
    let is_own = |terminal: TerminalId| Some(unit.part_of(terminal)) == part;
    let far_end = |wire: &bench::Wire| match (is_own(wire.from), is_own(wire.to)) {
        (true, false) => Some(wire.to),
        (false, true) => Some(wire.from),
        _ => None,
    };
    let far_ends: Vec<TerminalId> = unit.wires().iter().filter_map(far_end).collect();
    let between = |measure: fn(TerminalId, TerminalId) -> Measure| -> Vec<Measure> {
        let after = |place: usize| far_ends[place + 1..].iter().copied();
        far_ends.iter().enumerate().flat_map(|(place, &a)| after(place).map(move |b| measure(a, b))).collect()
    };
    let speeds: Vec<Measure> = (0..unit.parts().len()).filter(|&part| unit.is_motor(part)).map(Measure::Rpm).collect();
    let most = |measures: &[Measure], energised: bool| {
        let setups = (0..job.setups.len()).filter(|&setup| job.setups[setup].energised == energised);
        setups
            .flat_map(|setup| differences(found, setup, measures, with_slip, as_written))
            .filter(|(_, deviations)| *deviations >= SEEN.sqrt())
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(telling, _)| telling)
    };
    most(&between(Measure::Ohms), false)
        .or_else(|| most(&speeds, true))
        .or_else(|| most(&between(Measure::Volts), true))
}

/// What readings that were not taken yet show by two fits in a setup, and by how many standard deviations they differ.
fn differences(
    found: &Diagnosis<'_>,
    setup: usize,
    measures: &[Measure],
    with_slip: &Fit,
    as_written: &Fit,
) -> Vec<(Telling, f64)> {
    let evidence = &found.evidence;
    let job = evidence.job;
    let ask = |fit: &Fit| -> Vec<Option<Prediction>> {
        let all = observe(&job.unit, &job.setups[setup], &fit.faults, &fit.deviations, |observed| {
            measures.iter().map(|&measure| observed.measure(measure, job.meter_for(measure)).ok()).collect()
        });
        all.unwrap_or_else(|_| vec![None; measures.len()])
    };
    let is_taken = |measure: Measure| {
        evidence.taken.iter().any(|taken| taken.setup == setup && taken.measure.is_of_one_place(measure))
    };
    let spread = |fit: &Fit, prediction: &Prediction| {
        fit.spread(&evidence.prior.with_severities(&job.unit, &fit.faults), &prediction.gradient)
    };
    let both = measures.iter().zip(ask(with_slip).into_iter().zip(ask(as_written)));
    both.filter(|(measure, _)| !is_taken(**measure))
        .filter_map(|(&measure, (with, without))| {
            let (with, without) = (with?, without?);
            if !(with.value.is_finite() && without.value.is_finite()) {
                return None;
            }
            let own = sigma(measure, job.meter_for(measure), with.value.max(without.value));
            let spread = own.hypot(spread(with_slip, &with)).hypot(spread(as_written, &without));
            let telling = Telling { setup, measure, with_slip: with.value, as_written: without.value };
            Some((telling, (with.value - without.value).abs() / spread))
        })
        .collect()
}

/// A slip in words.
pub fn slip_words(found: &Diagnosis<'_>, slip: &Slip) -> String {
    let ways: Vec<String> = slip.ways.iter().map(|(way, _)| way_words(found, *way)).collect();
    let lines: Vec<usize> = slip.touched.iter().map(|&reading| found.evidence.taken[reading].line).collect();
    let are_names = slip.ways.iter().any(|(way, _)| matches!(way, Way::Names { .. }));
    let mut text = format!(
        "{}: {} would then fit ({}). {}ake these once more before anything is repaired",
        words::sentence(&ways.join(", or ")).trim_end_matches('.'),
        lines_words(&lines),
        words::percent(slip.probability),
        if are_names { "Look at the colours of the leads, and t" } else { "T" }
    );
    let Some(alike) = alike(found, slip) else { return text };
    text.push_str(&format!(
        ". As it is written it reads like {} ({})",
        suspect_words(found, alike.suspect),
        words::percent(alike.suspect.probability)
    ));
    text.push_str(&match alike.telling {
        Some(telling) => format!(
            "; what tells: {} {} in setup {}{}, about {} with the slip and about {} without it",
            noun(telling.measure),
            words::place(&found.evidence.job.unit, telling.measure),
            found.evidence.job.setups[telling.setup].name,
            if found.evidence.job.setups[telling.setup].energised {
                " (the supply is on: heed its cautions)"
            } else {
                ""
            },
            words::quantity(telling.measure, telling.with_slip),
            words::quantity(telling.measure, telling.as_written)
        ),
        None => "; nothing that is read elsewhere in the setups of this job would tell these apart".to_owned(),
    });
    text
}

/// What is read, as a noun.
fn noun(measure: Measure) -> &'static str {
    match measure {
        Measure::Rpm(_) => "the speed",
        Measure::Ohms(..) => "the ohms",
        _ => "the volts",
    }
}

fn way_words(found: &Diagnosis<'_>, way: Way) -> String {
    let unit = &found.evidence.job.unit;
    match way {
        Way::Names { a, b, only_ohms } => format!(
            "the names {} and {} of {} may have been taken for each other{}",
            unit.terminal_of(a),
            unit.terminal_of(b),
            unit.parts()[unit.part_of(a)].name,
            if only_ohms { " in the ohms" } else { "" }
        ),
        Way::Lines(first, second) => {
            let line = |reading: usize| found.evidence.taken[reading].line;
            format!("the figures of lines {} and {} may stand in each other's line", line(first), line(second))
        }
    }
}

fn lines_words(lines: &[usize]) -> String {
    let all: Vec<String> = lines.iter().map(usize::to_string).collect();
    match &all[..] {
        [one] => format!("line {one}"),
        [most @ .., last] => format!("lines {} and {last}", most.join(", ")),
        [] => String::new(),
    }
}

/// A word for how a suspect's prediction suits a reading, as [`deviation`] has it; with the slip that has most of the suspect
/// where it suits as the reading was meant alone.
pub fn fit_word(found: &Diagnosis<'_>, suspect: &Suspect, reading: usize) -> &'static str {
    let datum = &found.evidence.data[reading];
    let word = |predicted: f64| deviation(datum, predicted).1;
    let written = suspect.fit.as_ref().map_or("", |fit| word(fit.outlook.predictions[reading].value));
    let meant = suspect.as_meant.as_ref().map_or(written, |meant| word(meant[reading]));
    if written == DOES_NOT_FIT && meant != DOES_NOT_FIT { "fits with the slip" } else { written }
}

/// All slips worth a word, a line each.
pub fn slip_lines(found: &Diagnosis<'_>) -> Vec<String> {
    found.likely_slips().into_iter().map(|slip| format!("{}.", slip_words(found, slip))).collect()
}
