//! What must be known of a unit to say which limits hold.

use super::error::SafetyError;
use crate::names::short;

/// How a unit protects against shock if its basic insulation fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProtectionClass {
    /// Its metal is joined to the protective earth.
    I,
    /// Double or reinforced insulation, no earth.
    II,
    /// Fed with safety extra-low voltage.
    III,
}

impl ProtectionClass {
    /// All of them.
    pub const ALL: [ProtectionClass; 3] = [ProtectionClass::I, ProtectionClass::II, ProtectionClass::III];

    /// `I`, `II` or `III`.
    pub fn name(self) -> &'static str {
        match self {
            ProtectionClass::I => "I",
            ProtectionClass::II => "II",
            ProtectionClass::III => "III",
        }
    }

    /// Finds a class: `I`, `ii`, `2`, `class III`.
    ///
    /// # Errors
    /// [`SafetyError::Unknown`] with all classes.
    pub fn named(typed: &str) -> Result<Self, SafetyError> {
        let plain = typed.trim().to_uppercase();
        match plain.strip_prefix("CLASS").unwrap_or(&plain).trim() {
            "I" | "1" => Ok(ProtectionClass::I),
            "II" | "2" => Ok(ProtectionClass::II),
            "III" | "3" => Ok(ProtectionClass::III),
            _ => Err(SafetyError::Unknown {
                what: "protection class",
                typed: short(typed),
                mend:
                    "there is I (metal earthed), II (double insulated, a square within a square on the plate) and III \
                       (safety extra-low voltage)"
                        .into(),
            }),
        }
    }
}

/// How a unit is used; some limits hang on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Handling {
    /// Held in the hand while it works.
    HandHeld,
    /// Moved about with its cord.
    Portable,
    /// Stands in its place, or is fixed there.
    Stationary,
}

impl Handling {
    /// All of them.
    pub const ALL: [Handling; 3] = [Handling::HandHeld, Handling::Portable, Handling::Stationary];

    /// `hand-held`, `portable` or `stationary`.
    pub fn name(self) -> &'static str {
        match self {
            Handling::HandHeld => "hand-held",
            Handling::Portable => "portable",
            Handling::Stationary => "stationary",
        }
    }

    /// Finds a way of use.
    ///
    /// # Errors
    /// [`SafetyError::Unknown`] with all of them.
    pub fn named(typed: &str) -> Result<Self, SafetyError> {
        let plain = typed.trim().to_lowercase().replace([' ', '_'], "-");
        Handling::ALL.into_iter().find(|handling| handling.name() == plain).ok_or_else(|| SafetyError::Unknown {
            what: "use",
            typed: short(typed),
            mend: "there is hand-held, portable, stationary".into(),
        })
    }
}

/// The supply cord.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cord {
    /// Its length; none if not known, which allows nothing.
    pub metres: Option<f64>,
    /// Section of its protective conductor; none if not known.
    pub square_millimetres: Option<f64>,
}

/// What is known of the unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Appliance {
    /// Its protection class.
    pub class: ProtectionClass,
    /// How it is used. If not known, the limits of hand-held units hold, which are the lowest of every scheme.
    pub handling: Option<Handling>,
    /// Rated watts of all its heating elements; 0 without any.
    pub heating_watts: f64,
    /// Its cord; none if it is wired in.
    pub cord: Option<Cord>,
    /// Whether metal that is not joined to the protective earth can be touched on a class I unit.
    pub has_unearthed_metal: bool,
}

impl Appliance {
    /// Refuses numbers that cannot be.
    ///
    /// # Errors
    /// [`SafetyError::Impossible`].
    pub fn check(&self) -> Result<(), SafetyError> {
        let is_within = |value: f64, low: f64, high: f64| value > low && value <= high;
        let cord = self.cord.unwrap_or_default();
        if self.heating_watts != 0.0 && !is_within(self.heating_watts, 0.0, 1e6) {
            let (what, expected) = ("heating_watts", "watts of all heating elements, 0 without any");
            return Err(SafetyError::Impossible { what, value: self.heating_watts, expected });
        }
        if let Some(value) = cord.metres.filter(|&metres| !is_within(metres, 0.0, 1000.0)) {
            return Err(SafetyError::Impossible {
                what: "cord_metres",
                value,
                expected: "metres, above 0, up to 1000",
            });
        }
        if let Some(value) = cord.square_millimetres.filter(|&section| !is_within(section, 0.0, 500.0)) {
            let (what, expected) = ("cord_square_millimetres", "square millimetres, above 0, up to 500");
            return Err(SafetyError::Impossible { what, value, expected });
        }
        Ok(())
    }

    /// How it is used, or the way with the lowest limits.
    pub(super) fn strictest_handling(&self) -> Handling {
        self.handling.unwrap_or(Handling::HandHeld)
    }
}
