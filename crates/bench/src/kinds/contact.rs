//! One contact, as found in switches, thermostats and cutouts.

use crate::fault::{FaultMode, Severity};
use crate::heat::HeatContact;
use crate::job::Positive;
use crate::wiring::{BURNT_CONTACT_BRANCH, Node, PartWiring};
use std::fmt::Display;

/// Odds of a contact's three faults against none.
pub(super) struct ContactOdds {
    pub(super) stuck_open: f64,
    pub(super) welded: f64,
    pub(super) burnt: f64,
}

/// Where a contact goes that leaves rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum MovesTo {
    Open,
    Closed,
}

/// Faults of a contact; `prefix` tells several contacts of one part apart (`"line-high-"`), `words` names it in prose.
pub(super) fn faults(prefix: &str, words: &str, odds: &ContactOdds, repair: &'static str) -> Vec<FaultMode> {
    vec![
        FaultMode::new(format!("{prefix}stuck-open"), format!("{words} does not close"), odds.stuck_open, repair),
        FaultMode::new(format!("{prefix}welded"), format!("{words} does not open"), odds.welded, repair),
        FaultMode::new(format!("{prefix}burnt"), format!("{words} closes with a burnt face"), odds.burnt, repair)
            .sized(Severity::ohms(3.0, 1.5)),
    ]
}

/// What a contact that should have moved does under its faults, in words; `None` if it moves.
pub(super) fn hindered(has: &dyn Fn(&str) -> bool, prefix: &str, words: &str, moves_to: MovesTo) -> Option<String> {
    let is_stuck_open = has(&format!("{prefix}stuck-open"));
    if !is_stuck_open && !has(&format!("{prefix}welded")) {
        return None;
    }
    Some(match (moves_to, is_stuck_open) {
        (MovesTo::Open, true) => format!("{words} has been open from the start"),
        (MovesTo::Open, false) => format!("{words} should have opened and stays closed"),
        (MovesTo::Closed, true) => format!("{words} should have closed and stays open"),
        (MovesTo::Closed, false) => format!("{words} has been closed from the start"),
    })
}

/// Connects a contact between two nodes.
pub(super) fn connect(part: &mut PartWiring<'_, '_>, a: Node, b: Node, closed: bool, prefix: impl Display) {
    if !part.has_any() {
        if closed {
            part.close_contact(a, b);
        }
        return;
    }
    if part.has(format_args!("{prefix}stuck-open")) || !(closed || part.has(format_args!("{prefix}welded"))) {
        return;
    }
    match part.severity(format_args!("{prefix}burnt")) {
        Some(ohms) => part.resistor(BURNT_CONTACT_BRANCH, a, b, ohms),
        None => part.close_contact(a, b),
    }
}

/// The two positions of a part that is a single contact.
pub(super) fn positions() -> Vec<String> {
    vec!["closed".into(), "open".into()]
}

/// The contact that heat moves, as kinds of a single such contact have it; `None` without a temperature.
///
/// `differential` is what it must cool by to close again if the job does not say; `None` if it never closes by itself.
pub(super) fn by_heat(
    opens_celsius: Option<f64>,
    closes_celsius: Option<Positive>,
    differential: Option<f64>,
) -> Option<HeatContact> {
    let opens_celsius = opens_celsius?;
    let closes_celsius = closes_celsius.map(|closes| closes.0).or(differential.map(|kelvins| opens_celsius - kelvins));
    Some(HeatContact { contact: 0, body: 0, opens_celsius, closes_celsius, warmth_closes: false })
}

/// # Errors
/// What to say of a contact that would close above the temperature at which it opens.
pub(super) fn check_order(opens_celsius: Option<Positive>, closes_celsius: Option<Positive>) -> Result<(), String> {
    match (opens_celsius, closes_celsius) {
        (Some(opens), Some(closes)) if closes.0 >= opens.0 => Err(format!(
            "it opens at {} and closes at {} degrees, expected to close at a lower temperature; exchange the two",
            opens.0, closes.0
        )),
        (None, Some(_)) => Err("closes_celsius without opens_celsius, expected both; say when it opens too".into()),
        _ => Ok(()),
    }
}
