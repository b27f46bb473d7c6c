//! Wrong job files: each gets its problems with place, message, expectation and mend; none panics or loops.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::job::{LARGEST_FILE_BYTES, Severity, read, read_bytes};
use bench::{Job, Problem, Problems};
use proptest::prelude::*;
use std::time::{Duration, Instant};

/// A job without any problem, for the cases to spoil.
const SOUND: &str = r#"[unit]
name = "Fan over a door"

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"

[parts.S]
kind = "switch"
positions.off = []
positions.on = [["line", "run"]]

[parts.M1]
kind = "capacitor-run-motor"
plate = { volts = 230, hertz = 50, amps = 0.6, rpm = 1310 }

[parts.C1]
kind = "run-capacitor"
microfarads = 3

[parts.J]
kind = "splice"
legs = ["a", "b"]

[meters.clamp]
amps_floor = 0.05

[setups.live]
supply = "on"
positions = { S = "on" }

[setups.bare]
supply = "off"

[[wires]]
from = "cord.hot"
to = "S.line"
label = "brown lead"

[[wires]]
from = "S.run"
to = "M1.run"

[[wires]]
from = "M1.run"
to = "C1.a"

[[wires]]
from = "C1.b"
to = "M1.start"

[[wires]]
from = "M1.common"
to = "J.a"

[[wires]]
from = "J.b"
to = "cord.neutral"

[[wires]]
from = "cord.earth"
to = "frame"

[[readings]]
setup = "live"
amps = 0.61
through = "brown lead"
meter = "clamp"

[[readings]]
setup = "live"
volts = 229
between = ["M1.run", "M1.common"]

[[readings]]
setup = "bare"
ohms = 27.1
between = ["M1.common", "M1.run"]

[[symptoms]]
setup = "live"
part = "M1"
word = "slow"
"#;

/// Stands where a problem is expected; taken out before the text is read.
const MARK: char = '^';

/// Takes the mark out of a text; returns line and column of where it stood.
fn marked(text: &str) -> (String, usize, usize) {
    let at = text.find(MARK).expect("a mark in the text");
    let before = &text[..at];
    let line = before.split('\n').count();
    let column = before.split('\n').next_back().unwrap().chars().count() + 1;
    (text.replacen(MARK, "", 1), line, column)
}

/// The sound job with one passage replaced.
fn spoilt(passage: &str, by: &str) -> String {
    assert_eq!(SOUND.matches(passage).count(), 1, "'{passage}' is to be found once");
    SOUND.replacen(passage, by, 1)
}

fn problems(text: &str) -> Vec<Problem> {
    read("job.toml", text).expect_err("this job is to be refused").0
}

/// The only error in a text.
fn only_error(text: &str) -> Problem {
    let problems = problems(text);
    let mut errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let error = errors.next().expect("an error").clone();
    assert!(errors.next().is_none(), "more than one error:\n{}", Problems(problems));
    error
}

/// Checks that a marked text has one error, at the mark; an empty expectation or mend stands for none.
#[track_caller]
fn check_text(text: &str, message: &str, expected: &str, mend: &str) {
    let (text, line, column) = marked(text);
    let error = only_error(&text);
    let words = |words: Option<String>| words.unwrap_or_default();
    let found = (error.message, words(error.expected), words(error.mend));
    assert_eq!(found, (message.to_owned(), expected.to_owned(), mend.to_owned()));
    assert_eq!((error.line, error.column), (line, column), "line and column of '{message}'");
    assert_eq!(error.file, "job.toml");
}

/// As [`check_text`], for the sound job with one passage replaced.
#[track_caller]
fn check(passage: &str, by: &str, message: &str, expected: &str, mend: &str) {
    check_text(&spoilt(passage, by), message, expected, mend);
}

const A_NUMBER: &str = "a number above zero, such as 27.1 or \"4.7k\"";
const A_SHOWN: &str = "what the meter showed: a number such as 27.1 or \"4.7k\", or \"open\" or \"dead\"";
const ALL_KINDS: &str = "one of supply, two-leg-supply, three-phase-supply, cord, switch, capacitor-run-motor, shaded-pole-motor, \
     universal-motor, timer-motor, split-phase-motor, reversible-motor, compressor, three-phase-motor, run-capacitor, start-capacitor, \
     potential-relay, current-relay, ptc-starter, inrush-limiter, relay, transformer, solenoid-valve, heater, half-wave-diode, thermal-cutout, \
     thermal-fuse, manual-reset-cutout, overload-relay, fuse, thermostat, indicator-lamp, interference-filter, varistor, splice";

#[test]
fn the_sound_job_has_no_problem_and_no_warning() {
    let job = read("job.toml", SOUND).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(job.warnings, Problems::default());
    assert_eq!((job.readings.len(), job.symptoms.len(), job.unit.wires().len()), (3, 1, 7));
    assert_eq!(SOUND.lines().nth(job.readings[2].line - 1), Some("[[readings]]"));
}

// Housings and refusals.

/// The sound job with a housing; its mark stands in what follows.
#[track_caller]
fn check_housing(fields: &str, message: &str, expected: &str, mend: &str) {
    check_text(&format!("{SOUND}\n[[housings]]\nname = \"shell\"\n{fields}\n"), message, expected, mend);
}

#[test]
fn housings_and_refusals_that_are_in_order() {
    let text = format!(
        "refused = [\"amps\", \"M1\", \"C1.a\", \"setup live\", \"housing box\", \"energised\"]\n{SOUND}\n\
         [[housings]]\nname = \"box\"\nholds = [\"M1.common\"]\nminutes = 2\nbehind = \"shell\"\n\
         [[housings]]\nname = \"shell\"\nholds = [\"M1\", \"J\"]\nminutes = 5.5\nopen = true\n"
    );
    let job = read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((job.housings.len(), job.refused.len()), (2, 6));
    assert_eq!((job.housings[0].behind, job.housings[1].is_open, job.housings[1].minutes), (Some(1), true, 5.5));
    // What is in the box is behind the shell too.
    let common = job.unit.find_terminal("M1.common").unwrap();
    let reach = bench::Reach { terminals: vec![common], ..bench::Reach::default() };
    assert_eq!(job.housings_ahead(&reach), [0, 1]);
}

#[test]
fn a_housing_around_nothing() {
    check_text(
        &format!("{SOUND}\n^[[housings]]\nname = \"shell\"\nminutes = 5\n"),
        "the housing 'shell' has nothing behind it",
        "holds = [\"part\", \"part.terminal\"]",
        "name what it covers, or leave it out",
    );
}

#[test]
fn a_housing_around_an_unknown_part() {
    let (message, expected) = ("unknown part or terminal 'C2'", "a part, or part.terminal");
    check_housing("minutes = 5\nholds = [^\"C2\"]", message, expected, "there is supply, cord, S, M1, C1, J, frame");
    let message = "unknown part or terminal 'M1.comon'";
    check_housing("minutes = 5\nholds = [^\"M1.comon\"]", message, expected, "did you mean M1.common or M1.run?");
}

