//! Units of every make, built at random: each is drawn without panic, legibly, the same every time.

#![allow(clippy::unwrap_used)]

mod wiring_common;

use bench::{FaultSet, Job, job};
use draw::wiring::{self, WiringView};
use proptest::prelude::*;
use wiring_common::{assert_legible, assert_sound, medians};

const PLATE: &str = "plate = { volts = 230, hertz = 50, amps = 0.62, rpm = 1310, poles = 4, microfarads = 3 }";

/// Kinds by number: what a job file says, and the terminals.
fn part(kind: usize, name: &str) -> (String, Vec<String>) {
    let (text, terminals): (String, &[&str]) = match kind % 10 {
        0 => ("kind = \"heater\"\nvolts = 230\nwatts = 500".into(), &["a", "b"]),
        1 => ("kind = \"thermostat\"\nopens_celsius = 60".into(), &["a", "b"]),
        2 => ("kind = \"run-capacitor\"\nmicrofarads = 3".into(), &["a", "b"]),
        3 => (
            format!("kind = \"capacitor-run-motor\"\ntaps = [\"high\", \"medium\", \"low\"]\n{PLATE}"),
            &["common", "high", "medium", "low", "start"],
        ),
        4 => (format!("kind = \"shaded-pole-motor\"\n{PLATE}"), &["common", "run"]),
        5 => ("kind = \"splice\"\nlegs = [\"a\", \"b\", \"c\", \"d\"]".into(), &["a", "b", "c", "d"]),
        6 => (
            "kind = \"switch\"\npositions.off = []\npositions.low = [[\"line\", \"low\"]]\n\
             positions.high = [[\"line\", \"high\"], [\"L2\", \"T2\"]]"
                .into(),
            &["line", "low", "high", "L2", "T2"],
        ),
        7 => ("kind = \"indicator-lamp\"\nvolts = 230".into(), &["a", "b"]),
        // Contacts in a ring: no rows of contacts can show it.
        8 => (
            "kind = \"switch\"\npositions.one = [[\"1\", \"2\"]]\npositions.two = [[\"2\", \"3\"]]\n\
             positions.three = [[\"1\", \"3\"], [\"2\", \"4\"]]"
                .into(),
            &["1", "2", "3", "4"],
        ),
        _ => ("kind = \"thermal-fuse\"\nopens_celsius = 90".into(), &["a", "b"]),
    };
    (format!("[parts.{name}]\n{text}\n"), terminals.iter().map(|terminal| format!("{name}.{terminal}")).collect())
}

/// A job of parts by kind and wires by the numbers of two terminals.
fn job_text(kinds: &[usize], wires: &[(usize, usize, usize)], with_cord: bool) -> String {
    let mut text = "[unit]\nname = \"Random unit with a rather long name that must be broken into lines\"\n\
                    [parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n"
        .to_owned();
    let feed = if with_cord { "cord" } else { "supply" };
    if with_cord {
        text += "[parts.cord]\nkind = \"cord\"\n";
    }
    let mut terminals: Vec<String> = ["hot", "neutral", "earth"].map(|end| format!("{feed}.{end}")).into();
    terminals.push("frame".into());
    for (index, &kind) in kinds.iter().enumerate() {
        let (entry, own) = part(kind, &format!("P{index}"));
        text += &entry;
        terminals.extend(own);
    }
    text += "[setups.on]\nsupply = \"on\"\n";
    let colours = ["brown", "green-yellow", "GY", "a colour nobody knows", "white"];
    let mut list = String::from("wires = [\n");
    for &(a, b, colour) in wires {
        let (a, b) = (&terminals[a % terminals.len()], &terminals[b % terminals.len()]);
        if a != b {
            list += &format!("{{ from = \"{a}\", to = \"{b}\", colour = \"{}\" }},\n", colours[colour % colours.len()]);
        }
    }
    format!("{list}]\n{text}")
}

