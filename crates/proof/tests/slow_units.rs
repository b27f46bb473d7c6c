//! Units that warm for hours: no pass while most of the slow part is still to come, and intervals that hold where it ends.
//! Logs are sums of exponentials, so that the end is known in closed form.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::heat_run::forecast::Series;
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::{Judgement, Verdict, judge};

const ROOM: f64 = 22.0;
const END: f64 = 100.0;

/// One reading a minute in steps of 0.1 K with some 0.2 K of noise; `parts` are shares of the rise with their minutes.
fn judged(parts: &[(f64, f64)], minutes: u32, seed: u32, limit: f64) -> Judgement {
    let mut state = seed.wrapping_mul(2_654_435_761).wrapping_add(1);
    // Sum of three even numbers: standard deviation 0.5.
    let mut noise = || {
        let mut even = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24) - 0.5
        };
        even() + even() + even()
    };
    let minutes: Vec<f64> = (0..=minutes).map(f64::from).collect();
    let rise =
        |minute: f64| -> f64 { parts.iter().map(|(share, constant)| share * (1.0 - (-minute / constant).exp())).sum() };
    let celsius = minutes.iter().map(|&minute| ROOM + (END - ROOM) * rise(minute) + 0.4 * noise());
    let celsius = celsius.map(|value| (value * 10.0).round() / 10.0).collect();
    let room = Some(vec![ROOM; minutes.len()]);
    let series = Series { minutes, celsius, room, resolution_kelvin: 0.1 };
    let limit = Limit { celsius: limit, words: "limit".into(), source: "test".into(), room_celsius: None };
    judge(&series, Some(&limit), None, &Default::default())
}

/// A third of the rise comes over 5 to 8 h: after an hour or two everything quick has settled, and it looks well.
#[test]
fn a_slow_cabinet_does_not_pass_a_limit_that_it_will_break() {
    for (share, slow, main) in [(0.3, 480.0, 25.0), (0.3, 300.0, 25.0), (0.2, 360.0, 30.0), (0.35, 360.0, 40.0)] {
        let parts = [(0.12, 3.0), (0.88 - share, main), (share, slow)];
        for minutes in [60, 90, 120, 180] {
            for seed in 0..4 {
                let verdict = judged(&parts, minutes, seed, 96.0).verdict;
                assert_ne!(verdict, Verdict::Pass, "{share} of it over {slow} minutes, after {minutes}, seed {seed}");
            }
        }
    }
}

/// The winding of a large unit takes a third of an hour to warm against its core, and the core hours: early on the winding alone
/// looks like the whole of a usual unit. Of twelve intervals of 95 % one may end too low.
#[test]
fn the_winding_of_a_large_unit_is_not_taken_for_a_small_one() {
    let logs = [65, 90].into_iter().flat_map(|minutes| (0..6).map(move |seed| (minutes, seed)));
    let ends_too_low = logs.filter(|&(minutes, seed)| {
        let found = judged(&[(0.5, 20.0), (0.5, 250.0)], minutes, seed, 96.0);
        assert_ne!(found.verdict, Verdict::Pass, "after {minutes}, seed {seed}");
        found.forecast.as_ref().unwrap().interval(0.95).1 < END
    });
    assert!(ends_too_low.count() <= 1);
}

/// Nobody is told too little; of a rise that is one exponential to the end, which no machine's is, up to 3 K too much.
#[test]
fn one_exponential_of_hours_does_not_end_above_its_interval() {
    for constant in [180.0, 360.0] {
        for minutes in [60, 120, 240, 420] {
            let found = judged(&[(1.0, constant)], minutes, 1, 96.0);
            let (low, high) = found.forecast.as_ref().unwrap().interval(0.95);
            assert!(END < high && low < END + 3.0, "{constant} minutes, after {minutes}: {low} to {high}");
            assert_ne!(found.verdict, Verdict::Pass, "{constant} minutes, after {minutes}");
        }
    }
}

/// And one whose slow part is small passes with a limit well above, in the end.
#[test]
fn a_long_enough_run_of_a_slow_unit_passes() {
    assert_eq!(judged(&[(0.3, 3.0), (0.7, 120.0)], 600, 1, 115.0).verdict, Verdict::Pass);
}

/// A thermocouple of class 1 may be 1.5 K off (IEC 60584-1, from memory): what has long come to rest passes no limit that is
/// nearer, and does not fail it either.
#[test]
fn what_a_sensor_cannot_tell_is_no_pass() {
    for (limit, verdict) in [(END + 3.0, Verdict::Pass), (END + 1.2, Verdict::NotYet), (END - 3.0, Verdict::Fail)] {
        assert_eq!(judged(&[(1.0, 25.0)], 420, 1, limit).verdict, verdict, "{limit}");
    }
}