#[test]
fn a_housing_around_the_supply() {
    let mend = "the supply and the metal of the unit are outside: leave it out";
    check_housing(
        "minutes = 5\nholds = [^\"supply.hot\"]",
        "'supply.hot' behind a housing",
        "parts within the unit",
        mend,
    );
}

#[test]
fn a_housing_of_negative_minutes() {
    let expected = "minutes to open it, from 0 to 480";
    check_housing("minutes = ^-5\nholds = [\"C1\"]", "a housing of -5 minutes", expected, "");
    check_housing("minutes = ^nan\nholds = [\"C1\"]", "a housing of NaN minutes", expected, "");
}

#[test]
fn housings_behind_each_other() {
    check_text(
        &format!(
            "{SOUND}\n[[housings]]\nname = \"shell\"\nminutes = 5\nholds = [\"C1\"]\nbehind = ^\"box\"\n\
             [[housings]]\nname = \"box\"\nminutes = 5\nholds = [\"M1\"]\nbehind = \"shell\"\n"
        ),
        "housings behind each other: shell behind box behind shell",
        "an outermost housing",
        "leave out 'behind' of the outermost",
    );
}

#[test]
fn a_housing_behind_an_unknown_one() {
    let (message, mend) = ("unknown housing 'shel'", "did you mean shell?");
    check_housing("minutes = 5\nholds = [\"C1\"]\nbehind = ^\"shel\"", message, "the name of a housing", mend);
}

#[test]
fn two_housings_of_one_name() {
    check_housing(
        "minutes = 5\nholds = [\"C1\"]\n\n[[housings]]\nname = ^\"shell\"\nminutes = 1\nholds = [\"M1\"]",
        "a second housing called 'shell'",
        "each name once",
        "rename one of them, or put what they hold together",
    );
}

#[test]
fn a_refusal_of_an_unknown_word() {
    check_text(
        &format!("refused = [^\"amp\"]\n{SOUND}"),
        "'amp' cannot be refused: it is not known",
        bench::job::REFUSABLE,
        "did you mean amps?",
    );
}

// Names that are not known.

#[test]
fn unknown_kind_of_part() {
    check(
        r#"kind = "run-capacitor""#,
        r#"kind = ^"run-capaciter""#,
        "unknown kind of part 'run-capaciter'",
        ALL_KINDS,
        "did you mean run-capacitor?",
    );
}

#[test]
fn unknown_terminal_of_a_known_part() {
    check(
        r#"from = "C1.b""#,
        r#"from = ^"C1.c""#,
        "unknown terminal 'C1.c'",
        "part.terminal",
        "did you mean C1.a or C1.b?",
    );
}

#[test]
fn unknown_part_in_a_terminal() {
    check(
        r#"from = "C1.b""#,
        r#"from = ^"C2.b""#,
        "unknown terminal 'C2.b': there is no part 'C2'",
        "part.terminal",
        "did you mean C1.b or J.b?",
    );
}

#[test]
fn unknown_terminal_in_a_setup() {
    check(
        r#"supply = "off""#,
        "supply = \"off\"\nlifted = [^\"M1.comon\"]",
        "unknown terminal 'M1.comon'",
        "part.terminal",
        "did you mean M1.common or M1.run?",
    );
}

#[test]
fn unknown_position() {
    check(
        r#"{ S = "on" }"#,
        r#"{ S = ^"onn" }"#,
        "unknown position 'onn' of 'S'",
        "one of off, on",
        "did you mean on?",
    );
}

#[test]
fn position_of_a_part_that_has_none() {
    check(
        r#"{ S = "on" }"#,
        r#"{ S = "on", ^C1 = "on" }"#,
        "'C1' has no positions",
        "a switch, thermostat, cutout or universal motor",
        "",
    );
}

#[test]
fn unknown_setup() {
    check(
        "setup = \"live\"\namps",
        "setup = ^\"life\"\namps",
        "unknown setup 'life'",
        "the name of a setup",
        "did you mean live?",
    );
}

#[test]
fn unknown_meter() {
    check(
        r#"meter = "clamp""#,
        r#"meter = ^"clam""#,
        "unknown meter 'clam'",
        "the name of a meter",
        "did you mean clamp?",
    );
}

