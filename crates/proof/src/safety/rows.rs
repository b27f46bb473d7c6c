//! The table of limits. Of the rows of one scheme, test and class the first that holds counts, so special ones come first.

use super::appliance::{Handling, ProtectionClass};
use super::limits::{Figure, LimitRow, When};
use super::{Scheme, Test};
use crate::source::Source;

const VDE: Source =
    Source::verified("VDE 0701-0702", "2008", "the manual of an appliance tester, p. 34 (manualshive.com)");
const EN_EARTH: Source =
    Source::verified("EN 50678", "2020 (the year from memory)", "two German notes on the change of limits");
const EN_KEPT: Source = Source::from_memory("EN 50678", "keeps the limits of VDE 0701-0702:2008");
const UK_TESTS: Source = Source::verified(
    "IET code of practice",
    "edition not named in what was read",
    "a guide to appliance testing (fslsecurity.com/pat-testing.html)",
);
const UK_5: Source =
    Source::verified("IET code of practice", "5th edition, 2020", "an article on it (pat-testing-training.net)");
const UK_4: Source = Source::verified(
    "IET code of practice",
    "4th edition",
    "an article on the 5th (pat-testing-training.net) and fslsecurity.com",
);
const IEC: Source = Source::verified(
    "IEC 60335-1 / GB 4706.1",
    "clause 13.2, before 2010",
    "threads of test engineers (bbs2.angui.org 68598, emc-pstc msg06802)",
);
const IEC_2010: Source = Source::from_memory("IEC 60335-1", "2010, clause 13.2, peak values");
const IEC_EARTH: Source = Source::from_memory("IEC 60335-1", "clause 27.5");
const IEC_STRENGTH: Source = Source::from_memory("IEC 60335-1", "clauses 13.3, 16.3, Annex A");
const UL_101: Source = Source::from_memory("UL 101", "edition not known");
const UL_EARTH: Source = Source::from_memory("UL appliance standards", "editions not known");
const UL_FAN: Source = Source::verified("UL 507", "as tested on a 120 V fan", "a stored test report (manualshelf.com)");
const AS_NZS: Source = Source::from_memory("AS/NZS 5762", "edition not known");

const CLASS_I: &[ProtectionClass] = &[ProtectionClass::I];
const CLASS_II: &[ProtectionClass] = &[ProtectionClass::II];
const CLASS_III: &[ProtectionClass] = &[ProtectionClass::III];
const MAINS: &[ProtectionClass] = &[ProtectionClass::I, ProtectionClass::II];

const INSULATION_VOLTS: &str = "500 V d.c. (from memory)";
const EN_EARTH_AMPS: &str = "at least 0.2 A (from memory)";
const UK_EARTH_AMPS: &str = "1.5 times the fuse, up to 25 A, for 5 to 20 s; or 20 to 200 mA";
const UK_INSULATION_VOLTS: &str = "500 V d.c.; 250 V where surge protectors are fitted";
const AT_SUPPLY: &str = "at supply volts";
const IEC_LEAKAGE: &str = "1.06 times rated volts, of heating units 1.15 times rated power, hot (from memory)";
const UL_LEAKAGE: &str = "120 V, meter of 1500 ohm across 0.15 uF (from memory)";

const EN_LENGTH: Figure = Figure::ByLength { ohms: 0.3, metres: 5.0, step_ohms: 0.1, step_metres: 7.5, at_most: 1.0 };
/// Larger sections have their limit worked out; that joints are 0.1 ohm, the least limit that is named, is our reading.
const EN_CONDUCTOR: Figure = Figure::ByConductor { joints_ohms: 0.1, at_most: 1.0 };
const UK_CONDUCTOR: Figure = Figure::ByConductor { joints_ohms: 0.1, at_most: f64::INFINITY };
const EN_HEATING: Figure = Figure::PerKilowatt { amperes: 1e-3, at_least: 3.5e-3, at_most: 10e-3 };
const HEATING_075: Figure = Figure::PerKilowatt { amperes: 0.75e-3, at_least: 0.75e-3, at_most: 5e-3 };

const fn row(
    scheme: Scheme,
    test: Test,
    classes: &'static [ProtectionClass],
    when: When,
    figure: Figure,
    with: &'static str,
    source: Source,
) -> LimitRow {
    LimitRow { scheme, test, classes, when, figure, with, source }
}

