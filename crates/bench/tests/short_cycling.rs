//! Compressors that are switched on again too soon, and the discs that must cool between starts. Facts: common practice, no
//! source (wait three minutes before switching on again), and ampfort.net on PTC motor starters: no repeated start before the
//! disc has cooled.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/starting.rs"]
#[allow(dead_code)]
mod starting;

use bench::heat::words::event_words;
use bench::heat::{Case, End, HeatScales, Timeline, What, simulate};
use bench::recurrence::conditions;
use bench::{Job, Measure, Meter, Place};
use common::{Bench, job, part};

/// The refrigerator off and on again after some minutes; a load that would start against any pressure but needs its start
/// winding.
fn restarted(after_minutes: f64) -> Job {
    let on = 10.0 + after_minutes;
    job(&format!(
        "{}\n[runs.again]\nminutes = 40\nsteps = [{{ minute = 0, setup = \"on\" }}, {{ minute = 10, setup = \"unplugged\" }}, \
         {{ minute = {on}, setup = \"on\" }}]\n",
        starting::PTC
    ))
}

/// Takes the run; looks at the compressor's speed.
fn take(bench: &Bench<'_>, run: &str, minutes: &[f64]) -> Timeline<f64> {
    let job = bench.job;
    let scales = HeatScales::medians(&job.unit);
    let run = &job.runs[job.find_run(run).unwrap()];
    let (faults, deviations) = (&bench.faults, &bench.deviations[..]);
    let case = Case { unit: &job.unit, setups: &job.setups, run, faults, deviations, scales: &scales };
    let times: Vec<f64> = minutes.iter().map(|minute| 60.0 * minute).collect();
    let measure = Measure::Rpm(part(&job.unit, "M1"));
    simulate(case, &times, |observed| observed.value(measure, &Meter::handheld()).unwrap()).unwrap()
}

fn moments(timeline: &Timeline<f64>, what: What) -> Vec<f64> {
    timeline.events.iter().filter(|event| event.what == what).map(|event| event.seconds).collect()
}

#[test]
fn a_disc_cuts_off_within_seconds_and_cools_within_minutes() {
    let job = restarted(8.0);
    let timeline = take(&Bench::sound(&job), "again", &[1.0, 9.9, 12.0, 19.0]);
    let disc = part(&job.unit, "R1");
    let hot = moments(&timeline, What::Opened(disc));
    let cooled = moments(&timeline, What::Closed(disc));
    assert_eq!((hot.len(), cooled.len()), (2, 1), "{hot:?} {cooled:?}");
    assert!((0.1..5.0).contains(&hot[0]), "{} s", hot[0]);
    assert!((60.0..240.0).contains(&(cooled[0] - 600.0)), "{} s", cooled[0] - 600.0);
    let rpm: Vec<f64> = timeline.samples.iter().map(|sample| sample.look).collect();
    assert!(rpm[0] > 2800.0 && rpm[1] > 2800.0 && rpm[2] == 0.0 && rpm[3] > 2800.0, "{rpm:?}");
    assert_eq!(event_words(&job, What::Opened(disc)), "R1 is hot and cuts itself off");
    assert_eq!(event_words(&job, What::Closed(disc)), "R1 has cooled");
}

/// Switched on after half a minute the start winding has next to no current, the motor hums; without the disc's warmth (a
/// shorted disc lets the start current pass at any time) it would start.
#[test]
fn a_compressor_switched_on_again_after_half_a_minute_does_not_start() {
    let job = restarted(0.5);
    let rpm = |bench: &Bench<'_>| take(bench, "again", &[9.9, 10.6]).samples[1].look;
    assert_eq!(rpm(&Bench::sound(&job)), 0.0);
    let late = restarted(8.0);
    assert!(take(&Bench::sound(&late), "again", &[9.9, 18.1]).samples[1].look > 2800.0);
}

/// A cold box with a thermostat on its element's air; the compressor's own setups stay as they are.
fn with_thermostat() -> Job {
    let text = starting::PTC
        .replace(
            "{ from = \"cord.hot\", to = \"M1.run\" }",
            "{ from = \"cord.hot\", to = \"T1.a\" },\n  { from = \"T1.b\", to = \"M1.run\" }",
        )
        .replace(
            "[parts.R1]",
            "[parts.T1]\nkind = \"thermostat\"\nopens_celsius = 60\ncloses_celsius = 50\n[parts.R1]",
        );
    let heat = "\n[heat]\nclamped = { T1 = \"M1.core\" }\n";
    let run = "[runs.long]\nminutes = 600\nsteps = [{ minute = 0, setup = \"on\" }]\n";
    job(&format!("{text}{heat}{run}"))
}

#[test]
fn who_cycles_a_compressor_is_its_thermostat_or_what_is_ahead() {
    let ahead = job(starting::PTC);
    assert!(ahead.unit.find_fault("supply short-cycling").is_some());
    let inside = with_thermostat();
    assert!(inside.unit.find_fault("supply short-cycling").is_none());
    let fault = &inside.unit.faults()[inside.unit.find_fault("T1 short-cycling").unwrap()];
    assert!(fault.repair().contains("differential of T1") && fault.repair().contains("three minutes"));
    // A unit without a compressor has no such fault.
    let fan = job(common::WARM_AIR);
    assert!(!fan.unit.faults().iter().any(|fault| fault.mode.name == "short-cycling"));
}

/// With a share of its differential left the thermostat moves that much more often.
#[test]
fn a_short_cycling_thermostat_shortens_the_cycle() {
    let job = with_thermostat();
    let period = |bench: &Bench<'_>| match take(bench, "long", &[]).end {
        End::Cycling { part: cycling, period_seconds, .. } if cycling == part(&job.unit, "T1") => period_seconds,
        other => panic!("{other:?}"),
    };
    let sound = period(&Bench::sound(&job));
    let fast = period(&Bench::with(&job, &["T1 short-cycling"]).sized(0.3));
    assert!(fast < 0.6 * sound, "{fast} s and {sound} s");
}

/// A start part or a compressor that fails again has short cycling among its reasons; a cord has not.
#[test]
fn short_cycling_stands_behind_parts_that_fail_again() {
    let job = job(starting::PTC);
    let fault = job.unit.find_fault("supply short-cycling");
    let named = |of: &str| {
        conditions(&job.unit, Place::Part(part(&job.unit, of))).iter().any(|condition| condition.fault == fault)
    };
    assert!(named("M1") && named("R1") && !named("cord"));
    let again = common::job(&starting::PTC.replace("ohms = 15", "ohms = 15\nreplaced_before = 2"));
    let odds = |job: &Job| job.unit.faults()[job.unit.find_fault("supply short-cycling").unwrap()].mode.odds;
    assert!((odds(&again) / odds(&job) - bench::recurrence::RAISED_ODDS).abs() < 1e-9);
}
