//! The equations that a compiled network keeps: nodal analysis in which branches of little impedance keep their current.
//!
//! An admittance of a contact in the same sum as that of insulation would take its digits. So every branch up to
//! [`OWN_CURRENT_OHMS`] is an equation of its own, `v_from - v_to - z i = fields - source`, in which nothing is added up.
//! Every field has two unknowns, its value and its drive, so that its impedance is one entry of the matrix.

use super::{Change, Reading};
use crate::SolveError;
use crate::lu::Lu;
use crate::network::{BranchId, NetId, Network};
use num_complex::Complex64;

/// Branches up to this impedance have their current as an unknown, ohms. Opened from an admittance, or shorted from a
/// current, a branch loses as many digits as there are decades between it and the rest: halfway between a contact and
/// its insulation (engineering judgement).
pub(super) const OWN_CURRENT_OHMS: f64 = 1e3;
/// How much rounding is taken to be in every sum, relative to its terms.
const ROUNDING: f64 = 2.0 * f64::EPSILON;

/// Impedances by branch and by field.
#[derive(Debug, Clone)]
pub(super) struct Values {
    /// `None` where nothing passes.
    impedances: Vec<Option<Complex64>>,
    sources: Vec<Complex64>,
    /// No fields at 0 Hz.
    fields: Vec<Complex64>,
    is_direct: bool,
}

/// Where in the matrix a change is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// On the diagonal, at the current of a branch.
    Current(usize),
    /// As an admittance between two nets.
    Between(NetId, NetId, usize),
    /// At the impedance of a field: its equation and its drive.
    Field(usize, usize),
}

/// A solution, and one that differs from it by about as much as rounding may have done.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    unknowns: Vec<Complex64>,
    doubt: Vec<Complex64>,
}

/// A number, and by about how much it may be off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rounded {
    pub(super) value: Complex64,
    pub(super) doubt: f64,
}

#[derive(Debug)]
pub(super) struct Equations {
    size: usize,
    /// By row, what is not zero.
    matrix: Vec<Vec<(usize, Complex64)>>,
    lu: Lu,
    /// By net; `None` for those that potentials are counted from.
    nets: Vec<Option<usize>>,
    /// By net.
    islands: Vec<usize>,
    /// By branch, its current if it is an unknown.
    currents: Vec<Option<usize>>,
    sources: Vec<Complex64>,
}

impl Values {
    pub(super) fn phasor(network: &Network, field_impedances: &[Complex64]) -> Result<Self, SolveError> {
        if !(network.hertz().is_finite() && network.hertz() > 0.0) {
            return Err(SolveError::Frequency { hertz: network.hertz() });
        }
        if let Some(link) = network.links().iter().find(|l| !(l.turns.value().is_finite() && l.angle.is_finite())) {
            return Err(SolveError::NotFinite { branch: link.branch.0 });
        }
        let singular = |field| SolveError::Singular { unknown: format!("field {field}") };
        if field_impedances.len() != network.field_count() {
            return Err(singular(field_impedances.len().min(network.field_count())));
        }
        if let Some(field) = field_impedances.iter().position(|impedance| !impedance.is_finite()) {
            return Err(singular(field));
        }
        let branches = network.branches().iter();
        let impedances = branches.clone().map(|b| Some(Complex64::new(b.resistance.value(), b.reactance.value())));
        let sources = branches.map(|branch| branch.source.value() * branch.source_phase());
        let values = Values {
            impedances: impedances.collect(),
            sources: sources.collect(),
            fields: field_impedances.to_vec(),
            is_direct: false,
        };
        values.finite()
    }

    pub(super) fn direct(network: &Network) -> Result<Self, SolveError> {
        let branches = network.branches().iter();
        let impedances = branches.map(|b| b.passes_direct_current.then(|| b.resistance.value().into()));
        let sources = vec![Complex64::ZERO; network.branches().len()];
        Values { impedances: impedances.collect(), sources, fields: Vec::new(), is_direct: true }.finite()
    }

    fn finite(self) -> Result<Self, SolveError> {
        let is_off = |(impedance, source): (&Option<Complex64>, &Complex64)| {
            impedance.is_some_and(|impedance| !impedance.is_finite()) || !source.is_finite()
        };
        match self.impedances.iter().zip(&self.sources).position(is_off) {
            Some(branch) => Err(SolveError::NotFinite { branch }),
            None => Ok(self),
        }
    }

