//! Phasor solution by modified nodal analysis, with the fields eliminated last.
//!
//! Unknowns are the potentials of all nets but the reference, and the currents of the branches that carry a source,
//! couple to a field or have next to no impedance; other branches enter as admittances. With the fields taken as
//! outside sources the matrix `A` is symmetric and does not change with rotor speed:
//!
//! ```text
//! x = x_source + sum_f X_f E_f        (one factorisation, one solve per field)
//! F = F_source + P E,  E = Z F        (as many equations as fields: two per rotor)
//! ```
//!
//! so following a motor up to speed costs a solve of a few unknowns per step instead of one of the whole network. A
//! field that is driven by some branches and felt by others (a speed voltage) changes only `X_f` and `P`.
//! Source for the formulation: Ho, Ruehli and Brennan, "The modified nodal approach to network analysis",
//! IEEE Trans. Circuits and Systems 22 (1975); the field elimination is a Schur complement.

use crate::SolveError;
use crate::lu::{Lu, SPARSE_FROM, solve_all};
use crate::network::{Branch, BranchId, FieldId, Link, NetId, Network};
use num_complex::Complex64;
use smallvec::{SmallVec, smallvec};
use std::sync::OnceLock;

/// Below this impedance in ohms a branch gets its own current unknown, since its admittance would swamp the rest.
const SMALL_IMPEDANCE_OHMS: f64 = 1e-3;

/// A network with everything but its fields eliminated.
#[derive(Debug, Clone)]
pub struct Factored<'n> {
    network: &'n Network,
    lu: Lu,
    /// For each net its row among the unknowns; none for the reference.
    net_rows: Vec<Option<usize>>,
    /// For each branch its row among the unknowns, if it has a current unknown.
    rows: Vec<Option<usize>>,
    impedances: Vec<Complex64>,
    /// One over each of them: not a number, and not looked at, of what has no impedance.
    admittances: Vec<Complex64>,
    from_sources: Vec<Complex64>,
    /// `A^-1 H`, one column per field: what one volt of field does to every unknown.
    from_fields: Vec<Vec<Complex64>>,
    /// `G`, one column per field.
    drive_columns: Vec<Vec<Complex64>>,
    /// `A^-1 G`, one column per field; only adjoint solutions need it.
    toward_fields: OnceLock<Vec<Vec<Complex64>>>,
    /// `F` with all fields at zero.
    source_drive: Vec<Complex64>,
    /// `P[f][e]`: drive of field f by one volt of field e.
    response: Vec<Vec<Complex64>>,
}

/// Field drives (ampere-turns) and how they move with each field impedance.
#[derive(Debug, Clone)]
pub struct FieldDrives {
    /// `F_f`, RMS ampere-turns in the network's relative turns.
    pub drives: SmallVec<[Complex64; 4]>,
    /// `dF_f / dZ_e`, row by row.
    slopes: SmallVec<[Complex64; 16]>,
}

impl FieldDrives {
    /// `dF_f / dZ_e`.
    pub fn slope(&self, f: FieldId, e: FieldId) -> Complex64 {
        self.slopes[f.0 * self.drives.len() + e.0]
    }
}

/// A complete phasor solution.
#[derive(Debug, Clone)]
pub struct Solution<'n> {
    pub(crate) factored: &'n Factored<'n>,
    pub(crate) field_impedances: Vec<Complex64>,
    potentials: Vec<Complex64>,
    currents: Vec<Complex64>,
    fields: Vec<Complex64>,
    drives: Vec<Complex64>,
}

