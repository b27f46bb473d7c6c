//! Motors that start with a switch, and the contacts that a unit moves by itself.
//!
//! What faults do is common practice (no source): it is what any bench sees. Nothing in the code says so in so many words.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/starting.rs"]
mod starting;

use bench::Job;
use common::{Bench, doubtful_job, job, part};
use starting::*;

fn has_moved(bench: &Bench<'_>, setup: &str, of: &str) -> bool {
    let id = (part(&bench.job.unit, of), 0);
    bench.look(setup, |observed| {
        assert!(observed.settled());
        observed.conditions().moved_contacts.contains(&id)
    })
}

fn signed_ratio(bench: &Bench<'_>, setup: &str) -> f64 {
    let motor = part(&bench.job.unit, "M1");
    bench.look(setup, |observed| observed.speed_ratio(motor).unwrap())
}

fn sound(job: &Job) -> Bench<'_> {
    Bench::sound(job)
}

#[test]
fn a_sound_split_phase_motor_starts_and_drops_its_start_winding() {
    let job = job(GRINDER);
    let bench = sound(&job);
    let rpm = bench.rpm("on", "M1");
    assert!((1725.0..1799.0).contains(&rpm), "{rpm}");
    assert!(has_moved(&bench, "on", "M1"));
    assert!(bench.amps("on", "M1.start") < 1e-3);
    // Held, the switch stays closed and both windings draw several times the running current.
    assert!(!has_moved(&bench, "held", "M1"));
    let (running, held, held_run) =
        (bench.amps("on", "M1.run"), bench.amps("held", "M1.common"), bench.amps("held", "M1.run"));
    assert!(bench.amps("held", "M1.start") > 3.0);
    assert!(held > 3.0 * 4.2 && held < 8.0 * 4.2, "{held} A held on a plate of 4.2 A");
    assert!(held_run > 2.5 * running, "{held_run} A held, {running} A running");
}

#[test]
fn a_centrifugal_switch_that_stays_open_leaves_the_motor_humming_until_it_is_pushed() {
    let job = job(GRINDER);
    for fault in ["M1 centrifugal-stuck-open", "M1 start-open", "start lead broken"] {
        let bench = Bench::with(&job, &[fault]);
        assert_eq!(bench.rpm("on", "M1"), 0.0, "{fault}");
        assert!(bench.amps("on", "M1.run") > 10.0, "{fault}: it hums");
        assert!(bench.rpm("after a push", "M1") > 1700.0, "{fault}");
    }
}

#[test]
fn a_welded_centrifugal_switch_keeps_the_start_winding_in() {
    let job = job(GRINDER);
    let (sound, welded) = (sound(&job), Bench::with(&job, &["M1 centrifugal-welded"]));
    assert!(welded.rpm("on", "M1") > 1600.0);
    assert!(welded.amps("on", "M1.start") > 1.5, "{} A in the start winding", welded.amps("on", "M1.start"));
    let (ordinary, high) = (sound.amps("on", "M1.common"), welded.amps("on", "M1.common"));
    assert!(high > 1.5 * ordinary, "{high} A, {ordinary} A sound");
    // Its copper heats far more than it is made for.
    let watts = |bench: &Bench<'_>| bench.look("on", |observed| observed.watts(part(&job.unit, "M1")));
    assert!(watts(&welded) > 2.0 * watts(&sound));
}

#[test]
fn interchanged_start_ends_turn_the_motor_backwards_as_fast() {
    let job = job(GRINDER);
    let (sound, reversed) = (sound(&job), Bench::with(&job, &["M1 start-reversed"]));
    assert!(signed_ratio(&sound, "on") > 0.9 && signed_ratio(&reversed, "on") < -0.9);
    assert!((sound.rpm("on", "M1") - reversed.rpm("on", "M1")).abs() < 1e-6);
}

