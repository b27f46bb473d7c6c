//! Laws that every solved unit keeps, whatever is wrong with it: no current is lost in a part, no power anywhere.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/series.rs"]
mod series;
#[path = "common/stages.rs"]
mod stages;
#[path = "common/starting.rs"]
mod starting;

use bench::wiring::{Element, Owner, unknown_count};
use bench::{FaultSet, Job, Observed, Place, TerminalId, observe};
use circuit::Complex64;
use common::{Bench, CONTROL_BOX, ONE_FAN, POLISHER, RANGE, STEAM, THREE_PHASE_FAN, TWO_BLOWERS, WARM_AIR, job, part};
use proptest::prelude::*;

/// Stray currents to the frame are no part of any element; together they stay below this, amperes.
const STRAY_AMPS: f64 = 2e-4;

/// Watts that may be missing, as a share of what the supply delivers, plus one milliwatt.
const LOST_SHARE: f64 = 1e-6;

/// Current into a part through its terminals, less what it passes to the frame inside: nothing may be left.
fn missing_current(observed: &Observed<'_>, job: &Job, part: usize) -> Complex64 {
    let wired = observed.wired();
    let solution = observed.steady().unwrap().solution();
    let into = |part: usize| -> Complex64 {
        job.unit
            .terminals_of(part)
            .filter_map(|index| wired.terminal_current(TerminalId(index)))
            .map(|probe| probe.value(solution))
            .sum()
    };
    let leaves = |element: &&Element| {
        element.owner == Owner::Insulation(part)
            || element.owner == Owner::Place(Place::Part(part)) && element.label == "path to frame"
    };
    let to_frame: Complex64 =
        wired.elements.iter().filter(leaves).map(|element| solution.current(element.branch)).sum();
    into(part) - to_frame
}

/// Current into the frame through its wires and through every fault path.
fn missing_at_frame(observed: &Observed<'_>, job: &Job) -> Complex64 {
    let solution = observed.steady().unwrap().solution();
    let wire = observed.wired().terminal_current(job.unit.frame()).map(|probe| probe.value(solution));
    let leads = |element: &&Element| element.label == "path to frame" || matches!(element.owner, Owner::Insulation(_));
    let paths = observed.wired().elements.iter().filter(leads);
    wire.unwrap_or_default() + paths.map(|element| solution.current(element.branch)).sum::<Complex64>()
}

/// What leaks through insulation is heat there too, though no part's own.
fn insulation_watts(observed: &Observed<'_>) -> f64 {
    let leaks = observed.wired().elements.iter().filter(|element| matches!(element.owner, Owner::Insulation(_)));
    leaks.map(|element| observed.steady().unwrap().solution().power(element.branch).re).sum()
}

/// What the supply hands to the unit, and where it goes: heat in parts, heat in bad joints of wires, shaft power.
fn power_balance(observed: &Observed<'_>, job: &Job) -> (f64, f64) {
    let (unit, steady) = (&job.unit, observed.steady().unwrap());
    let others = || (0..unit.parts().len()).filter(|&part| part != unit.supply());
    let heat: f64 = others().map(|part| observed.heat(part)).sum();
    let shaft: f64 =
        others().filter_map(|part| observed.wired().machine_of(part)).map(|m| steady.converted_power(m)).sum();
    let flows = observed.element_flows();
    let wires: f64 = flows.iter().filter(|flow| matches!(flow.place, Place::Wire(_))).map(|flow| flow.watts).sum();
    (observed.watts(unit.supply()), heat + wires + shaft + insulation_watts(observed))
}

/// All laws at once.
fn check_laws(observed: &Observed<'_>, job: &Job) {
    let unit = &job.unit;
    for (part, entry) in unit.parts().iter().enumerate().filter(|(_, entry)| entry.kind.name() != "frame") {
        let missing = missing_current(observed, job, part).norm();
        assert!(missing < STRAY_AMPS, "{} A are lost in {}", missing, entry.name);
    }
    let missing = missing_at_frame(observed, job).norm();
    assert!(missing < STRAY_AMPS, "{missing} A are lost at the frame");

    let (delivered, spent) = power_balance(observed, job);
    let allowed = LOST_SHARE * delivered.abs() + 1e-3;
    assert!((delivered - spent).abs() < allowed, "{delivered} W delivered, {spent} W spent");
    // Tellegen: what every element takes, the sources' own delivery included, adds to nothing.
    let all: f64 = observed.element_flows().iter().map(|flow| flow.watts).sum::<f64>() + insulation_watts(observed);
    assert!(all.abs() < allowed, "{all} W come from nowhere");
    // A motor takes what it heats and what it turns into motion.
    for part in 0..unit.parts().len() {
        if let Some(machine) = observed.wired().machine_of(part) {
            let (taken, used) =
                (observed.watts(part), observed.heat(part) + observed.steady().unwrap().converted_power(machine));
            assert!((taken - used).abs() < allowed, "{} takes {taken} W and uses {used} W", unit.parts()[part].name);
        }
    }
}

