//! Run and start windings that are not joined inside: both ends of each come out; for two voltages the run winding in halves.
//!
//! Assumes: the two halves of a run winding for two voltages are equal.

use super::common_run_start::{main_section, start_section};
use super::prior::*;
use crate::arrangement::{Arrangement, Section, Terminal, terminal};
use crate::known::Motor;

const WHICH_END: &[&str] =
    &["which end of a winding is its beginning cannot be told by ohms: it decides which way the motor turns"];
const WHICH_HALF: &[&str] = &[
    "which ends of the two halves of the run winding go together cannot be told by ohms: joined the wrong way round they \
     cancel each other and burn; find it with a few volts of alternating current on one half and a meter on the other",
    "which end of the start winding is its beginning cannot be told by ohms: it decides which way the motor turns",
];

pub(super) fn arrangements(leads: usize) -> Vec<Arrangement> {
    match leads {
        4 => vec![
            two_pairs(Motor::CapacitorRun, CAPACITOR_RUN_MAIN, START_OVER_MAIN_CAPACITOR_RUN, 0.15),
            two_pairs(Motor::SplitPhase, SPLIT_PHASE_MAIN, START_OVER_MAIN_SPLIT_PHASE, 0.4),
        ],
        6 => vec![two_voltages()],
        _ => Vec::new(),
    }
}

/// Both leads of a winding.
fn pair(place: usize, role: &'static str) -> [Terminal; 2] {
    [terminal(place, role), terminal(place, role)]
}

fn two_pairs(motor: Motor, main: LogNormal, ratio: LogNormal, odds: f64) -> Arrangement {
    Arrangement {
        words: "run and start winding, both ends of each brought out".into(),
        motor,
        odds,
        speeds: 1,
        reversible: None,
        connection: None,
        terminals: [pair(0, "run winding"), pair(1, "start winding")].concat(),
        inner: 0,
        sections: vec![main_section(main, 0, 1), start_section(main, ratio, 2, 3, 1)],
        latents: 2,
        cannot_tell: WHICH_END,
    }
}

/// Two halves of the run winding, in parallel on the lower and in series on the higher voltage; the start winding belongs
/// across one half (NEMA MG 1 terminal markings T1 to T4, T5 and T8, from memory).
fn two_voltages() -> Arrangement {
    let (main, ratio) = (SPLIT_PHASE_MAIN, START_OVER_MAIN_SPLIT_PHASE);
    let half = |index: usize| Section {
        name: "half of the run winding".into(),
        weights: vec![(0, main.1), (1 + index, EQUAL_WINDINGS)],
        ..main_section(main, 2 * index, 2 * index + 1)
    };
    Arrangement {
        words: "run winding in two halves for two voltages, and a start winding".into(),
        motor: Motor::SplitPhase,
        odds: 0.2,
        speeds: 1,
        reversible: None,
        connection: None,
        terminals: [pair(0, "half of the run winding"), pair(1, "half of the run winding"), pair(2, "start winding")]
            .concat(),
        inner: 0,
        sections: vec![half(0), half(1), start_section(main, ratio, 4, 5, 3)],
        latents: 4,
        cannot_tell: WHICH_HALF,
    }
}
