//! What is new after a repair, and known by its plate only.

use bench::{FaultSet, Place, Unit};

/// Values of the parts that a suspect's repair replaces. What a motor drives stays: it belongs to the machine.
pub fn renewed(unit: &Unit, faults: &FaultSet) -> Vec<usize> {
    let replaced = faults.0.iter().map(|&fault| &unit.faults()[fault]).filter(|fault| fault.is_mended_by_a_new_part());
    let mut parts: Vec<usize> = replaced.filter_map(|fault| part_at(fault.place)).collect();
    parts.dedup();
    own_values(unit, &parts)
}

/// Values of all parts that a suspect's repair is about, each of which may have been replaced.
pub fn perhaps_renewed(unit: &Unit, faults: &FaultSet) -> Vec<usize> {
    let parts: Vec<usize> = faults.0.iter().filter_map(|&fault| part_at(unit.faults()[fault].place)).collect();
    own_values(unit, &parts)
}

fn part_at(place: Place) -> Option<usize> {
    match place {
        Place::Part(part) => Some(part),
        Place::Wire(_) => None,
    }
}

fn own_values(unit: &Unit, parts: &[usize]) -> Vec<usize> {
    let is_driven = |part: usize, unknown: usize| {
        let of = |place: usize| unit.unknown_of(part, place) == unknown;
        unit.driven(part).is_some_and(|driven| of(driven.torque) || of(driven.inertia))
    };
    let is_own = |(index, unknown): (usize, &bench::Unknown)| {
        (parts.contains(&unknown.part) && !is_driven(unknown.part, index)).then_some(index)
    };
    unit.unknowns().iter().enumerate().filter_map(is_own).collect()
}
