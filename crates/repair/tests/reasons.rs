//! What may stand behind a failure, of parts that mind heat and of joints; all of it common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{Job, Place};
use common::job;
use diagnosis::diagnose;
use diagnosis::recurrence::behind;

const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");
const DRYING_CABINET: &str = include_str!("../../../demos/drying-cabinet.toml");
const GREENHOUSE_HEATER: &str = include_str!("../../../demos/greenhouse-heater.toml");

fn conditions(job: &Job, place: Place) -> Vec<String> {
    bench::recurrence::conditions(&job.unit, place).into_iter().map(|condition| condition.words).collect()
}

fn of_part(job: &Job, name: &str) -> Vec<String> {
    conditions(job, Place::Part(job.unit.find_part(name).unwrap()))
}

fn has(list: &[String], words: &str) -> bool {
    list.iter().any(|line| line.contains(words))
}

#[test]
fn what_heat_opens_or_wears_out_is_asked_about_air_and_neighbours() {
    let cabinet = job(DRYING_CABINET);
    for part in ["F1", "K1"] {
        let list = of_part(&cabinet, part);
        assert!(has(&list, "air"), "{part}: {list:?}");
        assert!(has(&list, "the heat of") && has(&list, "H1"), "{part}: {list:?}");
    }
    let proofer = job(DOUGH_PROOFER);
    let capacitor = of_part(&proofer, "C1");
    assert!(has(&capacitor, "the air about it") && has(&capacitor, "the heat of M1, H1"), "{capacitor:?}");
    // A switch and a lamp are no such parts.
    assert!(!has(&of_part(&proofer, "switch"), "the heat of") && !has(&of_part(&proofer, "L1"), "the air about it"));
}

#[test]
fn where_the_job_tells_of_streams_these_are_asked_about() {
    let heater = job(GREENHOUSE_HEATER);
    let cutout = of_part(&heater, "K1");
    assert!(has(&cutout, "M1: the air that its fan moves is held up"), "{cutout:?}");
    assert!(!has(&cutout, "the air about it"), "{cutout:?}");
    assert!(has(&cutout, "the heat of") && has(&cutout, "H1"), "{cutout:?}");
}

#[test]
fn a_bad_joint_has_its_reasons_too() {
    let job = job(GREENHOUSE_HEATER);
    let wire = job.unit.find_wire("cutout to heater").unwrap();
    let list = conditions(&job, Place::Wire(wire));
    for words in ["a loose fit", "more current than", "the heat of H1"] {
        assert!(has(&list, words), "{words}: {list:?}");
    }
    // The end at a motor is shaken, and by which fault is known.
    let motor = job.unit.find_terminal("M1.run").unwrap();
    let at_motor = job.unit.wires().iter().position(|wire| [wire.from, wire.to].contains(&motor)).unwrap();
    let list = bench::recurrence::conditions(&job.unit, Place::Wire(at_motor));
    let balance = job.unit.find_fault("M1 out-of-balance");
    assert!(balance.is_some() && list.iter().any(|condition| condition.fault == balance), "{list:?}");

    let found = diagnose(&job).unwrap();
    let is_joint = |suspect: &&diagnosis::Suspect| {
        let faults = suspect.faults.as_ref().map(|faults| faults.0.as_slice()).unwrap_or_default();
        faults.len() == 1 && matches!(job.unit.faults()[faults[0]].place, Place::Wire(_))
    };
    let suspect = found.suspects.iter().find(is_joint).expect("a wire is a suspect");
    let behind = behind(&found, suspect);
    assert!(matches!(behind[0].place, Place::Wire(_)) && !behind[0].conditions.is_empty(), "{behind:?}");
}
