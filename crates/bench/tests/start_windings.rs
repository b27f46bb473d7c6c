//! Start and auxiliary windings, which warm by themselves: the one that is left in circuit burns while the main one is cool.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/starting.rs"]
#[allow(dead_code)]
mod starting;

use bench::heat::{Case, HeatScales, HeatSource, Timeline, What, simulate};
use bench::job::Job;
use bench::wiring::{Conditions, Wired, wire_up};
use bench::{Measure, Meter, Observed, Place, Unit};
use common::{Bench, job, part, setup, terminal};

const GRINDER: &str = include_str!("../../../demos/bench-grinder.toml");

/// A unit with a run in one setup.
fn with_run(text: &str, setup: &str, minutes: f64) -> Job {
    job(&format!("{text}\n[runs.taken]\nminutes = {minutes}\nsteps = [{{ minute = 0, setup = \"{setup}\" }}]\n"))
}

/// Takes the run and looks at the unit.
fn take<T>(bench: &Bench<'_>, seconds: &[f64], look: impl FnMut(&mut Observed<'_>) -> T) -> Timeline<T> {
    let job = bench.job;
    let scales = HeatScales::medians(&job.unit);
    let run = &job.runs[job.find_run("taken").unwrap()];
    let (faults, deviations) = (&bench.faults, &bench.deviations[..]);
    simulate(Case { unit: &job.unit, setups: &job.setups, run, faults, deviations, scales: &scales }, seconds, look)
        .unwrap()
}

/// Temperatures of a body.
fn celsius<T>(unit: &Unit, timeline: &Timeline<T>, body: &str) -> Vec<f64> {
    let (part, body) = unit.find_body(body).unwrap();
    let node = timeline.node(part, body).unwrap();
    timeline.samples.iter().map(|sample| sample.celsius[node]).collect()
}

/// When a winding first passes its class, and when it burns out.
fn moments<T>(unit: &Unit, timeline: &Timeline<T>, body: &str) -> [Option<f64>; 2] {
    let (part, body) = unit.find_body(body).unwrap();
    [What::PassesClass(part, body), What::BurntOut(part, body)]
        .map(|what| timeline.events.iter().find(|event| event.what == what).map(|event| event.seconds))
}

/// Copper that keeps its heat warms by `a J^2` kelvins a second: at 20 degrees by `rho / (c d)`, textbook figures, in a hot
/// winding by 0.0065 of IEC 60079-7 (from memory). The section of the start wire follows from that of the main one, 4.4 A at
/// the 4 to 7 A/mm^2 of small motors, and from what an ohmmeter reads: `n rho l / R`, here 0.8 of the turns and their length.
#[test]
fn a_start_winding_at_rest_and_left_in_warms_as_its_copper_must() {
    let plain = job(GRINDER);
    let off_its_wires = |a: &str, b: &str| Bench::sound(&plain).ohms("motor off its wires", a, b);
    let ratio = off_its_wires("M1.common", "M1.run") / off_its_wires("M1.common", "M1.start");
    let held =
        GRINDER.to_owned() + "\n[setups.held]\nsupply = \"on\"\npositions = { switch = \"on\" }\nheld = [\"M1\"]\n";
    for (text, setup, faults) in
        [(held.as_str(), "held", &[][..]), (GRINDER, "running", &["M1 centrifugal-welded"][..])]
    {
        let job = with_run(text, setup, 10.0);
        let amps = Measure::AmpsAtTerminal(terminal(&job.unit, "M1.start"));
        let timeline =
            take(&Bench::with(&job, faults), &[0.0, 0.5], |observed| observed.value(amps, &Meter::handheld()).unwrap());
        let warmed = celsius(&job.unit, &timeline, "M1.start-winding");
        let rate = (warmed[1] - warmed[0]) / 0.5;
        let at = |main_density: f64, a: f64| {
            let section = 4.4 / main_density * 0.8 * ratio;
            a * (timeline.samples[0].look / section).powi(2)
        };
        let (least, most) = (at(4.0, 1.724e-8 * 1e12 / (385.0 * 8960.0)), at(7.0, 0.0065));
        assert!(rate > least && rate < most, "{setup}: {rate} K/s, expected {least} to {most}");
    }
}

