//! A number that remembers how it moves with the unknowns it was computed from.

use smallvec::SmallVec;
use std::ops::{Add, Div, Mul, Sub};

/// Index of an unknown that values may depend on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct UnknownId(pub usize);

/// A real value and its partial derivatives with respect to the few unknowns behind it.
///
/// Forward differentiation with sparse derivatives: a network value depends on one to four unknowns, so a short
/// list beats a dense vector. Arithmetic follows the sum, product and quotient rules exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    value: f64,
    slopes: SmallVec<[(UnknownId, f64); 2]>,
}

impl Quantity {
    /// A value that depends on no unknown.
    pub fn constant(value: f64) -> Self {
        Quantity { value, slopes: SmallVec::new() }
    }

    /// `median * exp(deviation)`, where `deviation` is the unknown itself (log scale).
    pub fn log_unknown(median: f64, unknown: UnknownId, deviation: f64) -> Self {
        let value = median * deviation.exp();
        Quantity { value, slopes: SmallVec::from_slice(&[(unknown, value)]) }
    }

    /// A value whose derivatives the caller gives, each unknown at most once.
    pub fn with_slopes(value: f64, slopes: impl IntoIterator<Item = (UnknownId, f64)>) -> Self {
        Quantity { value, slopes: slopes.into_iter().filter(|(_, slope)| *slope != 0.0).collect() }
    }

    /// The value itself.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Partial derivatives, each unknown at most once.
    pub fn slopes(&self) -> &[(UnknownId, f64)] {
        &self.slopes
    }

    /// `f(value)` where the caller gives the new value and `df/dvalue`.
    pub fn map(&self, new_value: f64, derivative: f64) -> Self {
        Quantity {
            value: new_value,
            slopes: self.slopes.iter().map(|&(unknown, slope)| (unknown, slope * derivative)).collect(),
        }
    }

    /// One divided by this value.
    pub fn recip(&self) -> Self {
        self.map(1.0 / self.value, -1.0 / (self.value * self.value))
    }

    /// `a * x + b * y` by the sum rule; the one place where derivative lists are merged.
    fn combine(x: &Quantity, a: f64, y: &Quantity, b: f64, value: f64) -> Quantity {
        let mut slopes: SmallVec<[(UnknownId, f64); 2]> =
            x.slopes.iter().map(|&(unknown, slope)| (unknown, a * slope)).collect();
        for &(unknown, slope) in &y.slopes {
            match slopes.iter_mut().find(|(known, _)| *known == unknown) {
                Some((_, sum)) => *sum += b * slope,
                None => slopes.push((unknown, b * slope)),
            }
        }
        Quantity { value, slopes }
    }
}

impl From<f64> for Quantity {
    fn from(value: f64) -> Self {
        Quantity::constant(value)
    }
}

impl Add for &Quantity {
    type Output = Quantity;
    fn add(self, other: &Quantity) -> Quantity {
        Quantity::combine(self, 1.0, other, 1.0, self.value + other.value)
    }
}

impl Sub for &Quantity {
    type Output = Quantity;
    fn sub(self, other: &Quantity) -> Quantity {
        Quantity::combine(self, 1.0, other, -1.0, self.value - other.value)
    }
}

impl Mul for &Quantity {
    type Output = Quantity;
    fn mul(self, other: &Quantity) -> Quantity {
        Quantity::combine(self, other.value, other, self.value, self.value * other.value)
    }
}

impl Div for &Quantity {
    type Output = Quantity;
    fn div(self, other: &Quantity) -> Quantity {
        let quotient = self.value / other.value;
        Quantity::combine(self, 1.0 / other.value, other, -quotient / other.value, quotient)
    }
}

impl Mul<f64> for &Quantity {
    type Output = Quantity;
    fn mul(self, factor: f64) -> Quantity {
        self.map(self.value * factor, factor)
    }
}

impl Add<f64> for &Quantity {
    type Output = Quantity;
    fn add(self, summand: f64) -> Quantity {
        self.map(self.value + summand, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unknown(index: usize, median: f64) -> Quantity {
        Quantity::log_unknown(median, UnknownId(index), 0.1)
    }

    fn slope(quantity: &Quantity, index: usize) -> f64 {
        quantity.slopes().iter().find(|(id, _)| id.0 == index).map_or(0.0, |&(_, slope)| slope)
    }

    #[test]
    fn product_of_powers_has_the_log_derivatives_of_its_exponents() {
        // d ln(a b / a^-1) / d ln a = 2, by hand.
        let (a, b) = (unknown(0, 3.0), unknown(1, 7.0));
        let product = &(&a * &b) / &a.recip();
        assert!((slope(&product, 0) / product.value() - 2.0).abs() < 1e-14);
        assert!((slope(&product, 1) / product.value() - 1.0).abs() < 1e-14);
    }

    #[test]
    fn quotient_rule_agrees_with_central_differences() {
        let f = |t: f64| {
            let x = Quantity::log_unknown(2.0, UnknownId(0), t);
            &(&(&x * 3.0) + 1.0) / &(&(&x * &x) - &Quantity::constant(0.5))
        };
        let step = 1e-6;
        let numeric = (f(0.2 + step).value() - f(0.2 - step).value()) / (2.0 * step);
        assert!((slope(&f(0.2), 0) - numeric).abs() < 1e-8 * numeric.abs());
    }
}
