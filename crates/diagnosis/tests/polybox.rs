//! Checks posterior arithmetic, entropy and gain on the three multipliers and two adders of de Kleer and Williams
//! ("Diagnosing multiple faults", Artificial Intelligence 32, 1987), and against `reference/inference.py`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{list, number, reference};
use diagnosis::information::{entropy, expected_gain_of_answers};
use diagnosis::log_weights::probabilities;
use serde_json::Value;
use std::collections::BTreeMap;
use std::f64::consts::LN_2;

const BOXES: [&str; 5] = ["M1", "M2", "M3", "A1", "A2"];
/// Points in the order of their boxes: each box feeds the point of its own index.
const POINTS: [&str; 5] = ["X", "Y", "Z", "F", "G"];
/// Probability of each box to be broken.
const PRIOR: f64 = 0.01;
/// A broken box shows any of 0 to 15, all alike.
const OUTPUTS: usize = 16;

/// Which boxes are broken, by bit.
type Broken = u32;

fn is_broken(set: Broken, index: usize) -> bool {
    set & (1 << index) != 0
}

fn names(set: Broken) -> Vec<&'static str> {
    (0..BOXES.len()).filter(|&index| is_broken(set, index)).map(|index| BOXES[index]).collect()
}

/// What all points show when the broken boxes show `outputs`, one digit each.
fn points(set: Broken, mut outputs: usize) -> [usize; 5] {
    let mut shown = [0; 5];
    for index in 0..BOXES.len() {
        shown[index] = if is_broken(set, index) {
            let output = outputs % OUTPUTS;
            outputs /= OUTPUTS;
            output
        } else {
            match index {
                0..=2 => 3 * 2,
                sum => shown[sum - 3] + shown[sum - 2],
            }
        };
    }
    shown
}

/// Every combination of outputs of the broken boxes that shows what was observed.
fn worlds(set: Broken, observed: &[(usize, usize)]) -> Vec<[usize; 5]> {
    (0..OUTPUTS.pow(set.count_ones()))
        .map(|outputs| points(set, outputs))
        .filter(|shown| observed.iter().all(|&(point, value)| shown[point] == value))
        .collect()
}

const F_AND_G: [(usize, usize); 2] = [(3, 10), (4, 12)];
const Y_TOO: [(usize, usize); 3] = [(3, 10), (4, 12), (1, 5)];

fn consistent(observed: &[(usize, usize)]) -> Vec<Broken> {
    (0..1 << BOXES.len()).filter(|&set| !worlds(set, observed).is_empty()).collect()
}

/// Sets of which no part would do.
fn minimal(sets: &[Broken]) -> Vec<Broken> {
    let has_part = |set: Broken| sets.iter().any(|&part| part != set && part & set == part);
    sets.iter().copied().filter(|&set| !has_part(set)).collect()
}

fn sorted(sets: &[Broken]) -> Vec<Vec<&'static str>> {
    let mut list: Vec<Vec<&str>> = sets
        .iter()
        .map(|&set| {
            let mut names = names(set);
            names.sort_unstable();
            names
        })
        .collect();
    list.sort();
    list
}

fn log_prior(set: Broken) -> f64 {
    (0..BOXES.len()).map(|index| if is_broken(set, index) { PRIOR.ln() } else { (1.0 - PRIOR).ln() }).sum()
}

/// What a point would show under a set: values with their probabilities.
fn answers(set: Broken, point: usize) -> BTreeMap<usize, f64> {
    let worlds = worlds(set, &F_AND_G);
    let mut answers = BTreeMap::new();
    for shown in &worlds {
        *answers.entry(shown[point]).or_default() += 1.0 / worlds.len() as f64;
    }
    answers
}

/// Gain in bits of measuring a point, each set a class of its own.
fn gain_bits(sets: &[Broken], shares: &[f64], point: usize) -> f64 {
    let weights: Vec<(f64, usize)> = shares.iter().enumerate().map(|(class, &share)| (share, class)).collect();
    let answers: Vec<BTreeMap<usize, f64>> = sets.iter().map(|&set| answers(set, point)).collect();
    expected_gain_of_answers(&weights, &answers) / LN_2
}

fn entropy_bits(shares: &[f64]) -> f64 {
    entropy(shares.iter().copied()) / LN_2
}

fn stored_sets(value: &Value, key: &str) -> Vec<Vec<String>> {
    list(value, key)
        .iter()
        .map(|set| {
            let mut names: Vec<String> = set.as_array().unwrap().iter().map(|n| n.as_str().unwrap().into()).collect();
            names.sort();
            names
        })
        .collect()
}