#[test]
fn unknown_part_of_a_symptom() {
    check(r#"part = "M1""#, r#"part = ^"M""#, "unknown part 'M'", "the name of a part", "did you mean M1?");
}

#[test]
fn a_held_part_that_does_not_turn() {
    check(
        "positions = { S = \"on\" }",
        "positions = { S = \"on\" }\nheld = [^\"C1\"]",
        "'C1' does not turn",
        "a motor",
        "",
    );
}

#[test]
fn unknown_wire_in_a_clamp() {
    check(
        r#"through = "brown lead""#,
        r#"through = ^"brown led""#,
        "unknown wire 'brown led'",
        "part.terminal, or the label of a wire",
        "did you mean brown lead?",
    );
}

#[test]
fn unknown_word() {
    check(
        r#"word = "slow""#,
        r#"word = ^"sloow""#,
        "unknown word 'sloow'",
        "one of dead, normal, slow, hums, runs-when-pushed, trips, runs-hot, smells-hot, shocks, \
         runs-backwards, vibrates, turns-freely, stiff, does-not-turn, wobbles",
        "did you mean slow?",
    );
}

#[test]
fn unknown_field_of_a_part() {
    check(
        "microfarads = 3",
        "^microfarad = 3",
        "unknown field 'microfarad'",
        "one of microfarads, volts",
        "did you mean microfarads?",
    );
}

#[test]
fn unknown_field_of_a_plate() {
    check(
        "rpm = 1310",
        "^rmp = 1310",
        "unknown field 'rmp'",
        "one of volts, hertz, amps, rpm, poles, microfarads, watts, main_ohms",
        "did you mean amps?",
    );
}

#[test]
fn unknown_section() {
    check(
        "[[symptoms]]",
        "[[^symptom]]",
        "unknown section 'symptom'",
        "one of unit, parts, wires, setups, meters, readings, symptoms, heat, runs, logs, housings, refused",
        "did you mean symptoms?",
    );
}

#[test]
fn missing_field() {
    check(
        "[parts.C1]\nkind = \"run-capacitor\"\nmicrofarads = 3",
        "[parts.^C1]\nkind = \"run-capacitor\"",
        "'microfarads' is missing",
        "microfarads = ...",
        "add microfarads",
    );
}

// Names given twice, and names that cannot be.

#[test]
fn a_part_given_twice() {
    // What stands under the second heading is not mixed into the first and reported again.
    check(
        "[parts.J]",
        "[parts.^C1]\nkind = \"heater\"\nvolts = 230\nwatts = 100\n\n[parts.J]",
        "the name 'C1' is given twice",
        "each name once",
        "rename one of them, or remove the copy",
    );
}

#[test]
fn a_field_given_twice() {
    check(
        "microfarads = 3",
        "microfarads = 3\n^microfarads = 4",
        "the name 'microfarads' is given twice",
        "each name once",
        "rename one of them, or remove the copy",
    );
}

#[test]
fn a_label_given_twice() {
    check(
        "from = \"cord.earth\"",
        "label = ^\"brown lead\"\nfrom = \"cord.earth\"",
        "the name 'brown lead' is given twice",
        "a label that nothing else has",
        "change it, or leave it out",
    );
}

#[test]
fn a_label_that_is_the_name_of_a_part() {
    check(
        "from = \"cord.earth\"",
        "label = ^\"M1\"\nfrom = \"cord.earth\"",
        "the name 'M1' is given twice",
        "a label that nothing else has",
        "change it, or leave it out",
    );
}

#[test]
fn a_leg_of_a_splice_named_twice() {
    check(
        "[parts.J]\nkind = \"splice\"\nlegs = [\"a\", \"b\"]",
        "[parts.^J]\nkind = \"splice\"\nlegs = [\"a\", \"b\", \"a\"]",
        "part 'J' has two terminals named 'a'",
        "each terminal named once",
        "rename one of them",
    );
}

#[test]
fn a_tap_named_like_another_terminal() {
    check(
        "[parts.M1]\nkind = \"capacitor-run-motor\"",
        "[parts.^M1]\nkind = \"capacitor-run-motor\"\ntaps = [\"run\", \"start\"]",
        "part 'M1' has two terminals named 'start'",
        "each terminal named once",
        "rename one of them",
    );
}

#[test]
fn a_terminal_without_a_name() {
    check(
        "[parts.J]\nkind = \"splice\"\nlegs = [\"a\", \"b\"]",
        "[parts.^J]\nkind = \"splice\"\nlegs = [\"a\", \"b\", \"\"]",
        "'' cannot be the name of a terminal of 'J'",
        "a name without points and spaces",
        "",
    );
}

#[test]
fn a_part_without_terminals() {
    let text = SOUND.to_owned() + "\n[parts.^rail]\nkind = \"splice\"\nlegs = []\n";
    check_text(&text, "part 'rail' has no terminals", "at least one", "name its terminals, or leave the part out");
}

#[test]
fn a_motor_without_taps() {
    // The place is the name of the motor; what hangs on its terminals is not reported again.
    check(
        "[parts.M1]\nkind = \"capacitor-run-motor\"",
        "[parts.^M1]\nkind = \"capacitor-run-motor\"\ntaps = []",
        "a motor without taps",
        "at least one",
        "leave taps out if it has a single speed",
    );
}

#[test]
fn a_part_named_frame() {
    check(
        "[parts.J]",
        "[parts.^frame]\nkind = \"splice\"\n\n[parts.J]",
        "the name 'frame' is taken: it is the metal of the unit",
        "",
        "leave it out; wires may go to frame as it is",
    );
}

#[test]
fn a_part_with_a_point_in_its_name() {
    check(
        "[parts.J]",
        "[parts.^\"J.1\"]\nkind = \"splice\"\n\n[parts.J]",
        "'J.1' cannot be the name of a part",
        "a name without points and spaces",
        "",
    );
}

// Wiring that cannot be.

#[test]
fn a_wire_to_itself() {
    check(
        "[[wires]]\nfrom = \"M1.run\"\nto = \"C1.a\"",
        "^[[wires]]\nfrom = \"M1.run\"\nto = \"M1.run\"",
        "a wire from M1.run to itself",
        "two different terminals",
        "correct one end, or leave the wire out",
    );
}

#[test]
fn a_contact_to_itself() {
    check(
        "positions.off = []\npositions.on = [[\"line\", \"run\"]]",
        "^positions.off = []\npositions.on = [[\"line\", \"run\"], [\"run\", \"run\"]]",
        "a contact from run to itself",
        "two different terminals",
        "",
    );
}

#[test]
fn no_supply() {
    let text = spoilt("[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\n", "");
    check_text(
        &format!("^{text}"),
        "there is no supply",
        "one part of kind supply, two-leg-supply or three-phase-supply",
        "add: [parts.supply] with kind = \"supply\", volts and hertz",
    );
}

#[test]
fn without_a_supply_the_rest_is_checked_too() {
    let text = spoilt("[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\n", "").replace("C1.b", "C1.c");
    let messages: Vec<String> = problems(&text).into_iter().map(|problem| problem.message).collect();
    assert_eq!(messages, ["there is no supply", "unknown terminal 'C1.c'"]);
}

#[test]
fn two_supplies_of_two_kinds() {
    check(
        "[parts.cord]",
        "[parts.^second]\nkind = \"three-phase-supply\"\nvolts = 400\nhertz = 50\n\n[parts.cord]",
        "there is more than one supply",
        "one supply, of whatever kind",
        "keep the one that feeds the unit",
    );
}

#[test]
fn a_cord_that_does_not_fit_its_supply() {
    check_text(
        &spoilt("kind = \"supply\"", "kind = \"two-leg-supply\"").replace("[parts.cord]", "[parts.^cord]"),
        "the plug of 'cord' has a conductor 'hot', the two-leg-supply has none",
        "one of leg-1, leg-2, neutral, earth",
        "name the conductors of the cord: conductors = [\"leg-1\", \"leg-2\", \"neutral\", \"earth\"]",
    );
    let misnamed = problems(&spoilt("kind = \"cord\"", "kind = \"cord\"\nconductors = [\"hot\", \"netural\"]"));
    assert!(misnamed[0].message.contains("'netural'"), "{misnamed:?}");
    for conductors in ["[]", "[\"hot\", \"hot\"]", "[\"a b\"]"] {
        let text = spoilt("kind = \"cord\"", &format!("kind = \"cord\"\nconductors = {conductors}"));
        assert!(!problems(&text).is_empty(), "{conductors}");
    }
}

/// A three-phase motor with this plate and connection; messages of what is wrong with it.
fn motor_problem(connection: &str, plate: &str) -> Problem {
    let text = format!(
        "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"three-phase-supply\"\nvolts = 400\nhertz = 50\n\
         [parts.M1]\nkind = \"three-phase-motor\"\nconnection = \"{connection}\"\nplate = {{ volts = 400, hertz = 50, {plate} }}\n"
    );
    problems(&text).into_iter().next().unwrap_or_else(|| panic!("{connection} {plate} is read without a problem"))
}

#[test]
fn three_phase_motors_that_cannot_be() {
    for (connection, plate, message, mend) in [
        ("wye", "amps = 1.1", "'wye'", ""),
        ("star", "amps = 1.1, rpm = 1500", "not below the synchronous speed", "correct rpm, poles or hertz"),
        ("star", "amps = 1.1, rpm = 1370, poles = 2", "far below the synchronous speed of 3000", "leave poles out"),
        ("star", "amps = 1.1, poles = 5", "even number of poles", "correct poles"),
        ("star", "amps = 1.1, watts = 500, shaft_watts = 520", "nothing for the losses", "check watts"),
        ("delta", "amps = 1.1, watts = 900", "more than 400 V times 1.1 A", "volts and amps belong to one connection"),
        ("star", "amps = 1.1, power_factor = 74", "above one", "write 0.8"),
        (
            "star",
            "amps = 1.1, watts = 370, power_factor = 0.74",
            "but volts, amps and power factor make 564 W",
            "shaft_watts",
        ),
        ("star", "amps = 1e300", "", ""),
        ("star", "amps = 1e-300, rpm = 1e-300", "", ""),
    ] {
        let problem = motor_problem(connection, plate);
        assert!(problem.message.contains(message), "{connection} {plate}: {problem:?}");
        assert!(problem.mend.clone().unwrap_or_default().contains(mend), "{connection} {plate}: {problem:?}");
    }
}

#[test]
fn two_supplies_with_two_frequencies() {
    check(
        "[parts.cord]",
        "[parts.^second]\nkind = \"supply\"\nvolts = 120\nhertz = 60\n\n[parts.cord]",
        "two frequencies: 50 Hz and 60 Hz",
        "one supply, of whatever kind",
        "keep the one that feeds the unit",
    );
}

#[test]
fn two_supplies_with_one_frequency() {
    check(
        "[parts.cord]",
        "[parts.^second]\nkind = \"supply\"\nvolts = 120\nhertz = 50\n\n[parts.cord]",
        "there is more than one supply",
        "one supply, of whatever kind",
        "keep the one that feeds the unit",
    );
}

#[test]
fn a_setup_with_another_frequency() {
    check(
        "supply = \"on\"",
        "supply = \"on\"\nhertz = ^60",
        "two frequencies: this setup has 60 Hz, the supply 50 Hz",
        "one frequency",
        "leave it out",
    );
}

#[test]
fn a_motor_plate_of_another_frequency() {
    check(
        "[parts.M1]\nkind = \"capacitor-run-motor\"\nplate = { volts = 230, hertz = 50",
        "[parts.^M1]\nkind = \"capacitor-run-motor\"\nplate = { volts = 230, hertz = 60",
        "'M1' is made for 60 Hz, the supply has 50 Hz",
        "one frequency",
        "correct the plate or the supply",
    );
}

const SHORT_EXPECTED: &str = "a load between hot and neutral";
const SHORT_MEND: &str = "look for a wire to the wrong terminal, a jumper across the supply, or a wrong contact table";

#[test]
fn a_wire_across_the_supply() {
    let text = spoilt("[setups.live]", "[setups.^live]").replace(
        "[[readings]]\nsetup = \"bare\"",
        "[[wires]]\nfrom = \"S.line\"\nto = \"J.a\"\n\n[[readings]]\nsetup = \"bare\"",
    );
    check_text(&text, "in setup 'live' the wiring is a dead short across the supply", SHORT_EXPECTED, SHORT_MEND);
}

#[test]
fn a_jumper_across_the_supply() {
    check(
        "[setups.live]\nsupply = \"on\"",
        "[setups.^live]\nsupply = \"on\"\njumpers = [[\"cord.hot\", \"cord.neutral\"]]",
        "in setup 'live' the wiring is a dead short across the supply",
        SHORT_EXPECTED,
        SHORT_MEND,
    );
}

#[test]
fn a_short_is_reported_in_the_setup_that_has_it() {
    // The name of one setup begins like the other's.
    check(
        "[setups.live]",
        "[setups.live-again]\nsupply = \"on\"\npositions = { S = \"on\" }\n\n\
         [setups.^live-a]\nsupply = \"on\"\njumpers = [[\"S.line\", \"J.a\"]]\n\n[setups.live]",
        "in setup 'live-a' the wiring is a dead short across the supply",
        SHORT_EXPECTED,
        SHORT_MEND,
    );
}

#[test]
fn a_jumper_to_itself() {
    check(
        "supply = \"on\"",
        "supply = \"on\"\njumpers = [[\"cord.hot\", ^\"cord.hot\"]]",
        "a jumper from cord.hot to itself",
        "two different terminals",
        "correct one end, or leave it out",
    );
}

#[test]
fn a_jumper_with_one_end() {
    check(
        "supply = \"on\"",
        "supply = \"on\"\njumpers = [^[\"cord.hot\"]]",
        "1 name where two belong",
        "a pair such as [\"one\", \"other\"]",
        "",
    );
}

#[test]
fn a_part_that_no_wire_goes_to_is_a_warning() {
    let (text, line, column) = marked(&(SOUND.to_owned() + "\n[parts.^L1]\nkind = \"indicator-lamp\"\nvolts = 230\n"));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.severity, warning.line, warning.column), (Severity::Warning, line, column));
    assert_eq!(warning.message, "no wire goes to 'L1'");
    assert_eq!(warning.mend.as_deref(), Some("add its wires, or leave it out"));
}