#[test]
fn the_three_ohms_of_a_three_terminal_motor_add_up() {
    let job = job(COMPRESSOR);
    let bench = sound(&job);
    let ohms = |a: &str, b: &str| bench.ohms("off its wires", a, b);
    let (run, start, both) = (ohms("M1.common", "M1.run"), ohms("M1.common", "M1.start"), ohms("M1.run", "M1.start"));
    assert!((run + start - both).abs() < 1e-9 * both);
    assert!(1.1 * run < start && start < both, "C-R {run}, C-S {start}, R-S {both}");
    // With the overload open, both readings from common are open and the third still reads (published fault table).
    let tripped = Bench::with(&job, &["M1 overload-stuck-open"]);
    assert_eq!(tripped.ohms("off its wires", "M1.common", "M1.run"), f64::INFINITY);
    assert_eq!(tripped.ohms("off its wires", "M1.common", "M1.start"), f64::INFINITY);
    assert!((tripped.ohms("off its wires", "M1.run", "M1.start") - both).abs() < 1e-9 * both);
    // What still flows comes back through the coil of the relay, which goes round the overload.
    assert!(sound(&job).amps("overload open", "cord.hot") < 0.1);
}

#[test]
fn two_capacitors_one_of_them_for_the_start_alone() {
    let job = job(TWO_CAPACITORS);
    let bench = sound(&job);
    let rpm = bench.rpm("on", "M1");
    assert!((rpm - 2800.0).abs() < 60.0, "{rpm}");
    assert!(bench.amps("on", "C2.a") < 0.02 && bench.amps("on", "C1.a") > 0.5);
    assert!(bench.amps("held", "C2.a") > 2.0);
    let open = Bench::with(&job, &["C2 open"]);
    let torque = |bench: &Bench<'_>| bench.look("held", |observed| observed.steady().unwrap().torque(0));
    assert!(torque(&bench) > 2.0 * torque(&open), "{} and {}", torque(&bench), torque(&open));
}

#[test]
fn a_compressor_with_an_open_start_capacitor_or_relay_contact_lacks_torque() {
    let job = job(COMPRESSOR);
    let torque =
        |faults: &[&str]| Bench::with(&job, faults).look("held", |observed| observed.steady().unwrap().torque(0));
    for fault in ["C2 open", "K1 stuck-open"] {
        assert!(torque(&[]) > 1.8 * torque(&[fault]), "{fault}: {} and {}", torque(&[]), torque(&[fault]));
    }
}

#[test]
fn a_potential_relay_takes_the_start_capacitor_out_as_the_volts_rise() {
    let job = job(COMPRESSOR);
    let bench = sound(&job);
    assert!(has_moved(&bench, "on", "K1"));
    assert!(bench.amps("on", "C2.a") < 1e-2);
    let rpm = bench.rpm("on", "M1");
    assert!((rpm - 2850.0).abs() < 40.0, "{rpm}");
    let held = bench.volts("held", "K1.start", "K1.common");
    let running = bench.volts("on", "K1.start", "K1.common");
    assert!(held < 230.0 && running > 280.0, "{held} V held, {running} V running");
    // With its pressures level it starts on the run capacitor alone, weakly.
    assert!((Bench::with(&job, &["K1 stuck-open"]).rpm("on", "M1") - rpm).abs() < 1.0);
    for fault in ["K1 coil-open", "K1 welded"] {
        let faulty = Bench::with(&job, &[fault]);
        assert!(faulty.amps("on", "C2.a") > 2.0, "{fault}: {} A", faulty.amps("on", "C2.a"));
        assert!(faulty.amps("on", "M1.common") > 1.3 * bench.amps("on", "M1.common"), "{fault}");
    }
}

