//! A small slice of the trials of one wrong reading, as docs/one-wrong-reading.md has them in full.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use trials::meter::Mistake;
use trials::one_wrong::{Compared, Figures, one};

#[test]
fn one_of_eight_is_written_down_wrong_and_the_same_one_with_the_same_seed() {
    let (first, again) = (one(1, 0).unwrap(), one(1, 0).unwrap());
    assert_eq!((&first.words, first.mistake), (&again.words, again.mistake));
    assert_eq!(first.probability.map(f64::to_bits), again.probability.map(f64::to_bits));
    let (careful, wrong) = first.words.split_once(": ").unwrap().1.split_once(" as ").unwrap();
    assert_ne!(careful, wrong, "{}", first.words);
    assert!(first.falsely_named[0] <= 8 && first.falsely_named[1] <= 7, "{first:?}");
    assert!(first.probability.iter().all(|probability| (0.0..=1.0 + 1e-12).contains(probability)), "{first:?}");
}

#[test]
fn figures_by_hand() {
    let case = |leads: [bool; 2], is_named: bool, falsely_named: [usize; 2]| Compared {
        number: 0,
        mistake: Mistake::Decimal,
        is_insulation: false,
        is_visible: true,
        leads,
        probability: leads.map(|leads| if leads { 0.8 } else { 0.1 }),
        is_named,
        falsely_named,
        words: String::new(),
    };
    let cases = [
        case([true, true], true, [0, 1]),
        case([true, false], false, [1, 0]),
        case([false, true], false, [0, 0]),
        case([true, true], false, [0, 0]),
    ];
    let figures = Figures::of(&cases);
    assert_eq!(figures.cases, 4);
    assert_eq!((figures.leads, figures.lost_and_won), ([0.75, 0.75], [1, 1]));
    // (0.8 + 0.8 + 0.1 + 0.8) / 4 either way.
    assert!(figures.probability.iter().all(|mean| (mean - 0.625).abs() < 1e-12), "{figures:?}");
    // One is named, and another left the lead where it was.
    assert_eq!((figures.named, figures.named_or_harmless), (0.25, 0.5));
    // One of 32 right readings without the mistake, one of 28 with it.
    assert_eq!(figures.falsely_named, [1.0 / 32.0, 1.0 / 28.0]);
}