#[test]
fn a_unit_without_a_path_is_a_warning() {
    let (text, line, column) = marked(&spoilt("[setups.live]", "[setups.^live]").replace("S = \"on\"", "S = \"off\""));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.severity, warning.line, warning.column), (Severity::Warning, line, column));
    assert_eq!(warning.message, "in no live setup does the sound unit take any power: there is no path through it");
    assert_eq!(warning.expected.as_deref(), Some("a path between hot and neutral in at least one"));
    let mend = "look for a missing wire, or for a switch position that the setups leave out";
    assert_eq!(warning.mend.as_deref(), Some(mend));
}

// Values.

#[test]
fn a_negative_value() {
    check("microfarads = 3", "microfarads = ^-3", "-3 is not above zero", A_NUMBER, "");
}

#[test]
fn a_value_of_zero() {
    check("microfarads = 3", "microfarads = ^0", "0 is not above zero", A_NUMBER, "");
}

#[test]
fn an_infinite_value() {
    check("microfarads = 3", "microfarads = ^inf", "inf is not a finite number", A_NUMBER, "");
}

#[test]
fn an_infinite_value_as_text() {
    check(
        "microfarads = 3",
        "microfarads = ^\"1e400\"",
        "'1e400' is not a finite number",
        A_NUMBER,
        "write one such as 27.1",
    );
}

#[test]
fn a_value_that_is_not_a_number() {
    check("microfarads = 3", "microfarads = ^nan", "NaN is not a finite number", A_NUMBER, "");
}

#[test]
fn values_that_are_possible_but_not_together() {
    check(
        "[parts.J]",
        "[parts.^H1]\nkind = \"heater\"\nvolts = 1e200\nwatts = 1\n\n[parts.J]",
        "the values of 'H1' make no element ohms",
        "values of a real part",
        "check their sizes",
    );
}

