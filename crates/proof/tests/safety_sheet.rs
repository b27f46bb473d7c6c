//! The sheet: which tests, in which order, and what entries prove.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::safety::*;
use proptest::prelude::*;

fn unit(class: ProtectionClass) -> Appliance {
    Appliance {
        class,
        handling: Some(Handling::Portable),
        heating_watts: 0.0,
        cord: Some(Cord { metres: Some(2.0), square_millimetres: Some(0.75) }),
        has_unearthed_metal: false,
    }
}

const EXACT: Accuracy = Accuracy { percent: 0.0, absolute: 0.0 };

fn value(test: Test, si: f64) -> Entry {
    let quantity = test.quantity().unwrap();
    entry(test, Entered::Value(Value { quantity, comparison: Comparison::Equal, si, accuracy: EXACT }))
}

fn entry(test: Test, entered: Entered) -> Entry {
    Entry { test, entered, typed: "as typed".into(), at: None, date: None, instrument: None }
}

/// Entries with which a class I unit passes in Europe.
fn good() -> Vec<Entry> {
    vec![
        entry(Test::Visual, Entered::Passed),
        value(Test::EarthContinuity, 0.12),
        value(Test::InsulationResistance, 200e6),
        entry(Test::Polarity, Entered::Passed),
        value(Test::ProtectiveConductorCurrent, 0.4e-3),
        entry(Test::Functional, Entered::Passed),
    ]
}

fn sheet(appliance: Appliance, entries: Vec<Entry>) -> Sheet {
    Sheet::new(Scheme::Europe, appliance, entries).unwrap()
}

#[test]
fn a_class_i_unit_passes_with_every_required_test() {
    let whole = sheet(unit(ProtectionClass::I), good());
    assert_eq!(whole.outcome, Outcome::Pass, "{whole:#?}");
    assert!(whole.rows.iter().all(|row| row.not_yet.is_none()));
    // Without any one of them it is not proven.
    for left_out in 0..good().len() {
        let mut some = good();
        let test = some.remove(left_out).test;
        let partial = sheet(unit(ProtectionClass::I), some);
        assert_eq!(partial.outcome, Outcome::NotProven, "{test:?}");
        assert_eq!(partial.row(test).unwrap().why, "nothing entered yet");
    }
}

#[test]
fn tests_suit_the_class_and_dead_ones_come_first() {
    let tests = |class| sheet(unit(class), vec![]).rows.iter().map(|row| row.test.name()).collect::<Vec<_>>();
    assert_eq!(
        tests(ProtectionClass::I),
        [
            "visual",
            "earth-continuity",
            "insulation-resistance",
            "polarity",
            "protective-conductor-current",
            "touch-current",
            "functional"
        ]
    );
    assert_eq!(
        tests(ProtectionClass::II),
        ["visual", "insulation-resistance", "polarity", "touch-current", "functional"]
    );
    assert_eq!(tests(ProtectionClass::III), ["visual", "insulation-resistance", "functional"]);
    let order = Test::ALL.map(Test::is_energised);
    assert!(order.is_sorted(), "nothing is live before all that is dead");
}

#[test]
fn nothing_is_switched_on_before_the_dead_tests_have_passed() {
    let mut entries = good();
    entries[1] = value(Test::EarthContinuity, 0.9);
    let failed = sheet(unit(ProtectionClass::I), entries);
    assert_eq!(failed.outcome, Outcome::Fail);
    let words = failed.row(Test::Functional).unwrap().not_yet.clone().unwrap();
    assert_eq!(words, "do not switch on yet: earth-continuity not passed");
    assert!(failed.row(Test::Polarity).unwrap().not_yet.is_none());
}

#[test]
fn energised_tests_show_their_cautions() {
    for test in Test::ALL {
        assert!(!test.cautions().is_empty());
        assert_eq!(test.cautions()[0].starts_with("LIVE"), test.is_energised(), "{test:?}");
    }
    assert!(STANDING.contains("Local codes and licensed practice prevail"));
}

