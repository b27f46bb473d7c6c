//! Filters, fuses, cutouts and valves against what is known of them at benches and on data sheets.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Measure, Meter};
use common::{Bench, STEAM, job, setup, terminal};
use std::f64::consts::PI;

#[track_caller]
fn assert_near(what: &str, found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance * expected.abs(), "{what}: {found}, expected {expected}");
}

fn earth_milliamperes(bench: &Bench<'_>) -> f64 {
    let wire = bench.job.unit.find_wire("filter earth").unwrap();
    1e3 * bench.value_by("on", Measure::AmpsInWire(wire), &Meter::handheld()).unwrap()
}

/// The trade's formula for the current to earth of a filter: V 2 pi f C, with the capacitor on the hot side, since the
/// one on the neutral side has next to no volts.
#[test]
fn a_filter_leaks_volts_times_two_pi_f_c() {
    for (volts, hertz, nanofarads) in [(230.0, 50.0, 4.7), (120.0, 60.0, 4.7), (230.0, 50.0, 2.2), (240.0, 60.0, 10.0)]
    {
        let text = STEAM
            .replacen("volts = 230\nhertz = 50", &format!("volts = {volts}\nhertz = {hertz}"), 1)
            .replace("volts = 230\nhertz = 50\nwatts = 9", &format!("volts = 230\nhertz = {hertz}\nwatts = 9"))
            .replace("earth_nanofarads = 4.7", &format!("earth_nanofarads = {nanofarads}"));
        let job = job(&text);
        let expected = 1e3 * volts * 2.0 * PI * hertz * nanofarads * 1e-9;
        // Volts lost on the way to the filter, and the share of the neutral side.
        assert_near("leakage", earth_milliamperes(&Bench::sound(&job)), expected, 0.02);
    }
    // 0.34 mA at 230 V, 50 Hz and 4.7 nF: below the 0.75 mA that IEC 60335-1 allows a portable class I appliance.
    let leakage = earth_milliamperes(&Bench::sound(&job(STEAM)));
    assert!((0.33..0.345).contains(&leakage), "{leakage} mA");
}

/// With the earth open, two equal capacitors put the metal at half the supply volts on a meter of high impedance; one of
/// low impedance pulls it down. Source: J. Dunn, "Grandfathering", licn.typepad.com: half the outlet's volts on the
/// cabinet of a unit in an outlet without earth.
#[test]
fn metal_without_earth_sits_at_half_the_supply_volts() {
    let job = job(STEAM);
    let bench = Bench::with(&job, &["earth broken"]);
    let supply = bench.volts("on", "cord.hot", "cord.neutral");
    assert_near("half", bench.volts("on", "frame", "cord.neutral"), supply / 2.0, 0.02);
    let mut low = Meter::handheld();
    low.volts_input_ohms = 3e3;
    let measure = Measure::Volts(terminal(&job.unit, "frame"), terminal(&job.unit, "cord.neutral"));
    let shown = bench.value_by("on", measure, &low).unwrap();
    assert!(shown < 4.0, "{shown} V");
    // With the capacitor to neutral open, the metal goes most of the way to hot.
    let bench = Bench::with(&job, &["earth broken", "Z1 neutral-earth-open"]);
    assert!(bench.volts("on", "frame", "cord.neutral") > 0.9 * supply);
}

#[test]
fn a_filter_passes_on_and_bleeds() {
    let job = job(STEAM);
    // Only the bleed resistor and the valve's coil join hot to neutral once the cutout is open and the fuse is out.
    let bench = Bench::with(&job, &["F1 blown"]);
    assert_near("bleed", bench.ohms("unplugged", "cord.hot", "cord.neutral"), 1e6, 1e-6);
    let bench = Bench::with(&job, &["F1 blown", "Z1 bleed-open"]);
    assert!(bench.ohms("unplugged", "cord.hot", "cord.neutral").is_infinite());
    for label in ["Z1 hot-choke-open", "Z1 neutral-choke-open", "F1 blown", "heater return broken"] {
        assert!(Bench::with(&job, &[label]).amps("on", "H1.a") < 1e-3, "{label}");
    }
    let bench = Bench::with(&job, &["Z1 across-shorted"]).sized(0.2);
    assert!(bench.breaker_opened("on"));
    // X_C of 0.1 uF at 50 Hz is 31.8 kilohms: 7.2 mA at 230 V.
    let filter_only = Bench::with(&job, &["F1 blown", "Z1 bleed-open"]);
    assert_near("across", 1e3 * filter_only.amps("on", "Z1.hot"), 230.0 * 2.0 * PI * 50.0 * 0.1e-6 * 1e3, 0.06);
}

#[test]
fn a_filter_without_its_options_has_neither_their_faults_nor_their_values() {
    let text = STEAM.replace("earth_nanofarads = 4.7\nbleed_ohms = \"1M\"\n", "");
    let job = job(&text);
    assert!(job.unit.find_fault("Z1 hot-earth-open").is_none() && job.unit.find_fault("Z1 bleed-open").is_none());
    assert!(earth_milliamperes(&Bench::sound(&job)) < 0.02);
    // A bleed resistor without capacitors to earth is the filter's second value.
    let text = STEAM.replace("earth_nanofarads = 4.7\n", "");
    let job = common::job(&text);
    assert_near("bleed", Bench::with(&job, &["F1 blown"]).ohms("unplugged", "cord.hot", "cord.neutral"), 1e6, 1e-6);
}

