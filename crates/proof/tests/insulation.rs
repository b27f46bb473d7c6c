//! Thermal classes, limits and insulation life, each row against its published figure.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::insulation::*;
use proptest::prelude::*;

fn class(name: &str) -> ThermalClass {
    ThermalClass::named(name).unwrap()
}

fn only(class: &str, standard: &str, build: Build, state: State, method: Method) -> Limit {
    let narrow = Narrow { build: Some(build), state: Some(state), method: Some(method) };
    let found = limits(class, standard, narrow).unwrap();
    assert_eq!(found.len(), 1, "{class} {standard}: {found:?}");
    found[0]
}

#[test]
fn classes_are_those_of_iec_60085() {
    // Temperatures read in a page that cites the standard (ybx8.cn); letters N and R from memory.
    for (name, celsius) in [
        ("Y", 90.0),
        ("A", 105.0),
        ("E", 120.0),
        ("B", 130.0),
        ("F", 155.0),
        ("H", 180.0),
        ("200", 200.0),
        ("N", 200.0),
        ("220", 220.0),
        ("R", 220.0),
        ("250", 250.0),
        ("275", 275.0),
        ("300", 300.0),
        ("class f", 155.0),
        (" 155 ", 155.0),
        ("Class 130", 130.0),
    ] {
        assert_eq!(class(name).celsius(), celsius, "{name}");
    }
    assert_eq!(ThermalClass::all().count(), 9);
    assert!(ThermalClass::all().all(|class| ThermalClass::named(&class.to_string()) == Ok(class)));
}

#[test]
fn a_class_that_does_not_exist_is_refused_with_the_nearest() {
    for (typed, words) in [
        ("G", "there is Y, A, E"),
        ("150", "the nearest is F (155"),
        ("", "there is Y"),
        ("260", "250"),
        ("S", "there is"),
        ("1e999", "there is"),
        ("nan", "there is"),
        ("-5", "Y (90"),
        ("525", "250"),
    ] {
        let error = ThermalClass::named(typed).unwrap_err().to_string();
        assert!(error.contains(words) && error.contains("no thermal class"), "{typed}: {error}");
    }
    assert!(ThermalClass::named(&"F".repeat(5000)).unwrap_err().to_string().len() < 200);
}

#[test]
fn a_standard_that_does_not_exist_is_refused_with_the_nearest() {
    let error = limits("F", "IEC 60034-2", Narrow::default()).unwrap_err().to_string();
    assert!(error.contains("did you mean IEC 60034-1"), "{error}");
    let error = limits("Y", "NEMA MG 1", Narrow::default()).unwrap_err().to_string();
    assert_eq!(error, "NEMA MG 1 has no such limit for class Y; it has A, B, F, H");
    assert!(matches!(limits("Q", "UL 458", Narrow::default()), Err(LimitError::Class(_))));
    let thermocouple = Narrow { method: Some(Method::Thermocouple), ..Narrow::default() };
    assert!(limits("F", "iec60034-1", thermocouple).unwrap_err().to_string().contains("no class at all"));
}