#[test]
fn within_the_error_of_the_instrument_nothing_is_proven() {
    // Appliance tester 2 % and 2 counts of 0.01 ohm: 0.29 ohm may be 0.2642 to 0.3158.
    let accuracy = Accuracy { percent: 2.0, absolute: 0.02 };
    let judged = |si, comparison, bound| judge(Value { quantity: Quantity::Ohms, comparison, si, accuracy }, bound).0;
    let at_most = |si| judged(si, Comparison::Equal, Bound::AtMost(0.3));
    assert_eq!(
        [at_most(0.27), at_most(0.29), at_most(0.31), at_most(0.33)],
        [Outcome::Pass, Outcome::NotProven, Outcome::NotProven, Outcome::Fail]
    );
    let at_least = |si| judged(si, Comparison::Equal, Bound::AtLeast(1e6));
    assert_eq!(
        [at_least(1.1e6), at_least(1.01e6), at_least(0.99e6), at_least(0.9e6)],
        [Outcome::Pass, Outcome::NotProven, Outcome::NotProven, Outcome::Fail]
    );
    assert_eq!(judged(200e6, Comparison::Above, Bound::AtLeast(1e6)), Outcome::Pass);
    assert_eq!(judged(0.5e6, Comparison::Above, Bound::AtLeast(1e6)), Outcome::NotProven);
    assert_eq!(judged(0.1, Comparison::Below, Bound::AtMost(0.3)), Outcome::Pass);
    assert_eq!(judged(0.5, Comparison::Below, Bound::AtMost(0.3)), Outcome::NotProven);
    assert_eq!(judged(2.0, Comparison::Above, Bound::AtMost(0.3)), Outcome::Fail);
    assert_eq!(judged(0.2e6, Comparison::Below, Bound::AtLeast(1e6)), Outcome::Fail);
}

#[test]
fn the_error_of_a_meter_is_that_of_its_data_sheet() {
    // Help page of an instrument maker (victorruoshui.com): 0.08 % and 2 counts of 1 mV at 2.000 V are 0.0036 V.
    let accuracy = Accuracy { percent: 0.08, absolute: 2.0 * 0.001 };
    assert!((accuracy.half_width(2.0) - 0.0036).abs() < 1e-15);
    assert!((Accuracy::usual(0.01).half_width(0.2) - 0.03).abs() < 1e-15);
}

#[test]
fn large_heating_below_its_insulation_limit_passes_by_its_current() {
    // VDE 0701-0702:2008 (manualshive.com p. 34): above 3.5 kW, if the protective-conductor current passes.
    let with = |watts, milliamperes: f64| {
        let mut entries = good();
        entries[2] = value(Test::InsulationResistance, 0.1e6);
        entries[4] = value(Test::ProtectiveConductorCurrent, milliamperes * 1e-3);
        let appliance = Appliance { heating_watts: watts, ..unit(ProtectionClass::I) };
        Sheet::new(Scheme::Germany2008, appliance, entries).unwrap()
    };
    let excused = with(6000.0, 5.0);
    assert_eq!(excused.outcome, Outcome::Pass);
    assert!(excused.row(Test::InsulationResistance).unwrap().why.contains("3.5 kW"));
    assert_eq!(with(6000.0, 7.0).outcome, Outcome::Fail);
    assert_eq!(with(3000.0, 1.0).outcome, Outcome::Fail);
    assert!(
        with(6000.0, 7.0).row(Test::Functional).unwrap().not_yet.is_none(),
        "it must run for its current to be measured"
    );
    assert!(with(3000.0, 1.0).row(Test::Functional).unwrap().not_yet.is_some());
}

#[test]
fn the_last_entry_counts_for_each_place_and_the_worst_place_for_the_test() {
    let at = |place: &str, ohms| Entry { at: Some(place.into()), ..value(Test::EarthContinuity, ohms) };
    let outcome = |more: Vec<Entry>| {
        let mut entries = good();
        entries.splice(1..2, more);
        sheet(unit(ProtectionClass::I), entries).outcome
    };
    assert_eq!(outcome(vec![at("lid", 2.0), at("base", 0.1)]), Outcome::Fail);
    assert_eq!(outcome(vec![at("lid", 2.0), at("base", 0.1), at("lid", 0.1)]), Outcome::Pass);
    let whole = sheet(unit(ProtectionClass::I), vec![at("lid", 2.0), at("lid", 0.1)]);
    let entries = &whole.row(Test::EarthContinuity).unwrap().entries;
    assert_eq!([entries[0].counts, entries[1].counts], [false, true]);
}

#[test]
fn not_done_with_a_reason_is_not_proven() {
    let mut entries = good();
    entries[2] = entry(Test::InsulationResistance, Entered::NotDone("no tester here".into()));
    let whole = sheet(unit(ProtectionClass::I), entries);
    assert_eq!(whole.outcome, Outcome::NotProven);
    assert_eq!(whole.row(Test::InsulationResistance).unwrap().why, "not done: no tester here");
}

