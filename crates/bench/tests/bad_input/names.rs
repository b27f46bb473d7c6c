//! Names that are not known.

use super::*;

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
        "one of microfarads, volts, max_celsius",
        "did you mean microfarads?",
    );
}

#[test]
fn unknown_field_of_a_plate() {
    check(
        "rpm = 1310",
        "^rmp = 1310",
        "unknown field 'rmp'",
        "one of volts, hertz, amps, rpm, poles, microfarads, watts, main_ohms, insulation_class",
        "did you mean amps?",
    );
}

#[test]
fn unknown_section() {
    check(
        "[[symptoms]]",
        "[[^symptom]]",
        "unknown section 'symptom'",
        "one of unit, parts, wires, setups, meters, readings, symptoms, heat, runs, logs, housings, refused, repaired, safety",
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