fn draw_all(job: &Job) {
    let layout = wiring::layout(&job.unit);
    assert_sound(&layout, "random");
    let mut view = WiringView { interactive: true, ..WiringView::new(&job.unit) };
    assert_legible(&wiring::draw(&view), "plain");
    let mut setup = job.setups[0].clone();
    view.setup = Some(&setup);
    let none = FaultSet::none();
    if let Ok(flows) = wiring::flows(&job.unit, &setup, &none, &medians(&job.unit, &none)) {
        view.flows = Some(flows);
    }
    let drawing = wiring::draw(&view);
    assert_legible(&drawing, "currents");
    assert_eq!(drawing.standalone(), wiring::draw(&view).standalone());
    let terminal = |index: usize| bench::TerminalId(index % job.unit.terminal_count());
    setup.lifted = vec![terminal(7), terminal(11)];
    setup.jumpers = vec![(terminal(3), terminal(12)), (terminal(0), terminal(9))];
    let view = WiringView { setup: Some(&setup), ..WiringView::new(&job.unit) };
    assert_legible(&wiring::draw(&view), "setup");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_unit_is_drawn(
        kinds in prop::collection::vec(0_usize..10, 0..9),
        wires in prop::collection::vec((0_usize..60, 0_usize..60, 0_usize..5), 0..24),
        with_cord in any::<bool>(),
    ) {
        let text = job_text(&kinds, &wires, with_cord);
        // Some are refused, such as a wire given twice; those that are read must be drawn.
        if let Ok(job) = job::read("random", &text) {
            draw_all(&job);
        }
    }

    #[test]
    fn chains_side_by_side_do_not_cross(
        chains in prop::collection::vec(prop::collection::vec(prop::sample::select(vec![0_usize, 1, 7, 9]), 1..5), 1..5),
    ) {
        // Terminals: four of feed and frame, then two per part.
        // Each ends in a heater, so that none shorts the supply.
        let chains: Vec<Vec<usize>> = chains.into_iter().map(|mut chain| { chain.push(0); chain }).collect();
        let kinds: Vec<usize> = chains.concat();
        let mut wires = Vec::new();
        let mut next = 4;
        for chain in &chains {
            let mut last = 0;
            for _ in chain {
                wires.push((last, next, 0));
                last = next + 1;
                next += 2;
            }
            wires.push((last, 1, 4));
        }
        let job = job::read("chains", &job_text(&kinds, &wires, true)).unwrap();
        prop_assert_eq!(wiring::layout(&job.unit).crossings(), 0);
        draw_all(&job);
    }
}

/// A bank of lamps behind thermostats and fuses, as large as asked for.
fn bank(parts: usize) -> Job {
    let kinds: Vec<usize> = (0..parts).map(|index| [1, 9, 7][index % 3]).collect();
    let mut wires = Vec::new();
    for group in 0..parts / 3 {
        let first = 4 + 6 * group;
        wires.extend([(0, first, 0), (first + 1, first + 2, 2), (first + 3, first + 4, 2), (first + 5, 1, 4)]);
        if group > 0 {
            // Cross wires, so that there is something to search for.
            wires.push((first + 1, 4 + 6 * (group * 7 % (parts / 3)) + 2, 1));
        }
    }
    job::read("bank", &job_text(&kinds, &wires, true)).unwrap()
}

#[test]
fn sixty_parts_are_laid_out_in_a_moment_and_six_hundred_terminals_soon() {
    let job = bank(60);
    let start = std::time::Instant::now();
    let layout = wiring::layout(&job.unit);
    let seconds = start.elapsed().as_secs_f64();
    eprintln!("60 parts, {} wires: {seconds:.3} s, {} crossings", job.unit.wires().len(), layout.crossings());
    assert!(seconds < 10.0, "{seconds} s, on a slow machine and hardly optimised");
    let large = bank(294);
    assert!(large.unit.terminal_count() >= 590);
    let start = std::time::Instant::now();
    assert_legible(&wiring::draw(&WiringView::new(&large.unit)), "large");
    eprintln!("{} terminals: {:.3} s", large.unit.terminal_count(), start.elapsed().as_secs_f64());
}
