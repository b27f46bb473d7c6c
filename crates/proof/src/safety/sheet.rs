//! The sheet: every test of a unit in order, its limit, what was entered, and what came of it.

use super::appliance::{Appliance, ProtectionClass};
use super::entry::{Entered, Entry, Outcome, judge};
use super::error::SafetyError;
use super::limits::{Bound, LimitRow, limit};
use super::{Scheme, Test};
use crate::source::Source;

/// Said on every sheet.
pub const STANDING: &str = "For competent persons. Local codes and licensed practice prevail over this sheet; the figures are \
     those of the edition named beside each, and your own copy of the standard decides. It proves nothing beyond what was \
     tested.";

/// Heating of more watts than this may fall short of its insulation limit if its protective-conductor current passes.
const LARGE_HEATING_WATTS: f64 = 3500.0;

/// What a test is held to.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// In SI; none for tests without a number.
    pub bound: Option<Bound>,
    /// In words.
    pub words: String,
    /// How it comes about, where that is more than the figure.
    pub working: Option<String>,
    /// With which voltage or current it is tested; may be empty.
    pub with: &'static str,
    /// Where it comes from.
    pub source: Source,
}

/// An entry with what it came to.
#[derive(Debug, Clone, PartialEq)]
pub struct JudgedEntry {
    /// As entered.
    pub entry: Entry,
    /// False if a later entry for the same test and place takes its place.
    pub counts: bool,
    /// What it came to.
    pub outcome: Outcome,
    /// Why.
    pub why: String,
}

/// A test of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The test.
    pub test: Test,
    /// Whether the sheet can pass without it; a failure counts all the same.
    pub is_required: bool,
    /// Its limit; none if there is no number, or if the scheme has none.
    pub limit: Option<Limit>,
    /// What keeps it from being made now.
    pub not_yet: Option<String>,
    /// What was entered, in order.
    pub entries: Vec<JudgedEntry>,
    /// What it came to.
    pub outcome: Outcome,
    /// Why.
    pub why: String,
}

/// All tests of a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Region and edition.
    pub scheme: Scheme,
    /// The unit.
    pub appliance: Appliance,
    /// The tests in the order in which they are safe to make.
    pub rows: Vec<Row>,
    /// What it came to: pass only if every required test passed and none failed.
    pub outcome: Outcome,
    /// What else must be said.
    pub notes: Vec<String>,
}

impl Sheet {
    /// Lays the tests out and judges what was entered.
    ///
    /// # Errors
    /// [`SafetyError`]: a number of the unit that cannot be, or an entry that does not suit its test.
    pub fn new(scheme: Scheme, appliance: Appliance, entries: Vec<Entry>) -> Result<Sheet, SafetyError> {
        appliance.check()?;
        for entry in &entries {
            check_entry(&appliance, entry)?;
        }
        let mut rows: Vec<Row> = Test::ALL
            .into_iter()
            .filter(|&test| is_test_of(scheme, test, &appliance))
            .map(|test| row(scheme, test, &appliance, entries.iter().filter(|entry| entry.test == test)))
            .collect();
        excuse_large_heating(scheme, &appliance, &mut rows);
        hold_back(scheme, &appliance, &mut rows);
        let outcome = rows
            .iter()
            .filter(|row| row.is_required || row.outcome == Outcome::Fail)
            .map(|row| row.outcome)
            .max()
            .unwrap_or(Outcome::NotProven);
        Ok(Sheet { scheme, appliance, outcome, notes: notes(scheme, &appliance, &rows), rows })
    }

    /// The row of a test.
    pub fn row(&self, test: Test) -> Option<&Row> {
        self.rows.iter().find(|row| row.test == test)
    }
}

/// Whether an entry suits its test, whatever it says.
fn check_entry(appliance: &Appliance, entry: &Entry) -> Result<(), SafetyError> {
    let (test, example) = (entry.test.name(), entry.test.example());
    let is_earth = matches!(entry.test, Test::EarthContinuity | Test::ProtectiveConductorCurrent);
    if is_earth && appliance.class != ProtectionClass::I {
        return Err(SafetyError::NotOfClass { test, class: appliance.class.name() });
    }
    match (&entry.entered, entry.test.quantity()) {
        (Entered::Value(value), Some(quantity)) if value.quantity != quantity => {
            Err(SafetyError::WrongUnit { test, expected: quantity.unit(), found: value.quantity.unit(), example })
        }
        (Entered::Value(value), Some(_)) if !(value.si >= 0.0 && value.si.is_finite()) => {
            Err(SafetyError::Impossible { what: test, value: value.si, expected: "a number, 0 or above" })
        }
        (Entered::Value(_), None) => Err(SafetyError::TakesNoValue { test }),
        (Entered::Passed, Some(_)) => Err(SafetyError::NeedsValue { test, example }),
        _ => Ok(()),
    }
}

fn is_test_of(scheme: Scheme, test: Test, appliance: &Appliance) -> bool {
    match test {
        Test::Visual | Test::InsulationResistance | Test::Functional => true,
        Test::EarthContinuity | Test::ProtectiveConductorCurrent => appliance.class == ProtectionClass::I,
        Test::TouchCurrent => {
            appliance.class != ProtectionClass::III || limit(scheme, Test::TouchCurrent, appliance).is_some()
        }
        Test::Polarity => appliance.class != ProtectionClass::III,
        Test::ElectricStrength => limit(scheme, Test::ElectricStrength, appliance).is_some(),
    }
}

