//! A network with its machines, and the steady state that a switched-on unit settles into.
//!
//! All motors are brought up together, since one moves another's voltage. From rest (or from a push by hand) each
//! rotor follows its own net torque in a pseudo-time that starts as plain time steps and ends as Newton's method, so
//! the first stable crossing of torque and load is the one that is found, as on the bench. A rotor whose torque at
//! standstill does not exceed what holds it stays where it is.
//!
//! # Assumes
//! Rotors of similar inertia constants; no saliency or space harmonics, so no crawling points.

use crate::coil_group::Core;
use crate::conversion::{Conversion, FieldTerm};
use crate::load::Load;
use crate::steady::Steady;
use circuit::{BranchId, Factored, Network, SolveError};
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use smallvec::{SmallVec, smallvec};

/// Largest change of speed, as a share of synchronous speed, in one step; two crossings closer than this may be
/// taken for none.
const LARGEST_STEP: f64 = 0.08;
/// Speed a push by hand gives, as a share of synchronous speed (engineering judgement).
const PUSH_RATIO: f64 = 0.25;
/// Pseudo-time step from which on Newton's method is tried, the sixth: a rotor that has torque to start is on its way by then
/// (engineering judgement).
const NEWTON_FROM: f64 = 3.0;
/// Steps after which a search that has not settled is given up; ordinary starts take about sixteen.
const STEP_LIMIT: usize = 400;
/// Speeds closer than this share of synchronous speed are the same speed.
const SETTLED: f64 = 1e-12;

/// How a rotor begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// From rest, free to turn.
    Rest,
    /// Given a push by hand in the forward direction.
    Pushed,
    /// Held so that it cannot turn.
    Held,
    /// Kept at a given speed by something else, as a share of synchronous speed in millionths.
    ///
    /// Whole numbers, so that the start stays comparable; 950 000 is 5 % slip.
    Driven(i32),
}

/// One rotor and what it drives.
#[derive(Debug, Clone)]
pub struct Machine {
    /// What is inside it.
    pub conversion: Conversion,
    /// The branches of its coils.
    pub coils: Vec<BranchId>,
    /// Speed that ratios refer to, radians per second: synchronous speed, or the rated speed of a commutator motor.
    pub reference_speed: f64,
    /// What it drives.
    pub load: Load,
    /// How it begins.
    pub start: Start,
}

/// A network and the machines whose coils it contains.
#[derive(Debug, Clone)]
pub struct Assembly {
    /// The electrical network.
    pub network: Network,
    /// Its rotors.
    pub machines: Vec<Machine>,
    /// Its stationary cores.
    pub cores: Vec<Core>,
    /// Number of unknowns that values in this assembly may depend on.
    pub unknown_count: usize,
}

/// What a rotor does once settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motion {
    /// Turning at the crossing of torque and load.
    Running,
    /// At rest although free to turn.
    AtRest,
    /// At rest or at a set speed because something keeps it there.
    Kept,
}

/// Torque of every machine at given speeds, with derivatives by every speed.
pub(crate) struct Torques {
    /// Electrical torque, newton metres.
    torque: SmallVec<[f64; 2]>,
    /// `slopes[m][k]`: derivative of machine m's torque by machine k's speed ratio.
    slopes: SmallVec<[SmallVec<[f64; 2]>; 2]>,
}

impl Machine {
    fn first_ratio(&self) -> f64 {
        match self.start {
            Start::Rest | Start::Held => 0.0,
            Start::Pushed => PUSH_RATIO,
            Start::Driven(millionths) => f64::from(millionths) / 1e6,
        }
    }

    fn is_free(&self) -> bool {
        matches!(self.start, Start::Rest | Start::Pushed)
    }
}

impl Assembly {
    /// An assembly of a network without machines.
    pub fn without_machines(network: Network, unknown_count: usize) -> Self {
        Assembly { network, machines: Vec::new(), cores: Vec::new(), unknown_count }
    }

