//! Glow lamps that are lit and that are not. Neon between small electrodes keeps alight from some 60 V r.m.s. on (data
//! sheets of miniature lamps, from memory). All units are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::{FaultSet, Measure, Value, observe_values};

/// A heater of 53 ohms with a lamp ahead of it, in series with it by way of a switch, or across it.
fn job(wires: &str, readings: &str, watts: &str) -> String {
    format!(
        r#"
wires = [
{wires}
]

readings = [
{readings}
]

[unit]
name = "Warming plate"
note = "Invented."

[parts.supply]
kind = "supply"
volts = 230
hertz = 50

[parts.cord]
kind = "cord"

[parts.H1]
kind = "heater"
volts = 230
watts = 1000

[parts.L1]
kind = "indicator-lamp"
volts = 230
{watts}

[setups.on]
supply = "on"
"#
    )
}

/// What the meter shows in place of each reading, nothing being wrong.
fn shown(text: &str) -> Vec<f64> {
    let job = bench::job::read("glow", text).unwrap_or_else(|problems| panic!("{problems}"));
    let medians = vec![0.0; bench::wiring::unknown_count(&job.unit, &FaultSet::none())];
    let value = |reading: &bench::Reading| {
        let setup = &job.setups[reading.setup];
        assert!(matches!(reading.value, Value::Number(_)));
        assert!(matches!(reading.measure, Measure::Volts(..)));
        observe_values(&job.unit, setup, &FaultSet::none(), &medians, |seen| {
            seen.value(reading.measure, &job.meters[reading.meter]).unwrap()
        })
        .unwrap()
    };
    job.readings.iter().map(value).collect()
}

#[test]
fn two_lamps_in_series_are_lit_and_four_are_not() {
    // 230 V over two is 115 V each, over four 57 V: less than keeps one lit.
    let lamps = |count: usize| {
        let parts: String = (2..=count)
            .map(|number| format!("\n[parts.L{number}]\nkind = \"indicator-lamp\"\nvolts = 230\n"))
            .collect();
        let links: String =
            (1..count).map(|number| format!("  {{ from = \"L{number}.b\", to = \"L{}.a\" }},\n", number + 1)).collect();
        let wires = format!(
            "  {{ from = \"cord.hot\", to = \"H1.a\" }},\n  {{ from = \"H1.b\", to = \"cord.neutral\" }},\n  \
             {{ from = \"cord.hot\", to = \"L1.a\" }},\n{links}  {{ from = \"L{count}.b\", to = \"cord.neutral\" }},"
        );
        let reading = "  { setup = \"on\", volts = 1, between = [\"L1.a\", \"L1.b\"] },";
        let [volts] = shown(&(job(&wires, reading, "") + &parts))[..] else { panic!("one reading") };
        volts
    };
    // The meter beside the first of two takes a little off it: 10 megohms beside 176 kilohms each; insulation, which is not
    // in the sum, takes another volt.
    let beside = 10e6 * 176_333.0 / (10e6 + 176_333.0);
    let by_hand = 230.0 * beside / (beside + 176_333.0);
    assert!((lamps(2) - by_hand).abs() < 0.02 * by_hand, "{} V, by hand {by_hand}", lamps(2));
    // Lit, four would share the mains evenly but for the meter, 57 V. Not lit, they have the ohms that stand for anything
    // from lit to insulation, 16 megohms each, so that the meter beside one leaves it 230 * 6.2 / (6.2 + 48) = 26 V;
    // insulation beside the others, which is not in the sum, leaves it some volts more.
    let beside = 10e6 * 16e6 / (10e6 + 16e6);
    let by_hand = 230.0 * beside / (beside + 3.0 * 16e6);
    assert!(lamps(4) > by_hand && lamps(4) < 230.0 / 4.0 - 15.0, "{} V, by hand {by_hand}", lamps(4));
}

#[test]
fn a_filament_does_not_need_to_strike() {
    // 100 ohms of a filament in series with the heater: a fifth of a volt would do. By the divider of the two.
    let wires = "  { from = \"cord.hot\", to = \"L1.a\" },\n  { from = \"L1.b\", to = \"H1.a\" },\n  \
                 { from = \"H1.b\", to = \"cord.neutral\" },";
    let reading = "  { setup = \"on\", volts = 1, between = [\"H1.a\", \"H1.b\"] },";
    let volts = |watts: &str| shown(&job(wires, reading, watts))[0];
    let by_hand = 230.0 * 52.9 / (52.9 + 529.0);
    assert!((volts("watts = 100") - by_hand).abs() < 0.02 * by_hand, "{} V, by hand {by_hand}", volts("watts = 100"));
    // A glow lamp there has nearly all volts, and is lit: 176 kilohms over 53 ohms.
    assert!(volts("") < 0.2, "{} V", volts(""));
}