/// All that a motor turns into heat warms one of its bodies, once: what they hold after some seconds, in which the core sheds
/// next to nothing, is what was lost in the motor meanwhile (Simpson's rule).
#[test]
fn the_loss_of_a_motor_is_shared_out_among_its_bodies() {
    let tapped = common::TWO_BLOWERS;
    let along_auxiliary =
        tapped.replace("kind = \"capacitor-run-motor\"", "kind = \"capacitor-run-motor\"\nsections_in = \"auxiliary\"");
    assert_ne!(tapped, along_auxiliary);
    for (text, setup, faults) in [
        (
            GRINDER,
            "running",
            &[&[][..], &["M1 centrifugal-welded"], &["M1 start-shorted-turns", "M1 centrifugal-welded"]][..],
        ),
        (
            tapped,
            "low",
            &[&[][..], &["M1 auxiliary-shorted-turns"], &["M1 main-shorted-turns"], &["M1 auxiliary-open"]],
        ),
        (&along_auxiliary, "low", &[&[][..], &["M1 auxiliary-shorted-turns"]]),
        (starting::DRUM, "forward", &[&[][..], &["M1 backward-shorted-turns"], &["M1 forward-shorted-turns"]]),
        (starting::DRUM, "backward", &[&[][..]]),
        (starting::TWO_CAPACITORS, "held", &[&[][..]]),
        (starting::COMPRESSOR, "held", &[&[][..], &["M1 overload-burnt"]]),
        (common::THREE_PHASE_FAN, "on", &[&[][..]]),
    ] {
        let job = with_run(text, setup, 10.0);
        let motor = part(&job.unit, "M1");
        for labels in faults {
            let timeline = take(&Bench::with(&job, labels), &[0.0, 1.0, 2.0], |observed| observed.heat(motor));
            let [begin, middle, end] = [0, 1, 2].map(|place| timeline.samples[place].look);
            let lost = (begin + 4.0 * middle + end) / 3.0;
            // The disc of an overload has heat of its own beside what the windings give to it.
            let bodies = job.unit.heat_of(motor).bodies.iter().enumerate();
            let bodies = bodies.filter(|(_, body)| !matches!(body.source, HeatSource::Disc { .. }));
            let held: f64 = bodies
                .map(|(place, body)| {
                    let node = timeline.node(motor, place).unwrap();
                    body.joules_per_kelvin * (timeline.samples[2].celsius[node] - timeline.samples[0].celsius[node])
                })
                .sum();
            assert!(lost > 1.0 && (held / lost - 1.0).abs() < 0.02, "{setup} {labels:?}: {held} J held, {lost} J lost");
        }
    }
}

/// The classic failure of the trade: a centrifugal switch that stays closed burns the start winding within a minute or so, long
/// before the main one is hot; with a sound switch nothing burns (common practice, no source).
#[test]
fn a_switch_that_stays_closed_burns_the_start_winding_and_a_sound_one_none() {
    let job = with_run(GRINDER, "running", 180.0);
    let every: Vec<f64> = (0..=180).map(f64::from).collect();
    let left_in = take(&Bench::with(&job, &["M1 centrifugal-welded"]), &every, |_| ());
    let burns = moments(&job.unit, &left_in, "M1.start-winding")[1].expect("it burns out");
    assert!((5.0..90.0).contains(&burns), "{burns} s");
    let main = *celsius(&job.unit, &left_in, "M1.winding").last().unwrap();
    assert!(main < 60.0, "{main} degrees");
    assert_eq!(moments(&job.unit, &left_in, "M1.winding"), [None, None]);
    let sound = take(&Bench::sound(&job), &[0.0, 10_800.0], |_| ());
    for winding in ["M1.winding", "M1.start-winding"] {
        assert_eq!(moments(&job.unit, &sound, winding), [None, None]);
    }
    // Out of circuit it is nearly as cool as the iron about it.
    let [main, start, core] =
        ["M1.winding", "M1.start-winding", "M1.core"].map(|body| celsius(&job.unit, &sound, body)[1]);
    assert!(core <= start && start < core + 0.5 * (main - core), "{main} {start} {core}");
}

