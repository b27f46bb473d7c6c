//! Ohms of windings after a heat run.

use super::{SOUND, check_text};
use bench::job::read;
use bench::repaired::Metal;

const WHOLE: &str = "run = \"warm\"
winding = \"M1.winding\"
cold_ohms = 19.84
cold_celsius = 21.5
seconds = [15, 25, 40]
ohms = [24.8, 24.6, 24.4]
";

fn with(entry: &str) -> String {
    format!(
        "{SOUND}\n[runs.warm]\nminutes = 300\nsteps = [{{ minute = 0, setup = \"live\" }}]\n\n[repaired]\nwork = \"C1 replaced\"\n\n\
         [[repaired.hot_ohms]]\n{entry}"
    )
}

#[track_caller]
fn spoilt(passage: &str, by: &str, message: &str, expected: &str, mend: &str) {
    assert_eq!(WHOLE.matches(passage).count(), 1);
    check_text(&with(&WHOLE.replacen(passage, by, 1)), message, expected, mend);
}

#[test]
fn they_are_read_as_they_stand() {
    let job = read("job.toml", &with(&format!("{WHOLE}room_celsius = 24\nmetal = \"aluminium\"\n"))).unwrap();
    let hot = &job.repaired.as_ref().unwrap().hot_ohms[0];
    assert_eq!(
        (job.runs[hot.run].name.as_str(), job.unit.body_name(hot.winding.0, hot.winding.1)),
        ("warm", "M1.winding".into())
    );
    assert_eq!((hot.cold, hot.room_celsius, hot.metal), ((19.84, 21.5), Some(24.0), Metal::Aluminium));
    assert_eq!(hot.readings, [(15.0, 24.8), (25.0, 24.6), (40.0, 24.4)]);
    let job = read("job.toml", &with(WHOLE)).unwrap();
    let hot = &job.repaired.as_ref().unwrap().hot_ohms[0];
    assert_eq!((hot.room_celsius, hot.metal), (None, Metal::Copper));
}

#[test]
fn what_is_not_there() {
    spoilt("\"warm\"", "^\"worm\"", "unknown run 'worm'", "the name of a run", "did you mean warm?");
    let (windings, there_is) = ("one of M1.winding, M1.auxiliary-winding", "there is M1.winding, M1.auxiliary-winding");
    spoilt("\"M1.winding\"", "^\"M1.core\"", "'M1.core' is no winding", windings, there_is);
    spoilt("\"M1.winding\"", "^\"M1.windng\"", "'M1.windng' is no winding", windings, "did you mean M1.winding?");
}

#[test]
fn figures_that_cannot_be() {
    let (ohms, cold) = ("ohms above zero", "without the cold ohms the hot ones tell no temperature");
    spoilt("19.84", "^0", "0 ohms", ohms, cold);
    spoilt("19.84", "^-3.5", "-3.5 ohms", ohms, cold);
    spoilt("19.84", "^nan", "NaN ohms", ohms, cold);
    let room = "degrees Celsius of a room, -40 to 70";
    let mend = "read the cold ohms with the unit at the temperature of the room, and write that";
    spoilt("21.5", "^95", "cold_celsius of 95", room, mend);
    spoilt("ohms = [24", "room_celsius = ^inf\nohms = [24", "room_celsius of inf", room, mend);
    let over_range = "leave out what was read over range, with its time";
    spoilt("[24.8, 24.6, 24.4]", "^[24.8, 0, 24.4]", "0 ohms", ohms, over_range);
    spoilt("[24.8, 24.6, 24.4]", "^[24.8, inf, 24.4]", "inf ohms", ohms, over_range);
    spoilt("[24.8, 24.6, 24.4]", "^[24.8, 24.6]", "2 ohms for 3 times", "ohms for each time", "");
    let minutes = "seconds since switching off, not minutes of the run";
    spoilt("[15, 25, 40]", "^[-1, 25, 40]", "-1 seconds after switching off", "0 to 3600", minutes);
    spoilt("[15, 25, 40]", "^[15, 25, 9000]", "9000 seconds after switching off", "0 to 3600", minutes);
    spoilt("[15, 25, 40]", "^[15, 25, 25]", "25 after 25 seconds", "times in order, each once", "");
    spoilt("[15, 25, 40]", "^[15, nan, 40]", "NaN seconds after switching off", "0 to 3600", minutes);
}

#[test]
fn none_at_all() {
    let entry = WHOLE.replace("[15, 25, 40]", "^[]").replace("[24.8, 24.6, 24.4]", "[]");
    check_text(&with(&entry), "0 readings", "1 to 200", "three or more within the first minutes tell most");
}
