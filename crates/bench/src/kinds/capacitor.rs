//! What all capacitors have in common: faults, and capacitance with its loss between two terminals.

use super::Doubt;
use crate::fault::{FaultMode, Severity};
use crate::wiring::PartWiring;
use std::f64::consts::PI;

/// Odds of a capacitor's faults against none.
pub(super) struct CapacitorOdds {
    pub(super) open: f64,
    pub(super) low: f64,
    pub(super) shorted: f64,
    pub(super) leaky: f64,
    pub(super) wrong_value: f64,
}

pub(super) fn faults(odds: &CapacitorOdds) -> Vec<FaultMode> {
    let repair = "replace the capacitor {} with one of the same microfarads and at least the same volts";
    vec![
        FaultMode::new("open", "the capacitor is open inside", odds.open, repair),
        FaultMode::new("low", "the capacitor has lost capacitance", odds.low, repair).sized(Severity::share(
            "share of capacitance lost",
            0.4,
            0.9,
        )),
        FaultMode::new("shorted", "the capacitor is shorted", odds.shorted, repair).sized(Severity::ohms(1.0, 1.0)),
        FaultMode::new("leaky", "the capacitor leaks", odds.leaky, repair).sized(Severity::ohms(20e3, 1.5)),
        FaultMode::new("wrong-value", "a capacitor of another value is fitted", odds.wrong_value, repair)
            .sized(Severity::factor("times marked capacitance", 1.0, 0.6)),
    ]
}

/// What looks wrong about a mark that is far from usual ones.
pub(super) fn doubts(microfarads: f64, [least, most]: [f64; 2]) -> Vec<Doubt> {
    let is_usual = (least..=most).contains(&microfarads);
    let doubt = || Doubt {
        message: format!("{microfarads} uF is hardly the mark of such a capacitor"),
        expected: format!("{least} to {most} uF"),
        mend: "write microfarads: 2500 nF are 2.5",
    };
    (!is_usual).then(doubt).into_iter().collect()
}

/// Connects a capacitor between terminals a and b; its microfarads are the part's first unknown.
pub(super) fn connect(part: &mut PartWiring<'_, '_>, loss_factor: f64) {
    let (a, b) = (part.terminal(0), part.terminal(1));
    if part.has("open") {
        return;
    }
    if let Some(ohms) = part.severity("shorted") {
        part.resistor("short", a, b, ohms);
        return;
    }
    if let Some(ohms) = part.severity("leaky") {
        part.resistor("leak", a, b, ohms);
    }
    let mut microfarads = part.unknown(0);
    if let Some(lost) = part.severity("low") {
        microfarads = &microfarads * &(&(&lost * -1.0) + 1.0);
    }
    if let Some(factor) = part.severity("wrong-value") {
        microfarads = &microfarads * &factor;
    }
    let reactance = &microfarads.recip() * (1e6 / (2.0 * PI * part.hertz()));
    part.blocking("capacitor", a, b, &reactance * loss_factor, &reactance * -1.0);
}