    /// Factorises the network; [`Assembly::settle`] needs the result.
    ///
    /// # Errors
    /// As [`Factored::new`].
    pub fn factor(&self) -> Result<Factored<'_>, SolveError> {
        Factored::new(&self.network)
    }

    /// Switches the unit on and lets every rotor find its speed.
    ///
    /// # Errors
    /// As [`Factored::drives`]. A search that did not settle is no error: see [`Steady::settled`].
    pub fn settle<'a>(&'a self, factored: &'a Factored<'a>) -> Result<Steady<'a>, SolveError> {
        self.settle_from(factored, self.first_ratios(), |_| Ok(false))
    }

    /// Speed ratios at which the rotors begin.
    pub fn first_ratios(&self) -> Vec<f64> {
        self.machines.iter().map(Machine::first_ratio).collect()
    }

    /// As [`Assembly::first_ratios`], but rotors that are free to turn go on from `before`, if it is of this assembly.
    pub fn ratios_after(&self, before: &[f64]) -> Vec<f64> {
        let mut ratios = self.first_ratios();
        if before.len() == ratios.len() {
            for ((ratio, machine), &before) in ratios.iter_mut().zip(&self.machines).zip(before) {
                if machine.is_free() {
                    *ratio = before;
                }
            }
        }
        ratios
    }

    /// As [`Assembly::settle`], from given speed ratios on, until `stop` says of the ratios on the way that it is enough.
    ///
    /// `stop` is asked ahead of every step, first of all at `ratios`. Where it stops the search, the result is not settled.
    ///
    /// # Errors
    /// As [`Factored::drives`], and what `stop` returns.
    pub fn settle_from<'a>(
        &'a self,
        factored: &'a Factored<'a>,
        mut ratios: Vec<f64>,
        stop: impl FnMut(&[f64]) -> Result<bool, SolveError>,
    ) -> Result<Steady<'a>, SolveError> {
        let (settled, steps) = self.run_up(factored, &mut ratios, stop)?;
        Ok(Steady { settled, steps, ..self.at_ratios(factored, ratios)? })
    }

    /// The assembly at given speed ratios, whether or not torque and load agree there.
    ///
    /// # Errors
    /// As [`Factored::drives`].
    pub fn at_ratios<'a>(
        &'a self,
        factored: &'a Factored<'a>,
        speed_ratios: Vec<f64>,
    ) -> Result<Steady<'a>, SolveError> {
        let solution = factored.solve(&self.field_impedances(&speed_ratios))?;
        let motions = self
            .machines
            .iter()
            .zip(&speed_ratios)
            .map(|(machine, &ratio)| match (machine.is_free(), ratio == 0.0) {
                (false, _) => Motion::Kept,
                (true, true) => Motion::AtRest,
                (true, false) => Motion::Running,
            })
            .collect();
        let speed_gradients = Vec::new();
        Ok(Steady { assembly: self, solution, speed_ratios, motions, settled: false, steps: 0, speed_gradients })
    }

    /// Moves the speed ratios to where torque and load agree; says whether they settled and in how many steps.
    fn run_up(
        &self,
        factored: &Factored<'_>,
        ratios: &mut [f64],
        mut stop: impl FnMut(&[f64]) -> Result<bool, SolveError>,
    ) -> Result<(bool, usize), SolveError> {
        if !self.machines.iter().any(Machine::is_free) {
            return Ok((!stop(ratios)?, 0));
        }
        let rest = vec![0.0; ratios.len()];
        let scale: Vec<f64> = self.locked_torque_scale(factored, &rest)?;
        let mut pseudo_time_step = 0.3;
        for step in 0..STEP_LIMIT {
            if stop(ratios)? {
                return Ok((false, step));
            }
            let torques = self.torques(factored, ratios)?;
            let mut moved: f64 = 0.0;
            let nets: SmallVec<[Option<f64>; 2]> =
                (0..ratios.len()).map(|m| self.net_torque(m, ratios[m], &torques)).collect();
            let newton = if step > 0 && pseudo_time_step > NEWTON_FROM {
                self.newton_step(ratios, &nets, &torques)
            } else {
                None
            };
            for m in 0..ratios.len() {
                let Some(net) = nets[m] else { continue };
                let by_speed = torques.slopes[m][m] - self.machines[m].load.torque_at(ratios[m]).1;
                let (pull, stiffness) = (net / scale[m], (by_speed / scale[m]).min(0.0));
                let own = pseudo_time_step * pull / (1.0 - pseudo_time_step * stiffness);
                let change = newton.as_ref().map_or(own, |changes| changes[m]).clamp(-LARGEST_STEP, LARGEST_STEP);
                let fastest = self.machines[m].conversion.fastest();
                let next = (ratios[m] + change).clamp(-fastest, fastest);
                // Friction and load hold a rotor that comes to a stop; whether it starts again is decided by its torque there.
                let next = if ratios[m] != 0.0 && next * ratios[m] < 0.0 { 0.0 } else { next };
                moved = moved.max((next - ratios[m]).abs());
                ratios[m] = next;
            }
            if moved < SETTLED {
                return Ok((true, step + 1));
            }
            pseudo_time_step *= 1.7;
        }
        Ok((false, STEP_LIMIT))
    }

    /// Newton change of all running speeds together, if it can be trusted.
    ///
    /// Newton's method is drawn to unstable crossings too, so it takes over only once every rotor that moves has left
    /// rest and come to where its own torque falls faster than its load, a short step from where it settles.
    fn newton_step(&self, ratios: &[f64], nets: &[Option<f64>], torques: &Torques) -> Option<Vec<f64>> {
        let running: Vec<usize> = (0..ratios.len()).filter(|&m| nets[m].is_some()).collect();
        let is_stable =
            |&m: &usize| ratios[m] != 0.0 && torques.slopes[m][m] < self.machines[m].load.torque_at(ratios[m]).1;
        if running.is_empty() || !running.iter().all(is_stable) {
            return None;
        }
        let stiffness = self.stiffness(&running, ratios, torques);
        let right = DVector::from_iterator(running.len(), running.iter().map(|&m| -nets[m].unwrap_or(0.0)));
        let solved = stiffness.lu().solve(&right)?;
        let mut changes = vec![0.0; ratios.len()];
        for (row, &m) in running.iter().enumerate() {
            changes[m] = solved[row];
        }
        changes.iter().all(|change| change.abs() <= LARGEST_STEP).then_some(changes)
    }

    /// Torque less load of a free machine; `None` if it is kept, or held at rest by its load.
    fn net_torque(&self, m: usize, ratio: f64, torques: &Torques) -> Option<f64> {
        let machine = &self.machines[m];
        if !machine.is_free() {
            return None;
        }
        let torque = torques.torque[m];
        if ratio == 0.0 {
            let holds = machine.load.torque_at_rest();
            // Rounding leaves about 1e-16 of the two opposing torques; a single winding must not creep away on it.
            let rounding = 1e-9 * torques.slopes[m][m].abs();
            return (torque.abs() > holds + rounding).then(|| torque - holds * torque.signum());
        }
        Some(torque - machine.load.torque_at(ratio).0)
    }

    pub(crate) fn stiffness(&self, running: &[usize], ratios: &[f64], torques: &Torques) -> DMatrix<f64> {
        DMatrix::from_fn(running.len(), running.len(), |row, column| {
            let (m, k) = (running[row], running[column]);
            let load = if m == k { self.machines[m].load.torque_at(ratios[m]).1 } else { 0.0 };
            torques.slopes[m][k] - load
        })
    }

    /// Torque at standstill: the natural size of each machine's torque, never zero.
    fn locked_torque_scale(&self, factored: &Factored<'_>, rest: &[f64]) -> Result<Vec<f64>, SolveError> {
        let drives = factored.drives(&self.field_impedances(rest))?;
        Ok(self
            .machines
            .iter()
            .map(|machine| {
                let locked = machine.conversion.standstill_watts(&drives.drives) / machine.reference_speed;
                locked.max(machine.load.torque_at_rest()).max(f64::MIN_POSITIVE)
            })
            .collect())
    }

    fn field_impedances(&self, ratios: &[f64]) -> SmallVec<[Complex64; 4]> {
        let fields: SmallVec<[_; 2]> =
            self.machines.iter().zip(ratios).map(|(machine, &ratio)| machine.conversion.fields(ratio)).collect();
        self.impedances_of(&fields)
    }

    /// Impedance of every field, those of the machines as given.
    fn impedances_of(&self, fields: &[SmallVec<[FieldTerm; 2]>]) -> SmallVec<[Complex64; 4]> {
        let mut impedances = smallvec![Complex64::ZERO; self.network.field_count()];
        for term in fields.iter().flatten() {
            impedances[term.field.0] = term.impedance;
        }
        for core in &self.cores {
            impedances[core.field.0] = Complex64::new(0.0, core.magnetising.value());
        }
        impedances
    }

    pub(crate) fn torques(&self, factored: &Factored<'_>, ratios: &[f64]) -> Result<Torques, SolveError> {
        let count = self.machines.len();
        let fields: SmallVec<[_; 2]> =
            self.machines.iter().zip(ratios).map(|(machine, &ratio)| machine.conversion.fields(ratio)).collect();
        let found = factored.drives(&self.impedances_of(&fields))?;
        let mut torques = Torques { torque: smallvec![0.0; count], slopes: smallvec![smallvec![0.0; count]; count] };
        for (m, machine) in self.machines.iter().enumerate() {
            let per_watt = 1.0 / machine.reference_speed;
            for term in machine.conversion.torque_terms_with(ratios[m], &fields[m]) {
                let (a, b) = (found.drives[term.a.0], found.drives[term.b.0]);
                torques.torque[m] += per_watt * term.weight * (a.conj() * b).re;
                torques.slopes[m][m] += per_watt * term.by_ratio * (a.conj() * b).re;
                for (k, others) in fields.iter().enumerate() {
                    for moved in others {
                        let change_a = found.slope(term.a, moved.field) * moved.by_ratio;
                        let change_b = found.slope(term.b, moved.field) * moved.by_ratio;
                        let change = (change_a.conj() * b + a.conj() * change_b).re;
                        torques.slopes[m][k] += per_watt * term.weight * change;
                    }
                }
            }
        }
        Ok(torques)
    }
}