    pub(super) fn change(&mut self, change: &Change) {
        match *change {
            Change::Impedance(branch, impedance) => {
                self.impedances[branch.0] = Some(if self.is_direct { impedance.re.into() } else { impedance });
            }
            Change::Open(branch) => self.impedances[branch.0] = None,
            Change::Short(branch) => self.impedances[branch.0] = Some(Complex64::ZERO),
            Change::Field(field, impedance) => {
                if let Some(own) = self.fields.get_mut(field.0) {
                    *own = impedance;
                }
            }
        }
    }

    /// Volts of the largest source.
    pub(super) fn source_volts(&self) -> f64 {
        self.sources.iter().map(|source| source.norm()).fold(0.0, f64::max)
    }

    pub(super) fn has_source(&self, branch: usize) -> bool {
        self.sources[branch] != Complex64::ZERO
    }
}

fn changed_branch(change: &Change) -> Option<BranchId> {
    match *change {
        Change::Impedance(branch, _) | Change::Open(branch) | Change::Short(branch) => Some(branch),
        Change::Field(..) => None,
    }
}

impl Equations {
    pub(super) fn new(
        network: &Network,
        values: &Values,
        readings: &[Reading],
        own_current_ohms: f64,
    ) -> Result<Self, SolveError> {
        let values = values.clone().finite()?;
        if let Some(field) = values.fields.iter().position(|impedance| !impedance.is_finite()) {
            return Err(SolveError::Singular { unknown: format!("field {field}") });
        }
        let (islands, nets) = grounded(network, &values);
        let mut size = nets.iter().flatten().count();
        let net_unknowns = size;
        let mut keeps_current = vec![false; values.impedances.len()];
        for (index, impedance) in values.impedances.iter().enumerate() {
            keeps_current[index] =
                values.has_source(index) || impedance.is_some_and(|impedance| impedance.norm() <= own_current_ohms);
        }
        for reading in readings {
            if let Reading::Amperes(branch) = reading {
                keeps_current[branch.0] = true;
            }
        }
        if !values.is_direct {
            network.links().iter().for_each(|link| keeps_current[link.branch.0] = true);
        }
        let mut next = || {
            size += 1;
            size - 1
        };
        let currents: Vec<Option<usize>> = keeps_current.iter().map(|&keeps| keeps.then(&mut next)).collect();
        let fields: Vec<(usize, usize)> = values.fields.iter().map(|_| (next(), next())).collect();
        let mut matrix = Matrix { size, entries: vec![Complex64::ZERO; size * size] };
        let mut sources = vec![Complex64::ZERO; size];
        let one = Complex64::ONE;
        for (index, branch) in network.branches().iter().enumerate() {
            let (from, to) = (nets[branch.from.0], nets[branch.to.0]);
            match (currents[index], values.impedances[index]) {
                (Some(row), Some(impedance)) => {
                    matrix.add(from, Some(row), one);
                    matrix.add(to, Some(row), -one);
                    matrix.add(Some(row), from, one);
                    matrix.add(Some(row), to, -one);
                    matrix.add(Some(row), Some(row), -impedance);
                    sources[row] = -values.sources[index];
                }
                // Nothing passes: its current is zero, whatever it is coupled to.
                (Some(row), None) => matrix.add(Some(row), Some(row), -one),
                (None, Some(impedance)) => {
                    let admittance = impedance.inv();
                    matrix.add(from, from, admittance);
                    matrix.add(to, to, admittance);
                    matrix.add(from, to, -admittance);
                    matrix.add(to, from, -admittance);
                }
                (None, None) => {}
            }
        }
        for (&(value, drive), &impedance) in fields.iter().zip(&values.fields) {
            matrix.add(Some(value), Some(value), one);
            matrix.add(Some(value), Some(drive), -impedance);
            matrix.add(Some(drive), Some(drive), one);
        }
        for link in network.links() {
            let (Some(&(value, drive)), Some(row)) = (fields.get(link.field.0), currents[link.branch.0]) else {
                continue;
            };
            let axis = Complex64::from_polar(link.turns.value(), link.angle);
            if link.is_felt() && values.impedances[link.branch.0].is_some() {
                matrix.add(Some(row), Some(value), -axis.conj());
            }
            if link.is_driving() {
                matrix.add(Some(drive), Some(row), -axis);
            }
        }
        let filled = |row: &[Complex64]| {
            row.iter().copied().enumerate().filter(|(_, entry)| *entry != Complex64::ZERO).collect()
        };
        let rows = matrix.entries.chunks_exact(size.max(1)).map(filled).collect();
        let lu = Lu::factor(matrix.entries, size).map_err(|column| {
            let branch = currents.iter().position(|current| *current == Some(column));
            let unknown = match (nets.iter().position(|net| *net == Some(column)), branch) {
                (Some(net), _) if column < net_unknowns => format!("net {net} has no path to the rest"),
                (_, Some(branch)) => format!("branch {branch} closes a loop without impedance"),
                _ => format!("field {}", fields.iter().position(|f| f.0.max(f.1) >= column).unwrap_or_default()),
            };
            SolveError::Singular { unknown }
        })?;
        Ok(Equations { size, matrix: rows, lu, nets, islands, currents, sources })
    }

