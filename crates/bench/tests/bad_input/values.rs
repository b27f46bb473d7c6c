//! Values.

use super::*;

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

const AMPS_MEND: &str = "write amps, not milliamps, and of 16(4) the figure in brackets where a motor is switched";
const CELSIUS_MEND: &str = "write degrees Celsius, not Fahrenheit, and of 25/085/21 the figure in the middle, 85";

/// What parts are made for: amps of contacts, degrees of capacitors.
#[test]
fn ratings_that_nothing_has() {
    let switch = "kind = \"switch\"\n";
    let amps = |typed: &str| format!("kind = \"switch\"\nrated_amps = ^{typed}\n");
    check(switch, &amps("-16"), "-16 is not above zero", A_NUMBER, "");
    check(switch, &amps("0"), "0 is not above zero", A_NUMBER, "");
    check(switch, &amps("16000"), "a contact for 16000 A", "0.01 to 400 A", AMPS_MEND);
    check(switch, &amps("\"16k\""), "a contact for 16000 A", "0.01 to 400 A", AMPS_MEND);
    check(
        switch,
        &amps("\"16(4)\""),
        "'16(4)' has a suffix that is not known ('(4)')",
        A_NUMBER,
        "only k and M are, units are never written",
    );
    let capacitor = "microfarads = 3\n";
    let celsius = |typed: &str| format!("microfarads = 3\nmax_celsius = ^{typed}\n");
    check(capacitor, &celsius("-85"), "-85 is not above zero", A_NUMBER, "");
    check(capacitor, &celsius("185"), "a capacitor for 185 degrees Celsius", "40 to 150 degrees Celsius", CELSIUS_MEND);
}

#[test]
fn sizes_that_no_wire_has() {
    let label = "label = \"brown lead\"";
    let sized = |typed: &str| format!("label = \"brown lead\"\n{typed}");
    check(label, &sized("square_millimetres = ^-1"), "-1 is not above zero", A_NUMBER, "");
    check(
        label,
        &sized("square_millimetres = ^750"),
        "a wire of 750 square millimetres",
        "0.03 to 50 square millimetres",
        "write the section, not the diameter or strands, or leave it out if it is not known",
    );
    check(
        label,
        &sized("gauge = ^0.75"),
        "a wire of 0.75 AWG",
        "1 to 32 AWG",
        "write square_millimetres for a metric size, or leave it out if it is not known",
    );
    check(
        label,
        &sized("square_millimetres = 0.75\ngauge = ^18"),
        "the size of a wire is given twice",
        "square_millimetres or gauge",
        "leave out one of them",
    );
}

#[test]
fn a_capacitor_that_is_clamped_needs_degrees() {
    let heat = "[setups.bare]";
    let text = "[heat]\nclamped = { ^C1 = \"M1.core\" }\n\n[setups.bare]";
    let expected = "a cutout, thermostat, thermal fuse or capacitor with max_celsius, and the body of another part";
    check(heat, text, "'C1' is clamped to nothing", expected, "");
    let marked = spoilt(heat, &text.replace('^', "")).replace("microfarads = 3", "microfarads = 3\nmax_celsius = 70");
    let job = read("job.toml", &marked).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((job.unit.air().touches.len(), job.unit.air().capacitors.len()), (0, 1));
}
