//! Checks what a reading is expected to tell against SciPy's adaptive quadrature of the same mixtures of normal
//! distributions (`reference/inference.py`), and by laws of information theory (Cover and Thomas, chapter 2).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{list, number, reference, text};
use diagnosis::information::{Forecast, density, entropy, expected_gain, expected_gain_of_answers};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn stored_forecasts(entry: &serde_json::Value) -> Vec<Forecast> {
    list(entry, "forecasts")
        .iter()
        .map(|forecast| Forecast {
            weight: number(forecast, "weight"),
            class: usize::try_from(forecast["class"].as_u64().unwrap()).unwrap(),
            mean: forecast["mean"].as_f64().unwrap_or(f64::INFINITY),
            sigma: number(forecast, "sigma"),
        })
        .collect()
}

#[test]
fn expected_gain_is_that_of_quadrature() {
    let reference = reference();
    let entries = list(&reference, "gains");
    assert_eq!(entries.len(), 12);
    for entry in entries {
        let forecasts = stored_forecasts(entry);
        let (found, exact) = (expected_gain(&forecasts, 0.0), number(entry, "gain_nats"));
        // Five nodes per suspect are exact for polynomials of the ninth degree. The entropy that a value leaves is a
        // smooth step between two suspects and not quite one: the worst here is off by 0.023 nats, a thirtieth of a bit.
        assert!((found - exact).abs() < 0.03, "{}: {found}, SciPy {exact}", text(entry, "name"));
    }
}

#[test]
fn gain_of_values_that_cannot_overlap_is_exact() {
    // Nothing is lost to quadrature where every value names its suspect, or none does.
    for entry in list(&reference(), "gains") {
        let exact = number(entry, "gain_nats");
        if ["well separated", "identical", "open or a number", "open from two classes"].contains(&text(entry, "name")) {
            let found = expected_gain(&stored_forecasts(entry), 0.0);
            assert!((found - exact).abs() < 1e-10, "{}: {found}, SciPy {exact}", text(entry, "name"));
        }
    }
}

#[test]
fn readings_that_tell_nothing_take_their_share_of_the_gain() {
    for entry in list(&reference(), "gains") {
        let forecasts = stored_forecasts(entry);
        let (whole, less) = (expected_gain(&forecasts, 0.0), expected_gain(&forecasts, 0.03));
        assert!((less - 0.97 * whole).abs() < 1e-12, "{}: {less} of {whole}", text(entry, "name"));
        assert_eq!(expected_gain(&forecasts, 1.0), 0.0);
    }
}

#[test]
fn the_two_coin_anchor() {
    // Prior 0.4, chances 0.25 and 0.75: H(0.45) - H(0.25) = 0.125804 nats. The same question is asked of seven estimators
    // of information gain in the test suite of a public probabilistic-programming library; the figure is recomputed by
    // hand here.
    let h = |p: f64| -p * p.ln() - (1.0 - p) * (1.0 - p).ln();
    let by_hand = h(0.45) - h(0.25);
    assert!((by_hand - 0.125_804).abs() < 5e-7);
    let answers = [BTreeMap::from([(0, 0.75), (1, 0.25)]), BTreeMap::from([(0, 0.25), (1, 0.75)])];
    let found = expected_gain_of_answers(&[(0.6, 0), (0.4, 1)], &answers);
    assert!((found - by_hand).abs() < 1e-12, "{found}");
}

#[test]
fn entropy_of_known_distributions() {
    let cases: [(&[f64], f64); 5] = [
        (&[0.25; 4], 4f64.ln()),
        (&[2.0, 2.0], 2f64.ln()),
        (&[1.0, 0.0], 0.0),
        (&[], 0.0),
        // Cover and Thomas, example 2.1.2: 1.75 bits.
        (&[0.5, 0.25, 0.125, 0.125], 1.75 * std::f64::consts::LN_2),
    ];
    for (shares, expected) in cases {
        assert!((entropy(shares.iter().copied()) - expected).abs() < 1e-12, "{shares:?}");
    }
}

