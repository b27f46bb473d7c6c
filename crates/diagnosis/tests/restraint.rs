//! What must not be claimed, and what must be said instead. Units and readings are invented; that each of these leads people
//! astray is common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{FaultSet, Job, Measure, Meter, observe_values};
use common::job;
use diagnosis::blind_spots::{Seen, blind_spots};
use diagnosis::checks::Action;
use diagnosis::verdict::verdict;
use diagnosis::words::verdict_lines;
use diagnosis::{Diagnosis, diagnose, next_checks};

/// A fan with a run capacitor behind a cord; `more` of the capacitor and the motor, readings and words.
fn fan(of_capacitor: &str, of_motor: &str, readings: &str, symptoms: &str) -> Job {
    job(&format!(
        r#"
wires = [
  {{ from = "cord.hot", to = "S.line" }},
  {{ from = "S.on", to = "M1.run" }},
  {{ from = "M1.start", to = "C1.a", label = "start lead" }},
  {{ from = "C1.b", to = "M1.run" }},
  {{ from = "M1.common", to = "cord.neutral" }},
  {{ from = "cord.earth", to = "frame" }},
]
readings = [{readings}]
symptoms = [{symptoms}]
[unit]
name = "Wall fan"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.S]
kind = "switch"
positions.off = []
positions.on = [["line", "on"]]
[parts.M1]
kind = "capacitor-run-motor"
{of_motor}
plate = {{ volts = 230, hertz = 50, amps = 0.5, rpm = 1300, poles = 4, microfarads = 3 }}
[parts.C1]
kind = "run-capacitor"
microfarads = 3
{of_capacitor}
[setups.on]
supply = "on"
positions = {{ S = "on" }}
winding_celsius = 50
[setups.cold]
supply = "off"
lifted = ["C1.a"]
"#
    ))
}

fn lines(found: &Diagnosis<'_>) -> String {
    verdict_lines(found, &verdict(found), Some(&next_checks(found, 3))).join("\n")
}

/// Probability that a fault is there, with others or hidden or alone.
fn share(found: &Diagnosis<'_>, label: &str) -> f64 {
    let fault = found.evidence.job.unit.find_fault(label).unwrap_or_else(|| panic!("{label}"));
    let has = |set: &Option<FaultSet>| set.as_ref().is_some_and(|set| set.0.contains(&fault));
    let of = |suspect: &diagnosis::Suspect| {
        let hidden: f64 = suspect.hidden.iter().filter(|(of, _)| *of == fault).map(|(_, share)| share).sum();
        suspect.probability * if has(&suspect.faults) { 1.0 } else { hidden }
    };
    found.suspects.iter().map(of).sum()
}

/// What a sound unit shows from terminal to terminal, ohms.
fn sound_ohms(job: &Job, setup: &str, a: &str, b: &str) -> f64 {
    let measure = Measure::Ohms(job.unit.find_terminal(a).unwrap(), job.unit.find_terminal(b).unwrap());
    let none = FaultSet::none();
    let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &none)];
    let setup = &job.setups[job.find_setup(setup).unwrap()];
    observe_values(&job.unit, setup, &none, &medians, |seen| seen.value(measure, &Meter::handheld()).unwrap()).unwrap()
}

/// Both windings read as they should: that excludes open ones, and next to nothing of turns that are shorted.
#[test]
fn ohms_that_look_sane_do_not_clear_a_winding_of_shorted_turns() {
    let smells = "{ setup = \"on\", part = \"M1\", word = \"smells-hot\" }";
    let without = fan("", "", "", smells);
    let ohms = |b: &str| {
        let value = sound_ohms(&without, "cold", "M1.common", b);
        format!("{{ setup = \"cold\", ohms = {value:.1}, between = [\"M1.common\", \"{b}\"] }}")
    };
    let with = fan("", "", &format!("{}, {}", ohms("M1.run"), ohms("M1.start")), smells);
    let (before, after) = (diagnose(&without).unwrap(), diagnose(&with).unwrap());
    for label in ["M1 main-shorted-turns", "M1 auxiliary-shorted-turns"] {
        let (was, is) = (share(&before, label), share(&after, label));
        assert!(is > 0.5 * was && is > 0.01, "{label}: {was} before the ohms, {is} after");
        let fault = with.unit.find_fault(label).unwrap();
        let seen = blind_spots(&after).into_iter().find(|spot| spot.fault == fault).unwrap().seen;
        let is_small_unseen = match seen {
            Seen::Never => true,
            Seen::From(share) => share > 0.08,
            Seen::Always => false,
        };
        assert!(is_small_unseen, "{label} would have been seen: {seen:?}");
    }
    let open = "M1 auxiliary-open";
    assert!(share(&after, open) < 0.1 * share(&before, open), "{}", share(&after, open));
    let verdict = verdict(&after);
    assert!(verdict.settled.is_none() && verdict.left.len() > 1);
    assert!(lines(&after).starts_with("Not decided. Left are: "), "{}", lines(&after));
}

