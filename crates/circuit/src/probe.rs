//! Questions put to a solution, and their exact derivatives.
//!
//! A probe is a linear form `c` on potentials and branch currents. With `A` the full matrix of the solved system
//! and `A^T l = c`, every derivative of `c^T x` is an inner product of `l` with the derivative of the equations:
//!
//! ```text
//! d(c^T x)/dZ_k = l_k I_k     d/dsource_k = -l_k e^{j angle_k}     d/dZ_f = -l_f E_f / Z_f^2
//! link turns n at angle a:  d/dn = l_k e^{-ja} E_f - l_f e^{+ja} I_k
//! ```
//!
//! One solve with the kept factors serves all unknowns at once. Source: the adjoint-network method, Director and
//! Rohrer, "The generalized adjoint network and network sensitivities", IEEE Trans. Circuit Theory 16 (1969).

use crate::SolveError;
use crate::network::{BranchId, FieldId, NetId};
use crate::phasor::{Solution, add_scaled, dot};
use crate::quantity::UnknownId;
use num_complex::Complex64;

/// A linear form on potentials, branch currents and field drives.
///
/// For real results (magnitudes, power, torque) use the complex weights for which the *real part* of the form is
/// the differential; see [`Probe::magnitude_weights`].
#[derive(Debug, Clone, Default)]
pub struct Probe {
    nets: Vec<(NetId, Complex64)>,
    branches: Vec<(BranchId, Complex64)>,
    drives: Vec<(FieldId, Complex64)>,
}

/// The adjoint solution of a probe: the influence of every equation on its result.
#[derive(Debug, Clone)]
pub struct Adjoint {
    branches: Vec<Complex64>,
    fields: Vec<Complex64>,
    potentials: Vec<Complex64>,
}

impl Probe {
    /// The voltage `plus - minus`.
    pub fn voltage(plus: NetId, minus: NetId) -> Self {
        Probe { nets: vec![(plus, Complex64::ONE), (minus, -Complex64::ONE)], ..Probe::default() }
    }

    /// A weighted sum of branch currents.
    pub fn currents(weights: Vec<(BranchId, Complex64)>) -> Self {
        Probe { branches: weights, ..Probe::default() }
    }

    /// A weighted sum of field drives.
    pub fn drives(weights: Vec<(FieldId, Complex64)>) -> Self {
        Probe { drives: weights, ..Probe::default() }
    }

    /// The form whose real part is the differential of the real power taken in by `branch`.
    pub fn power(solution: &Solution<'_>, branch: BranchId) -> Self {
        let ends = &solution.factored.network().branches()[branch.0];
        let conj_current = solution.current(branch).conj();
        Probe {
            nets: vec![(ends.from, conj_current), (ends.to, -conj_current)],
            branches: vec![(branch, solution.voltage(branch).conj())],
            drives: Vec::new(),
        }
    }

    /// This probe with every weight multiplied by `factor`.
    pub fn scaled(mut self, factor: Complex64) -> Self {
        let all = self.nets.iter_mut().map(|(_, w)| w);
        let all = all.chain(self.branches.iter_mut().map(|(_, w)| w));
        for weight in all.chain(self.drives.iter_mut().map(|(_, w)| w)) {
            *weight *= factor;
        }
        self
    }

    /// The factor that turns a complex probe with this value into the differential of its magnitude.
    ///
    /// At exactly zero the magnitude has no derivative; zero is returned, which is the mean over all directions.
    pub fn magnitude_weights(value: Complex64) -> Complex64 {
        let size = value.norm();
        if size > 0.0 { value.conj() / size } else { Complex64::ZERO }
    }

    /// The value of this form on a solution.
    pub fn value(&self, solution: &Solution<'_>) -> Complex64 {
        let nets: Complex64 = self.nets.iter().map(|&(net, w)| w * solution.potential(net)).sum();
        let branches: Complex64 = self.branches.iter().map(|&(branch, w)| w * solution.current(branch)).sum();
        let drives: Complex64 = self.drives.iter().map(|&(field, w)| w * solution.drive(field)).sum();
        nets + branches + drives
    }
}

