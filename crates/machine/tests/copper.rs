//! Resistance of copper against temperature and wire gauge, held to published figures.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{assert_digits, assert_near};
use machine::copper::{
    COPPER_ZERO_RESISTANCE_CELSIUS, awg_diameter_metres, awg_ohms_per_metre, ohms_per_metre, resistance_ratio,
};

/// Temperature at which a winding has the given ratio to its cold resistance, by bisection on the crate's ratio.
fn celsius_for_ratio(ratio: f64, cold_celsius: f64) -> f64 {
    let (mut low, mut high) = (-50.0, 400.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if resistance_ratio(middle, cold_celsius) < ratio { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// The resistance method of US product standards (clause 49.8), `T = R/r (234.5 + t) - 234.5`: 20 to 25 ohms from 25 C is
/// 89.875 C, with the room at 27 C a rise of 62.875 K (worked by hand).
#[test]
fn resistance_method_of_us_product_standards() {
    let hot = celsius_for_ratio(25.0 / 20.0, 25.0);
    assert_digits(hot, "89.875");
    assert_digits(hot - 27.0, "62.875");
    // IEC 60034-1's constant of 235 would give 90.000 C.
    assert!((hot - 90.0).abs() > 0.1);
}

/// Temperature coefficient at 20 C: 1 / 254.5 = 0.00392927 per kelvin; IEC 60028 rounds to 0.00393.
#[test]
fn temperature_coefficient_at_20_celsius() {
    let per_kelvin = resistance_ratio(21.0, 20.0) - 1.0;
    assert_digits(per_kelvin, "0.00392927");
    assert_digits(per_kelvin, "0.00393");
    assert_eq!(resistance_ratio(-COPPER_ZERO_RESISTANCE_CELSIUS, 20.0), 0.0);
}

/// Ratios chain: cold to warm to hot is cold to hot.
#[test]
fn ratios_chain_over_an_intermediate_temperature() {
    let (cold, warm, hot) = (-5.0, 23.0, 118.0);
    let through = resistance_ratio(hot, warm) * resistance_ratio(warm, cold);
    assert_near(through, resistance_ratio(hot, cold), 1e-14);
    assert_eq!(resistance_ratio(cold, cold), 1.0);
}

/// Gauge, diameter in millimetres and ohms per kilometre recomputed with 0.017241 ohm mm^2/m, and ohms per kilometre as
/// published in wire tables (HyperPhysics, 1728.org), which use a slightly different resistivity.
const WIRE_TABLE: [(f64, &str, &str, f64); 13] = [
    (10.0, "2.5882", "3.277", 3.28),
    (14.0, "1.6277", "8.285", 8.28),
    (18.0, "1.0237", "20.948", 20.94),
    (20.0, "0.8118", "33.308", 33.29),
    (22.0, "0.6438", "52.962", 52.94),
    (24.0, "0.5106", "84.213", 84.20),
    (26.0, "0.4049", "133.904", 133.86),
    (28.0, "0.3211", "212.916", 212.87),
    (30.0, "0.2546", "338.550", 338.50),
    (32.0, "0.2019", "538.315", 538.25),
    (34.0, "0.1601", "855.955", 855.75),
    (36.0, "0.1270", "1361.022", 1360.00),
    (40.0, "0.0799", "3441.069", 3440.00),
];

#[test]
fn american_wire_gauges() {
    for (gauge, diameter, recomputed, published) in WIRE_TABLE {
        assert_digits(1e3 * awg_diameter_metres(gauge), diameter);
        // 1/58 rounds to 0.017241.
        assert_digits(1e3 * awg_ohms_per_metre(gauge) * (0.017241 * 58.0), recomputed);
        assert_near(1e3 * awg_ohms_per_metre(gauge), published, 1e-3);
    }
}

/// Shop rules: three gauges double the resistance, ten gauges make it ten times (both rounded).
#[test]
fn shop_rules_for_gauges() {
    for gauge in [10.0, 18.0, 26.0] {
        assert_near(awg_ohms_per_metre(gauge + 3.0) / awg_ohms_per_metre(gauge), 2.0, 0.01);
        assert_near(awg_ohms_per_metre(gauge + 10.0) / awg_ohms_per_metre(gauge), 10.0, 0.02);
    }
}

/// IEC 60028: one metre of one square millimetre has 1/58 ohm at 20 C.
#[test]
fn annealed_copper_standard() {
    assert_near(ohms_per_metre(1e-6), 1.0 / 58.0, 1e-14);
}
