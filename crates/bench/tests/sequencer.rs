//! Sequencers: fed long enough in a setup, after their delays in a run.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/stages.rs"]
#[allow(dead_code)]
mod stages;

use bench::heat::{Case, End, HeatScales, Timeline, What, simulate};
use bench::{Job, Measure, Meter};
use common::{Bench, doubtful_job, job, part, terminal};
use stages::STAGE;

fn take(bench: &Bench<'_>, run: &str, at: &str, minutes: &[f64]) -> Timeline<f64> {
    let job = bench.job;
    let scales = HeatScales::medians(&job.unit);
    let run = &job.runs[job.find_run(run).unwrap()];
    let (faults, deviations) = (&bench.faults, &bench.deviations[..]);
    let case = Case { unit: &job.unit, setups: &job.setups, run, faults, deviations, scales: &scales };
    let times: Vec<f64> = minutes.iter().map(|minute| 60.0 * minute).collect();
    let measure = Measure::AmpsAtTerminal(terminal(&job.unit, at));
    simulate(case, &times, |observed| observed.value(measure, &Meter::handheld()).unwrap()).unwrap()
}

fn first(timeline: &Timeline<f64>, what: What) -> Option<f64> {
    timeline.events.iter().find(|event| event.what == what).map(|event| event.seconds)
}

/// When the contact closes and opens in the run.
fn moves(bench: &Bench<'_>) -> (Option<f64>, Option<f64>) {
    let timeline = take(bench, "called", "H1.a", &[]);
    let sequencer = part(&bench.job.unit, "E1");
    (first(&timeline, What::Closed(sequencer)), first(&timeline, What::Opened(sequencer)))
}

fn at_volts(volts: f64) -> Job {
    doubtful_job(&STAGE.replacen("volts = 230", &format!("volts = {volts}"), 1))
}

#[test]
fn in_a_setup_the_contact_is_where_a_long_time_has_brought_it() {
    let job = job(STAGE);
    let sound = Bench::sound(&job);
    // 2 kW at 230 V.
    let amps = sound.amps("calling", "H1.a");
    assert!((amps - 8.7).abs() < 0.1, "{amps} A");
    assert!((sound.amps("calling", "E1.heater-a") - 10.0 / 230.0).abs() < 1e-3);
    assert!(sound.amps("satisfied", "H1.a") < 1e-3);
    let contact = Measure::Ohms(terminal(&job.unit, "E1.a"), terminal(&job.unit, "E1.b"));
    let ohms = sound.look("unplugged", |observed| observed.value(contact, &Meter::handheld()).unwrap());
    assert!(ohms > 1e6, "{ohms} ohm across the contact of a cold one");
}

/// The delays that the job tells, at rated volts.
#[test]
fn in_a_run_the_contact_moves_after_its_delays() {
    let job = job(STAGE);
    let sound = Bench::sound(&job);
    let (closes, opens) = moves(&sound);
    let (closes, opens) = (closes.expect("it closes"), opens.expect("it opens"));
    assert!((closes - 40.0).abs() < 0.4, "closes after {closes} s");
    assert!((opens - 1200.0 - 70.0).abs() < 0.7, "opens after {} s", opens - 1200.0);
    let amps: Vec<f64> =
        take(&sound, "called", "H1.a", &[0.5, 10.0, 20.5, 25.0]).samples.iter().map(|sample| sample.look).collect();
    assert!(amps[0] < 1e-3 && amps[1] > 8.0 && amps[2] > 8.0 && amps[3] < 1e-3, "{amps:?}");
}

/// Controls of this sort work down to 85 % of their volts, as relays must (common practice, no source), but later; at half
/// of them, a quarter of the watts, the strip never bends far enough.
#[test]
fn low_volts_close_it_later_or_never() {
    let (low, dead) = (at_volts(0.85 * 230.0), at_volts(115.0));
    let late = moves(&Bench::sound(&low)).0.expect("it closes");
    assert!(late > 45.0 && late < 120.0, "{late} s");
    assert!(Bench::sound(&low).amps("calling", "H1.a") > 7.0);
    assert_eq!(moves(&Bench::sound(&dead)).0, None);
    assert!(Bench::sound(&dead).amps("calling", "H1.a") < 1e-3);
}

#[test]
fn its_faults_show_in_setups_and_in_runs() {
    let job = job(STAGE);
    for label in ["E1 heater-open", "E1 stuck-open"] {
        let bench = Bench::with(&job, &[label]);
        assert!(bench.amps("calling", "H1.a") < 1e-3, "{label}");
        assert!(take(&bench, "called", "H1.a", &[10.0]).samples[0].look < 1e-3, "{label}");
    }
    assert_eq!(moves(&Bench::with(&job, &["E1 heater-open"])), (None, None));
    let welded = Bench::with(&job, &["E1 welded"]);
    assert!(welded.amps("satisfied", "H1.a") > 8.0);
    let amps = take(&welded, "called", "H1.a", &[0.1, 29.0]);
    assert!(amps.samples.iter().all(|sample| sample.look > 8.0), "{:?}", amps.samples);
    // 26.45 ohms and 3 ohms in series.
    let burnt = Bench::with(&job, &["E1 burnt"]).sized(3.0).amps("calling", "H1.a");
    assert!((burnt - 230.0 / 29.45).abs() < 0.05, "{burnt} A");
}

