//! Looks at what each setup amounts to before anybody relies on it.

use super::problem::Collector;
use crate::fault::{FaultSet, Place};
use crate::observe::{MOST_CORE_VOLTS, Observed, observe};
use crate::setup::Setup;
use crate::unit::Unit;
use crate::wiring::unknown_count;
use crate::words;
use std::ops::Range;

/// Less than any lamp takes, more than stray currents heat anything, watts.
const LEAST_WATTS: f64 = 1e-3;
/// Share of the supply's volts below which a part's plate belongs to another supply.
const OTHER_SUPPLY: f64 = 0.3;
/// Share of its watts that a part behind a diode keeps when the diode is open.
const NOT_BEHIND: f64 = 0.5;

/// What a live setup of the sound unit amounts to.
struct Live {
    breaker_opened: bool,
    residual_trip_opened: bool,
    /// Watts of each part.
    watts: Vec<f64>,
    /// Linear iron with too many volts.
    saturated: Vec<(usize, f64)>,
}

impl Live {
    fn of(unit: &Unit, observed: &Observed<'_>) -> Self {
        Live {
            breaker_opened: observed.breaker_opened(),
            residual_trip_opened: observed.residual_trip_opened(),
            watts: (0..unit.parts().len()).map(|part| observed.watts(part)).collect(),
            saturated: observed.saturated(),
        }
    }
}

/// A sound unit that opens its breaker in a setup is wired wrongly in the file, or must not be switched on like that;
/// one that takes nothing in any live setup has no path, nor has a part that does its work in none.
///
/// `places` says where the name of each setup stands, `part_places` that of each part.
pub(super) fn check_live_setups(
    problems: &mut Collector<'_>,
    unit: &Unit,
    setups: &[Setup],
    places: &[Range<usize>],
    part_places: &[Range<usize>],
) {
    let sound = FaultSet::none();
    let medians = vec![0.0; unknown_count(unit, &sound)];
    let mut live = Vec::new();
    let mut is_cut_off = false;
    let ways = if unit.live_terminals().count() > 1 {
        "between two live conductors, or one and neutral"
    } else {
        "between hot and neutral"
    };
    for (setup, place) in setups.iter().zip(places) {
        let name = &setup.name;
        if !setup.energised {
            if let Err(error) = observe(unit, setup, &sound, &medians, |_| ()) {
                problems.error(place.clone(), error.to_string());
            }
            continue;
        }
        match observe(unit, setup, &sound, &medians, |observed| Live::of(unit, observed)) {
            Ok(Live { breaker_opened: true, .. }) => {
                is_cut_off = true;
                let message = format!("in setup '{name}' the wiring is a dead short across the supply");
                problems.error(place.clone(), message).expected(format!("a load {ways}")).mend(format!(
                    "look for a wire to the wrong terminal, a jumper across the supply, or a wrong contact table{}",
                    made_for_other_volts(unit)
                ));
            }
            Ok(Live { residual_trip_opened: true, .. }) => {
                is_cut_off = true;
                let message = format!("in setup '{name}' the sound unit opens the earth-leakage trip");
                problems.warning(place.clone(), message).expected("less leakage than three quarters of its rating").mend(
                    "look for a wire from a live conductor or neutral to the frame, or correct residual_trip_milliamps",
                );
            }
            Ok(found) => {
                for &(part, times) in &found.saturated {
                    let quoted = format!("'{}'", unit.parts()[part].name);
                    let message = format!("in setup '{name}' {}", words::saturated(&quoted, times));
                    let problem = problems.warning(place.clone(), message);
                    problem
                        .expected(format!("at most {MOST_CORE_VOLTS} times"))
                        .mend("check how its windings are joined, its plate and the supply");
                }
                check_behind_diodes(problems, (unit, setup, place), &found);
                live.push((place, found.watts));
            }
            Err(error) => {
                is_cut_off = true;
                problems.error(place.clone(), error.to_string());
            }
        }
    }
    let Some((place, _)) = live.first() else { return };
    if live.iter().all(|(_, watts)| watts[unit.supply()] < LEAST_WATTS) {
        problems
            .warning(
                (*place).clone(),
                "in no live setup does the sound unit take any power: there is no path through it",
            )
            .expected(format!("a path {ways} in at least one"))
            .mend("look for a missing wire, or for a switch position that the setups leave out");
        return;
    }
    if is_cut_off {
        return;
    }
    for (part, place) in part_places.iter().enumerate().filter(|&(part, _)| does_work(unit, part)) {
        if live.iter().all(|(_, watts)| watts[part] < LEAST_WATTS) {
            let name = &unit.parts()[part].name;
            let message = format!("in no live setup does '{name}' take any power: there is no path through it");
            problems
                .warning(place.clone(), message)
                .expected(format!("a path {ways} in at least one"))
                .mend("look for a missing wire, or for a switch position that the setups leave out");
        }
    }
}

/// Whether a part takes power whenever the unit does its work. Relays, lamps and what starts a motor need not, sound.
fn does_work(unit: &Unit, part: usize) -> bool {
    let kind = &unit.parts()[part].kind;
    let is_wired = unit.wires().iter().any(|wire| [wire.from, wire.to].iter().any(|&end| unit.part_of(end) == part));
    let is_motor = kind.synchronous_rpm(unit.hertz()).is_some();
    is_wired && (is_motor || ["heater", "transformer", "solenoid-valve"].contains(&kind.name()))
}

/// A question about the parts whose plates have a fraction of the supply's volts; empty if there are none.
fn made_for_other_volts(unit: &Unit) -> String {
    let supply_volts = unit.parts()[unit.supply()].kind.supply().map_or(0.0, |supply| supply.volts);
    let is_other = |volts: &f64| *volts < OTHER_SUPPLY * supply_volts;
    let parts = unit.parts().iter().filter_map(|part| Some((&part.name, part.kind.plate_volts().filter(is_other)?)));
    let named: Vec<String> = parts.map(|(name, volts)| format!("'{name}', made for {volts} V")).collect();
    if named.is_empty() { String::new() } else { format!(", or whether {} is on the mains", named.join(" or ")) }
}

/// Direct current saturates iron, which no figure here knows of.
fn check_behind_diodes(
    problems: &mut Collector<'_>,
    (unit, setup, place): (&Unit, &Setup, &Range<usize>),
    found: &Live,
) {
    for &diode in &unit.solution_dependent().diodes {
        let is_open = |fault: &crate::fault::Fault| fault.place == Place::Part(diode) && fault.mode.name == "open";
        let Some(fault) = unit.faults().iter().position(is_open) else { continue };
        let open = FaultSet(vec![fault]);
        let medians = vec![0.0; unknown_count(unit, &open)];
        let Ok(without) = observe(unit, setup, &open, &medians, |observed| Live::of(unit, observed)) else { continue };
        let has_iron = |&part: &usize| unit.parts()[part].kind.core_volts().is_some();
        for part in (0..unit.parts().len()).filter(has_iron) {
            let watts = found.watts[part];
            if watts > LEAST_WATTS && without.watts[part] < NOT_BEHIND * watts {
                let name = |part: usize| &unit.parts()[part].name;
                let message = format!(
                    "in setup '{}' '{}' is behind the diode '{}': direct current saturates its iron, and its figures do not \
                     hold",
                    setup.name,
                    name(part),
                    name(diode)
                );
                let problem = problems.warning(place.clone(), message);
                problem.expected("a heater or a universal motor").mend("check the wiring; do not rely on its amps");
            }
        }
    }
}
