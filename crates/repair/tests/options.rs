//! What repairs bring, on the demo jobs; each expectation is a fact of the trade.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Place;
use bench::winding_class::SaidBy;
use common::{job, leader, part, suspect_at};
use diagnosis::diagnose;
use repair::compare::What;
use repair::hook_ups::Mistake;
use repair::loads::Against;
use repair::options::{RepairOption, Work};
use repair::stress::{Exposure, Reckoner};
use repair::substitute::Fits;
use repair::variant::{Exchange, Substitution};
use repair::{RepairError, options, stress};

const AIR_CURTAIN: &str = include_str!("../../../demos/air-curtain.toml");
const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");
const BENCH_GRINDER: &str = include_str!("../../../demos/bench-grinder.toml");
const EXTRACTOR: &str = include_str!("../../../demos/extractor.toml");

fn of(options: &[RepairOption], wanted: impl Fn(&Work) -> bool) -> &RepairOption {
    options.iter().find(|option| wanted(&option.work)).unwrap()
}

#[test]
fn the_sound_twin_beside_a_broken_motor_is_strained_and_taking_the_broken_one_out_ends_that() {
    // Common practice, no source: an open common lead makes the sound twin feed the broken one, and pay for it.
    let job = job(AIR_CURTAIN);
    let found = diagnose(&job).unwrap();
    let suspect = leader(&found);
    let broken = suspect.faults.as_ref().unwrap().0[0];
    let bench::Place::Part(broken) = job.unit.faults()[broken].place else { panic!("a motor") };
    let (exposure, strained) = stress(&found, suspect, Some(90.0)).unwrap();
    assert_eq!(exposure, Exposure { logged: Vec::new(), reckoned: Some((90.0, Reckoner::Asker)) });
    let twin = strained
        .iter()
        .find(|entry| matches!(entry.what, Place::Part(part) if job.unit.is_motor(part) && part != broken));
    let twin = twin.expect("the sound motor is strained");
    assert!(!twin.is_repaired);
    assert!(!twin.loads.is_empty() || twin.winding.is_some(), "{twin:?}");

    let options = options(&found, suspect, AIR_CURTAIN, &[]).unwrap();
    let strained = |work: &Work| -> Vec<(What, Vec<String>)> {
        let option = of(&options, |done| done == work);
        let of_twin = |what: What| matches!(what, What::Overloaded(Place::Part(p), ..) | What::Hot(p, ..) if Place::Part(p) == twin.what);
        let list = option.remarks.iter().filter(|remark| of_twin(remark.what));
        list.map(|remark| (remark.what, remark.positions.clone())).collect()
    };
    let (leave, out, like) = (strained(&Work::Leave), strained(&Work::TakeOut(broken)), strained(&Work::LikeForLike));
    assert!(leave.iter().any(|(what, _)| matches!(what, What::Overloaded(..))), "{leave:?}");
    // At full speed the twin is near its limit with the fault only. At the lower speeds of this plate its own fan gives it
    // less air, and it comes near the limit with nothing wrong: taking its neighbour out changes nothing about that.
    let at_high = |list: &[(What, Vec<String>)]| {
        list.iter().any(|(_, positions)| positions.iter().any(|position| position == "selector high"))
    };
    assert!(at_high(&leave) && !at_high(&out) && !at_high(&like), "{leave:?} {out:?} {like:?}");
    assert_eq!(out.len(), like.len(), "{out:?} {like:?}");
    for ((out, _), (like, _)) in out.iter().zip(&like) {
        match (out, like) {
            (What::Hot(_, _, out, ..), What::Hot(_, _, like, ..)) => assert!((out - like).abs() < 3.0, "{out} {like}"),
            other => panic!("{other:?}"),
        }
    }
    let without = of(&options, |work| *work == Work::TakeOut(broken));
    assert!(without.remarks.iter().any(|remark| remark.what == What::Stands(broken)), "{:?}", without.remarks);
    let like = of(&options, |work| *work == Work::LikeForLike);
    assert!(like.remarks.iter().all(|remark| matches!(remark.what, What::Hot(..))), "{:?}", like.remarks);
}

