//! Stops that only a temperature shows. Logs are closed forms: a body of several modes, each an exponential towards what it has
//! while on or off (superposition of first-order linear systems; e.g. Incropera and DeWitt, Fundamentals of Heat and Mass
//! Transfer, 5.1, lumped capacitance).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::heat_run::finding::{Asked, Finding, find};
use proof::heat_run::forecast::Series;
use proof::heat_run::import::oddity::Kind;
use proof::heat_run::import::{Log, Options, read};
use proof::heat_run::limit::Limit;
use proof::heat_run::stops::falls;
use proof::heat_run::verdict::{Verdict, Withheld};
use proof::heat_run::words::{Scale, cycling_words, verdict_words};
use proptest::prelude::*;

const ROOM: f64 = 20.0;
/// Kelvins and seconds of the modes of a winding on its iron (check values 9: 75 K, 36.15 s and 663.85 s), and of a shell.
const WINDING: &[(f64, f64)] = &[(24.356, 36.1529), (50.644, 663.847)];
const SHELL: &[(f64, f64)] = &[(40.0, 2700.0)];

/// Degrees Celsius at a time after switching on; `stops` are minutes from which to which the unit is off.
fn celsius(modes: &[(f64, f64)], stops: &[(f64, f64)], minute: f64) -> f64 {
    let edges = stops.iter().flat_map(|&(off, on)| [(off, false), (on, true)]);
    let rise = |&(kelvin, seconds): &(f64, f64)| {
        let towards = |is_on: bool| if is_on { kelvin } else { 0.0 };
        let (mut level, mut since, mut is_on) = (0.0, 0.0, true);
        let go = |level: f64, is_on: bool, minutes: f64| {
            towards(is_on) + (level - towards(is_on)) * (-60.0 * minutes / seconds).exp()
        };
        for (edge, after) in edges.clone().filter(|&(edge, _)| edge <= minute) {
            level = go(level, is_on, edge - since);
            (since, is_on) = (edge, after);
        }
        go(level, is_on, minute - since)
    };
    ROOM + modes.iter().map(rise).sum::<f64>()
}

fn log(minutes: f64, every_seconds: f64, of: impl Fn(usize, f64) -> f64) -> Log {
    let rows = (60.0 * minutes / every_seconds) as usize;
    let row = |row: usize| {
        let minute = row as f64 * every_seconds / 60.0;
        format!("{minute},{:.1}\n", of(row, minute))
    };
    let text: String = std::iter::once("t [min],winding [°C]\n".to_owned()).chain((0..=rows).map(row)).collect();
    read(text.as_bytes(), &Options::default()).unwrap()
}

fn judged(log: &Log) -> Finding {
    let limit = Limit { celsius: 180.0, words: "limit".into(), source: "test".into(), room_celsius: None };
    find(log, &Asked { limit: Some(limit), ..Asked::default() }).unwrap()
}

fn series(log: &Log) -> Series {
    let (minutes, celsius) = log.channels[0].bins.means().map(|(seconds, value)| (seconds / 60.0, value)).unzip();
    Series { minutes, celsius, ..Series::default() }
}

fn has(log: &Log, kind: Kind) -> bool {
    log.oddities.iter().any(|oddity| oddity.kind == kind)
}

#[test]
fn a_cutout_that_opens_once_is_a_stop_with_its_minutes() {
    for (modes, off, on) in
        [(WINDING, 40.0, 48.0), (WINDING, 90.0, 150.0), (WINDING, 61.0, 65.0), (SHELL, 100.0, 125.0)]
    {
        for every in [10.0, 30.0, 60.0, 120.0] {
            let log = log(400.0, every, |_, minute| celsius(modes, &[(off, on)], minute));
            let case = format!("{} modes, off {off} to {on}, every {every} s: {:?}", modes.len(), log.oddities);
            assert!(!has(&log, Kind::SensorLost) && !has(&log, Kind::Implausible), "{case}");
            let found = judged(&log);
            let cycling = found.cycling.clone().expect(&case);
            assert_eq!((cycling.stops, cycling.shown_by.as_deref()), (1, Some("winding")), "{case}");
            let (from, until) = cycling.when[0];
            // What lags behind its heat tells a few minutes late.
            let late = if modes.len() == 1 { 5.0 } else { 1.5 + every / 60.0 };
            assert!((off - 1.5 - every / 60.0..off + late).contains(&from), "{case}: {from}");
            assert!((on - 1.5 - every / 60.0..on + late).contains(&until.unwrap()), "{case}: {until:?}");
            assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::Interrupted), "{case}");
            assert_eq!(found.verdict, Verdict::NotYet, "{case}");
            // What is judged begins where it went on, as with a current.
            let judged = found.channels[0].judgement.minutes;
            assert!((judged - (400.0 - until.unwrap())).abs() < 0.1 + every / 30.0, "{case}: {judged}");
        }
    }
}