#[test]
fn milli_or_mega() {
    check(
        "microfarads = 3",
        "microfarads = ^\"3m\"",
        "'3m' is doubtful: m could be milli or mega",
        A_NUMBER,
        "write 3M for mega, or the number itself",
    );
}

#[test]
fn a_capital_k() {
    check("ohms = 27.1", "ohms = ^\"3K\"", "'3K' is doubtful", A_SHOWN, "write 3k for thousand");
}

#[test]
fn a_letter_in_place_of_the_point() {
    check("ohms = 27.1", "ohms = ^\"4k7\"", "'4k7' is doubtful", A_SHOWN, "write 4.7k if that is what is meant");
}

#[test]
fn a_decimal_comma_in_quotes() {
    let mend = "write 4.7 (a point for decimals, nothing between thousands)";
    check("ohms = 27.1", "ohms = ^\"4,7\"", "'4,7' has a comma", A_SHOWN, mend);
}

#[test]
fn a_decimal_comma_without_quotes() {
    let mend = "write 4.7 (a point for decimals, nothing between thousands)";
    check("ohms = 27.1", "ohms = ^4,7", "'4,7' has a comma", "", mend);
}

#[test]
fn a_suffix_without_quotes() {
    check("ohms = 27.1", "ohms = ^4.7k", "the value 4.7k stands without quotes", "\"4.7k\"", "put it in quotes");
}

#[test]
fn a_word_without_quotes() {
    check("ohms = 27.1", "ohms = ^open", "the value open stands without quotes", "\"open\"", "put it in quotes");
}

#[test]
fn an_unknown_unit_behind_a_number() {
    let message = "'27 ohm' has a suffix that is not known ('ohm')";
    check("ohms = 27.1", "ohms = ^\"27 ohm\"", message, A_SHOWN, "only k and M are, units are never written");
}

#[test]
fn text_where_a_whole_number_belongs() {
    check("rpm = 1310", "poles = ^\"4\"", "the text \"4\" where it cannot be", "a whole number", "");
}

#[test]
fn a_supply_that_is_true() {
    check("supply = \"on\"", "supply = ^true", "a value of the wrong form", "text in quotes", "");
}

// Plates that no motor can have; the place is the name of the motor.

/// The sound job with the motor's plate ending otherwise.
fn with_plate(ending: &str) -> String {
    spoilt("[parts.M1]", "[parts.^M1]").replace("rpm = 1310", ending)
}

#[test]
fn speed_at_synchronous_speed() {
    check_text(
        &with_plate("rpm = 1500, poles = 4"),
        "1500 rpm is not below the synchronous speed of 1500 rpm for 4 poles at 50 Hz",
        "a full-load speed below synchronous speed",
        "correct rpm, poles or hertz, or leave out what cannot be read",
    );
}

#[test]
fn odd_poles() {
    check_text(
        &with_plate("poles = 3"),
        "3 poles: a machine has an even number of poles, at least 2",
        "an even number of poles",
        "correct poles, or leave it out",
    );
}

#[test]
fn more_watts_than_volts_times_amps() {
    check_text(
        &with_plate("watts = 200"),
        "200 W is more than 230 V times 0.6 A",
        "input watts of at most volts times amps",
        "leave watts out if the plate means shaft power",
    );
}

// Readings that cannot be.

#[test]
fn ohms_in_a_live_setup() {
    check(
        "[[readings]]\nsetup = \"bare\"",
        "^[[readings]]\nsetup = \"live\"",
        "ohms in setup 'live', where the supply is on",
        "a setup with supply = \"off\"",
        "an ohmmeter on a live circuit reads nonsense and can be destroyed",
    );
}

#[test]
fn a_negative_reading() {
    check("ohms = 27.1", "ohms = ^-27.1", "a reading cannot be -27.1", A_SHOWN, "write the size without its sign");
}

#[test]
fn an_infinite_reading() {
    check("ohms = 27.1", "ohms = ^inf", "a reading cannot be inf", A_SHOWN, "for over range write \"open\"");
}

#[test]
fn both_probes_on_one_point() {
    check(
        "[\"M1.common\", \"M1.run\"]",
        "[\"M1.common\", ^\"M1.common\"]",
        "both probes at M1.common",
        "two different terminals",
        "correct one of them",
    );
}

#[test]
fn three_probes() {
    check(
        "between = [\"M1.common\", \"M1.run\"]",
        "between = ^[\"M1.common\", \"M1.run\", \"M1.start\"]",
        "3 names where two belong",
        "a pair such as [\"one\", \"other\"]",
        "",
    );
}

#[test]
fn no_probes() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "^[[readings]]\nsetup = \"bare\"\nohms = 27.1",
        "ohms without two points",
        "between = [\"part.terminal\", \"part.terminal\"]",
        "say where the two probes were",
    );
}

#[test]
fn two_values() {
    check(
        "[[readings]]\nsetup = \"bare\"",
        "^[[readings]]\nsetup = \"bare\"\nvolts = 3",
        "a reading with two values",
        "exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch_milliamps, leakage_milliamps",
        "write one reading per line",
    );
}

#[test]
fn leakage_of_a_part_that_feeds_nothing() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "[[readings]]\nsetup = \"live\"\nleakage_milliamps = 2.1\nof = ^\"M1\"",
        "'M1' does not feed the unit",
        "the cord or the supply",
        "name what the clamp was around",
    );
}

#[test]
fn touch_current_without_a_point() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]",
        "^[[readings]]\nsetup = \"live\"\ntouch_milliamps = 2.1",
        "touch_milliamps without a point",
        "at = \"frame\" or another terminal",
        "say what was touched",
    );
}

#[test]
fn no_value() {
    check(
        "[[readings]]\nsetup = \"bare\"\nohms = 27.1",
        "^[[readings]]\nsetup = \"bare\"",
        "a reading without a value",
        "exactly one of ohms, microfarads, volts, amps, watts, rpm, run_down_seconds, touch_milliamps, leakage_milliamps",
        "write one reading per line",
    );
}

#[test]
fn volts_that_are_open() {
    check(
        "volts = 229",
        "volts = ^\"open\"",
        "volts cannot be open",
        "a number",
        "for no volts or no current write \"dead\"",
    );
}

/// A reading of microfarads in place of the one of ohms, and the wires of C1 lifted or not.
const BARE: &str = "[[readings]]\nsetup = \"bare\"\nohms = 27.1\nbetween = [\"M1.common\", \"M1.run\"]";

#[test]
fn microfarads_of_a_capacitor_that_is_connected() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"bare\"\nmicrofarads = 2.9\nbetween = [\"C1.a\", \"C1.b\"]",
        "microfarads in setup 'bare', where C1 is connected",
        "a setup with supply = \"off\" and the capacitor's wires lifted",
        "lift the wires of C1 in this setup, lifted = [\"C1.a\", \"C1.b\"], or name one in which they are off: a capacitance \
         meter cannot see a capacitor through windings",
    );
}

