//! Wrong heat, runs and logs: each gets its problem with line, expectation and mend.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::read;
use bench::{Job, Problem};

/// A job without any problem, for the cases to spoil. Invented.
const SOUND: &str = r#"
wires = [
  { from = "cord.hot", to = "K1.a" },
  { from = "K1.b", to = "H1.a" },
  { from = "H1.b", to = "cord.neutral" },
  { from = "cord.hot", to = "M1.run" },
  { from = "M1.common", to = "cord.neutral" },
]

[unit]
name = "Hand drier"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"

[parts.K1]
kind = "thermal-cutout"
opens_celsius = 110
closes_celsius = 80

[parts.H1]
kind = "heater"
volts = 230
watts = 1000

[parts.M1]
kind = "shaded-pole-motor"
plate = { volts = 230, hertz = 50, amps = 0.38, rpm = 1250, poles = 4 }

[setups.on]
supply = "on"

[setups.held]
supply = "on"
held = ["M1"]

[heat]
room_celsius = 21
clamped = { K1 = "H1" }

[[heat.streams]]
fan = "M1"
passes = ["M1", "H1"]
litres_per_second = 20

[runs.long]
minutes = 30
steps = [{ minute = 0, setup = "on" }, { minute = 10, setup = "held" }]

[[logs]]
run = "long"
minutes = [0, 5, 12]
channels = [
  { amps = [4.7, 4.6, "none"], through = "cord.hot" },
  { celsius = [21, 25.5, 30], at = "M1.core" },
]
"#;

fn errors(passage: &str, by: &str) -> Vec<Problem> {
    assert_eq!(SOUND.matches(passage).count(), 1, "'{passage}' is to be found once");
    read("job.toml", &SOUND.replacen(passage, by, 1)).expect_err("this job is to be refused").0
}