#[test]
fn several_stops_are_cycling_with_their_period() {
    // 24 minutes on, 11 off.
    let stops: Vec<(f64, f64)> =
        (0..8).map(|stop| 24.0 + 35.0 * f64::from(stop)).map(|off| (off, off + 11.0)).collect();
    for every in [15.0, 60.0] {
        let log = log(290.0, every, |_, minute| celsius(WINDING, &stops, minute));
        assert!(log.oddities.is_empty(), "{:?}", log.oddities);
        let found = judged(&log);
        let cycling = found.cycling.clone().unwrap();
        assert_eq!(cycling.stops, 8, "{cycling:?}");
        assert!((cycling.period_minutes.unwrap() - 35.0).abs() < 0.5, "{cycling:?}");
        let (opens, closes) = (celsius(WINDING, &stops, 94.0), celsius(WINDING, &stops, 105.0));
        assert!((cycling.opens_celsius.unwrap() - opens).abs() < 2.0, "{opens}: {cycling:?}");
        assert!((cycling.closes_celsius.unwrap() - closes).abs() < 2.0, "{closes}: {cycling:?}");
        let words = cycling_words(&cycling, Scale::CELSIUS);
        assert!(words.starts_with("The unit stopped 8 times: winding fell as it does when off"), "{words}");
        // Of this many rows some share a mean, which puts a turn off by a minute.
        let near = |(from, until): (f64, Option<f64>), (off, on): (f64, f64)| {
            (from - off).abs() < 1.6 && (until.unwrap() - on).abs() < 1.6
        };
        assert!(cycling.when.iter().zip(&stops).all(|(&when, &stop)| near(when, stop)), "{cycling:?}");
        assert!(words.contains("about every 35 minutes") && words.contains(", and so on"), "{words}");
        let words = verdict_words(&found.channels[0], Scale::CELSIUS);
        let (from, until) = cycling.when[0];
        let said =
            format!("from minute {from:.0} on the temperature fell, and rose again from minute {:.0}", until.unwrap());
        assert!(words.contains(&said), "{words}");
        assert_eq!(found.verdict, Verdict::NotYet);
    }
}

#[test]
fn a_stop_seen_by_one_sensor_is_one_of_all() {
    let stops = [(100.0, 106.0)];
    let row = |minute: f64| {
        let (winding, shell) = (celsius(WINDING, &stops, minute), celsius(SHELL, &[], minute));
        format!("{minute},{winding:.1},{shell:.1}\n")
    };
    let rows = (0..=400).map(f64::from).map(row);
    let text: String = std::iter::once("t [min],winding [°C],shell [°C]\n".to_owned()).chain(rows).collect();
    let found = judged(&read(text.as_bytes(), &Options::default()).unwrap());
    assert!(found.channels.iter().all(|channel| channel.judgement.withheld == Some(Withheld::Interrupted)));
    assert!(found.channels.iter().all(|channel| (channel.interrupted.unwrap().minute - 100.0).abs() < 1.5));
}

#[test]
fn a_tap_on_the_sensor_is_no_stop() {
    for kelvin in [4.0, 8.0, 25.0, 45.0] {
        for rows in [1, 2] {
            for every in [10.0_f64, 60.0] {
                let row = (6000.0 / every) as usize;
                let log = log(180.0, every, |at, minute| {
                    let tapped = (row..row + rows).contains(&at);
                    celsius(WINDING, &[], minute) - if tapped { kelvin / (1.0 + (at - row) as f64) } else { 0.0 }
                });
                let found = judged(&log);
                assert!(!has(&log, Kind::SensorLost), "{kelvin} K, {rows} rows, {every} s");
                assert_eq!(found.cycling, None, "{kelvin} K, {rows} rows, {every} s");
                assert_eq!(found.channels[0].interrupted, None, "{kelvin} K, {rows} rows, {every} s");
                assert_eq!(found.verdict, Verdict::Pass, "{kelvin} K, {rows} rows, {every} s");
            }
        }
    }
}

