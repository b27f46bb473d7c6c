//! Job files in many forms, and edits of all sorts.

use crate::model::parsed;
use bench::Word;
use bench::job::edit::{Edit, LogPlace, ReadingPlace, SafetyTestText, ShownText};
use proptest::prelude::*;

/// The demos.
pub const DEMOS: [&str; 4] = [
    include_str!("../../../../demos/air-curtain.toml"),
    include_str!("../../../../demos/dough-proofer.toml"),
    include_str!("../../../../demos/drying-cabinet.toml"),
    include_str!("../../../../demos/bench-grinder.toml"),
];

fn text(text: &str) -> String {
    text.to_owned()
}

/// The demo with its lists under headings of their own, at the end.
pub fn with_headings(demo: &str) -> String {
    let (_, rest) = demo.split_once("[unit]").unwrap();
    let mut out = format!("# Lists at the end.\n\n[unit]{rest}");
    for list in ["wires", "readings", "symptoms"] {
        let only: toml::Table = parsed(demo).into_iter().filter(|(name, _)| name == list).collect();
        out += &format!("\n# {list}\n{}", toml::to_string(&only).unwrap());
    }
    out
}

/// The demo with a remark after every line, numbered.
fn with_remarks(demo: &str) -> String {
    demo.lines().enumerate().map(|(number, line)| format!("{line}\n# remark {number}.\n")).collect()
}

/// A demo in one of many forms.
pub fn any_text() -> impl Strategy<Value = String> {
    (0..DEMOS.len(), any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>()).prop_map(
        |(demo, headings, remarks, windows, mark)| {
            let mut out = if headings { with_headings(DEMOS[demo]) } else { text(DEMOS[demo]) };
            // The section in braces, and its tests under headings of their own.
            out = match (demo, headings) {
                (0, false) => format!("safety = {{ class = \"I\" }} # remark\n{out}"),
                (0, true) => format!("{out}\n[[safety.tests]]\ntest = \"visual\"\nvalue = \"ok\"\n"),
                (1, false) => format!("{out}\n[safety]\ntests = [ {{ test = \"visual\", value = \"ok\" }} ]\n"),
                _ => out,
            };
            if remarks {
                out = with_remarks(&out);
            }
            if windows {
                out = out.replace('\n', "\r\n");
            }
            if mark { format!("\u{feff}{out}") } else { out }
        },
    )
}

/// Names as people and others type them.
fn any_name() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            text("M1.common"),
            text("cord.hot"),
            text("M1"),
            text("a \"quoted\" name"),
            text("back\\slash"),
            text("<script>alert(1)</script>"),
            text("grün 🔥"),
            text("two\nlines\r\nof it"),
            text("# no remark"),
            text("'''"),
            text("]]"),
            "long".repeat(2500),
        ]),
        any::<String>(),
    ]
}

fn any_measure() -> impl Strategy<Value = ReadingPlace> {
    (0..8, any_name(), any_name()).prop_map(|(which, a, b)| match which {
        0 => ReadingPlace::Ohms(a, b),
        1 => ReadingPlace::Volts(a, b),
        2 => ReadingPlace::Amps(a),
        3 => ReadingPlace::Watts(a),
        4 => ReadingPlace::Rpm(a),
        5 => ReadingPlace::TouchMilliamps(a),
        6 => ReadingPlace::Microfarads(a, b),
        _ => ReadingPlace::LeakageMilliamps(a),
    })
}

fn any_shown() -> impl Strategy<Value = ShownText> {
    prop::sample::select(vec!["27.1", "0,35 k", "open", "OL", "dead", "0", "1e-7", "123456789"])
        .prop_map(|typed| ShownText::parse(typed).unwrap())
}

fn any_safety_fields() -> impl Strategy<Value = Vec<(String, String)>> {
    let all =
        vec![("region", "europe"), ("class", "II"), ("cord_metres", "3.5"), ("unearthed_metal", "true"), ("class", "")];
    prop::sample::subsequence(all, 0..5)
        .prop_map(|some| some.into_iter().map(|(name, value)| (text(name), text(value))).collect())
}

/// What was done, with some of the other fields.
fn any_repair() -> impl Strategy<Value = Vec<(String, String)>> {
    let others = vec![
        ("date", "2026-05-14"),
        ("by", "a \"b\""),
        ("minutes_with_fault", "90"),
        ("customer", ""),
        ("looked_at", "supply low-volts, M1 bearing-drag"),
    ];
    prop::sample::subsequence(others, 0..5).prop_map(|some| {
        let work = [("work", "made new")];
        work.into_iter().chain(some).map(|(name, value)| (text(name), text(value))).collect()
    })
}

fn any_safety_value() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["0.12 ohm", ">200 Mohm", "ok", "not done: \"no\" tester", "0.3", "\\"]).prop_map(text)
}

