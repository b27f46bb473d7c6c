//! Universal motors as a bench sees them: plates, readings at the brushes in every position of the shaft, faults.
//!
//! Facts without a named source are common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Job;
use common::{Bench, POLISHER, job, part};
use machine::Motion;

fn motion(bench: &Bench<'_>, setup: &str) -> Motion {
    let motor = part(&bench.job.unit, "M1");
    bench.look(setup, |observed| observed.motion(motor).unwrap())
}

fn speed_ratio(bench: &Bench<'_>, setup: &str) -> f64 {
    let motor = part(&bench.job.unit, "M1");
    bench.look(setup, |observed| observed.speed_ratio(motor).unwrap())
}

#[track_caller]
fn assert_near(found: f64, expected: f64, share: f64) {
    assert!((found - expected).abs() <= share * expected.abs(), "{found}, expected {expected}");
}

/// Ohms of one brush of the medians.
fn brush_ohms(job: &Job) -> f64 {
    job.unit.unknowns().iter().find(|unknown| unknown.words == "brush ohms").unwrap().median
}

#[test]
fn a_sound_motor_shows_its_plate() {
    let job = job(POLISHER);
    let sound = Bench::sound(&job);
    // Cord and supply take about one per cent of the volts; the timer adds its milliamperes.
    assert_near(sound.amps("high", "M1.brush-1"), 3.4, 0.02);
    assert_near(sound.rpm("high", "M1"), 11_000.0, 0.02);
    let watts = sound.look("high", |observed| observed.watts(part(&job.unit, "M1")));
    assert_near(watts, 700.0, 0.03);
    let (fast, slow) = (sound.rpm("high", "M1"), sound.rpm("low", "M1"));
    assert!(slow < 0.97 * fast, "more field turns, less speed: {slow} of {fast}");
    assert!(sound.amps("held", "M1.brush-1") > 1.8 * 3.4);
}

#[test]
fn ohms_of_the_ring_are_those_of_all_its_coils() {
    // Two paths of n/2 coils: n r / 4. One coil open: n r / 2. One shorted: n/2 beside n/2 - 1 of them. The same as
    // `reference/commutator.py` solves coil by coil: for 22 coils of 0.31 ohm 1.705, 3.41 and 1.62380941 ohm.
    let text = POLISHER.replace("rpm = 11000 }", "rpm = 11000, armature_ohms = 2.293235294117647 }");
    let job = job(&text);
    let brushes = 2.0 * brush_ohms(&job);
    assert_near(2.293235294117647 - brushes, 1.705, 1e-12);
    let at_brushes = |bench: &Bench<'_>, setup: &str| bench.ohms(setup, "M1.brush-1", "M1.brush-2") - brushes;
    let sound = Bench::sound(&job);
    let open = Bench::with(&job, &["M1 armature-coil-open"]);
    let shorted = Bench::with(&job, &["M1 armature-coil-shorted"]).sized(1e-9);
    // Setup, sound, open, shorted.
    for (setup, expected) in [
        ("unplugged", [1.705, 3.41, 1.62380941]),
        ("highest", [1.705, 3.41, 1.705]),
        ("lowest", [1.705, 1.705, 1.62380941]),
    ] {
        for (bench, expected) in [&sound, &open, &shorted].into_iter().zip(expected) {
            assert_near(at_brushes(bench, setup), expected, 1e-7);
        }
    }
}

#[test]
fn brushes_and_bars_show_where_they_touch() {
    let job = job(POLISHER);
    let ohms = |bench: &Bench<'_>, setup: &str| bench.ohms(setup, "M1.brush-1", "M1.brush-2");
    let sound = ohms(&Bench::sound(&job), "unplugged");
    let worn = Bench::with(&job, &["M1 brush-2-worn"]).sized(7.0);
    for setup in ["unplugged", "lowest", "highest"] {
        assert_near(ohms(&worn, setup), sound + 7.0, 1e-9);
    }
    assert!(worn.rpm("high", "M1") < 0.95 * Bench::sound(&job).rpm("high", "M1"));
    let bar = Bench::with(&job, &["M1 bad-bar"]).sized(30.0);
    assert_near(ohms(&bar, "highest"), sound + 30.0, 1e-9);
    assert_near(ohms(&bar, "lowest"), sound, 1e-9);
    let stuck = Bench::with(&job, &["M1 brush-1-stuck"]);
    assert_eq!(ohms(&stuck, "unplugged"), f64::INFINITY);
    assert!(stuck.amps("high", "M1.brush-1") < 1e-3);
    assert_eq!(motion(&stuck, "high"), Motion::AtRest);
    // All of the supply stands across the open brush.
    let volts = stuck.volts("high", "M1.brush-1", "M1.brush-2");
    assert!(volts > 220.0, "{volts}");
}