#[test]
fn microfarads_with_the_supply_on() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"live\"\nmicrofarads = 2.9\nbetween = [\"C1.a\", \"C1.b\"]",
        "microfarads in setup 'live', where the supply is on",
        "a setup with supply = \"off\" and the capacitor's wires lifted",
        "unplug, discharge C1, and name a setup in which its wires are off",
    );
}

#[test]
fn microfarads_of_a_winding() {
    check(
        BARE,
        "^[[readings]]\nsetup = \"bare\"\nmicrofarads = 2.9\nbetween = [\"M1.common\", \"M1.run\"]",
        "M1.common and M1.run are not the terminals of one capacitor",
        "the two terminals of a capacitor",
        "there is C1.a and C1.b",
    );
}

#[test]
fn microfarads_that_are_open() {
    // An open capacitor shows nothing, a shorted one over range: the opposite of each other.
    for word in ["open", "dead"] {
        check(
            BARE,
            &format!("[[readings]]\nsetup = \"bare\"\nmicrofarads = ^\"{word}\"\nbetween = [\"C1.a\", \"C1.b\"]"),
            "microfarads are a number, or over range",
            "a number such as 11.8, or \"OL\" for over range",
            "for a capacitor that is open inside write 0; if the meter showed OL, as it does across a short, \"OL\"",
        );
    }
}

#[test]
fn ohms_that_are_dead() {
    // Zero ohms or no path? The opposite of each other.
    check(
        "ohms = 27.1",
        "ohms = ^\"dead\"",
        "ohms cannot be dead",
        "a number or \"open\"",
        "for no connection write \"open\", for a dead short 0",
    );
}

#[test]
fn a_place_that_the_reading_makes_no_use_of_is_a_warning() {
    let (text, line, column) = marked(&spoilt("ohms = 27.1", "ohms = 27.1\nof = ^\"M1\""));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.line, warning.column), (line, column));
    assert_eq!(warning.message, "ohms makes no use of 'of'");
    assert_eq!(warning.mend.as_deref(), Some("leave it out, or write another reading"));
}

#[test]
fn a_symptom_in_a_dead_setup_is_a_warning() {
    let (text, line, column) = marked(&spoilt("setup = \"live\"\npart", "setup = ^\"bare\"\npart"));
    let job = read("job.toml", &text).unwrap();
    let [warning] = &job.warnings.0[..] else { panic!("one warning, found {}", job.warnings) };
    assert_eq!((warning.line, warning.column), (line, column));
    assert_eq!(warning.message, "a symptom in a setup where the supply is off says nothing");
    assert_eq!(warning.mend.as_deref(), Some("name a setup with supply = \"on\""));
}

#[test]
fn a_meter_of_the_known_name_is_described_anew() {
    let text = SOUND.to_owned() + "\n[meters.handheld]\nvolts_input_ohms = \"3k\"\n";
    let job = read("job.toml", &text).unwrap();
    assert_eq!(job.meters[job.readings[1].meter].volts_input_ohms, 3000.0);
}

// Files that are no job file.

const START_MEND: &str = "start from a demo: demos/ holds some, docs/job-file.md explains them";

#[test]
fn an_empty_file() {
    check_text("^", "the file is empty", "a job file with [unit] and [parts]", START_MEND);
    check_text("^ \n\t\r\n", "the file is empty", "a job file with [unit] and [parts]", START_MEND);
}

#[test]
fn nothing_but_comments() {
    let message = "there is nothing in the file but comments";
    check_text("^# to do\n\n# later\n", message, "a job file with [unit] and [parts]", START_MEND);
}

#[test]
fn no_unit() {
    check(
        "[unit]\nname = \"Fan over a door\"\n",
        "^",
        "there is no [unit]",
        "[unit] with a name",
        "add: [unit] and name = \"...\"",
    );
}

#[test]
fn a_file_that_is_no_toml() {
    let text = "Dear colleague,\nthe fan hums again.\n";
    let found = problems(text);
    // One problem per line, none about missing sections.
    assert_eq!(found.iter().map(|problem| problem.line).collect::<Vec<_>>(), [1, 2]);
    for problem in &found {
        assert_eq!(problem.message, "a name without a value");
        assert_eq!(problem.expected.as_deref(), Some("name = value"));
        let mend = "text stands in quotes, tables in [brackets]; see docs/job-file.md";
        assert_eq!(problem.mend.as_deref(), Some(mend));
    }
}

#[test]
fn a_file_cut_off_in_the_middle_of_a_line() {
    let cut = SOUND.find("M1.start").unwrap() + 4;
    let text = format!("{}^", &SOUND[..cut]);
    check_text(
        &text,
        "text without its closing quote",
        "\" at its end",
        "text stands in quotes, tables in [brackets]; see docs/job-file.md",
    );
}

#[test]
fn a_byte_that_is_not_utf_8() {
    let (text, line, column) = marked(&spoilt("C1.b", "C^1.b"));
    let mut bytes = text.into_bytes();
    let at = SOUND.find("C1.b").unwrap() + 1;
    bytes[at] = 0xe9;
    let problems = read_bytes("job.toml", &bytes).unwrap_err().0;
    let [problem] = &problems[..] else { panic!("one problem, found {}", problems.len()) };
    assert_eq!((problem.line, problem.column, problem.span.start), (line, column, at));
    assert_eq!(problem.message, "the text is not UTF-8 from here on");
    assert_eq!(problem.expected.as_deref(), Some("text in UTF-8"));
    assert_eq!(problem.mend.as_deref(), Some("save it as UTF-8 in the editor; check that it is a text file"));
}

#[test]
fn a_file_of_20_megabytes() {
    // Sound text throughout, so that only its size can be the reason; parsing it would take far longer.
    let bytes = SOUND.as_bytes().repeat(20_000_000 / SOUND.len() + 1);
    let start = Instant::now();
    let problems = read_bytes("job.toml", &bytes).unwrap_err().0;
    assert!(start.elapsed() < Duration::from_millis(50), "took {:?}", start.elapsed());
    let [problem] = &problems[..] else { panic!("one problem, found {}", problems.len()) };
    assert_eq!((problem.line, problem.column), (1, 1));
    assert_eq!(problem.message, "the file is larger than 4 MB");
    assert_eq!(problem.expected.as_deref(), Some("a job file of at most 4 MB"));
    let mend = "check that this is the file you meant; long logs do not belong in a job file";
    assert_eq!(problem.mend.as_deref(), Some(mend));
}

/// Reads a text of nearly the largest size and fails if that takes minutes, as it would if every problem or wire were
/// looked for from the start of the file.
fn refused_in_time(piece: &str) -> Vec<Problem> {
    let text = SOUND.to_owned() + &piece.repeat(LARGEST_FILE_BYTES as usize * 9 / 10 / piece.len());
    let start = Instant::now();
    let found = problems(&text);
    assert!(start.elapsed() < Duration::from_secs(20), "took {:?}", start.elapsed());
    found
}

