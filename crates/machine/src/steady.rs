//! A settled unit, and the exact derivatives of everything in it, speeds following.
//!
//! A running machine's speed moves with every unknown so that torque and load stay equal; with `r = torque - load`,
//! `d speed/d unknown = -(dr/dspeed)^-1 dr/dunknown` (implicit function theorem), all running machines together.

use crate::assembly::{Assembly, Motion};
use crate::conversion::add_slopes;
use circuit::{Probe, Solution, SolveError};
use nalgebra::DMatrix;
use num_complex::Complex64;

/// A settled unit: speeds, the electrical solution at those speeds, and derivatives of everything.
#[derive(Debug)]
pub struct Steady<'a> {
    pub(crate) assembly: &'a Assembly,
    pub(crate) solution: Solution<'a>,
    pub(crate) speed_ratios: Vec<f64>,
    pub(crate) motions: Vec<Motion>,
    pub(crate) settled: bool,
    pub(crate) steps: usize,
    /// Per machine `d(speed ratio)/d(unknown)`; empty until asked for.
    pub(crate) speed_gradients: Vec<Vec<f64>>,
}

impl<'a> Steady<'a> {
    /// The electrical solution.
    pub fn solution(&self) -> &Solution<'a> {
        &self.solution
    }

    /// Speed of a machine as a share of its reference speed: synchronous speed, or a commutator motor's rated speed.
    pub fn speed_ratio(&self, machine: usize) -> f64 {
        self.speed_ratios[machine]
    }

    /// What a machine does.
    pub fn motion(&self, machine: usize) -> Motion {
        self.motions[machine]
    }

    /// Speeds of all machines as shares of their synchronous speeds.
    pub fn speed_ratios(&self) -> &[f64] {
        &self.speed_ratios
    }

    /// Whether the speed search came to rest within its step limit.
    pub fn settled(&self) -> bool {
        self.settled
    }

    /// Steps the speed search took.
    pub fn steps(&self) -> usize {
        self.steps
    }

    /// Electrical torque of a machine in newton metres, before friction.
    pub fn torque(&self, machine: usize) -> f64 {
        let values = &self.assembly.machines[machine];
        let drive = |field| self.solution.drive(field);
        let terms = values.conversion.torque_terms(self.speed_ratios[machine]);
        let watts: f64 = terms.iter().map(|term| term.weight * (drive(term.a).conj() * drive(term.b)).re).sum();
        watts / values.reference_speed
    }

    /// Power crossing the air gap with the forward and with the backward field, watts; of a commutator motor, what the
    /// armature takes in against its speed voltage, and nothing.
    pub fn gap_powers(&self, machine: usize) -> (f64, f64) {
        let conversion = &self.assembly.machines[machine].conversion;
        conversion.gap_powers(self.speed_ratios[machine], |field| self.solution.drive(field))
    }

    /// Volts that the fields of a machine induce in one relative turn where they add, `|E_f| + |E_b|`: what saturates iron.
    pub fn gap_volts(&self, machine: usize) -> f64 {
        let fields = self.assembly.machines[machine].conversion.fields(self.speed_ratios[machine]);
        fields.iter().map(|term| self.solution.field(term.field).norm()).sum()
    }

    /// Derivatives of [`Steady::gap_volts`] by every unknown, speeds following.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn gap_volts_gradient(&mut self, machine: usize) -> Result<Vec<f64>, SolveError> {
        self.find_speed_gradients()?;
        let (conversion, ratio) = (&self.assembly.machines[machine].conversion, self.speed_ratios[machine]);
        let terms = conversion.fields(ratio);
        // d|E| = Re(w dE) with E = Z F.
        let weight = |field| Probe::magnitude_weights(self.solution.field(field));
        let probe = Probe::drives(terms.iter().map(|term| (term.field, weight(term.field) * term.impedance)).collect());
        let (mut gradient, mut by_speed) = self.gradient_at_speed(&probe)?;
        for (index, term) in terms.iter().enumerate() {
            let by_impedance = weight(term.field) * self.solution.drive(term.field);
            conversion.add_field_slopes(index, ratio, by_impedance, &mut gradient);
            by_speed[machine] += (by_impedance * term.by_ratio).re;
        }
        for (slope, speed_gradient) in by_speed.iter().zip(&self.speed_gradients) {
            for (total, by_unknown) in gradient.iter_mut().zip(speed_gradient) {
                *total += slope * by_unknown;
            }
        }
        Ok(gradient)
    }

    /// Heat in the cage of an induction motor, or in shorted armature coils of a commutator motor, watts.
    pub fn rotor_loss(&self, machine: usize) -> f64 {
        let conversion = &self.assembly.machines[machine].conversion;
        conversion.rotor_loss(self.speed_ratios[machine], |field| self.solution.drive(field))
    }

    /// Mechanical power converted, watts, before friction.
    pub fn converted_power(&self, machine: usize) -> f64 {
        self.torque(machine) * self.speed_ratios[machine] * self.assembly.machines[machine].reference_speed
    }

    /// Derivatives of the real part of a probe by every unknown, speeds following.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn gradient(&mut self, probe: &Probe) -> Result<Vec<f64>, SolveError> {
        self.find_speed_gradients()?;
        let (mut gradient, by_speed) = self.gradient_at_speed(probe)?;
        for (slope, speed_gradient) in by_speed.iter().zip(&self.speed_gradients) {
            for (total, by_unknown) in gradient.iter_mut().zip(speed_gradient) {
                *total += slope * by_unknown;
            }
        }
        Ok(gradient)
    }

    /// As [`Steady::gradient`], for a solution into which a meter was connected; speeds are those without the meter.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn gradient_of_loaded(
        &mut self,
        loaded: &Solution<'a>,
        probe: &Probe,
        adjoint_factor: Complex64,
    ) -> Result<Vec<f64>, SolveError> {
        self.find_speed_gradients()?;
        let adjoint = self.solution.adjoint(probe)?.scaled(adjoint_factor);
        let mut gradient = vec![0.0; self.assembly.unknown_count];
        loaded.add_gradient(probe, &adjoint, &mut gradient);
        let by_speed = self.field_terms(loaded, &adjoint, &mut gradient);
        for (slope, speed_gradient) in by_speed.iter().zip(&self.speed_gradients) {
            for (total, by_unknown) in gradient.iter_mut().zip(speed_gradient) {
                *total += slope * by_unknown;
            }
        }
        Ok(gradient)
    }

    /// Derivatives of a machine's speed ratio by every unknown; zero for a machine that does not run freely.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn speed_gradient(&mut self, machine: usize) -> Result<&[f64], SolveError> {
        self.find_speed_gradients()?;
        Ok(&self.speed_gradients[machine])
    }

    /// Derivatives of a machine's electrical torque by every unknown.
    ///
    /// A running machine's torque is its load; a machine at rest has the torque of its locked rotor.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn torque_gradient(&mut self, machine: usize) -> Result<Vec<f64>, SolveError> {
        self.find_speed_gradients()?;
        let (mut gradient, by_speed) = self.torque_gradient_at_speed(machine)?;
        for (slope, speed_gradient) in by_speed.iter().zip(&self.speed_gradients) {
            for (total, by_unknown) in gradient.iter_mut().zip(speed_gradient) {
                *total += slope * by_unknown;
            }
        }
        Ok(gradient)
    }

    /// Has speeds follow the unknowns as they do in another solution of the same machines at the same speeds, which stands
    /// for the one that turns them.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn follow_speeds_of(&mut self, other: &mut Steady<'_>) -> Result<(), SolveError> {
        other.find_speed_gradients()?;
        self.speed_gradients = other.speed_gradients.clone();
        Ok(())
    }

    /// Derivatives of the real part of a probe by every unknown at fixed speeds, and by each speed ratio.
    ///
    /// # Errors
    /// As [`circuit::Factored::drives`].
    pub fn gradient_at_speed(&self, probe: &Probe) -> Result<(Vec<f64>, Vec<f64>), SolveError> {
        let adjoint = self.solution.adjoint(probe)?;
        let mut gradient = vec![0.0; self.assembly.unknown_count];
        self.solution.add_gradient(probe, &adjoint, &mut gradient);
        let by_speed = self.field_terms(&self.solution, &adjoint, &mut gradient);
        Ok((gradient, by_speed))
    }

    /// Adds what field impedances contribute and returns the derivative by each speed ratio.
    fn field_terms(&self, solution: &Solution<'_>, adjoint: &circuit::Adjoint, gradient: &mut [f64]) -> Vec<f64> {
        for core in &self.assembly.cores {
            let slope = solution.field_impedance_slope(adjoint, core.field) * Complex64::I;
            add_slopes(gradient, &core.magnetising, slope.re);
        }
        let mut by_speed = vec![0.0; self.assembly.machines.len()];
        for (m, machine) in self.assembly.machines.iter().enumerate() {
            let ratio = self.speed_ratios[m];
            for (index, term) in machine.conversion.fields(ratio).iter().enumerate() {
                let slope = solution.field_impedance_slope(adjoint, term.field);
                machine.conversion.add_field_slopes(index, ratio, slope, gradient);
                by_speed[m] += (slope * term.by_ratio).re;
            }
        }
        by_speed
    }

    fn torque_gradient_at_speed(&self, m: usize) -> Result<(Vec<f64>, Vec<f64>), SolveError> {
        let machine = &self.assembly.machines[m];
        let ratio = self.speed_ratios[m];
        let per_watt = 1.0 / machine.reference_speed;
        let terms = machine.conversion.torque_terms(ratio);
        // d Re(conj(a) b) = Re(conj(b) da + conj(a) db)
        let weights = terms.iter().flat_map(|term| {
            let (a, b) = (self.solution.drive(term.a), self.solution.drive(term.b));
            let factor = term.weight * per_watt;
            [(term.a, b.conj() * factor), (term.b, a.conj() * factor)]
        });
        let (mut gradient, mut by_speed) = self.gradient_at_speed(&Probe::drives(weights.collect()))?;
        for (index, term) in terms.iter().enumerate() {
            let product = (self.solution.drive(term.a).conj() * self.solution.drive(term.b)).re * per_watt;
            machine.conversion.add_torque_slopes(index, ratio, product, &mut gradient);
            by_speed[m] += term.by_ratio * product;
        }
        Ok((gradient, by_speed))
    }

    /// Implicit function theorem on torque = load for the machines that run.
    fn find_speed_gradients(&mut self) -> Result<(), SolveError> {
        let machines = &self.assembly.machines;
        if self.speed_gradients.len() == machines.len() {
            return Ok(());
        }
        let unknowns = self.assembly.unknown_count;
        let mut gradients = vec![vec![0.0; unknowns]; machines.len()];
        let running: Vec<usize> = (0..machines.len()).filter(|&m| self.motions[m] == Motion::Running).collect();
        if !running.is_empty() {
            let torques = self.assembly.torques(self.solution.factored(), &self.speed_ratios)?;
            let stiffness = self.assembly.stiffness(&running, &self.speed_ratios, &torques).lu();
            let mut residuals = DMatrix::zeros(running.len(), unknowns);
            for (row, &m) in running.iter().enumerate() {
                let (mut residual, _) = self.torque_gradient_at_speed(m)?;
                let (load, ratio) = (&machines[m].load, self.speed_ratios[m]);
                let (by_torque, by_friction) = load.slopes_at(ratio);
                add_slopes(&mut residual, &load.torque, -by_torque);
                add_slopes(&mut residual, &load.friction_torque, -by_friction);
                for (column, value) in residual.into_iter().enumerate() {
                    residuals[(row, column)] = -value;
                }
            }
            if let Some(solved) = stiffness.solve(&residuals) {
                for (row, &m) in running.iter().enumerate() {
                    gradients[m] = solved.row(row).iter().copied().collect();
                }
            }
        }
        self.speed_gradients = gradients;
        Ok(())
    }
}
