//! What a fault has strained, and for how long; each expectation is a fact of the trade.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Place;
use common::{job, leader, part, suspect_at};
use diagnosis::diagnose;
use repair::stress;
use repair::stress::{Exposure, Reckoner};

const AIR_CURTAIN: &str = include_str!("../../../demos/air-curtain.toml");
const GREENHOUSE_HEATER: &str = include_str!("../../../demos/greenhouse-heater.toml");
const WORKSHOP_COMPRESSOR: &str = include_str!("../../../demos/workshop-compressor.toml");

#[test]
fn a_logged_run_says_how_long_the_fault_lasted() {
    let job = job(GREENHOUSE_HEATER);
    let found = diagnose(&job).unwrap();
    // The log's run lasts half an hour; nobody says otherwise, so an hour is taken, and the log is followed too.
    let logged = vec!["warm air from cold".to_owned()];
    let (exposure, _) = stress(&found, leader(&found), None).unwrap();
    assert_eq!(exposure, Exposure { logged: logged.clone(), reckoned: Some((60.0, Reckoner::Nobody)) });
    let exposed = |minutes: &str, asked| {
        let text = format!("{GREENHOUSE_HEATER}\n[repaired]\nwork = \"none\"\nminutes_with_fault = {minutes}\n");
        let job = common::job(&text);
        let found = diagnose(&job).unwrap();
        stress(&found, leader(&found), asked).unwrap().0
    };
    // A run longer than what is noted says it alone; what is asked for goes before both.
    assert_eq!(exposed("20", None), Exposure { logged: logged.clone(), reckoned: None });
    assert_eq!(exposed("600", None), Exposure { logged, reckoned: Some((600.0, Reckoner::Job)) });
    assert_eq!(exposed("600", Some(5.0)), Exposure { logged: Vec::new(), reckoned: Some((5.0, Reckoner::Asker)) });
}

/// A short log on the bench does not make ten hours in the house undone, and a year is worked out as quickly as a day.
#[test]
fn a_short_log_does_not_hide_a_long_exposure() {
    let minutes = |noted: &str| {
        let log = "[runs.\"on the bench\"]\nminutes = 4\nsteps = [{ minute = 0, setup = \"high\" }]\n\
                   [[logs]]\nrun = \"on the bench\"\nminutes = [1, 2, 3]\n\
                   channels = [{ amps = [0.75, 0.75, 0.75], through = \"cord.hot\" }]\n";
        let text = format!("{AIR_CURTAIN}\n{log}[repaired]\nwork = \"none\"\nminutes_with_fault = {noted}\n");
        let job = job(&text);
        let found = diagnose(&job).unwrap();
        let (_, strained) = stress(&found, leader(&found), None).unwrap();
        let twin = strained
            .iter()
            .find(|entry| entry.what == Place::Part(part(&job, "M1")))
            .expect("the sound twin is strained");
        (twin.minutes, twin.life_hours.unwrap_or(0.0))
    };
    let (short, day, year) = (minutes("3"), minutes("1440"), minutes("525600"));
    assert!(short.0 <= 4.0 && (1300.0..=1440.0).contains(&day.0), "{short:?} {day:?}");
    // In a steady state both go with the time: 365 times the minutes, 365 times the life.
    assert!((year.0 / day.0 / 365.0 - 1.0).abs() < 0.05, "{year:?} {day:?}");
    assert!((year.1 / day.1 / 365.0 - 1.0).abs() < 0.1, "{year:?} {day:?}");
}

/// A start capacitor bears seconds of its current (common practice, no source); a relay that does not open leaves it in.
#[test]
fn a_start_capacitor_that_is_left_in_is_strained() {
    let job = job(WORKSHOP_COMPRESSOR);
    let found = diagnose(&job).unwrap();
    let (_, strained) = stress(&found, suspect_at(&found, part(&job, "K1")), Some(30.0)).unwrap();
    let capacitor =
        strained.iter().find(|entry| entry.what == Place::Part(part(&job, "C2"))).expect("the start capacitor");
    assert_eq!((capacitor.left_in, capacitor.is_repaired), (Some(3.0), false));
    // The motor's own overload may open meanwhile; a minute is twenty times what it is made for.
    assert!(capacitor.minutes >= 1.0, "{capacitor:?}");
    assert!(capacitor.check(&job.unit).contains("replace it if it is bulged"), "{}", capacitor.check(&job.unit));
    let run_capacitor = strained.iter().find(|entry| entry.what == Place::Part(part(&job, "C1")));
    assert!(run_capacitor.is_none_or(|entry| entry.left_in.is_none()));
}
