//! Three-phase motors with three, four, six and nine leads.
//!
//! Published for nine leads in star: one circuit of three leads and three circuits of two
//! (machineryequipmentonline.com, identifying the leads of a star-connected dual-voltage motor). For nine leads in delta:
//! three circuits of three leads, T1-T4-T9, T2-T5-T7 and T3-T6-T8 (NEMA MG 1, from memory).
//!
//! Assumes: all coils of one motor are wound alike.

use super::prior::{EQUAL_PHASES, PHASE};
use crate::arrangement::{Arrangement, Section, Terminal, terminal};
use crate::known::{Connection, Motor};

const ORDER: &str = "which phase is which cannot be told by ohms: exchange two lines if it turns the wrong way";
const STAR_OR_DELTA: &[&str] = &[
    "star and delta look alike from three leads: only the plate, or the joints in the end winding, tell which it is; the \
     line connects the same either way",
    ORDER,
];
const BEGINNINGS: &[&str] = &[
    "which end of each pair is its beginning cannot be told by ohms: find it with a few volts of alternating current on one \
     pair and a meter on the others before joining any; a phase the wrong way round draws far too much current",
    ORDER,
];
const NINE_STAR: &[&str] = &[
    "the three of the star are T7, T8 and T9; which pair belongs to which of them, and which end of it, cannot be told by \
     ohms: run the star of three alone on the lower voltage, unloaded, and read the volts that each pair adds",
    ORDER,
];
const NINE_DELTA: &[&str] = &[
    "the corner of each group is T1, T2 or T3; which end of it goes with which neighbour cannot be told by ohms: feed one \
     group with a few volts of alternating current and read the others",
    ORDER,
];

/// Odds of each among the three-phase motors (engineering judgement).
pub(super) fn arrangements(leads: usize) -> Vec<Arrangement> {
    let line = |place: usize| terminal(place, "line");
    let lines = || vec![line(0), line(1), line(2)];
    let pairs = || [0, 0, 1, 1, 2, 2].map(|place| terminal(place, "pair")).to_vec();
    let star = Connection::Star;
    let delta = Connection::Delta;
    match leads {
        3 => vec![
            arrangement("star inside", star, 0.25, lines(), 1, &[(0, 3), (1, 3), (2, 3)], STAR_OR_DELTA),
            arrangement("delta inside", delta, 0.25, lines(), 0, &[(0, 1), (1, 2), (2, 0)], STAR_OR_DELTA),
        ],
        4 => {
            let terminals = [lines(), vec![terminal(3, "star point")]].concat();
            vec![arrangement(
                "star with its star point brought out",
                star,
                0.03,
                terminals,
                0,
                &[(0, 3), (1, 3), (2, 3)],
                &[ORDER],
            )]
        }
        6 => {
            let ends = [lines(), [3, 4, 5].map(|place| terminal(place, "middle of a phase")).to_vec()].concat();
            let ring = [(0, 3), (3, 1), (1, 4), (4, 2), (2, 5), (5, 0)];
            vec![
                arrangement(
                    "three phases, both ends of each brought out",
                    Connection::Open,
                    0.2,
                    pairs(),
                    0,
                    &[(0, 1), (2, 3), (4, 5)],
                    BEGINNINGS,
                ),
                two_speeds(arrangement(
                    "two speeds: delta with the middle of each phase brought out",
                    delta,
                    0.04,
                    ends,
                    0,
                    &ring,
                    TWO_SPEEDS,
                )),
            ]
        }
        9 => {
            let star_leads = [6, 7, 8].map(|_| terminal(3, "star of three")).to_vec();
            let halves = [(0, 1), (2, 3), (4, 5), (6, 9), (7, 9), (8, 9)];
            let corner = |place: usize| Terminal { part: "corner", ..terminal(place, "group of three") };
            let end = |place: usize| Terminal { part: "end", ..terminal(place, "group of three") };
            let groups = (0..3).flat_map(|place| [corner(place), end(place), end(place)]).collect();
            let coils = [(0, 1), (0, 2), (3, 4), (3, 5), (6, 7), (6, 8)];
            vec![
                arrangement(
                    "nine leads in star, two voltages",
                    star,
                    0.15,
                    [pairs(), star_leads].concat(),
                    1,
                    &halves,
                    NINE_STAR,
                ),
                arrangement("nine leads in delta, two voltages", delta, 0.05, groups, 0, &coils, NINE_DELTA),
            ]
        }
        _ => Vec::new(),
    }
}

const TWO_SPEEDS: &[&str] = &[
    "from six equal coils in a ring ohms cannot tell the corners from the middles: the plate's diagram has to",
    ORDER,
];

fn two_speeds(arrangement: Arrangement) -> Arrangement {
    Arrangement { speeds: 2, ..arrangement }
}

fn arrangement(
    words: &str,
    connection: Connection,
    odds: f64,
    terminals: Vec<Terminal>,
    inner: usize,
    coils: &[(usize, usize)],
    cannot_tell: &'static [&'static str],
) -> Arrangement {
    let section = |(index, &(from, to)): (usize, &(usize, usize))| Section {
        name: "coil".into(),
        from,
        to,
        class: 0,
        median_ohms: PHASE.0,
        weights: vec![(0, PHASE.1), (1 + index, EQUAL_PHASES)],
    };
    Arrangement {
        words: words.into(),
        motor: Motor::ThreePhase,
        odds,
        speeds: 1,
        reversible: Some(true),
        connection: Some(connection),
        terminals,
        inner,
        sections: coils.iter().enumerate().map(section).collect(),
        latents: 1 + coils.len(),
        cannot_tell,
    }
}