#[test]
fn two_leads_of_a_three_phase_motor_interchanged_turn_it_backwards() {
    // Common practice, no source: interchanging any two lines reverses the field.
    // Without readings every fault of the motor is a suspect.
    let mut job = job(EXTRACTOR);
    job.readings.clear();
    job.symptoms.clear();
    let found = diagnose(&job).unwrap();
    let motor = part(&job, "M1");
    let suspect = suspect_at(&found, motor);
    let options = options(&found, suspect, EXTRACTOR, &[]).unwrap();
    let like = of(&options, |work| *work == Work::LikeForLike);
    for pair in [("M1.u", "M1.v"), ("M1.v", "M1.w"), ("M1.u", "M1.w")] {
        let wrong = like.wrong_hook_ups.iter().find(|wrong| {
            let Mistake::Interchanged([a, b]) = &wrong.mistake else { return false };
            (a.as_str(), b.as_str()) == pair || (b.as_str(), a.as_str()) == pair
        });
        let wrong = wrong.unwrap_or_else(|| panic!("{pair:?} would show"));
        assert!(wrong.remarks.iter().any(|remark| remark.what == What::RunsBackwards(motor)), "{wrong:?}");
    }
}

#[test]
fn a_substitute_is_judged_by_its_plate_and_worked_out() {
    let job = job(DOUGH_PROOFER);
    let found = diagnose(&job).unwrap();
    let exchange = |typed: &str| typed.parse::<Substitution>().unwrap();
    let capacitor = job.unit.parts().iter().find(|part| part.kind.is_capacitor()).expect("a run capacitor");
    let name = capacitor.name.clone();
    let asked = [
        exchange(&format!("{name} volts=100")),
        exchange(&format!("{name} volts=1000")),
        exchange(&format!("{name} microfarads=20")),
    ];
    let options = options(&found, leader(&found), DOUGH_PROOFER, &asked).unwrap();
    let substitutes: Vec<&RepairOption> =
        options.iter().filter(|option| matches!(option.work, Work::Substitute(_))).collect();
    let fits = |option: &RepairOption, field: &str| {
        option.compared.iter().find(|compared| compared.field == field).map(|compared| compared.fits)
    };
    assert_eq!(fits(substitutes[0], "volts"), Some(Fits::No), "fewer volts never");
    assert_eq!(fits(substitutes[1], "volts"), Some(Fits::Yes), "more volts are well");
    assert_eq!(fits(substitutes[2], "microfarads"), Some(Fits::No));
    // What has fewer volts than it gets is seen in what is worked out, too; the volts across a run capacitor exceed the
    // mains (common practice, no source).
    let index = part(&job, &name);
    let over = |option: &RepairOption| {
        option.remarks.iter().any(
            |remark| matches!(remark.what, What::Overloaded(Place::Part(part), Against::Volts, _) if part == index),
        )
    };
    assert!(over(substitutes[0]), "{:?}", substitutes[0].remarks);
    assert!(!over(substitutes[1]), "{:?}", substitutes[1].remarks);
}

#[test]
fn an_exchange_that_cannot_be_says_why() {
    let job = job(DOUGH_PROOFER);
    let found = diagnose(&job).unwrap();
    let refused = |typed: &str| {
        let asked = [typed.parse::<Substitution>().unwrap()];
        match options(&found, leader(&found), DOUGH_PROOFER, &asked) {
            Err(RepairError::Exchange { problem, .. }) => problem,
            other => panic!("{typed}: {other:?}"),
        }
    };
    assert!(refused("M9 plate.amps=1").contains("M9"));
    assert!(!refused("M1 plate.amps=many").is_empty());
    assert!(!refused("M1 plate.colour=2").is_empty());
    for typed in ["", "M1", "plate.amps=1", "M1 amps"] {
        assert!(typed.parse::<Exchange>().is_err(), "{typed}");
        assert!(typed.parse::<Substitution>().is_err(), "{typed}");
    }
}

