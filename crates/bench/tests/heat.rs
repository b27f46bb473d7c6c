//! What benches know of machines that warm. All effects: common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::heat::{Case, End, HeatScales, Logged, Timeline, What, record};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job, Measure, Meter};
use common::{TWO_BLOWERS, job, terminal};

fn blowers() -> Job {
    blowers_in(22.0)
}

/// Two blowers, each with a cutout on its winding, in a room.
fn blowers_in(room_celsius: f64) -> Job {
    let text = TWO_BLOWERS
        .replace("{ from = \"selector.high\", to = \"M1.high\", label = \"feed 1\" },", "")
        .replace("{ from = \"M1.common\", to = \"cord.neutral\" },", "{ from = \"M1.common\", to = \"K1.a\" },\n  { from = \"K1.b\", to = \"cord.neutral\" },\n  { from = \"selector.high\", to = \"M1.high\", label = \"feed 1\" },")
        .replace("{ from = \"M2.common\", to = \"cord.neutral\" },", "{ from = \"M2.common\", to = \"K2.a\" },\n  { from = \"K2.b\", to = \"cord.neutral\" },")
        + r#"
[parts.K1]
kind = "thermal-cutout"
opens_celsius = 150
closes_celsius = 115

[parts.K2]
kind = "thermal-cutout"
opens_celsius = 150
closes_celsius = 115

[heat]
room_celsius = 22
clamped = { K1 = "M1.winding", K2 = "M2.winding" }

[runs.on-high]
minutes = 120
steps = [{ minute = 0, setup = "high" }]

[runs.all-day]
minutes = 480
steps = [{ minute = 0, setup = "high" }]

[runs.on-low]
minutes = 600
steps = [{ minute = 0, setup = "low" }]

[runs.held]
minutes = 40
steps = [{ minute = 0, setup = "held" }]

[setups.held]
supply = "on"
positions = { selector = "low" }
held = ["M1", "M2"]

[runs.stopped]
minutes = 90
steps = [{ minute = 0, setup = "high" }, { minute = 60, setup = "off" }]

[setups.off]
supply = "on"
positions = { selector = "off" }
"#;
    job(&text.replace("room_celsius = 22", &format!("room_celsius = {room_celsius}")))
}

struct Taken<'j> {
    job: &'j Job,
    quantities: Vec<Logged>,
    timeline: Timeline<Vec<f64>>,
}

impl<'j> Taken<'j> {
    /// A run of `job` with faults in it, each with the size it usually has unless one is given.
    fn new(job: &'j Job, run: &str, faults: &[&str], sizes: &[f64], times: &[f64]) -> Self {
        let set = FaultSet(faults.iter().map(|label| job.unit.find_fault(label).unwrap()).collect());
        let mut deviations = vec![0.0; unknown_count(&job.unit, &set)];
        for (position, size) in sizes.iter().enumerate() {
            let severity = job.unit.faults()[set.0[position]].mode.severity.as_ref().unwrap();
            deviations[severity_unknown(&job.unit, &set, position).unwrap()] = severity.deviation(*size).unwrap();
        }
        let scales = HeatScales::medians(&job.unit);
        let run = &job.runs[job.find_run(run).unwrap()];
        let case =
            Case { unit: &job.unit, setups: &job.setups, run, faults: &set, deviations: &deviations, scales: &scales };
        let quantities = bench::heat::all_quantities(&job.unit);
        let timeline = record(case, times, &quantities, &Meter::handheld()).unwrap();
        Taken { job, quantities, timeline }
    }

    fn series(&self, quantity: Logged) -> Vec<f64> {
        let place = self.quantities.iter().position(|&known| known == quantity).unwrap();
        self.timeline.samples.iter().map(|sample| sample.look[place]).collect()
    }

    fn celsius(&self, body: &str) -> Vec<f64> {
        let (part, body) = self.job.unit.find_body(body).unwrap();
        self.series(Logged::Celsius(part, body))
    }

