//! One network and thousands of variants of it: a branch opened, shorted or changed, or two at once.
//!
//! A network is compiled once: its equations `A x = b` are factorised, and of the inverse only what readings `c` and
//! changes `u v^T` touch is kept. With changes of sizes `d_k` the Sherman-Morrison-Woodbury formula then gives
//!
//! ```text
//! (I + D V^T A^-1 U) w = D V^T x      (one or two unknowns)
//! reading = c^T x - c^T A^-1 U w
//! ```
//!
//! An ideal short or open is an infinite `d_k`: its line is divided by it. Source: Hager, "Updating the inverse of a
//! matrix", SIAM Review 31 (1989).
//!
//! The formula loses digits where the changed network is close to singular although the first is not, or the other way
//! round. So every value carries an estimate of what rounding makes of it (`tables`); a variant for which that is not
//! far below [`TOLERANCE`] is solved anew, and one for which even that is not good enough is said to be uncertain.

mod equations;
mod tables;

use crate::SolveError;
use crate::network::{BranchId, FieldId, NetId, Network};
use equations::{Equations, OWN_CURRENT_OHMS, Place, Solved, Values};
use num_complex::Complex64;
use rayon::prelude::*;
use tables::{Builder, Tables};

/// What values are good to, relative to the largest voltage or current looked at in the same variant, sources included;
/// resistances relative to themselves.
pub const TOLERANCE: f64 = 1e-10;
/// Variants that one thread takes at a time.
const BATCH: usize = 256;

/// What is read in every variant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// The voltage `plus - minus` in volts; not at 0 Hz, where sources rest.
    Volts(NetId, NetId),
    /// Amperes through a branch, from its `from` to its `to`; not at 0 Hz.
    Amperes(BranchId),
    /// Ohms between two nets with all sources at rest; infinite without a path.
    Ohms(NetId, NetId),
}

/// What can be done to the network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// The branch gets this impedance, ohms; at 0 Hz its real part counts. A source in it stays.
    Impedance(BranchId, Complex64),
    /// Nothing passes the branch.
    Open(BranchId),
    /// The branch has no impedance. A source in it stays.
    Short(BranchId),
    /// A field gets this impedance, ohms: all that is coupled by it changes at once. Nothing happens at 0 Hz.
    Field(FieldId, Complex64),
}

/// Changes made at once, by their index in the list that was compiled; of two at the same place the second counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Variant {
    /// One change.
    One(usize),
    /// Two changes.
    Two(usize, usize),
}

impl Variant {
    fn changes(&self) -> impl Iterator<Item = usize> {
        let (first, second) = match *self {
            Variant::One(change) => (change, None),
            Variant::Two(first, second) => (first, Some(second)),
        };
        std::iter::once(first).chain(second)
    }
}

/// How much work was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Factorisations of the whole network, those of fallbacks included.
    pub factorisations: usize,
    /// Variants whose values come from an update.
    pub updates: usize,
    /// Variants that an update would have lost too many digits of, or all, and that were solved anew.
    pub fallbacks: usize,
}

impl std::ops::AddAssign for Work {
    fn add_assign(&mut self, other: Work) {
        self.factorisations += other.factorisations;
        self.updates += other.updates;
        self.fallbacks += other.fallbacks;
    }
}

/// What is wrong with the values of a variant.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// It has no solution.
    #[error(transparent)]
    Unsolvable(#[from] SolveError),
    /// Even solved anew its values may be off by more than [`TOLERANCE`].
    #[error("the values of this variant may be off by more than {TOLERANCE:e} of the largest")]
    Uncertain,
}

/// Values of all readings under many variants. Kept from call to call, it allocates only where it grows.
#[derive(Debug, Clone, Default)]
pub struct Evaluated {
    reading_count: usize,
    values: Vec<Complex64>,
    troubles: Vec<(usize, Trouble)>,
    /// Work of the last call.
    pub work: Work,
}

