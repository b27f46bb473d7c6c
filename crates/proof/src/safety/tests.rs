//! The tests: what to do, with what, heeding what.

use super::entry::Quantity;
use super::error::SafetyError;
use crate::names::{mend, short};

/// A test after a repair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Test {
    /// Looking at everything.
    Visual,
    /// Resistance from the earth pin to the metal.
    EarthContinuity,
    /// Resistance of live conductors to earth or metal.
    InsulationResistance,
    /// High voltage across the insulation.
    ElectricStrength,
    /// Hot, neutral and earth at their terminals.
    Polarity,
    /// Current in the protective conductor.
    ProtectiveConductorCurrent,
    /// Current through a person who touches metal that is not earthed.
    TouchCurrent,
    /// It does what it is for.
    Functional,
}

impl Test {
    /// All of them, in the order in which they are safe to make: dead ones first.
    pub const ALL: [Test; 8] = [
        Test::Visual,
        Test::EarthContinuity,
        Test::InsulationResistance,
        Test::ElectricStrength,
        Test::Polarity,
        Test::ProtectiveConductorCurrent,
        Test::TouchCurrent,
        Test::Functional,
    ];

    /// What it is called in a job file.
    pub fn name(self) -> &'static str {
        match self {
            Test::Visual => "visual",
            Test::EarthContinuity => "earth-continuity",
            Test::InsulationResistance => "insulation-resistance",
            Test::ElectricStrength => "electric-strength",
            Test::Polarity => "polarity",
            Test::ProtectiveConductorCurrent => "protective-conductor-current",
            Test::TouchCurrent => "touch-current",
            Test::Functional => "functional",
        }
    }

    /// Finds a test by name.
    ///
    /// # Errors
    /// [`SafetyError::Unknown`] with the nearest names.
    pub fn named(typed: &str) -> Result<Self, SafetyError> {
        let plain = typed.trim().to_lowercase().replace([' ', '_'], "-");
        Test::ALL.into_iter().find(|test| test.name() == plain).ok_or_else(|| SafetyError::Unknown {
            what: "test",
            typed: short(typed),
            mend: mend(typed, Test::ALL.map(Test::name)),
        })
    }

    /// What it measures; none for those that are seen to be in order or not.
    pub fn quantity(self) -> Option<Quantity> {
        match self {
            Test::EarthContinuity | Test::InsulationResistance => Some(Quantity::Ohms),
            Test::ProtectiveConductorCurrent | Test::TouchCurrent => Some(Quantity::Amperes),
            Test::Visual | Test::ElectricStrength | Test::Polarity | Test::Functional => None,
        }
    }

    /// What an entry looks like.
    pub fn example(self) -> &'static str {
        match self {
            Test::EarthContinuity => "0.12 ohm",
            Test::InsulationResistance => ">200 Mohm",
            Test::ProtectiveConductorCurrent | Test::TouchCurrent => "0.3 mA",
            Test::Visual | Test::ElectricStrength | Test::Polarity | Test::Functional => "ok",
        }
    }

    /// Whether the supply is on.
    pub fn is_energised(self) -> bool {
        matches!(self, Test::ProtectiveConductorCurrent | Test::TouchCurrent | Test::Functional)
    }

    /// What to do.
    pub fn words(self) -> &'static str {
        match self {
            Test::Visual => {
                "Unplugged: look at plug, fuse, cord, strain relief, housing, guards, vents, marks, and at the repair itself: \
                 right parts, no strand loose, every earth joint back and tight."
            }
            Test::EarthContinuity => {
                "From the earth pin of the plug to every bare metal part that is meant to be earthed; bend the cord along its \
                 length, mostly at both ends, while you watch. Take the steady reading."
            }
            Test::InsulationResistance => {
                "Switches and thermostats closed, hot and neutral joined: from them to the earth pin, of a class II or III unit \
                 to foil or a probe on whatever can be touched."
            }
            Test::ElectricStrength => {
                "A test of the maker's, at voltages that age insulation: do not repeat it on a repaired unit unless the maker \
                 says so."
            }
            Test::Polarity => {
                "With an ohmmeter from each pin to its terminal inside: hot to the switch or the fuse, neutral to neutral, \
                 earth to the metal, and none of them to another."
            }
            Test::ProtectiveConductorCurrent => {
                "Running at its supply volts, every switch position: the current in the protective conductor, or a leakage \
                 clamp around hot and neutral together. Where the plug can be turned, both ways round; take the higher."
            }
            Test::TouchCurrent => {
                "Running at its supply volts: from every part that can be touched and is not joined to earth, through the \
                 network of the instrument, to earth. Where the plug can be turned, both ways round; take the higher."
            }
            Test::Functional => {
                "Closed up and with its guards on: it starts, runs in every position, draws what its plate says, stops, and its \
                 protectors work as they should."
            }
        }
    }

    /// The instrument.
    pub fn instrument(self) -> &'static str {
        match self {
            Test::Visual => "eyes and hands, plug pulled",
            Test::EarthContinuity => "appliance tester or low-ohm meter, leads nulled",
            Test::InsulationResistance => "insulation tester",
            Test::ElectricStrength => "high-voltage tester with a current trip",
            Test::Polarity => "ohmmeter",
            Test::ProtectiveConductorCurrent => "appliance tester or leakage clamp",
            Test::TouchCurrent => "appliance tester or touch-current meter (network of IEC 60990)",
            Test::Functional => "supply with residual-current device, clamp or wattmeter",
        }
    }

    /// What to heed, most important first.
    pub fn cautions(self) -> &'static [&'static str] {
        match self {
            Test::Visual | Test::EarthContinuity | Test::Polarity => {
                &["Unplug, and prove dead; discharge every capacitor before you reach in."]
            }
            Test::InsulationResistance => &[
                "The tester puts hundreds of volts on the unit: hands off while it reads, and discharge the unit afterwards.",
                "Surge protectors and electronics may conduct or be harmed: follow the maker, use the lower voltage that the \
                 scheme allows, or measure the current instead.",
            ],
            Test::ElectricStrength => {
                &["Lethal voltages: only by those who are trained for it, in a test place that is fenced off."]
            }
            Test::ProtectiveConductorCurrent | Test::TouchCurrent => &[
                "LIVE: only after the tests with the plug pulled have passed. The metal may be live: touch nothing but the probe.",
                "Supply through a residual-current device where the instrument allows it; stand clear of what moves and what heats.",
            ],
            Test::Functional => &[
                "LIVE: only after the tests with the plug pulled have passed; through a residual-current device, closed up, guards on.",
                "Never with a protector bridged, and never unattended.",
            ],
        }
    }
}
