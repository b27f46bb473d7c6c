//! The positions in which a unit can be switched on.

use bench::{Job, Setup};

/// Of more combinations than this only those of the job's own setups are looked at.
const MOST: usize = 24;

/// Every combination of what a person can set by hand, the supply on, everything else in its ordinary position. Of units
/// with too many, the plain live setups of the job.
///
/// A shaft that is turned for ohms is none: a motor with its supply on turns by itself.
pub fn live_positions(job: &Job) -> Vec<Setup> {
    let unit = &job.unit;
    let hands: Vec<(usize, Vec<String>)> = unit
        .parts()
        .iter()
        .enumerate()
        .filter(|&(index, part)| part.kind.is_set_by_hand() && !unit.is_motor(index))
        .map(|(index, part)| (index, part.kind.positions()))
        .collect();
    let count = hands.iter().fold(1usize, |count, (_, positions)| count.saturating_mul(positions.len().max(1)));
    if count > MOST {
        let is_plain = |setup: &&Setup| {
            setup.energised
                && setup.lifted.is_empty()
                && setup.jumpers.is_empty()
                && setup.held.is_empty()
                && setup.pushed.is_empty()
        };
        return job.setups.iter().filter(is_plain).cloned().collect();
    }
    let mut found = vec![Setup { energised: true, ..Setup::unplugged("") }];
    for (part, positions) in &hands {
        found = found
            .iter()
            .flat_map(|setup| {
                positions.iter().map(|position| {
                    let mut with = setup.clone();
                    with.positions.insert(*part, position.clone());
                    with
                })
            })
            .collect();
    }
    for setup in &mut found {
        let words: Vec<String> =
            setup.positions.iter().map(|(&part, position)| format!("{} {position}", unit.parts()[part].name)).collect();
        setup.name = if words.is_empty() { "on".into() } else { words.join(", ") };
    }
    found
}
