//! What a hand and a stop-watch tell of a shaft. Facts: common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/starting.rs"]
#[allow(dead_code)]
mod starting;

use bench::heat::{Case, HeatScales, simulate};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{Job, Measure, Meter, observe};
use common::{Bench, ONE_FAN, POLISHER, THREE_PHASE_FAN, TWO_BLOWERS, job, part, setup};
use starting::{COMPRESSOR, GRINDER};

fn run_down(bench: &Bench<'_>, setup: &str, motor: &str) -> f64 {
    let measure = Measure::RunDown(part(&bench.job.unit, motor));
    bench.value_by(setup, measure, &Meter::handheld()).unwrap()
}

#[test]
fn drag_shortens_the_run_down_and_a_lost_load_lengthens_it() {
    for (text, setup, lost) in [
        (ONE_FAN, "on", "M1 fan-loose"),
        (TWO_BLOWERS, "high", "M1 fan-loose"),
        (THREE_PHASE_FAN, "on", "M1 fan-loose"),
        (POLISHER, "high", "M1 drive-slips"),
    ] {
        let job = job(text);
        let sound = run_down(&Bench::sound(&job), setup, "M1");
        // Small motors run on for seconds, not for minutes.
        assert!((1.0..60.0).contains(&sound), "{sound} s");
        let drags = run_down(&Bench::with(&job, &["M1 bearing-drag"]).sized(0.1), setup, "M1");
        let loose = run_down(&Bench::with(&job, &[lost]), setup, "M1");
        assert!(drags < 0.7 * sound && loose > 1.4 * sound, "{text}: {drags}, {sound}, {loose} s");
        let worn = run_down(&Bench::with(&job, &["M1 bearing-worn"]).sized(0.1), setup, "M1");
        assert!((worn - drags).abs() < 1e-9 * drags, "worn ones drag as dry ones do");
        assert_eq!(run_down(&Bench::with(&job, &["M1 seized"]), setup, "M1"), 0.0);
    }
}

/// A grinder that runs free runs on far longer than a fan.
#[test]
fn a_wheel_runs_on_longer_than_a_fan() {
    let (grinder, fan) = (job(GRINDER), job(ONE_FAN));
    let (grinder, fan) = (run_down(&Bench::sound(&grinder), "on", "M1"), run_down(&Bench::sound(&fan), "on", "M1"));
    assert!(grinder > 1.5 * fan, "{grinder} and {fan} s");
}

#[test]
fn what_is_out_of_balance_costs_a_little_speed() {
    for (text, setup) in [(ONE_FAN, "on"), (THREE_PHASE_FAN, "on"), (POLISHER, "high"), (GRINDER, "on")] {
        let job = job(text);
        let (sound, shaken) = (Bench::sound(&job), Bench::with(&job, &["M1 out-of-balance"]));
        let (sound, shaken) = (sound.rpm(setup, "M1"), shaken.rpm(setup, "M1"));
        assert!(shaken < sound && shaken > 0.9 * sound, "{shaken} and {sound} rpm");
    }
    // A sealed shell shows neither play nor shaking.
    let job = job(COMPRESSOR);
    assert!(job.unit.find_fault("M1 bearing-worn").is_none() && job.unit.find_fault("M1 out-of-balance").is_none());
}

