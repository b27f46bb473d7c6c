//! Charts: legible at every width whatever they are given, and true to their figures.

#![allow(clippy::unwrap_used, clippy::panic)]

use draw::Drawing;
use draw::chart::{
    Comparison, Limit, Moved, NARROWEST, Series, Shown, SuspectBar, Verdict, WIDEST, comparisons, suspects, time_log,
};
use draw::svg::Area;
use proptest::prelude::*;

fn assert_legible(drawing: &Drawing) {
    let page = Area { left: 0.0, top: 0.0, width: drawing.width, height: drawing.height };
    for (index, (area, text)) in drawing.texts.iter().enumerate() {
        assert!(page.holds(area), "'{text}' at {area:?} leaves the page {page:?}");
        // Height of a line is 1.2 times the size of its type.
        assert!(area.height >= 11.0 * 1.2 - 1e-9, "'{text}' is too small");
        for (other, other_text) in &drawing.texts[..index] {
            assert!(!area.overlaps(other), "'{text}' {area:?} lies on '{other_text}' {other:?}");
        }
    }
    let text = drawing.standalone();
    let document = roxmltree::Document::parse(&text).unwrap();
    assert!(document.descendants().all(|node| !node.has_attribute("style")), "inline style");
    let numbers =
        document.descendants().flat_map(|node| node.attributes()).filter(|attribute| attribute.value() == "NaN");
    assert_eq!(numbers.count(), 0);
    assert!(!drawing.title.is_empty() && !drawing.description.is_empty());
}

/// Elements of a class, by one attribute as a number.
fn attribute(drawing: &Drawing, class: &str, name: &str) -> Vec<f64> {
    let text = drawing.standalone();
    let document = roxmltree::Document::parse(&text).unwrap();
    let found = document.descendants().filter(|node| node.attribute("class") == Some(class));
    found.map(|node| node.attribute(name).unwrap().parse().unwrap()).collect()
}

fn says(drawing: &Drawing, words: &str) -> bool {
    drawing.texts.iter().any(|(_, text)| text.contains(words))
}

fn moved(words: &str, factor: f64) -> Moved {
    Moved { words: words.into(), log_ratio: factor.ln() }
}

fn some_suspects() -> Vec<SuspectBar> {
    vec![
        SuspectBar {
            label: "M2 common-open".into(),
            probability: 0.9,
            moved: vec![
                moved("268.4 V from M1.low to cord.neutral in high", 12.0),
                moved("0.75 A through cord.hot in high", 0.5),
            ],
        },
        SuspectBar { label: "M1 high-open".into(), probability: 0.09, moved: vec![moved("M2 hums", 1.0)] },
    ]
}

#[test]
fn bars_are_as_long_as_probabilities() {
    let drawing = suspects("Suspects", &some_suspects(), 700.0);
    assert_legible(&drawing);
    let lengths = attribute(&drawing, "share", "width");
    let full = attribute(&drawing, "track", "width")[0];
    assert!((lengths[0] / full - 0.9).abs() < 1e-3 && (lengths[1] / full - 0.09).abs() < 1e-3);
    assert!(says(&drawing, "90 %") && says(&drawing, "x 12 for it") && says(&drawing, "\u{f7} 2.0 against"));
    assert!(says(&drawing, "no help"));
    assert!(drawing.description.contains("M2 common-open: 90 %."));
}

#[test]
fn what_speaks_for_a_suspect_lies_right_of_the_middle() {
    let drawing = suspects("Suspects", &some_suspects(), 700.0);
    let middle = attribute(&drawing, "middle", "x1")[0];
    let (right, left) = (attribute(&drawing, "for", "x")[0], attribute(&drawing, "against", "x")[0]);
    assert!((right - middle).abs() < 0.02 && left < middle);
    // ln 12 : ln 2 as the lengths of the bars.
    let ratio = attribute(&drawing, "for", "width")[0] / attribute(&drawing, "against", "width")[0];
    assert!((ratio - 12f64.ln() / 2f64.ln()).abs() < 0.01, "{ratio}");
}

