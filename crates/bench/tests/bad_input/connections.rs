//! Wiring that cannot be.

use super::*;

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