fn sound() -> Job {
    read("job.toml", SOUND).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn the_sound_job_is_read() {
    let job = sound();
    assert!(job.warnings.0.is_empty(), "{}", job.warnings);
    assert_eq!((job.runs.len(), job.runs[0].steps.len(), job.runs[0].end_seconds), (1, 2, 1800.0));
    let log = &job.logs[0];
    assert_eq!((log.seconds.as_slice(), log.channels.len()), ([0.0, 300.0, 720.0].as_slice(), 2));
    assert_eq!(log.channels[0].values, [Some(4.7), Some(4.6), None]);
    assert!((job.unit.air().streams[0].watts_per_kelvin - 24.12).abs() < 1e-9);
}

#[test]
fn each_slip_is_named_where_it_stands() {
    for (passage, by, words) in [
        ("closes_celsius = 80", "closes_celsius = 110", "expected to close at a lower temperature"),
        ("opens_celsius = 110\n", "", "closes_celsius without opens_celsius"),
        ("room_celsius = 21", "room_celsius = 210", "a room at 210"),
        ("K1 = \"H1\"", "K1 = \"H1.winding\"", "nothing called 'H1.winding' warms"),
        ("K1 = \"H1\"", "K9 = \"H1\"", "unknown part 'K9'"),
        ("K1 = \"H1\"", "K1 = \"K1\"", "clamped to nothing"),
        ("fan = \"M1\"", "fan = \"H1\"", "does not turn"),
        ("litres_per_second = 20", "litres_per_second = 0", "not above zero"),
        ("minutes = 30", "minutes = 30000", "a run of 30000 minutes"),
        ("minutes = 30", "minutes = 0", "not above zero"),
        ("minutes = 30", "minutes = 8", "a step at minute 10"),
        ("{ minute = 0, setup = \"on\" }", "{ minute = 1, setup = \"on\" }", "the first step at 0"),
        ("minute = 10", "minute = 0", "steps in order of time"),
        ("minute = 10", "minute = nan", "a step at minute NaN"),
        ("setup = \"held\"", "setup = \"hold\"", "unknown setup 'hold'"),
        ("steps = [{ minute = 0, setup = \"on\" }, { minute = 10, setup = \"held\" }]", "steps = []", "0 steps"),
        ("run = \"long\"", "run = \"lang\"", "unknown run 'lang'"),
        ("[0, 5, 12]", "[0, 5, 45]", "a log at minute 45"),
        ("[0, 5, 12]", "[0, 12, 5]", "times in order"),
        ("[0, 5, 12]", "[0, 5]", "3 values for 2 times"),
        ("[0, 5, 12]", "[]", "a log of 0 times"),
        ("\"none\"", "\"nothing\"", "'nothing' in a log"),
        ("4.6", "-4.6", "negative amps"),
        ("4.6", "inf", "in a log"),
        ("at = \"M1.core\"", "at = \"M1.shell\"", "nothing called 'M1.shell' warms"),
        ("25.5", "-300", "-300 degrees Celsius in row 2"),
        ("25.5", "2500", "2500 degrees Celsius in row 2"),
        ("at = \"M1.core\"", "at = \"supply.breaker\"", "no thermometer reads 'supply.breaker'"),
        ("K1 = \"H1\"", "K1 = \"supply.breaker\"", "no thermometer reads 'supply.breaker'"),
        ("at = \"M1.core\"", "at = \"M1.surface\"", "write M1.winding for a probe on the winding itself, M1.core"),
        (
            "at = \"M1.core\"",
            "at = \"air\"",
            "write room for the air of the room; that of a stream behind a part it passes as H1.air, M1.air",
        ),
        ("opens_celsius = 110", "opens_celsius = 11000", "'K1' opens at 11000 degrees Celsius"),
        (", at = \"M1.core\"", "", "temperatures without a place"),
        (", through = \"cord.hot\"", "", "amps without a conductor"),
        ("celsius = [21", "watts = [1, 1, 1], celsius = [21", "two quantities"),
    ] {
        let found = errors(passage, by);
        let text = found.iter().map(|problem| format!("{problem}\n")).collect::<String>();
        assert!(text.contains(words), "{by}: {text}");
        assert!(found.iter().all(|problem| problem.line > 0), "{by}: {text}");
    }
}

#[test]
fn the_air_of_a_stream_may_be_logged() {
    let job = read("job.toml", &SOUND.replacen("at = \"M1.core\"", "at = \"H1.air\"", 1)).unwrap();
    let heater = job.unit.find_part("H1").unwrap();
    assert_eq!(job.logs[0].channels[1].logged, bench::Logged::Air(heater));
    // The cutout is in no stream, so there is no air of it to be logged.
    let found = errors("at = \"M1.core\"", "at = \"K1.air\"");
    assert!(found[0].to_string().contains("nothing called 'K1.air' warms"), "{}", found[0]);
}

#[test]
fn a_protector_that_cannot_act_is_warned_of() {
    let warned = |passage: &str, by: &str| {
        assert_eq!(SOUND.matches(passage).count(), 1, "'{passage}' is to be found once");
        let job = read("job.toml", &SOUND.replacen(passage, by, 1)).unwrap_or_else(|problems| panic!("{problems}"));
        let line = SOUND.lines().position(|line| line == "[parts.K1]").unwrap() + 1;
        assert!(job.warnings.0.iter().all(|problem| problem.line == line), "{}", job.warnings);
        job.warnings.to_string()
    };
    let alone = warned("clamped = { K1 = \"H1\" }\n", "");
    assert!(alone.contains("nothing warms 'K1', so that in a run it never opens"), "{alone}");
    assert!(alone.contains("clamped = { K1 = \"PART.BODY\" }"), "{alone}");
    let early = warned("opens_celsius = 110\ncloses_celsius = 80", "opens_celsius = 15");
    assert!(early.contains("'K1' opens at 15 degrees in a room at 21: it is open from the beginning"), "{early}");
    // In the air of a stream it is warmed.
    let text = SOUND.replace("clamped = { K1 = \"H1\" }\n", "").replace("[\"M1\", \"H1\"]", "[\"M1\", \"H1\", \"K1\"]");
    assert!(read("job.toml", &text).unwrap().warnings.0.is_empty());
}

#[test]
fn what_refers_to_a_run_that_could_not_be_read_is_not_reported_too() {
    let found = errors("minute = 10", "minute = -1");
    assert_eq!(found.len(), 1, "{:?}", found.iter().map(|problem| &problem.message).collect::<Vec<_>>());
}