/// The other way round: a motor that hums on its main winding alone burns that, and the start winding is little warmer than the
/// iron (common practice, no source).
#[test]
fn a_main_winding_that_stalls_alone_burns_and_the_start_winding_stays_cool() {
    let job = with_run(GRINDER, "running", 60.0);
    let every: Vec<f64> = (0..=360).map(|step| f64::from(step) * 10.0).collect();
    for fault in ["M1 start-open", "M1 centrifugal-stuck-open"] {
        let timeline = take(&Bench::with(&job, &[fault]), &every, |_| ());
        assert!(moments(&job.unit, &timeline, "M1.winding")[1].is_some(), "{fault}: {:?}", timeline.events);
        assert_eq!(moments(&job.unit, &timeline, "M1.start-winding"), [None, None]);
        let [main, start, core] = ["M1.winding", "M1.start-winding", "M1.core"]
            .map(|body| *celsius(&job.unit, &timeline, body).last().unwrap());
        assert!(start < core + 0.25 * (main - core), "{fault}: {main} {start} {core}");
    }
}

/// A starting relay that sticks leaves the start winding of a compressor in, and the overload in its common lead, on a main winding
/// that is cool, comes too late (common practice, no source).
#[test]
fn a_starting_relay_that_sticks_burns_the_start_winding() {
    let job = with_run(starting::CURRENT_RELAY, "on", 60.0);
    let sound = take(&Bench::sound(&job), &[0.0, 3600.0], |_| ());
    let stuck = take(&Bench::with(&job, &["K1 welded"]), &[0.0], |_| ());
    assert_eq!(moments(&job.unit, &sound, "M1.start-winding"), [None, None]);
    assert!(moments(&job.unit, &stuck, "M1.start-winding")[1].is_some(), "{:?}", stuck.events);
    assert_eq!(moments(&job.unit, &stuck, "M1.winding"), [None, None]);
}

/// Ohms of the elements of a motor that bear a label, with derivatives if wanted.
fn laid_out(job: &Job, in_setup: &str, bench: &Bench<'_>, winding: [f64; 2]) -> Wired {
    let parts = job.unit.parts().len();
    let conditions = Conditions {
        winding_celsius: vec![winding[0]; parts],
        second_winding_celsius: vec![winding[1]; parts],
        ..Conditions::default()
    };
    wire_up(&job.unit, setup(job, in_setup), &bench.faults, &bench.deviations, &conditions, true)
}

/// Each winding's ohms go with its own temperature, `(234.5 + t) / (234.5 + 20)` of copper (IEC 60034-1), and so does their
/// slope by every unknown, which differences give too.
#[test]
fn ohms_and_their_slopes_follow_each_winding_by_itself() {
    let (main, second) = (120.0, 45.0);
    let ratio = |celsius: f64| (234.5 + celsius) / 254.5;
    for (text, in_setup, labels, labels_of) in [
        (starting::GRINDER, "on", &[][..], ["main winding", "start winding"]),
        (starting::GRINDER, "on", &["M1 start-shorted-turns"][..], ["main winding", "shorted turns"]),
        (starting::DRUM, "forward", &[][..], ["forward winding", "backward winding"]),
        (common::TWO_BLOWERS, "low", &[][..], ["section high-medium", "auxiliary winding"]),
    ] {
        let job = job(text);
        let motor = part(&job.unit, "M1");
        let mut bench = Bench::with(&job, labels);
        let [cold, warm] = [[20.0, 20.0], [main, second]].map(|winding| laid_out(&job, in_setup, &bench, winding));
        let ohms = |wired: &Wired, label: &str| {
            let element = wired.elements_of(Place::Part(motor)).find(|element| element.label == label).unwrap();
            wired.assembly.network.branches()[element.branch.0].resistance.clone()
        };
        for (label, celsius) in labels_of.into_iter().zip([main, second]) {
            let [before, after] = [&cold, &warm].map(|wired| ohms(wired, label));
            assert!((after.value() / before.value() / ratio(celsius) - 1.0).abs() < 1e-3, "{label}");
            let slope_by = |unknown: usize| {
                let own = after.slopes().iter().filter(|(id, _)| id.0 == unknown);
                own.map(|(_, slope)| slope).sum::<f64>()
            };
            assert!(after.slopes().iter().any(|(_, slope)| slope.abs() > 0.1 * after.value()), "{label}");
            for unknown in 0..bench.deviations.len() {
                let slope = slope_by(unknown);
                let [up, down] = [1e-4, -1e-4].map(|step| {
                    bench.deviations[unknown] += step;
                    let value = ohms(&laid_out(&job, in_setup, &bench, [main, second]), label).value();
                    bench.deviations[unknown] -= step;
                    value
                });
                assert!((slope - (up - down) / 2e-4).abs() < 1e-6 * after.value(), "{label} by {unknown}");
            }
        }
    }
}

