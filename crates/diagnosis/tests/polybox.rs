//! Three multipliers and two adders, the classic of model-based diagnosis, through the crate's posterior and entropy.
//!
//! Source of candidates: de Kleer and Williams, "Diagnosing multiple faults", Artificial Intelligence 32 (1987);
//! posteriors and expected entropies recomputed by hand enumeration. The consistency model below is the test's own: a
//! faulty component may output anything.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::information::{entropy, expected_gain_of_answers};
use diagnosis::log_weights::probabilities;
use std::collections::BTreeMap;

const NAMES: [&str; 5] = ["M1", "M2", "M3", "A1", "A2"];

/// Values at X, Y and Z that a set of faults allows, given the outputs; `None` is 'anything'.
///
/// Inputs give 6 at every multiplier; F = X + Y, G = Y + Z where the adders are sound.
fn is_consistent(faulty: usize, f: i32, g: i32, measured: &[(usize, i32)]) -> bool {
    let bad = |component: usize| faulty & (1 << component) != 0;
    let range = -20..=20;
    let choices = |component: usize| if bad(component) { range.clone().collect() } else { vec![6] };
    let matches = |values: [i32; 3]| {
        let [x, y, z] = values;
        (bad(3) || x + y == f) && (bad(4) || y + z == g) && measured.iter().all(|&(at, value)| values[at] == value)
    };
    choices(0).iter().any(|&x| choices(1).iter().any(|&y| choices(2).iter().any(|&z| matches([x, y, z]))))
}

/// Posterior over all 32 sets of faults, each component faulty with probability 0.01.
fn posterior(f: i32, g: i32, measured: &[(usize, i32)]) -> Vec<f64> {
    let log_weights: Vec<f64> = (0..32usize)
        .map(|faulty| {
            let count = faulty.count_ones() as f64;
            let prior = count * 0.01f64.ln() + (5.0 - count) * 0.99f64.ln();
            if is_consistent(faulty, f, g, measured) { prior } else { f64::NEG_INFINITY }
        })
        .collect();
    probabilities(&log_weights)
}

/// Sets that are possible while none of their parts is, by name.
fn minimal_candidates(posterior: &[f64]) -> Vec<String> {
    let possible = |set: usize| posterior[set] > 0.0;
    (0..32usize)
        .filter(|&set| possible(set) && (0..set).all(|other| other & set != other || other == set || !possible(other)))
        .map(|set| (0..5).filter(|c| set & (1 << c) != 0).map(|c| NAMES[c]).collect::<Vec<_>>().join(" "))
        .collect()
}

fn sorted(mut names: Vec<String>) -> Vec<String> {
    names.sort();
    names
}

#[test]
fn candidates_before_the_reading() {
    let found = posterior(10, 12, &[]);
    assert_eq!(sorted(minimal_candidates(&found)), ["A1", "M1", "M2 A2", "M2 M3"]);
    assert_eq!(found.iter().filter(|&&p| p > 0.0).count(), 27);
    assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-12);
}

#[test]
fn candidates_after_reading_five_at_the_second_multiplier() {
    let found = posterior(10, 12, &[(1, 5)]);
    assert_eq!(sorted(minimal_candidates(&found)), ["M1 M2 A2", "M1 M2 M3", "M2 A1 A2", "M2 M3 A1"]);
}

#[test]
fn other_outputs_and_readings() {
    assert_eq!(sorted(minimal_candidates(&posterior(10, 12, &[(0, 4)]))), ["M1"]);
    assert_eq!(sorted(minimal_candidates(&posterior(10, 12, &[(0, 6)]))), ["A1", "M2 A2", "M2 M3"]);
    assert_eq!(sorted(minimal_candidates(&posterior(10, 12, &[(1, 4)]))), ["M2 A2", "M2 M3"]);
    assert_eq!(sorted(minimal_candidates(&posterior(10, 10, &[]))), ["A1 A2", "M1 A2", "M1 M3", "M2", "M3 A1"]);
}

#[test]
fn the_first_multiplier_is_the_best_place_to_measure_next() {
    // The four minimal candidates with prior 0.01 per component: 0.495, 0.495, 0.005, 0.005.
    let candidates = [0b00001usize, 0b01000, 0b10010, 0b00110];
    let log_weights: Vec<f64> =
        candidates.iter().map(|set| f64::from(set.count_ones()) * (0.01f64 / 0.99).ln()).collect();
    let shares = probabilities(&log_weights);
    assert!((shares[0] - 0.495).abs() < 1e-4 && (shares[2] - 0.005).abs() < 1e-4);
    // Recomputed with 0.495 and 0.005 exactly: 1.0807931 bits.
    let shares = [0.495, 0.495, 0.005, 0.005];
    let bits = |nats: f64| nats / std::f64::consts::LN_2;
    assert!((bits(entropy(shares)) - 1.080_793_1).abs() < 1e-7);
    // Values each candidate forces at X, Y, Z, from the outputs 10 and 12.
    let forced = [[4, 6, 6], [6, 6, 6], [6, 4, 6], [6, 4, 8]];
    let left = |at: usize| {
        let weights: Vec<(f64, usize)> = shares.iter().enumerate().map(|(class, &share)| (share, class)).collect();
        let answers: Vec<BTreeMap<usize, f64>> =
            forced.iter().map(|values| BTreeMap::from([(values[at], 1.0)])).collect();
        bits(entropy(shares)) - bits(expected_gain_of_answers(&weights, &answers))
    };
    assert!((left(0) - 0.080_865_3).abs() < 1e-6, "X leaves {}", left(0));
    assert!((left(1) - 1.0).abs() < 1e-6, "Y leaves {}", left(1));
    assert!((left(2) - 1.035_378_4).abs() < 1e-6, "Z leaves {}", left(2));
}