/// A bead in air: four seconds.
#[test]
fn a_sensor_that_comes_off_is_no_stop() {
    for every in [5.0, 10.0, 60.0, 300.0] {
        for back in [f64::INFINITY, 180.0] {
            let log = log(300.0, every, |_, minute| {
                let on = celsius(WINDING, &[], minute);
                if (120.0..back).contains(&minute) {
                    return 23.0 + (on - 23.0) * (-60.0 * (minute - 120.0 + every / 60.0) / 4.0).exp();
                }
                on
            });
            assert!(has(&log, Kind::SensorLost), "every {every} s: {:?}", log.oddities);
            assert_eq!(log.channels[0].lost_at.is_some(), back.is_infinite(), "every {every} s");
            assert_eq!(judged(&log).cycling, None, "every {every} s");
        }
    }
}

#[test]
fn switched_off_at_the_end_counts_if_somebody_says_so() {
    for every in [30.0, 60.0] {
        let log = log(270.0, every, |_, minute| celsius(WINDING, &[(240.0, 999.0)], minute));
        assert!(log.oddities.is_empty(), "{:?}", log.oddities);
        let found = judged(&log);
        assert_eq!((found.verdict, found.cycling), (Verdict::NotYet, None));
        let at = found.channels[0].interrupted.unwrap();
        assert!((at.minute - 240.0).abs() < 1.5 && at.until_minute.is_none(), "{at:?}");
        let limit = found.channels[0].limit.clone();
        let found = find(&log, &Asked { limit, was_switched_off: true, ..Asked::default() }).unwrap();
        assert_eq!(found.verdict, Verdict::Pass, "{:?}", found.channels[0].interrupted);
    }
}

/// Load and mains that change are no stop, but a temperature that falls by much is none of a run at one load.
#[test]
fn a_slow_sag_is_no_stop() {
    let log =
        log(400.0, 60.0, |_, minute| celsius(WINDING, &[], minute) - 0.06 * (minute - 200.0_f64).clamp(0.0, 150.0));
    let found = judged(&log);
    assert_eq!(found.cycling, None);
    assert!(found.channels[0].interrupted.unwrap().until_minute.is_none());
}

/// White noise of so many kelvins for 401 rows: sums of twelve even numbers less six (Knuth, The Art of Computer Programming 2,
/// 3.4.1).
fn white_noise(seed: u64, kelvin: f64) -> Vec<f64> {
    let mut state = seed;
    let mut even = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    (0..=400).map(|_| kelvin * ((0..12).map(|_| even()).sum::<f64>() - 6.0)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// White noise of a thermocouple, up to 2 K, on a whole run and on a temperature at rest.
    #[test]
    fn noise_is_no_stop(seed in 1_u64.., kelvin in 0.0..2.0_f64, every in 10.0..120.0_f64, share in 0.0..1.0_f64) {
        let noise = white_noise(seed, kelvin);
        let modes: Vec<(f64, f64)> = WINDING.iter().map(|&(rise, seconds)| (share * rise, seconds)).collect();
        let log = log(400.0 * every / 60.0, every, |row, minute| celsius(&modes, &[], minute) + noise[row]);
        prop_assert_eq!(falls(&series(&log)), vec![]);
        prop_assert!(log.channels[0].lost_at.is_none());
    }

    /// And a stop is found in spite of it, if it falls by ten deviations or more.
    #[test]
    fn a_stop_is_found_in_noise(seed in 1_u64.., kelvin in 0.0..1.0_f64, off in 40.0..120.0_f64, long in 8.0..40.0_f64) {
        let noise = white_noise(seed, kelvin);
        let log = log(200.0, 30.0, |row, minute| celsius(WINDING, &[(off, off + long)], minute) + noise[row]);
        let found = falls(&series(&log));
        prop_assert!(found.len() == 1 && found[0].is_stop(), "{:?}", found);
        let (from, until) = (found[0].from.0, found[0].until.unwrap().0);
        prop_assert!((from - off).abs() < 2.5 && (until - off - long).abs() < 4.0, "{} {} for {} {}", from, until, off, long);
    }
}