use Figure::{AtLeast, AtMost, Withstands};
use Handling::{HandHeld, Stationary};
use Scheme::{
    AustraliaNewZealand, Europe, Germany2008, Product, Product2010, UnitedKingdom, UnitedKingdom4, UnitedStates,
};
use Test::{EarthContinuity, ElectricStrength, InsulationResistance, ProtectiveConductorCurrent, TouchCurrent};
use When::{HeatingAbove, HeatingBelow, LargerSection, Otherwise, StationaryHeating, Used};

#[rustfmt::skip]
pub(super) static ROWS: &[LimitRow] = &[
    row(Europe, EarthContinuity, CLASS_I, LargerSection, EN_CONDUCTOR, EN_EARTH_AMPS, EN_EARTH),
    row(Europe, EarthContinuity, CLASS_I, Otherwise, EN_LENGTH, EN_EARTH_AMPS, EN_EARTH),
    row(Europe, InsulationResistance, CLASS_I, HeatingAbove(0.0), AtLeast(0.3e6), INSULATION_VOLTS, EN_KEPT),
    row(Europe, InsulationResistance, CLASS_I, Otherwise, AtLeast(1e6), INSULATION_VOLTS, EN_KEPT),
    row(Europe, InsulationResistance, CLASS_II, Otherwise, AtLeast(2e6), INSULATION_VOLTS, EN_KEPT),
    row(Europe, InsulationResistance, CLASS_III, Otherwise, AtLeast(0.25e6), INSULATION_VOLTS, EN_KEPT),
    row(Europe, ProtectiveConductorCurrent, CLASS_I, HeatingAbove(3500.0), EN_HEATING, AT_SUPPLY, EN_KEPT),
    row(Europe, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(3.5e-3), AT_SUPPLY, EN_KEPT),
    row(Europe, TouchCurrent, MAINS, Otherwise, AtMost(0.5e-3), AT_SUPPLY, EN_KEPT),

    row(Germany2008, EarthContinuity, CLASS_I, LargerSection, EN_CONDUCTOR, EN_EARTH_AMPS, VDE),
    row(Germany2008, EarthContinuity, CLASS_I, Otherwise, EN_LENGTH, EN_EARTH_AMPS, VDE),
    row(Germany2008, InsulationResistance, CLASS_I, HeatingAbove(0.0), AtLeast(0.3e6), INSULATION_VOLTS, VDE),
    row(Germany2008, InsulationResistance, CLASS_I, Otherwise, AtLeast(1e6), INSULATION_VOLTS, VDE),
    row(Germany2008, InsulationResistance, CLASS_II, Otherwise, AtLeast(2e6), INSULATION_VOLTS, VDE),
    row(Germany2008, InsulationResistance, CLASS_III, Otherwise, AtLeast(0.25e6), INSULATION_VOLTS, VDE),
    row(Germany2008, ProtectiveConductorCurrent, CLASS_I, HeatingAbove(3500.0), EN_HEATING, AT_SUPPLY, VDE),
    row(Germany2008, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(3.5e-3), AT_SUPPLY, VDE),
    row(Germany2008, TouchCurrent, MAINS, Otherwise, AtMost(0.5e-3), AT_SUPPLY, VDE),

    row(UnitedKingdom, EarthContinuity, CLASS_I, Otherwise, UK_CONDUCTOR, UK_EARTH_AMPS, UK_TESTS),
    row(UnitedKingdom, InsulationResistance, CLASS_I, HeatingBelow(3000.0), AtLeast(0.3e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom, InsulationResistance, CLASS_I, Otherwise, AtLeast(1e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom, InsulationResistance, CLASS_II, Otherwise, AtLeast(2e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom, InsulationResistance, CLASS_III, Otherwise, AtLeast(0.25e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(5e-3), AT_SUPPLY, UK_5),
    row(UnitedKingdom, TouchCurrent, MAINS, Otherwise, AtMost(5e-3), AT_SUPPLY, UK_5),

    row(UnitedKingdom4, EarthContinuity, CLASS_I, Otherwise, UK_CONDUCTOR, UK_EARTH_AMPS, UK_TESTS),
    row(UnitedKingdom4, InsulationResistance, CLASS_I, HeatingBelow(3000.0), AtLeast(0.3e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom4, InsulationResistance, CLASS_I, Otherwise, AtLeast(1e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom4, InsulationResistance, CLASS_II, Otherwise, AtLeast(2e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom4, InsulationResistance, CLASS_III, Otherwise, AtLeast(0.25e6), UK_INSULATION_VOLTS, UK_TESTS),
    row(UnitedKingdom4, ProtectiveConductorCurrent, CLASS_I, Used(HandHeld), AtMost(0.75e-3), AT_SUPPLY, UK_4),
    row(UnitedKingdom4, ProtectiveConductorCurrent, CLASS_I, HeatingAbove(0.0), HEATING_075, AT_SUPPLY, UK_4),
    row(UnitedKingdom4, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(3.5e-3), AT_SUPPLY, UK_4),
    row(UnitedKingdom4, TouchCurrent, MAINS, Otherwise, AtMost(0.25e-3), AT_SUPPLY, UK_4),

    row(UnitedStates, EarthContinuity, CLASS_I, Otherwise, AtMost(0.1), "cord not counted", UL_EARTH),
    row(UnitedStates, ElectricStrength, MAINS, Otherwise, Withstands(1000.0), "1000 V a.c., of a 120 V unit", UL_FAN),
    row(UnitedStates, ProtectiveConductorCurrent, CLASS_I, Used(Stationary), AtMost(0.75e-3), UL_LEAKAGE, UL_101),
    row(UnitedStates, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(0.5e-3), UL_LEAKAGE, UL_101),
    row(UnitedStates, TouchCurrent, MAINS, Used(Stationary), AtMost(0.75e-3), UL_LEAKAGE, UL_101),
    row(UnitedStates, TouchCurrent, MAINS, Otherwise, AtMost(0.5e-3), UL_LEAKAGE, UL_101),

    row(AustraliaNewZealand, EarthContinuity, CLASS_I, Otherwise, AtMost(1.0), "", AS_NZS),
    row(AustraliaNewZealand, InsulationResistance, MAINS, Otherwise, AtLeast(1e6), INSULATION_VOLTS, AS_NZS),
    row(AustraliaNewZealand, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(5e-3), AT_SUPPLY, AS_NZS),
    row(AustraliaNewZealand, TouchCurrent, MAINS, Otherwise, AtMost(1e-3), AT_SUPPLY, AS_NZS),

    row(Product, EarthContinuity, CLASS_I, Otherwise, AtMost(0.1), "the larger of 25 A and 1.5 times rated, at most 12 V, cord not counted", IEC_EARTH),
    row(Product, ElectricStrength, CLASS_I, Otherwise, Withstands(1000.0), "1000 V hot, 1250 V cold, 150 to 250 V units", IEC_STRENGTH),
    row(Product, ElectricStrength, CLASS_II, Otherwise, Withstands(3000.0), "reinforced 3000 V, supplementary 1750 V, 150 to 250 V units", IEC_STRENGTH),
    row(Product, ProtectiveConductorCurrent, CLASS_I, StationaryHeating, HEATING_075, IEC_LEAKAGE, IEC),
    row(Product, ProtectiveConductorCurrent, CLASS_I, Used(Stationary), AtMost(3.5e-3), IEC_LEAKAGE, IEC),
    row(Product, ProtectiveConductorCurrent, CLASS_I, Otherwise, AtMost(0.75e-3), IEC_LEAKAGE, IEC),
    row(Product, TouchCurrent, CLASS_II, Otherwise, AtMost(0.25e-3), IEC_LEAKAGE, IEC),
    row(Product, TouchCurrent, CLASS_III, Otherwise, AtMost(0.5e-3), IEC_LEAKAGE, IEC),

    row(Product2010, EarthContinuity, CLASS_I, Otherwise, AtMost(0.1), "the larger of 25 A and 1.5 times rated, at most 12 V, cord not counted", IEC_EARTH),
    row(Product2010, TouchCurrent, CLASS_II, Otherwise, AtMost(0.35e-3), "peak value", IEC_2010),
    row(Product2010, TouchCurrent, CLASS_III, Otherwise, AtMost(0.7e-3), "peak value", IEC_2010),
];