/// A new capacitor and the motor hums as before: the capacitor is less likely by what a new part seldom is, and nobody is
/// convicted by that: all others stand to each other as they stood.
#[test]
fn a_new_capacitor_that_did_not_cure_does_not_convict_the_winding() {
    let hums = "{ setup = \"on\", part = \"M1\", word = \"hums\" }";
    let (old, new) = (fan("", "", "", hums), fan("fitted = \"new\"", "", "", hums));
    let (before, after) = (diagnose(&old).unwrap(), diagnose(&new).unwrap());
    let log_weight = |found: &Diagnosis<'_>, label: &str| {
        let set = Some(FaultSet(vec![found.evidence.job.unit.find_fault(label).unwrap()]));
        let suspect = found.suspects.iter().find(|suspect| suspect.faults == set).unwrap();
        (suspect.probability * (1.0 - suspect.hidden_share)).ln()
    };
    let ratio = |label: &str, over: &str| {
        let of = |found: &Diagnosis<'_>| log_weight(found, label) - log_weight(found, over);
        (of(&after) - of(&before)).exp()
    };
    for winding in ["M1 auxiliary-open", "M1 auxiliary-shorted-turns", "M1 seized"] {
        let moved = ratio(winding, "start lead broken");
        assert!((moved - 1.0).abs() < 0.15, "{winding} against a wire: {moved} times");
    }
    // Draws have an error of their own.
    let fallen = ratio("C1 open", "start lead broken") / bench::newly_fitted::NEW_PART;
    assert!((fallen - 1.0).abs() < 0.15, "{fallen}");
    let (verdict, text) = (verdict(&after), lines(&after));
    assert!(verdict.settled.is_none() && verdict.needed.is_none());
    assert!(text.contains("C1 is new") && text.contains("convicts no other part"), "{text}");
    assert!(!lines(&before).contains("is new"));
}

/// An element behind an open neutral, volts to ground at both of its ends.
const WARMER: &str = r#"
wires = [
  { from = "cord.hot", to = "K1.a" },
  { from = "K1.b", to = "H1.a" },
  { from = "H1.b", to = "cord.neutral", label = "return" },
  { from = "cord.earth", to = "frame" },
]
readings = [READINGS]
symptoms = [{ setup = "on", part = "H1", word = "dead" }]
[unit]
name = "Plate warmer"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.K1]
kind = "thermal-cutout"
[parts.H1]
kind = "heater"
volts = 230
watts = 800
[setups.on]
supply = "on"
[setups.off]
supply = "off"
lifted = ["H1.a", "H1.b"]
"#;

#[test]
fn volts_to_ground_at_both_ends_neither_clear_nor_convict_an_element() {
    let before =
        job(&WARMER.replace("READINGS", "{ setup = \"on\", volts = 230, between = [\"H1.a\", \"cord.earth\"] }"));
    let both = "{ setup = \"on\", volts = 230, between = [\"H1.a\", \"cord.earth\"] }, \
                { setup = \"on\", volts = 229, between = [\"H1.b\", \"cord.earth\"] }";
    let after = job(&WARMER.replace("READINGS", both));
    let (before, after) = (diagnose(&before).unwrap(), diagnose(&after).unwrap());
    // What a voltmeter's microampere does not feel stays as likely among the units whose way back is open.
    for label in ["H1 bad-joint", "H1 wrong-rating"] {
        let odds = after.evidence.job.unit.faults()[after.evidence.job.unit.find_fault(label).unwrap()].mode.odds;
        let found = share(&after, label);
        assert!(found > 0.5 * odds && found < 2.0 * odds, "{label}: {found}, odds {odds} before any reading");
    }
    // Nor is it convicted: the way back is what is open, wherever that is.
    let replace = after.needed.iter().find(|share| share.repair == "replace the heater H1").unwrap();
    assert!(replace.probability < 0.05, "{}", replace.probability);
    assert!(share(&before, "H1 open") > 0.2 && share(&after, "H1 open") < 0.02);
    assert!(verdict(&after).settled.is_none());
    let explained = diagnosis::words::explanation_lines(&after).join("\n");
    assert_eq!(explained.matches("It neither clears nor convicts H1").count(), 2, "{explained}");
}