    /// Sources as the right side.
    pub(super) fn sources(&self) -> &[Complex64] {
        &self.sources
    }

    /// One ampere into a net and out of another as the right side.
    pub(super) fn injection(&self, plus: NetId, minus: NetId) -> Vec<Complex64> {
        let mut right = vec![Complex64::ZERO; self.size];
        for (net, sign) in [(plus, 1.0), (minus, -1.0)] {
            if let Some(row) = self.nets[net.0] {
                right[row] += sign;
            }
        }
        right
    }

    /// Whether anything can pass from one net to another.
    pub(super) fn is_joined(&self, plus: NetId, minus: NetId) -> bool {
        self.islands[plus.0] == self.islands[minus.0]
    }

    /// Where a change is made and by how much; `None` if it joins what has no path in the network as it was, or the
    /// other way round, or is none.
    pub(super) fn place_and_size(
        &self,
        network: &Network,
        values: &Values,
        change: &Change,
    ) -> Option<(Place, Option<Complex64>)> {
        let mut changed = values.clone();
        changed.change(change);
        if let Change::Field(field, _) = *change {
            let (&old, &new) = (values.fields.get(field.0)?, changed.fields.get(field.0)?);
            let value = self.size - 2 * values.fields.len() + 2 * field.0;
            return Some((Place::Field(value, value + 1), Some(old - new)));
        }
        let branch = changed_branch(change)?;
        let ends = &network.branches()[branch.0];
        let (old, new) = (values.impedances[branch.0], changed.impedances[branch.0]);
        match (self.currents[branch.0], old) {
            // What hangs on this branch alone is cut off: no number says so as surely as the paths do.
            (_, Some(_)) if new.is_none() && is_bridge(network, values, branch) => None,
            (Some(row), Some(old)) => Some((Place::Current(row), new.map(|new| old - new))),
            (Some(_), None) => None,
            (None, old) => {
                if !self.is_joined(ends.from, ends.to) {
                    return None;
                }
                let place = Place::Between(ends.from, ends.to, branch.0);
                let admittance = |impedance: Option<Complex64>| impedance.map_or(Complex64::ZERO, |z| z.inv());
                let is_short = new.is_some_and(|new| new == Complex64::ZERO);
                Some((place, (!is_short).then(|| admittance(new) - admittance(old))))
            }
        }
    }

    /// The column `u` of a change.
    pub(super) fn column(&self, place: Place) -> Vec<Complex64> {
        match place {
            Place::Between(from, to, _) => self.injection(from, to),
            Place::Current(row) | Place::Field(row, _) => {
                let mut right = vec![Complex64::ZERO; self.size];
                right[row] = Complex64::ONE;
                right
            }
        }
    }

    /// The row `v` of a change, on a solution.
    pub(super) fn touched(&self, place: Place, solved: &Solved) -> Rounded {
        match place {
            Place::Between(from, to, _) => self.read(Reading::Volts(from, to), solved),
            Place::Current(row) | Place::Field(_, row) => solved.at(row),
        }
    }

    /// A reading of a solution.
    pub(super) fn read(&self, reading: Reading, solved: &Solved) -> Rounded {
        let nothing = Rounded { value: Complex64::ZERO, doubt: 0.0 };
        match reading {
            Reading::Amperes(branch) => self.currents[branch.0].map_or(nothing, |row| solved.at(row)),
            Reading::Volts(plus, minus) | Reading::Ohms(plus, minus) => {
                let at = |values: &[Complex64], net: NetId| self.nets[net.0].map_or(Complex64::ZERO, |row| values[row]);
                let (plus_volts, minus_volts) = (at(&solved.unknowns, plus), at(&solved.unknowns, minus));
                let doubt = (at(&solved.doubt, plus) - at(&solved.doubt, minus)).norm();
                let own = ROUNDING * (plus_volts.norm() + minus_volts.norm());
                Rounded { value: plus_volts - minus_volts, doubt: doubt + own }
            }
        }
    }