impl<'n> Factored<'n> {
    /// Assembles and factorises the network.
    ///
    /// # Errors
    /// [`SolveError`] names the value that is not finite, or the net without a path to the rest.
    pub fn new(network: &'n Network) -> Result<Self, SolveError> {
        if !(network.hertz().is_finite() && network.hertz() > 0.0) {
            return Err(SolveError::Frequency { hertz: network.hertz() });
        }
        let impedances = finite_impedances(network)?;
        let net_rows = net_rows(network);
        let rows = current_rows(network, &impedances);
        let size = network.net_count() - 1 + rows.iter().flatten().count();
        let admittances: Vec<Complex64> = impedances.iter().map(Complex64::inv).collect();
        let lu = Lu::factor(assemble(network, (&impedances, &admittances), (&net_rows, &rows), size), size)
            .map_err(|column| SolveError::Singular { unknown: name_unknown((&net_rows, &rows), column) })?;

        let mut sources = vec![Complex64::ZERO; size];
        for (branch, row) in network.branches().iter().zip(&rows) {
            if let Some(row) = *row {
                sources[row] -= branch.source.value() * branch.source_phase();
            }
        }
        let mut field_columns = vec![vec![Complex64::ZERO; size]; network.field_count()];
        let mut drive_columns = field_columns.clone();
        for link in network.links() {
            if let Some(row) = rows[link.branch.0] {
                let axis = Complex64::from_polar(link.turns.value(), link.angle);
                if link.is_felt() {
                    field_columns[link.field.0][row] += axis.conj();
                }
                if link.is_driving() {
                    drive_columns[link.field.0][row] += axis;
                }
            }
        }
        let solved =
            |right: &Vec<Complex64>| refined(network, (&impedances, &admittances), (&net_rows, &rows), &lu, right);
        let from_sources = solved(&sources);
        let from_fields: Vec<_> = field_columns.iter().map(solved).collect();
        let source_drive = drive_columns.iter().map(|column| dot(column, &from_sources)).collect();
        let response =
            drive_columns.iter().map(|column| from_fields.iter().map(|field| dot(column, field)).collect()).collect();
        let toward_fields = OnceLock::new();
        Ok(Factored {
            network,
            lu,
            net_rows,
            rows,
            impedances,
            admittances,
            from_sources,
            from_fields,
            drive_columns,
            toward_fields,
            source_drive,
            response,
        })
    }

