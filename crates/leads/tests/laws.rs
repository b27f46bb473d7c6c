//! Laws: names of leads do not matter, probabilities add up, agreement never excludes, symmetries count every way once.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{OPEN, case, has, stations};
use leads::arrangements::arrangements;
use leads::symmetry::{distinct_assignments, distinct_breaks, symmetries};
use leads::{Known, Motor, infer};
use proptest::prelude::*;

/// Ohms as some motor of three or four leads might show them, and as none does.
fn any_readings(leads: usize) -> impl Strategy<Value = Vec<(usize, usize, f64)>> {
    let one =
        (0..leads, 1..leads, prop_oneof![4 => (0.0f64..4.0).prop_map(|log| 10f64.powf(log - 1.0)), 1 => Just(OPEN)]);
    proptest::collection::vec(one.prop_map(move |(a, by, ohms)| (a, (a + by) % leads, ohms)), 1..6)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn probabilities_add_up_to_one(readings in any_readings(3)) {
        let found = infer(&case(3, Known::default(), &readings)).unwrap();
        let total: f64 = found.answers.iter().map(|answer| answer.probability).sum::<f64>() + found.none_of_these;
        prop_assert!((total - 1.0).abs() < 1e-9, "{}", total);
        prop_assert!(found.wrong.iter().all(|wrong| (0.0..=1.0).contains(wrong)));
    }

    #[test]
    fn relabelling_the_leads_only_relabels_the_answer(readings in any_readings(4), turn in 1usize..4) {
        let known = Known { motor: Some(Motor::SplitPhase), ..Known::default() };
        let moved: Vec<_> = readings.iter().map(|&(a, b, ohms)| ((a + turn) % 4, (b + turn) % 4, ohms)).collect();
        let (one, other) = (infer(&case(4, known, &readings)).unwrap(), infer(&case(4, known, &moved)).unwrap());
        for answer in (0..one.answers.len()).filter(|&answer| one.answers[answer].probability > 1e-3) {
            let mut turned: Vec<_> = stations(&one, answer)
                .into_iter()
                .map(|(role, leads)| {
                    let mut leads: Vec<usize> = leads.into_iter().map(|lead| (lead + turn) % 4).collect();
                    leads.sort_unstable();
                    (role, leads)
                })
                .collect();
            turned.sort();
            let same = (0..other.answers.len()).find(|&index| stations(&other, index) == turned);
            let probability = same.map_or(0.0, |index| other.answers[index].probability);
            prop_assert!((probability - one.answers[answer].probability).abs() < 1e-4);
        }
    }

    #[test]
    fn a_reading_that_agrees_never_makes_the_leading_answer_impossible(main in 0.5f64..20.0, ratio in 1.2f64..5.0) {
        let known = Known { motor: Some(Motor::Compressor), ..Known::default() };
        let round = |ohms: f64| (10.0 * ohms).round() / 10.0;
        let mut readings = vec![(0, 1, round(main)), (0, 2, round(main * ratio))];
        let before = infer(&case(3, known, &readings)).unwrap();
        let leader = stations(&before, 0);
        // What the leading answer says of the third pair, by the sum rule or its inverse.
        let expected = leads::outlook::outlook(&before, &before.hypotheses[0], &[(1, 2)]).unwrap()[0].ohms;
        readings.push((1, 2, round(expected)));
        let after = infer(&case(3, known, &readings)).unwrap();
        let kept = (0..after.answers.len()).find(|&answer| stations(&after, answer) == leader).unwrap();
        prop_assert!(after.answers[kept].probability > 0.3 * before.answers[0].probability);
    }
}

#[test]
fn every_way_of_placing_leads_is_counted_once() {
    // Permutations over symmetries, by hand: three pairs and a star of three have 3! 2^3 3! = 288, three corners with two
    // ends each 3! 2^3 = 48, a star of three lines 3! = 6, common with run and start none.
    let count = |leads: usize, words: &str| {
        let all = arrangements(&Known::default(), leads);
        let arrangement = all.iter().find(|arrangement| arrangement.words.starts_with(words)).unwrap();
        let found = symmetries(arrangement, leads::arrangement::Break::None);
        (found.len(), distinct_assignments(&found, leads).len())
    };
    assert_eq!(count(9, "nine leads in star"), (288, 1260));
    assert_eq!(count(9, "nine leads in delta"), (48, 7560));
    assert_eq!(count(3, "star inside"), (6, 1));
    assert_eq!(count(3, "run and start winding joined"), (1, 6));
    assert_eq!(count(6, "three phases, both ends"), (48, 15));
    for leads in 3..=9 {
        for arrangement in arrangements(&Known::default(), leads) {
            let all = arrangement.sections.len() + arrangement.lead_count() + 1;
            let counted: usize = distinct_breaks(&arrangement).iter().map(|&(_, count)| count).sum();
            assert_eq!(counted, all, "{}", arrangement.words);
        }
    }
}