#[test]
fn a_current_relay_lets_go_as_the_run_current_falls() {
    let job = job(CURRENT_RELAY);
    let bench = sound(&job);
    assert!(bench.rpm("on", "M1") > 3400.0);
    assert!(!has_moved(&bench, "on", "K1") && bench.amps("on", "M1.start") < 1e-3);
    let dead = Bench::with(&job, &["K1 coil-open"]);
    assert!(dead.amps("on", "cord.hot") < 0.01);
    for fault in ["K1 stuck-open", "C1 open", "M1 start-open"] {
        let bench = Bench::with(&job, &[fault]);
        assert_eq!(bench.rpm("on", "M1"), 0.0, "{fault}");
        assert!(bench.amps("on", "M1.run") > 9.0, "{fault}: hums");
        // With the rotor at rest the current keeps the relay pulled in.
        assert!(has_moved(&bench, "on", "K1"), "{fault}");
    }
    let welded = Bench::with(&job, &["K1 welded"]);
    assert!(welded.rpm("on", "M1") > 3000.0 && welded.amps("on", "M1.start") > 1.0);
}

#[test]
fn a_ptc_starter_starts_the_motor_and_goes_out_of_the_way() {
    let job = job(PTC);
    let bench = sound(&job);
    assert!(bench.rpm("on", "M1") > 2800.0);
    assert!(has_moved(&bench, "on", "R1") && bench.amps("on", "M1.start") < 0.05);
    assert!((bench.ohms("off its wires", "R1.a", "R1.b") - 15.0).abs() < 1e-6);
    // It ends hot all the same if the motor does not get going.
    assert!(has_moved(&bench, "held", "R1"));
    let seized = Bench::with(&job, &["M1 seized"]);
    assert_eq!(seized.rpm("on", "M1"), 0.0);
    assert!(seized.amps("on", "M1.start") < 0.05);
    let cracked = Bench::with(&job, &["R1 cracked-open"]);
    assert_eq!(cracked.rpm("on", "M1"), 0.0);
    assert!(cracked.amps("on", "M1.run") > 3.0 * 1.2);
    let shorted = Bench::with(&job, &["R1 shorted"]);
    assert!(shorted.rpm("on", "M1") > 2000.0 && shorted.amps("on", "M1.start") > 0.5);
}

#[test]
fn a_reversible_motor_turns_the_way_it_is_fed() {
    let job = job(DRUM);
    let bench = sound(&job);
    let (forward, backward) = (signed_ratio(&bench, "forward"), signed_ratio(&bench, "backward"));
    assert!(forward > 0.7 && (forward + backward).abs() < 1e-6, "{forward} and {backward}");
    assert!((bench.rpm("forward", "M1") - bench.rpm("backward", "M1")).abs() < 1e-3);
    let (a, b) =
        (bench.ohms("unplugged", "M1.common", "M1.forward"), bench.ohms("unplugged", "M1.common", "M1.backward"));
    assert!((a - b).abs() < 1e-6 * a);
    let swapped = Bench::with(&job, &["M1 leads-interchanged"]);
    assert!(signed_ratio(&swapped, "forward") < -0.7 && signed_ratio(&swapped, "backward") > 0.7);
    for fault in ["C1 open", "M1 forward-open", "M1 backward-open"] {
        let bench = Bench::with(&job, &[fault]);
        assert_eq!((bench.rpm("forward", "M1"), bench.rpm("backward", "M1")), (0.0, 0.0), "{fault}");
    }
    // Without a capacitor the fed winding hums; an open winding leaves its own direction to the other winding alone.
    assert!(Bench::with(&job, &["C1 open"]).amps("forward", "M1.common") > 0.8);
    assert!(Bench::with(&job, &["M1 forward-open"]).amps("backward", "M1.common") > 0.8);
}

#[test]
fn a_reversible_motor_does_what_its_plate_says_both_ways() {
    // Somewhat below balance, as most are; at balance and above the capacitor's own current is in the way of the plate's.
    let job = job(&DRUM.replace("microfarads = 4", "microfarads = 3"));
    for setup in ["forward", "backward"] {
        let (rpm, amps) = (sound(&job).rpm(setup, "M1"), sound(&job).amps(setup, "M1.common"));
        assert!((rpm / 1300.0 - 1.0).abs() < 0.01 && (amps / 0.55 - 1.0).abs() < 0.02, "{rpm} rpm, {amps} A");
    }
}