#[test]
fn open_and_numbers_never_meet() {
    let number = Forecast { weight: 0.5, class: 0, mean: 34.0, sigma: 1.0 };
    let open = Forecast { mean: f64::INFINITY, ..number };
    assert_eq!(density(&number, f64::INFINITY), 0.0);
    assert_eq!(density(&open, 34.0), 0.0);
    assert_eq!(density(&open, f64::INFINITY), 1.0);
    assert!((density(&number, 35.0) - 0.241_970_724_519_143_37).abs() < 1e-15);
}

fn forecasts() -> impl Strategy<Value = Vec<Forecast>> {
    let mean = prop_oneof![4 => -50.0..50.0f64, 1 => Just(f64::INFINITY)];
    let forecast = (1e-6..1.0f64, 0..4usize, mean, 0.05..20.0f64).prop_map(|(weight, class, mean, sigma)| Forecast {
        weight,
        class,
        mean,
        sigma,
    });
    prop::collection::vec(forecast, 1..9)
}

fn class_entropy(forecasts: &[Forecast]) -> f64 {
    let mut shares = [0.0; 4];
    for forecast in forecasts {
        shares[forecast.class] += forecast.weight;
    }
    entropy(shares)
}

proptest! {
    #[test]
    fn gain_lies_between_nothing_and_the_whole_entropy(forecasts in forecasts(), gross in 0.0..1.0f64) {
        let gain = expected_gain(&forecasts, gross);
        prop_assert!(gain >= 0.0, "{gain}");
        prop_assert!(gain <= (1.0 - gross) * class_entropy(&forecasts) + 1e-12, "{gain}");
    }

    #[test]
    fn gain_does_not_depend_on_units_order_or_scale_of_weights(
        forecasts in forecasts(),
        unit in 0.01..100.0f64,
        scale in 0.1..10.0f64,
    ) {
        let gain = expected_gain(&forecasts, 0.0);
        let mut other: Vec<Forecast> = forecasts
            .iter()
            .map(|f| Forecast { weight: f.weight * scale, mean: f.mean * unit, sigma: f.sigma * unit, ..*f })
            .collect();
        other.reverse();
        prop_assert!((expected_gain(&other, 0.0) - gain).abs() < 1e-9);
    }

    #[test]
    fn a_suspect_told_twice_at_half_its_weight_is_the_same_suspect(forecasts in forecasts(), pick in any::<prop::sample::Index>()) {
        let mut twice = forecasts.clone();
        let at = pick.index(twice.len());
        twice[at].weight *= 0.5;
        twice.push(twice[at]);
        prop_assert!((expected_gain(&twice, 0.0) - expected_gain(&forecasts, 0.0)).abs() < 1e-9);
    }

    #[test]
    fn suspects_of_one_class_leave_nothing_to_learn(forecasts in forecasts()) {
        let alike: Vec<Forecast> = forecasts.iter().map(|f| Forecast { class: 2, ..*f }).collect();
        prop_assert!(expected_gain(&alike, 0.0).abs() < 1e-12);
    }

    #[test]
    fn answers_tell_what_both_ways_of_counting_say(
        weights in prop::collection::vec((0.01..1.0f64, 0..3usize), 1..6),
        chances in prop::collection::vec(prop::collection::vec(0.01..1.0f64, 3), 6),
    ) {
        // I(class; answer) = H(class) - H(class | answer) = H(answer) - H(answer | class) (Cover and Thomas, 2.4).
        let answers: Vec<BTreeMap<usize, f64>> = chances
            .iter()
            .take(weights.len())
            .map(|row| row.iter().enumerate().map(|(answer, chance)| (answer, chance / row.iter().sum::<f64>())).collect())
            .collect();
        let total: f64 = weights.iter().map(|(weight, _)| weight).sum();
        let joint = |class: Option<usize>| {
            let mut shares = [0.0; 3];
            for ((weight, _), map) in weights.iter().zip(&answers).filter(|((_, own), _)| class.is_none_or(|c| c == *own)) {
                for (&answer, chance) in map {
                    shares[answer] += weight / total * chance;
                }
            }
            shares
        };
        let given_class: f64 = (0..3).map(|class| joint(Some(class)).iter().sum::<f64>() * entropy(joint(Some(class)))).sum();
        let other_way = entropy(joint(None)) - given_class;
        let gain = expected_gain_of_answers(&weights, &answers);
        prop_assert!((gain - other_way).abs() < 1e-10, "{gain}, the other way {other_way}");
    }
}
