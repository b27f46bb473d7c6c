//! Ohms from bar to bar: against the resistances of a ring of resistors, and as a line of the job file.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::bars::{RingFault, figures};
use bench::{BarPair, BarRing, Measure, Value};
use circuit::Quantity;
use common::{Bench, POLISHER, job, part};
use nalgebra::{DMatrix, DVector};

/// Ohms between all neighbours of a ring of coils, the last between the last bar and the first; joints are in series with
/// each bar's own contact. By the Laplacian of the ring (textbook resistance distance: Klein and Randic, J. Math. Chem. 12,
/// 1993, from memory), nothing of the closed forms.
fn round(coils: &[f64], joints: &[f64]) -> Vec<f64> {
    let bars = coils.len();
    let mut laplacian = DMatrix::zeros(bars, bars);
    for (coil, &ohms) in coils.iter().enumerate() {
        let (a, b) = (coil, (coil + 1) % bars);
        let siemens = if ohms.is_finite() { 1.0 / ohms } else { 0.0 };
        laplacian[(a, a)] += siemens;
        laplacian[(b, b)] += siemens;
        laplacian[(a, b)] -= siemens;
        laplacian[(b, a)] -= siemens;
    }
    let inverse = laplacian.pseudo_inverse(1e-12).unwrap();
    (0..bars)
        .map(|a| {
            let b = (a + 1) % bars;
            let mut pair = DVector::zeros(bars);
            pair[a] = 1.0;
            pair[b] = -1.0;
            (pair.transpose() * &inverse * &pair)[0] + joints[a] + joints[b]
        })
        .collect()
}

fn of_ring(bars: usize, coil: f64, fault: &RingFault) -> [f64; 3] {
    let ring = BarRing::new(bars as f64, &Quantity::constant(coil), fault);
    BarPair::ALL.map(|pair| ring.figure(pair).value())
}

fn numbers(figures: [Value; 3]) -> [f64; 3] {
    figures.map(|value| match value {
        Value::Number(number) => number,
        Value::Open => f64::INFINITY,
    })
}

#[test]
fn every_fault_at_every_place_of_a_ring() {
    for (bars, coil) in [(6, 0.7), (22, 0.52), (24, 1.3)] {
        for place in 0..bars {
            let (sound, flat) = (vec![coil; bars], vec![0.0; bars]);
            let mut open = sound.clone();
            open[place] = f64::INFINITY;
            let mut shorted = sound.clone();
            shorted[place] = coil * 0.2 / (coil + 0.2);
            let mut joints = flat.clone();
            joints[place] = 15.0;
            for (fault, found) in [
                (RingFault::None, round(&sound, &flat)),
                (RingFault::Open, round(&open, &flat)),
                (RingFault::Shorted(Quantity::constant(0.2)), round(&shorted, &flat)),
                (RingFault::BadBar(Quantity::constant(15.0)), round(&sound, &joints)),
            ] {
                let values: Vec<Value> = found.iter().map(|&ohms| Value::Number(ohms)).collect();
                for (expected, told) in of_ring(bars, coil, &fault).into_iter().zip(numbers(figures(&values))) {
                    assert!((expected - told).abs() < 1e-9 * expected, "{fault:?} at {place}: {expected}, {told}");
                }
            }
        }
    }
}

#[test]
fn a_ring_of_24_by_hand() {
    // 0.6 ohm a coil: 0.6 * 23 / 24 = 0.575 all round; with one open 23 * 0.6 = 13.8 there and 0.6 elsewhere.
    assert!((of_ring(24, 0.6, &RingFault::None)[0] - 0.575).abs() < 1e-12);
    let [typical, odd, neighbour] = of_ring(24, 0.6, &RingFault::Open);
    assert!((typical - 0.6).abs() < 1e-12 && (typical * odd - 13.8).abs() < 1e-9 && neighbour == 1.0);
}

#[test]
fn a_coil_has_a_sixth_of_the_armature_in_a_ring_of_24() {
    // Between the brushes two paths of 12 coils lie side by side: 6 coils' worth, so a coil is a sixth of it.
    let job = job(&POLISHER.replace("bars = 22", "bars = 24"));
    let armature = job.unit.unknowns().iter().find(|unknown| unknown.words == "armature ohms").unwrap();
    let measure = Measure::Bars(part(&job.unit, "M1"), BarPair::Typical);
    let shown = Bench::sound(&job).value_by("unplugged", measure, &bench::Meter::handheld()).unwrap();
    assert!((shown - armature.median / 6.0 * 23.0 / 24.0).abs() < 1e-9, "{shown}");
}

fn with_line(line: &str) -> Result<bench::Job, String> {
    let text = format!("readings = [\n{line}\n]\n{POLISHER}");
    bench::job::read("job.toml", &text).map_err(|problems| problems.to_string())
}

#[test]
fn a_round_is_one_line_of_the_job_file() {
    let list = |ohms: &[&str]| format!("{{ setup = \"unplugged\", bars_of = \"M1\", ohms = [{}] }},", ohms.join(", "));
    let mut ohms = ["0.6"; 22];
    (ohms[7], ohms[8]) = ("\"open\"", "12.5");
    let job = with_line(&list(&ohms)).unwrap();
    let reading = &job.readings[0];
    assert_eq!(reading.measure, Measure::Bars(part(&job.unit, "M1"), BarPair::Typical));
    assert_eq!((reading.value, reading.round.len(), reading.round[7]), (Value::Number(0.6), 22, Value::Open));
    assert_eq!(bench::words::shown(reading.measure, reading.value), "0.600 ohm");
    for (line, words) in [
        (list(&ohms[1..]), "21 readings from bar to bar where the commutator has 22 bars"),
        (list(&["0"; 22]), "most pairs of bars read 0 or open"),
        (list(&["\"open\""; 22]), "most pairs of bars read 0 or open"),
        (list(&["\"dead\""; 22]), "ohms cannot be dead"),
        (list(&ohms).replace("unplugged", "high"), "ohms in setup 'high', where the supply is on"),
        (list(&ohms).replace("M1", "W1"), "'W1' has no commutator"),
        (list(&ohms).replace("M1", "M7"), "unknown part 'M7'"),
        (list(&ohms).replace("bars_of = \"M1\",", ""), "a list of ohms without bars_of"),
        (list(&ohms).replace("ohms = [", "volts = 3, ohms = ["), "bars_of without a list of ohms"),
        ("{ setup = \"unplugged\", bars_of = \"M1\", ohms = 0.6 },".into(), "bars_of without a list of ohms"),
        (list(&ohms).replace("12.5", "-1"), "cannot be -1"),
    ] {
        let problems = with_line(&line).unwrap_err();
        assert!(problems.contains(words), "{line}: {problems}");
    }
}