#[test]
fn a_relay_moves_all_its_contacts() {
    let job = job(CONTACTOR);
    let bench = sound(&job);
    assert!(bench.amps("on", "H1.a") > 4.0 && bench.amps("on", "L1.a") < 1e-3);
    assert!(bench.amps("off", "H1.a") < 1e-3 && bench.amps("off", "L1.a") > 1e-3);
    assert!(has_moved(&bench, "on", "K1") && !has_moved(&bench, "off", "K1"));
    for fault in ["K1 coil-open", "K1 does-not-pull-in", "button a-b-stuck-open"] {
        let bench = Bench::with(&job, &[fault]);
        assert!(bench.amps("on", "H1.a") < 1e-3 && bench.amps("on", "L1.a") > 1e-3, "{fault}");
    }
    assert!(Bench::with(&job, &["K1 in-out-welded"]).amps("off", "H1.a") > 4.0);
    assert!(Bench::with(&job, &["K1 in-out-stuck-open"]).amps("on", "H1.a") < 1e-3);
}

#[test]
fn a_relay_that_feeds_its_own_coil_through_a_resting_contact_buzzes() {
    let text = CONTACTOR
        .replace("from = \"button.b\", to = \"K1.coil-a\"", "from = \"K1.rest\", to = \"K1.coil-a\"")
        .replace("  { from = \"cord.hot\", to = \"button.a\" },\n", "")
        .replace(
            "  { from = \"K1.rest\", to = \"L1.a\" },\n",
            "  { from = \"button.b\", to = \"L1.a\" },\n  { from = \"cord.hot\", to = \"button.a\" },\n",
        );
    let job = doubtful_job(&text);
    let relay = part(&job.unit, "K1");
    Bench::sound(&job).look("on", |observed| {
        assert_eq!(observed.chattering(), Some((relay, 0)));
        assert!(!observed.settled());
    });
    // With its coil open it is quiet.
    assert!(Bench::with(&job, &["K1 coil-open"]).look("on", |observed| observed.settled()));
}

#[test]
fn a_holding_contact_holds_nothing_that_was_never_started() {
    let text = CONTACTOR
        .replace("contacts.pulled-in = [[\"in\", \"out\"]]", "contacts.pulled-in = [[\"in\", \"out\"], [\"hold-a\", \"hold-b\"]]")
        .replace(
            "  { from = \"K1.coil-b\",",
            "  { from = \"cord.hot\", to = \"K1.hold-a\" },\n  { from = \"K1.hold-b\", to = \"K1.coil-a\" },\n  { from = \"K1.coil-b\",",
        );
    let job = job(&text);
    assert!(!has_moved(&Bench::sound(&job), "off", "K1") && has_moved(&Bench::sound(&job), "on", "K1"));
    assert!(has_moved(&Bench::with(&job, &["K1 hold-a-hold-b-welded"]), "off", "K1"));
}

/// A jammed armature leaves the coil with an open gap, so it draws what a coil draws before it pulls in: about twice as much
/// (textbooks on contactors: two to five times), and it reads as sound with an ohmmeter.
#[test]
fn a_jammed_relay_draws_more_than_one_that_has_pulled_in() {
    let job = job(starting::CONTACTOR);
    let on = job.setups.iter().find(|setup| setup.energised && !setup.positions.is_empty()).unwrap().name.clone();
    let (sound, jammed) = (sound(&job), Bench::with(&job, &["K1 does-not-pull-in"]));
    let (held, out) = (sound.amps(&on, "K1.coil-a"), jammed.amps(&on, "K1.coil-a"));
    assert!(held > 0.0 && out > 1.7 * held && out < 5.0 * held, "{out} A jammed, {held} A pulled in");
    let off = job.setups.iter().find(|setup| !setup.energised).unwrap().name.clone();
    let ohms = |bench: &Bench<'_>| bench.ohms(&off, "K1.coil-a", "K1.coil-b");
    assert!((ohms(&sound) / ohms(&jammed) - 1.0).abs() < 1e-9);
}
