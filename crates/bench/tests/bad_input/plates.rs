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
        "one of microfarads, volts",
        "there is microfarads, volts",
    );
}
