//! What is kept of the inverse, and the inner loop over readings.
//!
//! Everything is an array over readings, so that one variant is a walk along a few of them. Next to every number is by
//! how much it may be off; errors of first order are carried through the update:
//!
//! ```text
//! T = I + D Z,  w = T^-1 D V:   |dw| <= |T^-1| (|dT| |w| + |D dV|)
//! reading = r - M w:            |d reading| <= |dr| + |M| |dw| + |dM| |w|
//! ```
//!
//! which grows without bound as `T` comes near to singular. Sizes are `|re| + |im|`, at most 1.4 times too large.

use super::equations::{Equations, Place, Rounded, Solved};
use super::{Reading, TOLERANCE, Variant};
use num_complex::Complex64;
use std::ops::{Add, Div, Mul, Sub};

/// Estimates of errors must stay this far below [`TOLERANCE`]: they are samples, not bounds (engineering judgement).
const SAFETY: f64 = 10.0;
/// Errors of first order say something up to this relative change of `T` (engineering judgement).
const FIRST_ORDER: f64 = 1e-3;
/// Ohms below this are as good as a direct contact: errors are relative to it.
const CONTACT_OHMS: f64 = 1e-6;

/// Real at 0 Hz, else complex.
pub(super) trait Scalar:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    fn of(phasor: Complex64) -> Self;
    fn phasor(self) -> Complex64;
    fn size(self) -> f64;
}

impl Scalar for f64 {
    fn of(phasor: Complex64) -> f64 {
        phasor.re
    }
    fn phasor(self) -> Complex64 {
        self.into()
    }
    fn size(self) -> f64 {
        self.abs()
    }
}

impl Scalar for Complex64 {
    fn of(phasor: Complex64) -> Complex64 {
        phasor
    }
    fn phasor(self) -> Complex64 {
        self
    }
    fn size(self) -> f64 {
        self.l1_norm()
    }
}

/// Collects what tables are made of.
pub(super) struct Builder {
    /// Readings that are answered for; the further ones only tell how large things are.
    count: usize,
    source_volts: f64,
    kinds: Vec<Kind>,
    base: Vec<Rounded>,
    /// The solution that a reading has for itself.
    own: Vec<Option<Solved>>,
    sources: Option<Solved>,
    /// By place and reading.
    influence: Vec<Vec<Rounded>>,
    /// By place and reading.
    touched: Vec<Vec<Rounded>>,
    /// By place and place of the column.
    between: Vec<Vec<Rounded>>,
    sized: Vec<Option<(usize, Option<Complex64>)>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Volts,
    Amperes,
    Ohms,
    Apart,
}

/// Numbers, their sizes and doubts, as arrays.
#[derive(Debug)]
struct Numbers<T> {
    values: Vec<T>,
    sizes: Vec<f64>,
    doubts: Vec<f64>,
}

/// A change as a line of `T`: `own w + size (Z w) = size V`.
#[derive(Debug, Clone, Copy)]
struct Line<T> {
    place: usize,
    own: T,
    size: T,
}

#[derive(Debug)]
pub(super) struct Tables<T> {
    /// By reading in the order volts, amperes, ohms: where its value belongs; not for those that are only for scale.
    positions: Vec<Option<usize>>,
    volts: usize,
    amperes: usize,
    /// Of the largest source.
    source_volts: f64,
    /// Ohms between islands.
    apart: Vec<usize>,
    base: Numbers<T>,
    /// `M`, by place and reading.
    influence: Numbers<T>,
    /// `V`, by place, of the solution with sources.
    touched_by_sources: Numbers<T>,
    /// `V`, by place and reading of ohms.
    touched: Numbers<T>,
    /// `Z`, by place and place.
    between: Numbers<T>,
    places: usize,
    changes: Vec<Option<Line<T>>>,
}

impl Builder {
    pub(super) fn new(count: usize, source_volts: f64) -> Self {
        let (kinds, base, own) = (Vec::new(), Vec::new(), Vec::new());
        let (influence, touched, between, sized) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Builder { count, source_volts, kinds, base, own, sources: None, influence, touched, between, sized }
    }