#[test]
fn a_motor_with_its_wires_off_is_as_good_as_no_motor() {
    // The same machine written down without it, nothing lifted.
    let job = job(AIR_CURTAIN);
    let found = diagnose(&job).unwrap();
    let suspect = leader(&found);
    let options = options(&found, suspect, AIR_CURTAIN, &[]).unwrap();
    let (out, gone) = options
        .iter()
        .find_map(|option| match option.work {
            Work::TakeOut(part) => Some((option, part)),
            _ => None,
        })
        .unwrap();
    let mut text: toml_edit::DocumentMut = AIR_CURTAIN.parse().unwrap();
    for section in ["readings", "symptoms", "setups", "runs", "logs", "refused", "housings"] {
        text.remove(section);
    }
    let name = job.unit.parts()[gone].name.clone();
    let without = bench::job::edit::apply(&text.to_string(), &bench::job::edit::Edit::RemovePart { name }).unwrap();
    let without = self::job(&without);
    let own = &suspect.fit.as_ref().unwrap().deviations[..found.evidence.prior.count()];
    let values = repair::variant::carried_over(&job.unit, own, &without.unit, &[]).deviations;
    let mut compared = 0;
    for setup in repair::positions::live_positions(&without) {
        let Some(lifted) = out.courses.iter().find(|course| course.position == setup.name) else { continue };
        let alone = repair::course(&without.unit, &setup, &bench::FaultSet::none(), &values, 25.0).unwrap();
        assert!(
            (alone.amps - lifted.amps).abs() < 1e-4 * alone.amps,
            "{}: {} and {}",
            setup.name,
            alone.amps,
            lifted.amps
        );
        assert!((alone.watts - lifted.watts).abs() < 1e-4 * alone.watts, "{}", setup.name);
        compared += 1;
    }
    assert!(compared >= 2, "{compared}");
}

#[test]
fn what_a_unit_takes_is_what_its_parts_take_and_its_wires_lose() {
    for text in [AIR_CURTAIN, DOUGH_PROOFER, EXTRACTOR] {
        let job = job(text);
        let found = diagnose(&job).unwrap();
        for option in options(&found, leader(&found), text, &[]).unwrap() {
            for course in option.courses.iter().filter(|course| course.cut_off.is_none()) {
                let is_load = |part: &usize| !job.unit.parts()[*part].kind.feeds_unit();
                let parts: f64 = (0..job.unit.parts().len()).filter(is_load).map(|part| course.part_watts[part]).sum();
                let lost = course.watts - parts;
                assert!(
                    (-1e-6..0.1 * course.watts + 1e-6).contains(&lost),
                    "{}, {}, {}: {} W in, {parts} W in parts",
                    job.unit.name,
                    option.words,
                    course.position,
                    course.watts
                );
            }
        }
    }
}

/// The air curtain with this class on both motors' plates, or none, and this noted for the job, or none.
fn with_classes(plate: Option<&str>, noted: Option<&str>) -> String {
    let mut text: toml_edit::DocumentMut = AIR_CURTAIN.parse().unwrap();
    if let Some(class) = plate {
        for motor in ["M1", "M2"] {
            text["parts"][motor]["plate"]["insulation_class"] = toml_edit::value(class);
        }
    }
    if let Some(class) = noted {
        text["repaired"]["work"] = toml_edit::value("nothing yet");
        text["repaired"]["insulation_class"] = toml_edit::value(class);
    }
    text.to_string()
}

