//! The next checks as text: where, how, at what risk, and what each outcome would mean.

use super::{job, ranking, words};
use crate::page::Page;
use bench::cautions::STANDING;
use bench::{Measure, Unit};
use diagnosis::Diagnosis;
use diagnosis::checks::{Action, Check, CheckPlan, Shown};
use std::io::{self, Write};

/// What is to be done, in words.
pub fn action_words(found: &Diagnosis<'_>, check: &Check) -> String {
    let unit = &found.evidence.job.unit;
    match check.action {
        Action::Read(measure) => reading_words(unit, measure),
        Action::Push(part) => format!("give {} a push and see whether it runs", unit.parts()[part].name),
        Action::Wait(part) => format!("leave it running under watch and see whether {} trips", unit.parts()[part].name),
        Action::Swap(a, b, measure) => {
            let (first, second) = (&unit.parts()[a].name, &unit.parts()[b].name);
            format!("exchange {first} and {second}, then {}", reading_words(unit, measure))
        }
    }
}

fn reading_words(unit: &Unit, measure: Measure) -> String {
    let what = match measure.unit() {
        "ohm" => "ohms",
        "V" => "volts",
        "A" => "amps",
        "W" => "watts",
        _ => "the speed",
    };
    format!("measure {what} {}", words::place(unit, measure))
}

/// What a check may show, in words.
pub fn shown_words(check: &Check, shown: &Shown) -> String {
    match (shown, check.action) {
        (Shown::Open, _) => "open".into(),
        (Shown::Answer(yes), Action::Wait(_)) => if *yes { "it trips" } else { "it does not trip" }.into(),
        (Shown::Answer(yes), _) => if *yes { "it runs" } else { "it does not run" }.into(),
        (Shown::Number { middle, low, high }, Action::Read(measure) | Action::Swap(_, _, measure)) => {
            let text = words::quantity(measure, *middle);
            format!("about {text} ({} to {})", words::number(*low), words::number(*high))
        }
        (Shown::Number { middle, .. }, _) => words::number(*middle),
    }
}

/// The plan; cautions with every check.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, plan: &CheckPlan) -> io::Result<()> {
    page.heading("Next check")?;
    match (&plan.settled, plan.checks.is_empty()) {
        (Some(repair), false) => {
            page.text(2, &format!("Finding is done: {repair}. What follows would only confirm it."))?
        }
        (Some(repair), true) => {
            page.text(2, &format!("Finding is done: {repair}. No further check would tell more; prove the repair."))?;
        }
        (None, true) => page.text(2, "No check on this list would tell the remaining suspects apart.")?,
        (None, false) => {}
    }
    for (rank, check) in plan.checks.iter().enumerate() {
        show_check(page, found, rank + 1, check)?;
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn show_check<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, rank: usize, check: &Check) -> io::Result<()> {
    let unit = &found.evidence.job.unit;
    page.strong(2, &format!("{rank}."), &action_words(found, check))?;
    page.text(5, &format!("setup {}: {}", check.setup.name, job::setup_words(unit, &check.setup)))?;
    page.text(
        5,
        &format!(
            "tells {} bits, about {} minutes, {}",
            words::number(check.bits),
            words::number(check.minutes),
            check.hazard.words()
        ),
    )?;
    for caution in &check.cautions {
        page.item(5, "!", caution)?;
    }
    for outcome in &check.outcomes {
        if outcome.probability < 0.005 {
            continue;
        }
        let shown = shown_words(check, &outcome.shown);
        let text = format!(
            "if {shown} ({} likely): {} ({})",
            words::percent(outcome.probability),
            outcome.repair.0,
            words::percent(outcome.repair.1)
        );
        page.item(5, ">", &text)?;
        let left: Vec<String> = outcome
            .leaves
            .iter()
            .take(3)
            .map(|&(suspect, probability)| {
                format!("{} {}", ranking::suspect_words(found, &found.suspects[suspect]), words::percent(probability))
            })
            .collect();
        page.text(9, &format!("leaves {}", left.join("; ")))?;
    }
    Ok(())
}
