//! A winding proven by its ohms after the heat run. Logs and ohms are worked out here by hand: a core that warms as one body, a winding
//! that falls as the two nodes of check values 9 do, and `ohms = cold (T + 234.5) / (cold T + 234.5)` (UL standards; IEC 60335-1, from memory).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use record::{Closing, HeatRun, Rest, Standing, closing, gather};

const HEAT_SEALER: &str = include_str!("../../../demos/heat-sealer.toml");
const ROOM: f64 = 20.0;

/// Degrees Celsius of the core at a minute.
type Core = fn(f64) -> f64;

fn quick(minute: f64) -> f64 {
    ROOM + 40.0 * (1.0 - (-minute / 40.0).exp())
}

/// Meets 'not more than 1 K in half an hour' after five hours, with 40 exp(-2.5) = 3.3 K still to come.
fn slow(minute: f64) -> f64 {
    ROOM + 40.0 * (1.0 - (-minute / 120.0).exp())
}

/// Off from minute 100 to 130.
fn interrupted(minute: f64) -> f64 {
    let off = quick(100.0) - ROOM;
    let cooled = |minutes: f64| off * (-minutes / 40.0).exp();
    match minute {
        _ if minute < 100.0 => quick(minute),
        _ if minute < 130.0 => ROOM + cooled(minute - 100.0),
        _ => ROOM + 40.0 + (cooled(30.0) - 40.0) * (-(minute - 130.0) / 40.0).exp(),
    }
}

/// Ohms, to a thousandth, of a winding of 4.2 ohms at 20 °C that was so hot at switching off.
fn ohms(celsius: f64, seconds: &[f64]) -> Vec<f64> {
    let slow = celsius - ROOM - 24.356;
    let at = |t: f64| ROOM + 24.356 * (-t / 36.1529).exp() + slow * (-t / 663.847).exp();
    seconds.iter().map(|&t| (4.2 * (at(t) + 234.5) / 254.5 * 1e3).round() / 1e3).collect()
}

const SECONDS: [f64; 6] = [15.0, 25.0, 35.0, 50.0, 70.0, 100.0];

fn hot(celsius: f64, seconds: &[f64]) -> String {
    format!(
        "\n[[repaired.hot_ohms]]\nrun = \"sealing after the repair\"\nwinding = \"T1.winding\"\ncold_ohms = 4.2\ncold_celsius = 20\n\
         room_celsius = 20\nseconds = {seconds:?}\nohms = {:?}\n",
        ohms(celsius, seconds)
    )
}

/// The sealer's job with another heat run.
fn job(class: &str, log: &str, hot: &str) -> String {
    let (head, tail) = HEAT_SEALER.split_once("[[repaired.logs]]").unwrap();
    let (_, safety) = tail.split_once("# The safety tests").unwrap();
    let head = head.replace("insulation_class = \"F\"", &format!("insulation_class = \"{class}\""));
    let head = head.replace("minutes = 120", "minutes = 300");
    format!("{head}{log}{hot}\n# The safety tests{safety}")
}

fn log(minutes: u32, core: Core) -> String {
    let minutes: Vec<f64> = (0..=minutes / 5).map(|row| 5.0 * f64::from(row)).collect();
    let core: Vec<String> = minutes.iter().map(|&minute| format!("{:.1}", core(minute))).collect();
    format!(
        "[[repaired.logs]]\nrun = \"sealing after the repair\"\nminutes = {minutes:?}\nchannels = [{{ celsius = [{}], at = \"T1.core\" }}]\n",
        core.join(", ")
    )
}