/// No winding is shown hotter than it can be: a start winding that stays in circuit burns out within minutes (common practice,
/// no source), and copper melts at 1085 degrees Celsius.
#[test]
fn a_winding_that_burns_out_is_not_followed_any_further() {
    let job = job(BENCH_GRINDER);
    let found = diagnose(&job).unwrap();
    let options = options(&found, leader(&found), BENCH_GRINDER, &[]).unwrap();
    let left = of(&options, |work| *work == Work::Leave);
    let motor = part(&job, "M1");
    let start = job.unit.find_body("M1.start-winding").unwrap();
    let burns = left.remarks.iter().find_map(|remark| match remark.what {
        What::BurnsOut(part, body, celsius, minutes) if (part, body) == start => Some((celsius, minutes)),
        _ => None,
    });
    let (celsius, minutes) = burns.expect("it burns out");
    assert_eq!(celsius, 250.0);
    assert!((0.1..15.0).contains(&minutes), "{minutes}");
    assert!(!left.remarks.iter().any(|remark| matches!(remark.what, What::Hot(..))), "{:?}", left.remarks);
    for course in &left.courses {
        assert!(course.bodies.iter().all(|body| body.hottest_celsius <= 250.0), "{:?}", course.bodies);
        assert!(
            course.row(&job.unit)[4].starts_with("the start winding of M1 burns out after "),
            "{:?}",
            course.row(&job.unit)
        );
    }
    let (_, strained) = stress(&found, leader(&found), Some(60.0)).unwrap();
    let entry = strained.iter().find(|entry| entry.what == Place::Part(motor)).unwrap();
    // A new centrifugal switch renews no winding.
    assert!(!entry.is_repaired);
    // A run of seconds is looked at all along, and what it cost is worked out: six seconds on, the class is about reached.
    let (_, strained) = stress(&found, leader(&found), Some(0.1)).unwrap();
    let brief = strained.iter().find(|entry| entry.what == Place::Part(motor)).unwrap();
    assert!((0.09..=0.101).contains(&brief.minutes), "{brief:?}");
    assert!(brief.life_hours.is_some_and(|hours| hours > 0.0 && hours < 0.1 / 60.0), "{brief:?}");
    assert!((entry.burns_after_minutes.unwrap() - minutes).abs() < 0.3 * minutes, "{entry:?} {minutes}");
    assert!(
        entry.winding_words().unwrap().starts_with("start winding beyond 250 °C: burns out after about "),
        "{entry:?}"
    );
    assert!(entry.life_hours.is_none() && entry.minutes <= minutes.ceil());
    // As it should be, nothing burns.
    let repaired = of(&options, |work| *work == Work::LikeForLike);
    assert!(repaired.courses.iter().all(|course| course.burns_out.is_none()));
}

/// IEC 60085: A 105, B 130, F 155, H 180 degrees Celsius.
#[test]
fn a_winding_is_held_to_its_own_class_before_the_jobs() {
    let said = |plate, noted| {
        let text = with_classes(plate, noted);
        let job = job(&text);
        let class = job.unit.winding_class(part(&job, "M1"));
        (class.class.celsius(), class.said_by)
    };
    assert_eq!(said(Some("A"), Some("H")), (105.0, SaidBy::Plate));
    assert_eq!(said(None, Some("H")), (180.0, SaidBy::Job));
    assert_eq!(said(Some("A"), None), (105.0, SaidBy::Plate));
    assert_eq!(said(None, None), (130.0, SaidBy::Nothing));
}

