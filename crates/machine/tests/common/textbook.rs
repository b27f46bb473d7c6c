//! Windings as loops with mutual impedances, solved by a dense matrix: the textbook way, sharing no code with the crate.
//!
//! Mutual impedance of two windings on one rotor: double revolving field theory, Morrill, "The revolving-field theory of
//! the capacitor motor", AIEE Trans. 48 (1929); cage impedances as in Fitzgerald, Kingsley and Umans, chapter 9.

use circuit::Complex64;
use nalgebra::{DMatrix, DVector};

/// A cage and its magnetising path, referred to one turn; ohms.
#[derive(Debug, Clone, Copy)]
pub struct Cage {
    pub resistance: f64,
    pub leakage: f64,
    pub magnetising: f64,
}

/// Where a loop couples to a rotor.
#[derive(Debug, Clone, Copy)]
pub struct Wound {
    pub rotor: usize,
    pub turns: f64,
    pub angle: f64,
}

/// A closed loop.
#[derive(Debug, Clone, Copy)]
pub struct Loop {
    /// The source in it; `None` for a winding closed on itself, which does not pass through the supply.
    pub volts: Option<Complex64>,
    /// All of the loop's impedance except what is shared and what the rotor reflects.
    pub impedance: Complex64,
    pub wound: Option<Wound>,
}

impl Cage {
    /// `(R2/s + jX2)` in parallel with `jXm`: the whole, not the half.
    pub fn reflected(&self, slip: f64) -> Complex64 {
        let cage = Complex64::new(self.resistance / slip, self.leakage);
        let iron = Complex64::new(0.0, self.magnetising);
        cage * iron / (cage + iron)
    }
}

/// Loop currents of windings on any number of rotors behind one shared impedance.
pub fn currents(loops: &[Loop], shared: Complex64, cages: &[Cage], slips: &[f64]) -> Vec<Complex64> {
    let matrix = DMatrix::from_fn(loops.len(), loops.len(), |row, column| {
        let own = if row == column { loops[row].impedance } else { Complex64::ZERO };
        let mutual = match (loops[row].wound, loops[column].wound) {
            (Some(a), Some(b)) if a.rotor == b.rotor => {
                let turn = Complex64::from_polar(1.0, a.angle - b.angle);
                let forward = 0.5 * cages[a.rotor].reflected(slips[a.rotor]);
                let backward = 0.5 * cages[a.rotor].reflected(2.0 - slips[a.rotor]);
                a.turns * b.turns * (forward * turn.conj() + backward * turn)
            }
            _ => Complex64::ZERO,
        };
        let through_supply = loops[row].volts.is_some() && loops[column].volts.is_some();
        own + mutual + if through_supply { shared } else { Complex64::ZERO }
    });
    let volts = DVector::from_iterator(loops.len(), loops.iter().map(|each| each.volts.unwrap_or_default()));
    matrix.lu().solve(&volts).unwrap().iter().copied().collect()
}

/// Torque on one rotor from the loop currents, newton metres.
pub fn torque(
    loops: &[Loop],
    currents: &[Complex64],
    rotor: usize,
    cage: &Cage,
    slip: f64,
    synchronous_speed: f64,
) -> f64 {
    let drive = |sense: f64| -> f64 {
        let terms = loops.iter().zip(currents).filter_map(|(each, current)| {
            let wound = each.wound.filter(|wound| wound.rotor == rotor)?;
            Some(current * Complex64::from_polar(wound.turns, sense * wound.angle))
        });
        terms.sum::<Complex64>().norm_sqr()
    };
    let gap_power = drive(1.0) * cage.reflected(slip).re - drive(-1.0) * cage.reflected(2.0 - slip).re;
    0.5 * gap_power / synchronous_speed
}

/// Where a function that is positive at `low` and negative at `high` changes sign.
pub fn crossing(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if function(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
