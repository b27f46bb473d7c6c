//! The size of a wire inside a unit, and what it may carry.

use crate::job::Positive;
use serde::de::{Deserialize, Deserializer};

/// Square millimetres of a copper conductor with PVC insulation, its wire gauge, and the amperes it may carry all the time
/// in air of 40 degrees Celsius, three loaded conductors together lying open (method E).
///
/// IEC 60204-1, table of current-carrying capacities, as quoted for both sizes in a drive maker's manual
/// (product-help.schneider-electric.com, cross sections of motor cables). Wires of silicone or fluoroplastic bear more.
const AMPS: [(f64, f64, f64); 9] = [
    (0.75, 18.0, 10.4),
    (1.0, 16.0, 12.4),
    (1.5, 14.0, 16.1),
    (2.5, 12.0, 22.0),
    (4.0, 10.0, 30.0),
    (6.0, 8.0, 37.0),
    (10.0, 6.0, 52.0),
    (16.0, 4.0, 70.0),
    (25.0, 2.0, 88.0),
];
/// Sizes of wires in such units (common practice, no source).
const USUAL_SQUARE_MILLIMETRES: [f64; 2] = [0.03, 50.0];
const USUAL_GAUGES: [f64; 2] = [1.0, 32.0];

/// The size of a wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WireSize {
    /// Section, square millimetres.
    SquareMillimetres(f64),
    /// American wire gauge.
    Gauge(f64),
}

impl WireSize {
    /// What it may carry, amperes: that of the next smaller size in the table; `None` if it is below all of them.
    pub fn amps(self) -> Option<f64> {
        let bears = |&(section, gauge, _): &(f64, f64, f64)| match self {
            WireSize::SquareMillimetres(own) => section <= own,
            // A larger number is a thinner wire.
            WireSize::Gauge(own) => gauge >= own,
        };
        AMPS.iter().filter(|row| bears(row)).map(|(.., amps)| *amps).reduce(f64::max)
    }
}

/// Section of a wire as typed, square millimetres.
#[derive(Debug, Clone, Copy, PartialEq, schemars::JsonSchema)]
#[schemars(with = "Positive")]
pub struct SquareMillimetres(pub f64);

impl<'de> Deserialize<'de> for SquareMillimetres {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mend = "write the section, not the diameter or strands, or leave it out if it is not known";
        let typed = Positive::deserialize(deserializer)?;
        typed.within(USUAL_SQUARE_MILLIMETRES, "a wire of", "square millimetres", mend).map(SquareMillimetres)
    }
}

/// Gauge of a wire as typed.
#[derive(Debug, Clone, Copy, PartialEq, schemars::JsonSchema)]
#[schemars(with = "Positive")]
pub struct Gauge(pub f64);

impl<'de> Deserialize<'de> for Gauge {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mend = "write square_millimetres for a metric size, or leave it out if it is not known";
        Positive::deserialize(deserializer)?.within(USUAL_GAUGES, "a wire of", "AWG", mend).map(Gauge)
    }
}
