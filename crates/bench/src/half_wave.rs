//! Diodes in series with a load, in a solution that knows sine waves only.
//!
//! In a network of resistances an ideal diode conducts through one half of every period and blocks through the other, so
//! that any volts or amps in it are half a wave of what they are with the diode as a conductor (`A`, r.m.s.) and half a wave
//! of what they are without it (`B`): their r.m.s. value is `sqrt((A^2 + B^2) / 2)`, and real power the mean of both. A
//! reactance `x` in place of the diode, as many ohms as the network behind its terminals has, makes of every quantity the
//! phasor `B + (A - B) (1 - j) / 2 = (A + B) / 2 - j (A - B) / 2`, whose size squared is `(A^2 + B^2) / 2` too, and products
//! of two of them come out as the mean as well: r.m.s. values and watts are exact everywhere in the network, not just at the
//! diode. The direct part of a quantity is `sqrt(2) (A - B) / pi`, which is `2 / pi` of the size of what the diode's current
//! adds to its phasor. `reference/half_wave.py` integrates such networks over time.
//!
//! With `Z = V_B / I_A`, the volts across the diodes when all block over the amps when all conduct, `x` is chosen so that
//! the amps become `1 / sqrt(2)` of those without a diode: `|Z + jx| = sqrt(2) |Z|`. At a rotor's speed a universal motor is
//! such an impedance; the speed at which torque and load agree is found together with it.
//!
//! # Assumes
//! Of loads that are not resistances: their current ends with the half-wave, where in truth it lasts somewhat longer (amps
//! 1 % low at a reactance of 0.35 of the resistance, 2.5 % at 0.5, 11 % at 1: `reference/half_wave.py`), and direct current
//! divides as alternating current does. Iron that direct current saturates is left out, so no transformer and no induction
//! motor belongs behind a diode, and none close to its rating beside one. Several diodes are exact if all conduct in the
//! same half, or feed loads of their own from a stiff supply; opposed on a supply of a tenth of a load's ohms they are up to
//! 12 % off in amps and 14 % in watts, and of current that opposed diodes share too much is taken for direct. Not across each
//! other, and not in series against each other.

use crate::fault::Place;
use crate::observe::Prediction;
use crate::search::Search;
use crate::settle::Layout;
use crate::wiring::{Conditions, Wired};
use circuit::{BranchId, Complex64, NetId, Probe, Quantity, SolveError, UnknownId};
use machine::Steady;
use nalgebra::DMatrix;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// What branches of diodes are called.
pub const DIODE_BRANCH: &str = "diode";
/// Of a meter for alternating current, the square of the direct part that it leaves out over what it takes in.
///
/// Nearly all handheld voltmeters and all plain clamps on their a.c. ranges are coupled so that they leave all of it out;
/// some show all (common practice, no source).
pub(crate) const DIRECT_SHARE_MEDIAN: f64 = 8.0;
/// Spread of its natural logarithm: two of it reach from a third to nearly all left out.
pub(crate) const DIRECT_SHARE_SPREAD: f64 = 1.4;

/// Amps below which a diode counts as not connected.
const NO_AMPS: f64 = 1e-9;
/// What a diode is in a solution.
#[derive(Debug, Clone, PartialEq)]
pub enum DiodeState {
    /// A conductor.
    Conducting,
    /// Open.
    Blocking,
    /// A reactance, ohms, with which r.m.s. values come out right.
    Half(Quantity),
}

/// States by part.
pub type DiodeStates = BTreeMap<usize, DiodeState>;

/// A reactance, with its derivatives by unknowns and by speed ratios where they were asked for.
struct Reactance {
    part: usize,
    ohms: f64,
    by_unknown: Vec<f64>,
    by_speed: Vec<f64>,
}

