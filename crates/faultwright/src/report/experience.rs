//! Odds that a shop's experience has moved, as text.

use crate::page::Page;
use bench::Job;
use bench::experience::Moved;
use std::io::{self, Write};

/// Odds that moved by less than this share are counted, not listed.
const LISTED: f64 = 0.1;
const LISTED_MOST: usize = 10;

/// Every odds that moved, those that moved most one by one.
pub fn show<W: Write>(page: &mut Page<W>, job: &Job, moved: &[Moved]) -> io::Result<()> {
    page.heading("Odds from experience")?;
    if moved.is_empty() {
        return page.text(2, "The table knows none of the kinds of parts in this unit; nothing was moved.");
    }
    let by = |one: &Moved| (one.learnt / one.listed).ln().abs();
    let mut listed: Vec<&Moved> = moved.iter().filter(|one| by(one) > LISTED).collect();
    listed.sort_by(|a, b| by(b).total_cmp(&by(a)));
    for one in listed.iter().take(LISTED_MOST) {
        page.item(2, "-", &format!("{}: {}", job.unit.faults()[one.fault].label(), one.words()))?;
    }
    let rest = moved.len() - listed.len().min(LISTED_MOST);
    if rest > 0 {
        page.text(2, &format!("and {rest} that moved less."))?;
    }
    page.text(2, "Without --experience the listed odds hold.")
}
