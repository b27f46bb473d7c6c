//! The shipped demo jobs end to end. Their data are invented, so what is checked against is the trade's own experience
//! (common practice, no source): a paralleled twin with an open common is back-fed by the sound one, whose windings then
//! deliver; and the rule that no energised check goes without its cautions.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::exclusion::exclude_each_other;
use bench::{FaultSet, Job, Measure, Reading, Symptom, TerminalId, Value, Word, observe_values};
use common::{
    AIR_CURTAIN, BENCH_GRINDER, DEMOS, DOUGH_PROOFER, DRYING_CABINET, EXTRACTOR, HEAT_SEALER, POLISHER,
    TWO_LEG_CABINET, WORKSHOP_COMPRESSOR, faults, job, labels, probability_of,
};
use diagnosis::checks::{Action, Hazard, Shown};
use diagnosis::flows::consequences;
use diagnosis::repairs::UNKNOWN_REPAIR;
use diagnosis::setup_table::{Spread, setup_table};
use diagnosis::support::supports;
use diagnosis::suspects::SOUND_ODDS;
use diagnosis::{Check, CheckPlan, Diagnosis, diagnose, next_checks};
use std::sync::{LazyLock, OnceLock};

/// Keeps the readings and symptoms of live setups only.
fn live_only(mut job: Job) -> Job {
    let live: Vec<bool> = job.setups.iter().map(|setup| setup.energised).collect();
    job.readings.retain(|reading| live[reading.setup]);
    job.symptoms.retain(|symptom| live[symptom.setup]);
    job
}

fn without_readings(mut job: Job) -> Job {
    job.readings.clear();
    job.symptoms.clear();
    job.logs.clear();
    job
}

/// What has been read of a demo.
#[derive(Clone, Copy, PartialEq)]
enum Taken {
    /// What the demo has.
    Everything,
    /// What its live setups have.
    LiveOnly,
    Nothing,
}

/// A demo with its diagnosis and plan, each made once for all tests.
struct Worked {
    text: &'static str,
    taken: Taken,
    job: Job,
    diagnosis: OnceLock<Diagnosis<'static>>,
    plan: OnceLock<CheckPlan>,
}

static WORKED: LazyLock<Vec<Worked>> = LazyLock::new(|| {
    let stages = DEMOS.iter().flat_map(|&(_, text)| {
        [
            (text, Taken::Everything, job(text)),
            (text, Taken::LiveOnly, live_only(job(text))),
            (text, Taken::Nothing, without_readings(job(text))),
        ]
    });
    let worked = |(text, taken, job)| {
        let (diagnosis, plan) = (OnceLock::new(), OnceLock::new());
        Worked { text, taken, job, diagnosis, plan }
    };
    stages.map(worked).collect()
});

impl Worked {
    fn diagnosis(&'static self) -> &'static Diagnosis<'static> {
        self.diagnosis.get_or_init(|| diagnose(&self.job).unwrap())
    }