impl Evaluated {
    /// Values of a variant, by its place in the list that was evaluated, in the order of the readings: RMS phasors, or
    /// ohms; at 0 Hz the real part.
    ///
    /// # Errors
    /// [`Trouble`] if it has no solution, or none that can be relied on.
    pub fn values(&self, variant: usize) -> Result<&[Complex64], &Trouble> {
        match self.troubles.binary_search_by_key(&variant, |(place, _)| *place) {
            Ok(found) => Err(&self.troubles[found].1),
            Err(_) => Ok(&self.values[variant * self.reading_count..][..self.reading_count]),
        }
    }
}

/// A network prepared for variants of it.
#[derive(Debug)]
pub struct Compiled<'n> {
    network: &'n Network,
    values: Values,
    readings: Vec<Reading>,
    changes: Vec<Change>,
    tables: Kept,
}

/// What is kept of the inverse: real numbers do at 0 Hz.
#[derive(Debug)]
enum Kept {
    Direct(Tables<f64>),
    Phasor(Tables<Complex64>),
}

impl<'n> Compiled<'n> {
    /// Compiles a network at its frequency, with its fields closed by the given impedances.
    ///
    /// # Errors
    /// [`SolveError`] as of [`crate::Factored::new`], or for a field impedance that is not finite or missing.
    pub fn phasor(
        network: &'n Network,
        field_impedances: &[Complex64],
        readings: &[Reading],
        changes: &[Change],
    ) -> Result<Self, SolveError> {
        let values = Values::phasor(network, field_impedances)?;
        let builder = compile(network, &values, readings, changes)?;
        let tables = Kept::Phasor(builder.tables());
        Ok(Compiled { network, values, readings: readings.to_vec(), changes: changes.to_vec(), tables })
    }

    /// Compiles a network at 0 Hz, where only ohms can be read; contacts of no resistance are just that.
    ///
    /// # Errors
    /// [`SolveError::NotFinite`], or [`SolveError::Frequency`] for a reading of volts or amperes.
    pub fn direct(network: &'n Network, readings: &[Reading], changes: &[Change]) -> Result<Self, SolveError> {
        if readings.iter().any(|reading| !matches!(reading, Reading::Ohms(..))) {
            return Err(SolveError::Frequency { hertz: 0.0 });
        }
        let values = Values::direct(network)?;
        let builder = compile(network, &values, readings, changes)?;
        let tables = Kept::Direct(builder.tables());
        Ok(Compiled { network, values, readings: readings.to_vec(), changes: changes.to_vec(), tables })
    }

    /// Evaluates all readings under every variant on this thread.
    ///
    /// # Panics
    /// If a variant names a change that was not compiled: a mistake in the calling code.
    pub fn evaluate(&self, variants: &[Variant], into: &mut Evaluated) {
        into.reset(self.readings.len(), variants.len());
        into.work = self.batch(0, variants, &mut into.values, &mut into.troubles);
    }

    /// As [`Compiled::evaluate`], on all cores.
    ///
    /// # Panics
    /// As [`Compiled::evaluate`].
    pub fn evaluate_on_all_cores(&self, variants: &[Variant], into: &mut Evaluated) {
        if self.readings.is_empty() || variants.len() <= BATCH {
            return self.evaluate(variants, into);
        }
        into.reset(self.readings.len(), variants.len());
        let outputs = into.values.par_chunks_mut(BATCH * self.readings.len());
        let batches: Vec<(Work, Vec<(usize, Trouble)>)> = variants
            .par_chunks(BATCH)
            .zip(outputs)
            .enumerate()
            .map(|(batch, (variants, values))| {
                let mut troubles = Vec::new();
                (self.batch(batch * BATCH, variants, values, &mut troubles), troubles)
            })
            .collect();
        for (work, troubles) in batches {
            into.work += work;
            into.troubles.extend(troubles);
        }
    }