/// It says when it comes on, and no prediction calls it a protector that trips.
#[test]
fn it_is_no_protector() {
    let job = job(STAGE);
    let sound = Bench::sound(&job);
    let trips = sound
        .look("calling", |observed| bench::heat::trips(&job.unit, observed, &sound.faults, &sound.deviations).len());
    assert_eq!(trips, 0);
    let event = What::Closed(part(&job.unit, "E1"));
    assert_eq!(bench::heat::words::event_words(&job, event), "E1 closes");
}

/// A sequencer that takes its own heater off through a relay goes to and fro between the warmth `s` at which it closes and
/// `0.8 s` at which it opens: closed for `ln 1.25`, open for `ln((1 - 0.8 s) / (1 - s))` time constants.
#[test]
fn one_that_cuts_itself_off_cycles() {
    let text = STAGE
        .replace("from = \"control.out\", to = \"E1.heater-a\"", "from = \"K1.c\", to = \"E1.heater-a\"")
        .replace(
            "wires = [",
            "wires = [\n  { from = \"control.out\", to = \"K1.r\" },\n  { from = \"E1.b\", to = \"K1.coil-a\" },\n  \
             { from = \"K1.coil-b\", to = \"cord.neutral\" },",
        )
        .replace(
            "[parts.H1]",
            "[parts.K1]\nkind = \"relay\"\nvolts = 230\ncontacts.released = [[\"c\", \"r\"]]\n\n[parts.H1]",
        );
    let job = doubtful_job(&text);
    let timeline = take(&Bench::sound(&job), "called", "H1.a", &[]);
    // It goes on to and fro for twenty minutes, and the run then ends too late to call it cycling.
    let seconds = |what: What| -> Vec<f64> {
        timeline.events.iter().filter(|event| event.what == what).map(|event| event.seconds).collect()
    };
    let sequencer = part(&job.unit, "E1");
    let (closings, openings) = (seconds(What::Closed(sequencer)), seconds(What::Opened(sequencer)));
    assert!(closings.len() > 10 && openings.len() > 10, "{closings:?} {openings:?}");
    // From 70 ln(1 / (1 - s)) = 40 ln(1 / (0.8 s)), solved by bisection on paper's terms here.
    let (mut low, mut high) = (0.01, 0.99);
    while high - low > 1e-9 {
        let s: f64 = 0.5 * (low + high);
        if 70.0 * (1.0 / (1.0 - s)).ln() < 40.0 * (1.0 / (0.8 * s)).ln() { low = s } else { high = s }
    }
    let t = 40.0 / (1.0 / (1.0 - low)).ln();
    let (closed, open) = (t * 1.25_f64.ln(), t * ((1.0 - 0.8 * low) / (1.0 - low)).ln());
    let (found_closed, found_open) = (openings[5] - closings[5], closings[6] - openings[5]);
    assert!((found_closed - closed).abs() < 0.05 * closed, "{found_closed} s closed, {closed} by hand");
    assert!((found_open - open).abs() < 0.05 * open, "{found_open} s open, {open} by hand");
    // Left to run, it is reported as cycling with that share.
    let text = text.replace(", { minute = 20, setup = \"satisfied\" }", "");
    let job = doubtful_job(&text);
    let timeline = take(&Bench::sound(&job), "called", "H1.a", &[]);
    let End::Cycling { part: cycling, closed_share, .. } = timeline.end else { panic!("{:?}", timeline.end) };
    assert_eq!(cycling, part(&job.unit, "E1"));
    assert!((closed_share - closed / (closed + open)).abs() < 0.03, "{closed_share}");
}

/// Gradients of what the heater takes and of what a burnt contact lets pass, against central differences.
#[test]
fn its_values_carry_their_derivatives() {
    let job = job(STAGE);
    for (label, at) in [("E1 burnt", "H1.a"), ("E1 burnt", "E1.heater-a")] {
        let bench = Bench::with(&job, &[label]);
        let measure = Measure::AmpsAtTerminal(terminal(&job.unit, at));
        let meter = Meter::handheld();
        let found = bench.look("calling", |observed| observed.measure(measure, &meter).unwrap());
        let mut moving = 0;
        for (unknown, &slope) in found.gradient.iter().enumerate() {
            let at = |step: f64| {
                let mut moved = Bench::with(&job, &[label]);
                moved.deviations[unknown] += step;
                moved.look("calling", |observed| observed.value(measure, &meter).unwrap())
            };
            let difference = (at(1e-4) - at(-1e-4)) / 2e-4;
            assert!((slope - difference).abs() < 1e-6 * found.value, "{at:p}: {slope} and {difference}", at = &measure);
            moving += usize::from(slope.abs() > 0.01 * found.value);
        }
        // The supply's volts, and either the heater or the element and the burnt face.
        assert!(moving >= 2, "{moving} unknowns move what is read at {at}");
    }
}

/// Its strip is made for its heater, so one of which no watts are known closes whatever ohms it turns out to have.
#[test]
fn a_heater_of_unknown_watts_closes_it_all_the_same() {
    let job = job(&STAGE.replace("watts = 10\n", ""));
    let ohms = job.unit.unknowns().iter().position(|unknown| unknown.words == "heater ohms").unwrap();
    for deviation in [-1.0, 1.0] {
        let mut bench = Bench::sound(&job);
        bench.deviations[ohms] = deviation;
        assert!(bench.amps("calling", "H1.a") > 8.0, "{deviation}");
        let closes = moves(&bench).0.expect("it closes");
        assert!((closes - 40.0).abs() < 0.4, "{deviation}: {closes} s");
    }
}