#[test]
fn a_sound_unit_keeps_the_laws_and_does_something() {
    for (text, setup, least_watts) in [
        (TWO_BLOWERS, "low", 150.0),
        (WARM_AIR, "on", 800.0),
        (ONE_FAN, "on", 80.0),
        (CONTROL_BOX, "on", 50.0),
        (POLISHER, "high", 600.0),
        (RANGE, "on", 3000.0),
        (THREE_PHASE_FAN, "on", 400.0),
    ] {
        let job = job(text);
        Bench::sound(&job).look(setup, |observed| {
            check_laws(observed, &job);
            let (delivered, _) = power_balance(observed, &job);
            assert!(delivered > least_watts, "{delivered} W");
        });
    }
}

#[test]
fn shaft_power_is_a_good_part_of_what_a_running_motor_takes() {
    let job = job(ONE_FAN);
    let motor = part(&job.unit, "M1");
    Bench::sound(&job).look("on", |observed| {
        let machine = observed.wired().machine_of(motor).unwrap();
        let shaft = observed.steady().unwrap().converted_power(machine);
        assert!((0.3..0.9).contains(&(shaft / observed.watts(motor))), "{shaft} W of {} W", observed.watts(motor));
    });
    // A rotor at rest turns nothing into motion.
    Bench::with(&job, &["C1 open"]).look("on", |observed| {
        let machine = observed.wired().machine_of(motor).unwrap();
        assert_eq!(observed.steady().unwrap().converted_power(machine), 0.0);
        check_laws(observed, &job);
    });
}

#[test]
fn a_lifted_lead_carries_nothing() {
    let job = job(TWO_BLOWERS);
    Bench::with(&job, &["M2 common-open"]).look("high, tie cut", |observed| {
        let lifted = job.unit.find_terminal("M2.low").unwrap();
        assert!(observed.wired().terminal_current(lifted).is_none());
        check_laws(observed, &job);
    });
}

#[test]
fn every_single_fault_keeps_the_laws() {
    for (text, setup) in [
        (TWO_BLOWERS, "low"),
        (WARM_AIR, "on"),
        (ONE_FAN, "on"),
        (CONTROL_BOX, "on"),
        (STEAM, "on"),
        (POLISHER, "high"),
        (POLISHER, "low"),
        (POLISHER, "held"),
        (starting::GRINDER, "on"),
        (starting::TWO_CAPACITORS, "on"),
        (starting::COMPRESSOR, "on"),
        (starting::CURRENT_RELAY, "on"),
        (starting::PTC, "on"),
        (starting::DRUM, "backward"),
        (starting::CONTACTOR, "on"),
        (stages::STAGE, "calling"),
        (stages::WALL_FAN, "low"),
        (series::INRUSH, "on"),
        (series::DRYER, "low"),
        (series::DRYER, "held"),
        (RANGE, "on"),
        (THREE_PHASE_FAN, "on"),
        (THREE_PHASE_FAN, "pushed"),
    ] {
        let job = job(text);
        for fault in 0..job.unit.faults().len() {
            let faults = FaultSet(vec![fault]);
            let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
            let label = job.unit.faults()[fault].label();
            let bench = Bench { job: &job, faults, deviations };
            bench.look(setup, |observed| {
                let laws = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| check_laws(observed, &job)));
                assert!(laws.is_ok(), "with {label} in {setup}");
            });
        }
    }
}

#[test]
fn an_open_breaker_leaves_a_floating_terminal_solvable() {
    let job = job(&ONE_FAN.replace("breaker_amps = 15", "breaker_amps = 0.7"));
    // With the capacitor open inside and its wire off, its terminal hangs on nothing at all.
    Bench::with(&job, &["M1 main-to-frame", "C1 open", "C1.b~M1.start broken"]).sized(0.5).look("on", |observed| {
        assert!(observed.breaker_opened());
        check_laws(observed, &job);
        let (delivered, _) = power_balance(observed, &job);
        assert!(delivered.abs() < 1e-6, "{delivered} W through an open breaker");
    });
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn laws_hold_for_any_values_and_any_two_faults(
        which in 0..13usize,
        shares in prop::collection::vec(0.0..1.0f64, 2),
        seed in prop::collection::vec(-1.0..1.0f64, 60),
    ) {
        let (text, setup) = [
            (TWO_BLOWERS, "medium"),
            (WARM_AIR, "on"),
            (ONE_FAN, "pushed"),
            (CONTROL_BOX, "on"),
            (STEAM, "on"),
            (starting::TWO_CAPACITORS, "after a push"),
            (starting::COMPRESSOR, "on"),
            (starting::CURRENT_RELAY, "on"),
            (starting::DRUM, "forward"),
            (RANGE, "on"),
            (THREE_PHASE_FAN, "pushed"),
            (POLISHER, "high"),
            (POLISHER, "low"),
        ][which];
        let job = job(text);
        let mut wrong: Vec<usize> =
            shares.iter().map(|share| (share * job.unit.faults().len() as f64) as usize).collect();
        wrong.dedup();
        let faults = FaultSet(wrong);
        let deviations: Vec<f64> =
            (0..unknown_count(&job.unit, &faults)).map(|index| 0.5 * seed[index % seed.len()]).collect();
        observe(&job.unit, common::setup(&job, setup), &faults, &deviations, |observed| check_laws(observed, &job))
            .unwrap_or_else(|error| panic!("{:?}: {error}", faults.0.iter().map(|&f| job.unit.faults()[f].label()).collect::<Vec<_>>()));
    }
}