#[test]
fn a_long_log_is_refused_in_time() {
    let found = refused_in_time("Nov 25 11:08:33 bench kernel: something happened here\n");
    let last = found.last().unwrap();
    assert_eq!((found.len(), last.message.as_str()), (201, "there are more problems than the 200 listed here"));
}

#[test]
fn one_long_line_is_refused_in_time() {
    let found = refused_in_time("x y ");
    assert_eq!(found.len(), 1);
}

#[test]
fn thousands_of_wrong_readings_are_refused_in_time() {
    let found = refused_in_time("[[readings]]\nsetup = \"dark\"\nohms = 1\nbetween = [\"a.b\", \"c.d\"]\n");
    assert_eq!(found.len(), 201);
}

#[test]
fn thousands_of_alike_wires_are_refused_in_time() {
    let found = refused_in_time("[[wires]]\nfrom = \"cord.earth\"\nto = \"frame\"\n");
    let [problem] = &found[..] else { panic!("one problem, found {}", found.len()) };
    assert_eq!(problem.expected.as_deref(), Some("at most 1000"));
    assert_eq!(problem.mend.as_deref(), Some("leave out what has no part in the trouble"));
}

#[test]
fn lists_nested_a_hundred_thousand_deep_are_refused() {
    let found = problems(&(SOUND.to_owned() + "note = " + &"[".repeat(100_000)));
    assert_eq!(found[0].message, "cannot recurse further; max recursion depth met");
}

// Many at once, and places.

#[test]
fn several_problems_are_all_reported_in_the_order_of_the_file() {
    let text = spoilt("microfarads = 3", "microfarads = ^-3")
        .replace("S = \"on\" }", "S = ^\"onn\" }")
        .replace("from = \"S.run\"", "from = ^\"S.rum\"")
        .replace("volts = 229", "volts = ^\"22 9\"")
        .replace("word = \"slow\"", "word = ^\"slo\"");
    let places: Vec<(usize, usize)> = {
        let mut rest = text.clone();
        std::iter::from_fn(|| {
            rest.contains(MARK).then(|| {
                let (without, line, column) = marked(&rest);
                rest = without;
                (line, column)
            })
        })
        .collect()
    };
    let found = problems(&text.replace(MARK, ""));
    assert_eq!(found.iter().map(|problem| (problem.line, problem.column)).collect::<Vec<_>>(), places);
    // C1, which could not be read, is not reported again where wires go to it.
    let messages: Vec<&str> = found.iter().map(|problem| problem.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "-3 is not above zero",
            "unknown position 'onn' of 'S'",
            "unknown terminal 'S.rum'",
            "'22 9' has a suffix that is not known ('9')",
            "unknown word 'slo'",
        ]
    );
}

#[test]
fn what_refers_to_a_part_a_setup_or_a_meter_that_could_not_be_read_is_not_reported_too() {
    check("rpm = 1310", "rpm = ^0", "0 is not above zero", A_NUMBER, "");
    check("amps_floor = 0.05", "amps_floor = ^0", "0 is not above zero", A_NUMBER, "");
    let message = "the text \"60\" where it cannot be";
    check("supply = \"on\"", "supply = \"on\"\nwinding_celsius = ^\"60\"", message, "a plain number", "");
}

#[test]
fn a_problem_prints_as_one_line_with_everything_in_it() {
    let (text, line, column) = marked(&spoilt("microfarads = 3", "microfarads = ^\"3m\""));
    let printed = Problems(problems(&text)).to_string();
    let place = format!("job.toml:{line}:{column}: ");
    assert_eq!(
        printed,
        place
            + "'3m' is doubtful: m could be milli or mega; expected "
            + A_NUMBER
            + "; write 3M for mega, or the number itself"
    );
}

#[test]
fn carriage_returns_and_letters_of_several_bytes_do_not_move_the_place() {
    let text =
        spoilt("microfarads = 3", "volts = 450 # \u{00b5}F \u{2126}\nmicrofarads = ^\"3m\"").replace('\n', "\r\n");
    let (text, line, column) = marked(&text);
    let error = only_error(&text);
    assert_eq!((error.line, error.column), (line, column));
    // In a line with such letters columns are counted in characters.
    let text = spoilt("name = \"Fan over a door\"", "name = \"L\u{00fc}fter \u{2126}\", ^x = 1");
    let (text, line, column) = marked(&text);
    assert_eq!((only_error(&text).line, only_error(&text).column), (line, column - 2));
}

#[test]
fn a_mark_of_byte_order_does_not_move_the_place() {
    let (text, line, column) = marked(&spoilt("microfarads = 3", "microfarads = ^\"3m\""));
    let error = only_error(&format!("\u{feff}{text}"));
    assert_eq!((error.line, error.column), (line, column));
    // The span counts the bytes of the file, mark and all.
    assert_eq!(error.span.start, text.find("\"3m\"").unwrap() + '\u{feff}'.len_utf8());
}

/// What is true of every answer, sound or not.
fn check_answer(text: &[u8], answer: &Result<Job, Problems>) {
    let problems = match answer {
        Ok(job) => &job.warnings,
        Err(problems) => {
            assert!(problems.0.iter().any(|problem| problem.severity == Severity::Error), "refused without an error");
            problems
        }
    };
    let text = String::from_utf8_lossy(text);
    let lines: Vec<&str> = text.split('\n').collect();
    for problem in &problems.0 {
        assert!((1..=lines.len()).contains(&problem.line), "line {} of {}", problem.line, lines.len());
        let width = lines[problem.line - 1].chars().count();
        assert!((1..=width + 1).contains(&problem.column), "column {} of {width}: {problem}", problem.column);
        assert!(problem.span.start <= problem.span.end && problem.span.end <= text.len(), "span of {problem}");
        assert!(!problem.message.is_empty());
    }
    let starts: Vec<usize> = problems.0.iter().map(|problem| problem.span.start).collect();
    assert!(starts.is_sorted(), "problems out of order");
}

/// One way in which a file gets damaged; places are shares of its length.
#[derive(Debug, Clone)]
enum Damage {
    Delete(f64, usize),
    Duplicate(f64, usize, f64),
    Replace(f64, usize, String),
    Insert(f64, String),
    SwapLines(f64, f64),
}

/// Characters that mean something in a job file come more often than others.
fn characters() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[\\[\\]{}=\"'.,#\n0-9kMm -]{1,6}",
        1 => "\\PC{1,4}",
        1 => prop::sample::select(vec!["inf", "nan", "-1", "1e308", "\"open\"", "\"dead\"", "0", "[]", "{}", "frame", "\u{feff}"])
            .prop_map(String::from),
    ]
}

fn damages() -> impl Strategy<Value = Damage> {
    let place = || 0.0..1.0f64;
    prop_oneof![
        (place(), 1..60usize).prop_map(|(at, length)| Damage::Delete(at, length)),
        (place(), 1..200usize, place()).prop_map(|(at, length, to)| Damage::Duplicate(at, length, to)),
        (place(), 1..20usize, characters()).prop_map(|(at, length, by)| Damage::Replace(at, length, by)),
        (place(), characters()).prop_map(|(at, what)| Damage::Insert(at, what)),
        (place(), place()).prop_map(|(one, other)| Damage::SwapLines(one, other)),
    ]
}

