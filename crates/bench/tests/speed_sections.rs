//! Speed sections in the auxiliary winding of a capacitor-run motor.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/stages.rs"]
#[allow(dead_code)]
mod stages;

use bench::Job;
use common::{Bench, job};
use stages::WALL_FAN as FAN;

fn rpm(job: &Job) -> [f64; 3] {
    let bench = Bench::sound(job);
    ["high", "medium", "low"].map(|setup| bench.rpm(setup, "M1"))
}

#[test]
fn speeds_fall_from_tap_to_tap_under_a_fan() {
    let [high, medium, low] = rpm(&job(FAN));
    // The plate's speed on the fastest tap.
    assert!((high / 1350.0 - 1.0).abs() < 0.03, "{high} rpm");
    assert!(medium < 0.97 * high && low < 0.95 * medium && low > 400.0, "{high}, {medium}, {low} rpm");
}

/// On the fastest tap the sections are part of the auxiliary, so the plate comes out as with sections in the main.
#[test]
fn on_the_fastest_tap_the_plate_comes_out() {
    let bench = job(FAN);
    let amps = Bench::sound(&bench).amps("high", "M1.common");
    assert!((amps / 0.45 - 1.0).abs() < 0.08, "{amps} A");
}

/// Ohms of windings in series, by the unknown values themselves: common to high is the main winding alone, each slower tap
/// adds its section, and from start to the slowest tap lie main, sections and auxiliary.
#[test]
fn ohms_between_the_leads_are_those_of_windings_in_series() {
    let job = job(FAN);
    let bench = Bench::sound(&job);
    let ohms = |a: &str, b: &str| bench.ohms("cold", &format!("M1.{a}"), &format!("M1.{b}"));
    let median = |words: &str| job.unit.unknowns().iter().find(|unknown| unknown.words == words).unwrap().median;
    let (main, auxiliary) = (median("main winding ohms"), median("auxiliary winding ohms"));
    let sections = [median("section high-medium ohms"), median("section medium-low ohms")];
    for (a, b, expected) in [
        ("common", "high", main),
        ("common", "medium", main + sections[0]),
        ("common", "low", main + sections[0] + sections[1]),
        ("high", "medium", sections[0]),
        ("medium", "low", sections[1]),
        ("common", "start", auxiliary),
        ("start", "low", auxiliary + main + sections[0] + sections[1]),
    ] {
        let found = ohms(a, b);
        assert!((found / expected - 1.0).abs() < 1e-6, "{a} to {b}: {found} ohm, {expected} by hand");
    }
}

/// Turns on the auxiliary's axis at right angles to the main's slow the motor less than as many on the main's own axis.
#[test]
fn the_axis_of_the_sections_matters() {
    let auxiliary = rpm(&job(FAN));
    let main = rpm(&job(&FAN.replace("sections_in = \"auxiliary\"", "sections_in = \"main\"")));
    let unsaid = rpm(&job(&FAN.replace("sections_in = \"auxiliary\"\n", "")));
    assert_eq!(main, unsaid);
    assert!((main[2] - auxiliary[2]).abs() > 20.0, "{main:?} and {auxiliary:?}");
}

#[test]
fn an_open_section_stops_the_taps_that_need_it() {
    let job = job(FAN);
    let broken = Bench::with(&job, &["M1 high-medium-section-open"]);
    // High has its main winding but no auxiliary; low has its auxiliary but no main.
    assert_eq!(broken.rpm("high", "M1"), 0.0);
    assert_eq!(broken.rpm("low", "M1"), 0.0);
    assert!(broken.amps("high", "M1.common") > 0.45 && broken.amps("low", "M1.common") < 0.45);
    assert!(broken.ohms("cold", "M1.common", "M1.low") > 1e6);
}

#[test]
fn a_single_speed_has_no_sections() {
    let text = FAN
        .replace("taps = [\"high\", \"medium\", \"low\"]\n", "")
        .lines()
        .filter(|line| !line.contains("M1.medium") && !line.contains("M1.low"))
        .collect::<Vec<_>>()
        .join("\n")
        .replace("M1.high", "M1.run");
    let problems = bench::job::read("job.toml", &text).expect_err("a problem").to_string();
    assert!(problems.contains("sections_in of a motor with a single speed"), "{problems}");
}
