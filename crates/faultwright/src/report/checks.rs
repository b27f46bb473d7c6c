//! The next checks as text: where, how, at what risk, and what each outcome would mean.

use super::verdict;
use crate::page::Page;
use bench::cautions::STANDING;
use bench::words;
use diagnosis::checks::Check;
use diagnosis::next::words::{standing_words, why_first};
use diagnosis::words as findings;
use diagnosis::{CheckPlan, Diagnosis};
use std::io::{self, Write};

/// The plan; cautions with every check.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, plan: &CheckPlan) -> io::Result<()> {
    verdict::show(page, found, Some(plan))?;
    page.heading("Next check")?;
    if let Some(line) = standing_words(plan) {
        page.text(2, line)?;
    }
    for (rank, check) in plan.checks.iter().enumerate() {
        show_check(page, found, rank + 1, check)?;
    }
    if let Some(line) = why_first(found, plan) {
        page.text(2, &line)?;
    }
    for line in findings::refusal_lines(found, plan) {
        page.text(2, &line)?;
    }
    for line in findings::inseparable_lines(found, plan) {
        page.text(2, &line)?;
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn show_check<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, rank: usize, check: &Check) -> io::Result<()> {
    let unit = &found.evidence.job.unit;
    page.strong(2, &format!("{rank}."), &findings::action_words(found, check))?;
    page.text(5, &format!("setup {}: {}", check.setup.name, words::setup_words(unit, &check.setup)))?;
    page.text(
        5,
        &format!(
            "tells {} bits, {}, {}",
            words::number(check.bits),
            findings::cost_words(found.evidence.job, check),
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
        let shown = findings::shown_words(check, &outcome.shown);
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
                format!("{} {}", findings::suspect_words(found, &found.suspects[suspect]), words::percent(probability))
            })
            .collect();
        page.text(9, &format!("leaves {}", left.join("; ")))?;
    }
    Ok(())
}