fn damaged(text: &str, damage: &Damage) -> String {
    let mut characters: Vec<char> = text.chars().collect();
    let count = characters.len();
    let place = |share: f64| (share * count as f64) as usize;
    let slice = |at: f64, length: usize| place(at)..(place(at) + length).min(count);
    match damage {
        Damage::Delete(at, length) => {
            characters.drain(slice(*at, *length));
        }
        Damage::Duplicate(at, length, to) => {
            let copy = characters[slice(*at, *length)].to_vec();
            characters.splice(place(*to)..place(*to), copy);
        }
        Damage::Replace(at, length, by) => {
            characters.splice(slice(*at, *length), by.chars());
        }
        Damage::Insert(at, what) => {
            characters.splice(place(*at)..place(*at), what.chars());
        }
        Damage::SwapLines(one, other) => {
            let mut lines: Vec<&str> = text.split('\n').collect();
            let line = |share: f64| (share * lines.len() as f64) as usize;
            let (one, other) = (line(*one), line(*other));
            lines.swap(one, other);
            return lines.join("\n");
        }
    }
    characters.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, ..ProptestConfig::default() })]

    #[test]
    fn a_damaged_file_never_panics_and_every_place_lies_in_it(damage in prop::collection::vec(damages(), 1..5)) {
        let text = damage.iter().fold(SOUND.to_owned(), |text, damage| damaged(&text, damage));
        check_answer(text.as_bytes(), &read_bytes("job.toml", text.as_bytes()));
    }

    #[test]
    fn damaged_bytes_never_panic(at in prop::collection::vec((0..SOUND.len(), any::<u8>()), 1..4)) {
        let mut bytes = SOUND.as_bytes().to_vec();
        for (at, byte) in at {
            bytes[at] = byte;
        }
        check_answer(&bytes, &read_bytes("job.toml", &bytes));
    }
}

// Motors that start with a switch, and what starts them.

/// A unit with one more part, whose problem is wanted.
fn problem_of(part: &str) -> (String, String, String) {
    let text = format!(
        "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.X]\n{part}\n"
    );
    let problems = read("job.toml", &text).expect_err("a problem");
    let problem = &problems.0[0];
    (problem.message.clone(), problem.expected.clone().unwrap_or_default(), problem.mend.clone().unwrap_or_default())
}

#[test]
fn plates_of_starting_motors_that_cannot_be() {
    for kind in ["split-phase-motor", "compressor", "reversible-motor"] {
        let plate =
            |fields: &str| problem_of(&format!("kind = \"{kind}\"\nplate = {{ volts = 230, hertz = 50, {fields} }}"));
        let (message, expected, _) = plate("rpm = 1500, poles = 4");
        assert!(message.contains("not below the synchronous speed of 1500 rpm"), "{message}");
        assert_eq!(expected, "a full-load speed below synchronous speed");
        let (message, ..) = plate("amps = 2, watts = 500");
        assert_eq!(message, "500 W is more than 230 V times 2 A");
        let (message, ..) = plate("poles = 3");
        assert!(message.contains("an even number of poles"), "{message}");
        let (message, ..) = plate("amps = 0");
        assert!(message.contains('0'), "{message}");
        let (message, ..) =
            problem_of(&format!("kind = \"{kind}\"\nload = \"lift\"\nplate = {{ volts = 230, hertz = 50 }}"));
        assert!(message.contains("lift"), "{message}");
    }
    let (message, ..) =
        problem_of("kind = \"reversible-motor\"\nplate = { volts = 230, hertz = 50, amps = 0.5, microfarads = 90 }");
    assert!(message.contains("no motor of ordinary proportions"), "{message}");
}

#[test]
fn extreme_plates_of_starting_motors_make_a_motor_or_a_problem_and_never_nonsense() {
    for kind in ["split-phase-motor", "compressor"] {
        for fields in [
            "amps = 1e-6",
            "amps = 1e6",
            "amps = 2, microfarads = 1e9",
            "amps = 2, run_microfarads = 1e9",
            "amps = 2, run_microfarads = 1e-9",
            "amps = 2, main_ohms = 1e9",
            "amps = 2, main_ohms = 1e-9, start_ohms = 1e9",
            "amps = 2, rpm = 1e-3, poles = 2",
            "amps = 2, rpm = 2999.999, poles = 2",
            "watts = 1e-9",
        ] {
            let text = format!(
                "wires = [ {{ from = \"supply.hot\", to = \"X.run\" }}, {{ from = \"supply.hot\", to = \"X.start\" }}, \
                 {{ from = \"supply.neutral\", to = \"X.common\" }} ]\n\
                 [unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
                 [parts.X]\nkind = \"{kind}\"\nplate = {{ volts = 230, hertz = 50, {fields} }}\n\
                 [setups.on]\nsupply = \"on\"\n"
            );
            let Ok(job) = read("job.toml", &text) else { continue };
            let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &bench::FaultSet::none())];
            let watts = bench::observe(&job.unit, &job.setups[0], &bench::FaultSet::none(), &deviations, |observed| {
                observed.watts(job.unit.supply())
            });
            assert!(watts.is_ok_and(f64::is_finite), "{kind} {fields}");
        }
    }
}

#[test]
fn relays_that_cannot_be() {
    let (message, expected, mend) = problem_of("kind = \"potential-relay\"\npickup_volts = 200\ndropout_volts = 200");
    assert_eq!(message, "drop-out at 200 V is not below pick-up at 200 V");
    assert!(expected.contains("fewer volts") && mend.contains("leave dropout_volts out"), "{expected} / {mend}");
    let (message, ..) = problem_of("kind = \"current-relay\"\npickup_amps = 5\ndropout_amps = 6");
    assert_eq!(message, "drop-out at 6 A is not below pick-up at 5 A");
    let (message, expected, _) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.on = [[\"a\", \"b\"]]");
    assert_eq!((message.as_str(), expected.as_str()), ("contacts of a relay that is 'on'", "released or pulled-in"));
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.released = []");
    assert_eq!(message, "a relay without contacts");
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.pulled-in = [[\"a\", \"a\"]]");
    assert!(message.contains("from a to itself"), "{message}");
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.pulled-in = [[\"coil-a\", \"b\"]]");
    assert!(message.contains("two terminals named 'coil-a'"), "{message}");
    for part in [
        "kind = \"ptc-starter\"\nohms = -3",
        "kind = \"inrush-limiter\"\nohms = 0",
        "kind = \"half-wave-diode\"\namps = -1",
        "kind = \"start-capacitor\"",
        "kind = \"potential-relay\"",
    ] {
        problem_of(part);
    }
}
