//! Copper, and the aluminium of cages: resistance against temperature, and against wire size.

use std::f64::consts::PI;

/// Kelvins below 0 degrees Celsius at which copper's straight-line resistance law reaches zero.
///
/// Source: US product standards' resistance method (234.5); IEC 60034-1 uses 235, which differs by 0.2 % of a rise.
pub const COPPER_ZERO_RESISTANCE_CELSIUS: f64 = 234.5;

/// Resistivity of annealed copper at 20 degrees Celsius, ohm metres: 1/58 ohm mm^2/m (IEC 60028).
pub const COPPER_RESISTIVITY_20C: f64 = 1.0 / 58.0e6;

/// Ratio of a copper resistance at `celsius` to the same at `reference_celsius`.
///
/// Source: `R = R_ref (K + T) / (K + T_ref)`, K = [`COPPER_ZERO_RESISTANCE_CELSIUS`].
pub fn resistance_ratio(celsius: f64, reference_celsius: f64) -> f64 {
    (COPPER_ZERO_RESISTANCE_CELSIUS + celsius) / (COPPER_ZERO_RESISTANCE_CELSIUS + reference_celsius)
}

/// Kelvins below 0 degrees Celsius at which the straight-line resistance law of aluminium reaches zero.
///
/// Source: US product standards' resistance method (225.0 for electrical conductor grade).
pub const ALUMINIUM_ZERO_RESISTANCE_CELSIUS: f64 = 225.0;

/// Ratio of an aluminium cage's resistance at `celsius` to the same at `reference_celsius`.
///
/// Source: as [`resistance_ratio`], with [`ALUMINIUM_ZERO_RESISTANCE_CELSIUS`].
pub fn cage_ratio(celsius: f64, reference_celsius: f64) -> f64 {
    (ALUMINIUM_ZERO_RESISTANCE_CELSIUS + celsius) / (ALUMINIUM_ZERO_RESISTANCE_CELSIUS + reference_celsius)
}

/// Diameter in metres of an American wire gauge: `0.127 mm * 92^((36 - n) / 39)` (ASTM B258).
pub fn awg_diameter_metres(gauge: f64) -> f64 {
    0.127e-3 * 92f64.powf((36.0 - gauge) / 39.0)
}

/// Ohms per metre at 20 degrees Celsius of solid copper of an American wire gauge.
pub fn awg_ohms_per_metre(gauge: f64) -> f64 {
    ohms_per_metre(PI / 4.0 * awg_diameter_metres(gauge).powi(2))
}

/// Ohms per metre at 20 degrees Celsius of copper of the given section in square metres.
pub fn ohms_per_metre(section_square_metres: f64) -> f64 {
    COPPER_RESISTIVITY_20C / section_square_metres
}
