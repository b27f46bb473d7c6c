//! Safety tests after a repair.

use super::*;

/// The sound job with a section for safety tests; its mark stands in what follows.
#[track_caller]
fn check_safety(fields: &str, message: &str, expected: &str, mend: &str) {
    check_text(&format!("{SOUND}\n[safety]\n{fields}\n"), message, expected, mend);
}

/// The sound job with one safety test.
#[track_caller]
fn check_value(test: &str, value: &str, message: &str, mend: &str) {
    let fields = format!("tests = [ {{ test = \"{test}\", value = ^{value} }} ]");
    check_safety(&fields, message, A_VALUE, mend);
}

const A_VALUE: &str = "a value with its unit such as \"0.12 ohm\", or \"ok\", \"failed\", \"not done: why\"";

#[test]
fn a_class_that_does_not_exist() {
    let mend = "there is I, II, III";
    check_safety("class = ^\"IV\"", "there is no protection class 'IV'", "one of I, II, III", mend);
    check_safety("class = ^\"i\"", "there is no protection class 'i'", "one of I, II, III", mend);
}

#[test]
fn a_region_that_is_not_known() {
    let expected = "one of europe, united-kingdom, united-states, australia-new-zealand, germany-2008, \
                    united-kingdom-4th-edition, product, product-2010";
    let mend = "did you mean europe?";
    check_safety("region = ^\"eurpe\"", "there is no region 'eurpe'", expected, mend);
}

#[test]
fn a_use_and_a_test_that_are_not_known() {
    let uses = "one of hand-held, portable, stationary";
    check_safety("use = ^\"handheld\"", "there is no use 'handheld'", uses, "there is hand-held, portable, stationary");
    let tests = "one of visual, earth-continuity, insulation-resistance, electric-strength, polarity, \
                 protective-conductor-current, touch-current, functional";
    let message = "there is no safety test 'earth-continuty'";
    let mend = "did you mean earth-continuity?";
    check_safety("tests = [ { test = ^\"earth-continuty\", value = \"0.1 ohm\" } ]", message, tests, mend);
}

#[test]
fn a_value_without_its_unit() {
    check_value(
        "earth-continuity",
        "\"0.12\"",
        "'0.12' for earth-continuity has no unit",
        "write \"0.12 ohm\" or \"0.12 Mohm\", as the instrument showed it",
    );
    check_value(
        "touch-current",
        "\">0.3\"",
        "'>0.3' for touch-current has no unit",
        "write \">0.3 mA\" if that is what the instrument showed",
    );
    check_value(
        "earth-continuity",
        "0.12",
        "0.12 has no unit",
        "write the unit and put it in quotes: \"0.12 ohm\" or \"0.12 mA\", as the instrument showed it",
    );
}

#[test]
fn a_value_in_the_unit_of_another_test() {
    check_value(
        "earth-continuity",
        "\"0.3 mA\"",
        "'0.3 mA' for earth-continuity, which is in ohms",
        "write it as \"0.12 ohm\"",
    );
    check_value(
        "touch-current",
        "\"2 Mohm\"",
        "'2 Mohm' for touch-current, which is in amperes",
        "write it as \"0.1 mA\"",
    );
}

#[test]
fn a_thousandth_of_an_ohm_of_insulation() {
    check_value(
        "insulation-resistance",
        "\"200 mohm\"",
        "'200 mohm' of insulation is doubtful",
        "a small m is a thousandth; write \"200 Mohm\" if millions are meant",
    );
}

#[test]
fn words_where_a_value_belongs_and_a_value_where_words_do() {
    check_value(
        "insulation-resistance",
        "\"ok\"",
        "'ok' for insulation-resistance, which is measured",
        "write what the instrument showed: \">200 Mohm\"",
    );
    check_value(
        "visual",
        "\"0.3 mA\"",
        "'0.3 mA' for visual, which has no number",
        "write \"ok\", \"failed\", or \"not done: why\"",
    );
    check_value("polarity", "\"not done\"", "'not done' without a reason", "say why: \"not done: no tester at hand\"");
}

#[test]
fn values_that_are_no_numbers() {
    check_value(
        "earth-continuity",
        "\"low ohm\"",
        "'low' is not a number in a value for earth-continuity",
        "write one such as 27.1 or \"4.7k\"",
    );
    check_value(
        "earth-continuity",
        "\"0,12 ohm\"",
        "'0,12' has a comma in a value for earth-continuity",
        "write 0.12 (a point for decimals, nothing between thousands)",
    );
    check_value(
        "earth-continuity",
        "\"-0.1 ohm\"",
        "'-0.1 ohm' for earth-continuity is below zero",
        "write the size without its sign",
    );
    check_value(
        "earth-continuity",
        "\"\"",
        "'' for earth-continuity is no value with a unit",
        "write it as \"0.12 ohm\"",
    );
}

#[test]
fn one_wrong_test_does_not_hide_the_next() {
    let text = format!(
        "{SOUND}\n[safety]\ntests = [\n  {{ test = \"visual\", value = \"fine\" }},\n  \
         {{ test = \"touch-current\", value = \"0.2\" }},\n]\n"
    );
    let problems = read("job.toml", &text).unwrap_err();
    assert_eq!(problems.0.len(), 2, "{problems}");
}

#[test]
fn heating_and_cords_that_cannot_be() {
    let expected = "watts of all heating elements, 0 without any";
    check_safety("heating_watts = ^-5", "heating of -5 W", expected, "");
    check_safety("heating_watts = ^nan", "heating of NaN W", expected, "");
    check_safety("cord_metres = ^0", "0 is not above zero", A_NUMBER, "");
}

proptest! {
    #[test]
    fn no_value_typed_panics(test in 0..8usize, typed in ".*", number in any::<f64>(), unit in "[ kmMGu]?(ohm|Ohm|OHM|Ω|A|amps)?") {
        let (test, ..) = bench::safety::TESTS[test];
        let _ = bench::job::parse_safety_value(test, &typed);
        if let Ok(bench::safety::SafetyValue::Number { si, last_digit_si, .. }) =
            bench::job::parse_safety_value(test, &format!("{number}{unit}"))
        {
            prop_assert!(si.is_finite() && si >= 0.0 && last_digit_si >= 0.0);
        }
    }
}
