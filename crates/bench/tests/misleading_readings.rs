//! Readings that lead people astray: the solved circuit must mislead in the same way, and show the way out.
//!
//! Each fact is common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Measure, Meter};
use common::{Bench, ONE_FAN, TWO_BLOWERS, WARM_AIR, job, terminal};

#[track_caller]
fn assert_close(found: f64, expected: f64, relative: f64, what: &str) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{what}: {found}, expected {expected}");
}

/// Lift the leads before you measure ohms.
#[test]
fn an_open_common_is_hidden_while_the_sound_twin_is_wired_across_it() {
    let job = job(TWO_BLOWERS);
    let broken = Bench::with(&job, &["M1 common-open"]);
    let sound = Bench::sound(&job).ohms("bare", "M1.common", "M1.high");
    assert_close(broken.ohms("unplugged", "M1.common", "M1.high"), sound, 0.05, "in circuit the twin is read");
    assert_eq!(broken.ohms("bare", "M1.common", "M1.high"), f64::INFINITY);
}

/// At rest an ohmmeter cannot tell an open capacitor from a sound one, in circuit or out; amps can.
#[test]
fn ohms_do_not_show_an_open_capacitor_and_amps_do() {
    let job = job(ONE_FAN);
    let (sound, open) = (Bench::sound(&job), Bench::with(&job, &["C1 open"]));
    let around = sound.ohms("unplugged", "M1.run", "M1.common") + sound.ohms("unplugged", "M1.common", "M1.start");
    for bench in [&sound, &open] {
        assert_close(bench.ohms("unplugged", "C1.a", "C1.b"), around, 1e-9, "around through both windings");
    }
    assert!(sound.amps("on", "M1.start") > 0.1 && open.amps("on", "M1.start") < 1e-3);
}

/// The hot motor is the sound one: the weak one takes nothing through its own common and does not turn.
#[test]
fn the_motor_that_works_harder_is_not_the_one_that_is_broken() {
    let job = job(TWO_BLOWERS);
    let (sound, broken) = (Bench::sound(&job), Bench::with(&job, &["M2 common-open"]));
    let main = |bench: &Bench<'_>, motor: &str| bench.element_watts("high", motor, "main winding");
    assert!(main(&broken, "M1") > 1.3 * main(&sound, "M1"), "the sound one works harder");
    assert_eq!(broken.rpm("high", "M2"), 0.0);
    let (alone, paired) = (broken.rpm("high", "M1"), sound.rpm("high", "M1"));
    assert!(alone > 0.5 * paired && alone < paired - 20.0, "{alone} rpm against {paired} rpm");
}

/// A frame without earth floats at a good part of line volts even when all is sound.
#[test]
fn a_low_impedance_meter_tells_a_leak_to_the_frame_from_a_ghost_on_it() {
    let job = job(ONE_FAN);
    let to_earth = Measure::Volts(terminal(&job.unit, "frame"), terminal(&job.unit, "supply.earth"));
    let on_3_kilohms = Meter { volts_input_ohms: 3000.0, ..Meter::handheld() };
    let read = |labels: &[&str], meter: &Meter| Bench::with(&job, labels).value_by("on", to_earth, meter).unwrap();
    let ghost = read(&["cord earth-open"], &Meter::handheld());
    assert!((5.0..=60.0).contains(&ghost), "{ghost} V");
    // The winding's 1.5 nF to the frame pass 60 x 2 pi 60 x 1.5e-9 = 34 uA: a tenth of a volt.
    assert!(read(&["cord earth-open"], &on_3_kilohms) < 0.2);
    // Half of line volts behind 2000 ohms of leak.
    let leak = read(&["M1 main-to-frame", "cord earth-open"], &on_3_kilohms);
    assert_close(leak, 60.0 * 3000.0 / 5000.0, 0.05, "volts behind the leak");
}

/// At the small end of a fault that is a matter of size: a trace of it is no fault.
#[test]
fn a_trace_of_a_fault_changes_next_to_nothing() {
    let job = job(TWO_BLOWERS);
    let sound = Bench::sound(&job);
    for (label, size) in [
        ("M1 common-bad-joint", 1e-5),
        ("M1 main-shorted-turns", 1e-5),
        ("M1 auxiliary-shorted-turns", 1e-5),
        ("M1 bearing-drag", 1e-5),
        ("M1 main-to-frame", 1e8),
        ("C1 low", 1e-5),
        ("C1 leaky", 1e8),
        ("C1 wrong-value", 1.00001),
        ("selector line-high-burnt", 1e-5),
        ("cord hot-bad-joint", 1e-5),
        ("supply low-volts", 1e-6),
        ("feed 1 bad-joint", 1e-5),
    ] {
        let slight = Bench::with(&job, &[label]).sized(size);
        assert_close(slight.rpm("high", "M1"), sound.rpm("high", "M1"), 1e-4, label);
        assert_close(slight.amps("high", "M1.common"), sound.amps("high", "M1.common"), 1e-3, label);
        assert_close(
            slight.volts("high", "M1.low", "cord.neutral"),
            sound.volts("high", "M1.low", "cord.neutral"),
            1e-4,
            label,
        );
    }
}

/// Volts on a terminal prove nothing about current: an open joint further on leaves all of them standing.
#[test]
fn full_volts_before_an_open_joint_and_none_behind_it() {
    let job = job(WARM_AIR);
    let open = Bench::with(&job, &["joint d-loose"]);
    for at in ["H1.a", "H1.b", "M1.common", "L1.b", "joint.a"] {
        assert_close(open.volts("on", at, "cord.earth"), 120.0, 0.01, at);
    }
    assert!(open.volts("on", "joint.d", "cord.earth") < 0.5);
    assert!(open.amps("on", "cord.hot") < 1e-3);
}
