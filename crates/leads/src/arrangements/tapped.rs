//! Capacitor-run motors with speed taps: each slower tap adds a section in series with the run winding; and split-phase
//! motors with two run windings.
//!
//! Which tap is fastest: the one with the fewest ohms to common, since fewest turns stand in its circuit. Source: a
//! published three-speed circulator reads 7.55, 10.54 and 14.1 ohms from fast to slow; the same rule for fan motors is
//! common practice.
//!
//! Assumes: the sections of the taps carry the current of the run winding, whichever node the start winding leaves from.

use super::common_run_start::{main_section, start_section};
use super::prior::*;
use crate::arrangement::{Arrangement, Section, Terminal, terminal};
use crate::known::Motor;

/// Most speeds that are looked for.
const MOST_SPEEDS: usize = 5;
const SPEEDS: [&[&str]; 6] = [
    &[],
    &["run"],
    &["fast", "slow"],
    &["fast", "medium", "slow"],
    &["fastest", "second speed", "third speed", "slowest"],
    &["fastest", "second speed", "third speed", "fourth speed", "slowest"],
];
/// Which tap is which follows from the order of ohms, not from a speed that was seen.
const BY_OHMS_ALONE: &[&str] =
    &["which tap is fastest follows from fewest ohms to common: a rule of the trade, to be seen when it runs"];

pub(super) fn arrangements(leads: usize) -> Vec<Arrangement> {
    let mut list = Vec::new();
    // Common, the taps, and one lead of the start winding; or two.
    if let Some(speeds) = leads.checked_sub(2).filter(|speeds| (2..=MOST_SPEEDS).contains(speeds)) {
        list.push(start_from_common(speeds));
        list.push(start_from_fast(speeds));
    }
    if let Some(speeds) = leads.checked_sub(3).filter(|speeds| (2..=MOST_SPEEDS).contains(speeds)) {
        list.push(separate_start(speeds));
    }
    if leads == 4 {
        list.push(two_run_windings());
    }
    list
}

fn ladder(speeds: usize, words: &str, odds: f64) -> Arrangement {
    let mut terminals = vec![terminal(0, "common")];
    terminals.extend(SPEEDS[speeds].iter().enumerate().map(|(tap, &role)| terminal(1 + tap, role)));
    let mut sections = vec![main_section(CAPACITOR_RUN_MAIN, 0, 1)];
    for tap in 1..speeds {
        let (main, ratio) = (CAPACITOR_RUN_MAIN, TAP_OVER_MAIN);
        sections.push(Section {
            name: format!("section from {} to {}", SPEEDS[speeds][tap - 1], SPEEDS[speeds][tap]),
            from: tap,
            to: tap + 1,
            class: 1 + tap,
            median_ohms: main.0 * ratio.0,
            weights: vec![(0, main.1), (tap, ratio.1)],
        });
    }
    Arrangement {
        words: words.into(),
        motor: Motor::CapacitorRun,
        odds,
        speeds,
        reversible: Some(false),
        connection: None,
        terminals,
        inner: 0,
        sections,
        latents: speeds,
        cannot_tell: BY_OHMS_ALONE,
    }
}

/// The start winding from a node, after the taps.
fn with_start(mut arrangement: Arrangement, from: usize) -> Arrangement {
    let end = arrangement.terminals.len();
    arrangement.terminals.push(terminal(end, "start"));
    let latent = arrangement.latents;
    arrangement.sections.push(start_section(CAPACITOR_RUN_MAIN, START_OVER_MAIN_CAPACITOR_RUN, from, end, latent));
    arrangement.latents += 1;
    arrangement
}

fn start_from_common(speeds: usize) -> Arrangement {
    with_start(ladder(speeds, "speed taps on the run winding, start winding from common", 0.45), 0)
}

/// The odds of this and the next (engineering judgement).
fn start_from_fast(speeds: usize) -> Arrangement {
    with_start(ladder(speeds, "speed taps ahead of both windings, start winding from the fastest tap", 0.15), 1)
}

fn separate_start(speeds: usize) -> Arrangement {
    let mut arrangement = ladder(speeds, "speed taps on the run winding, both ends of the start winding out", 0.1);
    let end = arrangement.terminals.len();
    let lead = || Terminal { role: "start winding", ..terminal(end, "start winding") };
    arrangement.terminals.extend([lead(), lead()]);
    let (main, ratio) = (CAPACITOR_RUN_MAIN, START_OVER_MAIN_CAPACITOR_RUN);
    arrangement.sections.push(start_section(main, ratio, end, end + 1, arrangement.latents));
    arrangement.latents += 1;
    arrangement.reversible = None;
    arrangement
}

/// Published for washers: a start winding of 4 to 7 ohms, run windings of 0.75 to 2 and 1.5 to 3, all from one common.
fn two_run_windings() -> Arrangement {
    let (main, slow) = (SPLIT_PHASE_MAIN, SLOW_OVER_FAST);
    let sections = vec![
        Section { name: "fast run winding".into(), ..main_section(main, 0, 1) },
        Section {
            name: "slow run winding".into(),
            class: 2,
            median_ohms: main.0 * slow.0,
            weights: vec![(0, main.1), (1, slow.1)],
            ..main_section(main, 0, 2)
        },
        start_section(main, START_OVER_MAIN_SPLIT_PHASE, 0, 3, 2),
    ];
    Arrangement {
        words: "a run winding for each of two speeds and a start winding, joined at common".into(),
        motor: Motor::SplitPhase,
        odds: 0.15,
        speeds: 2,
        reversible: Some(false),
        connection: None,
        terminals: vec![terminal(0, "common"), terminal(1, "fast"), terminal(2, "slow"), terminal(3, "start")],
        inner: 0,
        sections,
        latents: 3,
        cannot_tell: BY_OHMS_ALONE,
    }
}
