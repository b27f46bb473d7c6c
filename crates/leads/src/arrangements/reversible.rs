//! Reversible capacitor-run motors: two equal windings that take turns as run and start winding.
//!
//! Published for reversing washers: each winding 3.5 to 6 or 5 to 9.5 ohms, alike for either direction.
//!
//! Assumes: both windings are wound alike.

use super::prior::{CAPACITOR_RUN_MAIN, EQUAL_WINDINGS};
use crate::arrangement::{Arrangement, Section, terminal};
use crate::known::Motor;

pub(super) fn arrangements(leads: usize) -> Vec<Arrangement> {
    let winding = |index: usize, from: usize, to: usize| Section {
        name: "one of two equal windings".into(),
        from,
        to,
        class: 0,
        median_ohms: CAPACITOR_RUN_MAIN.0,
        weights: vec![(0, CAPACITOR_RUN_MAIN.1), (1 + index, EQUAL_WINDINGS)],
    };
    let (words, terminals, sections) = match leads {
        3 => (
            "two equal windings joined at common, for either direction",
            vec![terminal(0, "common"), terminal(1, "either direction"), terminal(2, "either direction")],
            vec![winding(0, 0, 1), winding(1, 0, 2)],
        ),
        4 => (
            "two equal windings, both ends of each brought out",
            [0, 0, 1, 1].map(|place| terminal(place, "one of two equal windings")).to_vec(),
            vec![winding(0, 0, 1), winding(1, 2, 3)],
        ),
        _ => return Vec::new(),
    };
    vec![Arrangement {
        words: words.into(),
        motor: Motor::CapacitorRun,
        odds: if leads == 3 { 0.1 } else { 0.02 },
        speeds: 1,
        reversible: Some(true),
        connection: None,
        terminals,
        inner: 0,
        sections,
        latents: 3,
        cannot_tell: &[
            "which of the two equal windings is the run winding cannot be told by ohms: whichever is on the line is, the \
             other goes through the capacitor; exchange them and the motor turns the other way",
        ],
    }]
}
