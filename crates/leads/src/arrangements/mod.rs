//! The arrangements that are looked for: one file per family.
//!
//! Assumes: at most one section or lead is open; windings that belong to different circuits are insulated from each
//! other; no capacitor, protector of its own leads, heater or earth lead is among the leads.

mod common_run_start;
mod prior;
mod reversible;
mod separate;
mod tapped;
mod three_phase;

use crate::arrangement::Arrangement;
use crate::known::Known;

/// Fewest leads of a motor that can be mixed up.
pub const FEWEST_LEADS: usize = 3;
/// Most leads that are looked at.
pub const MOST_LEADS: usize = 9;

/// All arrangements that agree with what is known, with `leads` leads; their odds add up to one.
pub fn arrangements(known: &Known, leads: usize) -> Vec<Arrangement> {
    let mut list: Vec<Arrangement> = all(leads).into_iter().filter(|arrangement| agrees(arrangement, known)).collect();
    let total: f64 = list.iter().map(|arrangement| arrangement.odds).sum();
    list.iter_mut().for_each(|arrangement| arrangement.odds /= total);
    list
}

/// Numbers of leads for which something agrees with what is known.
pub fn possible_lead_counts(known: &Known) -> Vec<usize> {
    (FEWEST_LEADS..=MOST_LEADS).filter(|&leads| !arrangements(known, leads).is_empty()).collect()
}

fn all(leads: usize) -> Vec<Arrangement> {
    let mut list = common_run_start::arrangements(leads);
    list.extend(tapped::arrangements(leads));
    list.extend(separate::arrangements(leads));
    list.extend(reversible::arrangements(leads));
    list.extend(three_phase::arrangements(leads));
    list.iter_mut().for_each(|arrangement| arrangement.odds *= arrangement.motor.odds());
    list
}

fn agrees(arrangement: &Arrangement, known: &Known) -> bool {
    known.motor.is_none_or(|motor| motor == arrangement.motor)
        && known.speeds.is_none_or(|speeds| speeds == arrangement.speeds)
        && known.reversible.is_none_or(|wanted| arrangement.reversible.is_none_or(|can| can == wanted))
        && known.connection.is_none_or(|wanted| arrangement.connection == Some(wanted))
}
