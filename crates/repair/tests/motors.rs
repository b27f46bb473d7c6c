//! A motor in another's place drives what the other drove; what is new is known by its plate.
//!
//! Fan laws: air with the speed, torque with its square, power with its cube (any handbook of fans; common practice).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Place;
use common::{job, suspect_of};
use diagnosis::diagnose;
use repair::compare::What;
use repair::options::{RepairOption, Work};
use repair::positions::live_positions;
use repair::{Course, RepairError, after, options, substitute};
use std::f64::consts::PI;

const EXTRACTOR: &str = include_str!("../../../demos/extractor.toml");
const GREENHOUSE_HEATER: &str = include_str!("../../../demos/greenhouse-heater.toml");
const POLISHER: &str = include_str!("../../../demos/polisher.toml");

/// A demo's unit with nothing found on it but these readings.
fn without_findings(text: &str, readings: &str) -> String {
    let mut document: toml_edit::DocumentMut = text.parse().unwrap();
    for section in ["readings", "symptoms", "logs", "runs", "repaired", "safety"] {
        document.remove(section);
    }
    format!("readings = [{readings}]\n{document}")
}

/// The unit as its plates have it, with another part in it.
fn put_in(text: &str, fault: &str, typed: &str) -> Result<RepairOption, RepairError> {
    let text = without_findings(text, "");
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    substitute(&found, suspect_of(&found, fault), &text, &typed.parse().unwrap()).map(Option::unwrap)
}

fn turning(course: &Course) -> f64 {
    course.motors[0].rpm
}

fn busiest(option: &RepairOption) -> &Course {
    option.courses.iter().max_by(|a, b| a.amps.total_cmp(&b.amps)).unwrap()
}

#[test]
fn the_same_plate_again_changes_nothing() {
    for (text, fault) in [(EXTRACTOR, "M1 u-open"), (GREENHOUSE_HEATER, "M1 main-open"), (POLISHER, "M1 brush-1-stuck")]
    {
        let same = put_in(text, fault, "M1 make=elsewhere").unwrap();
        let text = without_findings(text, "");
        let job = job(&text);
        let found = diagnose(&job).unwrap();
        let all = options(&found, suspect_of(&found, fault), &text, &[]).unwrap();
        let like = all.iter().find(|option| option.work == Work::LikeForLike).unwrap();
        for (same, like) in same.courses.iter().zip(&like.courses) {
            assert!((turning(same) / turning(like) - 1.0).abs() < 1e-9, "{same:?} {like:?}");
            assert!((same.watts - like.watts).abs() < 1e-6, "{same:?} {like:?}");
        }
    }
}

/// What reaches the shaft of a three-phase motor is `(1 - s) (P - 3 I^2 R - iron)` (any textbook of machines), and a fan that
/// takes 1500 W at 955 rpm takes `1500 W (n / 955 rpm)^3` at another speed.
#[test]
fn a_faster_three_phase_motor_drives_the_old_fan_by_the_fan_law() {
    for (plate, poles) in [("plate.rpm=1430 plate.poles=4", 4.0), ("plate.shaft_watts=750 plate.amps=2", 6.0)] {
        let option = put_in(EXTRACTOR, "M1 u-open", &format!("M1 {plate}")).unwrap();
        let course = busiest(&option);
        let text = without_findings(EXTRACTOR, "").replace("plate = {", "plate = { insulation_class = \"F\",");
        let mut document: toml_edit::DocumentMut = text.parse().unwrap();
        for field in plate.split(' ') {
            let (name, value) = field.split_once('=').unwrap();
            document["parts"]["M1"]["plate"][&name[6..]] = toml_edit::value(value.parse::<f64>().unwrap() as i64);
        }
        let new = job(&document.to_string());
        let ohms = new.unit.unknowns().iter().find(|unknown| unknown.words == "ohms of a phase").unwrap().median;
        let iron = new.unit.unknowns().iter().find(|unknown| unknown.words == "core loss").unwrap().median;
        let rpm = turning(course);
        let slip = 1.0 - rpm * poles / 6000.0;
        // Ohms at 25 degrees against 20: (234.5 + 25) / (234.5 + 20).
        let copper = 3.0 * course.amps.powi(2) * ohms * 259.5 / 254.5;
        let shaft = (1.0 - slip) * (course.watts - copper - 400.0 * 400.0 / iron);
        let fan = 1500.0 * (rpm / 955.0).powi(3);
        assert!((shaft / fan - 1.0).abs() < 0.05, "{plate}: {shaft} W at the shaft, {fan} W for the fan at {rpm} rpm");
    }
}

