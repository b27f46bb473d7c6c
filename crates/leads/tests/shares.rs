//! How often the answer is right: motors drawn from each arrangement, read with a handheld meter, one reading in eight
//! grossly wrong.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod common;

use common::{OPEN, case, places, stations};
use leads::answer::Assignment;
use leads::arrangement::{Arrangement, Break};
use leads::arrangements::arrangements;
use leads::fit::Layout;
use leads::{Known, Motor, infer};
use rand::rngs::SmallRng;
use rand::{RngExt, SeedableRng};

/// A standard normal number, by the sum of twelve uniform ones.
fn normal(rng: &mut SmallRng) -> f64 {
    (0..12).map(|_| rng.random_range(0.0..1.0)).sum::<f64>() - 6.0
}

/// Every pair read once, one in eight wrong: a slipped decimal, no contact, or anything.
fn readings(rng: &mut SmallRng, arrangement: &Arrangement, lead_at: &[usize]) -> Vec<(usize, usize, f64)> {
    let latents: Vec<f64> = (0..arrangement.latents).map(|_| normal(rng)).collect();
    let leads = lead_at.len();
    let pairs: Vec<(usize, usize)> = (0..leads).flat_map(|a| (a + 1..leads).map(move |b| (a, b))).collect();
    let between = Layout { arrangement, open: Break::None }.between(&latents, &pairs).unwrap();
    pairs
        .iter()
        .zip(between)
        .map(|(&(a, b), resistance)| {
            let mut shown = resistance.ohms * (1.0 + 0.006 * normal(rng)) + 0.1 * normal(rng);
            if rng.random_range(0..8) == 0 {
                shown = match rng.random_range(0..3) {
                    0 => 10.0 * shown,
                    1 => OPEN,
                    _ => 10f64.powf(rng.random_range(-1.0..4.0)),
                };
            }
            let shown = if shown.is_finite() { ((10.0 * shown).round() / 10.0).max(0.0) } else { OPEN };
            (lead_at[a], lead_at[b], shown)
        })
        .collect()
}

/// Share of motors of one kind whose leading answer is the right one.
fn share(motor: Motor, leads: usize, motors: usize, seed: u64) -> f64 {
    let mut rng = SmallRng::seed_from_u64(seed);
    let known = Known { motor: Some(motor), ..Known::default() };
    let list = arrangements(&known, leads);
    let mut right = 0;
    for _ in 0..motors {
        // Arrangements by their odds, leads by chance.
        let mut mark = rng.random_range(0.0..1.0);
        let arrangement = list
            .iter()
            .find(|arrangement| {
                mark -= arrangement.odds;
                mark < 0.0
            })
            .unwrap_or(&list[0]);
        let mut lead_at: Vec<usize> = (0..leads).collect();
        (1..leads).rev().for_each(|last| lead_at.swap(last, rng.random_range(0..=last)));
        let found = infer(&case(leads, known, &readings(&mut rng, arrangement, &lead_at))).unwrap();
        let truth = Assignment::new(arrangement, &lead_at);
        right += usize::from(found.answers[0].assignment == truth || same(&found, &truth));
    }
    right as f64 / motors as f64
}

/// Answers are the same if the same leads are at places of the same names.
fn same(found: &leads::Finding, truth: &Assignment) -> bool {
    stations(found, 0) == places(truth)
}

#[test]
fn the_leading_answer_is_mostly_right_with_one_reading_in_eight_wrong() {
    let mut low = Vec::new();
    for (motor, leads, motors, least) in [
        (Motor::CapacitorRun, 3, 60, LEAST_THREE),
        (Motor::SplitPhase, 3, 60, LEAST_THREE),
        (Motor::Compressor, 3, 60, LEAST_THREE),
        (Motor::WellPump, 3, 60, LEAST_THREE),
        (Motor::CapacitorRun, 4, 30, LEAST_FOUR),
        (Motor::SplitPhase, 4, 30, LEAST_FOUR),
        (Motor::CapacitorRun, 5, 20, LEAST_MORE),
        (Motor::SplitPhase, 6, 20, LEAST_MORE),
        (Motor::ThreePhase, 9, 8, LEAST_MORE),
    ] {
        let found = share(motor, leads, motors, 20 + leads as u64);
        println!("{} of {leads} leads: {:.0} % of {motors}", motor.words(), 100.0 * found);
        if found < least {
            low.push((motor, leads, found));
        }
    }
    assert!(low.is_empty(), "{low:?}");
}

// Measured: 75 to 92 % with three leads, 93 % with four, 85 to 90 % with more. With three leads one wrong reading of three is
// often not to be told from the others.
const LEAST_THREE: f64 = 0.7;
const LEAST_FOUR: f64 = 0.85;
const LEAST_MORE: f64 = 0.75;
