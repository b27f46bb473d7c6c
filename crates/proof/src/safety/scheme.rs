//! Regions and editions.

use super::error::SafetyError;
use crate::names::{mend, short};

/// One region's way of testing, in one edition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scheme {
    /// EN 50678, after repair.
    Europe,
    /// VDE 0701-0702:2008, which EN 50678 and EN 50699 replaced.
    Germany2008,
    /// Code of practice for in-service inspection, 5th edition.
    UnitedKingdom,
    /// Its 4th edition, with lower leakage limits.
    UnitedKingdom4,
    /// UL standards for appliances.
    UnitedStates,
    /// AS/NZS 5762.
    AustraliaNewZealand,
    /// IEC 60335-1: limits of a new product, as a reference.
    Product,
    /// IEC 60335-1:2010, which gives leakage as peak values.
    Product2010,
}

impl Scheme {
    /// All of them, those of today first.
    pub const ALL: [Scheme; 8] = [
        Scheme::Europe,
        Scheme::UnitedKingdom,
        Scheme::UnitedStates,
        Scheme::AustraliaNewZealand,
        Scheme::Germany2008,
        Scheme::UnitedKingdom4,
        Scheme::Product,
        Scheme::Product2010,
    ];

    /// What it is called in a job file and at the command line.
    pub fn name(self) -> &'static str {
        match self {
            Scheme::Europe => "europe",
            Scheme::Germany2008 => "germany-2008",
            Scheme::UnitedKingdom => "united-kingdom",
            Scheme::UnitedKingdom4 => "united-kingdom-4th-edition",
            Scheme::UnitedStates => "united-states",
            Scheme::AustraliaNewZealand => "australia-new-zealand",
            Scheme::Product => "product",
            Scheme::Product2010 => "product-2010",
        }
    }

    /// Standard and edition in words.
    pub fn words(self) -> &'static str {
        match self {
            Scheme::Europe => "Europe: EN 50678, after repair",
            Scheme::Germany2008 => "Germany, former: VDE 0701-0702:2008, replaced by EN 50678 and EN 50699",
            Scheme::UnitedKingdom => {
                "United Kingdom: IET code of practice for in-service inspection, 5th edition (2020)"
            }
            Scheme::UnitedKingdom4 => "United Kingdom, former: IET code of practice, 4th edition",
            Scheme::UnitedStates => "United States: limits of UL 101 and of UL appliance standards, for new products",
            Scheme::AustraliaNewZealand => "Australia and New Zealand: AS/NZS 5762",
            Scheme::Product => "IEC 60335-1: limits of a new product, for reference",
            Scheme::Product2010 => "IEC 60335-1:2010: limits of a new product, leakage as peak values, for reference",
        }
    }

    /// Finds a scheme by name.
    ///
    /// # Errors
    /// [`SafetyError::Unknown`] with the nearest names.
    pub fn named(typed: &str) -> Result<Self, SafetyError> {
        let plain = typed.trim().to_lowercase().replace([' ', '_'], "-");
        Scheme::ALL.into_iter().find(|scheme| scheme.name() == plain).ok_or_else(|| SafetyError::Unknown {
            what: "region",
            typed: short(typed),
            mend: mend(typed, Scheme::ALL.map(Scheme::name)),
        })
    }
}