#[test]
fn touch_current_of_class_i_counts_where_there_is_unearthed_metal() {
    let appliance = Appliance { has_unearthed_metal: true, ..unit(ProtectionClass::I) };
    assert_eq!(sheet(appliance, good()).outcome, Outcome::NotProven);
    let with = |milliamperes: f64| [good(), vec![value(Test::TouchCurrent, milliamperes * 1e-3)]].concat();
    assert_eq!(sheet(appliance, with(0.2)).outcome, Outcome::Pass);
    // A failure counts even where the test is not asked for.
    assert_eq!(sheet(unit(ProtectionClass::I), with(0.8)).outcome, Outcome::Fail);
}

#[test]
fn a_region_without_a_limit_judges_nothing_by_another() {
    let appliance = unit(ProtectionClass::II);
    let entries = vec![value(Test::InsulationResistance, 200e6)];
    let whole = Sheet::new(Scheme::UnitedStates, appliance, entries).unwrap();
    let row = whole.row(Test::InsulationResistance).unwrap();
    assert_eq!((row.outcome, row.is_required, &row.limit), (Outcome::NotProven, false, &None));
    assert!(row.why.contains("no limit"));
    assert!(whole.notes.iter().any(|note| note.contains("limits of other regions do not count")));
}

#[test]
fn entries_that_do_not_suit_their_test_are_refused() {
    let refused = |class, entry| Sheet::new(Scheme::Europe, unit(class), vec![entry]).unwrap_err().to_string();
    let amps = Value { quantity: Quantity::Amperes, comparison: Comparison::Equal, si: 0.1, accuracy: EXACT };
    for (class, entry, words) in [
        (ProtectionClass::I, entry(Test::EarthContinuity, Entered::Value(amps)), "in ohm, not in A"),
        (ProtectionClass::I, entry(Test::Visual, Entered::Value(amps)), "has no number"),
        (ProtectionClass::I, entry(Test::EarthContinuity, Entered::Passed), "is measured"),
        (ProtectionClass::II, value(Test::EarthContinuity, 0.1), "no test of a class II unit"),
        (ProtectionClass::I, value(Test::EarthContinuity, f64::NAN), "cannot be NaN"),
        (ProtectionClass::I, value(Test::EarthContinuity, -0.1), "cannot be -0.1"),
    ] {
        let error = refused(class, entry);
        assert!(error.contains(words), "{error}");
    }
    for (appliance, words) in [
        (Appliance { heating_watts: f64::NAN, ..unit(ProtectionClass::I) }, "heating_watts"),
        (Appliance { heating_watts: -5.0, ..unit(ProtectionClass::I) }, "heating_watts"),
        (
            Appliance { cord: Some(Cord { metres: Some(0.0), square_millimetres: None }), ..unit(ProtectionClass::I) },
            "cord_metres",
        ),
        (
            Appliance { cord: Some(Cord { metres: None, square_millimetres: Some(-1.0) }), ..unit(ProtectionClass::I) },
            "cord_square",
        ),
    ] {
        assert!(Sheet::new(Scheme::Europe, appliance, vec![]).unwrap_err().to_string().contains(words));
    }
}

#[test]
fn values_are_written_with_their_prefix() {
    for (quantity, si, words) in [
        (Quantity::Ohms, 0.12, "0.12 ohm"),
        (Quantity::Ohms, 0.3e6, "300 kohm"),
        (Quantity::Ohms, 1e6, "1 Mohm"),
        (Quantity::Ohms, 200e6, "200 Mohm"),
        (Quantity::Amperes, 0.25e-3, "0.25 mA"),
        (Quantity::Amperes, 2.0, "2 A"),
        (Quantity::Ohms, 0.0, "0 ohm"),
    ] {
        assert_eq!(quantity.words(si), words);
    }
}

proptest! {
    #[test]
    fn more_earth_resistance_is_never_better(ohms in 0.0..2.0f64, more in 0.0..1.0f64, percent in 0.0..20.0f64) {
        let of = |si: f64| {
            let accuracy = Accuracy { percent, absolute: 0.01 };
            judge(Value { quantity: Quantity::Ohms, comparison: Comparison::Equal, si, accuracy }, Bound::AtMost(0.3)).0
        };
        prop_assert!(of(ohms + more) >= of(ohms));
    }

    #[test]
    fn a_worse_instrument_never_proves_more(si in 0.0..2.0f64, percent in 0.0..10.0f64, more in 0.0..20.0f64) {
        let of = |percent| {
            let accuracy = Accuracy { percent, absolute: 0.0 };
            judge(Value { quantity: Quantity::Ohms, comparison: Comparison::Equal, si, accuracy }, Bound::AtMost(0.3)).0
        };
        prop_assert!(of(percent + more) == of(percent) || of(percent + more) == Outcome::NotProven);
    }
}
