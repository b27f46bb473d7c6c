//! A wire more does not turn the drawing upside down.

#![allow(clippy::unwrap_used)]

mod wiring_common;

use bench::{Job, TerminalId, job};
use draw::wiring::{self, Layout};
use std::collections::BTreeMap;
use wiring_common::{DEMOS, assert_sound, demo};

/// The demo with one more wire.
fn with_wire(name: &str, from: &str, to: &str) -> Option<Job> {
    let text = std::fs::read_to_string(format!("../../demos/{name}.toml")).unwrap();
    let wire = format!("wires = [\n  {{ from = \"{from}\", to = \"{to}\", colour = \"pink\" }},");
    job::read(name, &text.replacen("wires = [", &wire, 1)).ok()
}

/// Parts of every column from the top, by the order of their terminals' names so that split parts are told apart.
fn columns(job: &Job, layout: &Layout) -> BTreeMap<usize, Vec<String>> {
    let mut bodies: Vec<_> = layout.bodies.iter().collect();
    bodies.sort_by_key(|body| (body.column, body.place));
    let mut columns: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for body in bodies {
        let first = body.terminals.iter().map(|placed| placed.terminal).min().unwrap();
        columns.entry(body.column).or_default().push(job.unit.terminal_name(first));
    }
    columns
}

/// Every two parts that share a column in both are in the same order in both.
fn same_order(before: &BTreeMap<usize, Vec<String>>, after: &BTreeMap<usize, Vec<String>>) -> bool {
    after.values().all(|column| {
        column.iter().enumerate().all(|(index, upper)| {
            column[index + 1..].iter().all(|lower| {
                before.values().all(|old| {
                    let place = |name: &String| old.iter().position(|other| other == name);
                    match (place(upper), place(lower)) {
                        (Some(upper), Some(lower)) => upper < lower,
                        _ => true,
                    }
                })
            })
        })
    })
}

/// Adds wires between terminals to one demo after the other. Order may be given up for fewer crossings, but rarely is.
#[test]
fn parts_keep_their_order_when_a_wire_is_added() {
    // Nearly every wire more in the extractor is a short between lines.
    for name in DEMOS.into_iter().filter(|name| *name != "extractor") {
        let old = demo(name);
        let before = wiring::layout(&old.unit);
        let names: Vec<String> =
            (0..old.unit.terminal_count()).map(|index| old.unit.terminal_name(TerminalId(index))).collect();
        let (mut tried, mut turned) = (0, 0);
        for (index, from) in names.iter().enumerate() {
            for to in names[index + 1..].iter().step_by(3) {
                let Some(job) = with_wire(name, from, to) else { continue };
                let after = wiring::layout_like(&job.unit, &before);
                assert_sound(&after, &format!("{name} with {from} to {to}"));
                tried += 1;
                if !same_order(&columns(&old, &before), &columns(&job, &after)) {
                    turned += 1;
                }
            }
        }
        eprintln!("{name}: {turned} of {tried} turned");
        assert!(tried > 50 && 10 * turned <= tried, "{name}: {turned} of {tried}");
    }
}

#[test]
fn a_layout_like_itself_is_itself() {
    for name in DEMOS {
        let unit = demo(name).unit;
        let before = wiring::layout(&unit);
        let again = wiring::layout_like(&unit, &before);
        let lines = |layout: &Layout| layout.routes.iter().map(|route| route.points.clone()).collect::<Vec<_>>();
        assert_eq!(again.crossings(), before.crossings(), "{name}");
        assert_eq!(lines(&again).len(), lines(&before).len());
        for (a, b) in again.bodies.iter().zip(&before.bodies) {
            assert_eq!((a.column, a.place), (b.column, b.place), "{name}");
        }
    }
}