#[test]
fn an_open_armature_coil_leaves_it_running_weaker() {
    let job = job(POLISHER);
    let (sound, open) = (Bench::sound(&job), Bench::with(&job, &["M1 armature-coil-open"]));
    let (fast, slow) = (sound.rpm("high", "M1"), open.rpm("high", "M1"));
    assert!(slow < 0.95 * fast && slow > 0.4 * fast, "{slow} of {fast}");
}

#[test]
fn a_shorted_armature_coil_heats_and_slows() {
    let job = job(POLISHER);
    let motor = part(&job.unit, "M1");
    let heat = |bench: &Bench<'_>| bench.look("high", |observed| observed.heat(motor));
    let (sound, shorted) = (Bench::sound(&job), Bench::with(&job, &["M1 armature-coil-shorted"]).sized(0.3));
    assert!(heat(&shorted) > 1.3 * heat(&sound), "{} W of {} W", heat(&shorted), heat(&sound));
    assert!(shorted.amps("high", "M1.brush-1") > 1.03 * sound.amps("high", "M1.brush-1"));
    assert!(shorted.rpm("high", "M1") < 0.97 * sound.rpm("high", "M1"));
}

#[test]
fn shorted_field_turns_weaken_the_field() {
    let job = job(POLISHER);
    let (sound, shorted) = (Bench::sound(&job), Bench::with(&job, &["M1 field-1-shorted-turns"]).sized(0.4));
    // More current for what torque there is, and fewer volts across the coil than across its twin.
    assert!(shorted.amps("held", "M1.brush-1") > 1.02 * sound.amps("held", "M1.brush-1"));
    let across = |bench: &Bench<'_>| {
        let first = bench.volts("high", "M1.field-1-a", "M1.high");
        first / bench.volts("high", "M1.field-2-a", "M1.field-2-b")
    };
    assert_near(across(&sound), 1.0, 0.02);
    assert!(across(&shorted) < 0.75, "{}", across(&shorted));
    assert!(
        shorted.ohms("unplugged", "M1.field-1-a", "M1.high")
            < 0.65 * sound.ohms("unplugged", "M1.field-1-a", "M1.high")
    );
}

#[test]
fn an_open_field_stops_everything() {
    let job = job(POLISHER);
    for label in ["M1 field-1-open", "M1 field-2-open", "M1 high-open"] {
        let open = Bench::with(&job, &[label]);
        assert!(open.amps("high", "M1.brush-1") < 1e-3, "{label}");
        assert_eq!(motion(&open, "high"), Motion::AtRest);
    }
    // With only the tap's lead open it still runs on the other.
    assert_eq!(motion(&Bench::with(&job, &["M1 high-open"]), "low"), Motion::Running);
    assert_eq!(motion(&Bench::with(&job, &["M1 high-low-section-open"]), "low"), Motion::AtRest);
}

#[test]
fn leads_interchanged_turn_it_backward_just_as_fast() {
    let job = job(POLISHER);
    let (sound, crossed) = (Bench::sound(&job), Bench::with(&job, &["M1 brush-leads-interchanged"]));
    assert_near(-speed_ratio(&crossed, "high"), speed_ratio(&sound, "high"), 1e-6);
    // Wired the other way round in the job file it does the same.
    let wired = common::job(
        &POLISHER
            .replace("to = \"M1.brush-2\", label", "to = \"M1.brush-1\", label")
            .replace("from = \"M1.brush-1\", to = \"M1.field-2-b\"", "from = \"M1.brush-2\", to = \"M1.field-2-b\""),
    );
    assert_near(speed_ratio(&Bench::sound(&wired), "high"), speed_ratio(&crossed, "high"), 1e-6);
}

#[test]
fn without_its_load_it_races_and_draws_little() {
    let job = job(POLISHER);
    let (sound, free) = (Bench::sound(&job), Bench::with(&job, &["M1 drive-slips"]));
    assert!(free.look("high", |observed| observed.steady().unwrap().settled()));
    assert!(free.rpm("high", "M1") > 1.4 * sound.rpm("high", "M1"));
    assert!(free.amps("high", "M1.brush-1") < 0.8 * sound.amps("high", "M1.brush-1"));
    let dragged = Bench::with(&job, &["M1 bearing-drag"]).sized(0.6);
    assert!(dragged.rpm("high", "M1") < 0.85 * sound.rpm("high", "M1"));
    assert!(dragged.amps("high", "M1.brush-1") > 1.1 * sound.amps("high", "M1.brush-1"));
    assert_eq!(motion(&Bench::with(&job, &["M1 seized"]), "high"), Motion::AtRest);
}