    fn amps(&self) -> Vec<f64> {
        self.series(Logged::Electric(Measure::AmpsAtTerminal(terminal(&self.job.unit, "cord.hot"))))
    }

    fn first(&self, what: What) -> Option<f64> {
        self.timeline.events.iter().find(|event| event.what == what).map(|event| event.seconds)
    }

    fn opened(&self, part: &str) -> Option<f64> {
        self.first(What::Opened(self.job.unit.find_part(part).unwrap()))
    }
}

fn every_minute(minutes: u32) -> Vec<f64> {
    (0..=minutes).map(|minute| f64::from(minute) * 60.0).collect()
}

#[test]
fn current_falls_as_windings_warm() {
    let job = blowers();
    for (run, least_fall) in [("on-low", 0.05), ("held", 0.05)] {
        let taken = Taken::new(&job, run, &[], &[], &every_minute(40));
        let amps = taken.amps();
        assert!(amps[40] < (1.0 - least_fall) * amps[0], "{run}: {} A cold, {} A warm", amps[0], amps[40]);
    }
}

#[test]
fn the_surface_goes_on_warming_after_the_fan_has_stopped() {
    let job = blowers();
    let times: Vec<f64> = (0..=180).map(|half| f64::from(half) * 30.0).collect();
    let taken = Taken::new(&job, "stopped", &[], &[], &times);
    let (core, winding) = (taken.celsius("M1.core"), taken.celsius("M1.winding"));
    let (stop, hottest) = (120, core[120..].iter().copied().fold(f64::NEG_INFINITY, f64::max));
    assert!(hottest > core[stop] + 0.5, "{} at the stop, {hottest} after it", core[stop]);
    assert!(winding[stop + 1] < winding[stop] && core[180] < hottest - 5.0);
}

/// With the common lead of one motor open, the other feeds it through the taps, and is the one that overheats.
#[test]
fn the_sound_one_of_a_back_fed_pair_trips_while_the_broken_one_stays_cool() {
    let job = blowers();
    let taken = Taken::new(&job, "on-high", &["M2 common-open"], &[], &every_minute(120));
    let trip = taken.opened("K1").expect("the sound motor's cutout opens");
    assert!(taken.opened("K2").is_none());
    let (sound, broken) = (taken.celsius("M1.winding"), taken.celsius("M2.winding"));
    let at = (trip / 60.0).floor() as usize;
    assert!(sound[at] > broken[at] + 20.0, "after {at} min: {} and {} degrees", sound[at], broken[at]);
}

#[test]
fn a_low_speed_can_run_for_ever_on_a_fault_that_trips_on_high() {
    let job = blowers();
    let times = every_minute(120);
    let back_fed = |run: &str| Taken::new(&job, run, &["M2 common-open"], &[], &times);
    assert!(back_fed("on-high").opened("K1").is_some());
    let low = back_fed("on-low");
    assert!(low.opened("K1").is_none() && low.timeline.end == End::Settled, "{:?}", low.timeline.events);
}

/// So long as warming is the longer part of the cycle: warm air lengthens the cooling.
#[test]
fn a_cutout_cycles_and_the_period_shrinks_as_the_room_warms() {
    let period = |room: f64| {
        let job = blowers_in(room);
        let taken = Taken::new(&job, "all-day", &["M2 common-open"], &[], &[28_800.0]);
        match taken.timeline.end {
            End::Cycling { part, period_seconds, closed_share, .. } => {
                assert_eq!(job.unit.parts()[part].name, "K1");
                assert!((0.3..1.0).contains(&closed_share));
                period_seconds
            }
            other => panic!("{other:?} at {room} degrees"),
        }
    };
    let (cool, warm) = (period(15.0), period(35.0));
    assert!(warm < 0.9 * cool, "{cool} s in the cool room, {warm} s in the warm one");
}