#[test]
fn candidates_are_the_published_ones() {
    let before = consistent(&F_AND_G);
    assert_eq!(before.len(), 27);
    assert_eq!(sorted(&minimal(&before)), [vec!["A1"], vec!["A2", "M2"], vec!["M1"], vec!["M2", "M3"]]);
    let after = consistent(&Y_TOO);
    let published = [["A1", "A2", "M2"], ["A1", "M2", "M3"], ["A2", "M1", "M2"], ["M1", "M2", "M3"]];
    assert_eq!(sorted(&minimal(&after)), published);
    let stored = &reference()["polybox"];
    for (sets, key) in [(&before, "consistent"), (&after, "consistent_after_y_is_5")] {
        let mut expected = stored_sets(stored, key);
        expected.sort();
        assert_eq!(sorted(sets), expected, "{key}");
    }
}

#[test]
fn posterior_and_entropies_over_the_minimal_candidates() {
    let sets = minimal(&consistent(&F_AND_G));
    // Each unknown output follows from what was observed, so that a set's weight is its prior.
    let shares = probabilities(&sets.iter().map(|&set| log_prior(set)).collect::<Vec<_>>());
    for (set, share) in sets.iter().zip(&shares) {
        let expected = if set.count_ones() == 1 { 0.495 } else { 0.005 };
        assert!((share - expected).abs() < 1e-12, "{:?}: {share}", names(*set));
    }
    assert!((entropy_bits(&shares) - 1.080_793_1).abs() < 5e-8);
    for (point, left) in [(0, 0.080_865_3), (1, 1.0), (2, 1.035_378_4)] {
        let found = entropy_bits(&shares) - gain_bits(&sets, &shares, point);
        assert!((found - left).abs() < 5e-8, "after {}: {found} bits", POINTS[point]);
    }
}

#[test]
fn posterior_and_entropies_over_all_fault_sets() {
    let sets: Vec<Broken> = (0..1 << BOXES.len()).collect();
    let log_weight = |set: Broken| {
        let likelihood = worlds(set, &F_AND_G).len() as f64 / OUTPUTS.pow(set.count_ones()) as f64;
        log_prior(set) + likelihood.ln()
    };
    let shares = probabilities(&sets.iter().map(|&set| log_weight(set)).collect::<Vec<_>>());
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    let stored = &reference()["polybox"]["over_all"];
    let expected: BTreeMap<Vec<String>, f64> = stored_sets(stored, "sets")
        .into_iter()
        .zip(list(stored, "posterior").iter().map(|share| share.as_f64().unwrap()))
        .collect();
    assert_eq!(expected.len(), 32);
    for (&set, share) in sets.iter().zip(&shares) {
        let mut key: Vec<String> = names(set).into_iter().map(String::from).collect();
        key.sort();
        assert!((share - expected[&key]).abs() < 1e-12, "{key:?}: {share}, NumPy {}", expected[&key]);
    }
    assert!((entropy_bits(&shares) - 1.071_306_9).abs() < 5e-8);
    // The sets without any weight need no answers.
    let (sets, shares): (Vec<Broken>, Vec<f64>) =
        sets.into_iter().zip(shares).filter(|&(_, share)| share > 0.0).unzip();
    assert_eq!(sets.len(), 27);
    for (point, published) in [(0, 0.038_302_9), (1, 1.063_543_5), (2, 1.066_986_2)] {
        let found = entropy_bits(&shares) - gain_bits(&sets, &shares, point);
        let exact = number(&stored["expected_entropy_bits"], POINTS[point]);
        assert!((found - published).abs() < 5e-8 && (found - exact).abs() < 1e-9, "after {}: {found}", POINTS[point]);
    }
}

#[test]
fn x_is_the_best_next_measurement() {
    let sets = minimal(&consistent(&F_AND_G));
    let shares = probabilities(&sets.iter().map(|&set| log_prior(set)).collect::<Vec<_>>());
    let best = (0..3).max_by(|&a, &b| gain_bits(&sets, &shares, a).total_cmp(&gain_bits(&sets, &shares, b)));
    assert_eq!(best.map(|point| POINTS[point]), Some("X"));
}

#[test]
fn what_x_shows_leaves_the_published_candidates() {
    let after = |observed: &[(usize, usize)]| {
        let both: Vec<(usize, usize)> = F_AND_G.iter().chain(observed).copied().collect();
        let candidates = minimal(&consistent(&F_AND_G));
        sorted(&candidates.into_iter().filter(|&set| !worlds(set, &both).is_empty()).collect::<Vec<_>>())
    };
    assert_eq!(after(&[(0, 4)]), [vec!["M1"]]);
    assert_eq!(after(&[(0, 6)]), [vec!["A1"], vec!["A2", "M2"], vec!["M2", "M3"]]);
    assert_eq!(after(&[(1, 6)]), [vec!["A1"], vec!["M1"]]);
    assert_eq!(after(&[(1, 4)]), [vec!["A2", "M2"], vec!["M2", "M3"]]);
}