fn run(text: &str) -> HeatRun {
    record::heat_runs(&bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"))).remove(0)
}

fn closed(text: &str) -> (Closing, String) {
    let job = bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"));
    let found = diagnosis::diagnose(&job).unwrap();
    let findings = gather(&found, text).unwrap();
    (closing(&findings), record::html(&findings).unwrap())
}

fn heat(closing: &Closing) -> (Standing, String) {
    let point = closing.points.iter().find(|point| point.name == "heat run").unwrap();
    (point.standing, point.words.clone())
}

#[test]
fn a_run_at_rest_is_proven_by_ohms_alone_of_its_winding() {
    let text = job("F", &log(300, quick), &hot(90.0, &SECONDS));
    let (closing, page) = closed(&text);
    assert_eq!(heat(&closing).0, Standing::Proven, "{}", heat(&closing).1);
    let run = run(&text);
    let winding = &run.by_ohms[0];
    let (celsius, [low, high]) = winding.at_switch_off().unwrap();
    assert!((celsius - 90.0).abs() < 1.5 && low < 90.0 && 90.0 < high, "{celsius} {low} {high}");
    // IEC 60335-1, table 3 (from memory): class F 115 K by resistance.
    let limit = winding.limit.as_ref().unwrap();
    assert_eq!(limit.celsius, 135.0);
    assert!(limit.source.contains("IEC 60335-1"), "{}", limit.source);
    assert!(matches!(&winding.rest, Rest::Came { channel, .. } if channel == "T1.core"), "{:?}", winding.rest);
    // The table of readings and the figure are in the record.
    for words in [
        "T1.winding by its ohms after switching off",
        "0, carried back",
        "K = 234.5",
        "heat-0-ohms-0",
        "had come to rest: T1.core",
    ] {
        assert!(page.contains(words), "{words}");
    }
    for ohms in ohms(90.0, &SECONDS) {
        assert!(page.contains(&format!(">{ohms}</td>")), "{ohms}");
    }
}

#[test]
fn what_had_not_come_to_rest_proves_nothing() {
    let missing = |log: &str, words: &str| {
        let (closing, _) = closed(&job("F", log, &hot(90.0, &SECONDS)));
        let (standing, said) = heat(&closing);
        assert_eq!(standing, Standing::Missing, "{said}");
        assert!(said.contains(words), "{words}: {said}");
    };
    // An hour of it, and half an hour; the core by itself would pass its limit long before.
    missing(&log(60, quick), "T1.core");
    missing("", "log another temperature of the unit to its end");
    missing(&log(300, interrupted), "interrupted");
    let short = run(&job("F", &log(60, quick), &hot(90.0, &SECONDS)));
    assert_eq!((short.by_ohms[0].rest.clone(), short.by_ohms[0].passes()), (Rest::Rising("T1.core".into()), None));
    let amps =
        log(300, quick).replace("celsius = [20.0", "amps = [1.5").replace("at = \"T1.core\"", "through = \"cord.hot\"");
    let run = run(&job("F", &amps, &hot(90.0, &SECONDS)));
    assert_eq!((run.by_ohms[0].rest.clone(), run.by_ohms[0].passes()), (Rest::Unknown, None));
}

/// By resistance class A has 75 K, class E 90 K (IEC 60335-1, table 3, from memory).
#[test]
fn it_is_held_to_its_class_by_resistance_with_its_interval() {
    let passes = |class: &str, celsius: f64, core: Core| {
        let run = run(&job(class, &log(300, core), &hot(celsius, &SECONDS)));
        run.by_ohms[0].passes()
    };
    assert_eq!(passes("A", 120.0, quick), Some(false));
    assert_eq!(passes("A", 94.0, quick), None, "a kelvin below the limit is within what the ohms leave open");
    assert_eq!(passes("A", 80.0, quick), Some(true));
    assert_eq!(passes("E", 100.0, quick), Some(true));
    // The core meets a rule of rest, and would rise by another tenth: so would the winding.
    assert_eq!(passes("E", 100.0, slow), None);
    let few = run(&job("E", &log(300, slow), &hot(100.0, &SECONDS)));
    assert!(few.by_ohms[0].words().contains("what was still to come may bring it above"), "{}", few.by_ohms[0].words());
    let (closing, _) = closed(&job("A", &log(300, quick), &hot(120.0, &SECONDS)));
    assert_eq!(heat(&closing).0, Standing::Against, "{}", heat(&closing).1);
}

#[test]
fn ohms_that_tell_nothing_say_why() {
    let words = |seconds: &[f64]| {
        let (closing, page) = closed(&job("F", &log(300, quick), &hot(90.0, seconds)));
        assert_eq!(heat(&closing).0, Standing::Missing);
        assert!(page.contains("by its ohms after switching off"));
        heat(&closing).1
    };
    assert!(words(&[15.0, 40.0]).contains("at least 3 are needed"));
    assert!(words(&[200.0, 250.0, 300.0]).contains("came 200 s after switching off"));
}

#[test]
fn a_sensor_that_passes_needs_no_ohms_beside_it() {
    let few = hot(83.8, &[15.0, 40.0]);
    let text = HEAT_SEALER.replace("# The safety tests", &format!("{few}\n# The safety tests"));
    assert_eq!(heat(&closed(&text).0).0, Standing::Proven);
}
