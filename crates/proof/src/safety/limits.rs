//! Limits: how each follows from what is known of the unit.

use super::appliance::{Appliance, Handling, ProtectionClass};
use super::entry::Quantity;
use super::rows::ROWS;
use super::{Scheme, Test};
use crate::source::Source;

/// Resistivity of annealed copper at 20 degrees Celsius, ohm square millimetres per metre: 1/58 (IEC 60028).
///
/// Cord tables allow more for stranded conductors, so a limit worked out with it is on the strict side.
pub const COPPER_OHM_SQUARE_MILLIMETRES_PER_METRE: f64 = 1.0 / 58.0;
/// Sections above this have their own limit of earth continuity, square millimetres.
const LARGER_SECTION: f64 = 1.5;

/// When a row holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum When {
    /// Whenever no row before it does.
    Otherwise,
    /// Heating elements of more than so many watts.
    HeatingAbove(f64),
    /// Heating elements of less than so many watts, but some.
    HeatingBelow(f64),
    /// Used in this way.
    Used(Handling),
    /// Stationary, and with heating elements.
    StationaryHeating,
    /// A protective conductor of more than 1.5 mm2.
    LargerSection,
}

impl When {
    fn holds(self, appliance: &Appliance) -> bool {
        let (watts, handling) = (appliance.heating_watts, appliance.strictest_handling());
        match self {
            When::Otherwise => true,
            When::HeatingAbove(least) => watts > least,
            When::HeatingBelow(most) => watts > 0.0 && watts < most,
            When::Used(used) => handling == used,
            When::StationaryHeating => handling == Handling::Stationary && watts > 0.0,
            When::LargerSection => {
                appliance.cord.and_then(|cord| cord.square_millimetres).is_some_and(|section| section > LARGER_SECTION)
            }
        }
    }
}

/// A figure of a table, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// No more.
    AtMost(f64),
    /// No less.
    AtLeast(f64),
    /// No more amperes than so many for each kilowatt of heating, but these at least and those at most.
    PerKilowatt {
        /// Amperes for each kilowatt.
        amperes: f64,
        /// However little the heating.
        at_least: f64,
        /// However much.
        at_most: f64,
    },
    /// Ohms up to a length, and more for each further step of length.
    ByLength {
        /// Ohms up to the first length.
        ohms: f64,
        /// The first length, metres.
        metres: f64,
        /// Ohms for each further step.
        step_ohms: f64,
        /// The step, metres.
        step_metres: f64,
        /// Never more, ohms.
        at_most: f64,
    },
    /// Ohms of the cord's conductor, and some for the joints.
    ByConductor {
        /// For the joints, ohms.
        joints_ohms: f64,
        /// Never more, ohms; infinite if the scheme says nothing.
        at_most: f64,
    },
    /// No breakdown at so many volts.
    Withstands(f64),
}

/// What a value is held to, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bound {
    /// No more.
    AtMost(f64),
    /// No less.
    AtLeast(f64),
}

impl Bound {
    /// `at most 0.3 ohm`.
    pub fn words(self, quantity: Quantity) -> String {
        match self {
            Bound::AtMost(value) => format!("at most {}", quantity.words(value)),
            Bound::AtLeast(value) => format!("at least {}", quantity.words(value)),
        }
    }
}

impl Figure {
    /// What a unit is held to; none for a test without a number.
    ///
    /// Only whole steps of length count, the stricter reading of 'per further 7.5 m'; a cord of unknown length or section
    /// allows nothing.
    pub fn bound(self, appliance: &Appliance) -> Option<Bound> {
        let cord = appliance.cord.unwrap_or_default();
        Some(match self {
            Figure::AtMost(value) => Bound::AtMost(value),
            Figure::AtLeast(value) => Bound::AtLeast(value),
            Figure::PerKilowatt { amperes, at_least, at_most } => {
                Bound::AtMost((amperes * appliance.heating_watts / 1000.0).max(at_least).min(at_most))
            }
            Figure::ByLength { ohms, metres, step_ohms, step_metres, at_most } => {
                let further = (cord.metres.unwrap_or(0.0) - metres).max(0.0);
                // A length such as 12.5 m must count whole, whatever rounding makes of it.
                let steps = (further / step_metres + 1e-9).floor();
                Bound::AtMost((ohms + step_ohms * steps).min(at_most))
            }
            Figure::ByConductor { joints_ohms, at_most } => {
                let conductor = match (cord.metres, cord.square_millimetres) {
                    (Some(metres), Some(section)) => COPPER_OHM_SQUARE_MILLIMETRES_PER_METRE * metres / section,
                    _ => 0.0,
                };
                Bound::AtMost((joints_ohms + conductor).min(at_most))
            }
            Figure::Withstands(_) => return None,
        })
    }

    /// How the limit comes about, where that is more than the figure.
    pub fn working(self, appliance: &Appliance) -> Option<String> {
        let cord = appliance.cord.unwrap_or_default();
        let length = cord.metres.map_or("length not given, so nothing is allowed for it".into(), |m| format!("{m} m"));
        match self {
            Figure::AtMost(_) | Figure::AtLeast(_) => None,
            Figure::Withstands(volts) => Some(format!("no breakdown at {volts} V for 1 min")),
            Figure::PerKilowatt { amperes, at_least, at_most } => Some(format!(
                "{} for each kW of {} kW heating, from {} to {}",
                Quantity::Amperes.words(amperes),
                appliance.heating_watts / 1000.0,
                Quantity::Amperes.words(at_least),
                Quantity::Amperes.words(at_most)
            )),
            Figure::ByLength { ohms, metres, step_ohms, step_metres, at_most } => Some(format!(
                "{ohms} ohm up to {metres} m, {step_ohms} ohm more for each whole further {step_metres} m, never above {at_most} \
                 ohm; cord: {length}"
            )),
            Figure::ByConductor { joints_ohms, .. } => {
                let section = cord
                    .square_millimetres
                    .map_or("section not given, so nothing is allowed for the conductor".into(), |s| {
                        format!("{s} mm2")
                    });
                Some(format!(
                    "{joints_ohms} ohm and the conductor of the cord, copper 1/58 ohm mm2/m: {length}, {section}"
                ))
            }
        }
    }
}

/// A row of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitRow {
    /// Region and edition.
    pub scheme: Scheme,
    /// The test.
    pub test: Test,
    /// The protection classes it is for.
    pub classes: &'static [ProtectionClass],
    /// When it holds.
    pub when: When,
    /// The figure.
    pub figure: Figure,
    /// With which voltage or current it is tested.
    pub with: &'static str,
    /// Where the figure comes from.
    pub source: Source,
}

/// Every row there is.
pub fn rows() -> &'static [LimitRow] {
    ROWS
}

/// The row that holds for a test of a unit; none if the scheme has no limit for it.
pub fn limit(scheme: Scheme, test: Test, appliance: &Appliance) -> Option<&'static LimitRow> {
    ROWS.iter().find(|row| {
        row.scheme == scheme && row.test == test && row.classes.contains(&appliance.class) && row.when.holds(appliance)
    })
}