    pub(super) fn add_reading(&mut self, reading: Reading, value: Rounded, own: Option<Solved>) {
        self.kinds.push(match reading {
            Reading::Volts(..) => Kind::Volts,
            Reading::Amperes(_) => Kind::Amperes,
            Reading::Ohms(..) => Kind::Ohms,
        });
        self.base.push(value);
        self.own.push(own);
    }

    /// Ohms between nets without a path.
    pub(super) fn add_apart(&mut self) {
        self.kinds.push(Kind::Apart);
        self.base.push(Rounded { value: f64::INFINITY.into(), doubt: 0.0 });
        self.own.push(None);
    }

    pub(super) fn set_sources(&mut self, sources: Solved) {
        self.sources = Some(sources);
    }

    pub(super) fn set_changes(
        &mut self,
        equations: &Equations,
        readings: &[Reading],
        places: &[Place],
        columns: &[Solved],
        sized: Vec<Option<(usize, Option<Complex64>)>>,
    ) {
        let nothing = Rounded { value: Complex64::ZERO, doubt: 0.0 };
        for (&place, column) in places.iter().zip(columns) {
            self.influence.push(readings.iter().map(|&reading| equations.read(reading, column)).collect());
            let solution = |own: &Option<Solved>| match own.as_ref().or(self.sources.as_ref()) {
                Some(solved) => equations.touched(place, solved),
                None => nothing,
            };
            self.touched.push(self.own.iter().map(solution).collect());
            self.between.push(columns.iter().map(|column| equations.touched(place, column)).collect());
        }
        self.sized = sized;
    }

    /// The readings of the network itself; answers whether they can be relied on.
    pub(super) fn readings(&self, into: &mut [Complex64]) -> bool {
        let mut scales = [Scale::from(self.source_volts), Scale::from(0.0)];
        let mut good = true;
        for (reading, (kind, base)) in self.kinds.iter().zip(&self.base).enumerate() {
            match kind {
                Kind::Volts => scales[0].add(base.value.size(), base.doubt),
                Kind::Amperes => scales[1].add(base.value.size(), base.doubt),
                Kind::Ohms => good &= ohms_are_good(base.value.size(), base.doubt),
                Kind::Apart => {}
            }
            if let Some(into) = into.get_mut(reading) {
                *into = base.value;
            }
        }
        good && scales.iter().all(Scale::is_good)
    }

    pub(super) fn tables<T: Scalar>(&self) -> Tables<T> {
        let of_kind = |kind: Kind| (0..self.kinds.len()).filter(move |&reading| self.kinds[reading] == kind);
        let shared: Vec<usize> = of_kind(Kind::Volts).chain(of_kind(Kind::Amperes)).collect();
        let ohms: Vec<usize> = of_kind(Kind::Ohms).collect();
        let order: Vec<usize> = shared.iter().chain(&ohms).copied().collect();
        let rows = |table: &[Vec<Rounded>], order: &[usize]| {
            Numbers::new(table.iter().flat_map(|row| order.iter().map(|&reading| row[reading])))
        };
        let first: Vec<usize> = shared.first().copied().into_iter().collect();
        Tables {
            positions: order.iter().map(|&reading| (reading < self.count).then_some(reading)).collect(),
            volts: of_kind(Kind::Volts).count(),
            amperes: of_kind(Kind::Amperes).count(),
            source_volts: self.source_volts,
            apart: of_kind(Kind::Apart).collect(),
            base: Numbers::new(order.iter().map(|&reading| self.base[reading])),
            influence: rows(&self.influence, &order),
            touched_by_sources: rows(&self.touched, &first),
            touched: rows(&self.touched, &ohms),
            between: Numbers::new(self.between.iter().flatten().copied()),
            places: self.between.len(),
            changes: self.sized.iter().map(|sized| sized.map(|(place, size)| Line::new(place, size))).collect(),
        }
    }
}

impl<T: Scalar> Line<T> {
    /// A line of the inverse size where the size is large or infinite.
    fn new(place: usize, size: Option<Complex64>) -> Self {
        let (own, size) = match size {
            None => (Complex64::ZERO, Complex64::ONE),
            Some(size) if size.norm() > 1.0 => (size.inv(), Complex64::ONE),
            Some(size) => (Complex64::ONE, size),
        };
        Line { place, own: T::of(own), size: T::of(size) }
    }