/// All taps open from the common lead, sections between them whole, motor cool.
#[test]
fn a_cool_motor_open_on_all_taps_has_one_open_in_common_and_not_several_burnt_windings() {
    let readings = "{ setup = \"cold\", ohms = \"open\", between = [\"M1.common\", \"M1.high\"] },\
                    { setup = \"cold\", ohms = \"open\", between = [\"M1.common\", \"M1.low\"] },\
                    { setup = \"cold\", ohms = \"open\", between = [\"M1.common\", \"M1.start\"] }";
    let text = WARMER
        .replace("{ from = \"K1.b\", to = \"H1.a\" }", "{ from = \"K1.b\", to = \"M1.high\" }, { from = \"M1.start\", to = \"C1.a\" }, { from = \"C1.b\", to = \"M1.high\" }")
        .replace("H1.b", "M1.common")
        .replace("\"H1\"", "\"M1\"")
        .replace("[parts.H1]\nkind = \"heater\"\nvolts = 230\nwatts = 800", "[parts.M1]\nkind = \"capacitor-run-motor\"\ntaps = [\"high\", \"low\"]\nplate = { volts = 230, hertz = 50, amps = 0.5, rpm = 1300, poles = 4, microfarads = 3 }\n[parts.C1]\nkind = \"run-capacitor\"\nmicrofarads = 3")
        .replace("[setups.off]\nsupply = \"off\"\nlifted = [\"H1.a\", \"M1.common\"]", "[setups.cold]\nsupply = \"off\"\nlifted = [\"M1.common\", \"M1.high\", \"M1.low\", \"M1.start\"]")
        .replace("READINGS", readings);
    let job = job(&text);
    let found = diagnose(&job).unwrap();
    let common = job.unit.find_fault("M1 common-open").unwrap();
    assert_eq!(found.suspects[0].faults, Some(FaultSet(vec![common])), "{}", lines(&found));
    assert!(share(&found, "M1 common-open") > 0.95);
    let windings = |fault: &usize| {
        let fault = &job.unit.faults()[*fault];
        fault.place_name == "M1"
            && ["main-open", "auxiliary-open", "high-open", "low-open"].contains(&fault.mode.name.as_str())
    };
    let several: f64 = found
        .suspects
        .iter()
        .filter(|suspect| {
            suspect.faults.as_ref().is_some_and(|set| set.0.iter().filter(|fault| windings(fault)).count() > 1)
        })
        .map(|suspect| suspect.probability)
        .sum();
    assert!(several < 1e-3, "{several}");
}

/// A compressor's three pins: common open to both others, these whole to each other. Cool, so that its overload inside
/// should be closed: the overload or the common lead, one shared open, and not two windings.
#[test]
fn a_cool_compressor_open_from_common_has_one_open_in_common() {
    let text = r#"
wires = [
  { from = "cord.hot", to = "R1.a" },
  { from = "cord.hot", to = "M1.run" },
  { from = "R1.b", to = "M1.start" },
  { from = "M1.common", to = "cord.neutral" },
  { from = "cord.earth", to = "frame" },
]
readings = [
  { setup = "cold", ohms = "open", between = ["M1.common", "M1.run"] },
  { setup = "cold", ohms = "open", between = ["M1.common", "M1.start"] },
]
[unit]
name = "Cold shelf"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.cord]
kind = "cord"
[parts.R1]
kind = "ptc-starter"
[parts.M1]
kind = "compressor"
plate = { volts = 230, hertz = 50, amps = 1.1, rpm = 2850, poles = 2 }
[setups.cold]
supply = "off"
lifted = ["M1.common", "M1.run", "M1.start"]
"#;
    let job = job(text);
    let found = diagnose(&job).unwrap();
    let shared = ["M1 common-open", "M1 overload-stuck-open"].map(|label| share(&found, label));
    assert!(shared.iter().sum::<f64>() > 0.95 && shared.iter().all(|share| *share > 0.05), "{shared:?}");
    assert!(share(&found, "M1 start-open") < 0.05);
}

/// A broken element is found; behind it no volt of the supply and no amp was ever read.
#[test]
fn a_second_fault_may_hide_behind_the_first_and_is_asked_for() {
    let open = "{ setup = \"off\", ohms = \"open\", between = [\"H1.a\", \"H1.b\"] }";
    let job = job(&WARMER.replace("READINGS", open));
    let found = diagnose(&job).unwrap();
    let verdict = verdict(&found);
    assert_eq!(diagnosis::words::suspect_words(&found, &found.suspects[0]), "H1 open");
    let hidden = |label: &str| {
        let fault = job.unit.find_fault(label).unwrap();
        verdict.hidden.iter().find(|(hidden, _)| *hidden == fault).map(|(_, probability)| *probability)
    };
    // A cutout that is open as well, one that is welded, and a cord without earth: nothing read so far could show them.
    for label in ["K1 stuck-open", "K1 welded", "cord earth-open"] {
        assert!(hidden(label).is_some_and(|probability| probability > 1e-3), "{label}: {:?}", hidden(label));
    }
    assert!(hidden("H1 open").is_none());
    let text = lines(&found);
    assert!(text.contains("A second fault may hide behind the first suspect"), "{text}");
    let plan = next_checks(&found, 20);
    let asks = plan.checks.iter().any(|check| match check.action {
        Action::Read(_) => check.outcomes.iter().any(|outcome| {
            let both = outcome.repair.0.contains("; ") && outcome.repair.0.contains("replace the heater H1");
            both && outcome.repair.1 > 0.5
        }),
        _ => false,
    });
    assert!(asks, "no check asks for a second fault");
}

