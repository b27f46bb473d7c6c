//! What meters make of indicator lamps. Facts of the trade: common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, observe_values};

fn lamp(fields: &str) -> Job {
    let text = format!(
        "wires = [{{ from = \"supply.hot\", to = \"L1.a\" }}, {{ from = \"L1.b\", to = \"supply.neutral\" }}]\n\
         [unit]\nname = \"lamp\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.L1]\nkind = \"indicator-lamp\"\nvolts = 230\n{fields}\n\
         [setups.on]\nsupply = \"on\"\n[setups.off]\nsupply = \"off\"\n"
    );
    bench::job::read("lamp", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

fn shown(job: &Job, setup: &str, measure: Measure) -> f64 {
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(&job.unit, &none)];
    let setup = &job.setups[job.find_setup(setup).unwrap()];
    observe_values(&job.unit, setup, &none, &medians, |seen| seen.value(measure, &job.meters[0])).unwrap().unwrap()
}

fn ohms(job: &Job) -> f64 {
    shown(job, "off", Measure::Ohms(job.unit.find_terminal("L1.a").unwrap(), job.unit.find_terminal("L1.b").unwrap()))
}

#[test]
fn a_glow_lamp_is_open_to_an_ohmmeter_and_takes_its_watts_when_lit() {
    let job = lamp("");
    assert!(ohms(&job) > 40e6);
    let part = job.unit.find_part("L1").unwrap();
    assert!((shown(&job, "on", Measure::Watts(part)) - 0.3).abs() < 0.01);
}

#[test]
fn a_cold_filament_has_a_tenth_of_its_ohms() {
    // 230 V and 5 W: 10.58 kilohm lit.
    for fields in ["watts = 5", "watts = 5\nlight = \"filament\""] {
        assert!((ohms(&lamp(fields)) - 1058.0).abs() < 1.0);
    }
    assert!(ohms(&lamp("watts = 5\nlight = \"glow\"")) > 40e6);
}