#[test]
fn a_cutout_that_tripped_reads_as_one_that_is_open() {
    let job = job(STEAM);
    let (sound, tripped) = (Bench::sound(&job), Bench::with(&job, &["K1 tripped"]));
    assert!(sound.amps("on", "H1.a") > 5.0);
    assert!(sound.amps("cutout open", "H1.a") < 1e-3 && tripped.amps("on", "H1.a") < 1e-3);
    assert!(tripped.ohms("unplugged", "K1.a", "K1.b") > 1e3);
    assert!(Bench::with(&job, &["K1 welded"]).amps("cutout open", "H1.a") > 5.0);
    assert_near("burnt", Bench::with(&job, &["K1 burnt"]).sized(2.5).ohms("unplugged", "K1.a", "K1.b"), 2.5, 1e-2);
}

#[test]
fn a_bridged_fuse_is_warned_of() {
    let job = job(STEAM);
    let cautions = |name: &str| bench::cautions::cautions(&job.unit, setup(&job, name)).join("\n");
    assert!(cautions("fuse bridged").contains("A fuse is bridged"));
    assert!(!cautions("on").contains("bridged"));
    assert!(cautions("unplugged").contains("Discharge every capacitor"));
}

fn with_valve(fields: &str) -> Job {
    job(&STEAM.replace("watts = 9\namps = 0.065\n", fields))
}

/// Watts and amps of a valve alone at 230 V and 20 degrees.
fn valve(job: &Job) -> (f64, f64) {
    let bench = Bench::with(job, &["heater return broken"]);
    let watts = bench.value_by("on", Measure::Watts(common::part(&job.unit, "Y1")), &Meter::handheld()).unwrap();
    (watts, bench.amps("on", "Y1.a"))
}

#[test]
fn a_valve_takes_what_its_plate_says() {
    for (fields, watts, amps) in [
        ("watts = 9\namps = 0.065\n", 9.0, 0.065),
        // A plate of 9 W and 15 VA: coils of this sort have a power factor of about 0.6.
        ("watts = 9\n", 9.0, 15.0 / 230.0),
        ("amps = 0.065\n", 9.0, 0.065),
        ("watts = 9\namps = 0.065\nohms = \"1.5k\"\n", 9.0, 0.065),
    ] {
        let (found_watts, found_amps) = valve(&with_valve(fields));
        assert_near("watts", found_watts, watts, 0.01);
        assert_near("amps", found_amps, amps, 0.01);
    }
    let job = with_valve("watts = 9\namps = 0.065\nohms = \"1.5k\"\n");
    let bench = Bench::with(&job, &["heater return broken"]);
    // Beside the bleed resistor of 1 megohm.
    assert_near("coil", bench.ohms("unplugged", "Y1.a", "Y1.b"), 1.0 / (1.0 / 1500.0 + 1e-6), 1e-9);
}

/// Dirt under the armature keeps the current of an alternating-current coil above its holding value, and the coil burns
/// out (a valve supplier's note on burnt coils); relay coils draw three to five times as much, valves less.
#[test]
fn a_plunger_that_stays_out_leaves_the_current_high_and_the_ohms_as_they_were() {
    let job = job(STEAM);
    let (sound, stuck) = (Bench::sound(&job), Bench::with(&job, &["Y1 plunger-stuck-out"]));
    let ratio = stuck.amps("on", "Y1.a") / sound.amps("on", "Y1.a");
    assert!((1.4..3.0).contains(&ratio), "{ratio}");
    assert_eq!(stuck.ohms("unplugged", "Y1.a", "Y1.b"), sound.ohms("unplugged", "Y1.a", "Y1.b"));
}

#[test]
fn a_valve_coil_fails_as_coils_do() {
    let job = job(STEAM);
    let sound = Bench::sound(&job);
    assert!(Bench::with(&job, &["Y1 coil-open"]).amps("on", "Y1.a") < 1e-3);
    // Shorted turns heat far more than they draw, and the ohms fall by no more than their share.
    let shorted = Bench::with(&job, &["Y1 shorted-turns"]).sized(0.1);
    let heat = |bench: &Bench<'_>| bench.look("on", |observed| observed.heat(common::part(&job.unit, "Y1")));
    assert!(heat(&shorted) > 1.3 * heat(&sound), "{} W and {} W", heat(&shorted), heat(&sound));
    let shorted = Bench::with(&job, &["Y1 shorted-turns", "heater return broken"]).sized(0.1);
    let alone = Bench::with(&job, &["heater return broken"]);
    let ohms = shorted.ohms("unplugged", "Y1.a", "Y1.b") / alone.ohms("unplugged", "Y1.a", "Y1.b");
    // Beside the bleed resistor.
    assert_near("ohms left", ohms, 0.9, 1e-3);
    // To the frame from its middle: half the coil and the path.
    let earthed = Bench::with(&job, &["Y1 to-frame"]).sized(500.0);
    assert!(earthed.amps("on", "frame") > 0.05);
}

#[test]
fn a_valve_with_more_watts_than_volt_amperes_is_refused() {
    let text = STEAM.replace("watts = 9\namps = 0.065\n", "watts = 16\namps = 0.065\n");
    let problems = bench::job::read("job.toml", &text).unwrap_err().to_string();
    assert!(
        problems.contains("16 W is no less than 230 V times 0.065 A") && problems.contains("expected"),
        "{problems}"
    );
}