    fn plan(&'static self) -> &'static CheckPlan {
        self.plan.get_or_init(|| next_checks(self.diagnosis(), 40))
    }
}

fn diagnosed(text: &str, taken: Taken) -> (&'static Job, &'static Diagnosis<'static>) {
    let worked = WORKED.iter().find(|worked| worked.text == text && worked.taken == taken).unwrap();
    (&worked.job, worked.diagnosis())
}

/// The faults of the first suspect.
fn leading_label(diagnosis: &Diagnosis<'_>) -> String {
    labels(diagnosis.evidence.job, diagnosis.suspects[0].faults.as_ref().unwrap())
}

fn terminals(job: &Job, names: [&str; 2]) -> (TerminalId, TerminalId) {
    let [a, b] = names.map(|name| job.unit.find_terminal(name).unwrap_or_else(|| panic!("no terminal {name}")));
    (a, b)
}

fn all_finite(diagnosis: &Diagnosis<'_>) {
    for suspect in &diagnosis.suspects {
        assert!((0.0..=1.0).contains(&suspect.probability), "{suspect:?}");
        // Minus infinity is a suspect that is ruled out.
        assert!(suspect.log_evidence < f64::INFINITY, "{suspect:?}");
        assert!((0.0..1.0).contains(&suspect.hidden_share));
        if let Some(fit) = &suspect.fit {
            assert!(fit.deviations.iter().all(|deviation| deviation.is_finite()));
            assert!(fit.narrowing.directions().iter().all(|entry| entry.is_finite()));
            assert!(fit.outlook.predictions.iter().all(|prediction| !prediction.value.is_nan()));
        }
    }
    assert!(diagnosis.repairs.iter().all(|repair| (0.0..=1.0 + 1e-9).contains(&repair.probability)));
    assert!(diagnosis.reading_doubt.iter().all(|doubt| (0.0..=1.0).contains(doubt)), "{:?}", diagnosis.reading_doubt);
}

#[test]
fn the_air_curtain_has_an_open_common_in_its_second_motor() {
    let (job, diagnosis) = diagnosed(AIR_CURTAIN, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "M2 common-open");
    assert_eq!(diagnosis.repairs[0].repair, "replace the motor M2");
    // Some of the rest is the same motor and a further part, which these readings could not show.
    assert_eq!(diagnosis.needed[0].repair, "replace the motor M2");
    assert!(diagnosis.needed[0].probability > 0.97, "{}", diagnosis.needed[0].probability);
    assert!(probability_of(diagnosis, "M2 common-open") > 0.95);
    assert!(diagnosis.questionable_readings().is_empty());
    // The ohms across its own leads are what tells the motor from the wire to it.
    let strongest = supports(diagnosis)[0].reading;
    assert_eq!(job.readings[strongest].value, Value::Open);
}

#[test]
fn the_dough_proofer_has_an_open_capacitor() {
    let (_, diagnosis) = diagnosed(DOUGH_PROOFER, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "C1 open");
    assert!(diagnosis.repairs[0].repair.starts_with("replace the capacitor C1"), "{}", diagnosis.repairs[0].repair);
    // Its two leads cannot be told from it by any reading taken; they are rarer.
    assert_eq!(diagnosis.needed[0].repair, diagnosis.repairs[0].repair);
    assert!(diagnosis.needed[0].probability > 0.6, "{}", diagnosis.needed[0].probability);
    let path: f64 =
        ["C1 open", "start lead broken", "C1.b~M1.run broken"].map(|f| probability_of(diagnosis, f)).iter().sum();
    assert!(path > 0.9, "{path}");
}

#[test]
fn the_drying_cabinet_has_blown_its_thermal_fuse() {
    let (_, diagnosis) = diagnosed(DRYING_CABINET, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "F1 blown");
    assert!(diagnosis.repairs[0].repair.contains("replace the thermal fuse F1"), "{}", diagnosis.repairs[0].repair);
    // Some of the rest is the same fuse and a further part, which these readings could not show.
    assert!(diagnosis.needed[0].repair.contains("replace the thermal fuse F1"), "{}", diagnosis.needed[0].repair);
    assert!(diagnosis.needed[0].probability > 0.97, "{}", diagnosis.needed[0].probability);
    assert!(probability_of(diagnosis, "F1 blown") > 0.99);
}

#[test]
fn the_grinder_has_a_welded_centrifugal_switch() {
    let (_, diagnosis) = diagnosed(BENCH_GRINDER, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "M1 centrifugal-welded");
    assert!(diagnosis.repairs[0].repair.contains("centrifugal switch of M1"), "{}", diagnosis.repairs[0].repair);
    assert!(diagnosis.repairs[0].probability > 0.9, "{}", diagnosis.repairs[0].probability);
    // Without the current in the start lead the others still tell: nothing else leaves so much current at speed.
    assert!(probability_of(diagnosis, "M1 centrifugal-welded") > 0.97);
}

#[test]
fn the_workshop_compressor_has_an_open_relay_coil() {
    let (_, diagnosis) = diagnosed(WORKSHOP_COMPRESSOR, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "K1 coil-open");
    assert_eq!(diagnosis.repairs[0].repair, "replace the potential relay K1");
    assert!(diagnosis.repairs[0].probability > 0.85, "{}", diagnosis.repairs[0].probability);
}

#[test]
fn before_its_coil_is_measured_the_compressor_could_have_a_welded_relay_contact() {
    let (_, diagnosis) = diagnosed(WORKSHOP_COMPRESSOR, Taken::LiveOnly);
    let [coil, welded, lead] =
        ["K1 coil-open", "K1 welded", "relay coil lead broken"].map(|label| probability_of(diagnosis, label));
    assert!(coil > 0.2 && welded > 0.1 && coil + welded > 0.85, "{coil}, {welded}");
    // Volts stand at the relay's own terminals, so the lead to its coil is whole.
    assert!(lead < 0.02, "{lead}");
    // Either way the relay is to be replaced, alone or with something that the readings could not show.
    assert_eq!(diagnosis.repairs[0].repair, "replace the potential relay K1");
    assert!(diagnosis.needed[0].probability > 0.85, "{}", diagnosis.needed[0].probability);
}

#[test]
fn the_two_leg_cabinet_has_lost_a_leg_in_its_switch() {
    let (_, diagnosis) = diagnosed(TWO_LEG_CABINET, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "S1 1-2-stuck-open");
    assert!(diagnosis.repairs[0].probability > 0.85, "{}", diagnosis.repairs[0].probability);
    assert!(probability_of(diagnosis, "S1 1-2-stuck-open") > 0.95);
    assert!(diagnosis.questionable_readings().is_empty());
}

#[test]
fn the_extractor_has_blown_a_fuse_and_ohms_across_it_are_next() {
    let (job, diagnosis) = diagnosed(EXTRACTOR, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "F2 blown");
    // The wire behind the fuse cannot be told from it by any reading taken.
    let wire = probability_of(diagnosis, "F2.b~M1.v broken");
    assert!(diagnosis.repairs[0].probability > 0.8 && wire > 0.05, "{} {wire}", diagnosis.repairs[0].probability);
    assert!(diagnosis.questionable_readings().is_empty());
    let plan = next_checks(diagnosis, 5);
    let (a, b) = terminals(job, ["F2.a", "F2.b"]);
    assert_eq!(plan.checks[0].action, Action::Read(Measure::Ohms(a, b)));
    assert_eq!(plan.checks[0].hazard, Hazard::Isolated);
}

#[test]
fn the_polisher_has_an_open_armature_coil() {
    let (_, diagnosis) = diagnosed(POLISHER, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "M1 armature-coil-open");
    assert!(diagnosis.repairs[0].repair.starts_with("replace the armature of M1"), "{}", diagnosis.repairs[0].repair);
    assert!(diagnosis.repairs[0].probability > 0.85, "{}", diagnosis.repairs[0].probability);
    assert!(diagnosis.questionable_readings().is_empty());
    // Without the second position of the shaft, high ohms may as well be a brush or a joint.
    let mut one_position = common::job(POLISHER);
    let lowest = one_position.find_setup("lowest, shaft turned by hand").unwrap();
    let (a, b) = terminals(&one_position, ["M1.brush-1", "M1.brush-2"]);
    one_position.readings.retain(|reading| reading.setup != lowest || reading.measure != Measure::Ohms(a, b));
    let less = diagnose(&one_position).unwrap();
    assert!(probability_of(&less, "M1 armature-coil-open") < probability_of(diagnosis, "M1 armature-coil-open"));
}

#[test]
fn the_heat_sealer_has_an_open_section_in_its_transformer() {
    let (_, diagnosis) = diagnosed(HEAT_SEALER, Taken::Everything);
    assert_eq!(leading_label(diagnosis), "T1 high-medium-open");
    assert!(diagnosis.repairs[0].repair.contains("the transformer T1"), "{}", diagnosis.repairs[0].repair);
    assert!(diagnosis.needed[0].repair.contains("the transformer T1"), "{}", diagnosis.needed[0].repair);
    assert!(diagnosis.needed[0].probability > 0.85, "{}", diagnosis.needed[0].probability);
    assert!(probability_of(diagnosis, "T1 high-medium-open") > 0.95);
}

#[test]
fn words_about_a_universal_motor_point_where_they_should() {
    let with_word = |word: Option<Word>| {
        let mut job = without_readings(job(POLISHER));
        let (setup, part) = (job.find_setup("running").unwrap(), job.unit.find_part("M1").unwrap());
        job.symptoms.extend(word.map(|word| Symptom { setup, part, word, line: 0 }));
        job
    };
    let odds = |word: Option<Word>, label: &str| {
        let job = with_word(word);
        let diagnosis = diagnose(&job).unwrap();
        let sound = diagnosis.suspects.iter().find(|suspect| suspect.faults == Some(FaultSet::none())).unwrap();
        probability_of(&diagnosis, label) / sound.probability
    };
    for (word, label) in [
        (Word::Dead, "M1 brush-1-stuck"),
        (Word::Hums, "M1 seized"),
        (Word::Slow, "M1 armature-coil-open"),
        (Word::RunsHot, "M1 armature-coil-shorted"),
    ] {
        let (before, after) = (odds(None, label), odds(Some(word), label));
        assert!(after > 2.0 * before, "{word:?}: {label} from {before} to {after}");
    }
    // One that turns the wrong way does not run normally.
    let (before, after) =
        (odds(None, "M1 brush-leads-interchanged"), odds(Some(Word::Normal), "M1 brush-leads-interchanged"));
    assert!(after < 0.2 * before, "{before} to {after}");
}

#[test]
fn the_energised_readings_of_the_air_curtain_already_point_to_the_motor() {
    let (job, diagnosis) = diagnosed(AIR_CURTAIN, Taken::LiveOnly);
    assert!(job.readings.iter().all(|reading| !matches!(reading.measure, Measure::Ohms(..))));
    assert_eq!(leading_label(diagnosis), "M2 common-open");
    assert_eq!(diagnosis.repairs[0].repair, "replace the motor M2");
    // Whether the lead is open inside the motor or outside it, no live reading taken can tell.
    let wire = probability_of(diagnosis, "M2.common~cord.neutral broken");
    assert!(wire > 0.05 && wire < probability_of(diagnosis, "M2 common-open"), "{wire}");
    assert!(next_checks(diagnosis, 5).settled.is_none());
}

/// What a meter shows in a check with these faults at these values.
fn shown(job: &Job, check: &Check, faults: &FaultSet, deviations: &[f64]) -> Value {
    let Action::Read(measure) = check.action else { panic!("no reading: {:?}", check.action) };
    let meter = &job.meters[0];
    let look = |observed: &mut bench::Observed<'_>| observed.value(measure, meter).unwrap();
    let value = observe_values(&job.unit, &check.setup, faults, deviations, look).unwrap();
    if matches!(measure, Measure::Ohms(..)) && value > meter.ohms_limit { Value::Open } else { Value::Number(value) }
}

fn take(job: &mut Job, check: &Check, value: Value) {
    let Action::Read(measure) = check.action else { panic!("no reading: {:?}", check.action) };
    let setup = job.setups.iter().position(|own| *own == check.setup).unwrap_or_else(|| {
        job.setups.push(check.setup.clone());
        job.setups.len() - 1
    });
    job.readings.push(Reading { setup, measure, value, meter: 0, line: 0, round: Vec::new() });
}

#[test]
fn the_first_ohms_check_then_tells_the_motor_from_its_wire() {
    let mut job = live_only(job(AIR_CURTAIN));
    let (_, diagnosis) = diagnosed(AIR_CURTAIN, Taken::LiveOnly);
    let plan = next_checks(diagnosis, 8);
    let is_ohms = |check: &&Check| matches!(check.action, Action::Read(Measure::Ohms(..)));
    let check = plan.checks.iter().find(is_ohms).unwrap().clone();
    // It is also the first of all: nothing energised is proposed before it.
    assert_eq!(check, plan.checks[0]);
    assert_eq!(check.hazard, Hazard::Isolated);
    let repairs: Vec<&str> = check.outcomes.iter().map(|outcome| outcome.repair.0.as_str()).collect();
    assert!(repairs.contains(&"replace the motor M2"), "{repairs:?}");
    assert!(repairs.contains(&"mend the wire M2.common~cord.neutral and its terminations"), "{repairs:?}");
    let stories = ["M2 common-open", "M2.common~cord.neutral broken"].map(|label| {
        let set = faults(&job, &[label]);
        let suspect = diagnosis.suspects.iter().find(|suspect| suspect.faults.as_ref() == Some(&set)).unwrap();
        let value = shown(&job, &check, &set, &suspect.fit.as_ref().unwrap().deviations);
        (label, suspect.repair.clone(), value)
    });
    for (label, repair, value) in stories {
        take(&mut job, &check, value);
        let after = diagnose(&job).unwrap();
        assert_eq!(leading_label(&after), label, "after {value:?}");
        assert_eq!(after.repairs[0].repair, repair);
        // What is settled is the fault. Whether C2 has something as well the live readings left open, and this one must.
        assert!(probability_of(&after, label) >= 0.9, "{label} after {value:?}: {}", probability_of(&after, label));
        drop(after);
        job.readings.pop();
    }
}

#[test]
fn the_sound_motor_of_the_air_curtain_feeds_the_other_one_backwards() {
    let (job, diagnosis) = diagnosed(AIR_CURTAIN, Taken::Everything);
    let found = consequences(diagnosis, &diagnosis.suspects[0]).unwrap();
    let high = job.find_setup("high").unwrap();
    let (m1, m2) = (job.unit.find_part("M1").unwrap(), job.unit.find_part("M2").unwrap());
    let fed: Vec<_> = found.fed_backwards.iter().filter(|fed| fed.setup == high).collect();
    assert!(!fed.is_empty());
    for fed in fed {
        assert_eq!(fed.giver, m1, "{fed:?}");
        assert!(fed.giver_element.starts_with("section"), "{fed:?}");
        // An idle section of a sound motor takes next to nothing.
        assert!(fed.watts > 1.0 && fed.sound_watts.abs() < 0.5, "{fed:?}");
        let (taker, element) = fed.taker.as_ref().unwrap();
        assert_eq!((*taker, element), (m2, &fed.giver_element));
    }
    let hotter = found.runs_hotter.iter().find(|hotter| hotter.setup == high && hotter.part == m1).unwrap();
    assert!(hotter.heat > 1.25 * hotter.sound_heat, "{hotter:?}");
    assert!(found.cuts_off.is_empty());
}

#[test]
fn nothing_is_fed_backwards_in_a_sound_unit() {
    for (name, text) in DEMOS {
        let (_, diagnosis) = diagnosed(text, Taken::Nothing);
        let sound = diagnosis.suspects.iter().find(|suspect| suspect.faults == Some(FaultSet::none())).unwrap();
        let found = consequences(diagnosis, sound).unwrap();
        assert!(found.fed_backwards.is_empty() && found.runs_hotter.is_empty(), "{name}: {found:?}");
    }
}

/// A reading that no suspect can explain, added to a job.
fn with_impossible(mut job: Job, setup: &str, measure: Measure, value: f64) -> Job {
    let setup = job.find_setup(setup).unwrap();
    job.readings.push(Reading { setup, measure, value: Value::Number(value), meter: 0, line: 0, round: Vec::new() });
    job
}

#[test]
fn an_impossible_reading_is_named_and_changes_no_verdict() {
    let five_volts = |job: Job| {
        // The outlet side of the switch, where other readings found the whole voltage behind it.
        let (a, b) = terminals(&job, ["cord.hot", "cord.neutral"]);
        with_impossible(job, "calling", Measure::Volts(a, b), 5.0)
    };
    let thousand_amps = |job: Job| {
        let (a, _) = terminals(&job, ["cord.hot", "cord.neutral"]);
        with_impossible(job, "calling", Measure::AmpsAtTerminal(a), 1000.0)
    };
    for job in [five_volts(job(DRYING_CABINET)), thousand_amps(job(DRYING_CABINET))] {
        let diagnosis = diagnose(&job).unwrap();
        all_finite(&diagnosis);
        assert_eq!(leading_label(&diagnosis), "F1 blown");
        let named: Vec<usize> = diagnosis.questionable_readings().iter().map(|(reading, _)| *reading).collect();
        assert_eq!(named, [job.readings.len() - 1]);
    }
}

#[test]
fn readings_that_nothing_explains_raise_none_of_the_known_faults() {
    let unknown = |diagnosis: &Diagnosis<'_>| {
        let share = diagnosis.repairs.iter().find(|repair| repair.repair == UNKNOWN_REPAIR);
        share.map_or(0.0, |repair| repair.probability)
    };
    let (name, mut rising) = ("the drying cabinet", Vec::new());
    let mut job = without_readings(job(DRYING_CABINET));
    rising.push(unknown(&diagnose(&job).unwrap()));
    let (hot, fuse) = terminals(&job, ["cord.hot", "F1.a"]);
    let (heater, neutral) = terminals(&job, ["H1.a", "cord.neutral"]);
    for (setup, measure, value) in [
        ("calling", Measure::AmpsAtTerminal(hot), 1000.0),
        ("calling", Measure::Volts(fuse, neutral), 3000.0),
        // Neither what conducts, nor insulation, nor a lamp that is not lit.
        ("unplugged", Measure::Ohms(heater, fuse), 3e5),
    ] {
        job = with_impossible(job, setup, measure, value);
        let diagnosis = diagnose(&job).unwrap();
        all_finite(&diagnosis);
        assert!(diagnosis.reading_doubt.iter().all(|doubt| *doubt > 0.9), "{:?}", diagnosis.reading_doubt);
        rising.push(unknown(&diagnosis));
    }
    assert!(rising.windows(2).all(|pair| pair[1] > pair[0]), "{name}: {rising:?}");
    assert!(rising[0] < 0.02 && rising[1] > 0.1 && rising[3] > 0.95, "{name}: {rising:?}");
}