fn reading(predicted: f64, sigma: f64, shown: Shown, verdict: Verdict) -> Comparison {
    Comparison {
        words: "volts from M1.low to neutral in high".into(),
        unit: "V".into(),
        predicted,
        sigma,
        shown,
        verdict,
    }
}

#[test]
fn marks_lie_as_far_off_as_they_are() {
    let rows = [
        reading(230.0, 2.0, Shown::Number(231.0), Verdict::Fits),
        reading(230.0, 2.0, Shown::Number(229.0), Verdict::Fits),
        reading(230.0, 2.0, Shown::Number(900.0), Verdict::DoesNotFit),
    ];
    let drawing = comparisons("Readings", &rows, 700.0);
    assert_legible(&drawing);
    let middle = attribute(&drawing, "middle", "x1")[0];
    let one_sigma = attribute(&drawing, "one-deviation", "width")[0] / 2.0;
    let marks = attribute(&drawing, "fits", "cx");
    assert!((marks[0] - middle - one_sigma / 2.0).abs() < 0.02, "half a deviation above");
    assert!((middle - marks[1] - one_sigma / 2.0).abs() < 0.02, "half a deviation below");
    assert_eq!(attribute(&drawing, "does-not-fit", "x1").len(), 2, "a cross");
    assert!(drawing.description.contains("shown 231.0 V, predicted 230.0 \u{b1} 2.00 V; fits, +0.5 sd."));
    assert!(drawing.description.contains("does not fit"));
}

#[test]
fn open_is_a_word() {
    let mut row = reading(f64::INFINITY, 0.0, Shown::Open, Verdict::Fits);
    row.unit = "ohm".into();
    let drawing = comparisons("Readings", &[row.clone()], NARROWEST);
    assert!(drawing.description.contains("shown open, predicted open; fits."), "{}", drawing.description);
    row.predicted = 33.0;
    row.sigma = 1.0;
    row.verdict = Verdict::DoesNotFit;
    let drawing = comparisons("Readings", &[row], NARROWEST);
    assert!(drawing.description.contains("shown open, predicted 33.00 \u{b1} 1.00 ohm; does not fit."));
}

fn series(label: &str, unit: &str, points: &[(f64, f64)]) -> Series {
    Series { label: label.into(), unit: unit.into(), points: points.to_vec() }
}

/// Corners of all polylines of a class.
fn runs(drawing: &Drawing, class: &str) -> Vec<Vec<(f64, f64)>> {
    let text = drawing.standalone();
    let document = roxmltree::Document::parse(&text).unwrap();
    let found = document.descendants().filter(|node| node.attribute("class") == Some(class));
    let pair = |pair: &str| pair.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).unwrap();
    found.map(|node| node.attribute("points").unwrap().split(' ').map(pair).collect()).collect()
}

#[test]
fn missing_data_leaves_a_gap() {
    let warming: Vec<(f64, f64)> = (0..10).map(|minute| (f64::from(minute), 20.0 + f64::from(minute))).collect();
    let whole = time_log("Log", &[series("winding", "\u{b0}C", &warming)], &[], 700.0);
    assert_eq!(runs(&whole, "trace trace-0").len(), 1);
    let mut with_hole = warming.clone();
    with_hole[4].1 = f64::NAN;
    let drawing = time_log("Log", &[series("winding", "\u{b0}C", &with_hole)], &[], 700.0);
    assert_eq!(runs(&drawing, "trace trace-0").iter().map(Vec::len).collect::<Vec<_>>(), [4, 5]);
    assert!(drawing.description.contains("with a gap"), "{}", drawing.description);
    let mut paused = warming;
    paused.push((60.0, 40.0));
    paused.push((61.0, 41.0));
    let drawing = time_log("Log", &[series("winding", "\u{b0}C", &paused)], &[], 700.0);
    assert_eq!(runs(&drawing, "trace trace-0").iter().map(Vec::len).collect::<Vec<_>>(), [10, 2]);
}