    /// Beside another change: none.
    fn none(place: usize) -> Self {
        Line { place, own: T::of(Complex64::ONE), size: T::of(Complex64::ZERO) }
    }
}

impl<T: Scalar> Numbers<T> {
    fn new(numbers: impl Iterator<Item = Rounded>) -> Self {
        let mut all = Numbers { values: Vec::new(), sizes: Vec::new(), doubts: Vec::new() };
        for number in numbers {
            let value = T::of(number.value);
            all.values.push(value);
            all.sizes.push(value.size());
            // The rounding of a product with it is put in with the number.
            all.doubts.push(number.doubt + f64::EPSILON * value.size());
        }
        all
    }
}

/// Largest value of a kind, and largest error.
struct Scale {
    largest: f64,
    doubt: f64,
}

impl Scale {
    fn from(least: f64) -> Self {
        Scale { largest: least, doubt: 0.0 }
    }

    fn add(&mut self, size: f64, doubt: f64) {
        self.largest = if size > self.largest { size } else { self.largest };
        self.doubt = if doubt > self.doubt { doubt } else { self.doubt };
    }

    fn is_good(&self) -> bool {
        SAFETY * self.doubt <= TOLERANCE * self.largest
    }
}

fn ohms_are_good(size: f64, doubt: f64) -> bool {
    SAFETY * doubt <= TOLERANCE * size.max(CONTACT_OHMS)
}

/// `T^-1` of two changes, and what is known of its errors.
struct Inverse<T> {
    entries: [[T; 2]; 2],
    sizes: [[f64; 2]; 2],
    /// By how much `T` may be off.
    doubts: [[f64; 2]; 2],
    /// Relative rounding of the determinant.
    rounding: f64,
    lines: [Line<T>; 2],
}

/// `w` of one solution, its sizes and errors.
struct Response<T> {
    values: [T; 2],
    sizes: [f64; 2],
    doubts: [f64; 2],
}

impl<T: Scalar> Inverse<T> {
    /// `None` where it is too close to singular for its errors to be known.
    fn new(lines: [Line<T>; 2], between: &Numbers<T>, places: usize) -> Option<Self> {
        let mut entries = [[lines[0].own; 2]; 2];
        let mut doubts = [[0.0; 2]; 2];
        for (row, line) in lines.iter().enumerate() {
            for (column, other) in lines.iter().enumerate() {
                let index = line.place * places + other.place;
                let product = line.size * between.values[index];
                entries[row][column] = if row == column { line.own + product } else { product };
                let own = if row == column { f64::EPSILON * line.own.size() } else { 0.0 };
                doubts[row][column] =
                    own + line.size.size() * (between.doubts[index] + f64::EPSILON * between.sizes[index]);
            }
        }
        let [[a, b], [c, d]] = entries;
        let determinant = a * d - b * c;
        let rounding = 2.0 * f64::EPSILON * ((a * d).size() + (b * c).size()) / determinant.size();
        let zero = T::of(Complex64::ZERO);
        let entries = [[d / determinant, (zero - b) / determinant], [(zero - c) / determinant, a / determinant]];
        let sizes = entries.map(|row| row.map(Scalar::size));
        let relative = rounding
            + sizes[0][0] * doubts[0][0]
            + sizes[0][1] * doubts[1][0]
            + sizes[1][0] * doubts[0][1]
            + sizes[1][1] * doubts[1][1];
        (relative < FIRST_ORDER).then_some(Inverse { entries, sizes, doubts, rounding, lines })
    }