#[test]
fn wild_values_make_no_nonsense() {
    for (name, text) in DEMOS {
        for value in [0.0, 1e-12, 1e9, 1e300] {
            let mut job = job(text);
            for reading in &mut job.readings {
                reading.value = Value::Number(value);
            }
            let diagnosis = diagnose(&job).unwrap_or_else(|error| panic!("{name} at {value}: {error}"));
            all_finite(&diagnosis);
            let plan = next_checks(&diagnosis, 4);
            assert!(plan.entropy_bits.is_finite() && plan.checks.iter().all(|check| check.bits.is_finite()));
        }
    }
}

#[test]
fn no_reading_at_all_leaves_the_priors() {
    for (name, text) in DEMOS {
        let (job, diagnosis) = diagnosed(text, Taken::Nothing);
        let list = job.unit.faults();
        // A sound unit, every fault, every two that can be together, and 0.02 for what is in no list.
        let mut total = SOUND_ODDS + 0.02 + list.iter().map(|fault| fault.mode.odds).sum::<f64>();
        for (at, a) in list.iter().enumerate() {
            for b in list[at + 1..].iter().filter(|b| a.place != b.place || !exclude_each_other(&a.mode, &b.mode)) {
                total += a.mode.odds * b.mode.odds;
            }
        }
        for suspect in &diagnosis.suspects {
            let own = suspect.probability * (1.0 - suspect.hidden_share);
            let expected = match &suspect.faults {
                None => 0.02 / total,
                Some(set) if set.0.is_empty() => SOUND_ODDS / total,
                Some(set) => set.0.iter().map(|&fault| list[fault].mode.odds).product::<f64>() / total,
            };
            let place = suspect.faults.as_ref().map_or("unknown".into(), |set| labels(job, set));
            assert!((own - expected).abs() < 1e-9, "{name}, {place}: {own} instead of {expected}");
        }
        assert_eq!(diagnosis.suspects[0].faults, Some(FaultSet::none()));
        assert!(diagnosis.not_looked_at.estimate < 1e-12);
        // Without readings nothing can be explained better or worse: the bound is the prior's own share of sets that have
        // no line, which are those of three and more and of two that exclude each other.
        let odds: Vec<f64> = list.iter().map(|fault| fault.mode.odds).collect();
        let listed = total - 0.02 - SOUND_ODDS;
        let left = odds.iter().map(|odds| 1.0 + odds).product::<f64>() - 1.0 - listed;
        let bound = diagnosis.not_looked_at.at_most.unwrap();
        assert!((bound - left / (left + total)).abs() < 1e-9, "{name}: {bound}");
    }
}

