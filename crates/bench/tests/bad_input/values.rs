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
