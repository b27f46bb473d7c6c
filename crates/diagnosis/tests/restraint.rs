//! What must not be claimed, and what must be said instead. Units and readings are invented; that each of these leads people
//! astray is common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::newly_fitted::Blame;
use bench::{FaultSet, Job};
use common::job;
use diagnosis::verdict::verdict;
use diagnosis::words::{unseen_lines, verdict_lines};
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

#[test]
fn print_all() {
    let ohms = "{ setup = \"cold\", ohms = 105, between = [\"M1.common\", \"M1.run\"] }";
    let hot = "{ setup = \"on\", part = \"M1\", word = \"smells-hot\" }";
    for (c, m, r, s) in [
        ("", "", ohms, hot),
        ("fitted = \"new\"", "", ohms, "{ setup = \"on\", part = \"M1\", word = \"hums\" }"),
        ("", "", ohms, "{ setup = \"on\", part = \"M1\", word = \"hums\" }"),
        (
            "fitted = \"new\"",
            "",
            "{ setup = \"on\", amps = 0.5, through = \"cord.hot\" }, { setup = \"on\", rpm = 1300, of = \"M1\" }",
            "{ setup = \"on\", part = \"M1\", word = \"normal\" }",
        ),
        (
            "",
            "fitted = \"new\"",
            "{ setup = \"on\", amps = 0.13, through = \"cord.hot\" }, { setup = \"on\", rpm = 600, of = \"M1\" }",
            "",
        ),
        (
            "",
            "fitted = \"new\"",
            "{ setup = \"on\", amps = 0.9, through = \"cord.hot\" }, { setup = \"on\", rpm = 900, of = \"M1\" }",
            "",
        ),
    ] {
        let job = fan(c, m, r, s);
        let found = diagnose(&job).unwrap();
        for s in found.suspects.iter().take(9) {
            println!("{:.4} {}", s.probability, diagnosis::words::suspect_words(&found, s));
        }
        println!("{}\n{}\n{:?}\n", lines(&found), unseen_lines(&found).join("\n"), verdict(&found).blame);
    }
    let _ = (Blame::Supply, share(&diagnose(&fan("", "", ohms, hot)).unwrap(), "M1 main-shorted-turns"));
}