/// Gradients of run-downs against central differences, by every unknown.
#[test]
fn run_downs_carry_exact_derivatives() {
    for (text, in_setup, labels) in [
        (ONE_FAN, "on", &[][..]),
        (TWO_BLOWERS, "high", &["M1 bearing-drag"]),
        (THREE_PHASE_FAN, "on", &["M1 out-of-balance"]),
        (POLISHER, "low", &["M1 bearing-worn"]),
        (GRINDER, "on", &[]),
        (starting::TWO_CAPACITORS, "on", &["M1 pump-loose"]),
    ] {
        let job = job(text);
        let faults = common::faults(&job.unit, labels);
        // Angles of windings are counted apart, so that what stands behind them has the values it was chosen with; a tenth of
        // a right angle would be beyond all that is built.
        let is_angle = |index: usize| job.unit.unknowns().get(index).is_some_and(|own| own.words.starts_with("angle"));
        let mut place = 0;
        let deviation = |index: usize| {
            if is_angle(index) {
                return 0.01 * (index as f64).cos();
            }
            place += 1;
            0.1 * (1.7 * f64::from(place - 1)).sin()
        };
        let deviations: Vec<f64> = (0..unknown_count(&job.unit, &faults)).map(deviation).collect();
        let measure = Measure::RunDown(part(&job.unit, "M1"));
        let meter = Meter::handheld();
        let value = |deviations: &[f64]| {
            observe(&job.unit, setup(&job, in_setup), &faults, deviations, |o| o.value(measure, &meter).unwrap())
                .unwrap()
        };
        let ask = |observed: &mut bench::Observed<'_>| observed.measure(measure, &meter).unwrap();
        let found = observe(&job.unit, setup(&job, in_setup), &faults, &deviations, ask).unwrap();
        let plain = value(&deviations);
        assert!((found.value - plain).abs() < 1e-9 * plain, "{in_setup} {labels:?}: {} and {plain} s", found.value);
        let mut moving = 0;
        for (unknown, &slope) in found.gradient.iter().enumerate() {
            let at = |step: f64| {
                let mut moved = deviations.clone();
                moved[unknown] += step;
                value(&moved)
            };
            let difference = (at(1e-4) - at(-1e-4)) / 2e-4;
            assert!((slope - difference).abs() < 1e-5 * found.value, "{unknown}: {slope}, by differences {difference}");
            moving += usize::from(slope.abs() > 1e-3 * found.value);
        }
        // Inertia, load and friction at least.
        assert!(moving >= 3, "{moving} unknowns move it");
        if !labels.is_empty() && job.unit.faults()[faults.0[0]].mode.severity.is_some() {
            let size = severity_unknown(&job.unit, &faults, 0).unwrap();
            assert!(found.gradient[size] < 0.0);
        }
    }
}

fn refused(text: &str, list: &str, entry: &str, words: &str) {
    let text = format!("{list} = [{entry}]\n{text}");
    let problems = bench::job::read("job.toml", &text).expect_err("it is refused");
    assert!(problems.to_string().contains(words), "{problems}");
}

#[test]
fn shafts_that_nobody_reaches_and_hands_in_live_units_are_refused() {
    let live = r#"{ setup = "on", part = "M1", word = "stiff" }"#;
    refused(ONE_FAN, "symptoms", live, "'stiff' in a setup where the supply is on");
    let sealed = r#"{ setup = "unplugged", part = "M1", word = "turns-freely" }"#;
    refused(COMPRESSOR, "symptoms", sealed, "'M1' is sealed");
    let still = r#"{ setup = "unplugged", part = "C1", word = "wobbles" }"#;
    refused(ONE_FAN, "symptoms", still, "'C1' does not turn");
    refused(ONE_FAN, "readings", r#"{ setup = "unplugged", run_down_seconds = 9, of = "M1" }"#, "a run-down in setup");
    refused(COMPRESSOR, "readings", r#"{ setup = "on", run_down_seconds = 1, of = "M1" }"#, "'M1' is sealed");
    refused(ONE_FAN, "readings", r#"{ setup = "on", run_down_seconds = 9 }"#, "run_down_seconds without a part");
    let fine = r#"{ setup = "on", run_down_seconds = 9, of = "M1" }"#;
    let job = job(&format!("readings = [{fine}]\n{ONE_FAN}"));
    assert_eq!(job.readings[0].measure, Measure::RunDown(part(&job.unit, "M1")));
}

/// A compressor with its start capacitor open, in a run that is off for some minutes in between; its speed a while after it is on again.
fn restarted(after_minutes: f64) -> f64 {
    let runs = format!(
        "[setups.off]\nsupply = \"off\"\n[runs.again]\nminutes = 30\nsteps = [{{ minute = 0, setup = \"on\" }}, \
         {{ minute = 10, setup = \"off\" }}, {{ minute = {}, setup = \"on\" }}]\n",
        10.0 + after_minutes
    );
    let job: Job = job(&format!("{COMPRESSOR}{runs}"));
    let run = &job.runs[job.find_run("again").unwrap()];
    let faults = common::faults(&job.unit, &["C2 open"]);
    let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    let scales = HeatScales::medians(&job.unit);
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let motor = part(&job.unit, "M1");
    let times = [300.0, 600.0 + 60.0 * after_minutes + 5.0];
    let timeline = simulate(case, &times, |observed| observed.speed_ratio(motor).unwrap_or(0.0)).unwrap();
    assert!(timeline.samples[0].look > 0.9, "{}", timeline.samples[0].look);
    timeline.samples[1].look
}

/// One without its start capacitor starts with its pressures level, weakly, and not against pressure: wait three minutes.
#[test]
fn a_compressor_that_is_switched_on_again_too_soon_stands_and_hums() {
    assert_eq!(restarted(1.0), 0.0);
    assert!(restarted(5.0) > 0.9);
}