fn row<'e>(scheme: Scheme, test: Test, appliance: &Appliance, entries: impl Iterator<Item = &'e Entry>) -> Row {
    let found = limit(scheme, test, appliance);
    let limit = found.map(|row| worked(row, test, appliance));
    let bound = limit.as_ref().and_then(|limit| limit.bound);
    let has_limit = found.is_some();
    let is_required = match test {
        Test::Visual | Test::Polarity | Test::Functional => true,
        // Of a class I unit only metal that is not earthed can give a touch current.
        Test::TouchCurrent if appliance.class == ProtectionClass::I => appliance.has_unearthed_metal,
        Test::ElectricStrength => false,
        _ => has_limit,
    };
    let mut judged: Vec<JudgedEntry> = entries
        .map(|entry| {
            let (outcome, why) = outcome(test, &entry.entered, bound);
            JudgedEntry { entry: entry.clone(), counts: true, outcome, why }
        })
        .collect();
    for at in 0..judged.len() {
        let place = judged[at].entry.at.clone();
        judged[at].counts = judged[at + 1..].iter().all(|later| later.entry.at != place);
    }
    let worst = judged.iter().filter(|entry| entry.counts).max_by_key(|entry| entry.outcome);
    let (outcome, why) = match worst {
        Some(entry) => match &entry.entry.at {
            Some(place) => (entry.outcome, format!("{place}: {}", entry.why)),
            None => (entry.outcome, entry.why.clone()),
        },
        None => (Outcome::NotProven, "nothing entered yet".to_owned()),
    };
    Row { test, is_required, limit, not_yet: None, entries: judged, outcome, why }
}

fn worked(row: &LimitRow, test: Test, appliance: &Appliance) -> Limit {
    let bound = row.figure.bound(appliance);
    let working = row.figure.working(appliance);
    let words = match (bound, test.quantity()) {
        (Some(bound), Some(quantity)) => bound.words(quantity),
        _ => working.clone().unwrap_or_default(),
    };
    Limit { bound, working: working.filter(|working| *working != words), words, with: row.with, source: row.source }
}

fn outcome(test: Test, entered: &Entered, bound: Option<Bound>) -> (Outcome, String) {
    match (entered, bound) {
        (Entered::Value(value), Some(bound)) => judge(*value, bound),
        (Entered::Value(_), None) => (Outcome::NotProven, "this region has no limit for it here".into()),
        (Entered::Passed, _) => (Outcome::Pass, "found in order".into()),
        (Entered::Failed, _) => (Outcome::Fail, format!("{} found not in order", test.name())),
        (Entered::NotDone(reason), _) => (Outcome::NotProven, format!("not done: {reason}")),
    }
}

fn excuses_large_heating(scheme: Scheme, appliance: &Appliance) -> bool {
    let has_rule = matches!(scheme, Scheme::Europe | Scheme::Germany2008);
    has_rule && appliance.class == ProtectionClass::I && appliance.heating_watts > LARGE_HEATING_WATTS
}

/// Heating elements draw damp; large ones may fall short of their insulation limit if the current that leaks is within its own
/// (VDE 0701-0702:2008; that EN 50678 keeps it is from memory).
fn excuse_large_heating(scheme: Scheme, appliance: &Appliance, rows: &mut [Row]) {
    let passes = |row: &Row| row.test == Test::ProtectiveConductorCurrent && row.outcome == Outcome::Pass;
    if !excuses_large_heating(scheme, appliance) || !rows.iter().any(passes) {
        return;
    }
    for row in rows.iter_mut().filter(|row| row.test == Test::InsulationResistance && row.outcome == Outcome::Fail) {
        let is_measured = |entry: &JudgedEntry| matches!(entry.entry.entered, Entered::Value(_));
        if row.entries.iter().filter(|entry| entry.counts).all(is_measured) {
            row.outcome = Outcome::Pass;
            row.why =
                "below the limit, but heating of more than 3.5 kW passes if its protective-conductor current does"
                    .into();
        }
    }
}

/// Nothing is switched on before the tests with the plug pulled have passed; large heating may, to measure what excuses it.
fn hold_back(scheme: Scheme, appliance: &Appliance, rows: &mut [Row]) {
    let may_be_excused = |test| test == Test::InsulationResistance && excuses_large_heating(scheme, appliance);
    let open: Vec<&str> = rows
        .iter()
        .filter(|row| !row.test.is_energised() && row.is_required && row.outcome != Outcome::Pass)
        .filter(|row| !(may_be_excused(row.test) && row.outcome == Outcome::Fail))
        .map(|row| row.test.name())
        .collect();
    if open.is_empty() {
        return;
    }
    let words = format!("do not switch on yet: {} not passed", open.join(", "));
    for row in rows.iter_mut().filter(|row| row.test.is_energised()) {
        row.not_yet = Some(words.clone());
    }
}

fn notes(scheme: Scheme, appliance: &Appliance, rows: &[Row]) -> Vec<String> {
    let mut notes = Vec::new();
    let mut note = |when: bool, words: &str| {
        if when {
            notes.push(words.to_owned());
        }
    };
    note(
        appliance.handling.is_none(),
        "How the unit is used is not given: it is held to the limits of hand-held units, which are the lowest.",
    );
    note(
        matches!(scheme, Scheme::Product | Scheme::Product2010 | Scheme::UnitedStates),
        "These are limits of new products, for reference: this region has no standard for tests after repair that is held here.",
    );
    note(
        appliance.class == ProtectionClass::I && !appliance.has_unearthed_metal,
        "Touch current is asked for only if metal that is not joined to earth can be touched: unearthed_metal = true.",
    );
    note(
        rows.iter().any(|row| row.test.quantity().is_some() && row.limit.is_none()),
        "A test without a limit is not asked for here, but is worth making: limits of other regions do not count for it.",
    );
    note(
        matches!(scheme, Scheme::Germany2008 | Scheme::UnitedKingdom4 | Scheme::Product),
        "This is an older edition; its limits are not those of today.",
    );
    notes
}