#[test]
fn a_limit_lies_where_its_value_would() {
    let limits = [Limit { words: "class B winding".into(), unit: "\u{b0}C".into(), value: 60.0 }];
    let line = series("winding", "\u{b0}C", &[(0.0, 20.0), (1.0, 60.0), (2.0, 60.0)]);
    let drawing = time_log("Log", &[line], &limits, 700.0);
    assert_legible(&drawing);
    let trace = &runs(&drawing, "trace trace-0")[0];
    assert!((attribute(&drawing, "limit", "y1")[0] - trace[1].1).abs() < 0.011);
    assert!(trace[0].1 > trace[1].1, "hotter is higher");
    assert!(says(&drawing, "class"));
}

#[test]
fn nothing_gets_a_sentence() {
    for (drawing, words) in [
        (suspects("Suspects", &[], 360.0), "no suspects"),
        (comparisons("Readings", &[], f64::NAN), "no readings"),
        (time_log("Log", &[], &[], -5.0), "Nothing has been logged"),
        (time_log("Log", &[series("a", "A", &[(f64::NAN, 1.0), (1.0, f64::INFINITY)])], &[], 1e9), "Nothing"),
    ] {
        assert_legible(&drawing);
        assert!(says(&drawing, words), "{:?}", drawing.texts);
        assert!((NARROWEST..=WIDEST).contains(&drawing.width));
    }
}

#[test]
fn small_charts() {
    insta::assert_snapshot!("suspects", suspects("Suspects", &some_suspects()[..1], 700.0).inline("suspects"));
    let rows = [reading(230.0, 2.0, Shown::Number(235.0), Verdict::Strained)];
    insta::assert_snapshot!("comparisons", comparisons("Readings", &rows, 360.0).inline("readings"));
    let limits = [Limit { words: "plate".into(), unit: "A".into(), value: 0.62 }];
    let amps = series("amps", "A", &[(0.0, 0.7), (1.0, 0.65), (2.0, 0.6)]);
    insta::assert_snapshot!("time_log", time_log("Log", &[amps], &limits, 360.0).inline("log"));
}

fn figure() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -500.0f64..500.0,
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
        1 => Just(1e300),
        1 => Just(0.0),
        1 => Just(1e-12)
    ]
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof!["[a-zA-Z0-9. <&\"é-]{0,60}", "[a-z]{90}", "([a-z]{1,12} ){0,30}"]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_suspects_are_legible(
        list in proptest::collection::vec((words(), figure(), proptest::collection::vec((words(), figure()), 0..5)), 0..5),
        width in 300.0f64..1100.0,
    ) {
        let bars: Vec<SuspectBar> = list
            .into_iter()
            .map(|(label, probability, moved)| SuspectBar {
                label,
                probability: probability / 500.0,
                moved: moved.into_iter().map(|(words, log_ratio)| Moved { words, log_ratio: log_ratio / 50.0 }).collect(),
            })
            .collect();
        assert_legible(&suspects("Any suspects", &bars, width));
    }

    #[test]
    fn any_comparisons_are_legible(
        list in proptest::collection::vec((words(), figure(), figure(), figure(), any::<bool>(), 0usize..3, 0usize..3), 0..6),
        width in 300.0f64..1100.0,
    ) {
        let rows: Vec<Comparison> = list
            .into_iter()
            .map(|(words, predicted, sigma, shown, open, verdict, unit)| Comparison {
                words,
                unit: ["V", "ohm", ""][unit].into(),
                predicted,
                sigma,
                shown: if open { Shown::Open } else { Shown::Number(shown) },
                verdict: [Verdict::Fits, Verdict::Strained, Verdict::DoesNotFit][verdict],
            })
            .collect();
        assert_legible(&comparisons("Any readings", &rows, width));
    }

    #[test]
    fn any_log_is_legible(
        list in proptest::collection::vec((words(), 0usize..3, proptest::collection::vec((figure(), figure()), 0..20)), 0..6),
        limits in proptest::collection::vec((words(), 0usize..3, figure()), 0..4),
        width in 300.0f64..1100.0,
    ) {
        let unit = |index: usize| ["A", "W", "\u{b0}C"][index].to_owned();
        let series: Vec<Series> =
            list.into_iter().map(|(label, index, points)| Series { label, unit: unit(index), points }).collect();
        let limits: Vec<Limit> =
            limits.into_iter().map(|(words, index, value)| Limit { words, unit: unit(index), value }).collect();
        assert_legible(&time_log("Any log", &series, &limits, width));
    }
}
