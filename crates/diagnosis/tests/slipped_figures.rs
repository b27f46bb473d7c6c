//! Grossly wrong readings have shapes: a decimal point that slipped, a meter that shows nothing.
//!
//! The density of what is shown is a density: over all that can be shown it adds up to one. Units and readings are invented;
//! predictions by Ohm's law.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{FaultSet, Job, Measure, Reading, Value};
use common::job;
use diagnosis::diagnose;
use diagnosis::reading_model::{Datum, GROSS_SHARE, normal_tail, sigma};

/// An element of 52.9 ohm (230 V, 1000 W) behind a switch.
fn heater(readings: &str) -> Job {
    job(&format!(
        "wires = [{{ from = \"supply.hot\", to = \"S.in\" }}, {{ from = \"S.out\", to = \"H1.a\" }},\n\
         {{ from = \"H1.b\", to = \"supply.neutral\" }}]\n\
         readings = [{readings}]\n\
         [unit]\nname = \"heater\"\nnote = \"Invented data.\"\n\
         [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.S]\nkind = \"switch\"\npositions.off = []\npositions.on = [[\"in\", \"out\"]]\n\
         [parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 1000\n\
         [setups.running]\nsupply = \"on\"\npositions = {{ S = \"on\" }}\n\
         [setups.apart]\nsupply = \"off\"\nlifted = [\"H1.a\", \"H1.b\"]\n"
    ))
}

const VOLTS: &str = "{ setup = \"running\", volts = 12, between = [\"supply.hot\", \"supply.neutral\"] }";

/// Integral from nothing to `end`, by a sum over steps that grow by a thousandth from `first`.
fn integral(first: f64, end: f64, density: impl Fn(f64) -> f64) -> f64 {
    let growth: f64 = 1.001;
    let steps = ((end / first).ln() / growth.ln()).ceil() as i32;
    let step = |place: i32| {
        let (low, high) = (first * growth.powi(place), (first * growth.powi(place + 1)).min(end));
        (high - low) * density(0.5 * (low + high))
    };
    // What is nearer to nothing than the first step is one of a hundred even ones.
    let near: f64 = (0..100).map(|place| 0.01 * first * density(0.01 * first * (f64::from(place) + 0.5))).sum();
    near + (0..steps).map(step).sum::<f64>()
}

/// Everything that wrong readings can show adds up to one, for every kind of measure, whatever the right one would be.
#[test]
fn what_wrong_readings_show_adds_up_to_one() {
    let job = heater(VOLTS);
    let (entry, meter, part) = (&job.readings[0], &job.meters[0], job.unit.supply());
    let Measure::Volts(a, b) = entry.measure else { panic!("a reading of volts") };
    // A kind of measure, what a right reading shows, and the largest that a wrong one can be by anything but a slip.
    let kinds = [
        (Measure::Ohms(a, b), 5.3e4, 1e8),
        (Measure::Microfarads(a, b), 330.0, 4e3),
        (Measure::Volts(a, b), 23e3, 345.0),
        (Measure::AmpsAtTerminal(a), 900.0, 30.0),
        (Measure::AmpsInWire(0), 900.0, 30.0),
        (Measure::Watts(part), 1e5, 5e3),
        (Measure::Rpm(part), 2e5, 3000.0),
        (Measure::TouchMilliamps(a), 2e3, 100.0),
        (Measure::LeakageMilliamps(part), 2e3, 100.0),
        (Measure::RunDown(part), 5e3, 600.0),
    ];
    for (measure, right, most) in kinds {
        let log = |value: Value, predicted: f64| {
            Datum::new(&job.unit, &Reading { measure, value, ..entry.clone() }, meter)
                .log_likelihood(predicted, 0.0)
                .value
        };
        let whatever = |shown: f64| log(Value::Number(shown), f64::INFINITY).exp();
        let anything = integral(1e-4, most, whatever);
        // Slips may show more than can be right.
        let slips = integral(1e-4, 1e4 * right, |shown| {
            let spread = sigma(measure, meter, shown);
            let distance = (shown - right) / spread;
            let is_right = 0.97 * (-0.5 * distance * distance).exp() / (spread * (2.0 * std::f64::consts::PI).sqrt());
            log(Value::Number(shown), right).exp() - whatever(shown) - is_right
        });
        let is_open_wrongly = matches!(measure, Measure::Ohms(..) | Measure::Microfarads(..));
        let open = if is_open_wrongly { log(Value::Open, 0.0).exp() } else { 0.0 };
        // Curves whose width changes with what is shown are not quite normal ones.
        let total = (anything + slips + open) / GROSS_SHARE;
        assert!((total - 1.0).abs() < 0.01, "{measure:?}: {total}, {anything} anything, {slips} slips, {open} open");
    }
}

