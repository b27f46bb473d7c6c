//! What is said of a contact that the unit itself moves is what the contact does, with each fault that it can have.
//!
//! Every unit is invented. What each fault does to its contact is common practice, no source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/series.rs"]
mod series;
#[path = "common/starting.rs"]
#[allow(dead_code)]
mod starting;

use bench::job::Job;
use bench::{Place, words};
use common::{Bench, job, part};

/// A unit with a part whose contact moves, and the fault that is put in everywhere so that it does.
struct Case {
    text: &'static str,
    setup: &'static str,
    part: &'static str,
    always: &'static [&'static str],
    /// Where current flows if the contact is closed.
    terminal: &'static str,
    /// Fault and what is said; those not named say the first, and `None` says nothing.
    said: &'static [(&'static str, Option<&'static str>)],
}

const CASES: &[Case] = &[
    Case {
        text: starting::GRINDER,
        // By hand, so that it runs without its start winding too.
        setup: "after a push",
        part: "M1",
        always: &[],
        terminal: "M1.start",
        said: &[
            ("", Some("the centrifugal switch has opened")),
            ("centrifugal-welded", Some("the centrifugal switch should have opened and stays closed")),
            ("centrifugal-stuck-open", Some("the centrifugal switch has been open from the start")),
        ],
    },
    Case {
        text: starting::COMPRESSOR,
        setup: "on",
        part: "K1",
        always: &[],
        terminal: "K1.capacitor",
        said: &[
            ("", Some("the relay has opened")),
            ("welded", Some("the contact of the relay should have opened and stays closed")),
            // It stands and hums: no volts have called on the relay.
            ("stuck-open", None),
            ("coil-open", None),
        ],
    },
    Case {
        text: starting::CURRENT_RELAY,
        setup: "on",
        part: "K1",
        always: &["M1 seized"],
        terminal: "K1.start",
        said: &[
            ("", Some("the relay has closed")),
            ("welded", Some("the contact of the relay has been closed from the start")),
            ("stuck-open", Some("the contact of the relay should have closed and stays open")),
            ("coil-open", None),
        ],
    },
    Case {
        text: starting::CONTACTOR,
        setup: "on",
        part: "K1",
        always: &[],
        terminal: "K1.out",
        said: &[
            ("", Some("the relay has pulled in")),
            ("in-out-welded", Some("the relay has pulled in, but contact in to out has been closed from the start")),
            (
                "in-out-stuck-open",
                Some("the relay has pulled in, but contact in to out should have closed and stays open"),
            ),
            (
                "in-rest-welded",
                Some("the relay has pulled in, but contact in to rest should have opened and stays closed"),
            ),
            (
                "in-rest-stuck-open",
                Some("the relay has pulled in, but contact in to rest has been open from the start"),
            ),
            ("does-not-pull-in", Some("the coil has its volts, but the relay does not pull in")),
            ("coil-open", None),
            ("coil-shorted-turns", None),
        ],
    },
    Case {
        text: starting::PTC,
        setup: "on",
        part: "R1",
        always: &[],
        terminal: "R1.a",
        said: &[
            ("", Some("the disc is hot and has cut the start winding off")),
            ("cracked-open", None),
            ("shorted", None),
        ],
    },
    Case {
        text: series::INRUSH,
        setup: "on",
        part: "N1",
        always: &[],
        terminal: "N1.a",
        said: &[("", Some("the disc is hot and lets the current pass")), ("cracked-open", None), ("shorted", None)],
    },
];

/// What is said of the part's contact, and the amps at a terminal.
fn said(job: &Job, case: &Case, faults: &[&str]) -> (Option<String>, f64) {
    let bench = Bench::with(job, faults);
    let of = part(&job.unit, case.part);
    let words = bench.look(case.setup, |observed| {
        let is_it = |placed: &&bench::switching::PlacedContact| {
            placed.id.0 == of && observed.conditions().moved_contacts.contains(&placed.id)
        };
        let moved = job.unit.own_contacts().iter().find(is_it);
        moved.map(|placed| words::moved_contact(&job.unit, placed, &bench.faults))
    });
    (words, bench.amps(case.setup, case.terminal))
}

#[test]
fn no_fault_of_a_contact_is_contradicted() {
    for case in CASES {
        let job = job(case.text);
        let of = part(&job.unit, case.part);
        let faults = job.unit.faults().iter().filter(|fault| fault.place == Place::Part(of));
        let names: Vec<&str> = faults.map(|fault| fault.mode.name.as_str()).collect();
        for (name, _) in &case.said[1..] {
            assert!(names.contains(name), "{} has no fault {name}: {names:?}", case.part);
        }
        // Of a motor, only what belongs to its contact; the other faults may keep it from turning.
        let of_contact = |name: &&str| {
            !case.text.contains(&format!("[parts.{}]\nkind = \"split", case.part)) || name.starts_with("centrifugal")
        };
        for name in std::iter::once("").chain(names.iter().copied().filter(of_contact)) {
            let mut put_in = case.always.to_vec();
            let label = format!("{} {name}", case.part);
            if !name.is_empty() {
                put_in.push(&label);
            }
            let (words, _) = said(&job, case, &put_in);
            let wanted = case.said.iter().find(|(known, _)| *known == name).unwrap_or(&case.said[0]).1;
            assert_eq!(words.as_deref(), wanted, "{put_in:?}");
        }
    }
}

#[test]
fn what_is_said_of_a_contact_is_where_its_current_goes() {
    for case in &CASES[..4] {
        let job = job(case.text);
        for (name, _) in case.said {
            let mut put_in = case.always.to_vec();
            let label = format!("{} {name}", case.part);
            if !name.is_empty() {
                put_in.push(&label);
            }
            // Of the contactor's two contacts the terminal belongs to one.
            let (Some(words), amps) = said(&job, case, &put_in) else { continue };
            if words.contains("rest") {
                continue;
            }
            let is_closed =
                !["has opened", "open from", "stays open", "not pull"].iter().any(|said| words.contains(said));
            assert_eq!(amps > 0.1, is_closed, "{put_in:?}: {words}, {amps} A");
        }
    }
}