#[test]
fn a_weaker_or_faster_motor_on_the_old_fan_shows() {
    let text = without_findings(GREENHOUSE_HEATER, "");
    let unit = job(&text).unit;
    let torque = unit.unknowns().iter().find(|unknown| unknown.words == "fan torque").unwrap().median;
    let fan_watts = |rpm: f64| torque * (rpm / 1250.0).powi(2) * rpm * PI / 30.0;
    // Two fifths of the amps at the same volts: it cannot turn the fan at its speed.
    let weak = put_in(GREENHOUSE_HEATER, "M1 main-open", "M1 plate.amps=0.15").unwrap();
    let is_slow =
        |what: &What| matches!(what, What::OtherSpeed(_, share) if *share < 0.9) || matches!(what, What::Stands(_));
    assert!(weak.remarks.iter().any(|remark| is_slow(&remark.what)), "{:?}", weak.remarks);
    // A motor for twice the speed: eight times the power, or not that speed.
    let fast = put_in(GREENHOUSE_HEATER, "M1 main-open", "M1 plate.rpm=2700 plate.poles=2").unwrap();
    for option in [&weak, &fast] {
        for course in &option.courses {
            let (rpm, watts) = (turning(course), course.part_watts[unit.find_part("M1").unwrap()]);
            assert!(watts > fan_watts(rpm), "{watts} W in, {} W for the fan at {rpm} rpm", fan_watts(rpm));
        }
    }
}

#[test]
fn what_the_machine_drives_is_no_field_of_a_substitute() {
    match put_in(GREENHOUSE_HEATER, "M1 main-open", "M1 load=pump") {
        Err(RepairError::Exchange { problem, .. }) => assert!(problem.contains("leave load out"), "{problem}"),
        other => panic!("{other:?}"),
    }
}

/// A heater that reads a tenth too high: a new one has the watts of its plate, and only what is replaced is new.
#[test]
fn options_and_the_readings_after_expect_the_same_new_part() {
    let reading = "{ setup = \"unplugged\", ohms = 29.1, between = [\"H1.a\", \"H1.b\"] }";
    let repaired = "[repaired]\nwork = \"a new heater\"\nreadings = [{ setup = \"unplugged\", ohms = 26.5, between = [\"H1.a\", \"H1.b\"] }]\n";
    let text = format!("{}\n{repaired}", without_findings(GREENHOUSE_HEATER, reading));
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    let heater = job.unit.find_part("H1").unwrap();
    let watts = |label: &str| {
        let all = options(&found, suspect_of(&found, label), &text, &[]).unwrap();
        let like = all.iter().find(|option| option.work == Work::LikeForLike).unwrap();
        like.courses.iter().map(|course| course.part_watts[heater]).fold(0.0, f64::max)
    };
    let (new, old) = (watts("H1 to-frame"), watts("M1 air-blocked"));
    let ohms = |label: &str| after(&found, suspect_of(&found, label)).unwrap()[0].predicted;
    assert!((230.0 * 230.0 / ohms("H1 to-frame") - 2000.0).abs() < 1.0, "{}", ohms("H1 to-frame"));
    // The cord takes a little of the volts of both alike.
    let fitted = ohms("M1 air-blocked");
    assert!((28.0..29.2).contains(&fitted), "{fitted}");
    assert!((new / old / (fitted / ohms("H1 to-frame")) - 1.0).abs() < 0.01, "{new} {old} {fitted}");
}