#[test]
fn leaks_make_the_frame_live_when_the_earth_is_broken() {
    let job = job(POLISHER);
    for label in ["M1 armature-to-frame", "M1 field-1-to-frame"] {
        let leaking = Bench::with(&job, &[label, "earth broken"]).sized(3000.0);
        assert!(leaking.frame_volts("high") > 50.0, "{label}: {}", leaking.frame_volts("high"));
        let ohms = Bench::with(&job, &[label]).sized(3000.0).ohms("unplugged", "M1.brush-1", "frame");
        assert!((2990.0..3100.0).contains(&ohms), "{label}: {ohms}");
    }
}

#[test]
fn on_another_frequency_only_the_reactance_changes() {
    // A universal motor loses little speed from 50 to 60 Hz.
    let (fifty, sixty) = (
        job(POLISHER),
        common::job(
            &POLISHER
                .replacen("hertz = 50", "hertz = 60", 1)
                .replace("volts = 230\nhertz = 50\n\n[setups", "volts = 230\n\n[setups"),
        ),
    );
    let change = Bench::sound(&sixty).rpm("high", "M1") / Bench::sound(&fifty).rpm("high", "M1");
    assert!((0.95..1.0).contains(&change), "{change}");
}

#[test]
fn a_timer_motor_of_120_volts_has_the_published_ohms() {
    // About 600 ohm for a small timer motor: acmehowto.com/howto/appliance/icemaker/check/motor4.php, a weak source.
    let text = POLISHER
        .replace("kind = \"timer-motor\"\nvolts = 230\nhertz = 50", "kind = \"timer-motor\"\nvolts = 120\nhertz = 60")
        .replacen("volts = 230\nhertz = 50", "volts = 120\nhertz = 60", 1)
        .replace("plate = { volts = 230, hertz = 50, amps = 3.4,", "plate = { volts = 120, hertz = 60, amps = 6.5,");
    let job = job(&text);
    let sound = Bench::sound(&job);
    assert_near(sound.ohms("unplugged", "W1.a", "W1.b"), 600.0, 1e-3);
    let watts = sound.look("high", |observed| observed.watts(part(&job.unit, "W1")));
    // Less for what the motor beside it takes from the volts.
    assert_near(watts, 3.0, 0.07);
    assert_near(sound.amps("high", "W1.a"), 0.05, 0.05);
    assert_eq!(Bench::with(&job, &["W1 coil-open"]).ohms("unplugged", "W1.a", "W1.b"), f64::INFINITY);
}

#[test]
fn impossible_plates_are_refused_with_a_mend() {
    let plate = "plate = { volts = 230, hertz = 50, amps = 3.4, watts = 700, rpm = 11000 }";
    for (by, message) in [
        ("plate = { volts = 230, amps = 3.4, watts = 900 }", "900 W is more than 230 V times 3.4 A"),
        ("plate = { volts = 230, amps = 3.4, watts = 200 }", "200 W is far less than 230 V times 3.4 A"),
        ("plate = { volts = 230, amps = 3.4, rpm = 250000 }", "250000 rpm is faster than any commutator turns"),
        ("plate = { volts = 230, amps = 3.4, field_ohms = 40, armature_ohms = 30 }", "drop all of 230 V at 3.4 A"),
        ("plate = { volts = 230, poles = 2 }", "poles"),
    ] {
        let error = bench::job::read("job.toml", &POLISHER.replace(plate, by)).unwrap_err().to_string();
        assert!(error.contains(message) && error.contains("expected"), "{error}");
    }
    for (from, by, message) in [
        ("bars = 22", "bars = 23", "an even number from 6 to 200"),
        ("field_coils = 2", "field_coils = 3", "expected 1 or 2"),
        ("taps = [\"high\", \"low\"]", "taps = []", "leave taps out"),
        ("taps = [\"high\", \"low\"]", "taps = [\"high\", \"brush-1\"]", "brush-1"),
    ] {
        let error = bench::job::read("job.toml", &POLISHER.replace(from, by)).unwrap_err().to_string();
        assert!(error.contains(message), "{error}");
    }
    // A plate of which nothing but the volts can be read makes a motor all the same.
    let bare = job(&POLISHER.replace(plate, "plate = { volts = 230 }"));
    assert_eq!(motion(&Bench::sound(&bare), "high"), Motion::Running);
}
