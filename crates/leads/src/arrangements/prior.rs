//! How many ohms windings have before anything is read: medians and spreads of natural logarithms.
//!
//! Published figures (service manuals, control-box labels, textbooks, as collected with their addresses in
//! docs/leads-file.md) fix where the medians lie; the spreads are wider than what was seen, by engineering judgement.

/// A median and the standard deviation of the natural logarithm about it.
pub(super) type LogNormal = (f64, f64);

/// Run winding of a capacitor-run motor, ohms: fan motors 10 to 15 by a rule of thumb, circulators 7.3 (115 V) and 33 (230 V),
/// draft inducers 56 to 65, reversing washers 3.5 to 9.5.
pub(super) const CAPACITOR_RUN_MAIN: LogNormal = (15.0, 1.1);
/// Run winding of a split-phase or capacitor-start motor, ohms: washers 0.75 to 3.
pub(super) const SPLIT_PHASE_MAIN: LogNormal = (2.5, 0.9);
/// Run winding of a sealed compressor, ohms: 4 in a training example, 1.4 to 2.9 in oil-filled machines.
pub(super) const COMPRESSOR_MAIN: LogNormal = (3.0, 0.9);
/// Run winding of a well pump, ohms: 4.0 and 4.7 (1/2 HP) down to 1.1 (3 HP).
pub(super) const WELL_PUMP_MAIN: LogNormal = (2.5, 0.8);
/// One phase of a three-phase motor, ohms: from lead to lead 1 to 50, which is twice the phase of a star.
pub(super) const PHASE: LogNormal = (4.0, 1.1);

/// Start over run winding where a run capacitor stays in: 1.2 to 2 in published sets.
pub(super) const START_OVER_MAIN_CAPACITOR_RUN: LogNormal = (1.6, 0.3);
/// Start over run winding where a switch takes the start winding out: a published rule says 3 to 5, sets 2.75 to 5.2.
pub(super) const START_OVER_MAIN_SPLIT_PHASE: LogNormal = (3.6, 0.35);
/// Start over run winding where either may be: 1.3 to 5.2 in published sets.
pub(super) const START_OVER_MAIN_EITHER: LogNormal = (2.5, 0.45);

/// A section that a slower tap adds, over the run winding: 0.39 and 0.45 in a published three-speed ladder; taps that lie
/// closer are common practice, no source.
pub(super) const TAP_OVER_MAIN: LogNormal = (0.3, 0.6);
/// The slower of two run windings over the faster: washers 1 to 2.
pub(super) const SLOW_OVER_FAST: LogNormal = (1.5, 0.35);

/// Spread between two windings of a motor that are meant to be equal: machine-wound halves (engineering judgement).
pub(super) const EQUAL_WINDINGS: f64 = 0.03;
/// Spread of one phase about all three: published, every lead-to-lead reading within 2 % of the average.
pub(super) const EQUAL_PHASES: f64 = 0.01;