/// The sound twin comes to the same temperature whatever is on its plate; past its class is what the plate says. Life is
/// counted at the temperature of the class, and halves every ten kelvins (Montsinger): what bears less has spent more.
#[test]
fn the_class_on_the_plate_decides_what_the_fault_has_strained() {
    let hot = |plate: &str, noted: &str| {
        let text = with_classes(Some(plate), Some(noted));
        let job = job(&text);
        let found = diagnose(&job).unwrap();
        let (_, strained) = stress(&found, leader(&found), Some(90.0)).unwrap();
        let windings: Vec<(f64, f64, Option<f64>)> = strained
            .iter()
            .filter_map(|entry| Some((entry.winding?.0, entry.limit?.class.class.celsius(), entry.life_hours)))
            .collect();
        let options = options(&found, leader(&found), &text, &[]).unwrap();
        let remarks = &of(&options, |work| *work == Work::Leave).remarks;
        let past = remarks.iter().filter(|remark| matches!(remark.what, What::Hot(..)));
        (windings, past.map(|remark| remark.what.words(&job.unit)).collect::<Vec<_>>())
    };
    let (low, words) = hot("90", "250");
    assert!(low.iter().any(|&(celsius, class, _)| class == 90.0 && celsius > class), "{low:?}");
    assert!(words.iter().any(|words| words.contains("(class Y of its plate)")), "{words:?}");
    let hottest = low.iter().map(|(celsius, ..)| *celsius).fold(0.0, f64::max);
    let (high, words) = hot("250", "90");
    assert!(hottest < 250.0 && high.is_empty() && words.is_empty(), "{hottest}: {high:?} {words:?}");
    let spent = |list: &[(f64, f64, Option<f64>)]| list.iter().filter_map(|(.., hours)| *hours).fold(0.0, f64::max);
    let (middle, _) = hot("105", "250");
    assert!(spent(&low) > spent(&middle), "{low:?} {middle:?}");
}

#[test]
fn a_substitute_of_a_lower_class_does_not_fit() {
    let text = with_classes(Some("F"), None);
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    let asked =
        ["B", "H", "155"].map(|class| format!("M1 plate.insulation_class={class}").parse::<Substitution>().unwrap());
    let options = options(&found, leader(&found), &text, &asked).unwrap();
    let substitutes = options.iter().filter(|option| matches!(option.work, Work::Substitute(_)));
    let fits: Vec<Fits> = substitutes
        .map(|option| {
            let is_it = |compared: &&repair::substitute::Compared| compared.field == "plate.insulation_class";
            option.compared.iter().find(is_it).unwrap().fits
        })
        .collect();
    assert_eq!(fits, [Fits::No, Fits::Yes, Fits::Yes]);
}

/// IEC 60335-1, rise in normal running by thermocouple: class B 85 K, so 110 degrees in a room of 25; F has no figure for
/// thermocouples, by resistance 115 K; a class the standard does not name is held to its own temperature.
#[test]
fn options_hold_a_winding_to_the_limit_of_the_heat_run() {
    let limit = |class: &str| {
        let text = with_classes(Some(class), None);
        let job = job(&text);
        job.unit.winding_class(part(&job, "M1")).limit(25.0).celsius
    };
    assert_eq!([limit("B"), limit("F"), limit("90")], [110.0, 140.0, 90.0]);
}

/// Where expected values stand at a limit it is even odds, and never certain; the words say so.
#[test]
fn risks_are_worded_by_how_likely_they_are() {
    let job = job(AIR_CURTAIN);
    let found = diagnose(&job).unwrap();
    let options = options(&found, leader(&found), AIR_CURTAIN, &[]).unwrap();
    let leave = of(&options, |work| *work == Work::Leave);
    let twin = part(&job, "M1");
    let words: Vec<String> = leave.remarks.iter().map(|remark| remark.what.words(&job.unit)).collect();
    assert!(words.iter().any(|words| words.starts_with("M1") && words.contains("likely past")), "{words:?}");
    for course in &leave.courses {
        assert!(course.amps_spread > 0.0 && course.watts_spread > 0.0, "{course:?}");
        let motor = course.motors.iter().find(|motor| motor.part == twin).unwrap();
        assert!(motor.rpm_spread > 0.0, "{motor:?}");
        // Its amps were read at high and at low: known there to a few per cent, and not as well in between.
        let share = course.amps_spread / course.amps;
        assert!(course.position == "selector medium" || share < 0.05, "{}: {share}", course.position);
    }
}

