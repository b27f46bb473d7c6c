//! Which unmarked lead is which, as text.

use crate::commands::leads::unsolvable;
use crate::exit::Failure;
use crate::page::Page;
use bench::cautions::STANDING;
use bench::{Value, words};
use leads::answer::Assignment;
use leads::apart::apart;
use leads::arrangement::Break;
use leads::forms::{Form, SectionOhms, forms};
use leads::next::{NextPair, Outcome};
use leads::slips::{Doubt, Slip};
use leads::{Case, Finding};
use std::io::Write;

/// Before any lead is touched.
pub const BEFORE: [&str; 3] = [
    "Unplug, lock or tag the plug, take every lead off what it was joined to, and prove it dead on a meter that you have just \
     tried on a live point.",
    "Discharge the capacitor through a resistor and take it off its leads before measuring ohms.",
    "Measure cold and at rest: a shaft that turns makes volts that spoil the reading.",
];
/// Before power comes on.
pub const AFTER: &str = "What is said here is a finding from ohms. Prove it before power is applied: a wrong connection burns \
     a winding within seconds. First power through a fuse of the plate's amps, unloaded, a clamp on each lead, hand on the switch.";
/// Answers below this are added up, not listed.
const LISTED: f64 = 0.01;
/// Answers listed at most.
const MOST_ANSWERS: usize = 5;
/// Arrangements below this share of their answer are not shown.
const FORM_SHARE: f64 = 0.02;

/// The finding, what is next, what is doubtful.
pub fn show<W: Write>(
    page: &mut Page<W>,
    found: &Finding,
    pairs: &[NextPair],
    doubts: &[Doubt],
) -> Result<(), Failure> {
    let case = &found.case;
    page.heading(&case.name)?;
    if let Some(note) = &case.note {
        page.text(2, note)?;
    }
    BEFORE.iter().try_for_each(|caution| page.item(2, "!", caution))?;
    page.heading("Readings")?;
    show_readings(page, found, doubts)?;
    page.heading("Which lead is what")?;
    show_answers(page, found)?;
    page.heading("Next pair")?;
    show_next(page, found, pairs)?;
    page.gap()?;
    page.item(2, "!", AFTER)?;
    Ok(page.text(2, STANDING)?)
}

fn pair_words(case: &Case, (a, b): (usize, usize)) -> String {
    format!("{} to {}", case.leads[a], case.leads[b])
}

fn show_readings<W: Write>(page: &mut Page<W>, found: &Finding, doubts: &[Doubt]) -> Result<(), Failure> {
    let case = &found.case;
    let rows: Vec<Vec<String>> = case
        .readings
        .iter()
        .zip(&found.wrong)
        .map(|(reading, &wrong)| {
            let shown = match reading.value {
                Value::Open => "open".to_owned(),
                Value::Number(value) => format!("{value} ohm"),
            };
            let line = if reading.line > 0 { format!("line {}", reading.line) } else { String::new() };
            vec![pair_words(case, reading.between), shown, line, format!("{} wrong", words::percent(wrong))]
        })
        .collect();
    page.table(2, "<><>", &rows)?;
    for doubt in doubts {
        page.item(2, "?", &doubt_words(found, doubt))?;
    }
    Ok(())
}

/// A doubtful reading in words.
pub fn doubt_words(found: &Finding, doubt: &Doubt) -> String {
    let case = &found.case;
    let slips: Vec<String> = doubt
        .slips
        .iter()
        .map(|&(slip, share)| format!("{} ({})", slip_words(case, slip), words::percent(share * doubt.probability)))
        .collect();
    format!(
        "{} is doubtful ({}): {} would fit. {}. Take it again.",
        pair_words(case, case.readings[doubt.reading].between),
        words::percent(doubt.probability),
        words::ohms(doubt.expected),
        slips.join("; ")
    )
}

/// A slip in words.
pub fn slip_words(case: &Case, slip: Slip) -> String {
    match slip {
        Slip::Decimal(_) => "the decimal point or the range".into(),
        Slip::OtherPair(pair) => format!("it was {}", pair_words(case, pair)),
        Slip::Exchanged(other) => format!("exchanged with {}", pair_words(case, case.readings[other].between)),
        Slip::NoContact => "probes without contact".into(),
        Slip::Other => "something else".into(),
    }
}

/// An answer in words: "common red; start blue".
pub fn assignment_words(case: &Case, assignment: &Assignment) -> String {
    let station = |station: &leads::answer::Station| {
        let names: Vec<String> = station
            .leads
            .iter()
            .map(
                |&(part, lead)| {
                    if part.is_empty() { case.leads[lead].clone() } else { format!("{} ({part})", case.leads[lead]) }
                },
            )
            .collect();
        format!("{} {}", station.role, names.join(" and "))
    };
    assignment.0.iter().map(station).collect::<Vec<_>>().join("; ")
}