impl Layout<'_> {
    fn diode_parts(&self) -> impl Iterator<Item = usize> {
        self.unit.solution_dependent().diodes.iter().copied()
    }

    fn all(&self, state: &DiodeState) -> DiodeStates {
        self.diode_parts().map(|part| (part, state.clone())).collect()
    }

    /// Conditions with all diodes in one state.
    pub(crate) fn with_all(&self, conditions: &Conditions, state: &DiodeState) -> Conditions {
        Conditions { diodes: self.all(state), ..conditions.clone() }
    }

    /// States of all diodes at given speeds; rotors begin afresh if there are none.
    pub(crate) fn states_at(&self, conditions: &Conditions, speeds: &[f64]) -> Result<DiodeStates, SolveError> {
        let mut states = self.all(&DiodeState::Conducting);
        for (part, reactance) in self.reactances_at(conditions, speeds, false)? {
            let state =
                reactance.map_or(DiodeState::Blocking, |found| DiodeState::Half(Quantity::constant(found.ohms)));
            states.insert(part, state);
        }
        Ok(states)
    }

    /// Reactances of diodes at given speeds; none for those that no current reaches. Bridged ones are left out.
    fn reactances_at(
        &self,
        conditions: &Conditions,
        speeds: &[f64],
        derivatives: bool,
    ) -> Result<Vec<(usize, Option<Reactance>)>, SolveError> {
        let blocking = self.wire_up(&self.with_all(conditions, &DiodeState::Blocking));
        let conducting = self.wire_up(&self.with_all(conditions, &DiodeState::Conducting));
        let (without, with) = (blocking.assembly.factor()?, conducting.assembly.factor()?);
        let ratios = blocking.assembly.ratios_after(speeds);
        let without = blocking.assembly.at_ratios(&without, ratios.clone())?;
        let with = conducting.assembly.at_ratios(&with, ratios)?;
        let mut first_volts = None;
        let mut found = Vec::new();
        for part in self.diode_parts() {
            let Some((branch, from, to)) = diode_of(&blocking, part).filter(|(_, from, to)| from != to) else {
                continue;
            };
            let volts = without.solution().potential(from) - without.solution().potential(to);
            let amps = with.solution().current(branch);
            if amps.norm() < NO_AMPS || volts.norm() == 0.0 {
                found.push((part, None));
                continue;
            }
            // Diodes that conduct in the other half get the other sign.
            let along = *first_volts.get_or_insert(volts);
            let sign = if (volts * along.conj()).re < 0.0 { -1.0 } else { 1.0 };
            let impedance = volts / amps;
            let size = impedance.re.hypot(2f64.sqrt() * impedance.im);
            let ohms = sign * size - impedance.im;
            let (mut by_unknown, mut by_speed) = (Vec::new(), Vec::new());
            if derivatives {
                // d ohms = Re(weight dZ).
                let weight = Complex64::new(sign * impedance.re / size, 1.0 - sign * 2.0 * impedance.im / size);
                let by_volts = Probe::voltage(from, to).scaled(weight / amps);
                let by_amps = Probe::currents(vec![(branch, -weight * impedance / amps)]);
                let (one, other) = (without.gradient_at_speed(&by_volts)?, with.gradient_at_speed(&by_amps)?);
                by_unknown = one.0.iter().zip(&other.0).map(|(a, b)| a + b).collect();
                by_speed = one.1.iter().zip(&other.1).map(|(a, b)| a + b).collect();
            }
            found.push((part, Some(Reactance { part, ohms, by_unknown, by_speed })));
        }
        Ok(found)
    }

    /// The same states with the derivatives of their reactances by all unknowns, speeds following.
    ///
    /// With `x = x(u, r)` and speeds `r = r(u, x)`: `(I - x_r r_x) dx/du = x_u + x_r r_u`.
    pub(crate) fn with_slopes(&self, conditions: &Conditions, speeds: &[f64]) -> Result<DiodeStates, SolveError> {
        let found: Vec<Reactance> =
            self.reactances_at(conditions, speeds, true)?.into_iter().filter_map(|(_, reactance)| reactance).collect();
        let mut states = conditions.diodes.clone();
        let Some(unknowns) = found.first().map(|reactance| reactance.by_unknown.len()) else { return Ok(states) };
        // Each reactance as an unknown of its own tells how speeds follow it.
        for (index, reactance) in found.iter().enumerate() {
            let own = Quantity::log_unknown(1.0, UnknownId(unknowns + index), 0.0).map(reactance.ohms, 1.0);
            states.insert(reactance.part, DiodeState::Half(own));
        }
        let mut wired = self.wire_up(&Conditions { diodes: states.clone(), ..conditions.clone() });
        wired.assembly.unknown_count += found.len();
        let factored = wired.assembly.factor()?;
        let mut steady = wired.assembly.settle_from(&factored, wired.assembly.ratios_after(speeds), |_| Ok(false))?;
        let mut speed_gradients = Vec::new();
        for machine in 0..wired.assembly.machines.len() {
            speed_gradients.push(steady.speed_gradient(machine)?.to_vec());
        }
        let chain = |row: &Reactance, unknown: usize| -> f64 {
            row.by_speed.iter().zip(&speed_gradients).map(|(slope, speed)| slope * speed[unknown]).sum()
        };
        let count = found.len();
        let matrix = DMatrix::from_fn(count, count, |row, column| {
            f64::from(u8::from(row == column)) - chain(&found[row], unknowns + column)
        });
        let right = DMatrix::from_fn(count, unknowns, |row, unknown| {
            found[row].by_unknown[unknown] + chain(&found[row], unknown)
        });
        let slopes = matrix.lu().solve(&right).unwrap_or(right);
        for (row, reactance) in found.iter().enumerate() {
            let slopes = (0..unknowns).map(|unknown| (UnknownId(unknown), slopes[(row, unknown)]));
            states.insert(reactance.part, DiodeState::Half(Quantity::with_slopes(reactance.ohms, slopes)));
        }
        Ok(states)
    }

    /// How much of the square of direct current meters leave out, between 0 and 1; of the first diode, as there is one meter.
    pub(crate) fn direct_share(&self) -> Option<Quantity> {
        let part = self.diode_parts().next()?;
        let id = self.unit.parts()[part].first_unknown;
        let odds = Quantity::log_unknown(self.unit.unknowns()[id].median, UnknownId(id), self.deviations[id]);
        let value = odds.value();
        Some(odds.map(value / (1.0 + value), 1.0 / (1.0 + value).powi(2)))
    }
}