/// Common practice, no source: with a motor's lead on its neighbour's capacitor one motor has two and the other none.
#[test]
fn a_lead_on_the_wrong_capacitor_is_a_mistake_that_shows() {
    let job = job(AIR_CURTAIN);
    let found = diagnose(&job).unwrap();
    let asked = ["M2 plate.amps=0.6"].map(|typed| typed.parse::<Substitution>().unwrap());
    let options = options(&found, leader(&found), AIR_CURTAIN, &asked).unwrap();
    for option in
        [of(&options, |work| *work == Work::LikeForLike), of(&options, |work| matches!(work, Work::Substitute(_)))]
    {
        let astray = option.wrong_hook_ups.iter().find(|wrong| {
            matches!(&wrong.mistake, Mistake::OnAnother { on, belongs_on, .. } if on == "C1.a" && belongs_on == "C2.a")
        });
        let astray = astray.unwrap_or_else(|| panic!("{:?}", option.wrong_hook_ups));
        let m2 = part(&job, "M2");
        let shows =
            |what: What| matches!(what, What::Stands(p) | What::OtherSpeed(p, _) | What::StartsWeaker(p, _) if p == m2);
        assert!(astray.remarks.iter().any(|remark| shows(remark.what)), "{astray:?}");
    }
}

/// A run-capacitor motor does not start on its main winding alone (any textbook of single-phase motors).
#[test]
fn taking_out_what_a_motor_needs_is_no_repair() {
    let job = job(DOUGH_PROOFER);
    let found = diagnose(&job).unwrap();
    let capacitor = suspect_at(&found, part(&job, "C1"));
    let options = options(&found, capacitor, DOUGH_PROOFER, &[]).unwrap();
    let out = of(&options, |work| matches!(work, Work::TakeOut(_)));
    assert_eq!(out.words, "not a repair: without C1, M1 no longer starts");
}

#[test]
fn parts_that_go_in_together_are_one_option() {
    let job = job(DOUGH_PROOFER);
    let found = diagnose(&job).unwrap();
    let typed = "M1 plate.microfarads=8 plate.amps=1.2 and C1 microfarads=8 volts=400";
    let asked = [typed.parse::<Substitution>().unwrap(), "C1 microfarads=8".parse().unwrap()];
    let options = options(&found, leader(&found), DOUGH_PROOFER, &asked).unwrap();
    let both: Vec<&RepairOption> = options.iter().filter(|option| matches!(option.work, Work::Substitute(_))).collect();
    assert_eq!(both.len(), 2);
    let fields: Vec<&str> = both[0].compared.iter().map(|compared| compared.field.as_str()).collect();
    assert!(fields.contains(&"M1 plate.amps") && fields.contains(&"C1 volts"), "{fields:?}");
    assert!(both[1].compared.iter().any(|compared| compared.field == "microfarads"));
    assert!("C1 volts=400 and C1 microfarads=8".parse::<Substitution>().unwrap_err().contains("twice"));
    assert!("C1 volts=400 and".parse::<Substitution>().is_err());
}

#[test]
fn another_kind_of_part_is_said_to_be_one() {
    let job = job(DOUGH_PROOFER);
    let found = diagnose(&job).unwrap();
    let put = |typed: &str| repair::substitute(&found, leader(&found), DOUGH_PROOFER, &typed.parse().unwrap());
    let kind = |typed: &str| {
        let option = put(typed).unwrap().unwrap();
        option.compared.iter().find(|compared| compared.field == "kind").map(|compared| compared.fits)
    };
    assert_eq!(kind("K1 kind=thermal-fuse"), Some(Fits::Doubtful));
    assert_eq!(kind("K1 opens_celsius=76"), None);
    match put("M1 kind=shaded-pole-motor plate.microfarads=") {
        Err(RepairError::Exchange { problem, .. }) => {
            assert!(problem.starts_with("its wires may not fit: M1 is a capacitor-run-motor"), "{problem}");
        }
        other => panic!("{:?}", other.map(|option| option.map(|option| option.words))),
    }
    match put("M1 rotation=reversed") {
        Err(RepairError::Exchange { problem, .. }) => {
            assert!(problem.contains("no field 'rotation'") && !problem.trim_end().ends_with(';'), "{problem}");
        }
        other => panic!("{:?}", other.map(|option| option.map(|option| option.words))),
    }
}