    /// The network that was factorised.
    pub fn network(&self) -> &'n Network {
        self.network
    }

    /// Field drives for the given field impedances, with their derivatives; the cheap inner step of a speed search.
    ///
    /// # Errors
    /// [`SolveError::Singular`] if the fields have no unique solution (never for passive field impedances
    /// and mutual couplings).
    pub fn drives(&self, field_impedances: &[Complex64]) -> Result<FieldDrives, SolveError> {
        let count = self.network.field_count();
        // `(I - P Z) [F, S] = [F_source, P]`, and `dF / dZ_e = S_e F_e`.
        let width = 2 * count + 1;
        let mut rows: SmallVec<[Complex64; 36]> = SmallVec::with_capacity(count * width);
        for (row, (response, &source)) in self.response.iter().zip(&self.source_drive).enumerate() {
            rows.extend(response.iter().zip(field_impedances).map(|(response, impedance)| -response * impedance));
            rows[row * width + row] += Complex64::ONE;
            rows.push(source);
            rows.extend_from_slice(response);
        }
        solve_all(&mut rows, count, width).map_err(no_unique_field)?;
        let drives: SmallVec<[Complex64; 4]> = rows.iter().skip(count).step_by(width).copied().collect();
        let responses = rows.chunks_exact(width).flat_map(|row| &row[count + 1..]);
        let slopes = responses.zip(drives.iter().cycle()).map(|(response, drive)| response * drive).collect();
        Ok(FieldDrives { drives, slopes })
    }

    /// The whole solution for the given field impedances.
    ///
    /// # Errors
    /// As [`Factored::drives`].
    pub fn solve(&'n self, field_impedances: &[Complex64]) -> Result<Solution<'n>, SolveError> {
        let drives = if self.network.field_count() == 0 {
            Vec::new()
        } else {
            self.close_fields(field_impedances, false)?.solve(&self.source_drive)
        };
        let fields: Vec<Complex64> = drives.iter().zip(field_impedances).map(|(f, z)| f * z).collect();
        let mut unknowns = self.from_sources.clone();
        for (column, &field) in self.from_fields.iter().zip(&fields) {
            add_scaled(&mut unknowns, column, field);
        }
        Ok(self.solution(unknowns, fields, drives, field_impedances.to_vec()))
    }

    pub(crate) fn solution(
        &'n self,
        unknowns: Vec<Complex64>,
        fields: Vec<Complex64>,
        drives: Vec<Complex64>,
        field_impedances: Vec<Complex64>,
    ) -> Solution<'n> {
        let potentials = self.potentials(&unknowns);
        let currents = currents(self.network, (&self.admittances, &self.rows), &potentials, &unknowns);
        Solution { factored: self, field_impedances, potentials, currents, fields, drives }
    }

    /// Factors of `I - P Z`, or of its transpose `I - Z P^T` as the adjoint needs.
    pub(crate) fn close_fields(&self, field_impedances: &[Complex64], adjoint: bool) -> Result<Lu, SolveError> {
        let count = self.network.field_count();
        let mut matrix: SmallVec<[Complex64; 16]> = smallvec![Complex64::ZERO; count * count];
        for row in 0..count {
            for column in 0..count {
                let coupling = if adjoint {
                    field_impedances[row] * self.response[column][row]
                } else {
                    self.response[row][column] * field_impedances[column]
                };
                let identity = if row == column { Complex64::ONE } else { Complex64::ZERO };
                matrix[row * count + column] = identity - coupling;
            }
        }
        Lu::factor(matrix, count).map_err(no_unique_field)
    }

    pub(crate) fn lu(&self) -> &Lu {
        &self.lu
    }

    /// Row of a net's potential among the unknowns; none for the reference.
    pub(crate) fn net_row(&self, net: NetId) -> Option<usize> {
        self.net_rows[net.0]
    }

    pub(crate) fn rows(&self) -> &[Option<usize>] {
        &self.rows
    }

    pub(crate) fn impedances(&self) -> &[Complex64] {
        &self.impedances
    }

    pub(crate) fn field_columns(&self) -> &[Vec<Complex64>] {
        &self.from_fields
    }

    pub(crate) fn toward_fields(&self) -> &[Vec<Complex64>] {
        self.toward_fields.get_or_init(|| self.drive_columns.iter().map(|column| self.lu.solve(column)).collect())
    }

    /// Drive of every field by a vector of unknowns.
    pub(crate) fn drives_of(&self, unknowns: &[Complex64]) -> Vec<Complex64> {
        self.drive_columns.iter().map(|column| dot(column, unknowns)).collect()
    }

    /// `P[f][e]`: drive of field `f` by one volt of field `e`.
    pub(crate) fn response_at(&self, f: usize, e: usize) -> Complex64 {
        self.response[f][e]
    }

    pub(crate) fn unknown_count(&self) -> usize {
        self.from_sources.len()
    }

    /// Potentials of all nets, the reference included, from the vector of unknowns.
    pub(crate) fn potentials(&self, unknowns: &[Complex64]) -> Vec<Complex64> {
        potentials(&self.net_rows, unknowns)
    }
}

impl<'n> Solution<'n> {
    /// The factorised network behind this solution.
    pub fn factored(&self) -> &'n Factored<'n> {
        self.factored
    }

    /// Potential of a net to the reference, volts RMS.
    pub fn potential(&self, net: NetId) -> Complex64 {
        self.potentials[net.0]
    }

    /// Current through a branch, amperes RMS, positive from its `from` net to its `to` net.
    pub fn current(&self, branch: BranchId) -> Complex64 {
        self.currents[branch.0]
    }

    /// Voltage `v_from - v_to` of a branch.
    pub fn voltage(&self, branch: BranchId) -> Complex64 {
        let ends = &self.factored.network.branches()[branch.0];
        self.potentials[ends.from.0] - self.potentials[ends.to.0]
    }