/// Every motor whose second winding has a lead has two windings to log; those in the iron or of another kind have one.
#[test]
fn places_and_words_name_each_winding() {
    for (text, second, words) in [
        (starting::GRINDER, Some("start-winding"), ["main winding", "start winding"]),
        (starting::COMPRESSOR, Some("start-winding"), ["main winding", "start winding"]),
        (starting::DRUM, Some("backward-winding"), ["forward winding", "backward winding"]),
        (common::TWO_BLOWERS, Some("auxiliary-winding"), ["main winding", "auxiliary winding"]),
        (common::THREE_PHASE_FAN, None, ["winding", ""]),
    ] {
        let job = job(text);
        let motor = part(&job.unit, "M1");
        let heat = job.unit.heat_of(motor);
        let names: Vec<&str> = heat.windings().map(|body| heat.bodies[body].name).collect();
        assert_eq!(names, ["winding"].into_iter().chain(second).collect::<Vec<_>>());
        assert_eq!(heat.bodies.last().unwrap().name, "core", "the rotor goes by the last body");
        for (body, words) in heat.windings().zip(words) {
            assert_eq!(heat.winding_words(body), words);
        }
        assert!(heat.bodies.iter().all(|body| body.joules_per_kelvin > 0.0));
    }
}

/// Start windings have a third to four fifths of the main winding's turns in wire of a third to a half of its section
/// (gpxonline.com.br on auxiliary-phase motors: 34 to 80 % and 30 to 50 %), so 0.10 to 0.40 of its copper.
#[test]
fn start_windings_have_as_much_copper_as_published_ones() {
    for text in [starting::GRINDER, starting::CURRENT_RELAY, GRINDER] {
        let job = job(text);
        let bodies = &job.unit.heat_of(part(&job.unit, "M1")).bodies;
        let share = bodies[1].joules_per_kelvin / bodies[0].joules_per_kelvin;
        assert!((0.10..0.40).contains(&share), "{share}");
    }
}

/// A winding by the name that a technician may give it is refused with the name it has.
#[test]
fn a_winding_by_another_name_is_told_its_own() {
    for (at, mend) in [("M1.start", "write M1.start-winding"), ("M1.run", "write M1.winding")] {
        let logged_at = |at: &str| {
            let channels = format!("channels = [{{ celsius = [20, 21], at = \"{at}\" }}]");
            let run = "[runs.taken]\nminutes = 5\nsteps = [{ minute = 0, setup = \"on\" }]";
            let log = format!("[[logs]]\nrun = \"taken\"\nminutes = [0, 5]\n{channels}\n");
            bench::job::read("job.toml", &format!("{}\n{run}\n{log}", starting::GRINDER))
        };
        let problems = logged_at(at).unwrap_err().to_string();
        assert!(problems.contains(mend), "{problems}");
        assert!(logged_at(mend.trim_start_matches("write ")).is_ok());
    }
}