#[test]
fn published_windings_are_told_by_their_sums() {
    // Published pairs of run and start ohms (service manuals, as in docs/leads-file.md): common to run, common to start; run
    // to start is their sum, as published.
    let known = |motor| Known { motor: Some(motor), ..Known::default() };
    for (motor, run, start) in [
        (Motor::Compressor, 4.0, 11.0),
        (Motor::WellPump, 4.0, 5.2),
        (Motor::WellPump, 4.7, 18.5),
        (Motor::WellPump, 2.7, 5.1),
        (Motor::WellPump, 2.2, 3.6),
        (Motor::WellPump, 1.5, 2.6),
        (Motor::WellPump, 1.1, 2.1),
        (Motor::Compressor, 2.92, 15.1),
        (Motor::Compressor, 2.38, 12.15),
        (Motor::Compressor, 1.42, 1.93),
    ] {
        // Lead 2 is common, 0 run, 1 start.
        let found = infer(&case(3, known(motor), &[(2, 0, run), (2, 1, start), (0, 1, run + start)])).unwrap();
        for (role, lead) in [("common", 2), ("run", 0), ("start", 1)] {
            assert!(has(&found, 0, role, &[lead]), "{motor:?} {run} {start}");
        }
        let least = if run < 2.0 { 0.8 } else { 0.9 };
        assert!(found.answers[0].probability > least, "{run} {start}: {}", found.answers[0].probability);
    }
}

#[test]
fn the_published_tap_ladder_is_told_from_fast_to_slow() {
    // A published three-speed circulator at 115 V: 7.55, 10.54, 14.10 ohms from common, and a start winding, which that maker
    // does not bring out, of 1.5 times the main (ours).
    let readings = [(0, 1, 7.55), (0, 2, 10.54), (0, 3, 14.10), (0, 4, 11.3), (1, 4, 18.85), (3, 4, 25.4)];
    let found = infer(&case(5, Known { motor: Some(Motor::CapacitorRun), ..Known::default() }, &readings)).unwrap();
    for (role, lead) in [("common", 0), ("fast", 1), ("medium", 2), ("slow", 3), ("start", 4)] {
        assert!(has(&found, 0, role, &[lead]), "{role}");
    }
    assert!(found.answers[0].probability > 0.9, "{}", found.answers[0].probability);
}

#[test]
fn an_open_overload_leaves_run_and_start_apart() {
    // Published: common to run and common to start open, run to start still reads.
    let known = Known { motor: Some(Motor::Compressor), ..Known::default() };
    let found = infer(&case(3, known, &[(0, 1, OPEN), (0, 2, OPEN), (1, 2, 15.0)])).unwrap();
    assert_eq!(found.roles(0, 0.0)[0].0, "common");
    assert!(found.roles(0, 0.0)[0].1 > 0.6);
    assert!((found.answers[0].probability - found.answers[1].probability).abs() < 1e-9, "which is run stays open");
    assert!(leads::apart::apart(&found, 0, 1).unwrap().is_none(), "and no ohms tell them apart");
}

#[test]
fn star_and_delta_are_one_answer_with_two_values() {
    let known = Known { motor: Some(Motor::ThreePhase), ..Known::default() };
    let found = infer(&case(3, known, &[(0, 1, 8.0), (0, 2, 8.0), (1, 2, 8.0)])).unwrap();
    assert_eq!(found.answers.len(), 1);
    let forms = leads::forms::forms(&found, 0, 0.02);
    assert_eq!(forms.len(), 2);
    // Star: half of what is read; delta: one and a half times.
    let ohms: Vec<f64> = forms.iter().map(|form| form.sections[0].ohms).collect();
    assert!(
        ohms.iter().any(|ohms| (ohms - 4.0).abs() < 0.1) && ohms.iter().any(|ohms| (ohms - 12.0).abs() < 0.3),
        "{ohms:?}"
    );
}

#[test]
fn before_all_else_any_pair_and_afterwards_the_one_that_tells_most() {
    let known = Known { motor: Some(Motor::Compressor), ..Known::default() };
    let error = infer(&case(3, known, &[])).unwrap_err().to_string();
    assert!(error.contains("measure lead 0 to lead 1 first"), "{error}");
    let found = infer(&case(3, known, &[(0, 1, 4.0)])).unwrap();
    let next = leads::next::next_pairs(&found).unwrap();
    assert!(!next[0].again && next[0].bits > 0.3, "{next:?}");
    assert!(next.iter().find(|pair| pair.again).unwrap().bits < next[0].bits);
}
