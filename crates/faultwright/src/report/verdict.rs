//! How the finding stands, as text.

use crate::page::Page;
use diagnosis::verdict::verdict;
use diagnosis::words::verdict_lines;
use diagnosis::{CheckPlan, Diagnosis};
use std::io::{self, Write};

/// The verdict; with the check that would decide if there is a plan.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, plan: Option<&CheckPlan>) -> io::Result<()> {
    page.heading("Verdict")?;
    for line in verdict_lines(found, &verdict(found), plan) {
        page.item(2, "-", &line)?;
    }
    if plan.is_none() && found.settled().is_none() {
        page.item(2, "-", "Which check would decide: faultwright next.")?;
    }
    Ok(())
}
