//! Windings that get too hot in a run: when they pass their class, and when they burn out.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::heat::words::{end_words, event_words};
use bench::heat::{Case, End, HeatScales, Timeline, What, simulate};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job};
use common::job;

/// A grinder with a start winding and a centrifugal switch.
const GRINDER: &str = include_str!("../../../demos/bench-grinder.toml");
const WELDED: &str = "M1 centrifugal-welded";

/// With a class on its plate and one noted for the job, and a run of three hours.
fn grinder(plate: Option<&str>, noted: Option<&str>) -> Job {
    let on_plate = plate.map_or(String::new(), |class| format!(", insulation_class = \"{class}\""));
    let repaired = noted.map_or(String::new(), |class| {
        format!("\n[repaired]\nwork = \"switch cleaned\"\ninsulation_class = \"{class}\"\n")
    });
    let run = "\n[runs.on]\nminutes = 180\nsteps = [{ minute = 0, setup = \"running\" }]\n";
    let (as_it_came, _) = GRINDER.split_once("# What was done").unwrap();
    job(&(as_it_came.replace("poles = 2 }", &format!("poles = 2{on_plate} }}")) + run + &repaired))
}

/// The run, with all temperatures every `step` seconds, 720 times.
fn taken(job: &Job, faults: &[&str], step: f64) -> Timeline<()> {
    let faults = FaultSet(faults.iter().map(|label| job.unit.find_fault(label).unwrap()).collect());
    let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    let scales = HeatScales::medians(&job.unit);
    let run = &job.runs[job.find_run("on").unwrap()];
    let case =
        Case { unit: &job.unit, setups: &job.setups, run, faults: &faults, deviations: &deviations, scales: &scales };
    let times: Vec<f64> = (0..=720).map(|place| f64::from(place) * step).collect();
    simulate(case, &times, |_| ()).unwrap()
}

/// When each happened to a winding: passing the class, burning out; seconds.
fn moments(job: &Job, timeline: &Timeline<()>, winding: &str) -> (Option<f64>, Option<f64>) {
    let (motor, body) = job.unit.find_body(winding).unwrap();
    let first = |what: What| timeline.events.iter().find(|event| event.what == what).map(|event| event.seconds);
    (first(What::PassesClass(motor, body)), first(What::BurntOut(motor, body)))
}

/// IEC 60085: class B 130, F 155, H 180 degrees Celsius. Burning 120 K above that is our own judgement.
#[test]
fn a_run_says_when_a_winding_passes_its_class_and_ends_where_it_burns_out() {
    let mut before = (0.0, 0.0);
    for (plate, noted, class) in [(None, None, 130.0), (None, Some("F"), 155.0), (Some("H"), Some("F"), 180.0)] {
        let job = grinder(plate, noted);
        let timeline = taken(&job, &[WELDED], 1.0);
        let (passes, burns) = moments(&job, &timeline, "M1.start-winding");
        let (passes, burns) = (passes.expect("passes its class"), burns.expect("burns out"));
        let (motor, start) = job.unit.find_body("M1.start-winding").unwrap();
        assert_eq!(timeline.end, End::BurntOut(Some((motor, start))));
        assert_eq!(timeline.events.last().unwrap().what, What::BurntOut(motor, start));
        // What bears more lasts longer.
        assert!(passes < burns && passes > before.0 && burns > before.1, "{passes} {burns} {before:?}");
        before = (passes, burns);
        let node = timeline.node(motor, start).unwrap();
        for sample in &timeline.samples {
            assert!(sample.seconds <= burns && sample.celsius[node] <= class + 120.0 + 0.1);
            assert_eq!(sample.seconds > passes, sample.celsius[node] > class, "{} s", sample.seconds);
        }
        // The last row before it is close to it: some tens of kelvins a second at most.
        assert!(timeline.samples.last().unwrap().celsius[node] > class + 60.0);
    }
}

#[test]
fn what_happens_to_a_winding_is_said_in_words() {
    let job = grinder(Some("F"), None);
    let timeline = taken(&job, &[WELDED], 15.0);
    let said: Vec<String> = timeline.events.iter().map(|event| event_words(&job, event.what)).collect();
    assert_eq!(
        said,
        [
            "setup running",
            "the start winding of M1 passes 155 °C, the limit of class F of its plate",
            "the start winding of M1 burns out: it is at 275 °C, 120 K over class F of its plate",
        ]
    );
    let end = end_words(&job.unit, timeline.end);
    assert_eq!(end, "The run ends where the start winding of M1 burns out: what comes after is not known.");
}

#[test]
fn a_sound_motor_stays_within_its_class_and_its_run_goes_on_to_the_end() {
    let job = grinder(None, None);
    let timeline = taken(&job, &[], 15.0);
    assert_eq!(moments(&job, &timeline, "M1.winding"), (None, None));
    assert_eq!(moments(&job, &timeline, "M1.start-winding"), (None, None));
    assert_eq!((timeline.samples.len(), timeline.end), (721, End::Settled));
}