#[test]
fn which_faults_are_mended_by_a_new_part() {
    let unit = job(GREENHOUSE_HEATER).unit;
    let polisher = job(POLISHER).unit;
    let is_new =
        |unit: &bench::Unit, label: &str| unit.faults()[unit.find_fault(label).unwrap()].is_mended_by_a_new_part();
    assert!(is_new(&unit, "M1 main-open") && is_new(&unit, "H1 open") && is_new(&unit, "K1 stuck-open"));
    assert!(!is_new(&unit, "M1 air-blocked") && !is_new(&unit, "M1 bearing-drag") && !is_new(&unit, "M1 fan-loose"));
    assert!(!is_new(&polisher, "M1 brush-1-stuck") && is_new(&polisher, "M1 field-1-open"));
    let of_wires = unit.faults().iter().filter(|fault| matches!(fault.place, Place::Wire(_)));
    assert!(of_wires.count() > 0);
    assert!(
        unit.faults().iter().all(|fault| !(fault.is_mended_by_a_new_part() && matches!(fault.place, Place::Wire(_))))
    );
}

#[test]
fn a_shaft_turned_for_ohms_is_no_position_of_a_switch() {
    let names: Vec<String> = live_positions(&job(POLISHER)).into_iter().map(|setup| setup.name).collect();
    assert_eq!(names, ["trigger off", "trigger on"]);
}

/// The start capacitor makes most of the torque at rest of a capacitor-start motor (common practice, no source): without the
/// relay that puts it in, the compressor's motor has much less.
#[test]
fn without_its_start_relay_a_compressor_starts_weaker() {
    let text = include_str!("../../../demos/workshop-compressor.toml");
    let job = job(text);
    let found = diagnose(&job).unwrap();
    let leader = found.suspects.iter().find(|suspect| suspect.fit.is_some()).unwrap();
    let all = options(&found, leader, text, &[]).unwrap();
    let out = all.iter().find(|option| matches!(option.work, Work::TakeOut(_))).unwrap();
    let motor = job.unit.find_part("M1").unwrap();
    let weaker = |what: What| matches!(what, What::StartsWeaker(part, share) if part == motor && share < 0.7);
    assert!(out.remarks.iter().any(|remark| weaker(remark.what)), "{:?}", out.remarks);
}

/// 17.5 A through a cord of 0.75 mm2, which may carry 6 A and no more than 10 A when short (IEC 60335-1).
#[test]
fn a_cord_too_thin_for_its_load_is_strained() {
    let load = |section: &str, watts: &str| {
        let text = without_findings(GREENHOUSE_HEATER, "").replace("square_millimetres = 1.5", section);
        let text = text.replace("watts = 2000", watts).replace("metres = 3", "metres = 1.8");
        let job = job(&text);
        let found = diagnose(&job).unwrap();
        let cord = job.unit.find_part("cord").unwrap();
        let (_, strained) = repair::stress(&found, suspect_of(&found, "M1 air-blocked"), None).unwrap();
        strained.iter().find(|entry| entry.what == Place::Part(cord)).map(|entry| entry.loads[0].1.times)
    };
    let over = load("square_millimetres = 0.75", "watts = 4000").expect("the cord is strained");
    assert!((over - 1.75).abs() < 0.06, "{over}");
    assert_eq!(load("square_millimetres = 2.5", "watts = 4000"), None);
    assert_eq!(load("gauge = 14", "watts = 4000"), None);
    assert!(load("gauge = 18", "watts = 4000").is_some());
    // Without a size nothing is known of what it may carry.
    assert_eq!(load("conductors = [\"hot\", \"neutral\", \"earth\"]", "watts = 4000"), None);
}
