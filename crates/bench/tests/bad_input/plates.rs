//! Plates that no motor can have; the place is the name of the motor.

use super::*;

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

#[test]
fn watts_that_the_windings_alone_exceed() {
    // 0.13 of volts over amps are usual ohms of such a motor; a third of that at 0.6 A are 5.7 W.
    check_text(
        &with_plate("watts = 4"),
        "4 W is less than its windings alone turn into heat at 0.6 A, about 5.7 W",
        "input watts of which something is left to turn with",
        "leave watts out if the plate means shaft power, else check watts, amps and ohms",
    );
}

#[test]
fn wrong_poles_for_the_speed() {
    check_text(
        &with_plate("rpm = 900, poles = 4"),
        "900 rpm is far below the synchronous speed of 1500 rpm for 4 poles at 50 Hz",
        "a full-load speed nearer to synchronous speed",
        "wrong poles for the speed? correct poles, rpm or hertz, and give the speed on the fastest tap",
    );
}

#[test]
fn poles_with_a_point() {
    check(
        "rpm = 1310",
        "poles = ^4.0",
        "the number 4.0 where it cannot be",
        "a whole number",
        "write 4, without a point",
    );
}

#[test]
fn amps_of_no_motor() {
    let with_amps = |amps: &str| with_plate("poles = 4").replace("amps = 0.6", &format!("amps = {amps}"));
    check_text(&with_amps("380"), "380 A at 230 V is no small motor", "at most 86.9565 A", "check the point in amps");
    check_text(
        &with_amps("1e-9"),
        "0.000000001 A at 230 V is no small motor",
        "at least 0.0004 A",
        "check the point in amps",
    );
}

/// Letters of IEC 60085; a temperature that no class has gets the nearest.
const CLASSES: &str = "one of Y, A, E, B, F, H, N, R, 250, or a temperature such as 155";

#[test]
fn an_insulation_class_that_does_not_exist() {
    let plate = |class: &str| spoilt("rpm = 1310", &format!("rpm = 1310, insulation_class = ^\"{class}\""));
    let message = |class: &str| format!("there is no insulation class '{class}'");
    check_text(&plate("Q"), &message("Q"), CLASSES, "read the plate again");
    check_text(&plate("140"), &message("140"), CLASSES, "the nearest is B (130 degrees Celsius)");
}

#[test]
fn an_insulation_class_of_the_whole_job_that_does_not_exist() {
    let text = format!("{SOUND}\n[repaired]\nwork = \"C1 replaced\"\ninsulation_class = ^\"Q\"\n");
    check_text(&text, "there is no insulation class 'Q'", CLASSES, "read the plate again");
}

#[test]
fn an_insulation_class_of_what_has_no_winding() {
    check(
        "microfarads = 3",
        "microfarads = 3\n^insulation_class = \"F\"",
        "unknown field 'insulation_class'",
        "one of microfarads, volts, max_celsius",
        "there is microfarads, volts, max_celsius",
    );
}