    /// Complex power that a branch takes in, volt-amperes; a negative real part means that it delivers.
    pub fn power(&self, branch: BranchId) -> Complex64 {
        self.voltage(branch) * self.current(branch).conj()
    }

    /// Field value `E`.
    pub fn field(&self, field: FieldId) -> Complex64 {
        self.fields[field.0]
    }

    /// Field drive `F` (ampere-turns in relative turns).
    pub fn drive(&self, field: FieldId) -> Complex64 {
        self.drives[field.0]
    }

    /// Largest current, in amperes, by which Kirchhoff's current law is missed at any net but the reference.
    pub fn kirchhoff_residual(&self) -> f64 {
        let sums = currents_out(self.factored.network, &self.currents);
        sums[1..].iter().map(|sum| sum.norm()).fold(0.0, f64::max)
    }
}

/// Potentials of all nets, the reference included.
fn potentials(net_rows: &[Option<usize>], unknowns: &[Complex64]) -> Vec<Complex64> {
    net_rows.iter().map(|row| row.map_or(Complex64::ZERO, |row| unknowns[row])).collect()
}

/// Currents of all branches.
fn currents(
    network: &Network,
    (admittances, rows): (&[Complex64], &[Option<usize>]),
    potentials: &[Complex64],
    unknowns: &[Complex64],
) -> Vec<Complex64> {
    let current = |(index, branch): (usize, &Branch)| match rows[index] {
        Some(row) => unknowns[row],
        None => (potentials[branch.from.0] - potentials[branch.to.0]) * admittances[index],
    };
    network.branches().iter().enumerate().map(current).collect()
}

/// What flows out of every net, which Kirchhoff's current law makes zero.
fn currents_out(network: &Network, currents: &[Complex64]) -> Vec<Complex64> {
    let mut sums = vec![Complex64::ZERO; network.net_count()];
    for (branch, current) in network.branches().iter().zip(currents) {
        sums[branch.from.0] += current;
        sums[branch.to.0] -= current;
    }
    sums
}

/// A solution from which what it misses has been taken once more (iterative refinement: Higham, Accuracy and Stability of
/// Numerical Algorithms (2002), ch. 12).
///
/// What is missed is summed branch by branch. Of conductors that hang together on stray capacitance alone the matrix knows
/// what they lose as a small difference of large admittances only; the branches know it to the last digit.
fn refined(
    network: &Network,
    (impedances, admittances): (&[Complex64], &[Complex64]),
    (net_rows, rows): (&[Option<usize>], &[Option<usize>]),
    lu: &Lu,
    right: &[Complex64],
) -> Vec<Complex64> {
    let mut solution = lu.solve(right);
    let mut missed = right.to_vec();
    for (index, branch) in network.branches().iter().enumerate() {
        let (from, to) = (net_rows[branch.from.0], net_rows[branch.to.0]);
        let potential = |row: Option<usize>| row.map_or(Complex64::ZERO, |row| solution[row]);
        let volts = potential(from) - potential(to);
        let current = match rows[index] {
            Some(row) => {
                missed[row] -= volts - impedances[index] * solution[row];
                solution[row]
            }
            None => volts * admittances[index],
        };
        if let Some(row) = from {
            missed[row] -= current;
        }
        if let Some(row) = to {
            missed[row] += current;
        }
    }
    lu.solve_in_place(&mut missed);
    add_scaled(&mut solution, &missed, Complex64::ONE);
    solution
}

fn no_unique_field(field: usize) -> SolveError {
    SolveError::Singular { unknown: format!("field {field}") }
}