    fn response(&self, touched: [T; 2], touched_doubts: [f64; 2]) -> Response<T> {
        let [first, second] = self.lines;
        let right = [first.size * touched[0], second.size * touched[1]];
        let right_doubts = [first.size.size() * touched_doubts[0], second.size.size() * touched_doubts[1]];
        let [[a, b], [c, d]] = self.entries;
        let values = [a * right[0] + b * right[1], c * right[0] + d * right[1]];
        let sizes = values.map(Scalar::size);
        let off = [0, 1].map(|row| self.doubts[row][0] * sizes[0] + self.doubts[row][1] * sizes[1] + right_doubts[row]);
        let rounding = self.rounding + 4.0 * f64::EPSILON;
        let doubts = [0, 1].map(|row| {
            let terms = self.sizes[row][0] * right[0].size() + self.sizes[row][1] * right[1].size();
            self.sizes[row][0] * off[0] + self.sizes[row][1] * off[1] + rounding * terms
        });
        Response { values, sizes, doubts }
    }
}

impl<T: Scalar> Tables<T> {
    /// Values of all readings under a variant; answers whether they can be relied on.
    pub(super) fn evaluate(&self, variant: Variant, into: &mut [Complex64]) -> bool {
        let Some(lines) = self.lines(variant) else { return false };
        let Some(inverse) = Inverse::new(lines, &self.between, self.places) else { return false };
        let [first, second] = lines.map(|line| line.place);
        let shared = self.volts + self.amperes;
        let count = self.positions.len();
        let rows = [first, second].map(|place| Row::of(&self.influence, place * count, count));
        if shared > 0 {
            let touched = &self.touched_by_sources;
            let response = inverse.response(
                [touched.values[first], touched.values[second]],
                [touched.doubts[first], touched.doubts[second]],
            );
            if !response.doubts.iter().sum::<f64>().is_finite() {
                return false;
            }
            for (range, least) in [(0..self.volts, self.source_volts), (self.volts..shared, 0.0)] {
                let mut scale = Scale::from(least);
                for reading in range {
                    let (value, doubt) = self.reading(reading, &rows, &response);
                    scale.add(value.size(), doubt);
                    if let Some(position) = self.positions[reading] {
                        into[position] = value.phasor();
                    }
                }
                if !scale.is_good() {
                    return false;
                }
            }
        }
        let ohms = count - shared;
        let touched = [first, second].map(|place| Row::of(&self.touched, place * ohms, ohms));
        for own in 0..ohms {
            let response = inverse.response(
                [touched[0].values[own], touched[1].values[own]],
                [touched[0].doubts[own], touched[1].doubts[own]],
            );
            let reading = shared + own;
            let (value, doubt) = self.reading(reading, &rows, &response);
            // Also where either is not a number.
            if !ohms_are_good(value.size(), doubt) {
                return false;
            }
            if let Some(position) = self.positions[reading] {
                into[position] = value.phasor();
            }
        }
        for &position in &self.apart {
            into[position] = f64::INFINITY.into();
        }
        true
    }

    fn reading(&self, reading: usize, rows: &[Row<'_, T>; 2], response: &Response<T>) -> (T, f64) {
        let [a, b] = rows;
        let value = self.base.values[reading]
            - (a.values[reading] * response.values[0] + b.values[reading] * response.values[1]);
        let doubt = self.base.doubts[reading]
            + (a.sizes[reading] * response.doubts[0] + b.sizes[reading] * response.doubts[1])
            + (a.doubts[reading] * response.sizes[0] + b.doubts[reading] * response.sizes[1]);
        (value, doubt)
    }

    /// A single change is two of which the other does nothing. `None` if one cannot be an update.
    fn lines(&self, variant: Variant) -> Option<[Line<T>; 2]> {
        match variant {
            Variant::One(change) => {
                let line = self.changes[change]?;
                Some([line, Line::none(line.place)])
            }
            Variant::Two(first, second) => {
                let (first, second) = (self.changes[first]?, self.changes[second]?);
                let replaced = first.place == second.place;
                Some([if replaced { Line::none(first.place) } else { first }, second])
            }
        }
    }
}

/// One place's part of a table.
struct Row<'t, T> {
    values: &'t [T],
    sizes: &'t [f64],
    doubts: &'t [f64],
}

impl<'t, T> Row<'t, T> {
    fn of(numbers: &'t Numbers<T>, from: usize, count: usize) -> Self {
        Row {
            values: &numbers.values[from..from + count],
            sizes: &numbers.sizes[from..from + count],
            doubts: &numbers.doubts[from..from + count],
        }
    }
}
