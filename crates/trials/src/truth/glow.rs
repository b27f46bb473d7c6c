//! Lamps that glow: dark below what keeps them lit, then at that whatever passes, up to what their plate says.

use super::network::{Network, Solved};

/// Volts at which neon keeps alight (data sheets of miniature lamps, from memory: 55 to 65 V); that it takes a little more
/// to strike is left out.
const HELD_VOLTS: f64 = 60.0;
/// Ohms of one that is dark.
const DARK_OHMS: f64 = 1e12;
/// How far from the volts that keep it a lamp may be left.
const CLOSE_VOLTS: f64 = 1e-6;
const MOST_ROUNDS: usize = 30;

/// Solves a network whose lamps, given by their places and their ohms when lit, are left with the ohms that they come to.
pub(super) fn solve(network: &mut Network, lamps: &[(usize, f64)], ratios: &[f64], softened: &[f64]) -> Option<Solved> {
    for _ in 0..MOST_ROUNDS {
        let solved = network.solve(ratios, softened)?;
        let wants = |&&(lamp, lit): &&(usize, f64)| {
            let (ohms, off) = (network.passives[lamp].impedance.re, volts(network, &solved, lamp) - HELD_VOLTS);
            let is_right = off.abs() < CLOSE_VOLTS || (off > 0.0 && ohms <= lit) || (off < 0.0 && ohms >= DARK_OHMS);
            !is_right
        };
        let Some(&(lamp, lit)) = lamps.iter().find(wants) else { return Some(solved) };
        find_ohms(network, lamp, lit, ratios, softened)?;
    }
    network.solve(ratios, softened)
}

/// Gives one lamp the ohms at which it has the volts that keep it, the others staying as they are.
fn find_ohms(network: &mut Network, lamp: usize, lit: f64, ratios: &[f64], softened: &[f64]) -> Option<()> {
    let mut is_held_at = |ohms: f64| {
        network.passives[lamp].impedance = ohms.into();
        Some(volts(network, &network.solve(ratios, softened)?, lamp) >= HELD_VOLTS)
    };
    if is_held_at(lit)? || !is_held_at(DARK_OHMS)? {
        return Some(());
    }
    let (mut low, mut high) = (lit.ln(), DARK_OHMS.ln());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if is_held_at(middle.exp())? { high = middle } else { low = middle }
    }
    Some(())
}

fn volts(network: &Network, solved: &Solved, lamp: usize) -> f64 {
    let branch = &network.passives[lamp];
    (solved.potentials[branch.a] - solved.potentials[branch.b]).norm()
}
