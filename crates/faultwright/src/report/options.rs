//! Repairs and strains as text.

use crate::page::Page;
use ::record::strains::{life_words, strain_words};
use bench::winding_class::classes_words;
use bench::words;
use diagnosis::recurrence::behind;
use diagnosis::words::condition_words;
use diagnosis::{Diagnosis, Suspect};
use proof::insulation::HALVING_KELVINS;
use repair::course::HEADINGS;
use repair::hook_ups::WrongHookUp;
use repair::loads::place_words;
use repair::options::{ROOM_CELSIUS, RepairOption};
use repair::stress::{Exposure, Strained};
use std::io::{self, Write};

/// Wrong hook-ups beyond this many are counted.
const HOOK_UPS: usize = 6;

/// Every repair of a suspect with what it brings.
pub fn show<W: Write>(
    page: &mut Page<W>,
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    options: &[RepairOption],
) -> io::Result<()> {
    let unit = &found.evidence.job.unit;
    page.heading("Repairs")?;
    let chance = words::percent(suspect.probability);
    page.text(2, &format!("If it is {} ({chance}):", diagnosis::words::suspect_words(found, suspect)))?;
    if found.settled().is_none() {
        page.text(2, "This is not settled yet: find out first (faultwright next), then repair.")?;
    }
    for option in options {
        page.gap()?;
        page.strong(2, "*", &option.words)?;
        for compared in &option.compared {
            page.item(4, "-", &compared.words())?;
        }
        for line in option.remark_lines(unit) {
            page.item(4, "-", &line)?;
        }
        if option.remarks.is_empty() {
            page.text(4, "nothing lost and nothing past its rating in any position")?;
        }
        let mut rows = vec![HEADINGS.map(str::to_owned).to_vec()];
        rows.extend(option.courses.iter().map(|course| course.row(unit).to_vec()));
        page.table(4, "<>><<", &rows)?;
        hook_ups(page, found, &option.wrong_hook_ups)?;
    }
    page.gap()?;
    page.text(
        2,
        &format!(
            "Temperatures after three hours from a room of {ROOM_CELSIUS} °C; how parts shed heat is known to a quarter. Only a heat run proves them."
        ),
    )?;
    page.text(
        2,
        "Before power: unplug, prove dead, discharge capacitors. A protector is never bridged to get a unit going. Local codes and licensed practice prevail.",
    )
}

fn hook_ups<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, list: &[WrongHookUp]) -> io::Result<()> {
    if list.is_empty() {
        return Ok(());
    }
    page.text(4, "Check its leads before power; on the wrong terminals they would show:")?;
    for wrong in list.iter().take(HOOK_UPS) {
        page.item(6, "-", &wrong.words(&found.evidence.job.unit))?;
    }
    if list.len() > HOOK_UPS {
        page.item(6, "-", &format!("and {} more that matter", list.len() - HOOK_UPS))?;
    }
    Ok(())
}

/// What may stand behind the failure.
pub fn show_reasons<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, suspect: &Suspect) -> io::Result<()> {
    let unit = &found.evidence.job.unit;
    let behind = behind(found, suspect);
    if behind.iter().all(|reasons| reasons.conditions.is_empty()) {
        return Ok(());
    }
    page.heading("Why it may have failed")?;
    page.text(2, "A repair that leaves the reason in place does not last; look before the job is closed.")?;
    for reasons in behind.iter().filter(|reasons| !reasons.conditions.is_empty()) {
        page.strong(2, "*", unit.place_name(reasons.place))?;
        for (condition, standing) in &reasons.conditions {
            page.item(4, "-", &condition_words(found.evidence.job, condition, *standing))?;
        }
    }
    Ok(())
}

/// Parts that the fault has strained.
pub fn show_strains<W: Write>(
    page: &mut Page<W>,
    found: &Diagnosis<'_>,
    exposure: &Exposure,
    strained: &[Strained],
) -> io::Result<()> {
    let unit = &found.evidence.job.unit;
    page.heading("Strained by the fault")?;
    page.text(2, &exposure.words())?;
    let classes = classes_words(unit);
    let held_to = if classes.is_empty() { String::new() } else { format!(" Windings: {classes}.") };
    if strained.is_empty() {
        let words =
            "Nothing was driven past what is written on it or known of its size, and no winding near its limit.";
        return page.text(2, &format!("{words}{held_to}"));
    }
    for entry in strained {
        let life = life_words(entry).map_or(String::new(), |life| format!("; {life}"));
        let repaired = if entry.is_repaired { " (it is repaired anyway)" } else { "" };
        page.strong(2, "*", &format!("{}{repaired}", place_words(unit, entry.what)))?;
        page.text(4, &format!("{}{life}", strain_words(entry)))?;
        if !entry.is_repaired {
            page.text(4, &format!("clear it: {}", entry.check(unit)))?;
        }
    }
    let rule = format!("Life: insulation ages twice as fast for every {HALVING_KELVINS} K (Montsinger's rule).");
    page.text(2, &format!("{rule}{held_to}"))
}