#[test]
fn what_volts_may_be_shown_adds_up_to_one() {
    let job = heater(VOLTS);
    let (entry, meter) = (&job.readings[0], &job.meters[0]);
    let density = |shown: f64, predicted: f64| {
        let reading = Reading { value: Value::Number(shown), ..entry.clone() };
        Datum::new(&job.unit, &reading, meter).log_likelihood(predicted, 0.0).value.exp()
    };
    // Volts that can occur end at half again the rated ones; a tenth of a volt is fine enough for every curve.
    let step = 0.05;
    for predicted in [12.0, 20.0, 30.0] {
        let total: f64 = (0..6900).map(|place| step * density(step * (f64::from(place) + 0.5), predicted)).sum();
        // Of the six slips two are beyond the end, and those of small figures are cut off at nothing. One in a hundred of
        // what is shown is a slip of the decimal point, a sixth of it each.
        let cut = |factor: f64| {
            let right = factor * predicted;
            normal_tail(right / (2f64.sqrt() * sigma(entry.measure, meter, right)))
        };
        let lost = 0.03 * 0.3 / 6.0 * (2.0 + cut(0.1) + cut(0.01) + cut(0.001));
        // Where a curve's width changes with what is shown it is not quite a normal one.
        assert!((total + lost - 1.0).abs() < 2e-3, "{predicted} V: {total} and {lost}");
    }
}

#[test]
fn a_slip_of_the_decimal_point_is_likelier_than_any_other_wrong_figure() {
    let job = heater("{ setup = \"apart\", ohms = 529, between = [\"H1.a\", \"H1.b\"] }");
    let datum = Datum::new(&job.unit, &job.readings[0], &job.meters[0]);
    // 0.3/6 of wrong readings in a curve of 1.41 standard deviations, over those that show anything: three in ten are over
    // range, four in ten are flat over nine decades and below the lowest.
    let spread = 2f64.sqrt() * sigma(job.readings[0].measure, &job.meters[0], 529.0);
    let peak = 0.05 / (spread * (2.0 * std::f64::consts::PI).sqrt());
    let flat = 0.4 / (529.0 * (1.0 + 1e9f64.ln()));
    let gained = datum.log_likelihood(52.9, 0.0).value - datum.log_likelihood(70.0, 0.0).value;
    assert!((gained - ((peak + flat) / flat).ln()).abs() < 1e-6, "{gained}");
}

#[test]
fn one_reading_of_no_volts_does_not_convict_the_supply() {
    let ohms = "{ setup = \"apart\", ohms = 52.6, between = [\"H1.a\", \"H1.b\"] }";
    let amps = "{ setup = \"running\", amps = 4.33, through = \"H1.a\" }";
    let volts = |shown: f64| {
        format!("{{ setup = \"running\", volts = {shown}, between = [\"supply.hot\", \"supply.neutral\"] }}")
    };
    let doubt = |shown: f64| {
        let job = heater(&format!("{ohms}, {amps}, {}", volts(shown)));
        let found = diagnose(&job).unwrap();
        let is_dead =
            |fault: &usize| ["supply hot-dead", "supply neutral-dead"].contains(&&*job.unit.faults()[*fault].label());
        let is_blamed = |set: &FaultSet| set.0.iter().any(is_dead);
        let blaming = found.suspects.iter().filter(|suspect| suspect.faults.as_ref().is_some_and(is_blamed));
        let blamed: f64 = blaming.map(|suspect| suspect.probability).sum();
        (found.reading_doubt[2], blamed)
    };
    // Amps flow, so that there are volts: the probes made no contact.
    let (nothing, blamed) = doubt(0.0);
    assert!(nothing > 0.95 && blamed < 0.01, "{nothing}, {blamed}");
    // What reads 23 V in place of 230 V has its decimal point elsewhere; 90 V is a wrong figure like any other.
    let ((slipped, _), (other, _)) = (doubt(23.0), doubt(90.0));
    assert!(slipped > 0.95 && other > 0.5 && slipped > other, "{slipped}, {other}");
}