fn show_answers<W: Write>(page: &mut Page<W>, found: &Finding) -> Result<(), Failure> {
    let listed =
        found.answers.iter().take(MOST_ANSWERS).take_while(|answer| answer.probability >= LISTED).count().max(1);
    for (index, answer) in found.answers.iter().enumerate().take(listed) {
        let words =
            format!("{}: {}", words::percent(answer.probability), assignment_words(&found.case, &answer.assignment));
        page.strong(2, &format!("{}.", index + 1), &words)?;
        let forms = forms(found, index, FORM_SHARE);
        let mut said: Vec<&str> = Vec::new();
        for (rank, form) in forms.iter().enumerate() {
            let arrangement = &found.arrangements[form.arrangement];
            let words = format!("{}: {}", arrangement.motor.words(), form_words(found, form));
            page.item(5, "-", &format!("{} {words}", words::percent(form.probability)))?;
            // The ohms of kinds of motor that are joined alike are alike.
            let is_shown = forms[..rank].iter().any(|other| {
                found.arrangements[other.arrangement].words == arrangement.words && other.open == form.open
            });
            if index < 2 && !is_shown {
                page.table(7, "<<>>", &section_rows(&found.case, &form.sections))?;
            }
            said.extend(
                arrangement.cannot_tell.iter().filter(|words| !said.contains(words)).copied().collect::<Vec<_>>(),
            );
        }
        if index == 0 {
            said.iter().try_for_each(|words| page.item(5, "=", &words::sentence(words)))?;
        }
    }
    let rest: f64 = found.answers.iter().skip(listed).map(|answer| answer.probability).sum();
    if rest >= 0.001 {
        let share = words::percent(rest);
        let line = match found.answers.len() - listed {
            1 => format!("One further answer has {share}."),
            more => format!("{more} further answers share {share}."),
        };
        page.text(2, &line)?;
    }
    if found.none_of_these >= 0.001 {
        page.text(2, &format!("None of the arrangements looked for: {}.", words::percent(found.none_of_these)))?;
    }
    if listed > 1 {
        page.text(2, &apart_words(found, 0, 1)?)?;
    }
    Ok(())
}

/// What tells two answers apart, in words.
pub fn apart_words(found: &Finding, first: usize, second: usize) -> Result<String, Failure> {
    Ok(match apart(found, first, second).map_err(unsolvable)? {
        Some(apart) => format!(
            "To tell answers {} and {} apart: {} should show {} or {}.",
            first + 1,
            second + 1,
            pair_words(&found.case, apart.between),
            words::ohms(apart.first),
            words::ohms(apart.second)
        ),
        None => format!(
            "No reading of ohms tells answers {} and {} apart; the plate, the connection diagram, or the motor itself on a \
             reduced voltage has to.",
            first + 1,
            second + 1
        ),
    })
}

/// An arrangement in words, with what is open in it.
pub fn form_words(found: &Finding, form: &Form) -> String {
    let arrangement = &found.arrangements[form.arrangement];
    match form.open {
        Break::None => arrangement.words.clone(),
        Break::Section(section) => format!("{}; {} open", arrangement.words, arrangement.sections[section].name),
        Break::Lead(terminal) => {
            let lead = &found.case.leads[form.lead_at[terminal]];
            let overload = arrangement.motor == leads::Motor::Compressor && terminal == 0;
            let what =
                if overload { "its overload is open (let it cool), or it is broken" } else { "it is broken inside" };
            format!("{}; {lead} goes nowhere: {what}", arrangement.words)
        }
    }
}

fn section_rows(case: &Case, sections: &[SectionOhms]) -> Vec<Vec<String>> {
    let lead = |lead: Option<usize>| lead.map_or("inside", |lead| case.leads[lead].as_str());
    sections
        .iter()
        .map(|section| {
            let (ohms, range) = if section.open {
                ("open".to_owned(), String::new())
            } else {
                let range = format!("{} to {}", words::number(section.low), words::ohms(section.high));
                (words::ohms(section.ohms), if section.measured { range } else { format!("{range}, not measured") })
            };
            vec![section.name.clone(), format!("{} to {}", lead(section.from), lead(section.to)), ohms, range]
        })
        .collect()
}

fn show_next<W: Write>(page: &mut Page<W>, found: &Finding, pairs: &[NextPair]) -> Result<(), Failure> {
    let Some(best) = pairs.first().filter(|pair| pair.bits >= LEAST_BITS) else {
        return Ok(page.text(2, "No further pair would tell much: what is left open, ohms cannot settle.")?);
    };
    let again = if best.again { ", once more" } else { "" };
    page.strong(
        2,
        "1.",
        &format!("{}{again}: tells {} bits", pair_words(&found.case, best.between), words::number(best.bits)),
    )?;
    for outcome in best.outcomes.iter().take(4).filter(|outcome| outcome.probability >= 0.005) {
        page.item(5, ">", &outcome_words(found, outcome))?;
    }
    let others: Vec<String> = pairs[1..]
        .iter()
        .take(2)
        .filter(|pair| pair.bits >= LEAST_BITS)
        .map(|pair| format!("{} ({} bits)", pair_words(&found.case, pair.between), words::number(pair.bits)))
        .collect();
    if !others.is_empty() {
        page.text(2, &format!("Then {}.", others.join(", ")))?;
    }
    Ok(())
}

/// Pairs that tell less are not worth a reading.
pub const LEAST_BITS: f64 = 0.01;

/// What may be shown and what it would mean, in words.
pub fn outcome_words(found: &Finding, outcome: &Outcome) -> String {
    let shown = match outcome.ohms {
        None => "open".to_owned(),
        Some((low, high)) => format!("{} to {}", words::number(low), words::ohms(high)),
    };
    format!(
        "if {shown} ({} likely): {} ({})",
        words::percent(outcome.probability),
        assignment_words(&found.case, &found.answers[outcome.leader.0].assignment),
        words::percent(outcome.leader.1)
    )
}