/// Classes and figures of one line of a table.
type Figures = [(&'static str, f64)];

fn check_rises(standard: &str, build: Build, method: Method, ambient: f64, is_verified: bool, rises: &Figures) {
    for &(class, kelvins) in rises {
        let limit = only(class, standard, build, State::Running, method);
        assert_eq!((limit.rise_kelvins(), limit.ambient_celsius), (Some(kelvins), Some(ambient)), "{standard} {class}");
        assert_eq!(limit.source.is_verified(), is_verified, "{standard} {class}: {}", limit.source);
        assert!(limit.source.standard.contains(standard), "{standard}: {}", limit.source);
    }
}

#[test]
fn rises_in_normal_running_row_by_row() {
    use Method::{Resistance, Thermocouple};
    let check = check_rises;
    // Verified: a glossary that cites IEC 60034-1 / NEMA (reded.cz). Class F is 105 K, not the 100 K of some pages.
    let rotating = [("A", 60.0), ("E", 75.0), ("B", 80.0), ("F", 105.0), ("H", 125.0)];
    check("IEC 60034-1", Build::Ordinary, Resistance, 40.0, true, &rotating);
    let small = [("A", 65.0), ("E", 75.0), ("B", 85.0), ("F", 110.0), ("H", 130.0)];
    check("IEC 60034-1", Build::SmallOrUnventilated, Resistance, 40.0, false, &small);
    // Verified: powerweb.blogfa.com; 12.43 from memory.
    let factor_100 = [("A", 60.0), ("B", 80.0), ("F", 105.0), ("H", 125.0)];
    check("NEMA MG 1", Build::ServiceFactor100, Resistance, 40.0, true, &factor_100);
    check("NEMA MG 1", Build::ServiceFactor115, Resistance, 40.0, true, &[("A", 70.0), ("B", 90.0), ("F", 115.0)]);
    check("NEMA MG 1", Build::SmallOpen, Resistance, 40.0, false, &factor_100);
    let enclosed = [("A", 65.0), ("B", 85.0), ("F", 110.0), ("H", 130.0)];
    check("NEMA MG 1", Build::SmallEnclosed, Resistance, 40.0, false, &enclosed);
    // Verified: UL 458 Table 37.1 as stored, temperatures at 25 degrees Celsius.
    check("UL 458", Build::Open, Resistance, 25.0, true, &[("A", 75.0), ("B", 95.0)]);
    check("UL 458", Build::Enclosed, Resistance, 25.0, true, &[("A", 80.0), ("B", 100.0)]);
    check("UL 458", Build::Open, Thermocouple, 25.0, true, &[("A", 65.0), ("B", 85.0)]);
    check("UL 458", Build::Enclosed, Thermocouple, 25.0, true, &[("A", 70.0), ("B", 95.0)]);
    check("UL 507", Build::Open, Resistance, 25.0, false, &[("A", 75.0), ("B", 95.0)]);
    // From memory: IEC 60335-1 Table 3.
    let household = [
        ("A", 75.0),
        ("E", 90.0),
        ("B", 95.0),
        ("F", 115.0),
        ("H", 140.0),
        ("200", 160.0),
        ("220", 180.0),
        ("250", 210.0),
    ];
    check("IEC 60335-1", Build::Winding, Resistance, 25.0, false, &household);
    check("IEC 60335-1", Build::Winding, Thermocouple, 25.0, false, &[("A", 65.0), ("E", 80.0), ("B", 85.0)]);
}

#[test]
fn temperatures_in_abnormal_running_row_by_row() {
    // All from memory: IEC 60335-1 Table 8, NEMA MG 1 12.56.
    let iec = |state, figures: &Figures| check_abnormal("IEC 60335-1", Build::Winding, state, figures);
    let impedance = [
        ("A", 150.0),
        ("E", 165.0),
        ("B", 175.0),
        ("F", 190.0),
        ("H", 210.0),
        ("200", 230.0),
        ("220", 250.0),
        ("250", 280.0),
    ];
    iec(State::ImpedanceProtected, &impedance);
    let [first, later, mean] =
        [[200.0, 215.0, 225.0, 240.0, 260.0], [175.0, 190.0, 200.0, 215.0, 235.0], [150.0, 165.0, 175.0, 190.0, 210.0]]
            .map(|row| [("A", row[0]), ("E", row[1]), ("B", row[2]), ("F", row[3]), ("H", row[4])]);
    iec(State::FirstHourPeak, &first);
    iec(State::LaterPeak, &later);
    iec(State::LaterMean, &mean);
    iec(State::Unsettled, &first);
    let nema = |state, row: [f64; 4]| {
        let figures = [("A", row[0]), ("B", row[1]), ("F", row[2]), ("H", row[3])];
        check_abnormal("NEMA MG 1", Build::Ordinary, state, &figures);
    };
    nema(State::RunningOverload, [140.0, 165.0, 190.0, 215.0]);
    nema(State::FirstHourPeak, [200.0, 225.0, 250.0, 275.0]);
    nema(State::LaterPeak, [175.0, 200.0, 225.0, 250.0]);
    nema(State::LaterMean, [150.0, 175.0, 200.0, 225.0]);
}

fn check_abnormal(standard: &str, build: Build, state: State, figures: &Figures) {
    for &(class, celsius) in figures {
        let limit = only(class, standard, build, state, Method::Resistance);
        assert_eq!((limit.value, limit.ambient_celsius), (LimitValue::Celsius(celsius), None), "{standard} {class}");
        assert_eq!(limit.celsius_in(10.0), celsius);
        assert!(!limit.source.is_verified());
    }
}

#[test]
fn no_row_is_beside_the_tables_above() {
    assert_eq!(Limit::all().count(), 5 + 5 + 4 + 3 + 4 + 4 + 2 + 2 + 2 + 2 + 2 + 8 + 3 + 8 + 5 * 4 + 4 * 4);
}

#[test]
fn ambient_rise_and_hot_spot_make_up_the_class() {
    // IEC 60034-1 / NEMA (reded.cz): 40 + rise + allowance is the temperature of the class.
    for name in ["A", "E", "B", "F", "H"] {
        let limit = only(name, "IEC 60034-1", Build::Ordinary, State::Running, Method::Resistance);
        let allowance = hot_spot_allowance_kelvins(class(name)).unwrap();
        assert_eq!(40.0 + limit.rise_kelvins().unwrap() + allowance, class(name).celsius(), "{name}");
    }
    assert_eq!(hot_spot_allowance_kelvins(class("Y")), None);
}

#[test]
fn a_cooler_room_takes_its_degrees_off_and_a_warmer_one_adds_none() {
    let limit = only("A", "UL 458", Build::Open, State::Running, Method::Resistance);
    assert_eq!([limit.celsius_in(25.0), limit.celsius_in(15.0), limit.celsius_in(35.0)], [100.0, 90.0, 100.0]);
    let limit = only("F", "IEC 60034-1", Build::Ordinary, State::Running, Method::Resistance);
    assert_eq!([limit.celsius_in(40.0), limit.celsius_in(22.0), limit.celsius_in(45.0)], [145.0, 127.0, 145.0]);
}

#[test]
fn ul_507_corrects_observed_temperatures_to_25_celsius() {
    // UL 507 46.1.9: add or subtract 25 less the ambient.
    assert_eq!(Standard::Ul507.corrected_celsius(92.0, 21.0), Some(96.0));
    assert_eq!(Standard::Ul507.corrected_celsius(92.0, 30.0), Some(87.0));
    assert_eq!(Standard::Iec60034.corrected_celsius(92.0, 21.0), None);
}

#[test]
fn ten_kelvins_halve_the_life_as_in_kosow() {
    // Kosow, Ex. 13-1: class A at 125 degrees Celsius, factor 4, ten years become 2.5.
    let rule = HalvingRule::new(HALVING_KELVINS).unwrap();
    assert!((rule.ageing_factor(class("A"), 125.0) - 4.0).abs() < 1e-12);
    let years = 10.0;
    let log = [LogPoint { hours: 0.0, celsius: 125.0 }, LogPoint { hours: 2.5, celsius: 125.0 }];
    let spent = life_spent(class("A"), &log).unwrap();
    assert!((spent.share_of(years) - 1.0).abs() < 1e-12, "2.5 of 125 degrees are a life of 10: {spent:?}");
    // With 8 K the factor is 2^2.5.
    assert!((spent.range_hours[1] - 2.5 * 2f64.powf(2.5)).abs() < 1e-9);
    assert!((spent.range_hours[0] - 10.0).abs() < 1e-9);
}

/// Motorettes: life as log10 hours = intercept + slope * 1000 / (Celsius + 273.2), as SciPy fits it.
fn motorette_line() -> (f64, f64) {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../diagnosis/tests/data/inference.json");
    let data: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let line = &data["life_of_insulation"]["censored"];
    (line["intercept"].as_f64().unwrap(), line["slope"].as_f64().unwrap())
}

#[test]
fn the_rule_against_the_motorettes_of_nelson_and_hahn() {
    // Technometrics 14 (1972): the published line is -6.01925 + 4.31125 * 1000 / T (checked in diagnosis/tests/censored.rs).
    let (intercept, slope) = motorette_line();
    let hours = |celsius: f64| 10f64.powf(intercept + slope * 1000.0 / (celsius + 273.2));
    // Kelvins that halve the life, from above and by the law's slope: 11.4 at 130, 15.0 at 190.
    let halving = |celsius: f64| 2f64.log10() * (celsius + 273.2).powi(2) / (1000.0 * slope);
    assert!((halving(130.0) - 11.35).abs() < 0.01 && (halving(190.0) - 14.98).abs() < 0.01);
    for celsius in [130.0, 150.0, 170.0, 190.0] {
        // A whole halving about that temperature, by the line itself.
        let half = 0.5 * halving(celsius);
        let ratio = hours(celsius - half) / hours(celsius + half);
        assert!((ratio - 2.0).abs() < 0.001, "{celsius}: {ratio}");
        // The rule of ten kelvins, and of eight still more, makes life depend on temperature more strongly than this data.
        assert!(halving(celsius) > HALVING_RANGE_KELVINS[1]);
    }
    // How far: from 190 down to 130 the rule promises 64 times the life, the motorettes gained 24 times.
    let rule = HalvingRule::new(HALVING_KELVINS).unwrap();
    let promised = rule.ageing_factor(class("B"), 190.0) / rule.ageing_factor(class("B"), 130.0);
    let gained = hours(130.0) / hours(190.0);
    assert!((promised - 64.0).abs() < 1e-9 && (gained - 24.27).abs() < 0.01, "{promised} {gained}");
    assert!((promised / gained - 2.64).abs() < 0.01);
    // With the halving that suits the whole range, 13.0 K, the rule agrees with both ends.
    let suited = HalvingRule::new(13.04).unwrap();
    let ratio = suited.ageing_factor(class("B"), 190.0) / suited.ageing_factor(class("B"), 130.0);
    assert!((ratio / gained - 1.0).abs() < 0.002, "{ratio}");
}

#[test]
fn life_over_a_ramp_is_the_integral() {
    // 105 to 125 degrees Celsius in 2 h: the integral of 2^((T - 105) / 10) is 2 * 3 / ln 4, by hand.
    let log = [LogPoint { hours: 1.0, celsius: 105.0 }, LogPoint { hours: 3.0, celsius: 125.0 }];
    let spent = life_spent(class("A"), &log).unwrap();
    assert!((spent.hours - 6.0 / 4f64.ln()).abs() < 1e-12, "{spent:?}");
    assert_eq!(spent.lasted_hours, 2.0);
}

#[test]
fn wrong_logs_are_refused() {
    let point = |hours, celsius| LogPoint { hours, celsius };
    for (log, words) in [
        (vec![], "a log of 0"),
        (vec![point(0.0, 80.0)], "a log of 1"),
        (vec![point(0.0, 80.0), point(0.0, 80.0)], "time 2"),
        (vec![point(0.0, 80.0), point(f64::NAN, 80.0)], "time 2"),
        (vec![point(0.0, 80.0), point(1.0, f64::NAN)], "point 2"),
        (vec![point(0.0, -300.0), point(1.0, 80.0)], "point 1"),
        (vec![point(0.0, f64::INFINITY), point(1.0, 80.0)], "point 1"),
        (vec![point(f64::NEG_INFINITY, 0.0), point(1.0, 80.0)], "time 2"),
    ] {
        let error = life_spent(class("B"), &log).unwrap_err().to_string();
        assert!(error.contains(words), "{error}");
    }
    assert!(HalvingRule::new(0.0).is_err() && HalvingRule::new(f64::NAN).is_err());
}

proptest! {
    #[test]
    fn a_log_cut_in_two_costs_the_same(celsius in -40.0..300.0f64, end in -40.0..300.0f64, cut in 0.05..0.95f64) {
        let at = |share: f64| LogPoint { hours: 5.0 * share, celsius: celsius + share * (end - celsius) };
        let whole = life_spent(class("B"), &[at(0.0), at(1.0)]).unwrap();
        let parts = life_spent(class("B"), &[at(0.0), at(cut), at(1.0)]).unwrap();
        prop_assert!((whole.hours - parts.hours).abs() <= 1e-9 * whole.hours);
    }

    #[test]
    fn hotter_never_costs_less(celsius in -40.0..300.0f64, more in 0.0..50.0f64) {
        let steady = |celsius| {
            life_spent(class("F"), &[LogPoint { hours: 0.0, celsius }, LogPoint { hours: 1.0, celsius }]).unwrap()
        };
        let (cool, hot) = (steady(celsius), steady(celsius + more));
        prop_assert!(hot.hours >= cool.hours);
        prop_assert!(cool.range_hours[0] <= cool.hours && cool.hours <= cool.range_hours[1]);
    }

    #[test]
    fn nothing_typed_as_a_class_or_a_standard_panics(class in ".*", standard in ".*") {
        let _ = limits(&class, &standard, Narrow::default());
    }
}