    /// Evaluates variants of which the first is the `first` of all.
    fn batch(
        &self,
        first: usize,
        variants: &[Variant],
        values: &mut [Complex64],
        troubles: &mut Vec<(usize, Trouble)>,
    ) -> Work {
        let mut work = Work::default();
        let count = self.readings.len();
        for (place, &variant) in variants.iter().enumerate() {
            let values = &mut values[place * count..][..count];
            let good = match &self.tables {
                Kept::Direct(tables) => tables.evaluate(variant, values),
                Kept::Phasor(tables) => tables.evaluate(variant, values),
            };
            if good {
                work.updates += 1;
                continue;
            }
            work.fallbacks += 1;
            work.factorisations += 1;
            if let Err(trouble) = self.solve_anew(variant, values) {
                troubles.push((first + place, trouble));
            }
        }
        work
    }

    fn solve_anew(&self, variant: Variant, into: &mut [Complex64]) -> Result<(), Trouble> {
        let mut values = self.values.clone();
        variant.changes().for_each(|change| values.change(&self.changes[change]));
        // Larger and slower, and better still: no admittances at all.
        let builder = compile_readings(self.network, &values, &self.readings, f64::INFINITY)?.0;
        match builder.readings(into) {
            true => Ok(()),
            false => Err(Trouble::Uncertain),
        }
    }
}

impl Evaluated {
    fn reset(&mut self, reading_count: usize, variant_count: usize) {
        self.reading_count = reading_count;
        self.values.resize(reading_count * variant_count, Complex64::ZERO);
        self.troubles.clear();
        self.work = Work::default();
    }
}

/// Readings, and what else is needed to know how large currents could be: that of every source.
fn with_scales(network: &Network, values: &Values, readings: &[Reading]) -> Vec<Reading> {
    let mut all = readings.to_vec();
    if readings.iter().any(|reading| !matches!(reading, Reading::Ohms(..))) {
        let sources = (0..network.branches().len()).filter(|&branch| values.has_source(branch));
        all.extend(sources.map(|branch| Reading::Amperes(BranchId(branch))));
    }
    all
}

/// The readings of the network as it is.
fn compile_readings(
    network: &Network,
    values: &Values,
    readings: &[Reading],
    own_current_ohms: f64,
) -> Result<(Builder, Equations), SolveError> {
    let all = with_scales(network, values, readings);
    let equations = Equations::new(network, values, &all, own_current_ohms)?;
    let mut builder = Builder::new(readings.len(), values.source_volts());
    let sources = equations.solve(equations.sources().to_vec());
    for &reading in &all {
        match reading {
            Reading::Ohms(plus, minus) if !equations.is_joined(plus, minus) => builder.add_apart(),
            Reading::Ohms(plus, minus) => {
                let injected = equations.solve(equations.injection(plus, minus));
                let value = equations.read(reading, &injected);
                builder.add_reading(reading, value, Some(injected));
            }
            _ => builder.add_reading(reading, equations.read(reading, &sources), None),
        }
    }
    builder.set_sources(sources);
    Ok((builder, equations))
}

fn compile(
    network: &Network,
    values: &Values,
    readings: &[Reading],
    changes: &[Change],
) -> Result<Builder, SolveError> {
    let (mut builder, equations) = compile_readings(network, values, readings, OWN_CURRENT_OHMS)?;
    let mut places: Vec<Place> = Vec::new();
    let mut columns: Vec<Solved> = Vec::new();
    let mut sized = Vec::new();
    for change in changes {
        let Some((place, size)) = equations.place_and_size(network, values, change) else {
            sized.push(None);
            continue;
        };
        let index = places.iter().position(|known| *known == place).unwrap_or_else(|| {
            columns.push(equations.solve(equations.column(place)));
            places.push(place);
            places.len() - 1
        });
        sized.push(Some((index, size)));
    }
    let all = with_scales(network, values, readings);
    builder.set_changes(&equations, &all, &places, &columns, sized);
    Ok(builder)
}