impl Solution<'_> {
    /// Solves the adjoint system for a probe.
    ///
    /// # Errors
    /// As [`crate::Factored::drives`].
    pub fn adjoint(&self, probe: &Probe) -> Result<Adjoint, SolveError> {
        let factored = self.factored;
        let right = self.right_side(probe);
        let mut unknowns = factored.lu().solve(&right);
        let field_count = self.field_impedances.len();
        let mut fields = vec![Complex64::ZERO; field_count];
        if field_count > 0 {
            // A drive F_f is G_f^T x in the equations: weights on drives join the right side through G.
            let mut drive_weights = vec![Complex64::ZERO; field_count];
            for &(field, weight) in &probe.drives {
                drive_weights[field.0] += weight;
            }
            for (column, &weight) in factored.toward_fields().iter().zip(&drive_weights) {
                add_scaled(&mut unknowns, column, weight);
            }
            let reach: Vec<Complex64> = (0..field_count)
                .map(|e| {
                    let direct = dot(&factored.field_columns()[e], &right);
                    let through_drives: Complex64 =
                        (0..field_count).map(|f| factored.response_at(f, e) * drive_weights[f]).sum();
                    -self.field_impedances[e] * (direct + through_drives)
                })
                .collect();
            fields = factored.close_fields(&self.field_impedances, true)?.solve(&reach);
            for (column, &field) in factored.toward_fields().iter().zip(&fields) {
                add_scaled(&mut unknowns, column, -field);
            }
        }
        Ok(self.adjoint_from(unknowns, fields))
    }

    /// Thevenin impedance, in ohms, seen between two nets with all sources at rest and the fields kept as they are.
    ///
    /// # Errors
    /// As [`crate::Factored::drives`].
    pub fn impedance_between(&self, plus: NetId, minus: NetId) -> Result<Complex64, SolveError> {
        let (column, _) = self.unit_current(plus, minus)?;
        let potential = |net: NetId| self.factored.net_row(net).map_or(Complex64::ZERO, |row| column[row]);
        Ok(potential(plus) - potential(minus))
    }

    /// The same network with an admittance (siemens) connected between two nets, by a rank-one change of the solution.
    ///
    /// # Errors
    /// As [`crate::Factored::drives`].
    pub fn loaded(&self, plus: NetId, minus: NetId, admittance: f64) -> Result<Self, SolveError> {
        let factored = self.factored;
        let (column, drives) = self.unit_current(plus, minus)?;
        let potentials = factored.potentials(&column);
        let thevenin = potentials[plus.0] - potentials[minus.0];
        let open_volts = self.potential(plus) - self.potential(minus);
        let drawn = open_volts * admittance / (Complex64::ONE + thevenin * admittance);
        let change = factored.solution(column, Vec::new(), drives, self.field_impedances.clone());
        Ok(self.minus(&change, drawn))
    }

    /// Unknowns and field drives when one ampere is driven in at `plus` and out at `minus`, sources at rest.
    fn unit_current(&self, plus: NetId, minus: NetId) -> Result<(Vec<Complex64>, Vec<Complex64>), SolveError> {
        let factored = self.factored;
        let mut column = self.right_side(&Probe::voltage(plus, minus));
        factored.lu().solve_in_place(&mut column);
        let mut drives = factored.drives_of(&column);
        if !drives.is_empty() {
            factored.close_fields(&self.field_impedances, false)?.solve_in_place(&mut drives);
            for ((field, drive), impedance) in factored.field_columns().iter().zip(&drives).zip(&self.field_impedances)
            {
                add_scaled(&mut column, field, drive * impedance);
            }
        }
        Ok((column, drives))
    }

    /// `self - change * factor`, for solutions of the same network.
    fn minus(&self, change: &Solution<'_>, factor: Complex64) -> Self {
        let mut unknowns = vec![Complex64::ZERO; self.factored.unknown_count()];
        for net in (0..self.factored.network().net_count()).map(NetId) {
            if let Some(row) = self.factored.net_row(net) {
                unknowns[row] = self.potential(net) - change.potential(net) * factor;
            }
        }
        for (index, row) in self.factored.rows().iter().enumerate() {
            if let Some(row) = *row {
                unknowns[row] = self.current(BranchId(index)) - change.current(BranchId(index)) * factor;
            }
        }
        let drives: Vec<Complex64> = (0..self.field_impedances.len())
            .map(|f| self.drive(FieldId(f)) - change.drive(FieldId(f)) * factor)
            .collect();
        let fields = drives.iter().zip(&self.field_impedances).map(|(f, z)| f * z).collect();
        self.factored.solution(unknowns, fields, drives, self.field_impedances.clone())
    }

    fn right_side(&self, probe: &Probe) -> Vec<Complex64> {
        let factored = self.factored;
        let mut right = vec![Complex64::ZERO; factored.unknown_count()];
        let mut at_net = |net: NetId, weight: Complex64| {
            if let Some(row) = factored.net_row(net) {
                right[row] += weight;
            }
        };
        for &(net, weight) in &probe.nets {
            at_net(net, weight);
        }
        let mut own_rows = Vec::new();
        for &(branch, weight) in &probe.branches {
            match factored.rows()[branch.0] {
                Some(row) => own_rows.push((row, weight)),
                None => {
                    let ends = &factored.network().branches()[branch.0];
                    let per_volt = weight / factored.impedances()[branch.0];
                    at_net(ends.from, per_volt);
                    at_net(ends.to, -per_volt);
                }
            }
        }
        for (row, weight) in own_rows {
            right[row] += weight;
        }
        right
    }

    fn adjoint_from(&self, unknowns: Vec<Complex64>, fields: Vec<Complex64>) -> Adjoint {
        let potentials = self.factored.potentials(&unknowns);
        let network = self.factored.network();
        let branches = network
            .branches()
            .iter()
            .enumerate()
            .map(|(index, ends)| match self.factored.rows()[index] {
                Some(row) => unknowns[row],
                None => (potentials[ends.from.0] - potentials[ends.to.0]) / self.factored.impedances()[index],
            })
            .collect();
        Adjoint { branches, fields, potentials }
    }

    /// Adds to `gradient` the derivatives of `Re(probe)` with respect to all unknowns in the network's values.
    ///
    /// Field impedances are held; add their share with [`Solution::field_impedance_slope`]. A probe on the current of
    /// a branch without its own unknown also moves directly with that branch's own values, which is included.
    pub fn add_gradient(&self, probe: &Probe, adjoint: &Adjoint, gradient: &mut [f64]) {
        let network = self.factored.network();
        let mut add = |slopes: &[(UnknownId, f64)], derivative: f64| {
            for &(unknown, slope) in slopes {
                gradient[unknown.0] += derivative * slope;
            }
        };
        for (index, branch) in network.branches().iter().enumerate() {
            let influence = adjoint.branches[index];
            let by_impedance = influence * self.current(BranchId(index));
            add(branch.resistance.slopes(), by_impedance.re);
            add(branch.reactance.slopes(), (Complex64::I * by_impedance).re);
            add(branch.source.slopes(), -(influence * branch.source_phase()).re);
        }
        for &(branch, weight) in &probe.branches {
            if self.factored.rows()[branch.0].is_none() {
                let values = &network.branches()[branch.0];
                let direct = -weight * self.current(branch) / self.factored.impedances()[branch.0];
                add(values.resistance.slopes(), direct.re);
                add(values.reactance.slopes(), (Complex64::I * direct).re);
                let by_source = weight * values.source_phase() / self.factored.impedances()[branch.0];
                add(values.source.slopes(), by_source.re);
            }
        }
        for link in network.links() {
            let axis = Complex64::from_polar(1.0, link.angle);
            let current = self.current(link.branch);
            let mut derivative = Complex64::ZERO;
            if link.is_felt() {
                derivative += adjoint.branches[link.branch.0] * axis.conj() * self.field(link.field);
            }
            if link.is_driving() {
                derivative -= adjoint.fields[link.field.0] * axis * current;
                for &(_, weight) in probe.drives.iter().filter(|(field, _)| *field == link.field) {
                    derivative += weight * axis * current;
                }
            }
            add(link.turns.slopes(), derivative.re);
        }
    }

    /// Derivative of the probe with respect to the impedance of a field.
    pub fn field_impedance_slope(&self, adjoint: &Adjoint, field: FieldId) -> Complex64 {
        // The adjoint's own field equation turns -l_f / Z_f into this sum, which also holds where Z_f is zero.
        let links = self.factored.network().links().iter().filter(|link| link.field == field && link.is_felt());
        let reach: Complex64 = links
            .map(|link| Complex64::from_polar(link.turns.value(), -link.angle) * adjoint.branches[link.branch.0])
            .sum();
        reach * self.drive(field)
    }
}

impl Adjoint {
    /// `self * factor`, for chaining through the meter that loads a circuit.
    pub fn scaled(mut self, factor: Complex64) -> Self {
        let all = self.branches.iter_mut().chain(self.fields.iter_mut()).chain(self.potentials.iter_mut());
        for value in all {
            *value *= factor;
        }
        self
    }

    /// `v_plus - v_minus` in the adjoint network.
    pub fn between(&self, plus: NetId, minus: NetId) -> Complex64 {
        self.potentials[plus.0] - self.potentials[minus.0]
    }
}