fn finite_impedances(network: &Network) -> Result<Vec<Complex64>, SolveError> {
    let finite_link = |link: &Link| link.turns.value().is_finite() && link.angle.is_finite();
    if let Some(link) = network.links().iter().find(|link| !finite_link(link)) {
        return Err(SolveError::NotFinite { branch: link.branch.0 });
    }
    network
        .branches()
        .iter()
        .enumerate()
        .map(|(index, branch)| {
            let impedance = Complex64::new(branch.resistance.value(), branch.reactance.value());
            let finite = impedance.is_finite() && branch.source.value().is_finite() && branch.source_angle.is_finite();
            if finite { Ok(impedance) } else { Err(SolveError::NotFinite { branch: index }) }
        })
        .collect()
}

/// Nets that few branches meet at come first: eliminating one ties all its neighbours together, and a conductor that
/// nearly every other net has some capacitance to would fill the whole matrix (minimum degree, Tinney and Walker,
/// "Direct solutions of sparse network equations by optimally ordered triangular factorization", Proc. IEEE 55 (1967)).
/// Small systems keep their order: nothing is gained, and conductors that carry the load, eliminated last, cost digits of
/// the small difference of their currents.
fn net_rows(network: &Network) -> Vec<Option<usize>> {
    let mut order: Vec<usize> = (1..network.net_count()).collect();
    if order.len() >= SPARSE_FROM {
        let ends = network.ends(|_| true);
        order.sort_by_key(|&net| ends[net]);
    }
    let mut rows = vec![None; network.net_count()];
    for (row, net) in order.into_iter().enumerate() {
        rows[net] = Some(row);
    }
    rows
}

fn current_rows(network: &Network, impedances: &[Complex64]) -> Vec<Option<usize>> {
    let mut linked = vec![false; impedances.len()];
    for link in network.links() {
        linked[link.branch.0] = true;
    }
    let mut next = network.net_count() - 1;
    network
        .branches()
        .iter()
        .enumerate()
        .map(|(index, branch)| {
            let own = linked[index]
                || branch.source.value() != 0.0
                || impedances[index].norm_sqr() < SMALL_IMPEDANCE_OHMS * SMALL_IMPEDANCE_OHMS;
            own.then(|| {
                next += 1;
                next - 1
            })
        })
        .collect()
}

fn assemble(
    network: &Network,
    (impedances, admittances): (&[Complex64], &[Complex64]),
    (net_rows, rows): (&[Option<usize>], &[Option<usize>]),
    size: usize,
) -> Vec<Complex64> {
    let mut matrix = vec![Complex64::ZERO; size * size];
    let mut add = |row: Option<usize>, column: Option<usize>, value: Complex64| {
        if let (Some(row), Some(column)) = (row, column) {
            matrix[row * size + column] += value;
        }
    };
    let one = Complex64::ONE;
    for (index, branch) in network.branches().iter().enumerate() {
        let (from, to) = (net_rows[branch.from.0], net_rows[branch.to.0]);
        match rows[index] {
            Some(row) => {
                add(from, Some(row), one);
                add(to, Some(row), -one);
                add(Some(row), from, one);
                add(Some(row), to, -one);
                add(Some(row), Some(row), -impedances[index]);
            }
            None => {
                let admittance = admittances[index];
                add(from, from, admittance);
                add(to, to, admittance);
                add(from, to, -admittance);
                add(to, from, -admittance);
            }
        }
    }
    matrix
}

fn name_unknown((net_rows, rows): (&[Option<usize>], &[Option<usize>]), column: usize) -> String {
    let at = |rows: &[Option<usize>]| rows.iter().position(|row| *row == Some(column));
    match at(net_rows) {
        Some(net) => format!("net {net} has no path to the rest"),
        None => format!("branch {} closes a loop without impedance", at(rows).unwrap_or_default()),
    }
}

pub(crate) fn dot(a: &[Complex64], b: &[Complex64]) -> Complex64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

pub(crate) fn add_scaled(target: &mut [Complex64], source: &[Complex64], factor: Complex64) {
    for (t, s) in target.iter_mut().zip(source) {
        *t += s * factor;
    }
}