    /// Solves with one refinement. The residual that is left is what rounding makes of sums of such terms; with as much
    /// again put into every equation, of alternating signs, it is solved for what that does to the unknowns.
    pub(super) fn solve(&self, right: Vec<Complex64>) -> Solved {
        let mut unknowns = self.lu.solve(&right);
        let mut residual = vec![Complex64::ZERO; self.size];
        self.residual(&unknowns, &right, &mut residual);
        self.lu.solve_in_place(&mut residual);
        unknowns.iter_mut().zip(&residual).for_each(|(value, correction)| *value += correction);
        let terms = self.residual(&unknowns, &right, &mut residual);
        for (row, (left, terms)) in residual.iter_mut().zip(terms).enumerate() {
            // Signs without a pattern: bits of a multiplicative hash (Knuth, The Art of Computer Programming 3, 6.4).
            let sign = if (row as u32).wrapping_mul(2_654_435_769) >> 31 == 0 { 1.0 } else { -1.0 };
            *left += sign * ROUNDING * terms;
        }
        self.lu.solve_in_place(&mut residual);
        Solved { unknowns, doubt: residual }
    }

    /// `b - A x`, and the sum of the sizes of the terms in each line.
    fn residual(&self, unknowns: &[Complex64], right: &[Complex64], into: &mut [Complex64]) -> Vec<f64> {
        let mut sizes = Vec::with_capacity(self.size);
        for ((line, right), into) in self.matrix.iter().zip(right).zip(into) {
            let (mut sum, mut size) = (*right, right.l1_norm());
            for &(column, entry) in line {
                let term = entry * unknowns[column];
                sum -= term;
                size += term.l1_norm();
            }
            *into = sum;
            sizes.push(size);
        }
        sizes
    }
}

impl Solved {
    fn at(&self, row: usize) -> Rounded {
        Rounded { value: self.unknowns[row], doubt: self.doubt[row].norm() + ROUNDING * self.unknowns[row].norm() }
    }
}

struct Matrix {
    size: usize,
    entries: Vec<Complex64>,
}

impl Matrix {
    fn add(&mut self, row: Option<usize>, column: Option<usize>, value: Complex64) {
        if let (Some(row), Some(column)) = (row, column) {
            self.entries[row * self.size + column] += value;
        }
    }
}

/// Whether a branch is the only path between its ends.
fn is_bridge(network: &Network, values: &Values, branch: BranchId) -> bool {
    let mut without = values.clone();
    without.change(&Change::Open(branch));
    let (islands, ends) = (islands(network, &without), &network.branches()[branch.0]);
    islands[ends.from.0] != islands[ends.to.0]
}

/// Islands of nets, and the unknowns of their potentials. At 0 Hz every island counts from a net of its own; elsewhere
/// one without a path to the reference is a mistake that the factorisation finds.
fn grounded(network: &Network, values: &Values) -> (Vec<usize>, Vec<Option<usize>>) {
    let islands = islands(network, values);
    let mut next = 0;
    let unknowns = islands.iter().enumerate().map(|(net, &first)| {
        let is_counted_from = if values.is_direct { first == net } else { net == 0 };
        (!is_counted_from).then(|| {
            next += 1;
            next - 1
        })
    });
    let unknowns = unknowns.collect();
    (islands, unknowns)
}

/// For each net the first of those that it has a path to.
fn islands(network: &Network, values: &Values) -> Vec<usize> {
    fn first(islands: &[usize], mut net: usize) -> usize {
        while islands[net] != net {
            net = islands[net];
        }
        net
    }
    let mut islands: Vec<usize> = (0..network.net_count()).collect();
    for (branch, _) in network.branches().iter().zip(&values.impedances).filter(|(_, z)| z.is_some()) {
        let (a, b) = (first(&islands, branch.from.0), first(&islands, branch.to.0));
        islands[a.max(b)] = a.min(b);
    }
    (0..network.net_count()).map(|net| first(&islands, net)).collect()
}
