//! Names given twice, and names that cannot be.

use super::*;

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
