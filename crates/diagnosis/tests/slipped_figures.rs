//! Grossly wrong readings have shapes: a decimal point that slipped, a meter that shows nothing.
//!
//! The density of what is shown is a density: over all that can be shown it adds up to one. Units and readings are invented;
//! predictions by Ohm's law.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{FaultSet, Job, Reading, Value};
use common::job;
use diagnosis::diagnose;
use diagnosis::reading_model::{Datum, normal_tail, sigma};

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
    // 0.3/6 of wrong readings in a curve of 1.41 standard deviations, over 0.7 of them flat over nine decades of which 'open'
    // takes three in ten.
    let spread = 2f64.sqrt() * sigma(job.readings[0].measure, &job.meters[0], 529.0);
    let peak = 0.05 / (spread * (2.0 * std::f64::consts::PI).sqrt());
    let flat = 0.7 * 0.7 / (529.0 * 1e9f64.ln());
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