/// Plans of every demo, with all readings, with the live ones only, and with none.
fn for_every_plan(mut look: impl FnMut(&Job, &Diagnosis<'_>, &CheckPlan)) {
    WORKED.iter().for_each(|worked| look(&worked.job, worked.diagnosis(), worked.plan()));
}

#[test]
fn every_check_carries_its_cautions() {
    let (mut isolated, mut energised, mut bridged) = (0, 0, 0);
    for_every_plan(|job, _, plan| {
        for check in &plan.checks {
            assert_eq!(check.hazard != Hazard::Isolated, check.setup.energised, "{}", check.setup.name);
            if check.setup.energised {
                energised += 1;
                assert!(check.cautions[0].starts_with("LIVE:"), "{:?}", check.cautions);
                assert!(check.cautions.iter().any(|caution| caution.contains("switch off before moving")));
            } else {
                isolated += 1;
                assert!(check.cautions[0].contains("prove dead"), "{:?}", check.cautions);
            }
            let cautioned = |words: &str| check.cautions.iter().any(|caution| caution.contains(words));
            let pushes = matches!(check.action, Action::Push(_));
            assert_eq!(check.hazard == Hazard::EnergisedMoving, pushes);
            assert!(!pushes || cautioned("insulated stick"));
            assert!(!matches!(check.action, Action::Wait(_)) || cautioned("Stay with the unit"));
            let stores = job.unit.parts().iter().any(|part| part.kind.stores_charge());
            assert!(check.setup.energised || !stores || cautioned("Discharge every capacitor"));
            let bridges = |&(a, b): &(TerminalId, TerminalId)| {
                let part = job.unit.part_of(a);
                part == job.unit.part_of(b) && job.unit.parts()[part].kind.is_protector()
            };
            if check.setup.energised && check.setup.jumpers.iter().any(bridges) {
                bridged += 1;
                assert!(cautioned("protector is bridged"), "{:?}", check.cautions);
            }
        }
    });
    assert!(isolated > 20 && energised > 3 && bridged > 0, "{isolated}, {energised}, {bridged} of them bridged");
}

#[test]
fn outcomes_of_a_check_add_up() {
    for_every_plan(|job, diagnosis, plan| {
        assert!(plan.entropy_bits >= 0.0);
        for check in &plan.checks {
            let place = format!("{} {:?} in {}", job.unit.name, check.action, check.setup.name);
            assert!(check.bits > 0.0 && check.bits <= plan.entropy_bits + 1e-9, "{place}: {} bits", check.bits);
            assert!(check.minutes > 0.0);
            let sum: f64 = check.outcomes.iter().map(|outcome| outcome.probability).sum();
            assert!((sum - 1.0).abs() < 1e-9, "{place}: outcomes sum to {sum}");
            for outcome in &check.outcomes {
                let left: f64 = outcome.leaves.iter().map(|(_, probability)| probability).sum();
                assert!(left <= 1.0 + 1e-9 && outcome.repair.1 <= 1.0 + 1e-9, "{place}: {left}");
                assert!(outcome.leaves.iter().all(|(index, _)| *index < diagnosis.suspects.len()));
                if let Shown::Number { middle, low, high } = outcome.shown {
                    assert!(low <= middle && middle <= high && high.is_finite(), "{place}: {low} {middle} {high}");
                }
            }
        }
    });
}

#[test]
fn an_isolated_check_goes_first_when_it_tells_nearly_as_much() {
    for_every_plan(|_, _, plan| {
        let Some(first) = plan.checks.first().filter(|check| check.hazard != Hazard::Isolated) else { return };
        for check in plan.checks.iter().filter(|check| check.hazard == Hazard::Isolated) {
            assert!(check.bits < 0.8 * first.bits, "{} bits isolated, {} energised", check.bits, first.bits);
        }
    });
}

#[test]
fn spreads_of_every_setup_are_finite() {
    for (name, text) in DEMOS {
        let job = job(text);
        let tried = (0..job.unit.faults().len()).step_by(7).map(|fault| FaultSet(vec![fault]));
        for set in std::iter::once(FaultSet::none()).chain(tried) {
            let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &set)];
            for (index, setup) in job.setups.iter().enumerate() {
                let place = format!("{name}, {}, {}", setup.name, labels(&job, &set));
                let table = setup_table(&job, index, &set, &medians).unwrap_or_else(|error| panic!("{place}: {error}"));
                let mut count = 0;
                let mut look = |spread: Spread| {
                    assert!(spread.spread.is_finite() && spread.spread >= 0.0, "{place}: {spread:?}");
                    assert!(spread.value.is_none_or(f64::is_finite), "{place}: {spread:?}");
                    count += 1;
                };
                for row in &table.terminals {
                    look(row.volts);
                    row.amps.into_iter().for_each(&mut look);
                }
                table.elements.iter().flat_map(|row| [row.volts, row.amps, row.watts]).for_each(&mut look);
                table.motors.iter().flat_map(|row| [row.rpm, row.torque]).for_each(&mut look);
                table.ohms.iter().for_each(|row| look(row.ohms));
                assert!(count > 5, "{place}: {count} values");
                assert_eq!(table.terminals.is_empty(), !setup.energised, "{place}");
            }
        }
    }
}
