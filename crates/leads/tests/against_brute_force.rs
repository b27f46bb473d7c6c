//! Posterior probabilities against those of reference/leads.py, which enumerates every permutation and integrates the ohms
//! of the sections by importance sampling.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod common;

use common::{OPEN, case, stations};
use leads::{Known, Motor, infer};
use serde_json::Value as Json;

/// The error of sampling of the reference, 0.011 between two answers that are alike by symmetry, and what the normal
/// approximation about each fit leaves out. The largest difference measured is 0.012.
const TOLERANCE: f64 = 0.015;

fn motor(word: &str) -> Motor {
    Motor::ALL.into_iter().find(|motor| motor.as_str() == word).unwrap()
}

#[test]
fn probabilities_agree_with_brute_force() {
    let data: Json = serde_json::from_str(include_str!("data/posteriors.json")).unwrap();
    let mut worst: f64 = 0.0;
    for entry in data["cases"].as_array().unwrap() {
        let known = Known {
            motor: entry["known"]["motor"].as_str().map(motor),
            speeds: entry["known"]["speeds"].as_u64().map(|speeds| speeds as usize),
            ..Known::default()
        };
        let readings: Vec<(usize, usize, f64)> = entry["readings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| {
                let lead = |at: usize| row[at].as_u64().unwrap() as usize;
                (lead(0), lead(1), row[2].as_f64().unwrap_or(OPEN))
            })
            .collect();
        let found = infer(&case(entry["leads"].as_u64().unwrap() as usize, known, &readings)).unwrap();
        let name = entry["name"].as_str().unwrap();
        for expected in entry["answers"].as_array().unwrap() {
            let places: Vec<(String, Vec<usize>)> = serde_json::from_value(expected["stations"].clone()).unwrap();
            let probability = expected["probability"].as_f64().unwrap();
            let ours = (0..found.answers.len())
                .find(|&answer| stations(&found, answer) == places)
                .map_or(0.0, |answer| found.answers[answer].probability);
            worst = worst.max((ours - probability).abs());
            assert!((ours - probability).abs() < TOLERANCE, "{name}: {places:?} {probability} but {ours}");
        }
        assert!((found.none_of_these - entry["none_of_these"].as_f64().unwrap()).abs() < TOLERANCE, "{name}");
    }
    println!("largest difference {worst:.5}");
}
