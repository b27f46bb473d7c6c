//! How the iron of an induction motor is taken, as named in a job file.

use super::UnknownSpec;
use crate::saturation::{IRON_SHARE, IRON_SHARE_SPREAD, Saturation};
use serde::Deserialize;

/// How the iron of a motor is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Iron {
    /// In proportion at all volts: quick, and right near plate volts.
    Linear,
    /// Saturating, for readings at more or less than plate volts.
    Saturates,
}

/// What saturation adds to a part's unknowns, after all others.
pub(super) fn unknown(iron: Option<Iron>) -> Option<UnknownSpec> {
    let spec = || UnknownSpec::new("ampere-turns of the iron over the air gap's", IRON_SHARE, IRON_SHARE_SPREAD);
    (iron == Some(Iron::Saturates)).then(spec).map(|spec| spec.between_sisters(0.1))
}

/// The saturation of a part with so many other unknowns ahead.
pub(super) fn saturation(iron: Option<Iron>, others: usize, rated_gap_volts: f64) -> Option<Saturation> {
    (iron == Some(Iron::Saturates)).then_some(Saturation { share_unknown: others, rated_gap_volts })
}
