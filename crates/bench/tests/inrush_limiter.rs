//! An inrush limiter lets its load pass once warm, and stays cold in front of next to nothing.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/series.rs"]
mod series;

use common::{Bench, job, part};
use series::INRUSH;

#[test]
fn it_warms_in_front_of_a_heater_and_not_in_front_of_a_lamp() {
    let job = job(INRUSH);
    let bench = Bench::sound(&job);
    let moved = |name: &str| {
        let contact = (part(&job.unit, name), 0);
        bench.look("on", |observed| observed.conditions().moved_contacts.contains(&contact))
    };
    assert!(moved("N1") && !moved("N2"));
    // By hand: 115 ohm of heater, 0.4 ohm of supply, 0.1 ohm of cord, and 4 % of 10 ohm: 230 V / 115.9 ohm = 1.985 A.
    assert!((bench.amps("on", "H1.a") - 1.985).abs() < 0.005, "{}", bench.amps("on", "H1.a"));
    assert!((bench.volts("on", "N1.a", "N1.b") - 0.4 * 1.985).abs() < 0.005);
    // A lamp of 26.45 kilohm draws 8.7 mA: 87 mV across 10 ohm.
    assert!((bench.volts("on", "N2.a", "N2.b") - 0.087).abs() < 0.001);
}

#[test]
fn cold_it_reads_what_is_marked_on_it() {
    let job = job(INRUSH);
    assert!((Bench::sound(&job).ohms("off its wires", "N1.a", "N1.b") - 10.0).abs() < 1e-9);
    let cracked = Bench::with(&job, &["N1 cracked-open"]);
    assert!(cracked.ohms("off its wires", "N1.a", "N1.b").is_infinite());
    assert!(cracked.amps("on", "H1.a") < 1e-3 && cracked.volts("on", "N1.a", "N1.b") > 220.0);
    assert!(Bench::with(&job, &["N1 shorted"]).ohms("off its wires", "N1.a", "N1.b") < 1.0);
    let joint = Bench::with(&job, &["N1 bad-joint"]);
    assert!((joint.ohms("off its wires", "N1.a", "N1.b") - 15.0).abs() < 1e-9);
    assert!(joint.amps("on", "H1.a") < 1.92);
}