/// What to try next, as [`Search::next`].
pub(crate) fn next(search: &mut Search, tried: &DiodeStates, found: &DiodeStates) -> Option<DiodeStates> {
    let halves = |states: &DiodeStates| -> BTreeMap<usize, f64> {
        let ohms = |(&part, state): (&usize, &DiodeState)| match state {
            DiodeState::Half(ohms) => Some((part, ohms.value())),
            DiodeState::Conducting | DiodeState::Blocking => None,
        };
        states.iter().filter_map(ohms).collect()
    };
    let next = search.next(&halves(tried), &halves(found))?;
    let mut states = found.clone();
    states.extend(next.into_iter().map(|(part, ohms)| (part, DiodeState::Half(Quantity::constant(ohms)))));
    Some(states)
}

/// Branch and ends of a part's diode, unless it is open or shorted.
fn diode_of(wired: &Wired, part: usize) -> Option<(BranchId, NetId, NetId)> {
    let element = wired.elements_of(Place::Part(part)).find(|element| element.label == DIODE_BRANCH)?;
    let branch = &wired.assembly.network.branches()[element.branch.0];
    Some((element.branch, branch.from, branch.to))
}

/// The unit between its half-waves, beside the solution that stands for the whole period.
pub struct BetweenHalves<'a> {
    /// All diodes blocking, at the same speeds.
    pub(crate) blocking: Steady<'a>,
    /// See [`Layout::direct_share`].
    pub(crate) direct_share: Quantity,
}

impl BetweenHalves<'_> {
    /// What a meter makes of a phasor in the solution for the whole period, and with all diodes blocking.
    pub(crate) fn reading(&self, whole: Complex64, blocking: Complex64) -> HalfWaveReading {
        reading(whole, blocking, self.direct_share.value())
    }

    /// The reading with its derivatives, given those of both phasors with its weights.
    pub(crate) fn prediction(&self, reading: &HalfWaveReading, by_whole: Vec<f64>, by_blocking: &[f64]) -> Prediction {
        let mut gradient = by_whole;
        for (sum, slope) in gradient.iter_mut().zip(by_blocking) {
            *sum += slope;
        }
        for &(unknown, slope) in self.direct_share.slopes() {
            gradient[unknown.0] += reading.by_share * slope;
        }
        Prediction { value: reading.value, gradient }
    }
}

/// What a meter shows, and how that moves.
pub(crate) struct HalfWaveReading {
    pub(crate) value: f64,
    /// Weight of a change of the phasor in the solution for the whole period.
    pub(crate) by_whole: Complex64,
    /// Weight of a change of the phasor with all diodes blocking.
    pub(crate) by_blocking: Complex64,
    /// Derivative by the share of direct current left out.
    pub(crate) by_share: f64,
}

/// Reading of a meter that leaves a share of the direct part out: `sqrt(|y|^2 - share (2/pi)^2 |y - y_blocking|^2)`.
///
/// In a network of resistances `|y - y_blocking|^2` is at most twice `|y|^2` (`B = -A`); where inductance makes it more, as
/// much as that is taken.
fn reading(whole: Complex64, blocking: Complex64, share: f64) -> HalfWaveReading {
    let factor = 4.0 / (PI * PI);
    let direct = whole - blocking;
    if direct.norm_sqr() > 2.0 * whole.norm_sqr() {
        let kept = (1.0 - 2.0 * factor * share).sqrt();
        let value = whole.norm() * kept;
        let by_whole = Probe::magnitude_weights(whole) * kept;
        return HalfWaveReading {
            value,
            by_whole,
            by_blocking: Complex64::ZERO,
            by_share: -factor * whole.norm() / kept,
        };
    }
    let value = (whole.norm_sqr() - share * factor * direct.norm_sqr()).max(0.0).sqrt();
    if value == 0.0 {
        return HalfWaveReading { value, by_whole: Complex64::ZERO, by_blocking: Complex64::ZERO, by_share: 0.0 };
    }
    let pull = direct.conj() * (share * factor);
    HalfWaveReading {
        value,
        by_whole: (whole.conj() - pull) / value,
        by_blocking: pull / value,
        by_share: -0.5 * factor * direct.norm_sqr() / value,
    }
}
