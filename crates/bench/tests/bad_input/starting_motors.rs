//! Motors that start with a switch, and what starts them.

use super::*;

/// A unit with one more part, whose problem is wanted.
fn problem_of(part: &str) -> (String, String, String) {
    let text = format!(
        "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.X]\n{part}\n"
    );
    let problems = read("job.toml", &text).expect_err("a problem");
    let problem = &problems.0[0];
    (problem.message.clone(), problem.expected.clone().unwrap_or_default(), problem.mend.clone().unwrap_or_default())
}

#[test]
fn plates_of_starting_motors_that_cannot_be() {
    for kind in ["split-phase-motor", "compressor", "reversible-motor"] {
        let plate =
            |fields: &str| problem_of(&format!("kind = \"{kind}\"\nplate = {{ volts = 230, hertz = 50, {fields} }}"));
        let (message, expected, _) = plate("rpm = 1500, poles = 4");
        assert!(message.contains("not below the synchronous speed of 1500 rpm"), "{message}");
        assert_eq!(expected, "a full-load speed below synchronous speed");
        let (message, ..) = plate("amps = 2, watts = 500");
        assert_eq!(message, "500 W is more than 230 V times 2 A");
        let (message, ..) = plate("poles = 3");
        assert!(message.contains("an even number of poles"), "{message}");
        let (message, ..) = plate("amps = 0");
        assert!(message.contains('0'), "{message}");
        let (message, ..) =
            problem_of(&format!("kind = \"{kind}\"\nload = \"lift\"\nplate = {{ volts = 230, hertz = 50 }}"));
        assert!(message.contains("lift"), "{message}");
    }
    let (message, ..) =
        problem_of("kind = \"reversible-motor\"\nplate = { volts = 230, hertz = 50, amps = 0.5, microfarads = 90 }");
    assert!(message.contains("no motor of ordinary proportions"), "{message}");
}

#[test]
fn extreme_plates_of_starting_motors_make_a_motor_or_a_problem_and_never_nonsense() {
    for kind in ["split-phase-motor", "compressor"] {
        for fields in [
            "amps = 1e-6",
            "amps = 1e6",
            "amps = 2, microfarads = 1e9",
            "amps = 2, run_microfarads = 1e9",
            "amps = 2, run_microfarads = 1e-9",
            "amps = 2, main_ohms = 1e9",
            "amps = 2, main_ohms = 1e-9, start_ohms = 1e9",
            "amps = 2, rpm = 1e-3, poles = 2",
            "amps = 2, rpm = 2999.999, poles = 2",
            "watts = 1e-9",
        ] {
            let text = format!(
                "wires = [ {{ from = \"supply.hot\", to = \"X.run\" }}, {{ from = \"supply.hot\", to = \"X.start\" }}, \
                 {{ from = \"supply.neutral\", to = \"X.common\" }} ]\n\
                 [unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
                 [parts.X]\nkind = \"{kind}\"\nplate = {{ volts = 230, hertz = 50, {fields} }}\n\
                 [setups.on]\nsupply = \"on\"\n"
            );
            let Ok(job) = read("job.toml", &text) else { continue };
            let deviations = vec![0.0; bench::wiring::unknown_count(&job.unit, &bench::FaultSet::none())];
            let watts = bench::observe(&job.unit, &job.setups[0], &bench::FaultSet::none(), &deviations, |observed| {
                observed.watts(job.unit.supply())
            });
            assert!(watts.is_ok_and(f64::is_finite), "{kind} {fields}");
        }
    }
}

#[test]
fn relays_that_cannot_be() {
    let (message, expected, mend) = problem_of("kind = \"potential-relay\"\npickup_volts = 200\ndropout_volts = 200");
    assert_eq!(message, "drop-out at 200 V is not below pick-up at 200 V");
    assert!(expected.contains("fewer volts") && mend.contains("leave dropout_volts out"), "{expected} / {mend}");
    let (message, ..) = problem_of("kind = \"current-relay\"\npickup_amps = 5\ndropout_amps = 6");
    assert_eq!(message, "drop-out at 6 A is not below pick-up at 5 A");
    let (message, expected, _) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.on = [[\"a\", \"b\"]]");
    assert_eq!((message.as_str(), expected.as_str()), ("contacts of a relay that is 'on'", "released or pulled-in"));
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.released = []");
    assert_eq!(message, "a relay without contacts");
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.pulled-in = [[\"a\", \"a\"]]");
    assert!(message.contains("from a to itself"), "{message}");
    let (message, ..) = problem_of("kind = \"relay\"\nvolts = 24\ncontacts.pulled-in = [[\"coil-a\", \"b\"]]");
    assert!(message.contains("two terminals named 'coil-a'"), "{message}");
    let (message, expected, mend) =
        problem_of("kind = \"sequencer\"\nvolts = 24\ncloses_after_seconds = 60\nopens_after_seconds = 5");
    assert_eq!(message, "it opens 5 s after switching off and closes after 60 s");
    assert!(expected.contains("0.3 times as long") && mend.contains("exchange the two"), "{expected} / {mend}");
    for part in [
        "kind = \"sequencer\"",
        "kind = \"sequencer\"\nvolts = 24\ncloses_after_seconds = 0",
        "kind = \"ptc-starter\"\nohms = -3",
        "kind = \"inrush-limiter\"\nohms = 0",
        "kind = \"half-wave-diode\"\namps = -1",
        "kind = \"start-capacitor\"",
        "kind = \"potential-relay\"",
    ] {
        problem_of(part);
    }
}