/// The motor runs again with the new capacitor. The old one may have been bad, or a push-on terminal that was moved.
#[test]
fn a_cured_symptom_is_no_proven_repair() {
    let cured = "{ setup = \"on\", part = \"M1\", word = \"normal\" }";
    let amps = "{ setup = \"on\", amps = 0.5, through = \"cord.hot\" }, { setup = \"on\", rpm = 1300, of = \"M1\" }";
    let job = fan("fitted = \"new\"", "", amps, cured);
    let found = diagnose(&job).unwrap();
    let text = lines(&found);
    assert_eq!(found.suspects[0].faults, Some(FaultSet::none()));
    assert!(text.contains("That is no proof that the old one was bad"), "{text}");
    assert!(!text.contains("Finding is done: replace"), "{text}");
    // Nor does a verdict say that its repair is proved by the trouble's going away.
    let open = "{ setup = \"off\", ohms = \"open\", between = [\"H1.a\", \"H1.b\"] }";
    let amps = "{ setup = \"on\", amps = 0.0, through = \"cord.hot\" }";
    let volts = "{ setup = \"on\", volts = 229, between = [\"H1.a\", \"H1.b\"] }";
    let job = common::job(&WARMER.replace("READINGS", &format!("{open}, {amps}, {volts}")));
    let found = diagnose(&job).unwrap();
    let verdict = verdict(&found);
    let text = lines(&found);
    assert!(text.contains("is not yet proof"), "{text}");
    let proof = verdict.proof.unwrap();
    // 230 V, 800 W: 66.1 ohm, and 3.45 A with the ohms of cord and supply (Ohm's law).
    let expected = match found.evidence.taken[proof.reading].measure {
        Measure::Ohms(..) => 66.1,
        Measure::AmpsAtTerminal(_) => 3.45,
        other => panic!("{other:?} says nothing of the element"),
    };
    assert!((proof.repaired / expected - 1.0).abs() < 0.02, "{proof:?}");
}

/// The element is broken, which three readings say: what a mistake would cost is said beside it.
#[test]
fn a_settled_verdict_says_what_a_wrong_one_would_cost() {
    let readings = "{ setup = \"off\", ohms = \"open\", between = [\"H1.a\", \"H1.b\"] },\
                    { setup = \"on\", volts = 229, between = [\"H1.a\", \"H1.b\"] },\
                    { setup = \"on\", amps = 0.0, through = \"cord.hot\" }";
    let job = job(&WARMER.replace("READINGS", readings));
    let found = diagnose(&job).unwrap();
    let verdict = verdict(&found);
    assert!(verdict.settled.is_some(), "{}", lines(&found));
    let wrong = verdict.if_wrong.as_ref().unwrap();
    // Whoever does not need the heater replaced is whom it would be in vain for.
    let needed = found.needed.iter().find(|share| share.repair == "replace the heater H1").unwrap();
    assert!((wrong.in_vain - (1.0 - needed.probability)).abs() < 1e-9, "{} and {}", wrong.in_vain, needed.probability);
    let whole = found.repairs.iter().find(|share| share.repair == "replace the heater H1").unwrap();
    // Nothing would be left in a unit that was sound, nor where the heater is all.
    let sound = found.suspects.iter().find(|suspect| suspect.faults == Some(FaultSet::none())).unwrap();
    let sound = sound.probability * (1.0 - sound.hidden_share);
    assert!((wrong.misses + sound + whole.probability - 1.0).abs() < 1e-9, "{} {sound}", wrong.misses);
    assert!(wrong.minutes > 0.0);
    let fault = |label: &str| wrong.missed.iter().find(|missed| missed.fault == job.unit.find_fault(label).unwrap());
    for label in ["K1 welded", "cord earth-open"] {
        let missed = fault(label).unwrap();
        assert!(missed.danger.is_some() && missed.probability > 1e-3, "{label}: {missed:?}");
    }
    assert_eq!(fault("K1 stuck-open").map(|missed| missed.danger).unwrap_or_default(), None);
    let text = lines(&found);
    assert!(text.contains("If that is wrong") && text.contains("Dangerous if left: "), "{text}");
}