/// Any edit; indices mostly lie in the lists, names mostly do not occur.
pub fn any_edit() -> impl Strategy<Value = Edit> {
    let (name, maybe) = (any_name, || prop::option::of(any_name()));
    let existing =
        || prop::sample::select(vec!["M1", "supply", "switch", "C1", "cutout", "H2", "nothing"]).prop_map(text);
    let setups =
        || prop_oneof![any_name(), prop::sample::select(vec!["high", "cold", "calling", "unplugged"]).prop_map(text)];
    let fields = prop::sample::subsequence(
        vec![("microfarads", "3,5"), ("volts", "440"), ("make", "a \"b\""), ("volts", "")],
        0..4,
    );
    prop_oneof![
        (setups(), any_measure(), any_shown(), maybe()).prop_map(|(setup, measure, value, meter)| Edit::AddReading {
            setup,
            measure,
            value,
            meter
        }),
        (0..12usize).prop_map(|index| Edit::RemoveReading { index }),
        (0..12usize, setups(), any_measure(), any_shown(), maybe()).prop_map(
            |(index, setup, measure, value, meter)| { Edit::ReplaceReading { index, setup, measure, value, meter } }
        ),
        (setups(), name(), prop::sample::select(Word::ALL.to_vec())).prop_map(|(setup, part, word)| Edit::AddSymptom {
            setup,
            part,
            word
        }),
        any_repair().prop_map(|fields| Edit::SetRepaired { fields }),
        (setups(), any_measure(), any_shown(), maybe())
            .prop_map(|(setup, measure, value, meter)| { Edit::AddReadingAfter { setup, measure, value, meter } }),
        (0..3usize).prop_map(|index| Edit::RemoveReadingAfter { index }),
        (name(), setups(), 1.0..2000.0, prop::option::of(-20.0..40.0))
            .prop_map(|(name, setup, minutes, room_celsius)| { Edit::BeginRun { name, setup, minutes, room_celsius } }),
        (name(), name(), 0.0..500.0).prop_map(|(run, body, minute)| {
            Edit::AddLogRowAfter { run, minute, values: vec![(LogPlace::Celsius(body), 20.5), (LogPlace::Room, 20.0)] }
        }),
        (0..2usize, 0..3usize).prop_map(|(log, row)| Edit::RemoveLogRowAfter { log, row }),
        any_safety_fields().prop_map(|fields| Edit::SetSafety { fields }),
        (name(), any_safety_value(), maybe(), maybe()).prop_map(|(test, value, at, instrument)| {
            Edit::AddSafetyTest(SafetyTestText { test, value, at, instrument, ..SafetyTestText::default() })
        }),
        (0..3usize).prop_map(|index| Edit::RemoveSafetyTest { index }),
        (0..3usize).prop_map(|index| Edit::RemoveSymptom { index }),
        (name(), name(), maybe(), maybe()).prop_map(|(from, to, colour, label)| Edit::AddWire {
            from,
            to,
            colour,
            label
        }),
        (0..16usize).prop_map(|index| Edit::RemoveWire { index }),
        (0..16usize, name(), name(), maybe(), maybe()).prop_map(|(index, from, to, colour, label)| Edit::ReplaceWire {
            index,
            from,
            to,
            colour,
            label
        }),
        (prop_oneof![Just(text("C1")), Just(text("C9")), name()], fields).prop_map(|(name, fields)| {
            let fields = fields.into_iter().map(|(name, value)| (text(name), text(value))).collect();
            Edit::SetPart { name, kind: text("run-capacitor"), fields }
        }),
        prop_oneof![existing(), name()].prop_map(|name| Edit::RemovePart { name }),
        (prop_oneof![existing(), name()], prop_oneof![Just(text("X7")), Just(text("x-grün")), existing(), name()])
            .prop_map(|(from, to)| Edit::RenamePart { from, to }),
        (
            setups(),
            any::<bool>(),
            maybe(),
            prop::collection::vec(name(), 0..3),
            maybe(),
            prop::option::of(-50.0..300.0)
        )
            .prop_map(|(name, supply_on, part, names, pushed, winding_celsius)| Edit::SetSetup {
                name,
                supply_on,
                positions: part.into_iter().map(|part| (part, text("high"))).collect(),
                lifted: names.clone(),
                jumpers: names.first().map(|name| (name.clone(), text("frame"))).into_iter().collect(),
                held: names,
                pushed: pushed.into_iter().collect(),
                winding_celsius,
            }),
        setups().prop_map(|name| Edit::RemoveSetup { name }),
        (name(), maybe()).prop_map(|(name, note)| Edit::SetUnit { name, note }),
        prop_oneof![Just(text("amps")), name()].prop_map(|what| Edit::Refuse { what }),
        prop_oneof![Just(text("amps")), name()].prop_map(|what| Edit::Allow { what }),
        (prop_oneof![Just(text("rear duct")), Just(text("base plate")), name()], any::<bool>())
            .prop_map(|(name, open)| Edit::SetHousingOpen { name, open }),
    ]
}
